//! The probability against values worked out by hand or published.

use std::f64::consts::PI;

use super::{Band, Distribution, ErrorTerm, chance};

const NONE: f64 = f64::INFINITY;

fn rect(half_width: f64, to_preload: f64, to_reserve: f64) -> ErrorTerm {
    let shape = Distribution::Rectangular { half_width };
    ErrorTerm { shape, to_preload, to_reserve }
}

fn normal(u: f64, to_preload: f64, to_reserve: f64) -> ErrorTerm {
    let shape = Distribution::Normal { u };
    ErrorTerm { shape, ..rect(0.0, to_preload, to_reserve) }
}

fn within(errors: &[ErrorTerm], p: [f64; 2], r: [f64; 2]) -> f64 {
    let band = |[below, above]: [f64; 2]| Band { below, above: (above < NONE).then_some(above) };
    chance(errors, band(p), band(r))
}

fn alone(errors: &[ErrorTerm], below: f64, above: f64) -> f64 {
    within(errors, [below, above], [NONE, NONE])
}

#[track_caller]
fn near(found: f64, expected: f64, error: f64) {
    assert!((found - expected).abs() <= error, "{found}, not {expected}");
}

/// Shigley's Mechanical Engineering Design, 9th ed., example 1-3, p. 20: w = a - b - c - d with
/// a = 1.750 +- .003, b = .750 +- .001, c = .120 +- .005, d = .875 +- .001 inch, so that
/// w = .005 +- .010 inch. The probabilities are not in the book; they are computed from these
/// figures, exactly for rectangles, and for normals of a third of the tolerance.
#[test]
fn the_gap_of_shigleys_example_has_its_exact_probabilities() {
    let chain = [(3.0, 1.0), (1.0, -1.0), (5.0, -1.0), (1.0, -1.0)];
    let rects = chain.map(|(mils, a)| rect(mils * 25_400.0, a, 0.0));
    near(alone(&rects, 50_800.0, NONE), 251.0 / 360.0, 1e-6);
    near(alone(&rects, 127_000.0, 127_000.0), 151.0 / 180.0, 1e-6);
    near(alone(&rects, 254_000.0, 254_000.0), 1.0, 0.0);
    let normals = chain.map(|(mils, a)| normal(mils * 25_400.0 / 3.0, a, 0.0));
    near(alone(&normals, 50_800.0, NONE), 0.841_344_746_1, 1e-9);
    near(alone(&normals, 127_000.0, 127_000.0), 0.987_580_669_3, 1e-9);
}

/// JCGM 101:2008, 9.2: the 95 % interval of four inputs of unit standard deviation is +-3.8794
/// if they are rectangular, +-3.92 if they are normal.
#[test]
fn four_equal_inputs_have_the_coverage_interval_of_jcgm_101() {
    let rects = [rect(3.0_f64.sqrt(), 1.0, 0.0); 4];
    near(alone(&rects, 3.8794, 3.8794), 0.95, 3e-6);
    near(alone(&[normal(1.0, 1.0, 0.0); 4], 3.92, 3.92), 0.95, 1e-5);
}

/// Phi(1), Phi(1.96) and Phi(3) of the normal table (NIST/SEMATECH e-Handbook of Statistical
/// Methods, 1.3.6.7.1), to more digits.
#[test]
fn one_normal_error_follows_the_normal_table() {
    let table = [(1.0, 0.841_344_746_1), (1.96, 0.975_002_104_9), (3.0, 0.998_650_102_0)];
    for (z, phi) in table {
        near(alone(&[normal(2.0, 1.0, 0.0)], 2.0 * z, NONE), phi, 1e-9);
        near(alone(&[normal(2.0, 1.0, 0.0)], -2.0 * z, NONE), 1.0 - phi, 1e-9);
    }
}

/// C, A, B rectangular within +-1, C + A within +-1, B - C at least -1. At C = c the first has
/// the probability 1 - |c|/2, the second 1 - c/2 where c > 0 and 1 where c < 0. Half the
/// integrals of (1 - c/2) and (1 - c/2)^2 from 0 to 1 is 1/2 (3/4 + 7/12) = 2/3.
#[test]
fn a_common_error_ties_the_windows_as_integrated_by_hand() {
    let errors = [rect(1.0, 1.0, -1.0), rect(1.0, 1.0, 0.0), rect(1.0, 0.0, 1.0)];
    near(within(&errors, [1.0, 1.0], [1.0, NONE]), 2.0 / 3.0, 1e-9);
}

/// x and y rectangular within +-1, x + y and x - y at least -1/2: the part of the square with
/// x >= |y| - 1/2 has the area 2 of 4, the integral of 3/2 - |y| from -1 to 1.
#[test]
fn two_errors_of_different_ratio_share_the_square_as_integrated_by_hand() {
    let errors = [rect(1.0, 1.0, 1.0), rect(1.0, 1.0, -1.0)];
    near(within(&errors, [0.5, NONE], [0.5, NONE]), 0.5, 1e-4);
}

/// Seven normals at equal angles: preload and reserve are uncorrelated, of variance 7/2 each,
/// so that their probabilities multiply.
#[test]
fn normals_of_many_ratios_give_the_product_of_the_normal_table() {
    let angles = [0.3, 1.3, 2.3, 3.3, 4.3, 5.3, 6.3].map(|i| i * PI / 7.0);
    let errors = angles.map(|angle| normal(1.0, angle.cos(), angle.sin()));
    let sd = 3.5_f64.sqrt();
    let expected = 0.841_344_746_1 * (2.0 * 0.975_002_104_9 - 1.0);
    near(within(&errors, [sd, NONE], [1.96 * sd, 1.96 * sd]), expected, 1e-4);
}

/// Ratios that differ by parts in ten thousand are averaged over, and change next to nothing.
#[test]
fn the_average_over_other_ratios_agrees_with_the_common_integral() {
    let alone = [rect(0.5, 1.0, 0.0), normal(0.3, 0.0, 1.0)];
    let widths = [2.0, 1.5, 0.7, 0.6, 0.3];
    for count in 2..=5 {
        let found = [0.0, 1e-4].map(|tilt| {
            let ratios = (0..count).map(|i| -1.0 - tilt * f64::from(i));
            let tilted = ratios.zip(widths).map(|(ratio, w)| rect(w, 1.0, ratio));
            let errors: Vec<_> = alone.into_iter().chain(tilted).collect();
            within(&errors, [1.2, 2.5], [0.4, NONE])
        });
        near(found[1], found[0], 3e-4);
    }
}

#[test]
fn swapping_the_sums_or_turning_every_error_round_changes_nothing() {
    let common = [rect(3.0, 1.0, -0.8), normal(0.7, 1.0, -0.8)];
    let errors = [common.to_vec(), vec![rect(1.0, 1.0, 0.0), rect(2.0, 0.0, 1.0)]].concat();
    let found = within(&errors, [1.0, 2.0], [0.5, 3.0]);
    near(within(&errors, [2.0, 1.0], [3.0, 0.5]), found, 1e-7);
    let mut swapped = errors;
    for e in &mut swapped {
        (e.to_preload, e.to_reserve) = (e.to_reserve, e.to_preload);
    }
    near(within(&swapped, [0.5, 3.0], [1.0, 2.0]), found, 1e-7);
}

/// C within +-1, A and B within +-d: edges at d - 1 cut the length d on average off either end
/// of C, of 2; well inside, C alone decides.
#[test]
fn a_dominating_rectangle_keeps_its_corners() {
    for d in [1e-3, 1e-6, 1e-9] {
        let errors = [rect(d, 1.0, 0.0), rect(1.0, 1.0, -1.0), rect(d, 0.0, 1.0)];
        let edge = [1.0 - d, NONE];
        near(within(&errors, edge, edge), 1.0 - d, 1e-9);
        near(within(&errors, [0.5, NONE], [-0.2, NONE]), 0.15, 1e-9);
    }
}

#[test]
fn a_window_around_all_extremes_is_certain_and_one_beyond_them_impossible() {
    let common = [rect(0.1, 1.0, -1.0), rect(0.7, 1.0, -1.0)];
    let errors = [common.to_vec(), vec![rect(0.2, 1.0, 0.0), rect(0.3, 0.0, 2.0)]].concat();
    near(within(&errors, [1.0, 1.0], [1.4, 1.4]), 1.0, 0.0);
    near(within(&errors, [1.0, 1.0], [-1.5, NONE]), 0.0, 0.0);
    near(alone(&errors, -1.1, 2.0), 0.0, 0.0);
    near(alone(&errors, -0.2, 0.1), 0.0, 0.0);
    // Each window can be met alone, but the sum of both errors cannot exceed .2 + .6.
    near(within(&errors, [-0.45, NONE], [-0.45, NONE]), 0.0, 0.0);
}

#[test]
fn without_errors_the_edges_belong_to_the_window() {
    for errors in [vec![], vec![rect(0.0, 1.0, -1.0), normal(0.0, 1.0, 1.0)]] {
        near(within(&errors, [0.0, 0.0], [0.0, NONE]), 1.0, 0.0);
        near(within(&errors, [0.0, -1e-9], [0.0, NONE]), 0.0, 0.0);
        near(within(&errors, [1.0, NONE], [-1e-9, NONE]), 0.0, 0.0);
    }
    assert!(alone(&[rect(f64::NAN, 1.0, 0.0)], 1.0, 1.0).is_nan());
}
