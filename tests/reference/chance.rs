//! Probabilities: the normal and the rectangular distribution, alone and added up.

use bellstack::model::edge::Edge;
use bellstack::model::house::{House, Limits};
use bellstack::model::job::Job;
use bellstack::model::kinds::Kinds;
use bellstack::model::length::Length;
use bellstack::model::library::Library;
use bellstack::model::part::{Entry, Part};
use bellstack::stack::chance::{Band, Distribution, ErrorTerm, chance};
use bellstack::stack::choice::Setup;
use bellstack::stack::fit::evaluate;
use bellstack::stack::odds::chance_of;
use statrs::distribution::{ContinuousCDF, Normal};

use crate::stacks::shouldered_screw;
use crate::sums::{close, length};

const OPEN: Band = Band { below: f64::INFINITY, above: None };

fn alone(shape: Distribution) -> ErrorTerm {
    ErrorTerm { shape, to_preload: 1.0, to_reserve: 0.0 }
}

fn nm(text: &str) -> f64 {
    length(text).nm() as f64
}

/// The standard normal distribution up to these points (computed; three libraries agree on all of
/// the digits).
const PHI: [(f64, f64); 5] = [
    (1.0, 0.841_344_746_1),
    (1.645, 0.950_015_094_5),
    (1.96, 0.975_002_104_9),
    (2.576, 0.995_002_467_7),
    (3.0, 0.998_650_102_0),
];

#[test]
fn one_normal_error_gives_the_table_of_the_normal_distribution() {
    let library = Normal::new(0.0, 1.0).unwrap();
    for (z, phi) in PHI {
        let found =
            chance(&[alone(Distribution::Normal { u: 1.0 })], Band { below: z, above: None }, OPEN);
        close(found, phi, 1e-6);
        // The function that the program builds on, to all digits of the table.
        close(library.cdf(z), phi, 5e-11);
        close(library.cdf(-z), 1.0 - phi, 5e-11);
    }
}

#[test]
fn the_coverage_factors_of_a_normal_error_cover_what_is_published() {
    // NIST TN 1297, table B.1 (seen), last row: 1.960 for 95 %, 2.000 for 95.45 %, 2.576 for 99 %.
    for (k, coverage) in [(1.960, 0.95), (2.000, 0.9545), (2.576, 0.99)] {
        let band = Band { below: k, above: Some(k) };
        close(chance(&[alone(Distribution::Normal { u: 1.0 })], band, OPEN), coverage, 5e-5);
    }
}

#[test]
fn four_inputs_of_unit_deviation_have_the_published_coverage_intervals() {
    // JCGM 101:2008, 9.2 (from a secondary copy): the 95 % interval of the sum is +-3.92 for four
    // normal inputs and, exactly, +-3.8794 for four rectangles; computed again, the latter is
    // 2 * sqrt(3) * (2 - (3/5)^(1/4)).
    let exact = 2.0 * 3.0_f64.sqrt() * (2.0 - 0.6_f64.powf(0.25));
    close(exact, 3.8794, 5e-5);
    let four =
        |shape, at: f64| chance(&[alone(shape); 4], Band { below: at, above: Some(at) }, OPEN);
    let rectangle = Distribution::Rectangular { half_width: 3.0_f64.sqrt() };
    close(four(rectangle, exact), 0.95, 1e-5);
    close(four(rectangle, 3.8794), 0.95, 1.5e-5);
    close(four(Distribution::Normal { u: 1.0 }, 3.92), 0.95, 2e-5);
    // A rectangle has no tail: at the normal's limit more of it is inside.
    assert!(four(rectangle, 3.92) > 0.9525);
}

/// The four errors of the shouldered screw, its tolerances shaped by `shape`.
fn screw(shape: impl Fn(f64) -> Distribution, to_reserve: f64) -> Vec<ErrorTerm> {
    let term = |dim: &crate::sums::Dim| {
        let to_preload = dim.times() as f64;
        ErrorTerm { shape: shape(dim.tol()), to_preload, to_reserve: to_reserve * to_preload }
    };
    shouldered_screw().iter().map(term).collect()
}

fn rectangle(half_width: f64) -> Distribution {
    Distribution::Rectangular { half_width }
}

#[test]
fn the_shouldered_screw_s_gap_has_its_chance_with_rectangular_tolerances() {
    // Computed exactly from the seen inputs, by inclusion and exclusion over the 16 corners:
    // P(w >= 0.003 in) = 251/360 and P(0 <= w <= 0.010 in) = 151/180, about w = 0.005 in.
    let errors = screw(rectangle, 0.0);
    let least = Band { below: nm("0.002 in"), above: None };
    close(chance(&errors, least, OPEN), 251.0 / 360.0, 1e-5);
    let both = Band { below: nm("0.005 in"), above: Some(nm("0.005 in")) };
    close(chance(&errors, both, OPEN), 151.0 / 180.0, 1e-5);
    // The same two limits, one on a sum and one on what the sum leaves of a fixed travel.
    let errors = screw(rectangle, -1.0);
    let half = Band { below: nm("0.005 in"), above: None };
    close(chance(&errors, half, half), 151.0 / 180.0, 1e-5);
}

#[test]
fn the_shouldered_screw_s_gap_has_its_chance_with_normal_tolerances() {
    // Computed from the seen inputs, each tolerance three standard deviations: the gap's is
    // 0.002 in, so P(w >= 0.003) = Phi(1) and P(0 < w < 0.010) = 2 Phi(2.5) - 1.
    let errors = screw(|tol| Distribution::Normal { u: tol / 3.0 }, 0.0);
    let least = Band { below: nm("0.002 in"), above: None };
    close(chance(&errors, least, OPEN), 0.841_344_746_1, 1e-6);
    let both = Band { below: nm("0.005 in"), above: Some(nm("0.005 in")) };
    close(chance(&errors, both, OPEN), 0.987_580_669_3, 1e-6);
}

#[test]
fn the_corner_sums_of_the_shouldered_screw_are_the_fractions_that_are_claimed() {
    // The exact fractions by integers: P(S <= x) for a sum of rectangles of half-widths 3, 1, 5, 1
    // is the alternating sum over its 16 corners of (x - corner)^4 / (4! * 6 * 2 * 10 * 2).
    let half = [3_i64, 1, 5, 1];
    let below = |x: i64| -> i64 {
        let corners = 0..16_u32;
        let term = |corner: u32| {
            let bit = |at: usize| corner >> at & 1 == 1;
            let sum: i64 = (0..4).map(|at| if bit(at) { half[at] } else { -half[at] }).sum();
            let sign = if corner.count_ones().is_multiple_of(2) { 1 } else { -1 };
            sign * (x - sum).max(0).pow(4)
        };
        corners.map(term).sum()
    };
    let whole = 24 * half.iter().map(|half| 2 * half).product::<i64>();
    assert_eq!(below(10), whole);
    assert_eq!((whole - below(-2)) * 360, 251 * whole);
    assert_eq!((below(5) - below(-5)) * 180, 151 * whole);
}

/// A stack with the screw's four tolerances on dimensions that move preload and reserve against
/// each other, everything else exact.
fn stack(limits: impl Fn(Length, Length) -> Limits) -> f64 {
    let kinds = Kinds::standard();
    let dims: [(&str, &str, i64, i64); 9] = [
        ("engine", "crank_protrusion", 500, 3),
        ("flywheel", "thickness", 1000, 1),
        ("disc", "thickness", 330, 0),
        ("pressure_plate", "finger_height", 1900, 5),
        ("pressure_plate", "set_gap", 330, 0),
        ("bell_housing", "depth", 6000, 1),
        ("gearbox", "seat_height", 200, 0),
        ("bearing", "extended_height", 3150, 0),
        ("bearing", "retracted_height", 2200, 0),
    ];
    let mut parts: Vec<Part> = Vec::new();
    let mut job = Job::new("screw", kinds);
    for (kind, key, value, tol) in dims {
        if parts.last().is_none_or(|part| part.id != kind) {
            parts.push(Part::new(kind, kinds.get(kind).unwrap()));
            job.fitted[kinds.slot_of(kind).unwrap()] = vec![kind.into()];
        }
        let (value, tol) = (Length::from_thou(value).nm(), Length::from_thou(tol).nm());
        parts.last_mut().unwrap().set(key, Some(Entry::new(value, Some(tol))));
    }
    let plate = parts.iter_mut().find(|part| part.id == "pressure_plate").unwrap();
    plate.set("finger_ratio", Some(Entry::new(3_500_000, Some(0))));
    let library = Library::new(kinds, parts, House::default());
    let worked_out = |job: &Job| {
        let setup = Setup::new(&library, job).unwrap();
        let fit = evaluate(&setup, &setup.fitted_choice().unwrap()).unwrap();
        (fit.preload, fit.reserve, chance_of(&fit).value().unwrap())
    };
    let (preload, reserve, _) = worked_out(&job);
    job.window = limits(preload, reserve);
    worked_out(&job).2
}

fn limits_of(set: &[(Edge, Length)]) -> Limits {
    let mut limits = Limits::default();
    for (edge, limit) in set {
        limits[*edge] = Some(*limit);
    }
    limits
}

#[test]
fn a_whole_stack_with_the_screw_s_tolerances_has_the_screw_s_chances() {
    // The fractions computed above, now from parts through sum, window and edges.
    let thou = Length::from_thou;
    let far = thou(100);
    let least = |preload: Length, reserve: Length| {
        limits_of(&[(Edge::PreloadMin, preload - thou(2)), (Edge::ReserveMin, reserve - far)])
    };
    close(stack(least), 251.0 / 360.0, 1e-5);
    let preload_alone = |preload: Length, reserve: Length| {
        limits_of(&[
            (Edge::PreloadMin, preload - thou(5)),
            (Edge::PreloadMax, preload + thou(5)),
            (Edge::ReserveMin, reserve - far),
        ])
    };
    close(stack(preload_alone), 151.0 / 180.0, 1e-5);
    let both_minimums = |preload: Length, reserve: Length| {
        limits_of(&[(Edge::PreloadMin, preload - thou(5)), (Edge::ReserveMin, reserve - thou(5))])
    };
    close(stack(both_minimums), 151.0 / 180.0, 1e-5);
    // At the worst case of 0.010 in nothing is left to chance.
    let worst = |preload: Length, reserve: Length| {
        limits_of(&[(Edge::PreloadMin, preload - thou(10)), (Edge::ReserveMin, reserve - thou(10))])
    };
    assert!(stack(worst) >= 1.0);
}
