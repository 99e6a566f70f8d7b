//! How two ways to the same length compare: plain data, worked out in `crosscheck`.

use crate::model::job::Reading;
use crate::model::length::Length;
use crate::stack::note::Note;
use crate::stack::route::{End, FingerFrom};

/// How well two routes agree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Agreement {
    /// Within their uncertainty.
    Agree,
    /// Beyond twice the root sum square of both u.
    Doubtful,
    /// Beyond the sum of both limits: they cannot both be right.
    CannotBothBeRight,
}

impl Agreement {
    /// The words for it.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Agree => "agree",
            Self::Doubtful => "doubtful",
            Self::CannotBothBeRight => "cannot both be right",
        }
    }
}

/// What is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Compared {
    /// The finger tips by two routes.
    Fingers(FingerFrom, FingerFrom),
    /// The bearing's contact face at one end: as read against the catalog.
    Depth(End),
    /// The bearing's travel: between both depths against the catalog.
    Travel,
}

/// A comparison of two routes.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossCheck {
    /// What is compared.
    pub compared: Compared,
    /// Its value by the first route.
    pub first_value: Length,
    /// Its value by the second route.
    pub second_value: Length,
    /// Whether they agree.
    pub agreement: Agreement,
    /// The readings that are left in the difference of both.
    pub readings: Vec<Reading>,
    /// Single slips that would explain the difference.
    pub slips: Vec<Note>,
    /// All limits of the difference together, and twice its u, nm.
    pub(crate) limits: [f64; 2],
}

impl CrossCheck {
    /// Which length is compared: what both routes take from the same place is not part of it.
    pub fn length(&self) -> &'static str {
        match self.compared {
            Compared::Fingers(first, second) => match first.differs(second) {
                (true, false) => "crank protrusion",
                (false, true) => "clutch height",
                _ => "finger tips",
            },
            Compared::Depth(End::Extended) => "bearing extended",
            Compared::Depth(End::Retracted) => "bearing retracted",
            Compared::Travel => "bearing travel",
        }
    }

    /// The two routes in words.
    pub fn routes(&self) -> [&'static str; 2] {
        const CATALOG: &str = "the catalogued dimensions";
        match self.compared {
            Compared::Fingers(first, second) => {
                let (crank, clutch) = first.differs(second);
                match (crank, clutch) {
                    (true, true) => [first.words(), second.words()],
                    (true, false) if first.lists_crank() => [CATALOG, "the reading"],
                    (false, true) if first.lists_clutch() => [CATALOG, "the reading"],
                    _ => ["the reading", CATALOG],
                }
            }
            Compared::Depth(_) => ["the reading", CATALOG],
            Compared::Travel => ["both bearing depths", "the bearing's catalogued heights"],
        }
    }

    /// First less second.
    pub fn difference(&self) -> Length {
        self.first_value - self.second_value
    }
}

/// The cross-checks of a job.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CrossChecks {
    /// All of them.
    pub all: Vec<CrossCheck>,
    /// Two routes to the finger tips that were measured all the way agree.
    pub confirmed: bool,
}

impl CrossChecks {
    /// Each comparison once: two pairs of routes may differ in the same length alone.
    pub fn shown(&self) -> Vec<&CrossCheck> {
        let same = |a: &CrossCheck, b: &CrossCheck| {
            (a.length(), a.routes(), a.difference()) == (b.length(), b.routes(), b.difference())
        };
        let mut shown: Vec<&CrossCheck> = Vec::new();
        for check in &self.all {
            if !shown.iter().any(|known| same(known, check)) {
                shown.push(check);
            }
        }
        shown
    }

    /// Those in which two routes do not agree, each once, the gravest first.
    pub fn apart(&self) -> Vec<&CrossCheck> {
        let mut apart = self.shown();
        apart.retain(|check| check.agreement != Agreement::Agree);
        apart.sort_by_key(|check| std::cmp::Reverse(check.agreement));
        apart
    }
}
