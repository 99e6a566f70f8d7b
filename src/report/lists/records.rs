//! What was written down at the bench, and the headings that were learned, as JSON.

use serde::Serialize;

use crate::measure::statistics::Sample;
use crate::model::headings::{Headings, Meaning};
use crate::model::kinds::Quantity;
use crate::model::library::Library;
use crate::model::pieces::{Instrument, Measurements, ReadingSet, Specimen};
use crate::report::json::{self, Amount, L, Ordered};

#[derive(Serialize)]
struct PieceRow<'a> {
    piece: String,
    part: &'a str,
    label: &'a str,
    kind: Option<&'a str>,
    condition: &'static str,
    in_hand: bool,
    sets_read: usize,
    notes: &'a str,
}

impl<'a> PieceRow<'a> {
    fn of(library: &'a Library, piece: &'a Specimen) -> Self {
        let of_piece = |set: &&ReadingSet| set.part == piece.part && set.piece == piece.label;
        Self {
            piece: piece.id(),
            part: &piece.part,
            label: &piece.label,
            kind: library.find(&piece.part).map(|part| part.kind.key),
            condition: piece.condition.word(),
            in_hand: piece.in_hand,
            sets_read: library.measured.readings.iter().filter(of_piece).count(),
            notes: &piece.notes,
        }
    }
}

/// Pieces, and how many that are gone were left out.
pub fn pieces(library: &Library, pieces: &[&Specimen], gone_hidden: usize) -> String {
    #[derive(Serialize)]
    struct PiecesListed<'a> {
        gone_hidden: usize,
        pieces: Vec<PieceRow<'a>>,
    }
    let pieces = pieces.iter().map(|piece| PieceRow::of(library, piece)).collect();
    json::object(PiecesListed { gone_hidden, pieces })
}

#[derive(Serialize)]
struct SetRow<'a> {
    number: i64,
    piece: String,
    dimension: &'a str,
    values: Vec<Amount>,
    mean: Option<Amount>,
    scatter: Option<Amount>,
    bar: Option<L>,
    by: &'a str,
    date: &'a str,
    instrument: Option<&'a str>,
    /// Why the set counts no more.
    struck: Option<&'a str>,
}

impl<'a> SetRow<'a> {
    fn of(library: &Library, set: &'a ReadingSet) -> Self {
        let spec = library.find(&set.part).and_then(|part| part.kind.dim(&set.dimension).ok());
        let quantity = spec.map_or(Quantity::Length, |spec| spec.quantity);
        let amount = |value| Amount::of(quantity, value);
        let sample = Sample::of(set.values.iter().copied());
        #[allow(clippy::cast_possible_truncation, reason = "a scatter is far below 2^63 nm")]
        let scatter = sample.as_ref().and_then(Sample::scatter).map(|one| one.s().round() as i64);
        Self {
            number: set.number,
            piece: set.piece_id(),
            dimension: &set.dimension,
            values: set.values.iter().copied().map(amount).collect(),
            mean: sample.map(|sample| amount(sample.whole_mean())),
            scatter: scatter.map(amount),
            bar: set.bar.map(L::from),
            by: &set.by,
            date: &set.date,
            instrument: set.instrument.as_deref(),
            struck: set.struck.as_deref(),
        }
    }
}

/// Sets of readings. Values are without the bar that they were taken over.
pub fn readings(library: &Library, sets: &[&ReadingSet]) -> String {
    json::list("readings", sets.iter().map(|set| SetRow::of(library, set)))
}

#[derive(Serialize)]
struct InstrumentRow<'a> {
    instrument: &'a str,
    description: &'a str,
    resolution: Option<L>,
    limits: Vec<LimitRow>,
    source: &'a str,
}

/// A limit of error, and up to which length it holds.
#[derive(Serialize)]
struct LimitRow {
    up_to: L,
    error: L,
}

impl<'a> InstrumentRow<'a> {
    fn of(instrument: &'a Instrument) -> Self {
        let limits = instrument.limits.iter();
        Self {
            instrument: &instrument.name,
            description: &instrument.description,
            resolution: instrument.resolution.map(L::from),
            limits: limits
                .map(|one| LimitRow { up_to: one.up_to.into(), error: one.limit.into() })
                .collect(),
            source: &instrument.source,
        }
    }
}

/// Every instrument, with how many sets were read with it.
pub fn instruments(measured: &Measurements) -> String {
    #[derive(Serialize)]
    struct UsedInstrument<'a> {
        #[serde(flatten)]
        instrument: InstrumentRow<'a>,
        sets_read: usize,
    }
    let rows = measured.instruments.iter().map(|one| {
        let with_it = |set: &&ReadingSet| set.instrument.as_ref() == Some(&one.name);
        let sets_read = measured.readings.iter().filter(with_it).count();
        UsedInstrument { instrument: InstrumentRow::of(one), sets_read }
    });
    json::list("instruments", rows)
}

/// One instrument.
pub fn instrument(instrument: &Instrument) -> String {
    json::object(InstrumentRow::of(instrument))
}

#[derive(Serialize)]
struct HeadingsRow<'a> {
    name: &'a str,
    /// What such a sheet holds; null where each sheet says it.
    holds: Option<&'a str>,
    /// The column that each heading means; null where it is passed over.
    columns: Ordered<Option<&'a str>, &'a str>,
    /// The kinds that the shop's own words stand for.
    kinds: Ordered<&'a str, &'a str>,
}

impl<'a> HeadingsRow<'a> {
    fn of(headings: &'a Headings) -> Self {
        let means = |meaning: &'a Meaning| match meaning {
            Meaning::Column(column) => Some(column.as_str()),
            Meaning::PassedOver => None,
        };
        let columns = headings.columns.iter().map(|(text, of)| (text.as_str(), means(of)));
        let kinds = headings.kinds.iter().map(|(word, kind)| (word.as_str(), kind.as_str()));
        Self {
            name: &headings.name,
            holds: Some(headings.holds.as_str()).filter(|holds| !holds.is_empty()),
            columns: Ordered(columns.collect()),
            kinds: Ordered(kinds.collect()),
        }
    }
}

/// All headings that are kept.
pub fn all_headings(all: &[Headings]) -> String {
    json::list("headings", all.iter().map(HeadingsRow::of))
}

/// The headings of one name.
pub fn headings(headings: &Headings) -> String {
    json::object(HeadingsRow::of(headings))
}
