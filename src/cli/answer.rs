//! `answer`: answers that are kept with what they were an answer to.

use super::args::{Answer as Args, Common, Keep, Shape};
use super::env::Env;
use super::{Reply, ask, compare, place, progress};
use crate::catalog::Access;
use crate::error::Result;
use crate::model::kept::{KeptAnswer, Kind, Question, StacksThen};
use crate::report::{self, FitReport};
use crate::solve::ask::Order;
use crate::solve::cure::lacks;
use crate::solve::recommend::recommend;
use crate::stack::choice::Bench;
use crate::stack::fit::{Fit, evaluate};
use crate::stack::grade::Grade;

pub(super) fn run(common: &Common, args: Args, env: &mut Env<'_>) -> Result<Reply> {
    let view = env.view(common);
    match args {
        Args::Keep(args) => keep(common, &args, env),
        Args::List { job, format } => {
            let catalog = place::open(common, env, Access::Read)?;
            let kept = catalog.read(|reader| {
                let mut kept = reader.load_answers()?;
                // One that cannot be read is shown whatever job it may be of.
                kept.retain(|(_, kept)| match (&job, kept) {
                    (Some(job), Ok(kept)) => kept.job == *job,
                    _ => true,
                });
                Ok(kept)
            })?;
            Ok(Reply::good(match format {
                Shape::Table => report::answer_list(&kept, view),
                Shape::Json => report::answer_list_json(&kept),
            }))
        }
        Args::Show { name, format } => {
            let catalog = place::open(common, env, Access::Read)?;
            let kept = catalog.read(|reader| reader.load_answer(&name))?;
            Ok(Reply::good(match format {
                Shape::Table => report::answer_show(&kept, env.kinds, view),
                Shape::Json => report::answer_show_json(&kept)?,
            }))
        }
        Args::Compare { name, format } => compare::run(common, &name, format, env),
    }
}

/// Works the answer out and keeps it. Whether it can be kept is looked at first: a long search is
/// not to end in a refusal.
fn keep(common: &Common, args: &Keep, env: &mut Env<'_>) -> Result<Reply> {
    let stamp = place::stamp(common, env);
    let day = env.today();
    let mut catalog = place::open(common, env, Access::Write)?;
    let name = args.name.as_deref();
    catalog.write(&stamp, |writer| writer.answer_name(name, &args.job, &day))?;
    let (library, job, kept) = catalog.read(|reader| {
        let (library, job) = (place::applied_library(reader)?, reader.load_job(&args.job)?);
        let kept = reader.to_keep(&job, &library.house, &stamp)?;
        Ok((library, job, kept))
    })?;
    let bench = Bench::new(&library, &job)?;
    let then = |fit: &Fit<'_>| report::stack_then(env.kinds, fit);
    let (given, question, stacks, holds) = if args.fit {
        let fit = fitted(&bench)?;
        let (holds, stacks) = (fit.holds(), vec![then(&fit)]);
        let landed = fit.grade <= Grade::Marginal;
        let report = FitReport { fit, as_it_stands: None, to_measure: None };
        let question = Question { kind: Kind::Fit, ..Question::default() };
        let stacks = StacksThen { kind: Kind::Fit, landed, stacks };
        (report::fit_json(&bench, &report), question, stacks, holds)
    } else {
        let ask = ask::ask(&args.search, &library, Order::Grade)?;
        let answer = progress::watched(env, |watch| recommend(&bench, &ask, watch))?;
        let holds = answer.stacks.iter().any(Fit::holds);
        let landed = !answer.stacks.is_empty();
        let stacks = if landed { &answer.stacks } else { &answer.nearest };
        let stacks = stacks.iter().map(then).collect();
        let stacks = StacksThen { kind: Kind::Ranking, landed, stacks };
        let question = ask::question(env.kinds, &ask);
        (report::recommend_json(&bench, &answer), question, stacks, holds)
    };
    let kept = KeptAnswer { question: Some(question), stacks, given, ..kept };
    let name = catalog.write(&stamp, |writer| {
        let name = writer.answer_name(name, &args.job, &day)?;
        writer.keep_answer(&KeptAnswer { name: name.clone(), ..kept.clone() })?;
        Ok(name)
    })?;
    Ok(Reply { holds, ..Reply::stored(format!("kept the answer {name}\n")) })
}

/// The stack that is fitted.
pub(super) fn fitted<'a>(bench: &Bench<'a>) -> Result<Fit<'a>> {
    evaluate(bench, &bench.fitted_choice()?).map_err(|missing| lacks(bench, missing))
}
