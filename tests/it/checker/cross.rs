//! Cross-checks, worked out once a job on the parts that are fitted today, and which stacks they cap.

use bellstack::model::job::Reading;

use super::grade::Why;
use super::routes::{End, Fingers, Rear};
use super::sum::{MICRO, Sum, Who};
use super::task::{BEARING_DEPTH, CLUTCH, CRANK, Fill, TO_FINGERS, Task};

/// What is compared.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum Compared {
    Fingers(Fingers, Fingers),
    Depth(End),
    Travel,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum Agreement {
    Agree,
    Doubtful,
    CannotBothBeRight,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct CrossCheck {
    pub(crate) compared: Compared,
    pub(crate) difference: i128,
    pub(crate) agreement: Agreement,
    /// The readings that are left in the difference.
    readings: Vec<&'static str>,
}

fn compare(compared: Compared, one: &Sum, other: &Sum) -> Option<CrossCheck> {
    let difference = one.clone().plus(other, -1);
    let total = difference.total()?;
    let apart = total.value.abs() * MICRO;
    let agreement = if apart > total.worst {
        Agreement::CannotBothBeRight
    } else if 3 * apart * apart > 4 * total.three_u2 {
        Agreement::Doubtful
    } else {
        Agreement::Agree
    };
    let job = difference.plain.0.iter().filter(|term| term.dim.who == Who::Job);
    let readings = job.map(|term| term.dim.key).collect();
    Some(CrossCheck { compared, difference: total.value, agreement, readings })
}

const BOTH_READ: Fingers = Fingers::Apart { crank_read: true, clutch_read: true };

impl<'a> Task<'a> {
    pub(crate) fn cross_checks(&self) -> Vec<CrossCheck> {
        let mut all = Vec::new();
        // What both routes hold cancels first: only the difference has to be known.
        let today = Fingers::ALL.map(|route| self.fingers_today(route).map(|sum| (route, sum)));
        let today: Vec<_> = today.into_iter().flatten().collect();
        for (index, (route, sum)) in today.iter().enumerate() {
            for (other, other_sum) in &today[index + 1..] {
                all.extend(compare(Compared::Fingers(*route, *other), sum, other_sum));
            }
        }
        let read = End::BOTH.map(|end| self.depth_read(end));
        for (end, read) in End::BOTH.iter().zip(&read) {
            let Some(read) = read else { continue };
            all.extend(compare(Compared::Depth(*end), read, &self.behind(&self.fitted, *end)));
        }
        if let [Some(extended), Some(retracted)] = &read {
            let travel = retracted.clone().plus(extended, -1);
            let mut catalogued = Sum::default();
            for (end, times) in End::BOTH.iter().zip([1, -1]) {
                self.put_height(&mut catalogued.plain, *end, times);
            }
            all.extend(compare(Compared::Travel, &travel, &catalogued));
        }
        all
    }

    /// What a job's cross-checks cap this stack to, for which its two routes count.
    pub(crate) fn cross_caps(
        &self,
        stack: &[Fill<'a>],
        fingers: Fingers,
        rear: Rear,
        checks: &[CrossCheck],
    ) -> Vec<Why> {
        let agreed = |check: &CrossCheck| {
            check.compared == Compared::Fingers(Fingers::Depth, BOTH_READ)
                && check.agreement == Agreement::Agree
        };
        let confirmed = checks.iter().any(agreed);
        let mut caps = Vec::new();
        for check in checks.iter().filter(|check| check.agreement != Agreement::Agree) {
            let capped = match check.compared {
                Compared::Fingers(one, other) => {
                    self.fingers_are_capped(stack, fingers, (one, other), check, confirmed)
                }
                Compared::Depth(end) => {
                    let starts = rear == Rear::Catalogue || rear.starts_from(end);
                    starts && self.something_stays(stack, BEARING_DEPTH)
                }
                Compared::Travel => self.keeps(stack, self.slot("bearing")),
            };
            if capped {
                caps.push(match check.agreement {
                    Agreement::CannotBothBeRight => Why::Contradiction,
                    _ => Why::Doubt,
                });
            }
        }
        caps
    }

    fn fingers_are_capped(
        &self,
        stack: &[Fill<'a>],
        used: Fingers,
        (one, other): (Fingers, Fingers),
        check: &CrossCheck,
        confirmed: bool,
    ) -> bool {
        if used != one && used != other {
            return false;
        }
        let inside = |reading: &str| match reading {
            "finger_depth" => TO_FINGERS,
            "crank_protrusion" => CRANK,
            _ => CLUTCH,
        };
        let named = |reading: Reading| reading.spec().key;
        let of_a_sum = [Reading::FingerDepth, Reading::CrankProtrusion, Reading::ClutchHeight];
        let left = check.readings.iter().filter(|key| of_a_sum.iter().any(|r| named(*r) == **key));
        for reading in left {
            if !self.something_stays(stack, inside(reading)) {
                return false;
            }
        }
        // Two measured routes that agree are a confirmed reading: what the catalogue says beside
        // them caps what rests on the catalogue.
        let measured = |route: Fingers| route == Fingers::Depth || route == BOTH_READ;
        let (reading, listed) = match (measured(one), measured(other)) {
            (true, false) => (one, other),
            (false, true) => (other, one),
            _ => return true,
        };
        if !confirmed || used == listed {
            return true;
        }
        debug_assert_eq!(used, reading);
        let crank = !listed.reads_crank() && self.something_is_replaced(stack, CRANK);
        let clutch = !listed.reads_clutch() && self.something_is_replaced(stack, CLUTCH);
        crank || clutch
    }
}
