//! Textbook stacks through the program's own sum, and the inverse question: which dimension
//! assures the gap.

use bellstack::model::length::Length;
use bellstack::solve::lookfor::dimension_range;
use bellstack::stack::answer::Range;
use bellstack::stack::form::{Form, MICRO};

use crate::sums::{Dim, close, equal, form, inches, length, rss, unequal};

const PLUS: i64 = 1_000_000;

/// Shigley's Mechanical Engineering Design, 9th ed., Example 1-3, p. 20 (seen): a shouldered screw
/// with three parts in its grip, w = a - b - c - d.
pub(crate) fn shouldered_screw() -> [Dim; 4] {
    [
        equal("a", "1.750 in", "0.003 in", 1),
        equal("b", "0.750 in", "0.001 in", -1),
        equal("c", "0.120 in", "0.005 in", -1),
        equal("d", "0.875 in", "0.001 in", -1),
    ]
}

fn gap(dims: &[Dim], middle: &str, worst_case: &str) -> Form<'static> {
    let form = form(dims);
    assert_eq!(form.value(), length(middle));
    assert_eq!(form.spread().worst_case_length(), length(worst_case));
    form
}

/// The range of a dimension that keeps a gap within its limits even in the worst case: the limits
/// are drawn in by it.
fn assured(form: &Form<'_>, at: &str, micro: i64, low: Option<&str>, high: Option<&str>) -> Range {
    let worst = form.spread().worst_case_length();
    let low = low.map(|low| length(low) + worst);
    let high = high.map(|high| length(high) - worst);
    dimension_range(length(at), micro, form.value(), low, high).unwrap()
}

#[test]
fn the_shouldered_screw_has_the_published_gap() {
    // Seen: w = 0.005 +- 0.010 in.
    let form = gap(&shouldered_screw(), "0.005 in", "0.010 in");
    // Computed: the root sum of squares is exactly 0.006 in, as 9 + 1 + 25 + 1 = 36.
    let rss = i128::from(length("0.006 in").nm()) * MICRO;
    assert_eq!(form.spread().three_u_squared, rss * rss);
}

#[test]
fn the_shouldered_screw_is_assured_its_clearance_by_the_published_dimension() {
    // Seen: w >= 0.003 in needs a mean of 0.013 in, hence d = 0.867 in.
    let form = form(&shouldered_screw());
    let range = assured(&form, "0.875 in", -PLUS, Some("0.003 in"), None);
    assert_eq!(range, Range { from: None, to: Some(length("0.867 in")) });
    // The mean that this dimension gives, through the sum again.
    let mut dims = shouldered_screw();
    dims[3] = equal("d", "0.867 in", "0.001 in", -1);
    gap(&dims, "0.013 in", "0.010 in");
}

/// A textbook problem of the same book (its numbers seen, the problem's number from memory): a
/// block with a groove of width d that takes three blocks a, b and c.
fn grooved_block(groove: &str) -> [Dim; 4] {
    [
        equal("a", "1.500 in", "0.001 in", -1),
        equal("b", "2.000 in", "0.003 in", -1),
        equal("c", "3.000 in", "0.004 in", -1),
        equal("d", groove, "0.010 in", 1),
    ]
}

#[test]
fn the_grooved_block_has_the_published_gap_and_dimension() {
    // Seen: w = 0.020 +- 0.018 in, and w >= 0.010 in needs d = 6.528 in.
    let form = gap(&grooved_block("6.520 in"), "0.020 in", "0.018 in");
    // Computed: 0.011225 in.
    close(inches(rss(&form.spread())), 0.011_225, 5e-7);
    let range = assured(&form, "6.520 in", PLUS, Some("0.010 in"), None);
    assert_eq!(range, Range { from: Some(length("6.528 in")), to: None });
    gap(&grooved_block("6.528 in"), "0.028 in", "0.018 in");
}

#[test]
fn the_clevis_pin_gets_its_length_from_a_gap_with_two_limits() {
    // Shigley, 9th ed., Problem 1-16 (limits and parts seen): a pin of length a holds a clevis of
    // 1.500 +- 0.005 in and a ring of 0.042 +- 0.002 in with a gap of 0.004 to 0.050 in.
    let clevis = equal("clevis", "1.500 in", "0.005 in", -1);
    let ring = equal("ring", "0.042 in", "0.002 in", -1);
    let pin = |value, tol| equal("pin", value, tol, 1);
    // The pin's own tolerance is what is asked, so it starts without one, at any length.
    let form = form(&[pin("1.600 in", "0.000 in"), clevis, ring]);
    let range = assured(&form, "1.600 in", PLUS, Some("0.004 in"), Some("0.050 in"));
    let (from, to) = (range.from.unwrap(), range.to.unwrap());
    // Computed: a = 1.569 +- 0.016 in.
    assert_eq!(from + to, length("1.569 in") + length("1.569 in"));
    assert_eq!(to - from, length("0.016 in") + length("0.016 in"));
    // And with that pin the worst case just touches both limits.
    let dims = [pin("1.569 in", "0.016 in"), clevis, ring];
    let form = gap(&dims, "0.027 in", "0.023 in");
    let worst = form.spread().worst_case_length();
    assert_eq!(form.value() - worst, length("0.004 in"));
    assert_eq!(form.value() + worst, length("0.050 in"));
}

#[test]
fn the_motor_stack_has_the_handbook_s_middle_worst_case_and_root_sum_of_squares() {
    // Dimensioning and Tolerancing Handbook, ch. 9, the motor (all of it from a secondary copy).
    // Two dimensions occur twice: two pieces of one part number, each with an error of its own.
    let d = unequal("D", "0.438 in", "0 in", "0.015 in", 1);
    let e = equal("E", "0.120 in", "0.005 in", 1);
    let dims = [
        unequal("A", "0.375 in", "0 in", "0.031 in", -1),
        equal("B", "0.032 in", "0.002 in", 1),
        equal("C", "0.060 in", "0.003 in", 1),
        d,
        e,
        unequal("F", "1.500 in", "0.010 in", "0.004 in", 1),
        e.again(),
        d.again(),
        equal("I", "0.450 in", "0.007 in", 1),
        unequal("J", "3.019 in", "0.012 in", "0 in", -1),
        equal("K", "0.300 in", "0.030 in", 1),
    ];
    let form = gap(&dims, "0.0615 in", "0.0955 in");
    close(inches(rss(&form.spread())), 0.038_08, 5e-6);
    assert_eq!(form.linear.len(), 11);
}

#[test]
fn the_metric_gap_with_unequal_limits_has_its_middle_and_spread() {
    // From a secondary copy: 40 +0.10/0, less 20 +0/-0.12, less 19.5 +-0.02 mm.
    let dims = [
        unequal("40", "40 mm", "0.10 mm", "0 mm", 1),
        unequal("20", "20 mm", "0 mm", "0.12 mm", -1),
        equal("19.5", "19.5 mm", "0.02 mm", -1),
    ];
    let form = gap(&dims, "0.61 mm", "0.13 mm");
    // 0.080622577 mm, the root of 0.05^2 + 0.06^2 + 0.02^2.
    close(rss(&form.spread()), 80_622.577, 5e-4);
}

#[test]
fn unequal_limits_are_turned_into_a_middle_and_a_half_width() {
    // Computed, written out: 1.500 +0.010/-0.004 runs from 1.496 to 1.510, so its middle is 1.503
    // and its half-width 0.007.
    let form = form(&[unequal("F", "1.500 in", "0.010 in", "0.004 in", 1)]);
    let half = form.spread().worst_case_length();
    assert_eq!(form.value() - half, length("1.496 in"));
    assert_eq!(form.value() + half, length("1.510 in"));
    assert_eq!((form.value(), half), (length("1.503 in"), length("0.007 in")));
    assert_ne!(half, Length::ZERO);
}
