//! How often a dimension enters a sum.

use crate::model::kinds::Enters;
use crate::stack::route::End;

/// How often a dimension enters one sum; none where it does not.
pub(crate) type Times = fn(Enters) -> Option<i64>;

pub(crate) fn finger_times(enters: Enters) -> Option<i64> {
    if let Enters::Finger(times) = enters { Some(times) } else { None }
}

pub(crate) fn gap_times(enters: Enters) -> Option<i64> {
    if let Enters::Gap(times) = enters { Some(times) } else { None }
}

impl End {
    /// How a dimension enters the contact face's position at this end.
    pub(crate) fn times(self) -> Times {
        match self {
            Self::Extended => |enters| match enters {
                Enters::Rear(times) | Enters::Extended(times) => Some(times),
                _ => None,
            },
            Self::Retracted => |enters| match enters {
                Enters::Rear(times) | Enters::Retracted(times) => Some(times),
                _ => None,
            },
        }
    }
}

/// How a dimension enters both ends alike.
pub(crate) fn either_end(enters: Enters) -> Option<i64> {
    if let Enters::Rear(times) = enters { Some(times) } else { None }
}
