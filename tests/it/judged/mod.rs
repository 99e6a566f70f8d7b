//! The program against an independent judge (`checker`), field by field, on random shops as real ones
//! are (`random/real`).

mod chances;
mod counted;
mod cures;
mod extra_dimension;
mod hunt;
mod looked_for;
mod ranked;
mod sparse;
mod stacks;

use std::fmt::Debug;
use std::ops::Range;

use bellstack::model::edge::Edge;
use bellstack::model::length::Length;
use bellstack::stack::cap::Cap;
use bellstack::stack::checks::Outcome;
use bellstack::stack::choice::{self, Choice};
use bellstack::stack::fit::Fit;
use bellstack::stack::lengths::{self, BearingFrom, FingerFrom};
use bellstack::stack::window::SetBy;

use crate::checker::{By, Checks, End, Fill, Fingers, Rear, Said, Verdict, Why};

/// A number that whoever runs the tests gives in the environment.
fn given(name: &str) -> Option<u64> {
    std::env::var(name).ok().map(|number| number.parse().unwrap())
}

/// The numbers of the shops that a comparison goes through: so many from a first one, or as SHOPS and
/// FIRST say.
fn seeds(first: u64, shops: u64) -> Range<u64> {
    let first = given("FIRST").unwrap_or(first);
    first..first + given("SHOPS").unwrap_or(shops)
}

/// Stops with the first differences, each with its shop's number; SHOW says how many.
fn none_differ(found: &[String], seen: &dyn Debug) {
    println!("{seen:?}");
    let most = given("SHOW").map_or(12, |most| usize::try_from(most).unwrap());
    let first = found.iter().take(most).map(String::as_str).collect::<Vec<_>>().join("\n");
    assert!(found.is_empty(), "{} differ\n{first}", found.len());
}

/// A stack of the judge's as the program takes it.
pub(crate) fn choice<'a>(stack: &[Fill<'a>]) -> Choice<'a> {
    let fill = |fill: &Fill<'a>| choice::Fill {
        parts: fill.parts.iter().map(|(_, part)| *part).collect(),
        on_bench: fill.bench,
        cut: Length::from_nm(i64::try_from(fill.cut).unwrap()),
        other: None,
    };
    Choice { fills: stack.iter().map(fill).collect() }
}

fn fingers(from: FingerFrom) -> Fingers {
    match from {
        FingerFrom::Depth => Fingers::Depth,
        FingerFrom::Apart { crank, clutch } => Fingers::Apart {
            crank_read: crank == lengths::From::Reading,
            clutch_read: clutch == lengths::From::Reading,
        },
    }
}

fn end(end: lengths::End) -> End {
    match end {
        lengths::End::Extended => End::Extended,
        lengths::End::Retracted => End::Retracted,
    }
}

fn by(set_by: SetBy) -> By {
    match set_by {
        SetBy::Job => By::Job,
        SetBy::Shop => By::Shop,
        SetBy::Clutch => By::Clutch,
        SetBy::House => By::House,
    }
}

fn why(cap: Cap) -> Why {
    match cap {
        Cap::Contradiction | Cap::CatalogContradicted => Why::Contradiction,
        Cap::OutsideRange => Why::OutsideRange,
        Cap::MayBeWorn => Why::MayBeWorn,
        Cap::Doubt | Cap::CatalogDoubted => Why::Doubt,
        Cap::StateUnknown => Why::StateUnknown,
    }
}

/// Differences of one stack, each by its field.
#[derive(Default)]
struct Differences(Vec<String>);

impl Differences {
    fn field<T: PartialEq + Debug>(&mut self, name: &str, said: T, judged: T) {
        if said != judged {
            self.0.push(format!("{name}: the program says {said:?}, the judge {judged:?}"));
        }
    }
}

/// Everything that the program and the judge say of one stack, compared.
fn differences(fit: &Fit<'_>, verdict: &Verdict) -> Vec<String> {
    let mut all = Differences::default();
    let nm = |length: Length| i128::from(length.nm());
    all.field("finger route", fingers(fit.lengths.finger.from), verdict.fingers);
    let rear = match fit.lengths.bearing.from {
        BearingFrom::BothReadings => Rear::BothDepths,
        BearingFrom::Reading(one) => Rear::OneDepth(end(one)),
        BearingFrom::Catalog => Rear::Catalogue,
    };
    all.field("bearing route", rear, verdict.rear);
    for (name, said, form, judged) in [
        ("preload", fit.preload, &fit.preload_form, verdict.preload),
        ("reserve", fit.reserve, &fit.reserve_form, verdict.reserve),
    ] {
        let spread = form.spread();
        all.field(name, nm(said), judged.value);
        all.field(&format!("{name} worst case"), spread.worst_case, judged.worst);
        all.field(&format!("{name} u"), spread.three_u_squared, judged.three_u2);
        all.field(&format!("{name} assumed"), spread.assumed, judged.assumed);
    }
    all.field("travel", nm(fit.travel), verdict.preload.value + verdict.reserve.value);
    for edge in Edge::ALL {
        let said = fit.edges[edge].map(|fit| (nm(fit.limit), by(fit.set_by), nm(fit.room)));
        let limit = verdict.window.edges[edge];
        let judged = limit.zip(verdict.room[edge]).map(|((at, by), room)| (at, by, room));
        all.field(edge.key(), said, judged);
    }
    all.field("ratio assumed", fit.window.ratio_assumed, verdict.window.ratio_assumed);
    all.field("room", nm(fit.room), verdict.least_room);
    let caps = fit.caps.iter().filter(|cap| cap.applies);
    let mut caps: Vec<Why> = caps.map(|cap| why(cap.cap)).collect();
    caps.sort();
    caps.dedup();
    all.field("caps", caps, verdict.caps.clone());
    all.field("grade", fit.grade, verdict.grade);
    all.field("clash", !fit.joints.clashes.is_empty(), verdict.clash);
    all.field("not verified", fit.joints.not_verified, verdict.not_verified);
    let checks = fit.checks.iter().map(|check| {
        let said = match check.outcome {
            Outcome::Pass(_) => Said::Pass,
            Outcome::Fail(_) => Said::Fail,
            Outcome::Unchecked(_) => Said::Unchecked,
        };
        (check.name, said)
    });
    let checks: Checks = checks.collect();
    for (name, judged) in &verdict.checks {
        let said = checks.iter().find(|(known, _)| known == name).map(|(_, said)| *said);
        all.field(name, said, Some(*judged));
    }
    all.field("checks", checks.len(), verdict.checks.len());
    let to_buy = (fit.to_buy.unpriced, i128::from(fit.to_buy.amount.get()));
    all.field("to buy", to_buy, verdict.to_buy);
    all.field("changes", &fit.changed, &verdict.changes);
    all.field("parts", fit.part_count, verdict.parts);
    let wear = fit.wear.map(|bought| (nm(bought.wear), bought.ratio_assumed));
    all.field("wear bought", wear, verdict.wear_bought);
    all.field("gearbox moves", fit.gearbox_move.map(nm), verdict.gearbox_moves);
    all.0
}

/// A stack in a line.
pub(crate) fn shown(stack: &[Fill<'_>]) -> String {
    let fill = |fill: &Fill<'_>| match (fill.bench, fill.cut) {
        (true, _) => "as on the bench".to_string(),
        (_, 0) => fill.ids().join("|"),
        (_, cut) => format!("{} less {cut} nm", fill.ids().join("|")),
    };
    stack.iter().map(fill).collect::<Vec<_>>().join(", ")
}
