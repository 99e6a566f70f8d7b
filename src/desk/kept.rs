//! Answers that are kept, and what has become of them since.

use std::collections::HashSet;

use super::question::{asked, question};
use super::{Bench, fill};
use crate::catalog::{Catalog, Reader};
use crate::error::{Class, Error, Result};
use crate::model::history::{Event, Stamp, Subject};
use crate::model::kept::{KeptAnswer, Kind, Question, StackThen, StacksThen};
use crate::report::{self, Comparison, Today};
use crate::solve::ask::{Ask, Watch};
use crate::solve::cure::{cure, lacks};
use crate::solve::in_hand::with_pieces;
use crate::solve::recommend::recommend;
use crate::stack::choice::{Choice, Fill, Setup};
use crate::stack::fit::{Fit, evaluate};
use crate::stack::grade::Grade;
use crate::stack::shown::{OneStack, Shown};

/// What an answer to be kept answers.
#[derive(Debug, Clone)]
pub enum Asked {
    /// What is the stack that is fitted?
    Fitted,
    /// Which combinations land in the window?
    Ranking(Ask),
    /// Which changes to what is fitted do?
    Cure(Ask),
}

/// The stack that is fitted.
///
/// # Errors
///
/// Names the slots that a stack needs and the job leaves blank, and the dimensions that its sum
/// lacks.
pub fn fitted<'a>(setup: &Setup<'a>) -> Result<Fit<'a>> {
    evaluate(setup, &setup.fitted_choice()?).map_err(|lack| lacks(setup, &lack))
}

/// Works an answer to a job out and keeps it. Returns its name, and whether it holds a stack that is
/// in its window and fails no check. Whether it can be kept is looked at first: a long search is not
/// to end in a refusal. A blank `name` is made of the job and the day.
///
/// # Errors
///
/// Refuses a name that is taken, and what [`fitted`] and [`recommend`] refuse.
pub fn keep(
    catalog: &mut Catalog,
    (job, name): (&str, Option<&str>),
    (stamp, day): (&Stamp, &str),
    asked: impl FnOnce(&Bench) -> Result<Asked>,
    watch: &Watch,
) -> Result<(String, bool)> {
    catalog.write(stamp, |writer| writer.answer_name(name, job, day))?;
    let (bench, kept) = catalog.read(|reader| {
        let bench = Bench::read(reader, job)?;
        let kept = reader.to_keep(&bench.job, &bench.library.house, stamp)?;
        Ok((bench, kept))
    })?;
    let setup = bench.setup()?;
    let (kept, holds) = match asked(&bench)? {
        Asked::Fitted => of_fitted(&setup, kept)?,
        Asked::Ranking(ask) => of_ranking(&setup, &ask, kept, watch)?,
        Asked::Cure(ask) => of_cure(&setup, &ask, kept, watch)?,
    };
    let name = catalog.write(stamp, |writer| {
        let name = writer.answer_name(name, job, day)?;
        writer.keep_answer(&KeptAnswer { name: name.clone(), ..kept.clone() })?;
        Ok(name)
    })?;
    Ok((name, holds))
}

fn of_fitted(setup: &Setup<'_>, kept: KeptAnswer) -> Result<(KeptAnswer, bool)> {
    let shown = OneStack::of(setup, fitted(setup)?, None, false);
    let fit = &shown.judged.fit;
    let stacks = vec![report::stack_then(setup.library.kinds, fit)];
    let stacks = StacksThen { kind: Kind::Fit, landed: fit.grade <= Grade::Marginal, stacks };
    let question = Some(Question { kind: Kind::Fit, ..Question::default() });
    let given = report::fit_json(setup, &shown);
    Ok((KeptAnswer { question, stacks, given, ..kept }, fit.holds()))
}

fn of_ranking(
    setup: &Setup<'_>,
    ask: &Ask,
    kept: KeptAnswer,
    watch: &Watch,
) -> Result<(KeptAnswer, bool)> {
    let answer = recommend(setup, ask, watch)?;
    let landed = !answer.stacks.is_empty();
    let stacks = if landed { &answer.stacks } else { &answer.nearest };
    let (kept, holds) = with_stacks(setup, (Kind::Ranking, ask), landed, stacks.iter(), kept);
    let given = report::recommend_json(setup, &answer.shown(setup));
    Ok((KeptAnswer { given, ..kept }, holds))
}

fn of_cure(
    setup: &Setup<'_>,
    ask: &Ask,
    kept: KeptAnswer,
    watch: &Watch,
) -> Result<(KeptAnswer, bool)> {
    let cured = cure(setup, ask, watch)?;
    let landed = !cured.remedies.is_empty();
    let stacks = cured.remedies.iter().map(|remedy| &remedy.fit);
    let (kept, holds) = with_stacks(setup, (Kind::Cure, ask), landed, stacks, kept);
    let given = report::cure_json(setup, &cured.shown(setup));
    Ok((KeptAnswer { given, ..kept }, holds))
}

/// An answer with what was asked and the stacks that it named, and whether one of them holds what was
/// asked for; those of one that did not land are only the nearest, and hold nothing.
fn with_stacks<'f, 'a: 'f>(
    setup: &Setup<'_>,
    (kind, ask): (Kind, &Ask),
    landed: bool,
    stacks: impl Iterator<Item = &'f Fit<'a>> + Clone,
    kept: KeptAnswer,
) -> (KeptAnswer, bool) {
    let kinds = setup.library.kinds;
    let holds = landed && stacks.clone().any(Fit::holds);
    let stacks = stacks.map(|fit| report::stack_then(kinds, fit)).collect();
    let stacks = StacksThen { kind, landed, stacks };
    (KeptAnswer { question: Some(question(kinds, kind, ask)), stacks, ..kept }, holds)
}

/// A kept answer with the job and the library of today, and what has changed since.
#[derive(Debug)]
pub struct Since {
    /// The answer.
    pub kept: KeptAnswer,
    /// Its job and the library, as they are today.
    pub bench: Bench,
    /// What has changed since in the job, its parts, the house numbers and the instruments.
    pub events: Vec<Event>,
}

impl Since {
    /// The answer of this name.
    ///
    /// # Errors
    ///
    /// Names the nearest answer where there is none of this name, and refuses one whose job is gone.
    pub fn read(reader: &Reader<'_>, name: &str) -> Result<Self> {
        let kept = reader.load_answer(name)?;
        let bench = Bench::read(reader, &kept.job)?;
        let events = reader.history_since(kept.last_event)?;
        let events = concerned(events, &bench, &kept.stacks.stacks);
        Ok(Self { kept, bench, events })
    }
}

/// The stacks of an answer worked out once more, beside the best answer to the same question today.
///
/// # Errors
///
/// Only that the work was interrupted: what cannot be told of a stack is part of the comparison.
pub fn compare<'a>(
    setup: &Setup<'a>,
    kept: &'a KeptAnswer,
    since: Vec<Event>,
    watch: &Watch,
) -> Result<Comparison<'a>> {
    let mut stacks = Vec::new();
    for then in &kept.stacks.stacks {
        let now = unless_interrupted(today(setup, then, watch))?;
        stacks.push(Today { then: then.clone(), now });
    }
    let best = unless_interrupted(best(setup, kept, watch))?;
    Ok(Comparison { kinds: setup.library.kinds, kept, stacks, best, since })
}

fn unless_interrupted<T>(told: Result<T>) -> Result<Result<T>> {
    match told {
        Err(error) if error.class() == Class::Interrupted => Err(error),
        told => Ok(told),
    }
}

/// The parts of a kept stack, worked out with what the catalog says today; a number of which measured
/// pieces have come to hand since is judged by them.
///
/// # Errors
///
/// Says why the stack cannot be had today.
pub fn today<'a>(setup: &Setup<'a>, then: &StackThen, watch: &Watch) -> Result<Fit<'a>> {
    let slot = |(slot, key): (usize, &str)| match then.in_slot(key).join("|") {
        none if none.is_empty() && setup.fitted[slot].on_bench => Ok(Fill::on_bench()),
        none if none.is_empty() => Ok(Fill::empty()),
        ids => fill(setup, slot, &ids),
    };
    let keys = setup.library.kinds.slots().map(|(_, slot)| slot.key).enumerate();
    let fills = keys.map(slot).collect::<Result<_>>()?;
    let mut choice = Choice { fills };
    if let Some(flywheel) = setup.slot("flywheel") {
        choice.fills[flywheel].cut = then.cut;
    }
    setup.complete(&choice)?;
    if let Some(fit) = with_pieces(setup, &choice, watch)? {
        return Ok(fit);
    }
    evaluate(setup, &choice).map_err(|lack| lacks(setup, &lack))
}

/// The best answer to the same question today.
fn best<'a>(setup: &Setup<'a>, kept: &KeptAnswer, watch: &Watch) -> Result<Option<Shown<'a>>> {
    let Some(question) = &kept.question else {
        return Err(Error::input("an older program kept this answer without its question")
            .hint("`answer keep` asks it anew"));
    };
    if question.kind == Kind::Fit {
        return fitted(setup).map(|fit| Some(Shown::row(setup, fit)));
    }
    let ask = Ask { top: 1, counts: false, ..asked(question, setup.library)? };
    if question.kind == Kind::Cure {
        let first = cure(setup, &ask, watch)?.remedies.into_iter().next();
        return Ok(first.map(|remedy| Shown::row(setup, remedy.fit)));
    }
    let answer = recommend(setup, &ask, watch)?;
    Ok(answer.stacks.into_iter().next().map(|fit| Shown::row(setup, fit)))
}

/// The events of the job, of the parts that it or a stack names, of the house numbers and of the
/// instruments.
fn concerned(events: Vec<Event>, bench: &Bench, then: &[StackThen]) -> Vec<Event> {
    use crate::model::pieces::part_and_label;
    let job = &bench.job;
    let of_stacks = then.iter().flat_map(|stack| stack.parts.values()).flatten();
    let names = of_stacks.chain(job.fitted.iter().flatten()).chain(&job.master_cylinder);
    let mut parts: HashSet<&str> = names
        .flat_map(|name| [name.as_str(), part_and_label(name).map_or(name, |(part, _)| part)])
        .collect();
    // What was done to a part under another number concerns it too.
    for part in &bench.library.parts {
        if part.formerly.iter().chain([&part.id]).any(|id| parts.contains(id.as_str())) {
            parts.extend(part.formerly.iter().chain([&part.id]).map(String::as_str));
        }
    }
    let is_concerned = |event: &Event| match event.subject {
        Subject::Job => event.name == job.id,
        Subject::House | Subject::Instrument | Subject::Catalog => true,
        Subject::Headings => false,
        Subject::Part | Subject::Piece | Subject::Reading => {
            event.part.as_deref().is_some_and(|part| parts.contains(part))
        }
    };
    events.into_iter().filter(is_concerned).collect()
}
