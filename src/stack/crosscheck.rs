//! Two routes to the same length: do they agree, and what single slip would explain it if not.

use crate::model::job::Reading;
use crate::model::length::Length;
use crate::stack::choice::Bench;
use crate::stack::fit::wear_bought;
use crate::stack::form::{Form, Piece};
use crate::stack::lengths::{Lengths, Route, Routes};
use crate::stack::note::{Note, note};
use crate::stack::window::wear;

/// How well two routes agree.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
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

/// A comparison of two routes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CrossCheck {
    /// Which length.
    pub length: &'static str,
    /// The route that is used.
    pub used: &'static str,
    /// The other one.
    pub other: &'static str,
    /// Its value on the used route.
    pub used_value: Length,
    /// Its value on the other route.
    pub other_value: Length,
    /// Whether they agree.
    pub agreement: Agreement,
    /// Single slips that would explain the difference.
    pub slips: Vec<Note>,
}

impl CrossCheck {
    /// Used less other.
    pub fn difference(&self) -> Length {
        self.used_value - self.other_value
    }
}

/// Compares every length that can be had by more than one route, and the measured travel.
pub fn cross_checks(bench: &Bench<'_>, lengths: &Lengths<'_>) -> Vec<CrossCheck> {
    let slips = slips(bench);
    let mut checks = Vec::new();
    for (name, routes) in [
        ("finger tips", &lengths.finger),
        ("bearing extended", &lengths.extended),
        ("bearing retracted", &lengths.retracted),
    ] {
        checks.extend(compare(bench, name, routes, &slips));
    }
    checks.extend(travel(bench, &slips));
    checks
}

fn compare(
    bench: &Bench<'_>,
    length: &'static str,
    routes: &Routes<'_>,
    slips: &[(Note, Length)],
) -> Vec<CrossCheck> {
    let against = |other: &Route<'_>| {
        let used = &routes.used;
        let mut difference = used.form.clone();
        difference.add_form(&other.form, -1);
        CrossCheck {
            length,
            used: used.name,
            other: other.name,
            used_value: used.form.value(),
            other_value: other.form.value(),
            agreement: agreement(&difference),
            slips: Vec::new(),
        }
    };
    let compared = |other: &Route<'_>| {
        let mut check = against(other);
        explain(&mut check, slips);
        if check.agreement != Agreement::Agree {
            check.slips.extend(worn_disc(bench, &routes.used, other));
        }
        check
    };
    routes.others.iter().map(compared).collect()
}

/// What both routes share is collected first, so only true differences are compared.
fn agreement(difference: &Form<'_>) -> Agreement {
    let spread = difference.spread();
    let apart = difference.value().abs();
    if spread.is_beyond_worst_case(apart) {
        Agreement::CannotBothBeRight
    } else if spread.is_within_two_u(apart) {
        Agreement::Agree
    } else {
        Agreement::Doubtful
    }
}

/// With both bearing depths measured, the travel between them against the catalogued one.
fn travel(bench: &Bench<'_>, slips: &[(Note, Length)]) -> Option<CrossCheck> {
    let house = &bench.library.house;
    let assumed = house.length(crate::model::house::Number::AssumedReading).nm();
    let bearing = bench.fitted_part("bearing")?;
    let entries = [
        bench.job.reading(Reading::BearingDepthRetracted)?,
        bench.job.reading(Reading::BearingDepthExtended)?,
        bearing.entry("extended_height")?,
        bearing.entry("retracted_height")?,
    ];
    let mut known = Vec::new();
    for (index, entry) in entries.iter().enumerate() {
        let dim = &bearing.kind.dims[usize::from(index == 3)];
        let stand_in = if index < 2 { assumed } else { house.assumed("bearing", dim, entry.value) };
        known.push(entry.accuracy(|| stand_in));
    }
    let used_value = entries[0].as_length() - entries[1].as_length();
    let other_value = entries[2].as_length() - entries[3].as_length();
    let apart = i128::from((used_value - other_value).abs().nm());
    let limits = known.iter().map(|known| i128::from(known.tol)).sum();
    let squares = known.iter().map(|known| i128::from(known.wide).pow(2));
    let agreement = if apart > limits {
        Agreement::CannotBothBeRight
    } else if 3 * apart * apart > 4 * squares.sum::<i128>() {
        Agreement::Doubtful
    } else {
        Agreement::Agree
    };
    let (used, other) = ("both bearing depths as measured", "the bearing's catalogued heights");
    let length = "bearing travel";
    let mut check =
        CrossCheck { length, used, other, used_value, other_value, agreement, slips: Vec::new() };
    explain(&mut check, slips);
    Some(check)
}

/// How near a slip has to come to the difference to be named: 0.010 in.
const SLIP_WITHIN: Length = Length::from_thou(10);

fn explain(check: &mut CrossCheck, slips: &[(Note, Length)]) {
    if check.agreement == Agreement::Agree {
        return;
    }
    let apart = check.difference().abs();
    let near = |slip: &Length| *slip > SLIP_WITHIN && (*slip - apart).abs() <= SLIP_WITHIN;
    check.slips =
        slips.iter().filter(|(_, slip)| near(slip)).map(|(text, _)| text.clone()).collect();
    let (small, large) = (check.used_value.abs(), check.other_value.abs());
    let (small, large) = (small.min(large), small.max(large));
    let inch_as_mm = Length::from_nm(i64::try_from(i128::from(small.nm()) * 254 / 10).unwrap_or(0));
    if small > Length::ZERO && (inch_as_mm - large).abs() <= Length::from_nm(large.nm() / 50) {
        check.slips.push(note!["one is 25.4 times the other: inches taken for millimetres"]);
    }
}

/// The single slips that are common enough to look for, each with what it would do.
fn slips(bench: &Bench<'_>) -> Vec<(Note, Length)> {
    let mut slips = Vec::new();
    if let Some(thickness) =
        bench.fitted_part("block_plate").and_then(|plate| plate.length("thickness"))
    {
        slips.push((note!["the block plate's thickness, ", thickness], thickness));
    }
    let engine = bench.fitted_part("engine").and_then(|engine| engine.length("crank_protrusion"));
    let reading = bench
        .job
        .reading(Reading::CrankProtrusion)
        .map(super::super::model::part::Entry::as_length);
    if let Some(protrusion) = reading.or(engine) {
        let twice = Length::from_nm(protrusion.abs().nm() * 2);
        slips.push((note!["twice the crank protrusion: taken with the wrong sign"], twice));
    }
    if let Some(bearing) = bench.fitted_part("bearing")
        && let (Some(long), Some(short)) =
            (bearing.length("extended_height"), bearing.length("retracted_height"))
    {
        let text = note!["the bearing's travel: extended and retracted mixed up"];
        slips.push((text, long - short));
    }
    slips
}

/// Whether a worn disc on the car would explain why the fingers stand higher there than the
/// catalog has them: by anything up to what all the wear that the facings have would do.
fn worn_disc(bench: &Bench<'_>, used: &Route<'_>, other: &Route<'_>) -> Option<Note> {
    let reads_clutch = |route: &Route<'_>| {
        let clutch =
            [Reading::ClutchHeight, Reading::FingerDepth].map(|reading| reading.spec().key);
        let mut items = route.form.linear.iter();
        items.any(|(item, _)| item.piece == Piece::Job && clutch.contains(&item.dim))
    };
    let longer = match (reads_clutch(used), reads_clutch(other)) {
        (true, false) => used.form.value() - other.form.value(),
        (false, true) => other.form.value() - used.form.value(),
        _ => return None,
    };
    // A disc whose thickness was measured is counted as worn as it is.
    if bench.job.reading(Reading::FittedDiscThickness).is_some() {
        return None;
    }
    let plate = bench.fitted_part("pressure_plate");
    let ratio = plate?.entry("finger_ratio")?.as_ratio();
    let most = ratio.times(wear(plate, bench.fitted_part("disc"))?);
    if longer <= SLIP_WITHIN || longer > most + SLIP_WITHIN {
        return None;
    }
    let worn = wear_bought(longer, ratio);
    let text = "facing wear times the finger ratio: a worn disc, ";
    Some(note![text, worn, " of wear over the whole pack"])
}
