//! What an answer says in sentences: verdicts, what is wrong, what to do next.

mod cautions;
mod forbidden;
mod window;

use itertools::Itertools as _;

pub use cautions::GRADES;
pub(super) use cautions::{SAFETY, caution, legend};
pub(super) use forbidden::forbidden;
pub(super) use window::{edge_name, edges, edges_summed, set_by};
use window::{missed, with_float};

use super::cells;
use super::units::{Units, capital};
use crate::model::edge::Edge;
use crate::model::kinds::Kinds;
use crate::model::length::{Length, Unit};
use crate::model::words::{count, list};
use crate::stack::answer::{Change, LeftOut, Range, Trouble};
use crate::stack::checks::{Check, Outcome};
use crate::stack::choice::Setup;
use crate::stack::fit::Fit;
use crate::stack::grade::Grade;
use crate::stack::measuring::Next;
use crate::stack::odds::Chance;
use crate::stack::shown::Shown;
use crate::stack::unused::{Unused, Why};

/// By how much a dimension differs from today's: "thinner by 0.061 to 0.285 in".
pub(super) fn differs(dimension: &str, by: Range, say: Units) -> String {
    let (less, more) = if dimension.ends_with("thickness") {
        ("thinner", "thicker")
    } else if dimension.ends_with("height") {
        ("lower", "higher")
    } else {
        ("smaller", "larger")
    };
    let (unit, zero) = (say.unit(), Length::ZERO);
    let digits = |length: Length| length.abs().digits(unit, false);
    let show = |length: Length| say.length(length.abs());
    let word = |end: Length| if end < zero { less } else { more };
    match (by.from, by.to) {
        (Some(from), Some(to)) if to <= zero => {
            format!("{less} by {} to {}", digits(to), show(from))
        }
        (Some(from), Some(to)) if from >= zero => {
            format!("{more} by {} to {}", digits(from), show(to))
        }
        (Some(from), Some(to)) => {
            format!("from {} {less} to {} {more}", show(from), show(to))
        }
        (Some(end), None) if end >= zero => format!("{more} by at least {}", show(end)),
        (None, Some(end)) if end <= zero => format!("{less} by at least {}", show(end)),
        (Some(end), None) | (None, Some(end)) => format!("{} by at most {}", word(end), show(end)),
        (None, None) => format!("{less} or {more} by anything"),
    }
}

/// Which mating faces of a stack nobody has verified; none where all are.
pub(super) fn unverified(fit: &Fit<'_>) -> Option<String> {
    let open = fit.joints.not_verified_names();
    let all = fit.joints.met;
    match open.len() {
        0 => None,
        count if count == all as usize => Some(format!(
            "Nothing is known to bolt together: none of its {all} mating faces is verified."
        )),
        count => Some(format!(
            "{count} of its {all} mating faces {} not verified: {}.",
            if count == 1 { "is" } else { "are" },
            open.join(", ")
        )),
    }
}

/// The flags with which `fit` works a stack out.
pub(super) fn with_flags(setup: &Setup<'_>, fit: &Fit<'_>) -> String {
    let flag = |slot: &usize| {
        let (key, fill) = (setup.library.kinds.slot_key(*slot), &fit.choice.fills[*slot]);
        if fill.cut != Length::ZERO {
            let thickness = fill.parts.first().and_then(|part| part.length("thickness"));
            let left = thickness.unwrap_or(Length::ZERO) - fill.cut;
            return format!(" --machine-to \"{}\"", left.exact(Unit::In));
        }
        let ids = if fill.is_empty() { "none".into() } else { fill.ids().join("|") };
        if ids.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_.".contains(&b)) {
            format!(" --with {key}={ids}")
        } else {
            format!(" --with '{key}={ids}'")
        }
    };
    fit.changed.iter().map(flag).collect()
}

/// Why a grade is no better.
pub(super) fn because(fit: &Fit<'_>) -> String {
    fit.because.map_or_else(String::new, |cap| format!(" because {}", cap.words()))
}

/// Where a stack stands, in one sentence.
pub(super) fn verdict(fit: &Fit<'_>, say: Units) -> String {
    let grade = fit.grade.word();
    if fit.grade.in_window() {
        let room = say.length(fit.room);
        let fails = cells::failed(fit);
        if fails.is_empty() {
            return format!("In its window: {grade}{}, with {room} of room.", because(fit));
        }
        return format!(
            "In its window ({grade}, {room} of room), but it fails {}.",
            list(&fails, 6)
        );
    }
    let Some((edge, at)) = fit.nearest_edge() else { return capital(grade) };
    let miss = missed(edge, at.limit, at.set_by, -at.room, say);
    let float = with_float(at, say);
    if fit.grade == Grade::Undecided {
        format!(
            "Undecided: {miss}{float}, no more than what the measurements leave open: measure first."
        )
    } else {
        format!("Out of its window: {miss}{float}.")
    }
}

/// What is wrong with a job, in one sentence.
pub(super) fn trouble(setup: &Setup<'_>, fit: &Fit<'_>, trouble: &Trouble, say: Units) -> String {
    let miss = |word: &str, edge: Edge, by: Length, wear: Option<Length>| {
        let at = fit.edges[edge];
        let miss = at.map_or_else(String::new, |at| missed(edge, at.limit, at.set_by, by, say));
        let float = at.map_or_else(String::new, |at| with_float(&at, say));
        let wear = wear.map_or_else(String::new, |wear| {
            format!("; that is {} of facing wear", say.length(wear))
        });
        let open = if fit.grade == Grade::Undecided {
            ". It is no more than what the measurements leave open: measure first"
        } else {
            ""
        };
        format!("{word}: {miss}{float}{wear}{open}.")
    };
    match trouble {
        Trouble::Nothing => {
            format!("Nothing is wrong: {} with {} of room.", fit.grade.word(), say.length(fit.room))
        }
        Trouble::TooTight { edge, by, wear } => miss("Too tight", *edge, *by, *wear),
        Trouble::TooLoose { edge, by, wear } => miss("Too loose", *edge, *by, *wear),
        Trouble::EmptyWindow(why) => capital(&forbidden(setup.library.kinds, why, say)),
        Trouble::NotCertain => format!(
            "Not certain: in its window as computed, with {} of room, but only {}{}.",
            say.length(fit.room),
            fit.grade.word(),
            because(fit)
        ),
        Trouble::FailsCheck(name) => {
            let check = fit.checks.iter().find(|check| check.name == *name);
            let note = check.map_or_else(String::new, |check| note(check, say));
            format!("In its window, but it fails the check {name}: {note}.")
        }
    }
}

/// What a check found, in words.
pub(super) fn note(check: &Check, say: Units) -> String {
    match &check.outcome {
        Outcome::Pass(note) | Outcome::Fail(note) => say.note(note),
        Outcome::Unchecked(needs) => format!("needs {}", list(needs, usize::MAX)),
    }
}

/// The checks that could not be made, in one line.
pub(super) fn unchecked<'c>(checks: impl IntoIterator<Item = &'c Check>) -> Option<String> {
    let mut all: Vec<(&str, Vec<&str>)> = Vec::new();
    for check in checks {
        let Outcome::Unchecked(needs) = &check.outcome else { continue };
        let index = all.iter().position(|(name, _)| *name == check.name).unwrap_or_else(|| {
            all.push((check.name, Vec::new()));
            all.len() - 1
        });
        for need in needs {
            if !all[index].1.contains(&need.as_str()) {
                all[index].1.push(need);
            }
        }
    }
    let each = all.iter().map(|(name, needs)| format!("{name} (needs {})", needs.join(", ")));
    let line = each.collect::<Vec<_>>().join("; ");
    (!line.is_empty()).then(|| format!("Not checked: {line}."))
}

/// A dimension with whose it is.
pub(super) fn dimension(kind: &str, part: Option<&str>, dim: &str) -> String {
    match part {
        Some(part) => format!("{dim} of {part}"),
        None if kind == "job" => format!("the job's {dim}"),
        None => format!("{dim} of the {}", kind.replace('_', " ")),
    }
}

/// What has to be found out before any reading decides a stack.
pub(super) fn find_out(next: &Next) -> Option<String> {
    let Next::FindOut { kind, part, key, again } = next else { return None };
    let what = dimension(kind, part.as_deref(), key);
    Some(if *again {
        format!("measure {what} again: another way to the same length disagrees with it")
    } else {
        format!("measure {what}: the grade is held back for want of it")
    })
}

/// The chance that preload and reserve are both inside, with what it rests on.
pub(super) fn chance(chance: &Chance) -> String {
    match chance {
        Chance::Of(_, conditions) if conditions.is_empty() => {
            format!("the chance that both are inside is {}", cells::chance(chance))
        }
        Chance::Of(number, conditions) => {
            let conditions = conditions.iter().map(|one| one.words()).join(" and ");
            let number = cells::chance(&Chance::Of(*number, Vec::new()));
            format!("the chance that both are inside is {number} if {conditions}")
        }
        Chance::Unknown(cap) => {
            format!("no chance can be given, as {}", cap.words())
        }
    }
}

/// Which way each length was come by, where there was more than one or a reading is not used.
pub(super) fn routes(shown: &Shown<'_>) -> Option<String> {
    let lengths = &shown.fit.lengths;
    let unused = shown.details.as_ref().is_some_and(|details| !details.unused.is_empty());
    let all = [
        ("finger tips", lengths.finger.from.words(), !lengths.other_fingers.is_empty()),
        ("bearing", lengths.bearing.from.words(), !lengths.other_bearings.is_empty()),
    ];
    let shown = all.into_iter().filter(|(_, _, others)| unused || *others);
    let each: Vec<String> = shown.map(|(length, route, _)| format!("{length}: {route}")).collect();
    (!each.is_empty()).then(|| format!("Taken from: {}.", each.join("; ")))
}

/// Why a reading of the job is not in the sum.
pub(super) fn unused(unused: &Unused) -> String {
    let reading = unused.reading;
    match unused.why {
        Why::AllReplaced => {
            format!("The job's {reading} is not used: every part it holds was replaced.")
        }
        Why::OtherIsSurer => format!("The job's {reading} is not used: the other way is surer."),
        Why::Lacks => {
            format!("The job's {reading} is not used: a dimension to go with it is unknown.")
        }
    }
}

/// How far the gearbox moves, and which way. A build on paper has no gearbox in place yet.
pub(super) fn gearbox_move(setup: &Setup<'_>, fit: &Fit<'_>, say: Units) -> String {
    let nothing = |kind: &str| {
        setup.slot(kind).is_none_or(|slot| {
            let fill = &setup.fitted[slot];
            fill.parts.is_empty() && !fill.on_bench
        })
    };
    let on_paper = nothing("flywheel") && nothing("bearing");
    let plates = ["block_plate", "bell_spacer", "gearbox_spacer"];
    let bare = plates.into_iter().all(nothing)
        && setup.slot("bell_housing").is_some_and(|slot| !fit.changed.contains(&slot));
    let than = if bare { "without plates and spacers" } else { "with what the job names" };
    match fit.gearbox_move {
        Some(Length::ZERO) if on_paper => format!("the gearbox stands as far back as {than}"),
        Some(back) if on_paper && back > Length::ZERO => {
            format!("the gearbox stands {} further back than {than}", say.length(back))
        }
        Some(forward) if on_paper => {
            format!("the gearbox stands {} further forward than {than}", say.length(-forward))
        }
        None => {
            "how far the gearbox moves is not known: the bell housing of today is not named".into()
        }
        Some(Length::ZERO) => "the gearbox stays where it is".into(),
        Some(back) if back > Length::ZERO => {
            format!("the gearbox moves {} to the rear", say.length(back))
        }
        Some(forward) => format!("the gearbox moves {} to the front", say.length(-forward)),
    }
}

/// What the reserve is good for in facing wear.
pub(super) fn wear(fit: &Fit<'_>, say: Units) -> String {
    match fit.wear {
        Some(bought) if bought.wear >= Length::ZERO => {
            let assumed = if bought.ratio_assumed { ", finger ratio assumed" } else { "" };
            let wear = say.length(bought.wear);
            format!("the reserve is good for {wear} of facing wear (whole pack{assumed})")
        }
        Some(_) => "there is no reserve for any facing wear".into(),
        None => {
            "what the reserve is good for in facing wear is not known without finger_ratio".into()
        }
    }
}

/// The parts that were left out, counted and named.
pub(super) fn left_out(left_out: &[LeftOut]) -> Option<String> {
    if left_out.is_empty() {
        return None;
    }
    let each: Vec<String> = left_out
        .iter()
        .map(|part| {
            let any = part.needs_any.join(" or ");
            let all = part.needs.join(", ");
            let needs = [all, any].into_iter().filter(|needs| !needs.is_empty()).join("; or ");
            match &part.id {
                None => format!("the {} on the bench (needs {needs})", part.kind.replace('_', " ")),
                Some(id) => format!("{id} (needs {needs})"),
            }
        })
        .collect();
    let number = count(each.len() as u128, "part");
    Some(format!("Left out: {number} for want of a dimension: {}.", list(&each, 12)))
}

/// One change as a person would write it down.
pub(super) fn change(kinds: Kinds, change: &Change, say: Units) -> String {
    let slot = kinds.slot_key(change.slot);
    let ids = |ids: &[String]| if ids.is_empty() { "none".to_string() } else { ids.join("|") };
    match change.machine_to {
        Some(length) => format!("machine {slot} {} to {}", ids(&change.from), say.length(length)),
        None => format!("{slot}: {} -> {}", ids(&change.from), ids(&change.to)),
    }
}
