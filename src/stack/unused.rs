//! Readings of the job that a stack's sum leaves aside, and why.

use crate::model::job::READINGS;
use crate::stack::choice::Setup;
use crate::stack::fit::Fit;
use crate::stack::form::{Form, Source};
use crate::stack::lengths::BearingRoute;

/// Why a reading is not in the sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// Every part that it holds was replaced.
    AllReplaced,
    /// There is another way to the same length with the smaller u.
    OtherIsSurer,
    /// A dimension that has to go with it is unknown.
    Lacks,
}

/// A reading that is not in the sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unused {
    /// Its key.
    pub reading: &'static str,
    /// Why.
    pub why: Why,
}

/// The readings of the job that hold a sum and are in none that is used.
pub fn unused_readings(setup: &Setup<'_>, fit: &Fit<'_>) -> Vec<Unused> {
    let lengths = &fit.lengths;
    let holds = |form: &Form<'_>, key: &str| {
        let mut items = form.linear.iter();
        items.any(|(item, _)| item.dim.source == Source::Job && item.dim.key == key)
    };
    let of_bearing = |route: &BearingRoute<'_>, key: &str| {
        holds(&route.extended, key) || holds(&route.retracted, key)
    };
    let mut unused = Vec::new();
    for spec in READINGS.iter().filter(|spec| !spec.reading.inside().is_empty()) {
        let (reading, key) = (spec.reading, spec.key);
        let used = holds(&lengths.finger.form, key) || of_bearing(&lengths.bearing, key);
        if setup.job.reading(reading).is_none() || used {
            continue;
        }
        let elsewhere = lengths.other_fingers.iter().any(|route| holds(&route.form, key))
            || lengths.other_bearings.iter().any(|route| of_bearing(route, key));
        let slots = setup.slots_inside(reading.inside());
        let why = if elsewhere {
            Why::OtherIsSurer
        } else if !setup.something_stays(&fit.choice, &slots) {
            Why::AllReplaced
        } else {
            Why::Lacks
        };
        unused.push(Unused { reading: key, why });
    }
    unused
}
