//! Two routes to the same length: do they agree, and what single slip would explain it if not.

use crate::model::job::Reading;
use crate::model::length::{Length, Ratio, Unit};
use crate::stack::choice::{Bench, Choice};
use crate::stack::form::Form;
use crate::stack::lengths::{Lengths, Routes};
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
    pub slips: Vec<String>,
}

impl CrossCheck {
    /// Used less other.
    pub fn difference(&self) -> Length {
        self.used_value - self.other_value
    }
}

/// Compares every length that can be had by more than one route, and the measured travel.
pub fn cross_checks(
    bench: &Bench<'_>,
    choice: &Choice<'_>,
    lengths: &Lengths<'_>,
) -> Vec<CrossCheck> {
    let slips = slips(bench, choice);
    let mut checks = Vec::new();
    for (name, routes) in [
        ("finger tips", &lengths.finger),
        ("bearing extended", &lengths.extended),
        ("bearing retracted", &lengths.retracted),
    ] {
        checks.extend(compare(name, routes, &slips));
    }
    checks.extend(travel(bench, &slips));
    checks
}

fn compare(
    length: &'static str,
    routes: &Routes<'_>,
    slips: &[(String, Length)],
) -> Vec<CrossCheck> {
    let against = |other: &crate::stack::lengths::Route<'_>| {
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
    let mut checks: Vec<CrossCheck> = routes.others.iter().map(against).collect();
    for check in &mut checks {
        explain(check, slips);
    }
    checks
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
fn travel(bench: &Bench<'_>, slips: &[(String, Length)]) -> Option<CrossCheck> {
    let house = &bench.library.house;
    let assumed = house.length(crate::model::house::Number::AssumedReading).nm();
    let bearing = bench.fitted_part("bearing")?;
    let entries = [
        bench.job.reading(Reading::BearingDepthRetracted)?,
        bench.job.reading(Reading::BearingDepthExtended)?,
        bearing.entry("extended_height")?,
        bearing.entry("retracted_height")?,
    ];
    let mut tols = Vec::new();
    for (index, entry) in entries.iter().enumerate() {
        let dim = &bearing.kind.dims[usize::from(index == 3)];
        let stand_in = if index < 2 { assumed } else { house.assumed("bearing", dim, entry.value) };
        tols.push(i128::from(entry.tol.unwrap_or(stand_in)));
    }
    let used_value = entries[0].as_length() - entries[1].as_length();
    let other_value = entries[2].as_length() - entries[3].as_length();
    let apart = i128::from((used_value - other_value).abs().nm());
    let agreement = if apart > tols.iter().sum() {
        Agreement::CannotBothBeRight
    } else if 3 * apart * apart > 4 * tols.iter().map(|tol| tol * tol).sum::<i128>() {
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

fn explain(check: &mut CrossCheck, slips: &[(String, Length)]) {
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
        check.slips.push("one is 25.4 times the other: inches taken for millimetres".into());
    }
}

/// The single slips that are common enough to look for, each with what it would do.
fn slips(bench: &Bench<'_>, choice: &Choice<'_>) -> Vec<(String, Length)> {
    let mut slips = Vec::new();
    if let Some(thickness) =
        bench.fitted_part("block_plate").and_then(|plate| plate.length("thickness"))
    {
        slips.push((
            format!("the block plate's thickness ({})", thickness.exact(Unit::In)),
            thickness,
        ));
    }
    let engine = bench.fitted_part("engine").and_then(|engine| engine.length("crank_protrusion"));
    let reading = bench
        .job
        .reading(Reading::CrankProtrusion)
        .map(super::super::model::part::Entry::as_length);
    if let Some(protrusion) = reading.or(engine) {
        let twice = Length::from_nm(protrusion.abs().nm() * 2);
        slips.push(("twice the crank protrusion: taken with the wrong sign".into(), twice));
    }
    let plate = bench.part(choice, "pressure_plate");
    let ratio = plate.and_then(|plate| plate.entry("finger_ratio"));
    if let (Some(ratio), Some(wear)) = (ratio, wear(plate, bench.part(choice, "disc"))) {
        let ratio = Ratio::from_millionths(ratio.value);
        slips.push(("facing wear times the finger ratio: a worn disc".into(), ratio.times(wear)));
    }
    if let Some(bearing) = bench.fitted_part("bearing")
        && let (Some(long), Some(short)) =
            (bearing.length("extended_height"), bearing.length("retracted_height"))
    {
        slips.push(("the bearing's travel: extended and retracted mixed up".into(), long - short));
    }
    slips
}
