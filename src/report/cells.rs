//! Cells that several tables share.

use super::units::Units;
use crate::model::entry::Basis;
use crate::model::length::Length;
use crate::model::part::Part;
use crate::model::words::count;
use crate::stack::checks::Outcome;
use crate::stack::choice::{Fill, Setup};
use crate::stack::fit::Fit;
use crate::stack::in_hand::pieces_for;
use crate::stack::odds::{Chance, Proviso};

/// A probability as it is printed; it is good to 0.001, and only an exact 1 is shown as certain.
pub(super) fn chance(chance: &Chance) -> String {
    match chance {
        Chance::Of(chance, conditions) => {
            let mark = if conditions.is_empty() { "" } else { "?" };
            let number = match chance {
                chance if *chance >= 1.0 => "100 %".into(),
                chance if *chance > 0.999 => ">99.9 %".into(),
                chance => format!("{:.1} %", chance * 100.0),
            };
            format!("{number}{mark}")
        }
        Chance::Unknown(_) => "none".into(),
    }
}

/// What a chance holds on.
pub(super) fn conditions(chance: &Chance) -> &[Proviso] {
    match chance {
        Chance::Of(_, conditions) => conditions,
        Chance::Unknown(_) => &[],
    }
}

/// Whether a stack rests on one of two ways to a length that disagree.
pub(super) fn is_marked(fit: &Fit<'_>) -> bool {
    fit.caps.iter().any(|one| one.applies && one.cap.is_cross_check())
}

/// The grade, marked where it rests on one of two ways to a length that disagree.
pub(super) fn grade(fit: &Fit<'_>) -> String {
    format!("{}{}", fit.grade.word(), if is_marked(fit) { " !" } else { "" })
}

/// What a value rests on.
pub(super) fn basis(basis: Basis) -> String {
    match basis {
        Basis::Measured { readings } => count(readings as u128, "reading"),
        Basis::Predicted { pieces } => count(pieces as u128, "piece"),
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
    let mut words = failed(fit).iter().map(|name| format!("fails {name}")).collect::<Vec<_>>();
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
pub(super) fn fill(fill: &Fill<'_>, say: Units) -> String {
    if fill.on_bench {
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
pub(super) fn chosen(setup: &Setup<'_>, fit: &Fit<'_>, say: Units) -> String {
    if fit.changed.is_empty() {
        return "as fitted".into();
    }
    let part = |slot: &usize| {
        let new = &fit.choice.fills[*slot];
        if new.parts.is_empty() {
            return format!("no {}", setup.library.kinds.slot_key(*slot));
        }
        format!("{}{}", fill(new, say), another(setup, *slot, new))
    };
    fit.changed.iter().map(part).collect::<Vec<_>>().join(" + ")
}

/// The part numbers of a stack of which measured pieces are in hand: it has another one of each.
pub(super) fn others<'a>(setup: &Setup<'_>, fit: &Fit<'a>) -> Vec<&'a str> {
    let slots = fit.choice.fills.iter().enumerate();
    let others = slots.flat_map(|(slot, fill)| others_in(setup, slot, fill));
    others.map(|part| part.id.as_str()).collect()
}

/// Those of one slot.
fn others_in<'a>(setup: &Setup<'_>, slot: usize, fill: &Fill<'a>) -> Vec<&'a Part> {
    let has_pieces = |part: &&'a Part| !pieces_for(setup, slot, part).is_empty();
    fill.parts.iter().copied().filter(has_pieces).collect()
}

/// Said of a part number of which a measured piece is in hand: the stack has another one of it.
fn another(setup: &Setup<'_>, slot: usize, fill: &Fill<'_>) -> &'static str {
    match others_in(setup, slot, fill).as_slice() {
        [] => "",
        others if others.iter().all(|part| setup.on_hand(part) > 0) => {
            " (another one, not measured)"
        }
        _ => " (another one, to buy)",
    }
}

/// The single pieces that stand in a stack.
pub(super) fn pieces(setup: &Setup<'_>, fit: &Fit<'_>) -> String {
    let slots = setup.library.kinds.slots().zip(&fit.choice.fills);
    let pieces = slots.flat_map(|((_, slot), fill)| {
        let pieces = fill.parts.iter().filter(|part| part.piece_of.is_some());
        pieces.map(|part| format!("{} {}", slot.key, part.id))
    });
    pieces.collect::<Vec<_>>().join(", ")
}

/// The slots that no shown stack changes, with what stands in them.
pub(super) fn unchanged<'f, 'a: 'f>(
    setup: &Setup<'_>,
    fits: impl Iterator<Item = &'f Fit<'a>>,
) -> String {
    let fits: Vec<&Fit<'_>> = fits.collect();
    let kinds = setup.library.kinds;
    let stays = |slot: &usize| {
        let fitted = &setup.fitted[*slot];
        let filled = !fitted.parts.is_empty() || fitted.on_bench;
        let kept = |fit: &Fit<'_>| {
            !fit.changed.contains(slot) && !fit.choice.fills[*slot].parts.is_empty()
        };
        filled && fits.iter().all(|fit| kept(fit))
    };
    let word = |slot: usize| {
        let ids = setup.fitted[slot].ids().join("|");
        format!("{} {ids}", kinds.slot_key(slot))
    };
    (0..setup.fitted.len()).filter(stays).map(word).collect::<Vec<_>>().join(", ")
}

/// The names of the checks that a stack fails.
pub(super) fn failed(fit: &Fit<'_>) -> Vec<String> {
    fit.checks.iter().filter(|check| check.failed()).map(|check| check.name.to_string()).collect()
}
