//! What somebody reads at the bench, questioned before it is kept.

use crate::catalog::csv::read_set;
use crate::error::{Error, Result};
use crate::measure::findings::Findings;
use crate::measure::slips::{Expected, suspicion};
use crate::model::kinds::DimSpec;
use crate::model::length::{Length, Unit};
use crate::model::part::Part;
use crate::model::pieces::{ReadingSet, Specimen};
use crate::model::usual::Meant;

/// A piece that is measured.
#[derive(Debug, Clone, Copy)]
pub struct AtBench<'a> {
    /// What the library knows of its sisters.
    pub findings: &'a Findings<'a>,
    /// Its part number.
    pub part: &'a Part,
    /// The piece.
    pub piece: &'a Specimen,
}

/// What was read of one dimension.
#[derive(Debug, Clone)]
pub struct Read {
    /// The readings.
    pub set: ReadingSet,
    /// What is unusual about how they were written down.
    pub unusual: Vec<String>,
    /// What looks like a slip: to be asked before they are kept.
    pub doubt: Option<String>,
}

impl AtBench<'_> {
    /// What a dimension is expected to be near.
    pub fn expected(&self, spec: &DimSpec) -> Vec<Expected> {
        Expected::of(self.findings, self.part, self.piece.condition, spec)
    }

    /// Reads a set of readings from the pairs of a row. `bars` are those that readings at this bench
    /// were taken over, `unit` is the one in which a doubt is told.
    ///
    /// # Errors
    ///
    /// Refuses what cannot be. What only is not usual is a doubt.
    pub fn read(
        &self,
        spec: &DimSpec,
        pairs: &[String],
        (bars, meant, unit): (&[Length], &Meant, Unit),
    ) -> Result<Read> {
        let (id, label) = (self.part.id.as_str(), self.piece.label.as_str());
        let measured = &self.findings.library.measured;
        let read =
            |meant| read_set(self.part.kind, (id, label), spec.key, pairs, (measured, meant));
        let (set, unusual, doubt) = match (read(meant), read(&Meant::all())) {
            (Ok((set, unusual)), _) => (set, unusual, None),
            // It can be, and is not usual: that is for the person at the bench to say.
            (Err(doubt), Ok((set, unusual))) => (set, unusual, Some(in_question(&doubt))),
            (Err(error), Err(_)) => return Err(error),
        };
        let slip = suspicion(&set.values, &self.expected(spec), bars, unit);
        Ok(Read { set, unusual, doubt: slip.or(doubt) })
    }
}

/// What looks like a slip, without how it is kept all the same.
pub(super) fn in_question(error: &Error) -> String {
    let slip = error.advice().and_then(|advice| advice.split_once("; `--unusual"));
    slip.map_or_else(
        || error.message().to_string(),
        |(slip, _)| format!("{}; {slip}", error.message()),
    )
}
