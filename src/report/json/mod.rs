//! Answers as JSON, in types of their own: the contract with scripts, apart from the domain.
//!
//! Sentences in JSON give their lengths in both units, so that no unit setting changes an answer.

use serde::Serialize;

use super::units::Units;
use super::{aside, sentences};
use crate::model::edge::Edge;
use crate::model::entry::Basis;
use crate::model::kinds::{Kinds, Takes};
use crate::model::length::Length;
use crate::stack::agreement::CrossCheck;
use crate::stack::answer::{Answer, Change, Cure, LeftOut, LookFor, Sieve, Trouble};
use crate::stack::cap::Cap;
use crate::stack::checks::{Check, Outcome};
use crate::stack::choice::{Fill, Setup};
use crate::stack::fit::{EdgeFit, Fit};
use crate::stack::odds::Chance;
use crate::stack::shown::{OneStack, Shown};
use crate::stack::terms::Term;

mod length;
mod measuring;
mod types;

pub(super) use length::L;
pub(super) use measuring::Amount;
pub(super) use measuring::{Accept, accept};
use measuring::{MeasureNext, NextRow};
use types::{
    AtEdge, ChangeRow, CheckRow, CrossCheckRow, Cured, Ends, InSlot, Lacking, LookRow, OneFit,
    Ranking, SlotRow, TermRow, ToBuyRow, UncertaintyRow, WindowRow, Wrong,
};
pub(super) use types::{Ordered, Stack};

const SAY: Units = Units::Both;

/// Raised when a key changes its meaning.
const FORMAT: u32 = 1;

/// A ranking as one JSON object.
pub fn recommend(setup: &Setup<'_>, answer: &Answer<Shown<'_>>) -> String {
    let ranked = answer.stacks.iter().enumerate();
    let none = answer.stacks.is_empty();
    let nearest = answer.nearest.iter().enumerate();
    let forbidden = answer.forbidden.as_ref();
    object(Ranking {
        job: &setup.job.id,
        considered: answer.considered.map(|count| count.to_string()),
        in_window: answer.in_window.map(|count| count.to_string()),
        slots: sieves(setup, answer),
        left_out: left_out(&answer.left_out),
        set_aside: aside::rows(setup),
        stacks: ranked.map(|(index, shown)| stack(setup, shown, Some(index + 1))).collect(),
        nearest: none.then(|| nearest.map(|(i, shown)| stack(setup, shown, Some(i + 1))).collect()),
        forbidden_by: forbidden.map(|why| sentences::forbidden(setup.library.kinds, why, SAY)),
    })
}

/// What became of each slot's parts, where that was asked for.
fn sieves(setup: &Setup<'_>, answer: &Answer<Shown<'_>>) -> Option<Vec<SlotRow>> {
    let row = |sieve: &Sieve| SlotRow {
        slot: setup.library.kinds.slot_key(sieve.slot),
        parts: sieve.parts,
        removed: Ordered(sieve.removed.iter().map(|(why, n)| (why.key(), *n)).collect()),
        left: sieve.left(),
        fills: sieve.fills,
    };
    (!answer.sieves.is_empty()).then(|| answer.sieves.iter().map(row).collect())
}

/// One stack with the terms of its sum.
pub fn fit(setup: &Setup<'_>, report: &OneStack<'_>) -> String {
    let measure = report.to_measure.as_ref();
    object(OneFit {
        job: &setup.job.id,
        stack: stack(setup, &report.judged, None),
        terms: report.terms.iter().map(term).collect(),
        as_it_stands: report.as_it_stands.as_ref().map(|shown| stack(setup, shown, None)),
        another: report.another.as_ref().map(|shown| stack(setup, shown, None)),
        measure_next: measure.map(MeasureNext::of),
        accept: measure.map_or_else(Vec::new, |measure| accept(setup.library.kinds, measure)),
    })
}

/// The cure of one job as one JSON object.
pub fn cure(setup: &Setup<'_>, cure: &Cure<Shown<'_>>) -> String {
    text(&cured(setup, cure))
}

/// The cures of several jobs as an array.
pub fn cures(cures: &[(Setup<'_>, Cure<Shown<'_>>)]) -> String {
    text(&cures.iter().map(|(setup, cure)| cured(setup, cure)).collect::<Vec<_>>())
}

/// An object, with the number of its format first.
pub(super) fn object(of: impl Serialize) -> String {
    #[derive(Serialize)]
    struct Formatted<T> {
        format: u32,
        #[serde(flatten)]
        of: T,
    }
    text(&Formatted { format: FORMAT, of })
}

/// An object with one list of things.
pub(super) fn list<T: Serialize>(key: &'static str, rows: impl Iterator<Item = T>) -> String {
    object(Ordered(vec![(key, rows.collect::<Vec<T>>())]))
}

fn text(value: &impl Serialize) -> String {
    // Nothing here can fail: the keys are strings and the numbers finite.
    let mut text = serde_json::to_string_pretty(value).unwrap_or_default();
    text.push('\n');
    text
}

fn cured<'a>(setup: &'a Setup<'_>, cure: &'a Cure<Shown<'_>>) -> Cured<'a> {
    let kinds = setup.library.kinds;
    let ranked = cure.remedies.iter().enumerate();
    Cured {
        format: FORMAT,
        job: &setup.job.id,
        trouble: wrong(setup, cure),
        considered: cure.considered.map(|count| count.to_string()),
        in_window: cure.in_window.map(|count| count.to_string()),
        left_out: left_out(&cure.left_out),
        set_aside: aside::rows(setup),
        stacks: ranked
            .map(|(index, remedy)| Stack {
                change: Some(remedy.changes.iter().map(|one| change(kinds, one)).collect()),
                ..stack(setup, &remedy.fit, Some(index + 1))
            })
            .collect(),
        look_for: cure.look_for.iter().map(|row| look_for(kinds, row)).collect(),
        forbidden_by: cure.forbidden.as_ref().map(|why| sentences::forbidden(kinds, why, SAY)),
        now: stack(setup, &cure.now, None),
    }
}

fn wrong(setup: &Setup<'_>, cure: &Cure<Shown<'_>>) -> Wrong {
    let sentence = sentences::trouble(setup, &cure.now.fit, &cure.trouble, SAY);
    let plain = |is| Wrong { is, edge: None, by: None, wear: None, sentence: sentence.clone() };
    let edge = |is, edge: Edge, by: Length, wear: Option<Length>| Wrong {
        edge: Some(edge.key()),
        by: Some(by.into()),
        wear: wear.map(L::from),
        ..plain(is)
    };
    match &cure.trouble {
        Trouble::Nothing => plain("nothing"),
        Trouble::TooTight { edge: at, by, wear } => edge("too_tight", *at, *by, *wear),
        Trouble::TooLoose { edge: at, by, wear } => edge("too_loose", *at, *by, *wear),
        Trouble::EmptyWindow(_) => plain("empty_window"),
        Trouble::NotCertain => plain("not_certain"),
        Trouble::FailsCheck(_) => plain("fails_check"),
    }
}

fn left_out(left_out: &[LeftOut]) -> Vec<Lacking<'_>> {
    left_out
        .iter()
        .map(|part| Lacking {
            kind: part.kind,
            id: part.id.as_deref(),
            needs: &part.needs,
            needs_any: &part.needs_any,
        })
        .collect()
}

fn change(kinds: Kinds, change: &Change) -> ChangeRow {
    let ids = |ids: &[String]| (!ids.is_empty()).then(|| ids.join("|"));
    ChangeRow {
        slot: kinds.slot_key(change.slot),
        from: ids(&change.from),
        to: ids(&change.to),
        machine_to: change.machine_to.map(L::from),
    }
}

fn look_for(kinds: Kinds, row: &LookFor) -> LookRow<'_> {
    LookRow {
        slot: kinds.slot_key(row.slot),
        dimension: row.dimension,
        from: row.range().and_then(|range| range.from).map(L::from),
        to: row.range().and_then(|range| range.to).map(L::from),
        fitted: row.found.map(|(today, _)| today.into()),
        by: Ends { from: row.by.from.map(L::from), to: row.by.to.map(L::from) },
        in_catalog: row.parts.as_ref().map(Vec::len),
        parts: row.known_parts(),
    }
}

fn in_slot<'a>(takes: Takes, fill: &Fill<'a>) -> InSlot<'a> {
    if takes == Takes::UpToTwo {
        InSlot::Several(fill.ids())
    } else {
        InSlot::One(fill.ids().first().copied())
    }
}

/// Rounded down to the three decimals to which it is good, so that only a certain stack shows a 1.
pub(super) fn rounded_chance(chance: f64) -> f64 {
    if chance >= 1.0 { 1.0 } else { (chance * 1e3).floor() / 1e3 }
}

pub(super) fn stack<'a>(
    setup: &'a Setup<'_>,
    shown: &'a Shown<'_>,
    rank: Option<usize>,
) -> Stack<'a> {
    let fit = &shown.fit;
    let slots = setup.library.kinds.slots().zip(&fit.choice.fills);
    let (chance_if, chance_unknown) = match &shown.chance {
        Chance::Of(_, conditions) => (conditions.iter().map(|one| one.words()).collect(), None),
        Chance::Unknown(cap) => (Vec::new(), Some(cap.words())),
    };
    let kinds = setup.library.kinds;
    Stack {
        rank,
        grade: fit.grade.word(),
        because: fit.because.map(Cap::words),
        change: None,
        parts: Ordered(
            slots.map(|((_, slot), fill)| (slot.key, in_slot(slot.takes, fill))).collect(),
        ),
        window: window(fit),
        preload: fit.preload.into(),
        reserve: fit.reserve.into(),
        travel: fit.travel.into(),
        room: fit.room.into(),
        edges: Ordered(fit.edges.set().map(|(edge, at)| (edge.key(), at_edge(at))).collect()),
        chance: shown.chance.value().map(rounded_chance),
        chance_if,
        chance_unknown,
        as_on_bench: fit.on_bench().map(|slot| kinds.slot_key(slot)).collect(),
        cross_checks: setup.cross_checks().shown().into_iter().map(comparison).collect(),
        not_verified: fit.joints.not_verified_count(),
        to_buy: ToBuyRow {
            amount: fit.to_buy.amount.to_string(),
            currency: &setup.library.house.currency,
            unpriced: fit.to_buy.unpriced,
        },
        changes: fit.changed.len(),
        checks: fit.checks.iter().map(check).collect(),
        cautions: shown.cautions.iter().map(|one| sentences::caution(one, SAY)).collect(),
        next: shown.details.as_ref().and_then(|details| details.next.as_ref()).map(NextRow::of),
        wear: fit.wear.map(|bought| bought.wear.into()),
        wear_ratio_assumed: fit.wear.is_some_and(|bought| bought.ratio_assumed),
        gearbox_move: fit.gearbox_move.map(L::from),
    }
}

fn window(fit: &Fit<'_>) -> WindowRow {
    let limit = |edge: Edge| fit.window.limit(edge).map(L::from);
    let set = fit.window.limits.set();
    WindowRow {
        preload_min: limit(Edge::PreloadMin),
        preload_max: limit(Edge::PreloadMax),
        reserve_min: limit(Edge::ReserveMin),
        reserve_max: limit(Edge::ReserveMax),
        set_by: Ordered(set.map(|(edge, limit)| (edge.key(), limit.set_by.word())).collect()),
        ratio_assumed: fit.window.ratio_assumed,
    }
}

fn at_edge(edge: &EdgeFit) -> AtEdge {
    AtEdge {
        room: edge.room.into(),
        worst_case: edge.spread.worst_case_length().into(),
        u: UncertaintyRow { nm: (edge.spread.u() * 10.0).round() / 10.0 },
    }
}

fn check(check: &Check) -> CheckRow {
    let result = match check.outcome {
        Outcome::Pass(_) => "pass",
        Outcome::Fail(_) => "fail",
        Outcome::Unchecked(_) => "unchecked",
    };
    CheckRow { check: check.name, result, note: sentences::note(check, SAY) }
}

fn term(term: &Term) -> TermRow<'_> {
    let (readings, pieces) = match term.basis {
        Some(Basis::Measured { readings }) => (Some(readings), None),
        Some(Basis::Predicted { pieces }) => (None, Some(pieces)),
        _ => (None, None),
    };
    TermRow {
        basis: term.basis.map(Basis::word),
        readings,
        pieces,
        dimension: &term.dimension,
        part: term.part.as_deref().unwrap_or("job"),
        value: term.value.into(),
        tol: term.tol.into(),
        assumed: term.assumed,
        // A sum with zero turns a minus zero into a plain one.
        to_preload: term.to_preload + 0.0,
        to_reserve: term.to_reserve + 0.0,
        adds: term.adds.into(),
        adds_to_reserve: term.adds_to_reserve.into(),
        made_of: term.made_of.iter().map(self::term).collect(),
    }
}

fn comparison(check: &CrossCheck) -> CrossCheckRow<'_> {
    let [first, second] = check.routes();
    CrossCheckRow {
        length: check.length(),
        first,
        second,
        first_value: check.first_value.into(),
        second_value: check.second_value.into(),
        difference: check.difference().into(),
        agreement: check.agreement.words(),
        slips: check.slips.iter().map(|slip| SAY.note(slip)).collect(),
    }
}
