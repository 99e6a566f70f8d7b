//! What somebody who builds from an answer has to know first, and what its grades mean.

use itertools::Itertools as _;

use crate::report::units::Units;
use crate::stack::caution::Caution;
use crate::stack::grade::Grade;
use crate::stack::lengths::AssumedGap;

/// What somebody who builds from an answer has to know, in every answer.
pub(in crate::report) const SAFETY: &str = "Before you build: numbers are only as good as the measurements, so \
    measure again after assembly. Support vehicle and gearbox on stands; hands in the bell: battery \
    off. Old facings can hold asbestos. Torque, balance and scatter protection are the makers' and \
    the sanctioning body's; local rules and a licensed technician decide.";

/// A caution in words.
pub(in crate::report) fn caution(caution: &Caution, say: Units) -> String {
    match caution {
        Caution::Bottomed => {
            "reserve below zero: the bearing is bottomed and holds the fingers; it \
             must not be assembled, and never be drawn together with the bolts"
                .into()
        }
        Caution::DoesNotReach => {
            "preload below zero: the bearing does not reach the fingers; it can \
             run out of its bore and lose fluid, which harms eyes and paint. \
             Never stroke it free on the bench"
                .into()
        }
        Caution::TooLoose => {
            "too loose: the bearing can run out of its bore and lose fluid, which \
             harms eyes and paint; never stroke it free on the bench"
                .into()
        }
        Caution::OutsideRange => "diaphragm outside its working range".into(),
        Caution::CrossCheck => {
            "two ways to the same length disagree: see the cross-checks first".into()
        }
        Caution::LossAssumed => {
            "worn disc: it is taken to have lost half of what it may lose, give \
             or take that half; measure it"
                .into()
        }
        Caution::TakenAsNew => "fitted disc taken as new: nobody told its state".into(),
        Caution::SetGapAssumed(AssumedGap::RangeKnown) => "set_gap assumed".into(),
        Caution::SetGapAssumed(AssumedGap::RangeUnknown) => {
            "set_gap assumed: whether the diaphragm works in its range is not known".into()
        }
        Caution::RatioAssumed => "finger_ratio assumed: nobody knows it".into(),
        Caution::Retired(id) => format!("{id} is retired"),
        Caution::Gone(id) => format!("the shop no longer has the piece {id}"),
        Caution::PlatesOut(length) => {
            format!("{} of plates comes out: dowels and bolts may be too long", say.length(*length))
        }
        Caution::SpacerIn => {
            "a plate or spacer comes in: check bolt length and thread engagement, \
             and the reach of line and pedal"
                .into()
        }
        Caution::Machined => {
            "machining: the work is not priced; weigh and balance, and keep to the \
             maker's minimum"
                .into()
        }
    }
}

/// What the grades of these stacks mean, each once, the best first.
pub(in crate::report) fn legend(grades: impl IntoIterator<Item = Grade>) -> String {
    let grades = grades.into_iter().sorted_unstable().dedup();
    grades.map(|grade| format!("{}: {}", grade.word(), grade.meaning())).join("; ")
}

/// What the grades mean, in full.
pub const GRADES: &str = "\
A grade says how certain it is that a stack lands in its window of preload and wear reserve. It is the \
worst of the grades at the window's edges:

sure       inside even with every stated tolerance at its limit, and none of them assumed
likely     inside by at least twice the standard uncertainty
marginal   inside as computed: measure better before you trust it
undecided  outside, by no more than twice the standard uncertainty: measure before you buy or reject
out        outside

A doubt caps the grade, and the answer names it: a disc of unknown state is never sure; readings that \
cannot both be right, a worn disc of unknown thickness or a diaphragm outside its working range are never \
better than marginal. An exclamation mark stands where two ways to a length disagree.

Sure and likely follow the guard bands of ISO 14253-1 and JCGM 106. `bellstack fit JOB` shows each edge \
with its room, its worst case and its standard uncertainty.
";
