//! What moves what: each change of a part with what it does to preload and reserve, on sums that
//! were measured and on sums of catalogued dimensions. The signs follow from the axis alone.

use bellstack::model::job::{DiscState, Reading};
use bellstack::model::part::Entry;
use bellstack::stack::lengths::{BearingFrom, FingerFrom};

use super::car::{Car, both, entry};

/// How far the changed dimension goes, in thousandths of an inch.
const X: i64 = 20;
/// The finger ratio's effect on that, in thousandths: 3.5 times.
const RX: i64 = 70;

/// A row of the table: the part, the new part's dimensions by how much they differ, and what that
/// does to preload and reserve, in thousandths of an inch.
struct Row {
    change: &'static str,
    kind: &'static str,
    id: &'static str,
    by: &'static [(&'static str, i64)],
    moves: (i64, i64),
}

const fn row(
    change: &'static str,
    kind: &'static str,
    id: &'static str,
    by: &'static [(&'static str, i64)],
    moves: (i64, i64),
) -> Row {
    Row { change, kind, id, by, moves }
}

const TABLE: &[Row] = &[
    row("thicker block plate", "block_plate", "BP", &[("thickness", X)], (-X, X)),
    row("thicker bell spacer", "bell_spacer", "BS", &[("thickness", X)], (-X, X)),
    row("thicker gearbox spacer", "gearbox_spacer", "GS", &[("thickness", X)], (-X, X)),
    row("deeper bell", "bell_housing", "B", &[("depth", X)], (-X, X)),
    row("thinner flywheel", "flywheel", "F", &[("thickness", -X)], (-X, X)),
    row("lower clutch", "pressure_plate", "P", &[("finger_height", -X)], (-X, X)),
    row(
        "a cut in the friction face alone",
        "flywheel",
        "F",
        &[("thickness", -X), ("cover_step", X)],
        (RX, -RX),
    ),
    row("a cut in the cover face alone", "flywheel", "F", &[("cover_step", -X)], (-X - RX, X + RX)),
    row("thicker disc", "disc", "D", &[("thickness", X)], (-RX, RX)),
    row("thinner disc: facing wear", "disc", "D", &[("thickness", -X)], (RX, -RX)),
    row("thicker shim", "bearing_shim", "SH", &[("thickness", X)], (X, -X)),
    row("seat nearer the engine", "gearbox", "G", &[("seat_height", X)], (X, -X)),
    row("crank further out", "engine", "E", &[("crank_protrusion", X)], (X, -X)),
    row("longer extended height", "bearing", "R", &[("extended_height", X)], (X, 0)),
    row("shorter retracted height", "bearing", "R", &[("retracted_height", -X)], (0, X)),
];

/// Every optional slot filled, without moving preload and reserve from 0.750 and 0.200 in.
fn filled(mut car: Car) -> Car {
    for (kind, id) in [
        ("block_plate", "BP"),
        ("bell_spacer", "BS"),
        ("gearbox_spacer", "GS"),
        ("bearing_shim", "SH"),
    ] {
        car.fit(kind, id, &[("thickness", 100)]);
    }
    let tol = car.part("B").entry("depth").unwrap().tol;
    car.part("B").set("depth", Some(Entry { tol, ..entry(6000 - 200, 0) }));
    for reading in [Reading::BearingDepthExtended, Reading::BearingDepthRetracted] {
        if let Some(read) = car.job.readings[reading as usize].as_mut() {
            // Neither block plate nor bell spacer is in a bearing depth.
            read.value -= entry(200, 0).value;
        }
    }
    car
}

fn check(car: &Car, is_read: bool) {
    assert_eq!(car.numbers(&[]), both(750, 200));
    for row in TABLE {
        let mut car = car.clone();
        let (id, key) = (row.id, row.by[0].0);
        // What is swapped is known well, so that a reading moved by it stays the better route.
        for (key, _) in row.by {
            car.exact(id, key);
        }
        car.copy(id, "new", row.by);
        let swaps: &[(&str, &[&str])] = &[(row.kind, &["new"])];
        let (preload, reserve) = both(750 + row.moves.0, 200 + row.moves.1);
        assert_eq!(car.numbers(swaps), (preload, reserve), "{} ({is_read})", row.change);
        car.swapped(swaps, |_, fit| {
            let lengths = &fit.lengths;
            let finger = ["engine", "flywheel", "disc", "pressure_plate"].contains(&row.kind);
            let used = if finger {
                lengths.finger.from == FingerFrom::Depth
            } else {
                lengths.bearing.from != BearingFrom::Catalog
            };
            assert_eq!(used, is_read, "{} by {key}", row.change);
        });
    }
}

#[test]
fn every_change_moves_a_catalogued_sum_as_the_table_says() {
    check(&filled(Car::paper()), false);
}

#[test]
fn every_change_moves_a_measured_sum_as_the_table_says() {
    check(&filled(Car::measured()), true);
}

#[test]
fn a_cut_over_friction_and_cover_face_lowers_the_fingers_by_itself() {
    for (car, is_read) in [(Car::paper(), false), (Car::measured(), true)] {
        let mut car = car;
        car.exact("F", "thickness");
        let (numbers, used) = car.cut(&[], X, |_, fit| {
            ((fit.preload.nm(), fit.reserve.nm()), fit.lengths.finger.from == FingerFrom::Depth)
        });
        assert_eq!(numbers, both(750 - X, 200 + X));
        assert_eq!(used, is_read);
    }
}

#[test]
fn putting_a_plate_in_and_taking_it_out_move_the_bearing_as_its_thickness_does() {
    for (kind, moves) in [
        ("block_plate", (-100, 100)),
        ("bell_spacer", (-100, 100)),
        ("gearbox_spacer", (-100, 100)),
        ("bearing_shim", (100, -100)),
    ] {
        for mut car in [Car::paper(), Car::measured()] {
            car.add(kind, "new", &[("thickness", 100)]);
            let with = both(750 + moves.0, 200 + moves.1);
            assert_eq!(car.numbers(&[(kind, &["new"])]), with, "{kind} in");
            let mut car = filled(car);
            car.put(kind, &["new"]);
            assert_eq!(car.numbers(&[]), both(750, 200), "{kind} fitted");
            let without = both(750 - moves.0, 200 - moves.1);
            assert_eq!(car.numbers(&[(kind, &[])]), without, "{kind} out");
        }
    }
}

#[test]
fn a_crank_that_reads_further_out_and_a_clutch_that_reads_higher_raise_the_preload() {
    let mut car = Car::paper();
    car.read(Reading::CrankProtrusion, 500, 0);
    car.read(Reading::ClutchHeight, 2900, 0);
    assert_eq!(car.numbers(&[]), both(750, 200));
    car.read(Reading::CrankProtrusion, 500 + X, 0);
    assert_eq!(car.numbers(&[]), both(750 + X, 200 - X));
    car.read(Reading::ClutchHeight, 2900 - X, 0);
    assert_eq!(car.numbers(&[]), both(750, 200));
}

#[test]
fn facing_wear_on_the_car_raises_the_preload_by_the_ratio_times_it() {
    // Read with a disc that has lost 0.020 in; a new one of its number lowers the fingers again.
    let mut car = Car::measured();
    car.read(Reading::FingerDepth, 3400 + RX, 1);
    car.read(Reading::FittedDiscThickness, 330 - X, 1);
    car.set("D", "thickness", 330);
    car.job.disc_state = DiscState::Worn;
    assert_eq!(car.as_it_stands(), both(750 + RX, 200 - RX));
    assert_eq!(car.numbers(&[]), both(750, 200));
}
