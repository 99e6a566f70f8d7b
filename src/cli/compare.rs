//! `answer compare`: the stacks of an answer that was kept, worked out once more.

use std::collections::HashSet;

use super::answer::fitted;
use super::args::{Common, Shape};
use super::env::Env;
use super::fit::fill;
use super::{Reply, ask, place, progress};
use crate::catalog::Access;
use crate::error::{Class, Error, Result};
use crate::model::history::{Event, Subject};
use crate::model::job::Job;
use crate::model::kept::{KeptAnswer, Kind, StackThen};
use crate::model::pieces::part_and_label;
use crate::report::{self, Comparison, Today};
use crate::solve::ask::Ask;
use crate::solve::cure::lacks;
use crate::solve::recommend::recommend;
use crate::stack::choice::{Bench, Choice, Fill};
use crate::stack::fit::{Fit, evaluate};

pub(super) fn run(common: &Common, name: &str, shape: Shape, env: &mut Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let (kept, library, job, events) = catalog.read(|reader| {
        let kept = reader.load_answer(name)?;
        let job = reader.load_job(&kept.job)?;
        let events = reader.history_since(kept.last_event)?;
        Ok((kept, place::applied_library(reader)?, job, events))
    })?;
    let bench = Bench::new(&library, &job)?;
    let then = &kept.stacks.stacks;
    let since = concerned(events, &job, then);
    let stacks =
        then.iter().map(|then| Today { now: today(&bench, then), then: then.clone() }).collect();
    let best = match best(&bench, &kept, env) {
        Err(error) if error.class() == Class::Interrupted => return Err(error),
        best => best,
    };
    let told = Comparison { kinds: env.kinds, kept: &kept, stacks, best, since };
    let text = match shape {
        Shape::Table => report::compare_table(&bench, &told, env.view(common)),
        Shape::Json => report::compare_json(&bench, &told),
    };
    Ok(Reply::answer(text, told.holds()))
}

/// The same parts, worked out with what the catalog says today.
fn today<'a>(bench: &Bench<'a>, then: &StackThen) -> Result<Fit<'a>> {
    let slot = |(slot, key): (usize, &str)| match then.in_slot(key).join("|") {
        none if none.is_empty() && bench.fitted[slot].bench => Ok(Fill::on_bench()),
        none if none.is_empty() => Ok(Fill::empty()),
        ids => fill(bench, slot, &ids),
    };
    let keys = bench.library.kinds.slots().map(|(_, slot)| slot.key).enumerate();
    let fills = keys.map(slot).collect::<Result<_>>()?;
    let choice = Choice { fills };
    bench.complete(&choice)?;
    evaluate(bench, &choice).map_err(|missing| lacks(bench, missing))
}

/// The best answer to the same question today.
fn best<'a>(bench: &Bench<'a>, kept: &KeptAnswer, env: &Env<'_>) -> Result<Option<Fit<'a>>> {
    let Some(question) = &kept.question else {
        return Err(Error::input("an older program kept this answer without its question")
            .hint("`answer keep` asks it anew"));
    };
    if question.kind == Kind::Fit {
        return fitted(bench).map(Some);
    }
    let ask = Ask { top: 1, counts: false, ..ask::asked(question, bench.library)? };
    let answer = progress::watched(env, |watch| recommend(bench, &ask, watch))?;
    Ok(answer.stacks.into_iter().next())
}

/// The events of the job, of the parts that it or a stack names, of the house numbers and of the
/// instruments.
fn concerned(events: Vec<Event>, job: &Job, then: &[StackThen]) -> Vec<Event> {
    let of_stacks = then.iter().flat_map(|stack| stack.parts.values()).flatten();
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
