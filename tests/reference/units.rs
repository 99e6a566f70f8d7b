//! Units of length: exact, because the inch is.

use bellstack::model::length::{Length, NM_PER_IN, NM_PER_MM, Unit};

use crate::sums::length;

#[test]
fn an_inch_is_exactly_twenty_five_point_four_millimetres() {
    // The international inch, exact by definition (seen).
    assert_eq!(length("1 in"), length("25.4 mm"));
    assert_eq!(length("1 in").nm(), 25_400_000);
    assert_eq!(NM_PER_IN * 10, NM_PER_MM * 254);
    assert_eq!(length("1 in").exact(Unit::Mm), "25.40 mm");
    assert_eq!(length("25.4 mm").exact(Unit::In), "1.000 in");
}

#[test]
fn a_sixty_fourth_and_a_tenth_of_a_thousandth_are_whole_nanometres() {
    // Computed: 25 400 000 / 64 = 396 875 and 25 400 000 / 10 000 = 2 540.
    assert_eq!(length("1/64 in").nm(), 396_875);
    assert_eq!(length("0.015625 in").nm(), 396_875);
    assert_eq!(length("0.0001 in").nm(), 2_540);
    assert_eq!(length("1 thou").nm(), 25_400);
    assert_eq!(length("0.01 mm").nm(), 10_000);
}

#[test]
fn every_sixty_fourth_of_an_inch_reads_the_same_as_fraction_decimal_and_millimetres() {
    // Computed: n/64 in = n * 0.015625 in = n * 0.396875 mm, with no remainder.
    for n in 1..=128_i64 {
        let fraction = length(&format!("{n}/64 in"));
        let decimal =
            length(&format!("{}.{:06} in", n * 15_625 / 1_000_000, n * 15_625 % 1_000_000));
        let metric =
            length(&format!("{}.{:06} mm", n * 396_875 / 1_000_000, n * 396_875 % 1_000_000));
        assert_eq!(fraction, Length::from_nm(n * 396_875));
        assert_eq!(decimal, fraction, "{n}/64");
        assert_eq!(metric, fraction, "{n}/64");
    }
}
