//! What answers say of parts that lie on the shelf and are set aside for other jobs.

use std::collections::BTreeSet;

use serde::Serialize as Derive;

use crate::model::aside::ForJob;
use crate::model::words::list;
use crate::stack::choice::Setup;
use crate::stack::fit::Fit;

/// How many parts are named.
const MOST: usize = 6;

/// What is set aside for other jobs than this one, and so not to be had for it.
fn for_others<'a>(setup: &Setup<'a>) -> Vec<(&'a str, &'a ForJob)> {
    let (library, job): (&'a _, _) = (setup.library, &setup.job.id);
    if library.aside.is_empty() {
        return Vec::new();
    }
    let parts = library.parts.iter().filter(|part| part.kind.slot.is_some());
    let parts: BTreeSet<&str> = parts.map(|part| part.id.as_str()).collect();
    let others = library.aside.iter().filter(|(_, aside)| aside.job != *job);
    others.filter(|(part, _)| parts.contains(part)).collect()
}

fn sentence(others: &[(&str, &ForJob)]) -> Option<String> {
    if others.is_empty() {
        return None;
    }
    let each: Vec<String> = others
        .iter()
        .map(|(part, ForJob { job, pieces })| match pieces {
            1 => format!("{part} for {job}"),
            more => format!("{more} of {part} for {job}"),
        })
        .collect();
    Some(format!("Set aside for other jobs, and counted as gone: {}.", list(&each, MOST)))
}

/// The same in a sentence, for an answer that looked at every part.
pub(super) fn in_library(setup: &Setup<'_>) -> Option<String> {
    sentence(&for_others(setup))
}

/// The same of the parts that one stack would bring in.
pub(super) fn in_stack(setup: &Setup<'_>, fit: &Fit<'_>) -> Option<String> {
    let new = fit.changed.iter().flat_map(|slot| fit.choice.fills[*slot].ids());
    let new: BTreeSet<&str> = new.collect();
    let mut others = for_others(setup);
    others.retain(|(part, _)| new.contains(part));
    sentence(&others)
}

/// What is set aside for another job, for programs.
#[derive(Derive)]
pub(super) struct AsideElsewhere<'a> {
    part: &'a str,
    pieces: u32,
    job: &'a str,
}

/// Everything that is set aside for other jobs.
pub(super) fn rows<'a>(setup: &Setup<'a>) -> Vec<AsideElsewhere<'a>> {
    let row = |(part, aside): (&'a str, &'a ForJob)| AsideElsewhere {
        part,
        pieces: aside.pieces,
        job: &aside.job,
    };
    for_others(setup).into_iter().map(row).collect()
}
