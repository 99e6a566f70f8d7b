//! What a drawing says of parts, changes and dimensions.

use crate::model::kinds::Kinds;
use crate::model::length::{Length, Unit};
use crate::model::sides::CRANK;
use crate::report::units::Units;
use crate::stack::picture::{Arrow, Piece, Rests, SlotChange};

/// The name of a kind in a drawing.
pub(super) fn kind(kinds: Kinds, key: &str) -> &'static str {
    match key {
        "engine" => "block and crank",
        "pressure_plate" => "plate and cover",
        _ => kinds.get(key).map_or("", |kind| kind.name),
    }
}

/// What is said of a piece beneath its name.
pub(super) fn piece(piece: &Piece<'_>, has_pack: bool, unit: Unit) -> Vec<String> {
    let say = Units::One(unit);
    let mut lines = Vec::new();
    let old = match &piece.change {
        SlotChange::TakenOut { old, .. } => *old,
        _ => None,
    };
    let own = |part: &crate::model::part::Part| {
        let thin = !matches!(piece.kind, "flywheel" | "disc");
        let thickness = part.length("thickness").filter(|_| thin);
        thickness.map_or_else(String::new, |length| format!(", {}", say.length(length)))
    };
    match piece.part.or(old) {
        Some(part) => lines.push(format!("{}{}", part.id, own(part))),
        None if matches!(piece.change, SlotChange::TakenOut { .. }) => {}
        None => lines.push("as on the bench".into()),
    }
    if has_pack && piece.kind == "pressure_plate" {
        lines.push("matched set".into());
    }
    lines.extend(change(&piece.change, piece.kind, say));
    if piece.broken {
        let what = if piece.kind == "engine" { "place of the crank" } else { "own length" };
        let inside = piece.inside.map_or_else(String::new, |sum| format!(", inside the {sum}"));
        lines.push(format!("{what} not known{inside}"));
    }
    lines
}

/// What becomes of a piece against today.
fn change(change: &SlotChange<'_>, kind: &str, say: Units) -> Option<String> {
    Some(match change {
        SlotChange::Stays => return None,
        SlotChange::Added => "comes in".into(),
        SlotChange::InPlaceOf { old, longer, .. } => {
            let of = old.map_or("the one on the bench", |old| old.id.as_str());
            let by = longer.filter(|by| *by != Length::ZERO);
            let by = by.map_or_else(String::new, |by| {
                format!(", {} {}", say.length(by.abs()), compared(kind, by > Length::ZERO))
            });
            format!("in place of {of}{by}")
        }
        SlotChange::Machined { by, to, .. } => match to {
            Some(to) => format!("machined to {}, {} off", say.length(*to), say.length(*by)),
            None => format!("machined, {} off", say.length(*by)),
        },
        SlotChange::Renewed => "a new one in place of the worn one".into(),
        SlotChange::TakenOut { .. } => "taken out".into(),
    })
}

/// How a part compares with the one of today.
fn compared(kind: &str, longer: bool) -> &'static str {
    match (kind, longer) {
        ("pressure_plate", true) => "higher at the fingers",
        ("pressure_plate", false) => "lower at the fingers",
        ("bell_housing", true) => "deeper",
        ("bell_housing", false) => "shallower",
        ("gearbox", true) => "nearer the engine at its seat",
        ("gearbox", false) => "nearer the gearbox at its seat",
        ("bearing", true) => "longer extended",
        ("bearing", false) => "shorter extended",
        ("engine", true) => "further out at the crank",
        ("engine", false) => "further in at the crank",
        (_, true) => "thicker",
        (_, false) => "thinner",
    }
}

/// The name of a dimension, as it is said.
fn dimension(kinds: Kinds, kind: &str, key: &str) -> String {
    let spaced = key.replace('_', " ");
    let name = match (kind, key) {
        (_, "thickness" | "depth") => kinds.get(kind).map(|kind| format!("{} {spaced}", kind.name)),
        (_, "extended_height") => Some("bearing extended".into()),
        (_, "retracted_height") => Some("bearing bottomed".into()),
        (_, "ratio_correction") => Some("finger movement".into()),
        ("job", "facing_loss") => Some("facing loss".into()),
        _ => None,
    };
    name.unwrap_or(spaced)
}

/// What is written at an arrow: `less bearing extended 2.800 in, BR-S95`.
pub(super) fn arrow(kinds: Kinds, arrow: &Arrow, unit: Unit) -> String {
    let by = arrow.to - arrow.from;
    let name = dimension(kinds, arrow.kind, arrow.key);
    let whose = match (arrow.rests, &arrow.part) {
        (Rests::Measured, None) => ", measured".into(),
        (Rests::Measured, Some(part)) => format!(", {part}, measured"),
        (Rests::Catalogued, Some(part)) => format!(", {part}"),
        (Rests::Catalogued, None) => String::new(),
        (Rests::Assumed, Some(part)) => format!(", {part}, assumed"),
        (Rests::Assumed, None) => ", assumed".into(),
    };
    let value = match arrow.product {
        Some((ratio, gap)) => {
            format!("{ratio} x {} = {}", gap.abs().digits(unit, false), by.abs().show(unit))
        }
        None => by.abs().show(unit),
    };
    // A crank that is proud is a step toward the gearbox, a recessed one a step toward the engine.
    match (arrow.key, by.nm().signum()) {
        ("crank_protrusion", 0) => format!("{name} {}{whose}", CRANK.zero.unwrap_or_default()),
        ("crank_protrusion", 1) => format!("{name} {value} {}{whose}", CRANK.plus[0]),
        ("crank_protrusion", _) => format!("{name} {value} {}{whose}", CRANK.minus[0]),
        (_, -1) => format!("less {name} {value}{whose}"),
        _ => format!("{name} {value}{whose}"),
    }
}
