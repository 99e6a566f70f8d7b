//! `answer compare`: the stacks of an answer that was kept, worked out once more.

use std::collections::HashSet;

use super::args::{Common, Shape};
use super::env::Env;
use super::fit::{fill, fitted};
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
    let then = &kept.stacks.stacks;
    let since = concerned(events, &job, then);
    let mut stacks = Vec::new();
    for then in then {
        let now = match today(&setup, then, env) {
            Err(error) if error.class() == Class::Interrupted => return Err(error),
            now => now,
        };
        stacks.push(Today { then: then.clone(), now });
    }
    let best = match best(&setup, &kept, env) {
        Err(error) if error.class() == Class::Interrupted => return Err(error),
        best => best,
    };
    let told = Comparison { kinds: env.kinds, kept: &kept, stacks, best, since };
    let text = match shape {
        Shape::Table => report::compare_table(&setup, &told, env.view(common)),
        Shape::Json => report::compare_json(&setup, &told),
    };
    Ok(Reply::good(text).holding(told.holds()))
}

/// The same parts, worked out with what the catalog says today; a number of which measured pieces
/// have come to hand since is judged by them.
fn today<'a>(setup: &Setup<'a>, then: &StackThen, env: &Env<'_>) -> Result<Fit<'a>> {
    let slot = |(slot, key): (usize, &str)| match then.in_slot(key).join("|") {
        none if none.is_empty() && setup.fitted[slot].on_bench => Ok(Fill::on_bench()),
        none if none.is_empty() => Ok(Fill::empty()),
        ids => fill(setup, slot, &ids),
    };
    let keys = setup.library.kinds.slots().map(|(_, slot)| slot.key).enumerate();
    let fills = keys.map(slot).collect::<Result<_>>()?;
    let choice = Choice { fills };
    setup.complete(&choice)?;
    if let Some(fit) = progress::watched(env, |watch| with_pieces(setup, &choice, watch))? {
        return Ok(fit);
    }
    evaluate(setup, &choice).map_err(|lack| lacks(setup, &lack))
}

/// The best answer to the same question today.
fn best<'a>(setup: &Setup<'a>, kept: &KeptAnswer, env: &Env<'_>) -> Result<Option<Shown<'a>>> {
    let Some(question) = &kept.question else {
        return Err(Error::input("an older program kept this answer without its question")
            .hint("`answer keep` asks it anew"));
    };
    if question.kind == Kind::Fit {
        return fitted(setup).map(|fit| Some(Shown::row(setup, fit)));
    }
    let ask = Ask { top: 1, counts: false, ..ask::asked(question, setup.library)? };
    let answer = progress::watched(env, |watch| recommend(setup, &ask, watch))?;
    Ok(answer.stacks.into_iter().next().map(|fit| Shown::row(setup, fit)))
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
