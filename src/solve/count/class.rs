//! What is told apart while positions are counted, as a route or a check hangs on it.

use std::collections::BTreeMap;
use std::rc::Rc;

use crate::solve::compact::Rec;
use crate::solve::histogram::Counts;

/// How a rear candidate bears on which route is used: the variance that measuring saves, and
/// whether each route works at all.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Bias {
    /// The measured variance less the catalogued one; zero where not both are known.
    pub(super) delta: i128,
    pub(super) measured: bool,
    pub(super) catalogued: bool,
    /// Something stays inside the measured sum: otherwise there is no measured route.
    pub(super) stays: bool,
}

impl Bias {
    /// Nothing picked yet.
    pub(super) const NONE: Self = Self { delta: 0, measured: true, catalogued: true, stays: false };

    /// Both together.
    pub(super) fn and(self, other: Self) -> Self {
        Self {
            delta: self.delta + other.delta,
            measured: self.measured && other.measured,
            catalogued: self.catalogued && other.catalogued,
            stays: self.stays || other.stays,
        }
    }

    /// What a candidate brings by its catalogued and its measured number.
    pub(super) fn of(c: Option<Rec>, m: Option<Rec>, stays: bool) -> Self {
        let delta = c.zip(m).map_or(0, |(c, m)| m.v - c.v);
        Self { delta, measured: m.is_some(), catalogued: c.is_some(), stays }
    }

    /// Which route is used, if any: the measured one on a tie.
    pub(super) fn route(self) -> Option<bool> {
        match (self.measured && self.stays, self.catalogued) {
            (true, true) => Some(self.delta <= 0),
            (true, false) => Some(true),
            (false, true) => Some(false),
            (false, false) => None,
        }
    }
}

/// What is told apart among combinations of the additive slots but the shims.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Class {
    pub(super) bias: Bias,
    /// Block plate and bell spacer, as far as the starter's position hangs on them.
    pub(super) starter: Option<i64>,
    /// Dowels and pilot hold.
    pub(super) holds: bool,
    /// Every thickness so far is known.
    pub(super) known: bool,
    /// Representative candidates, for the faces that a bearing or shim still has to mate with.
    pub(super) faces: Vec<u32>,
}

impl Class {
    /// Nothing picked yet.
    pub(super) fn start() -> Self {
        Self { bias: Bias::NONE, starter: None, holds: true, known: true, faces: Vec::new() }
    }
}

/// Counts by starter position.
pub(super) type ByStarter = BTreeMap<Option<i64>, Counts>;

/// What may stand behind a bearing: its bias, how much it is, and what holds its checks.
pub(super) type Behind = (Bias, u128, Rc<ByStarter>);

/// One bearing with one way through the routes.
pub(super) struct Component {
    pub(super) bearing: usize,
    /// Positions of both ends less the additive slots.
    pub(super) ends: [i64; 2],
    /// Of the additive slots that hold their checks: starter position and counts.
    pub(super) counts: Rc<ByStarter>,
    /// All of them, holding or not.
    pub(super) all: u128,
}
