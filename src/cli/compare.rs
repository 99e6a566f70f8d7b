//! `answer compare`: the stacks of an answer that was kept, worked out once more.

use std::collections::HashSet;

use clap::Parser as _;

use super::answer::fitted;
use super::args::{Answer, Args, Command, Common, Keep, Shape};
use super::env::Env;
use super::fit::fill;
use super::{Reply, ask, place, progress};
use crate::catalog::Access;
use crate::error::{Class, Error, Result};
use crate::model::history::{Event, KeptAnswer, Subject};
use crate::model::job::Job;
use crate::model::pieces::part_and_label;
use crate::report::{self, Comparison, StackThen, StacksThen, Today};
use crate::solve::ask::{Ask, Order};
use crate::solve::cure::lacks;
use crate::solve::in_hand::with_pieces;
use crate::solve::recommend::recommend;
use crate::stack::choice::{Choice, Fill, Setup};
use crate::stack::fit::{Fit, evaluate};
use crate::stack::shown::Shown;

pub(super) fn run(common: &Common, name: &str, shape: Shape, env: &mut Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let (kept, library, job, events) = catalog.read(|reader| {
        let kept = reader.load_answer(name)?;
        let job = reader.load_job(&kept.job)?;
        let events = reader.history_since(kept.last_event)?;
        Ok((kept, place::applied_library(reader)?, job, events))
    })?;
    let setup = Setup::new(&library, &job)?;
    let StacksThen { ranked, stacks: then, .. } = StacksThen::of(&kept, env.kinds)?;
    let since = concerned(events, &job, &then);
    let mut stacks = Vec::new();
    for then in then {
        let now = match today(&setup, &then, env) {
            Err(error) if error.class() == Class::Interrupted => return Err(error),
            now => now,
        };
        stacks.push(Today { then, now });
    }
    let best = match best(&setup, &kept, env) {
        Err(error) if error.class() == Class::Interrupted => return Err(error),
        best => best,
    };
    let told = Comparison { kept: &kept, ranked, stacks, best, since };
    let text = match shape {
        Shape::Table => report::compare_table(&setup, &told, env.view(common)),
        Shape::Json => report::compare_json(&setup, &told),
    };
    Ok(Reply::good(text).holding(told.holds()))
}

/// The same parts, worked out with what the catalog says today; a number of which measured pieces
/// have come to hand since is judged by them.
fn today<'a>(setup: &Setup<'a>, then: &StackThen, env: &Env<'_>) -> Result<Fit<'a>> {
    let slot = |(slot, ids): (usize, &Vec<String>)| match ids.join("|") {
        none if none.is_empty() && setup.fitted[slot].on_bench => Ok(Fill::on_bench()),
        none if none.is_empty() => Ok(Fill::empty()),
        ids => fill(setup, slot, &ids),
    };
    let fills = then.parts.iter().enumerate().map(slot).collect::<Result<_>>()?;
    let choice = Choice { fills };
    setup.complete(&choice)?;
    if let Some(fit) = progress::watched(env, |watch| with_pieces(setup, &choice, watch))? {
        return Ok(fit);
    }
    evaluate(setup, &choice).map_err(|lack| lacks(setup, &lack))
}

/// The best answer to the same question today; the words that asked it are read once more.
fn best<'a>(setup: &Setup<'a>, kept: &KeptAnswer, env: &Env<'_>) -> Result<Option<Shown<'a>>> {
    let words = std::iter::once("bellstack").chain(kept.asked.iter().map(String::as_str));
    let Ok(Args { command: Command::Answer(Answer::Keep(asked)), .. }) =
        Args::try_parse_from(words)
    else {
        let words = kept.asked.join(" ");
        return Err(Error::input(format!("`{words}` is no question to this program")));
    };
    let Keep { search, fit, .. } = asked;
    if fit {
        return fitted(setup).map(|fit| Some(Shown::row(fit)));
    }
    let ask = ask::ask(&search, setup.library, Order::Grade)?;
    let ask = Ask { top: 1, counts: false, ..ask };
    let answer = progress::watched(env, |watch| recommend(setup, &ask, watch))?;
    Ok(answer.stacks.into_iter().next().map(Shown::row))
}

/// The events of the job, of the parts that it or a stack names, of the house numbers and of the
/// instruments.
fn concerned(events: Vec<Event>, job: &Job, then: &[StackThen]) -> Vec<Event> {
    let of_stacks = then.iter().flat_map(|stack| &stack.parts).flatten();
    let names = of_stacks.chain(job.fitted.iter().flatten()).chain(&job.master_cylinder);
    let parts: HashSet<&str> = names
        .flat_map(|name| [name.as_str(), part_and_label(name).map_or(name, |(part, _)| part)])
        .collect();
    let is_concerned = |event: &Event| match event.subject {
        Subject::Job => event.name == job.id,
        Subject::House | Subject::Instrument => true,
        Subject::Part | Subject::Piece | Subject::Reading => {
            event.part.as_deref().is_some_and(|part| parts.contains(part))
        }
    };
    events.into_iter().filter(is_concerned).collect()
}
