//! What keeps every stack out, in one sentence.

use itertools::Itertools as _;

use super::window::missed;
use crate::model::kinds::Kinds;
use crate::model::words::count;
use crate::report::units::{Units, setter};
use crate::stack::answer::{Forbidden, LeftOut, Sieve};
use crate::stack::window::Empty;

/// What keeps every stack out, in one sentence.
pub(in crate::report) fn forbidden(kinds: Kinds, forbidden: &Forbidden, say: Units) -> String {
    match forbidden {
        Forbidden::NoCandidate(sieve) => no_candidate(kinds, sieve),
        Forbidden::NothingMates => "every combination clashes at some mating face.".into(),
        Forbidden::TooMuchShim => {
            "every combination that mates takes more shim than its bearing.".into()
        }
        Forbidden::NothingAdds(ways) => {
            let way = |parts: &Vec<LeftOut>| parts.iter().map(lacking).join(" and ");
            let ways = ways.iter().map(way).unique().join("; or ");
            format!("what mates cannot be summed up: it lacks {ways}.")
        }
        Forbidden::NothingWorks => {
            "no combination mates at every face and can be summed up.".into()
        }
        Forbidden::Asked { budget, at_least, best: (grade, to_buy) } => {
            let unpriced = match to_buy.unpriced {
                0 => String::new(),
                unpriced => {
                    let pieces = count(unpriced.into(), "piece");
                    format!(" and {pieces} without a price")
                }
            };
            let grades = at_least.map(|wanted| format!("`--at-least {}`", wanted.word()));
            match (budget, grades) {
                (Some((budget, currency)), None) => format!(
                    "the budget of {budget} {currency}: the cheapest stack in its window costs {} \
                     {currency}{unpriced}.",
                    to_buy.amount
                ),
                (Some((budget, currency)), Some(grades)) => format!(
                    "the budget of {budget} {currency} and {grades} together: the cheapest stack in its \
                     window is {} and costs {} {currency}{unpriced}.",
                    grade.word(),
                    to_buy.amount
                ),
                (None, grades) => format!(
                    "{}: the best stack in its window is {}.",
                    grades.unwrap_or_default(),
                    grade.word()
                ),
            }
        }
        Forbidden::Travel { bearing, travel, empty, set_by } => {
            let bearing = if bearing.is_empty() {
                "the bearing".into()
            } else {
                format!("bearing {bearing}")
            };
            let travel = say.length(*travel);
            let (first, second) = (setter(set_by.0), setter(set_by.1));
            match empty {
                Empty::TravelShort(by) => format!(
                    "{bearing} travels {travel}, {} short of what the least preload (set by {first}) \
                     and the least wear reserve (set by {second}) take together: no plate, spacer or \
                     shim can help, only a bearing with more travel or other minimums.",
                    say.length(*by)
                ),
                Empty::TravelLong(by) => format!(
                    "{bearing} travels {travel}, {} more than the most preload (set by {first}) and \
                     the most wear reserve (set by {second}) allow together: no plate, spacer or shim \
                     can help, only a bearing with less travel or other maxima.",
                    say.length(*by)
                ),
            }
        }
        Forbidden::Edge { edge, set_by, limit, by } => {
            format!("{}.", missed(*edge, *limit, *set_by, *by, say))
        }
        Forbidden::Checks { check } => {
            format!("what lands in the window fails a check beside it, first of all {check}.")
        }
    }
}

/// Why nothing can take a slot: what became of its parts.
fn no_candidate(kinds: Kinds, sieve: &Sieve) -> String {
    let slot = kinds.slot_key(sieve.slot);
    if sieve.parts == 0 {
        return format!("the catalog has no part for the slot {slot}.");
    }
    let mut each = sieve.removed.iter().map(|(why, parts)| format!("{parts}: {}", why.words()));
    let parts = count(sieve.parts as u128, "part");
    format!("nothing can take the slot {slot}, of {parts} ({}).", each.join(", "))
}

/// What a part lacks, for the middle of a sentence.
fn lacking(part: &LeftOut) -> String {
    let needs = part.needs.join(", ");
    match &part.id {
        Some(id) => format!("{needs} of {} {id}", part.kind.replace('_', " ")),
        None => format!("{needs} of the {} on the bench", part.kind.replace('_', " ")),
    }
}
