//! A length in JSON: exact in nanometres, and as people read it.

use serde::Serialize as Derive;

use crate::model::length::Length;

#[derive(Derive)]
pub(in crate::report) struct L {
    pub(super) nm: i64,
    #[serde(rename = "in")]
    pub(super) inches: f64,
    pub(super) mm: f64,
}

impl From<Length> for L {
    fn from(length: Length) -> Self {
        Self { nm: length.nm(), inches: length.inches(), mm: length.millimetres() }
    }
}
