//! What an answer says in sentences: verdicts, what is wrong, what forbids a cure, what to do next.

use super::cells;
use super::units::{Units, capital, setter};
use crate::model::edge::Edge;
use crate::model::kinds::{Kinds, Quantity};
use crate::model::length::{Length, Unit};
use crate::model::part::show_value;
use crate::model::words::{count, list};
use crate::stack::answer::{Change, Forbidden, LeftOut, Range, Sieve, Trouble};
use crate::stack::caution::Caution;
use crate::stack::checks::{Check, Outcome};
use crate::stack::choice::Setup;
use crate::stack::fit::{EdgeFit, Fit};
use crate::stack::grade::Grade;
use crate::stack::lengths::AssumedGap;
use crate::stack::measuring::Next;
use crate::stack::odds::Chance;
use crate::stack::shown::Shown;
use crate::stack::unused::{Unused, Why};
use crate::stack::window::{ClutchSums, Empty, SetBy, Window};
use itertools::Itertools as _;

/// What somebody who builds from an answer has to know, in every answer.
pub(super) const SAFETY: &str = "Before you build: numbers are only as good as the measurements, so \
    measure again after assembly. Support vehicle and gearbox on stands; hands in the bell: battery \
    off. Old facings can hold asbestos. Torque, balance and scatter protection are the makers' and \
    the sanctioning body's; local rules and a licensed technician decide.";

/// An edge's name for people.
pub(super) const fn edge_name(edge: Edge) -> &'static str {
    match edge {
        Edge::PreloadMin => "least preload",
        Edge::PreloadMax => "most preload",
        Edge::ReserveMin => "least wear reserve",
        Edge::ReserveMax => "most wear reserve",
    }
}

/// By how much which number misses an edge, and who set that.
fn missed(edge: Edge, limit: Length, set_by: SetBy, by: Length, say: Units) -> String {
    let number = if edge.is_preload() { "the preload" } else { "the wear reserve" };
    let (by, limit) = (say.length(by), say.length(limit));
    if edge.is_least() {
        format!("{number} is {by} short of the least {limit}, set by {}", setter(set_by))
    } else {
        format!("{number} is {by} over the most {limit}, set by {}", setter(set_by))
    }
}

fn with_float(edge: &EdgeFit, say: Units) -> String {
    if edge.float == Length::ZERO {
        return String::new();
    }
    format!(", {} of crank end float counted", say.length(edge.float))
}

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

/// What keeps every stack out, in one sentence.
pub(super) fn forbidden(kinds: Kinds, forbidden: &Forbidden, say: Units) -> String {
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

/// The window's edges with how the clutch's own minimums come about:
/// `preload_min 0.550 in (clutch: release travel 0.450 + margin 0.100)`.
pub(super) fn edges_summed(window: &Window, sums: &ClutchSums, unit: Unit) -> String {
    // As many digits as it takes, where they end: an addend rounded would not add up.
    let number = |length: Length| {
        let exact = length.exact(unit);
        let number = exact.strip_suffix(unit.name()).map(|number| number.trim_end().to_string());
        number.unwrap_or_else(|| length.digits(unit, true))
    };
    let preload = sums.preload_min.map(|(travel, margin)| {
        format!("release travel {} + margin {}", number(travel), number(margin))
    });
    let reserve = sums.reserve_min.map(|sum| {
        let ratio = show_value(Quantity::Ratio, sum.ratio.millionths(), unit);
        let assumed = if sum.ratio_assumed { " assumed" } else { "" };
        let (wear, margin) = (number(sum.wear), number(sum.margin));
        format!("ratio {ratio}{assumed} x wear {wear} + margin {margin}")
    });
    let each = window.limits.set().map(|(edge, limit)| {
        let sum = match edge {
            Edge::PreloadMin => preload.as_ref(),
            Edge::ReserveMin => reserve.as_ref(),
            Edge::PreloadMax | Edge::ReserveMax => None,
        };
        let sum = sum.filter(|_| limit.set_by == SetBy::Clutch);
        let sum = sum.map_or_else(String::new, |sum| format!(": {sum}"));
        let (key, at, unit) = (edge.key(), number(limit.at), unit.name());
        format!("{key} {at} {unit} ({}{sum})", set_by(window, edge, limit.set_by))
    });
    each.collect::<Vec<_>>().join(", ")
}

/// A window's edge with its limit and who set it: `preload_min 0.600 in (clutch)`.
pub(super) fn edges(fit: &Fit<'_>, say: Units) -> String {
    let each = fit.window.limits.set().map(|(edge, limit)| {
        let by = set_by(&fit.window, edge, limit.set_by);
        format!("{} {} ({by})", edge.key(), say.length(limit.at))
    });
    each.collect::<Vec<_>>().join(", ")
}

/// Who set an edge.
pub(super) fn set_by(window: &Window, edge: Edge, by: SetBy) -> &'static str {
    if edge == Edge::ReserveMin && window.ratio_assumed {
        "clutch, ratio assumed"
    } else {
        by.word()
    }
}

/// A caution in words.
pub(super) fn caution(caution: &Caution, say: Units) -> String {
    match caution {
        Caution::Bottomed => {
            "reserve below zero: the bearing is bottomed and holds the fingers; it \
                              must not be assembled, and never be drawn together with the bolts"
                .into()
        }
        Caution::DoesNotReach => {
            "preload below zero: the bearing does not reach the fingers; it can \
                                  run out of its bore and lose fluid, which harms eyes and paint. \
                                  Never stroke it free on the bench"
                .into()
        }
        Caution::TooLoose => {
            "too loose: the bearing can run out of its bore and lose fluid, which \
                              harms eyes and paint; never stroke it free on the bench"
                .into()
        }
        Caution::OutsideRange => "diaphragm outside its working range".into(),
        Caution::CrossCheck => {
            "two ways to the same length disagree: see the cross-checks first".into()
        }
        Caution::LossAssumed => {
            "worn disc: it is taken to have lost half of what it may lose, give \
                                 or take that half; measure it"
                .into()
        }
        Caution::TakenAsNew => "fitted disc taken as new: nobody told its state".into(),
        Caution::SetGapAssumed(AssumedGap::RangeKnown) => "set_gap assumed".into(),
        Caution::SetGapAssumed(AssumedGap::RangeUnknown) => {
            "set_gap assumed: whether the diaphragm works in its range is not known".into()
        }
        Caution::RatioAssumed => "finger_ratio assumed: nobody knows it".into(),
        Caution::Retired(id) => format!("{id} is retired"),
        Caution::Gone(id) => format!("the shop no longer has the piece {id}"),
        Caution::PlatesOut(length) => {
            format!("{} of plates comes out: dowels and bolts may be too long", say.length(*length))
        }
        Caution::SpacerIn => {
            "a plate or spacer comes in: check bolt length and thread engagement, \
                              and the reach of line and pedal"
                .into()
        }
        Caution::Machined => {
            "machining: the work is not priced; weigh and balance, and keep to the \
                              maker's minimum"
                .into()
        }
    }
}

/// What the grades of these stacks mean, each once, the best first.
pub(super) fn legend(grades: impl IntoIterator<Item = Grade>) -> String {
    let grades = grades.into_iter().sorted_unstable().dedup();
    grades.map(|grade| format!("{}: {}", grade.word(), grade.meaning())).join("; ")
}

/// What the grades mean, in full.
pub const GRADES: &str = "\
A grade says how certain it is that a stack lands in its window of preload and wear reserve. It is the \
worst of the grades at the window's edges:

sure       inside even with every stated tolerance at its limit, and none of them assumed
likely     inside by at least twice the standard uncertainty
marginal   inside as computed: measure better before you trust it
undecided  outside, by no more than twice the standard uncertainty: measure before you buy or reject
out        outside

A doubt caps the grade, and the answer names it: a disc of unknown state is never sure; readings that \
cannot both be right, a worn disc of unknown thickness or a diaphragm outside its working range are never \
better than marginal. An exclamation mark stands where two ways to a length disagree.

Sure and likely follow the guard bands of ISO 14253-1 and JCGM 106. `bellstack fit JOB` shows each edge \
with its room, its worst case and its standard uncertainty.
";
