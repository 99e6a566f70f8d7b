//! Parts found by what they are: their kind, a dimension, what they mate with, words.

use std::cmp::Ordering;

use crate::error::{Error, Result};
use crate::model::figure::{Figure, FigureRange};
use crate::model::kinds::{KindSpec, Kinds, folded};
use crate::model::library::Library;
use crate::model::part::Part;
use crate::stack::joints::mate;

/// What is sought. What is not said is not asked for.
#[derive(Debug, Clone, Default)]
pub struct Sought<'a> {
    /// Only parts of this kind.
    pub kind: Option<&'static KindSpec>,
    /// Only parts that lie in all of these ranges.
    pub ranges: Vec<FigureRange>,
    /// Only parts that mate with this one.
    pub mates: Option<&'a Part>,
    /// Only parts of which some lie on the shelf.
    pub on_hand: bool,
    /// Retired parts too.
    pub retired: bool,
    /// Only parts in whose number, maker, description, notes or columns of the shop's own each of these
    /// words stands.
    pub words: &'a str,
    /// Only parts whose columns of the shop's own have these words, by the columns' names; a blank is
    /// sought where nothing stands.
    pub own: Vec<(&'a str, &'a str)>,
    /// The order; without one that of the table of kinds, parts of one kind by the first range.
    pub sort: Option<By>,
    /// The order turned round. What is unknown comes last in either.
    pub reverse: bool,
}

/// By what parts are sorted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// The part number.
    Id,
    /// The kind, in the order of the table of kinds.
    Kind,
    /// The maker.
    Maker,
    /// The description.
    Description,
    /// A number.
    Number(Figure),
}

/// What is no number, by its key.
const WORDS: &[(&str, By)] =
    &[("id", By::Id), ("kind", By::Kind), ("maker", By::Maker), ("description", By::Description)];

impl By {
    /// What this key sorts by.
    ///
    /// # Errors
    ///
    /// Names the nearest key where there is none of this name.
    pub fn named(kinds: Kinds, kind: Option<&KindSpec>, key: &str) -> Result<Self> {
        let wanted = folded(key);
        if let Some((_, by)) = WORDS.iter().find(|(known, _)| *known == wanted) {
            return Ok(*by);
        }
        Figure::named(kinds, kind, key).map(Self::Number).map_err(|refusal| {
            let error = Error::input(format!("`{}` is no key to sort by", key.trim()));
            let words = WORDS.iter().map(|(key, _)| *key);
            error.near(&wanted, words, refusal.advice().unwrap_or_default())
        })
    }

    /// Compares two parts. What one of them does not know comes last, whichever way the order runs.
    fn compare(self, kinds: Kinds, reverse: bool, a: &Part, b: &Part) -> Ordering {
        let place = |part: &Part| kinds.iter().position(|kind| *kind == *part.kind);
        let text = |a: &str, b: &str| {
            let known = a.is_empty().cmp(&b.is_empty());
            known.then_with(|| turned(a.to_lowercase().cmp(&b.to_lowercase()), reverse))
        };
        match self {
            Self::Id => turned(a.id.cmp(&b.id), reverse),
            Self::Kind => turned(place(a).cmp(&place(b)), reverse),
            Self::Maker => text(&a.maker, &b.maker),
            Self::Description => text(&a.description, &b.description),
            Self::Number(figure) => {
                let (a, b) = (figure.of(a), figure.of(b));
                a.is_none().cmp(&b.is_none()).then_with(|| turned(a.cmp(&b), reverse))
            }
        }
    }
}

fn turned(order: Ordering, reverse: bool) -> Ordering {
    if reverse { order.reverse() } else { order }
}

/// The parts that are sought: in the order that is asked for, else in that of the table of kinds and
/// those of one kind by the first range, then by number. A piece is found with its part number, not by
/// itself.
pub fn sought<'l>(library: &'l Library, sought: &Sought<'_>) -> Vec<&'l Part> {
    let words = sought.words.to_lowercase();
    let order = |part: &Part| library.kinds.iter().position(|kind| *kind == *part.kind);
    let is_sought = |part: &&Part| {
        part.piece_of.is_none()
            && sought.kind.is_none_or(|kind| *kind == *part.kind)
            && (sought.retired || !part.retired)
            && (!sought.on_hand || part.on_hand > 0)
            && sought.ranges.iter().all(|range| range.holds(part))
            && has_words(part, &words)
            && sought.own.iter().all(|(name, wanted)| {
                let text = part.own.get(*name).map(|text| text.to_lowercase()).unwrap_or_default();
                if wanted.is_empty() {
                    text.is_empty()
                } else {
                    text.contains(&wanted.to_lowercase())
                }
            })
            && sought.mates.is_none_or(|other| match order(part).cmp(&order(other)) {
                Ordering::Less => mate(part, other),
                Ordering::Equal => false,
                Ordering::Greater => mate(other, part),
            })
    };
    let mut found: Vec<&Part> = library.parts.iter().filter(is_sought).collect();
    let kinds = library.kinds;
    let number = sought.ranges.first().map(|range| By::Number(range.figure));
    let usual = [Some(By::Kind), number];
    found.sort_by(|a, b| {
        let orders = if sought.sort.is_some() { [sought.sort, None] } else { usual };
        let orders = orders.into_iter().flatten();
        let mut orders = orders.map(|by| by.compare(kinds, sought.reverse, a, b));
        let first = orders.find(|order| order.is_ne()).unwrap_or(Ordering::Equal);
        first.then_with(|| a.id.cmp(&b.id))
    });
    found
}

fn has_words(part: &Part, words: &str) -> bool {
    let told = [&part.id, &part.maker, &part.description, &part.notes].into_iter();
    let told = told
        .chain(&part.formerly)
        .chain(part.own.values())
        .map(String::as_str)
        .collect::<Vec<_>>()
        .join(" ");
    let told = told.to_lowercase();
    words.split_whitespace().all(|word| told.contains(word))
}
