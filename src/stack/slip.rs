//! The single slips that would explain why two routes to one length disagree.

use crate::model::job::{READINGS, Reading};
use crate::model::length::{Length, NM_PER_IN, NM_PER_MM};
use crate::model::part::Part;
use crate::stack::agreement::Compared;
use crate::stack::choice::Setup;
use crate::stack::form::{Form, Source};
use crate::stack::note::{Note, note};
use crate::stack::window::{wear_bought, worst_wear};

/// How near a slip has to come to the difference to be named: 0.010 in.
const WITHIN: Length = Length::from_thou(10);

/// Gauge bars that are common on a bench (common practice, no source).
const BARS: [Length; 7] = [
    Length::from_nm(NM_PER_IN / 4),
    Length::from_nm(NM_PER_IN / 2),
    Length::from_nm(NM_PER_IN / 4 * 3),
    Length::from_nm(NM_PER_IN),
    Length::from_nm(10 * NM_PER_MM),
    Length::from_nm(20 * NM_PER_MM),
    Length::from_nm(25 * NM_PER_MM),
];

/// What a reading would have been if the other route is right.
struct Suspect {
    reading: Reading,
    /// As it was written down.
    value: Length,
    /// As the other route has it.
    expected: Length,
}

/// The slips that would explain a difference, each of a reading that is left in it.
pub(crate) fn slips(setup: &Setup<'_>, compared: Compared, difference: &Form<'_>) -> Vec<Note> {
    let mut found = Vec::new();
    for spec in READINGS {
        let of = |(item, _): &&(crate::stack::form::Item<'_>, i64)| {
            item.dim.source == Source::Job && item.dim.key == spec.key
        };
        let Some((item, times)) = difference.linear.iter().find(of) else { continue };
        if times.abs() != 1 {
            continue;
        }
        let off = Length::from_nm(difference.value().nm() * times);
        let read = Suspect { reading: spec.reading, value: item.value, expected: item.value - off };
        found.extend(slips_of(setup, compared, &read));
    }
    found
}

fn near(length: Length, slip: Length) -> bool {
    slip.abs() > WITHIN && (length - slip).abs() <= WITHIN
}

fn slips_of(setup: &Setup<'_>, compared: Compared, read: &Suspect) -> Vec<Note> {
    let key = read.reading.spec().key;
    let off = read.value - read.expected;
    let mut found = Vec::new();
    for bar in BARS {
        if near(off, bar) {
            found.push(note![key, ": a bar of ", bar, " was not taken off"]);
        }
    }
    if matches!(read.reading, Reading::CrankProtrusion | Reading::FingerDepth) {
        let plate = setup.fitted_part("block_plate").and_then(|plate| plate.length("thickness"));
        if let Some(plate) = plate.filter(|plate| near(off, *plate) || near(-off, *plate)) {
            let text = ": the block plate's thickness, ";
            found.push(note![key, text, plate, ", was counted once too often or not at all"]);
        }
    }
    if read.reading == Reading::CrankProtrusion && near(off, read.value + read.value) {
        found.push(note![key, ": taken with the wrong sign, which counts twice"]);
    }
    if matches!(compared, Compared::Depth(_) | Compared::Travel)
        && let Some(travel) = travel(setup.fitted_part("bearing"))
        && (near(off, travel) || near(-off, travel))
    {
        found.push(note![key, ": read at the bearing's other end, its travel of ", travel, " off"]);
    }
    found.extend(worn_disc(setup, read, off));
    found.extend(times(read));
    found
}

fn travel(bearing: Option<&Part>) -> Option<Length> {
    let bearing = bearing?;
    Some(bearing.length("extended_height")? - bearing.length("retracted_height")?)
}

/// Inches taken for millimetres, or a decimal point in the wrong place.
fn times(read: &Suspect) -> Option<Note> {
    let key = read.reading.spec().key;
    let (value, expected) = (i128::from(read.value.nm()), i128::from(read.expected.nm()));
    // Within 2 %, which tells 25.4 from any other slip.
    let is = |large: i128, small: i128, tenths: i128| {
        small.abs() > i128::from(WITHIN.nm())
            && (large * 10 - small * tenths).abs() * 50 <= (small * tenths).abs()
    };
    if is(value, expected, 254) {
        return Some(note![key, ": 25.4 times too large: millimetres taken for inches"]);
    }
    if is(expected, value, 254) {
        return Some(note![key, ": 25.4 times too small: inches taken for millimetres"]);
    }
    if is(value, expected, 100) {
        return Some(note![key, ": ten times too large: the decimal point"]);
    }
    if is(expected, value, 100) {
        return Some(note![key, ": ten times too small: the decimal point"]);
    }
    None
}

/// Whether a worn disc on the car would explain why the fingers stand higher there: by anything up
/// to what all the wear that the facings have would do.
fn worn_disc(setup: &Setup<'_>, read: &Suspect, off: Length) -> Option<Note> {
    let clutch = matches!(read.reading, Reading::ClutchHeight | Reading::FingerDepth);
    // A disc whose thickness was read is counted as worn as it is.
    if !clutch || setup.job.reading(Reading::FittedDiscThickness).is_some() {
        return None;
    }
    let (ratio, may_lose) = worst_wear(setup);
    let most = ratio.times(may_lose);
    if off <= WITHIN || off > most + WITHIN {
        return None;
    }
    let key = read.reading.spec().key;
    let text = ": facing wear times the finger ratio: a worn disc, ";
    Some(note![key, text, wear_bought(off, ratio), " of wear over the whole pack"])
}
