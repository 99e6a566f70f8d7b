//! Two lengths of one thing of which the first is the smaller one.

use crate::model::entry::Entry;
use crate::model::job::{Job, Reading};
use crate::model::length::{Length, Unit};
use crate::model::part::Part;

/// Two lengths with their keys, of which the first lies below the second wherever both are known.
pub type Pair = [(&'static str, Option<Length>); 2];

/// The limits of a clutch's working range.
pub fn gap_limits(part: &Part) -> Pair {
    ["set_gap_min", "set_gap_max"].map(|key| (key, part.length(key)))
}

/// The depths that were read on a job's bearing: it stands farther from the bell's engine face
/// retracted than extended.
pub fn bearing_depths(job: &Job) -> Pair {
    [Reading::BearingDepthExtended, Reading::BearingDepthRetracted]
        .map(|reading| (reading.spec().key, job.reading(reading).map(Entry::as_length)))
}

/// What is wrong with two lengths that are not in order; none where they are.
pub fn out_of_order([(low_key, low), (high_key, high)]: Pair) -> Option<String> {
    let (low, high) = low.zip(high).filter(|(low, high)| low >= high)?;
    let (low, high) = (low.exact(Unit::In), high.exact(Unit::In));
    Some(format!("{low_key} {low} is not below {high_key} {high}"))
}
