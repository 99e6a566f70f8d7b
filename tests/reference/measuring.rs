//! What readings say: mean and scatter, budgets, coverage factors and the next piece.

use std::time::{Duration, Instant};

use bellstack::measure::budget::{Uncertainty, WITHIN_THREE, WITHIN_TWO, coverage_factor};
use bellstack::measure::prediction::next_piece;
use bellstack::measure::statistics::{Sample, Scatter};

use crate::sums::close;

const NONE: f64 = f64::INFINITY;

#[test]
fn the_scatter_of_large_numbers_loses_no_digit() {
    // NIST StRD, univariate summary statistics (seen): NumAcc1 has mean 10000002 and s 1.
    let numacc1 = Sample::of([10_000_001, 10_000_003, 10_000_002]).unwrap();
    assert_eq!((numacc1.mean(), numacc1.scatter().unwrap().s()), (10_000_002.0, 1.0));
    // NumAcc4 (seen): 10000000.2 and 500 pairs of 10000000.1 and 10000000.3, in whole tenths
    // here: mean 10000000.2, s 0.1 exactly.
    let pairs = std::iter::repeat_n([100_000_001, 100_000_003], 500).flatten();
    let numacc4 = Sample::of(std::iter::once(100_000_002).chain(pairs)).unwrap();
    assert_eq!((numacc4.count(), numacc4.whole_mean()), (1001, 100_000_002));
    assert_eq!((numacc4.mean(), numacc4.scatter().unwrap().s()), (100_000_002.0, 1.0));
}

#[test]
fn the_end_gauge_has_sixteen_degrees_of_freedom() {
    // JCGM 100:2008, H.1 (inputs and results seen), in nm. Sensitivities: 1 for the standard and
    // the comparison, -ls theta = 5 000 062 nm K for the difference of expansions (its estimate of
    // theta is -0.1 K), -ls alpha = 575.007 nm/K for that of temperatures; those of alpha and
    // theta themselves are zero, as both differences are.
    let (standard, alpha, theta) = (50_000_623.0, 11.5e-6, 0.1);
    let combined = Uncertainty::combined([
        Uncertainty { u: 25.0, nu: 18.0 },
        Uncertainty { u: 9.7, nu: 25.6 },
        Uncertainty { u: standard * theta * 0.58e-6, nu: 50.0 },
        Uncertainty { u: standard * alpha * 0.029, nu: 2.0 },
    ]);
    close(combined.u, 32.0, 0.5);
    close(combined.nu.floor(), 16.0, 0.0);
    close(coverage_factor(0.99, 16.0), 2.92, 0.005);
    // The published U99 of 93 nm is 2.92 times the rounded 32 nm; unrounded it is 92.6 nm.
    close(coverage_factor(0.99, 16.0) * 32.0, 93.0, 0.5);
    close(combined.expanded(0.99), 93.0, 0.6);
}

#[test]
fn correlated_readings_are_reduced_set_by_set() {
    // JCGM 100:2008, H.2 (readings and results seen): where V, I and phi are read together, their
    // correlation is taken along by computing R = V/I cos phi, X = V/I sin phi and Z = V/I for each
    // set and averaging those (the second approach there, H.2.4). In whole micro-ohms here.
    let volts = [5.007, 4.994, 5.005, 4.990, 4.999];
    let milliamperes = [19.663, 19.639, 19.640, 19.685, 19.678];
    let radians = [1.0456, 1.0438, 1.0468, 1.0428, 1.0433];
    let published = [
        (f64::cos as fn(f64) -> f64, 127.732, 0.071),
        (f64::sin, 219.847, 0.295),
        (|_| 1.0, 254.260, 0.236),
    ];
    for (turn, mean, u) in published {
        let sets = volts.iter().zip(milliamperes).zip(radians);
        let ohms = sets.map(|((v, i), phi)| v / i * 1e3 * turn(phi));
        #[allow(clippy::cast_possible_truncation)]
        let found = Sample::of(ohms.map(|ohms| (ohms * 1e6).round() as i64)).unwrap();
        close(found.mean() / 1e6, mean, 0.0005);
        close((found.scatter().unwrap().variance / found.n()).sqrt() / 1e6, u, 0.0005);
    }
}

#[test]
fn coverage_factors_are_those_of_the_published_table() {
    // NIST TN 1297, table B.1 (seen), for 95, 95.45 and 99 %.
    for (nu, t95, two, t99) in [
        (1.0, 12.71, 13.97, 63.66),
        (2.0, 4.30, 4.53, 9.92),
        (3.0, 3.18, 3.31, 5.84),
        (4.0, 2.78, 2.87, 4.60),
        (5.0, 2.57, 2.65, 4.03),
        (9.0, 2.26, 2.32, 3.25),
        (10.0, 2.23, 2.28, 3.17),
        (16.0, 2.12, 2.17, 2.92),
        (30.0, 2.04, 2.09, 2.75),
        (50.0, 2.01, 2.05, 2.68),
    ] {
        close(coverage_factor(0.95, nu), t95, 0.005_01);
        close(coverage_factor(WITHIN_TWO, nu), two, 0.005_01);
        close(coverage_factor(0.99, nu), t99, 0.005_01);
    }
    close(coverage_factor(0.95, NONE), 1.960, 0.000_5);
    close(coverage_factor(WITHIN_TWO, NONE), 2.0, 1e-9);
    close(coverage_factor(0.99, NONE), 2.576, 0.000_5);
    close(coverage_factor(WITHIN_THREE, NONE), 3.0, 1e-9);
}

#[test]
fn coverage_factors_are_those_of_another_library_from_one_degree_of_freedom_to_a_million_million() {
    // tests/data/student.csv: computed by scipy 1.17.1; student.py beside this file made it.
    let table = include_str!("../data/student.csv");
    let begun = Instant::now();
    let mut rows = 0;
    for row in table.lines().skip(1) {
        let cells: Vec<f64> = row.split(',').map(|cell| cell.parse().unwrap()).collect();
        let (probability, nu, factor) = (cells[0], cells[1], cells[2]);
        close(coverage_factor(probability, nu) / factor, 1.0, 5e-13);
        rows += 1;
    }
    assert_eq!(rows, 440);
    // Some microseconds each where it was measured; a loop without end would take for ever.
    assert!(begun.elapsed() < Duration::from_secs(10), "{:?}", begun.elapsed());
}

#[test]
fn coverage_factors_fall_from_each_number_of_degrees_of_freedom_to_the_next() {
    for probability in [0.95, WITHIN_TWO, WITHIN_THREE] {
        let mut before = f64::INFINITY;
        for nu in 1..3000 {
            let factor = coverage_factor(probability, f64::from(nu));
            assert!(factor < before, "{probability}, {nu}: {factor}, and {before} before");
            before = factor;
        }
        close(coverage_factor(probability, 1e300), coverage_factor(probability, NONE), 1e-15);
    }
}

#[test]
fn degrees_of_freedom_are_truncated_to_the_whole_number_that_they_are_meant_to_be() {
    // JCGM 100:2008, G.4.1 truncates. A single source's own number comes back from the
    // Welch-Satterthwaite formula, and may come back a rounding error below itself.
    for nu in 1..200 {
        for u in [0.1, 0.3, 7.0, 1234.5, 1e-9, 1e12] {
            let alone = Uncertainty::combined([Uncertainty { u, nu: f64::from(nu) }]);
            close(alone.limit() / u, coverage_factor(WITHIN_THREE, f64::from(nu)), 1e-9);
        }
    }
    let between = Uncertainty { u: 1.0, nu: 3.9 };
    close(between.limit(), coverage_factor(WITHIN_THREE, 3.0), 1e-12);
}

#[test]
fn readings_and_an_instrument_s_limit_combine_as_three_libraries_do() {
    // Computed by three general-purpose libraries that agree: readings 6.02 6.05 6.03 6.04 6.01
    // with limits of +-0.05 have u_A 0.0070710678, u_c 0.0297209242, nu 1248.444, k95 1.961866.
    let sample = Sample::of([602, 605, 603, 604, 601]).unwrap();
    let scatter: Scatter = sample.scatter().unwrap();
    let mean = Uncertainty { u: (scatter.variance / sample.n()).sqrt(), nu: scatter.nu };
    close(mean.u, 0.5_f64.sqrt(), 1e-12);
    let combined = Uncertainty::combined([mean, Uncertainty::rectangular(5.0)]);
    close(combined.u, 2.972_092_42, 1e-8);
    close(combined.nu, 1248.444, 0.000_5);
    close(coverage_factor(0.95, combined.nu), 1.961_866, 5e-7);
}

#[test]
fn the_next_piece_lies_within_students_interval_about_the_mean() {
    // The prediction interval for one more value, t s sqrt(1 + 1/n) (the rule from memory), worked
    // by hand: 0.9985, 1.0002, 1.0010 and 0.9995 in give 0.9998 +- 0.0038 in for 95 %. In
    // ten-thousandths of an inch here.
    let sample = Sample::of([9985, 10_002, 10_010, 9995]).unwrap();
    let next = next_piece(sample, None, None).unwrap();
    close(sample.mean(), 9998.0, 1e-9);
    close(next.known.expanded(0.95), 38.0, 0.5);
    close(next.known.nu, 3.0, 0.0);
    // By hand: s = sqrt(338 / 3), and t for 95 % and three degrees of freedom 3.182 (TN 1297: 3.18).
    close(next.known.expanded(0.95), (338.0_f64 / 3.0 * 1.25).sqrt() * 3.18, 0.05);
}
