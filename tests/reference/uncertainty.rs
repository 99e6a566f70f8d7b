//! Standard uncertainties: a tolerance as a rectangle, and the root sum of squares.

use bellstack::model::entry::Accuracy;
use bellstack::model::length::{Length, Ratio};
use bellstack::stack::form::{Dim, Form, Item, MICRO, Product, RatioItem, Source};

use crate::sums::{close, equal, form, length, rss};

#[test]
fn a_tolerance_is_a_rectangle_whose_u_is_its_half_width_over_the_root_of_three() {
    // JCGM 100:2008, 4.3.7: u^2(x) = a^2 / 3 for limits +-a (the rule, and in its example limits
    // of +-0.40 giving u = 0.23, from memory).
    let spread = form(&[equal("a", "16.52 mm", "0.40 mm", 1)]).spread();
    close(spread.u(), 400_000.0 / 3.0_f64.sqrt(), 1e-6);
    close(spread.u() / 1e6, 0.23, 0.005);
    // The exact integer that verdicts use is three times the square: no root is taken.
    let limit = i128::from(length("0.40 mm").nm()) * MICRO;
    assert_eq!(spread.three_u_squared, limit * limit);
}

#[test]
fn four_rectangles_of_unit_u_make_a_u_of_two() {
    // JCGM 101:2008, 9.2 (from a secondary copy): four inputs of standard deviation 1 have a sum
    // of standard deviation 2. The unit is 1 mm; its half-width, the root of 3, to the nanometre.
    let unit = |id| equal(id, "0 mm", "1.732051 mm", 1);
    let spread = form(&[unit("1"), unit("2"), unit("3"), unit("4")]).spread();
    close(spread.u(), 2_000_000.0, 1.0);
}

#[test]
fn readings_with_a_resolution_combine_as_the_calculators_say() {
    // Computed by three general-purpose libraries that agree: readings of standard uncertainty
    // 0.0070710678 mm with limits of +-0.05 mm have a combined u of 0.0297209242 mm. The first one
    // is given as the rectangle that has this u, 0.0122474 mm wide on each side.
    let spread = form(&[
        equal("mean", "6.03 mm", "0.012247449 mm", 1),
        equal("scale", "0 mm", "0.05 mm", 1),
    ])
    .spread();
    close(spread.u(), 29_720.924_2, 0.1);
}

#[test]
fn the_end_gauge_s_parts_add_up_by_root_sum_of_squares() {
    // JCGM 100:2008, H.1 (inputs and result seen): u of the standard 25 nm and of the comparison
    // 9.7 nm; the two thermal parts computed from the inputs, 50 000 623 nm times 0.1 K times
    // 0.58e-6/K = 2.9 nm and 50 000 623 nm times 11.5e-6/K times 0.029 K = 16.675 nm. The combined
    // uncertainty is 32 nm (31.71 by hand from these four). A nanometre here stands for a thousandth.
    let part = |id, thousandths: &str| equal(id, "0 mm", thousandths, 1);
    let parts = [
        part("standard", "0.025000 mm"),
        part("comparison", "0.009700 mm"),
        part("expansion", "0.002900 mm"),
        part("temperature", "0.016675 mm"),
    ];
    let found = rss(&form(&parts).spread()) / 1000.0;
    close(found, 32.0, 0.5);
    close(found, 31.71, 0.005);
}

#[test]
fn the_ratio_product_spreads_by_the_law_of_propagation() {
    // JCGM 100:2008, 5.1.2: u^2 = (c_r u_r)^2 + (c_g u_g)^2, with c_r the gap and c_g the ratio
    // (the rule from memory); the numbers are computed by hand from 3.5 +- 0.1 and 1 +- 0.2 mm.
    let source = |id| Source::Part { slot: 0, id, nth: 0, cut: false };
    let gap = Item {
        dim: Dim { source: source("disc"), kind: "disc", key: "thickness" },
        value: length("1 mm"),
        known: Accuracy::stated(length("0.2 mm").nm()),
    };
    let ratio = RatioItem {
        source: source("plate"),
        value: Ratio::parse("3.5").unwrap(),
        known: Accuracy::stated(100_000),
    };
    let product = Product { sign: -1, ratio, gap: vec![(gap, 1)] };
    let form = Form { products: vec![product], ..Form::default() };
    assert_eq!(form.value(), length("-3.5 mm"));
    let spread = form.spread();
    // 3.5 * 0.2 = 0.7 and 1 * 0.1 = 0.1: root of 0.5 as it stands.
    close(rss(&spread), 1e6 * 0.5_f64.sqrt(), 1e-3);
    close(spread.u(), 1e6 * (0.5_f64 / 3.0).sqrt(), 1e-3);
    // Every limit at once: 3.6 * 1.2 - 3.5 * 1 = 0.82 mm, the second-order part included.
    assert_eq!(spread.worst_case_length(), Length::from_nm(820_000));
}
