//! Cells that several tables share.

use super::spoken::Spoken;
use crate::model::entry::Basis;
use crate::model::length::Length;
use crate::model::words::count;
use crate::stack::checks::Outcome;
use crate::stack::choice::{Bench, Fill};
use crate::stack::fit::Fit;

/// A probability as it is printed; it is good to 0.001, and only an exact 1 is shown as certain.
pub(super) fn chance(chance: f64) -> String {
    if chance >= 1.0 {
        "100 %".into()
    } else if chance > 0.999 {
        ">99.9 %".into()
    } else {
        format!("{:.1} %", chance * 100.0)
    }
}

/// What a value rests on.
pub(super) fn basis(basis: Basis) -> String {
    match basis {
        Basis::Measured { readings } => count(u128::from(readings), "reading"),
        Basis::Predicted { pieces } => count(u128::from(pieces), "piece"),
        Basis::Listed | Basis::Read | Basis::Assumed => basis.word().into(),
    }
}

/// What is still to be bought.
pub(super) fn to_buy(fit: &Fit<'_>) -> String {
    match fit.to_buy.unpriced {
        0 => fit.to_buy.amount.to_string(),
        unpriced => format!("{} + {unpriced} unpriced", fit.to_buy.amount),
    }
}

/// How the checks beside the window came out.
pub(super) fn checks(fit: &Fit<'_>) -> String {
    let mut words = super::sentences::failed(fit)
        .iter()
        .map(|name| format!("fails {name}"))
        .collect::<Vec<_>>();
    let faces = fit.joints.not_verified_count();
    if faces > 0 {
        words.push(format!("{} unverified", count(u128::from(faces), "face")));
    }
    let open = |check: &&crate::stack::checks::Check| {
        check.name != "faces" && matches!(check.outcome, Outcome::Unchecked(_))
    };
    let open = fit.checks.iter().filter(open).count();
    if open > 0 {
        words.push(format!("{open} unchecked"));
    }
    if words.is_empty() { "all pass".into() } else { words.join(", ") }
}

/// What stands in a slot.
pub(super) fn fill(fill: &Fill<'_>, say: Spoken) -> String {
    if fill.bench {
        return "as on the bench".into();
    }
    if fill.parts.is_empty() {
        return "none".into();
    }
    let ids = fill.ids().join("|");
    let thickness = fill.parts.first().and_then(|part| part.length("thickness"));
    match thickness {
        Some(thickness) if fill.cut != Length::ZERO => {
            format!("{ids} machined to {}", say.length(thickness - fill.cut))
        }
        _ => ids,
    }
}

/// The parts that make a stack another one than what is fitted.
pub(super) fn chosen(bench: &Bench<'_>, fit: &Fit<'_>, say: Spoken) -> String {
    if fit.changed.is_empty() {
        return "as fitted".into();
    }
    let part = |slot: &usize| {
        let new = &fit.choice.fills[*slot];
        if new.parts.is_empty() {
            return format!("no {}", bench.library.kinds.slot_key(*slot));
        }
        fill(new, say)
    };
    fit.changed.iter().map(part).collect::<Vec<_>>().join(" + ")
}

/// The slots that no shown stack changes, with what stands in them.
pub(super) fn unchanged(bench: &Bench<'_>, fits: &[Fit<'_>]) -> String {
    let kinds = bench.library.kinds;
    let stays = |slot: &usize| {
        let fitted = &bench.fitted[*slot];
        let filled = !fitted.parts.is_empty() || fitted.bench;
        let kept = |fit: &Fit<'_>| {
            !fit.changed.contains(slot) && !fit.choice.fills[*slot].parts.is_empty()
        };
        filled && fits.iter().all(kept)
    };
    let word = |slot: usize| {
        let ids = bench.fitted[slot].ids().join("|");
        format!("{} {ids}", kinds.slot_key(slot))
    };
    (0..bench.fitted.len()).filter(stays).map(word).collect::<Vec<_>>().join(", ")
}
