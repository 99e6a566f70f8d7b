//! The ring-shaped piston behind a master cylinder.

use bellstack::model::length::Length;
use bellstack::stack::hydraulics::Hydraulics;

use crate::sums::{close, length};

fn hydraulics(bore: &str, outer: &str, inner: &str) -> Hydraulics {
    Hydraulics { bore: length(bore), outer: length(outer), inner: length(inner) }
}

#[test]
fn a_stroke_computed_by_hand_comes_out() {
    // Computed by hand: 0.750^2 * 1.400 / (2.000^2 - 1.500^2) = 0.5625 * 1.4 / 1.75 = 0.450 in.
    let ring = hydraulics("0.750 in", "2.000 in", "1.500 in");
    assert_eq!(ring.bearing_travel(length("1.400 in")).unwrap(), length("0.450 in"));
    assert_eq!(ring.master_stroke(length("0.450 in")).unwrap(), length("1.400 in"));
    // Computed by hand in millimetres: 19.05^2 * 36 / (50^2 - 40^2) = 14.5161 mm.
    let ring = hydraulics("19.05 mm", "50 mm", "40 mm");
    assert_eq!(ring.bearing_travel(length("36 mm")).unwrap(), length("14.5161 mm"));
}

#[test]
fn a_rod_leaves_the_annulus_the_published_part_of_the_bore() {
    // Esposito, Fluid Power, Example 6-1 (from a secondary copy): one flow drives a cylinder of
    // 2 in bore out at 2.0417 ft/s and, on the annulus around its 1 in rod, back at 2.7223 ft/s.
    // What goes in through the full bore in a second comes out as a travel of the annulus.
    let ring = hydraulics("2 in", "2 in", "1 in");
    let out = length("24.5004 in");
    let back = ring.bearing_travel(out).unwrap();
    close(out.inches() / 12.0, 2.0417, 5e-5);
    close(back.inches() / 12.0, 2.7223, 5e-5);
    // Rounded as the book rounds them: 2.05 is its figure for the speed out, 2.73 for that back.
    close(back.inches() / out.inches(), 2.73 / 2.05, 0.003);
    assert_eq!(ring.bearing_travel(length("3 in")).unwrap(), length("4 in"));
}

#[test]
fn the_volume_that_goes_in_comes_out() {
    // Computed: bore^2 * stroke = (outer^2 - inner^2) * travel, but for less than one nanometre of
    // travel that is rounded off.
    let square = |length: Length| i128::from(length.nm()) * i128::from(length.nm());
    for (bore, outer, inner) in [
        ("0.625 in", "2.000 in", "1.500 in"),
        ("0.750 in", "2.100 in", "1.550 in"),
        ("7/8 in", "55 mm", "41.5 mm"),
        ("19.05 mm", "2-1/8 in", "1-5/8 in"),
    ] {
        let ring = hydraulics(bore, outer, inner);
        let area = square(ring.outer) - square(ring.inner);
        for stroke in ["0.001 mm", "1.100 in", "1-1/4 in", "36 mm", "2 in"] {
            let stroke = length(stroke);
            let travel = ring.bearing_travel(stroke).unwrap();
            let lost = square(ring.bore) * i128::from(stroke.nm()) - area * i128::from(travel.nm());
            assert!((0..area).contains(&lost), "{bore} {outer} {inner} {stroke}: {lost}");
            // And back: the stroke that moves the bearing so far, short by what was rounded off.
            let back = stroke - ring.master_stroke(travel).unwrap();
            let most = Length::from_nm(i64::try_from(area / square(ring.bore)).unwrap() + 2);
            assert!(
                Length::ZERO <= back && back <= most,
                "{bore} {outer} {inner} {stroke}: {back}"
            );
        }
    }
}

#[test]
fn a_stroke_moves_the_bearing_far_enough_where_the_volumes_say_so() {
    // Computed by hand: 0.75^2 * 1.4 / 1.75 = 0.45 in, of which 15 % lost leave 0.3825 in exactly.
    let ring = hydraulics("0.750 in", "2.000 in", "1.500 in");
    let stroke = length("1.400 in");
    assert!(ring.releases(stroke, 15, length("0.3825 in")));
    assert!(!ring.releases(stroke, 15, length("0.3825 in") + Length::from_nm(1)));
    // Bores that hardly differ: the travel is beyond any length, and far enough for any.
    let thin = hydraulics("100 in", "50.000001 mm", "50 mm");
    assert_eq!(thin.bearing_travel(length("100 in")), None);
    assert!(thin.releases(length("100 in"), 99, length("100 in")));
}
