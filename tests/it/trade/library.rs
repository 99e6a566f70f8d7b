//! What the library teaches of a part, and what is to be looked at in all of it.

use bellstack::measure::findings::Findings;
use bellstack::measure::lessons::{Lesson, lessons};
use bellstack::measure::remark::{Found, Remark, Topic};
use bellstack::model::job::Reading;
use bellstack::model::length::Unit;
use bellstack::model::money::Cents;
use bellstack::model::part::Entry;
use bellstack::model::pieces::Condition::{Machined, New, Used};
use bellstack::model::pieces::Specimen;
use bellstack::report::{
    View, inspection_csv, inspection_json, inspection_table, lessons as shown,
};
use bellstack::stack::inspection::{Inspection, inspect};

use super::car::{Car, entry, tenths, thou};

const VIEW: View = View::new(Unit::In, 100);

/// A car in which there is nothing to look at.
fn sound() -> Car {
    let mut car = Car::paper();
    for part in &mut car.parts {
        part.price = Some(Cents::new(10_000));
        for face in &mut part.faces {
            *face = bellstack::model::faces::Names::parse("a");
        }
    }
    car.instrument("ideal", 0);
    car
}

fn looked(car: &Car) -> Inspection {
    inspect(&car.stored(), &car.library(), std::slice::from_ref(&car.job))
}

/// The only thing there is to look at.
fn only(car: &Car) -> Remark {
    let mut remarks = looked(car).remarks;
    assert_eq!(remarks.len(), 1, "{remarks:?}");
    remarks.remove(0)
}

fn told(remark: &Remark) -> (Topic, &str, &[&'static str]) {
    (remark.topic, &remark.id, &remark.columns)
}

/// New pieces of the flywheel, in tenths of a thousandth.
fn pieces(car: &mut Car, values: &[i64]) {
    for (index, value) in values.iter().enumerate() {
        car.piece("F", &index.to_string(), New);
        car.gauge(&format!("F#{index}"), "thickness", &[*value], Some("ideal"));
    }
}

fn taught(car: &Car) -> Vec<Lesson> {
    let stored = car.stored();
    let findings = Findings::of(&stored);
    lessons(&findings, findings.family("F").unwrap())
}

fn close(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} is not {expected} within {within}");
}

#[test]
fn listed_measured_and_predicted_stand_side_by_side() {
    let mut car = sound();
    car.part("F").set("thickness", Some(entry(1000, 40)));
    // Deviations from the mean .9998 are -13, 4, 12 and -3 tenths: s^2 = 338 / 3.
    pieces(&mut car, &[9985, 10_002, 10_010, 9995]);
    let all = taught(&car);
    assert_eq!(all.len(), 1);
    let lesson = &all[0];
    assert_eq!(lesson.listed, Some(entry(1000, 40)));
    let sample = lesson.sample.unwrap();
    assert_eq!((sample.count(), sample.whole_mean()), (4, tenths(9998).nm()));
    let tenth = 2540.0;
    close(lesson.s.unwrap() / tenth, (338.0_f64 / 3.0).sqrt(), 1e-9);
    // t for 95 % and three degrees of freedom is 3.182 (common tables): +-.0038 in.
    let (from, to) = lesson.next.unwrap();
    let half = 3.182 * (338.0_f64 / 3.0 * 1.25).sqrt();
    close((to - from) / 2.0 / tenth, half, 0.01);
    close(f64::midpoint(to, from) / tenth, 9998.0, 1e-6);
    // Used and machined pieces, and struck readings, are told apart.
    car.piece("F", "old", Used);
    car.gauge("F#old", "thickness", &[9000], Some("ideal"));
    car.piece("F", "cut", Machined);
    car.gauge("F#cut", "thickness", &[9500, 9501], Some("ideal"));
    car.gauge("F#0", "thickness", &[1, 2, 3], Some("ideal")).struck = Some("misread".into());
    let again = taught(&car);
    assert_eq!((again[0].sample, again[0].next, again[0].struck), (lesson.sample, lesson.next, 3));
    let stored = car.stored();
    let findings = Findings::of(&stored);
    let page = shown(&findings, findings.family("F").unwrap(), VIEW);
    assert!(page.lines().all(|line| line.chars().count() <= 100), "{page}");
    for line in [
        "thickness  1.0000     0.0400       4  0.9998  0.0011      0.9960      1.0036",
        "3 readings of thickness are struck and do not count.",
        "cut    machined   yes      thickness    0.9501",
    ] {
        assert!(page.contains(line), "{page}");
    }
    // Where nothing was read, nothing is said.
    let mut bare = sound();
    bare.piece("F", "1", New);
    let stored = bare.stored();
    let findings = Findings::of(&stored);
    assert_eq!(shown(&findings, findings.family("F").unwrap(), VIEW), "");
}

#[test]
fn a_piece_stands_apart_beyond_three_and_a_half_times_the_scatter_of_its_sisters() {
    // The sisters' s is the root of 50 / 3, 4.08 tenths; 3.5 of it are 14.3.
    let apart = |value: i64| {
        let mut car = sound();
        car.part("F").set("thickness", Some(entry(1000, 40)));
        pieces(&mut car, &[10_000, 10_005, 9995, 10_000, value]);
        let found = taught(&car).remove(0).apart;
        assert_eq!(looked(&car).remarks.len(), found.len());
        found
    };
    assert!(apart(10_014).is_empty() && apart(9986).is_empty());
    let found = apart(10_015);
    assert_eq!((found.len(), found[0].piece.as_str()), (1, "F#4"));
    assert_eq!((found[0].value, found[0].sisters), (tenths(10_015).nm(), tenths(10_000).nm()));
    close(found[0].times, 15.0 / (50.0_f64 / 3.0).sqrt(), 1e-9);
    // Sisters that agree to the last digit say no more than their readings do: +-0.0010 in is u
    // 5.77 tenths, and 3.5 of it are 20.2.
    let with_caliper = |value: i64| {
        let mut car = sound();
        car.instrument("caliper", 10);
        pieces(&mut car, &[10_000, 10_000, 10_000, value]);
        for set in &mut car.measured.readings {
            set.instrument = Some("caliper".into());
        }
        taught(&car).remove(0).apart.len()
    };
    assert_eq!((with_caliper(10_020), with_caliper(10_021)), (0, 1));
}

#[test]
fn a_kind_s_scatter_leaves_the_part_s_own_out() {
    // Three numbers with two pieces each: s^2 is half of the squared difference.
    let mut car = sound();
    for (id, by) in [("F", 2), ("F2", 4), ("F3", 6)] {
        if id != "F" {
            car.copy("F", id, &[]);
        }
        for (label, value) in [("1", 10_000 - by), ("2", 10_000 + by)] {
            car.piece(id, label, New);
            car.gauge(&format!("{id}#{label}"), "thickness", &[value], Some("ideal"));
        }
    }
    car.measured.specimens.sort_by_key(Specimen::id);
    let stored = car.stored();
    let findings = Findings::of(&stored);
    let pooled = |id: &str| {
        let scatter = findings.family(id).unwrap().kind_scatter(0).unwrap();
        (scatter.variance / 2540.0 / 2540.0, scatter.nu)
    };
    // Variances 8, 32 and 72.
    for (id, variance) in [("F", 52.0), ("F2", 40.0), ("F3", 20.0)] {
        close(pooled(id).0, variance, 1e-9);
        close(pooled(id).1, 2.0, 1e-12);
    }
}

#[test]
fn a_sound_library_has_nothing_to_look_at() {
    let inspection = looked(&sound());
    assert_eq!(inspection.remarks, []);
    let nothing = "Nothing to look at in 7 parts, 0 pieces and 1 job.\n";
    assert_eq!(inspection_table(&inspection, 5, VIEW), nothing);
}

#[test]
fn what_cannot_be_is_told() {
    let mut car = sound();
    car.set("R", "retracted_height", 3200);
    let remark = only(&car);
    assert_eq!(told(&remark), (Topic::Impossible, "R", ["retracted_height"].as_slice()));
    let mut car = sound();
    car.add("bearing_shim", "S", &[("thickness", 30)]).price = Some(Cents::new(100));
    car.face("S", "seat_pattern", "a");
    car.piece("S", "1", New);
    car.put("bearing_shim", &["S#1", "S#1"]);
    let remark = only(&car);
    assert_eq!(told(&remark), (Topic::Impossible, "car", ["bearing_shims"].as_slice()));
}

#[test]
fn what_can_hardly_be_is_told() {
    let suspicious = |change: &dyn Fn(&mut Car)| {
        let mut car = sound();
        change(&mut car);
        let remark = only(&car);
        assert_eq!(remark.topic, Topic::Suspicious);
        (remark.id, remark.columns, remark.found)
    };
    let ratio = Some(Entry::new(6_000_000, Some(0)));
    let (id, _, found) = suspicious(&|car| car.part("P").set("finger_ratio", ratio));
    assert_eq!(id, "P");
    let usual = "a finger ratio of 6.00 is unusual (mostly 3 to 4.5)";
    assert_eq!(found, Found::Words(usual.into()));
    // The house fallback takes 0.600 + 0.150 in.
    let (.., found) = suspicious(&|car| car.set("R", "retracted_height", 2351));
    assert_eq!(found, Found::Travel(thou(749), thou(750)));
    let (_, columns, found) = suspicious(&|car| {
        car.set("D", "free_thickness", 360);
        car.set("D", "cushion", 29);
    });
    assert_eq!(columns, ["thickness"]);
    assert_eq!(found, Found::Clamped(thou(330), thou(331)));
    // A piece that measures what no part can.
    let (id, columns, _) = suspicious(&|car| {
        car.set("D", "min_thickness", 300);
        car.piece("D", "1", Used);
        car.gauge("D#1", "thickness", &[2999], Some("ideal"));
    });
    assert_eq!((id.as_str(), columns.as_slice()), ("D#1", ["min_thickness"].as_slice()));
}

#[test]
fn a_value_in_the_other_unit_is_told_from_its_kind() {
    let with = |last: i64| {
        let mut car = sound();
        for number in 0..8 {
            car.copy("F", &format!("F{number}"), &[("thickness", number * 20)]);
        }
        car.set("F7", "thickness", last);
        looked(&car).remarks
    };
    // 1.000 in written as 1.000 mm is 0.039 in; the other way round it is 25.4 in.
    for slipped in [39, 41, 25_400] {
        let remarks = with(slipped);
        assert_eq!(remarks.len(), 1, "{slipped}: {remarks:?}");
        assert_eq!(told(&remarks[0]), (Topic::Suspicious, "F7", ["thickness"].as_slice()));
        assert!(matches!(remarks[0].found, Found::OtherUnit(value, _) if value == thou(slipped)));
    }
    for fine in [500, 1000, 2000] {
        assert_eq!(with(fine), []);
    }
    let topics = with(10_000).iter().map(|remark| remark.topic).collect::<Vec<_>>();
    assert_eq!(topics, [Topic::Unusual], "a flywheel of 10 in is no slip of the unit");
}

#[test]
fn pieces_that_measure_what_their_maker_does_not_state_are_told() {
    let mut car = sound();
    car.part("F").set("thickness", Some(entry(1000, 5)));
    pieces(&mut car, &[10_050, 10_050]);
    assert_eq!(looked(&car).remarks, []);
    car.measured.readings[1].values = vec![tenths(10_051).nm()];
    let remark = only(&car);
    assert_eq!(told(&remark), (Topic::BeyondTolerance, "F", ["thickness"].as_slice()));
    let mean = tenths(10_050).nm() + 1270;
    assert!(matches!(remark.found, Found::Mean { pieces: 2, mean: found, .. } if found == mean));
    // Machined ones may be anything.
    for piece in &mut car.measured.specimens {
        piece.condition = Machined;
    }
    assert_eq!(looked(&car).remarks, []);
}

#[test]
fn instruments_without_a_limit_where_they_read_are_told() {
    let mut car = sound();
    car.measured.instruments[0].limits.clear();
    let remark = only(&car);
    assert_eq!(told(&remark), (Topic::NoLimit, "ideal", ["limits"].as_slice()));
    assert_eq!(remark.found, Found::Nothing);
    let mut car = sound();
    car.measured.instruments[0].limits[0].up_to = thou(1000);
    pieces(&mut car, &[10_000]);
    assert_eq!(looked(&car).remarks, []);
    car.measured.readings[0].values.push(tenths(10_001).nm());
    let mut remarks = looked(&car).remarks;
    remarks.retain(|remark| remark.topic == Topic::NoLimit);
    assert_eq!(remarks[0].found, Found::Beyond(tenths(10_001)));
    car.measured.readings[0].struck = Some("misread".into());
    assert_eq!(looked(&car).remarks, []);
}

#[test]
fn what_is_missing_is_told_of_parts_in_use() {
    let mut car = sound();
    car.part("P").set("finger_height", None);
    car.part("F").set("thickness", Some(Entry::length(thou(1000))));
    car.part("F").set("ring_gear_offset", Some(Entry::length(thou(400))));
    car.face("D", "spline", "");
    // A plate has a spline only where it brings its discs, and what the job gives is not bought.
    car.face("P", "spline", "");
    car.part("E").price = None;
    car.part("R").price = None;
    let remarks = looked(&car).remarks;
    let found: Vec<_> = remarks.iter().map(told).collect();
    assert_eq!(
        found,
        [
            (Topic::Lacks, "P", ["finger_height"].as_slice()),
            (Topic::NoTolerance, "F", &["thickness"]),
            (Topic::UnknownFace, "D", &["spline"]),
            (Topic::NoPrice, "R", &["price"]),
        ]
    );
    for part in &mut car.parts {
        part.retired = true;
    }
    assert_eq!(looked(&car).remarks, []);
}

#[test]
fn cross_checks_that_cannot_both_be_right_are_told() {
    let mut car = sound();
    car.read(Reading::FingerDepth, 3400, 1);
    assert_eq!(looked(&car).remarks, []);
    car.read(Reading::FingerDepth, 3402, 1);
    let remark = only(&car);
    assert_eq!(told(&remark), (Topic::Contradiction, "car", [].as_slice()));
    assert!(
        matches!(remark.found, Found::Routes { length: "finger tips", apart, .. } if apart == thou(2))
    );
    // A build on paper that is not complete yet is none that could be wrong.
    car.put("flywheel", &[]);
    assert_eq!(looked(&car).remarks, []);
}

#[test]
fn tables_are_counted_and_cut_and_json_and_csv_hold_everything() {
    let mut car = sound();
    for number in 0..7 {
        car.copy("F", &format!("F{number}"), &[]).price = None;
    }
    car.part("F").set("thickness", Some(entry(1000, 1)));
    pieces(&mut car, &[10_100, 10_100]);
    let inspection = looked(&car);
    let table = inspection_table(&inspection, 3, VIEW);
    assert!(table.lines().all(|line| line.chars().count() <= 100), "{table}");
    for line in [
        "8 things to look at in 14 parts, 2 pieces and 1 job, the gravest first.",
        "flywheel  F   thickness  2 pieces measure 1.010 in, listed 1.000 in +- 0.001 in",
        "No price (7): enter it;",
        "and 4 more: `bellstack check --all` shows them",
    ] {
        assert!(table.contains(line), "{table}");
    }
    let all = inspection_table(&inspection, usize::MAX, VIEW);
    assert!(all.contains("F6") && !all.contains("more:"), "{all}");
    let json: serde_json::Value =
        serde_json::from_str(&inspection_json(&inspection, VIEW)).unwrap();
    assert_eq!((&json["found"], &json["topics"][1]["count"]), (&8.into(), &7.into()));
    assert_eq!(json["topics"][0]["topic"], "beyond_tolerance");
    assert_eq!(json["topics"][1]["remarks"][6]["id"], "F6");
    let csv = inspection_csv(&inspection, VIEW);
    assert_eq!(csv.lines().count(), 9);
    assert!(csv.starts_with("topic,kind,id,columns,found,what_to_do\n"), "{csv}");
}

#[test]
fn a_part_is_shown_with_what_its_pieces_teach_and_the_check_reads_the_catalog() {
    let program = crate::program::Program::demo();
    for line in [
        "instrument add gauge 'limits=0.0001 in to 10 in'",
        "reading add FW-S1000#A thickness 1.0081 1.0081 in --condition new --instrument gauge",
        "reading add FW-S1000#B thickness 1.0083 1.0081 in --condition new --instrument gauge",
    ] {
        let ran = program.run(line);
        assert_eq!(ran.status, 0, "{line}: {}", ran.err);
    }
    let page = program.answer("part show FW-S1000");
    for line in ["New pieces as they measured", "Piece by piece:", "A      new        yes"] {
        assert!(page.contains(line), "{page}");
    }
    assert!(page.lines().all(|line| line.chars().count() <= 100), "{page}");
    let check = program.run("check");
    assert_eq!(check.status, 1);
    assert!(check.out.contains("FW-S1000  thickness  2 pieces measure 1.008 in"), "{}", check.out);
    // What stays without pieces is shown as before.
    assert!(!program.answer("part show FW-S0900").contains("Piece by piece"));
}
