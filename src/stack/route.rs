//! Where a length of a stack comes from: read on the job, or the parts' own dimensions.

use crate::model::job::Reading;

/// One end of the bearing's travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum End {
    /// Fully out, toward the fingers.
    Extended,
    /// Bottomed.
    Retracted,
}

impl End {
    /// The reading that is taken at this end.
    pub const fn reading(self) -> Reading {
        match self {
            Self::Extended => Reading::BearingDepthExtended,
            Self::Retracted => Reading::BearingDepthRetracted,
        }
    }
}

/// Where a length comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum From {
    /// Read on the job.
    Reading,
    /// The parts' own dimensions.
    Catalog,
}

/// Where the position of the finger tips comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum FingerFrom {
    /// The finger depth as read: crank and clutch in one.
    Depth,
    /// Crank protrusion and clutch height apart.
    Apart {
        /// Where the crank's protrusion comes from.
        crank: From,
        /// Where the clutch's height comes from.
        clutch: From,
    },
}

impl FingerFrom {
    /// Whether it rests on something that was read on the clutch.
    pub const fn reads_clutch(self) -> bool {
        matches!(self, Self::Depth | Self::Apart { clutch: From::Reading, .. })
    }

    /// Whether the crank's protrusion is the catalog's.
    pub const fn lists_crank(self) -> bool {
        matches!(self, Self::Apart { crank: From::Catalog, .. })
    }

    /// Whether the clutch's height is the catalog's.
    pub const fn lists_clutch(self) -> bool {
        matches!(self, Self::Apart { clutch: From::Catalog, .. })
    }

    /// Whether the crank's protrusion, and whether the clutch's height, come from elsewhere on
    /// another route.
    pub(crate) fn differs(self, other: Self) -> (bool, bool) {
        match (self, other) {
            (
                Self::Apart { crank, clutch },
                Self::Apart { crank: other_crank, clutch: other_clutch },
            ) => (crank != other_crank, clutch != other_clutch),
            _ => (true, true),
        }
    }

    /// Its name in sentences.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Depth => "finger depth as measured",
            Self::Apart { crank: From::Reading, clutch: From::Reading } => {
                "crank protrusion and clutch height as measured"
            }
            Self::Apart { crank: From::Reading, clutch: From::Catalog } => {
                "measured crank protrusion, catalogued clutch"
            }
            Self::Apart { crank: From::Catalog, clutch: From::Reading } => {
                "catalogued crank protrusion, measured clutch height"
            }
            Self::Apart { crank: From::Catalog, clutch: From::Catalog } => {
                "the catalogued dimensions"
            }
        }
    }
}

/// Where the bearing's position comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BearingFrom {
    /// Both depths as read: the fitted bearing stays, and each end has its own.
    BothReadings,
    /// One depth as read, at this end; the other end by the bearing's heights.
    Reading(End),
    /// The parts' own dimensions.
    Catalog,
}

impl BearingFrom {
    /// Whether it starts from the depth that was read at an end.
    pub fn starts_from(self, end: End) -> bool {
        self == Self::BothReadings || self == Self::Reading(end)
    }

    /// Its name in sentences.
    pub const fn words(self) -> &'static str {
        match self {
            Self::BothReadings => "both bearing depths as measured",
            Self::Reading(End::Extended) => "bearing depth as measured, extended",
            Self::Reading(End::Retracted) => "bearing depth as measured, retracted",
            Self::Catalog => "the catalogued dimensions of bell, gearbox and bearing",
        }
    }
}

/// What is known of a plate whose set gap was assumed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AssumedGap {
    /// The range that its diaphragm works in is known.
    RangeKnown,
    /// Whether its diaphragm works in its range is not known.
    RangeUnknown,
}
