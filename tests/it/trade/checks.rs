//! The checks beside the window: each passes, fails, or is not checked for want of something.

use bellstack::model::job::StarterOn;
use bellstack::model::length::Unit;
use bellstack::model::part::Entry;
use bellstack::stack::caution::{Caution, cautions};
use bellstack::stack::checks::Outcome;
use bellstack::stack::checks::rules::RULES;

use super::car::{Car, Swaps, thou};

/// What a check says, in a word.
#[derive(Debug, PartialEq, Eq)]
enum Said {
    Pass,
    Fail,
    Needs(Vec<String>),
}

fn said(car: &Car, swaps: Swaps<'_>, cut: i64, name: &str) -> Said {
    car.cut(swaps, cut, |_, fit| {
        let check = fit.checks.iter().find(|check| check.name == name).unwrap();
        match &check.outcome {
            Outcome::Pass(_) => Said::Pass,
            Outcome::Fail(_) => Said::Fail,
            Outcome::Unchecked(needs) => Said::Needs(needs.clone()),
        }
    })
}

fn needs(names: &[&str]) -> Said {
    Said::Needs(names.iter().map(|name| (*name).to_string()).collect())
}

/// A check of the fitted stack after each of these changes to a dimension.
fn table(car: &Car, name: &str, id: &str, key: &str, rows: &[(i64, Said)]) {
    for (value, expected) in rows {
        let mut car = car.clone();
        car.set(id, key, *value);
        assert_eq!(said(&car, &[], 0, name), *expected, "{name}: {key} {value}");
    }
}

#[test]
fn a_bare_stack_leaves_every_check_that_lacks_something_unchecked() {
    let car = Car::paper();
    let names = || std::iter::once("faces").chain(RULES.iter().map(|rule| rule.name));
    let unchecked: Vec<&str> =
        names().filter(|name| matches!(said(&car, &[], 0, name), Said::Needs(_))).collect();
    let expected: Vec<&str> =
        names().filter(|name| !["starter", "shims", "flywheel_minimum"].contains(name)).collect();
    assert_eq!(unchecked, expected);
    // What is not checked never takes a stack out.
    car.now(|_, fit| assert!(fit.holds()));
}

#[test]
fn the_release_travel_lies_within_the_preload() {
    let car = Car::paper();
    assert_eq!(said(&car, &[], 0, "stroke"), needs(&["pressure_plate.release_travel"]));
    table(&car, "stroke", "P", "release_travel", &[(750, Said::Pass), (751, Said::Fail)]);
}

#[test]
fn the_hydraulic_stroke_less_lost_motion_reaches_the_release_travel() {
    let mut car = Car::paper();
    car.set("P", "release_travel", 400);
    car.set("R", "bore_outer", 2000);
    car.set("R", "bore_inner", 1500);
    assert_eq!(
        said(&car, &[], 0, "hydraulics"),
        needs(&["master_cylinder.bore", "master_cylinder.stroke"])
    );
    car.add("master_cylinder", "M", &[("bore", 750), ("stroke", 1400)]);
    car.job.master_cylinder = Some("M".into());
    // 0.450 in of travel by hand, less 15 % is 0.3825 in.
    assert_eq!(said(&car, &[], 0, "hydraulics"), Said::Fail);
    table(&car, "hydraulics", "P", "release_travel", &[(382, Said::Pass), (383, Said::Fail)]);
    // More than the preload is no fail but a pedal stop, at the stroke that belongs to it: a
    // preload of 0.750 in is 0.750 * 1.75 / 0.5625 = 2.333 in of master stroke.
    car.set("M", "stroke", 2800);
    car.now(|_, fit| {
        let check = fit.checks.iter().find(|check| check.name == "hydraulics").unwrap();
        let Outcome::Pass(note) = &check.outcome else { panic!("{check:?}") };
        let shown = note.show(Unit::In);
        assert!(shown.ends_with("; set a pedal stop at a master stroke of 2.333 in"), "{shown}");
    });
}

/// A car whose pilot bearing, shaft, hole and dowels are known. The shaft's tip stands at the bell's
/// depth of 6.000 less 6.200, that is 0.200 in inside the block face.
fn piloted() -> Car {
    let mut car = Car::paper();
    car.set("G", "shaft_length", 6200);
    car.set("E", "pilot_recess", 100);
    car.set("E", "pilot_length", 800);
    car.set("E", "pilot_bore_depth", 1000);
    car.set("E", "dowel_protrusion", 400);
    car.add("bell_spacer", "BS200", &[("thickness", 200)]);
    car.add("bell_spacer", "BS201", &[("thickness", 201)]);
    car
}

#[test]
fn half_the_pilot_at_least_is_engaged() {
    // Crank 0.500, recess 0.100, tip -0.200: 0.600 of 0.800 in.
    let car = piloted();
    assert_eq!(said(&car, &[], 0, "pilot_engagement"), Said::Pass);
    assert_eq!(said(&car, &[("bell_spacer", &["BS200"])], 0, "pilot_engagement"), Said::Pass);
    assert_eq!(said(&car, &[("bell_spacer", &["BS201"])], 0, "pilot_engagement"), Said::Fail);
    let mut car = car;
    car.part("E").set("pilot_length", None);
    assert_eq!(said(&car, &[], 0, "pilot_engagement"), needs(&["engine.pilot_length"]));
}

#[test]
fn the_shaft_stays_clear_of_the_bottom_of_the_crank_s_hole_with_end_float_counted() {
    // The bottom stands at 0.500 - 1.000 = -0.500 in, the tip at -0.200: 0.300 in of room.
    let mut car = piloted();
    let room = |car: &Car, deep: i64, said: Said| {
        table(car, "shaft_bottom", "E", "pilot_bore_depth", &[(deep, said)]);
    };
    room(&car, 760, Said::Pass);
    room(&car, 759, Said::Fail);
    car.set("E", "crank_end_float", 10);
    room(&car, 769, Said::Fail);
    room(&car, 770, Said::Pass);
    car.part("E").set("pilot_bore_depth", None);
    assert_eq!(said(&car, &[], 0, "shaft_bottom"), needs(&["engine.pilot_bore_depth"]));
}

#[test]
fn plates_and_spacers_leave_enough_of_the_dowels_and_taking_them_out_is_told() {
    let mut car = piloted();
    assert_eq!(said(&car, &[("bell_spacer", &["BS200"])], 0, "dowels"), Said::Pass);
    assert_eq!(said(&car, &[("bell_spacer", &["BS201"])], 0, "dowels"), Said::Fail);
    car.put("bell_spacer", &["BS200"]);
    let told = |car: &Car, swaps: Swaps<'_>| {
        car.swapped(swaps, |setup, fit| {
            let all = cautions(setup, fit);
            let out = all.iter().filter_map(|caution| match caution {
                Caution::PlatesOut(length) => Some(*length),
                _ => None,
            });
            (out.collect::<Vec<_>>(), fit.gearbox_move)
        })
    };
    let (notes, moved) = told(&car, &[("bell_spacer", &[])]);
    assert_eq!(notes, [thou(200)]);
    assert_eq!(moved, Some(thou(-200)));
    let (notes, moved) = told(&car, &[("bell_spacer", &["BS201"])]);
    assert!(notes.is_empty(), "{notes:?}");
    assert_eq!(moved, Some(thou(1)));
}

#[test]
fn the_ring_gear_stays_where_the_starter_meets_it() {
    let mut car = Car::paper();
    for id in ["F", "F40", "F41", "other teeth", "no teeth"] {
        if id != "F" {
            car.copy("F", id, &[]);
        }
        let offset = match id {
            "F40" => 1040,
            "F41" => 959,
            _ => 1000,
        };
        car.set(id, "ring_gear_offset", offset);
        let teeth = if id == "other teeth" { 153 } else { 168 };
        let teeth = Entry::new(teeth, None);
        car.part(id).set("ring_teeth", (id != "no teeth").then_some(teeth));
    }
    let starter = |car: &Car, swaps: Swaps<'_>| said(car, swaps, 0, "starter");
    assert_eq!(starter(&car, &[]), Said::Pass);
    assert_eq!(starter(&car, &[("flywheel", &["F40"])]), Said::Pass);
    assert_eq!(starter(&car, &[("flywheel", &["F41"])]), Said::Fail);
    assert_eq!(starter(&car, &[("flywheel", &["other teeth"])]), Said::Fail);
    assert_eq!(starter(&car, &[("flywheel", &["no teeth"])]), needs(&["flywheel.ring_teeth"]));
    // A spacer moves a starter that hangs on the bell, none that hangs on the block.
    car.add("bell_spacer", "BS", &[("thickness", 41)]);
    let spaced: Swaps<'_> = &[("bell_spacer", &["BS"])];
    assert_eq!(starter(&car, spaced), needs(&["starter_on"]));
    car.job.starter_on = StarterOn::Block;
    assert_eq!(starter(&car, spaced), Said::Pass);
    car.job.starter_on = StarterOn::Bell;
    assert_eq!(starter(&car, spaced), Said::Fail);
    // A ring gear that stands 0.040 in further back follows the spacer.
    assert_eq!(starter(&car, &[spaced[0], ("flywheel", &["F40"])]), Said::Pass);
}

#[test]
fn shims_stay_within_what_the_bearing_takes() {
    let mut car = Car::paper();
    assert_eq!(said(&car, &[], 0, "shims"), Said::Pass);
    car.fit("bearing_shim", "S", &[("thickness", 45)]);
    car.put("bearing_shim", &["S", "S"]);
    assert_eq!(said(&car, &[], 0, "shims"), needs(&["bearing.max_shim"]));
    table(&car, "shims", "R", "max_shim", &[(90, Said::Pass), (89, Said::Fail)]);
}

#[test]
fn a_flywheel_is_not_machined_below_its_least_thickness() {
    let mut car = Car::paper();
    assert_eq!(said(&car, &[], 0, "flywheel_minimum"), Said::Pass);
    assert_eq!(said(&car, &[], 10, "flywheel_minimum"), needs(&["flywheel.min_thickness"]));
    car.set("F", "min_thickness", 960);
    assert_eq!(said(&car, &[], 40, "flywheel_minimum"), Said::Pass);
    assert_eq!(said(&car, &[], 41, "flywheel_minimum"), Said::Fail);
}

#[test]
fn the_disc_s_hub_clears_the_crank_bolts_and_every_cut_takes_some_of_that() {
    let mut car = Car::paper();
    assert_eq!(
        said(&car, &[], 0, "hub_clearance"),
        needs(&["flywheel.bolt_clearance", "disc.hub_front"])
    );
    // Half of an assumed wear of 0.040 in and a floor of 0.020 in leave 0.019 in for a cut.
    car.set("F", "bolt_clearance", 150);
    car.set("D", "hub_front", 91);
    let cuts = |car: &Car, rows: [(i64, Said); 2]| {
        for (cut, expected) in rows {
            assert_eq!(said(car, &[], cut, "hub_clearance"), expected, "{cut}");
        }
    };
    cuts(&car, [(19, Said::Pass), (20, Said::Fail)]);
    // The hub moves toward the bolts by half of what both facings lose.
    car.set("P", "wear_allowance", 30);
    cuts(&car, [(24, Said::Pass), (25, Said::Fail)]);
}

#[test]
fn the_bearing_touches_the_fingers_inside_their_circle() {
    let mut car = Car::paper();
    car.set("P", "finger_circle_inner", 1600);
    car.set("P", "finger_circle_outer", 2200);
    assert_eq!(said(&car, &[], 0, "contact_circle"), needs(&["bearing.contact_diameter"]));
    let rows = [(1599, Said::Fail), (1600, Said::Pass), (2200, Said::Pass), (2201, Said::Fail)];
    table(&car, "contact_circle", "R", "contact_diameter", &rows);
}

#[test]
fn the_clutch_carries_the_job_s_torque() {
    let mut car = Car::paper();
    let rating = Entry::new(500_000, None);
    car.part("P").set("torque_rating", Some(rating));
    assert_eq!(said(&car, &[], 0, "torque"), needs(&["the job's torque"]));
    car.job.torque = Some(500_000);
    assert_eq!(said(&car, &[], 0, "torque"), Said::Pass);
    car.job.torque = Some(500_001);
    assert_eq!(said(&car, &[], 0, "torque"), Said::Fail);
    // A failed check takes the stack out, though it is in its window.
    car.now(|_, fit| {
        assert!(fit.grade.in_window() && !fit.holds());
        assert_eq!(fit.checks.iter().filter(|check| check.failed()).count(), 1);
    });
}

#[test]
fn faces_that_share_no_name_clash_and_blank_ones_are_not_verified() {
    let mut car = Car::paper();
    car.face("E", "crank_pattern", "six");
    car.face("F", "crank_pattern", "six|eight");
    car.face("F", "cover_pattern", "small");
    car.face("P", "cover_pattern", "*");
    let Said::Needs(open) = said(&car, &[], 0, "faces") else { panic!("blank faces pass") };
    let blank = ["diameter", "spline", "block", "gearbox", "seat", "contact"];
    assert_eq!(open, blank.map(|joint| format!("{joint} face")));
    car.now(|_, fit| assert_eq!(fit.joints.not_verified_count(), 6));
    car.face("F", "crank_pattern", "eight");
    assert_eq!(said(&car, &[], 0, "faces"), Said::Fail);
    // A spacer that adapts one pattern to another stands between what would clash.
    let mut car = Car::paper();
    car.face("E", "block_pattern", "old");
    car.face("B", "block_pattern", "new");
    assert_eq!(said(&car, &[], 0, "faces"), Said::Fail);
    car.add("bell_spacer", "adapter", &[("thickness", 50)]);
    car.face("adapter", "block_pattern", "old");
    let adapted: Swaps<'_> = &[("bell_spacer", &["adapter"])];
    assert_eq!(said(&car, adapted, 0, "faces"), Said::Fail, "its rear is as its front");
    car.face("adapter", "block_pattern_rear", "new");
    assert!(matches!(said(&car, adapted, 0, "faces"), Said::Needs(_)));
}
