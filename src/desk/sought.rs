//! Parts found by what they are: their kind, a dimension, what they mate with, words.

use crate::model::kinds::{DimSpec, KindSpec};
use crate::model::library::Library;
use crate::model::part::Part;
use crate::stack::joints::mate;

/// What is sought. What is not said is not asked for.
#[derive(Debug, Clone, Default)]
pub struct Sought<'a> {
    /// Only parts of this kind.
    pub kind: Option<&'static KindSpec>,
    /// Only parts with this dimension between these values, in its base unit; both ends belong to it.
    pub dimension: Option<(&'static DimSpec, Option<i64>, Option<i64>)>,
    /// Only parts that mate with this one.
    pub mates: Option<&'a Part>,
    /// Only parts of which some lie on the shelf.
    pub on_hand: bool,
    /// Retired parts too.
    pub retired: bool,
    /// Only parts in whose number, maker, description or notes each of these words stands.
    pub words: &'a str,
}

/// The parts that are sought: in the order of the table of kinds, those of one kind by the dimension
/// that is asked for, then by number. A piece is found with its part number, not by itself.
pub fn sought<'l>(library: &'l Library, sought: &Sought<'_>) -> Vec<&'l Part> {
    let words = sought.words.to_lowercase();
    let order = |part: &Part| library.kinds.iter().position(|kind| *kind == *part.kind);
    let value = |part: &Part| {
        let (dim, ..) = sought.dimension?;
        part.entry(dim.key).map(|entry| entry.value)
    };
    let is_sought = |part: &&Part| {
        part.piece_of.is_none()
            && sought.kind.is_none_or(|kind| *kind == *part.kind)
            && (sought.retired || !part.retired)
            && (!sought.on_hand || part.on_hand > 0)
            && sought.dimension.is_none_or(|(_, from, to)| {
                let wanted = from.is_some() || to.is_some();
                value(part).map_or(!wanted, |value| {
                    from.is_none_or(|from| value >= from) && to.is_none_or(|to| value <= to)
                })
            })
            && has_words(part, &words)
            && sought.mates.is_none_or(|other| match order(part).cmp(&order(other)) {
                std::cmp::Ordering::Less => mate(part, other),
                std::cmp::Ordering::Equal => false,
                std::cmp::Ordering::Greater => mate(other, part),
            })
    };
    let mut found: Vec<&Part> = library.parts.iter().filter(is_sought).collect();
    found.sort_by(|a, b| {
        let key = |part: &Part| (order(part), value(part).is_none(), value(part));
        key(a).cmp(&key(b)).then_with(|| a.id.cmp(&b.id))
    });
    found
}

fn has_words(part: &Part, words: &str) -> bool {
    let told = format!("{} {} {} {}", part.id, part.maker, part.description, part.notes);
    let told = told.to_lowercase();
    words.split_whitespace().all(|word| told.contains(word))
}
