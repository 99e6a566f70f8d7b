//! What keeps a grade down, however much room there is.

use crate::stack::grade::Grade;

/// A reason for which a stack is graded no better than its cap. The order is that of gravity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cap {
    /// It rests on one of two ways to a length that cannot both be right.
    Contradiction,
    /// Two readings agree, and the catalog's numbers that it rests on cannot be right beside them.
    CatalogContradicted,
    /// The diaphragm works outside its range.
    OutsideRange,
    /// With the fitted disc worn by all that it may lose, it would leave its window.
    MayBeWorn,
    /// It rests on one of two ways to a length that hardly agree.
    Doubt,
    /// Two readings agree, and the catalog's numbers that it rests on hardly agree with them.
    CatalogDoubted,
    /// Nobody knows whether the fitted disc was worn when the readings were taken.
    StateUnknown,
}

impl Cap {
    /// The best grade that it allows.
    pub const fn grade(self) -> Grade {
        match self {
            Self::Contradiction
            | Self::CatalogContradicted
            | Self::OutsideRange
            | Self::MayBeWorn => Grade::Marginal,
            Self::Doubt | Self::CatalogDoubted | Self::StateUnknown => Grade::Likely,
        }
    }

    /// Why, behind "because".
    pub const fn words(self) -> &'static str {
        match self {
            Self::Contradiction => "two ways to the same length cannot both be right",
            Self::CatalogContradicted | Self::CatalogDoubted => {
                "the catalogue does not describe the part on this car"
            }
            Self::OutsideRange => "the diaphragm works outside its range",
            Self::MayBeWorn => "the fitted disc may be worn",
            Self::Doubt => "two ways to the same length hardly agree",
            Self::StateUnknown => "nobody told whether the fitted disc is worn",
        }
    }

    /// Whether it comes from two routes to one length.
    pub const fn is_cross_check(self) -> bool {
        matches!(
            self,
            Self::Contradiction | Self::CatalogContradicted | Self::Doubt | Self::CatalogDoubted
        )
    }

    /// Whether with it no chance can be given.
    pub const fn hides_chance(self) -> bool {
        matches!(self, Self::Contradiction | Self::CatalogContradicted | Self::OutsideRange)
    }
}

/// A cap that may apply to a stack.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CapRoom {
    /// The cap.
    pub cap: Cap,
    /// Whether it applies.
    pub applies: bool,
    /// About how far the stack is from it, nm; negative where it applies. It only shows the way to
    /// a value at which it no longer does.
    pub room: f64,
}
