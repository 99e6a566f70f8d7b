//! Grades by published decision rules (JCGM 106:2012 and ISO 14253-1 guard bands), and what caps them.

use bellstack::model::edge::Edge;
use bellstack::stack::grade::Grade;

use super::clutch::length;
use super::house::times;
use super::routes::Fingers;
use super::sum::{MICRO, Total};
use super::task::{Facings, Fill, Task};

/// Why a grade may be no better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum Why {
    Contradiction,
    OutsideRange,
    MayBeWorn,
    Doubt,
    StateUnknown,
}

impl Why {
    pub(crate) const fn cap(self) -> Grade {
        match self {
            Self::Contradiction | Self::OutsideRange | Self::MayBeWorn => Grade::Marginal,
            Self::Doubt | Self::StateUnknown => Grade::Likely,
        }
    }
}

/// What one edge allows: `room` in nanometres.
pub(crate) fn edge_grade(room: i128, sum: &Total) -> Grade {
    let room_micro = room * MICRO;
    let beyond_two_u = 3 * room_micro * room_micro - 4 * sum.three_u2;
    if room < 0 {
        return if beyond_two_u <= 0 { Grade::Undecided } else { Grade::Out };
    }
    if room_micro >= sum.worst && !sum.assumed {
        Grade::Sure
    } else if beyond_two_u >= 0 {
        Grade::Likely
    } else {
        Grade::Marginal
    }
}

impl<'a> Task<'a> {
    /// A clutch reading that holds facings of which nobody told the state: never sure, and no better
    /// than marginal where the same stack would leave its window with them worn out.
    pub(crate) fn state_caps(
        &self,
        stack: &[Fill<'a>],
        fingers: Fingers,
        room: impl Fn(Edge) -> Option<i128>,
    ) -> Vec<Why> {
        if !fingers.reads_clutch() || self.facings(stack) != Facings::Unknown {
            return Vec::new();
        }
        let ratio = length(self.fitted_part("pressure_plate"), "finger_ratio");
        let ratio = ratio.unwrap_or_else(|| self.house.largest_ratio());
        let shift = times(ratio, self.fitted_wear());
        // New facings let the fingers down by that much: preload goes, reserve comes.
        let leaves = |edge| room(edge).is_some_and(|room| room - shift < 0);
        if leaves(Edge::PreloadMin) || leaves(Edge::ReserveMax) {
            vec![Why::StateUnknown, Why::MayBeWorn]
        } else {
            vec![Why::StateUnknown]
        }
    }
}
