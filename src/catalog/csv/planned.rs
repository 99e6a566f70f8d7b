//! What an import would do, and what it finds in the catalog.

use std::collections::{BTreeMap, HashMap};

use super::record::Record;
use super::sheet::Sheet;
use crate::model::bars::Entered;
use crate::model::house::House;
use crate::model::job::Job;
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::pieces::{Instrument, Measurements, ReadingSet, Specimen};

/// What became of the rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Tally {
    /// New ones.
    pub added: usize,
    /// Ones that were there and changed.
    pub updated: usize,
    /// Ones that were there just like this.
    pub unchanged: usize,
}

/// What is in the catalog before an import, by name.
#[derive(Debug, Default)]
pub(super) struct Before<'a> {
    /// The catalog's currency.
    pub(super) currency: &'a str,
    pub(super) parts: BTreeMap<&'a str, &'a Part>,
    pub(super) jobs: HashMap<&'a str, &'a Job>,
    pub(super) pieces: HashMap<(&'a str, &'a str), &'a Specimen>,
    pub(super) measured: Option<&'a Measurements>,
    pub(super) house: Option<&'a House>,
}

impl<'a> Before<'a> {
    pub(super) fn new(library: &'a Library, jobs: &'a [Job]) -> Self {
        let measured = &library.measured;
        let piece = |piece: &'a Specimen| ((piece.part.as_str(), piece.label.as_str()), piece);
        Self {
            currency: &library.house.currency,
            parts: library
                .parts
                .iter()
                .flat_map(|part| called(part).map(move |id| (id, part)))
                .collect(),
            jobs: jobs.iter().map(|job| (job.id.as_str(), job)).collect(),
            pieces: measured.specimens.iter().map(piece).collect(),
            measured: Some(measured),
            house: Some(&library.house),
        }
    }
}

/// Every number that a part has and had.
fn called(part: &Part) -> impl Iterator<Item = &str> {
    part.formerly.iter().chain([&part.id]).map(String::as_str)
}

/// What happens to a thing of one row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Action {
    Add,
    Update,
    /// It is in the catalog just like this.
    Leave,
}

/// A thing of one row, such as a part or a job.
#[derive(Debug)]
pub(super) struct Planned<T> {
    pub(super) item: T,
    pub(super) action: Action,
    pub(super) file: usize,
    pub(super) line: usize,
}

/// Everything that an import would do.
#[derive(Debug, Default)]
pub(super) struct ImportPlan {
    pub(super) parts: Vec<Planned<Part>>,
    pub(super) jobs: Vec<Planned<Job>>,
    pub(super) pieces: Vec<Planned<Specimen>>,
    pub(super) readings: Vec<Planned<ReadingSet>>,
    pub(super) instruments: Vec<Planned<Instrument>>,
    /// The house numbers as they will be, where a file holds some, and what becomes of those.
    pub(super) house: Option<House>,
    pub(super) numbers: Tally,
    pub(super) warnings: Vec<String>,
    /// Lengths that were entered over a bar or with a side, each with the part or job that it is of.
    pub(super) entered: Vec<(String, Entered)>,
    /// The rows of each file.
    pub(super) rows: BTreeMap<usize, usize>,
    /// The rows of lists of prices whose part is not in the catalog.
    pub(super) unpriced: usize,
}

/// What happens to the thing of a row, of which this is stored.
pub(super) fn planned<T: PartialEq>(
    item: T,
    old: Option<&T>,
    sheet: &Sheet,
    record: &Record,
) -> Planned<T> {
    let action = match old {
        None => Action::Add,
        Some(old) if *old == item => Action::Leave,
        Some(_) => Action::Update,
    };
    Planned { item, action, file: sheet.file, line: record.line }
}
