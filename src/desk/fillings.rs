//! What may be tried in a slot of a stack.

use crate::model::kinds::Takes;
use crate::model::length::Length;
use crate::model::part::Part;
use crate::stack::choice::{Choice, Fill, Setup};
use crate::stack::joints::joints;

/// A part that may be tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Filling<'a> {
    /// The part, or a measured piece of one.
    pub part: &'a Part,
    /// Whether it clashes with nothing that stands beside it, as far as is known.
    pub mates: bool,
}

/// The parts in use that may be tried in a slot: what mates before what does not, then what is most
/// like the part that stands there, then by number.
pub fn fillings<'a>(setup: &Setup<'a>, choice: &Choice<'a>, slot: usize) -> Vec<Filling<'a>> {
    let Some((kind, _)) = setup.library.kinds.slots().nth(slot) else { return Vec::new() };
    let mut others = choice.clone();
    others.fills[slot] = Fill::empty();
    let clashes = joints(setup, &others).clashes.len();
    let own = |part: &Part| {
        let first = part.kind.dims.iter().find(|dim| dim.needed)?;
        part.length(first.key)
    };
    let here = choice.fills[slot].parts.first().and_then(|part| own(part));
    let apart = |part: &Part| match (own(part), here) {
        (Some(length), Some(here)) => (length - here).abs(),
        _ => Length::ZERO,
    };
    let in_use = setup.library.of_kind(kind.key).filter(|part| {
        !part.retired || setup.fitted[slot].parts.iter().any(|fitted| fitted.id == part.id)
    });
    let mut all: Vec<Filling<'a>> = in_use
        .map(|part| {
            others.fills[slot] = Fill::one(part);
            Filling { part, mates: joints(setup, &others).clashes.len() <= clashes }
        })
        .collect();
    all.sort_by(|a, b| {
        let key = |one: &Filling<'a>| (!one.mates, apart(one.part));
        key(a).cmp(&key(b)).then_with(|| a.part.id.cmp(&b.part.id))
    });
    all
}

/// Whether a slot may stay empty.
pub fn may_be_empty(setup: &Setup<'_>, slot: usize) -> bool {
    let takes = setup.library.kinds.slots().nth(slot).map(|(_, spec)| spec.takes);
    !matches!(takes, Some(Takes::One) | None)
}
