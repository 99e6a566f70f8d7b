//! What an answer says in sentences: verdicts, what is wrong, what forbids a cure, what to do next.

use super::spoken::{Spoken, capital, setter};
use crate::model::house::EDGE_KEYS;
use crate::model::kinds::{Kinds, Quantity};
use crate::model::length::{Length, Ratio, Unit};
use crate::model::part::{Entry, show_value};
use crate::model::words::{count, list};
use crate::stack::answer::{Change, Forbidden, LeftOut, Trouble};
use crate::stack::checks::{Check, Outcome};
use crate::stack::choice::Bench;
use crate::stack::fit::{Fit, wear_bought};
use crate::stack::grade::Grade;
use crate::stack::nextstep::{Aim, NextStep};
use crate::stack::unused::{Unused, Why, unused_readings};
use crate::stack::window::{Edge, Empty, SetBy, clutch_sums};

/// What somebody who builds from an answer has to know, in every answer.
pub(super) const SAFETY: &str = "Before you build: these numbers are only as good as the \
    measurements behind them, so measure again after assembly. Support vehicle and gearbox on stands \
    made for them. Old facings may hold asbestos: do not blow or brush their dust. Torque figures, \
    balance and scatter protection are the makers' and the sanctioning body's to set; local rules \
    and a licensed technician have the last word.";

/// The four edges' names for people.
pub(super) const EDGES: [&str; 4] =
    ["least preload", "most preload", "least wear reserve", "most wear reserve"];

/// The edge of the four that a stack misses by most, or comes nearest to.
pub(super) fn worst_edge(fit: &Fit<'_>) -> Option<(usize, Edge, Length)> {
    let edges = fit.edges.iter().enumerate();
    edges
        .filter_map(|(index, edge)| edge.as_ref().map(|edge| (index, edge.edge, edge.room)))
        .min_by_key(|(_, _, room)| *room)
}

/// Whether an edge of the four is a least rather than a most.
fn is_least(index: usize) -> bool {
    index == 0 || index == 2
}

/// The crank end float that was taken off an edge's room.
pub(super) fn float_taken(fit: &Fit<'_>, index: usize) -> Length {
    let value = if index < 2 { fit.preload } else { fit.reserve };
    fit.edges[index].map_or(Length::ZERO, |edge| {
        let plain = value - edge.edge.limit;
        (if is_least(index) { plain } else { -plain }) - edge.room
    })
}

/// By how much which number misses an edge, and who set that.
fn missed(index: usize, limit: Length, set_by: SetBy, by: Length, say: Spoken) -> String {
    let number = if index < 2 { "the preload" } else { "the wear reserve" };
    let (by, limit) = (say.length(by), say.length(limit));
    if is_least(index) {
        format!("{number} is {by} short of the least {limit}, set by {}", setter(set_by))
    } else {
        format!("{number} is {by} over the most {limit}, set by {}", setter(set_by))
    }
}

fn with_float(fit: &Fit<'_>, index: usize, say: Spoken) -> String {
    let taken = float_taken(fit, index);
    if taken == Length::ZERO {
        return String::new();
    }
    format!(", {} of crank end float counted", say.length(taken))
}

/// The names of the checks that a stack fails.
pub(super) fn failed(fit: &Fit<'_>) -> Vec<String> {
    fit.checks.iter().filter(|check| check.failed()).map(|check| check.name.to_string()).collect()
}

/// Why a grade is no better.
pub(super) fn because(fit: &Fit<'_>) -> String {
    fit.because.map_or_else(String::new, |why| format!(" because of: {why}"))
}

/// Where a stack stands, in one sentence.
pub(super) fn verdict(fit: &Fit<'_>, say: Spoken) -> String {
    let grade = fit.grade.word();
    if fit.grade.in_window() {
        let room = say.length(fit.room);
        let fails = failed(fit);
        if fails.is_empty() {
            return format!("In its window: {grade}{}, with {room} of room.", because(fit));
        }
        return format!(
            "In its window ({grade}, {room} of room), but it fails {}.",
            list(&fails, 6)
        );
    }
    let Some((index, edge, room)) = worst_edge(fit) else { return capital(grade) };
    let miss = missed(index, edge.limit, edge.set_by, -room, say);
    let float = with_float(fit, index, say);
    if fit.grade == Grade::Undecided {
        format!(
            "Undecided: {miss}{float}, no more than what the measurements leave open: measure first."
        )
    } else {
        format!("Out of its window: {miss}{float}.")
    }
}

fn ratio(bench: &Bench<'_>, fit: &Fit<'_>) -> Option<Ratio> {
    let plate = bench.part(&fit.choice, "pressure_plate")?;
    plate.entry("finger_ratio").map(Entry::as_ratio)
}

/// What a length at the fingers is in facing wear.
pub(super) fn as_wear(bench: &Bench<'_>, fit: &Fit<'_>, by: Length) -> Option<Length> {
    ratio(bench, fit).map(|ratio| wear_bought(by, ratio))
}

/// What is wrong with a job, in one sentence.
pub(super) fn trouble(bench: &Bench<'_>, fit: &Fit<'_>, trouble: &Trouble, say: Spoken) -> String {
    let miss = |word: &str, edge: usize, by: Length| {
        let limit = fit.edges[edge].map(|edge| edge.edge);
        let miss = limit
            .map_or_else(String::new, |limit| missed(edge, limit.limit, limit.set_by, by, say));
        let wear = as_wear(bench, fit, by).map_or_else(String::new, |wear| {
            format!("; that is {} of facing wear", say.length(wear))
        });
        let open = if fit.grade == Grade::Undecided {
            ". It is no more than what the measurements leave open: measure first"
        } else {
            ""
        };
        format!("{word}: {miss}{}{wear}{open}.", with_float(fit, edge, say))
    };
    match trouble {
        Trouble::Nothing => {
            format!("Nothing is wrong: {} with {} of room.", fit.grade.word(), say.length(fit.room))
        }
        Trouble::TooTight { edge, by } => miss("Too tight", *edge, *by),
        Trouble::TooLoose { edge, by } => miss("Too loose", *edge, *by),
        Trouble::EmptyWindow(why) => capital(&forbidden(bench.library.kinds, why, say)),
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

/// What keeps every stack out, in one sentence.
pub(super) fn forbidden(kinds: Kinds, forbidden: &Forbidden, say: Spoken) -> String {
    match forbidden {
        Forbidden::NoCandidate { slot } => {
            format!("no part of the catalog can take the slot {}.", kinds.slot_key(*slot))
        }
        Forbidden::NothingMates => {
            "every combination clashes at some mating face, or takes more shim than its bearing."
                .into()
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

/// What a check found, in words.
pub(super) fn note(check: &Check, say: Spoken) -> String {
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

/// The measurement that would settle a stack.
pub(super) fn next_step(step: &NextStep, say: Spoken) -> String {
    let NextStep { kind, part, dim, aim } = step;
    let what = dimension(kind, part.as_deref(), dim);
    match aim {
        Aim::Within(within) => format!("measure {what} to within {}", say.length(*within)),
        Aim::AtLeast(least) => {
            format!(
                "measure {what}: the stack is inside if it reads at least {}",
                say.length(*least)
            )
        }
        Aim::AtMost(most) => {
            format!("measure {what}: the stack is inside if it reads at most {}", say.length(*most))
        }
        Aim::Known => format!("find out {what}: the grade is held back for want of it"),
        Aim::AsCloselyAsPossible => format!("measure {what} as closely as you can"),
    }
}

/// Which way each length was come by, where there was more than one or a reading is not used.
pub(super) fn routes(bench: &Bench<'_>, fit: &Fit<'_>) -> Option<String> {
    let lengths = &fit.lengths;
    let all = [
        ("finger tips", &lengths.finger),
        ("bearing extended", &lengths.extended),
        ("bearing retracted", &lengths.retracted),
    ];
    let unused = !unused_readings(bench, fit).is_empty();
    let shown = all.into_iter().filter(|(_, routes)| unused || !routes.others.is_empty());
    let each: Vec<String> =
        shown.map(|(length, routes)| format!("{length}: {}", routes.used.name)).collect();
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
pub(super) fn gearbox_move(bench: &Bench<'_>, fit: &Fit<'_>, say: Spoken) -> String {
    let nothing = |kind: &str| {
        bench.slot(kind).is_none_or(|slot| {
            let fill = &bench.fitted[slot];
            fill.parts.is_empty() && !fill.bench
        })
    };
    let on_paper = nothing("flywheel") && nothing("bearing");
    let plates = ["block_plate", "bell_spacer", "gearbox_spacer"];
    let bare = plates.into_iter().all(nothing)
        && bench.slot("bell_housing").is_some_and(|slot| !fit.changed.contains(&slot));
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
pub(super) fn wear(fit: &Fit<'_>, say: Spoken) -> String {
    match fit.wear {
        Some(wear) if wear >= Length::ZERO => {
            format!("the reserve is good for {} of facing wear (whole pack)", say.length(wear))
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
            let needs = part.needs.join(", ");
            match part.id.as_str() {
                "" => format!("the {} (needs {needs})", part.kind.replace('_', " ")),
                id => format!("{id} (needs {needs})"),
            }
        })
        .collect();
    let number = count(each.len() as u128, "part");
    Some(format!("Left out: {number} for want of a dimension: {}.", list(&each, 12)))
}

/// One change as a person would write it down.
pub(super) fn change(kinds: Kinds, change: &Change, say: Spoken) -> String {
    let slot = kinds.slot_key(change.slot);
    let ids = |ids: &[String]| if ids.is_empty() { "none".to_string() } else { ids.join("|") };
    match change.machine_to {
        Some(length) => format!("machine {slot} {} to {}", ids(&change.from), say.length(length)),
        None => format!("{slot}: {} -> {}", ids(&change.from), ids(&change.to)),
    }
}

/// The window's edges with how the clutch's own minimums come about:
/// `preload_min 0.550 in (clutch: release travel 0.450 + margin 0.100)`.
pub(super) fn edges_summed(bench: &Bench<'_>, fit: &Fit<'_>, unit: Unit) -> String {
    let part = |kind| bench.part(&fit.choice, kind);
    let sums = clutch_sums(&bench.library.house, part("pressure_plate"), part("disc"));
    // As many digits as it takes, where they end: an addend rounded would not add up.
    let number = |length: Length| {
        let exact = length.exact(unit);
        let number = exact.strip_suffix(unit.name()).map(|number| number.trim_end().to_string());
        number.unwrap_or_else(|| length.digits(unit, true))
    };
    let preload = sums.preload_min.map(|(travel, margin)| {
        format!("release travel {} + margin {}", number(travel), number(margin))
    });
    let reserve = sums.reserve_min.map(|(ratio, wear, margin)| {
        let ratio = show_value(Quantity::Ratio, ratio.millionths(), unit);
        format!("ratio {ratio} x wear {} + margin {}", number(wear), number(margin))
    });
    let named = EDGE_KEYS.iter().zip(fit.window.edges()).zip([preload, None, reserve, None]);
    let each = named.filter_map(|((key, edge), sum)| {
        let edge = edge?;
        let sum = sum.filter(|_| edge.set_by == SetBy::Clutch);
        let sum = sum.map_or_else(String::new, |sum| format!(": {sum}"));
        let limit = number(edge.limit);
        Some(format!("{key} {limit} {} ({}{sum})", unit.name(), edge.set_by.word()))
    });
    each.collect::<Vec<_>>().join(", ")
}

/// A window's edge with its limit and who set it: `preload_min 0.600 in (clutch)`.
pub(super) fn edges(fit: &Fit<'_>, say: Spoken) -> String {
    let named = EDGE_KEYS.iter().zip(fit.window.edges());
    let each = named.filter_map(|(key, edge)| {
        edge.map(|edge| format!("{key} {} ({})", say.length(edge.limit), edge.set_by.word()))
    });
    each.collect::<Vec<_>>().join(", ")
}
