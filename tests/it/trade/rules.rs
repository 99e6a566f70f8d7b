//! How measured and catalogued sums are moved, collected, chosen and compared.

use bellstack::model::edge::Edge;
use bellstack::model::job::{DiscState, Reading};
use bellstack::model::length::{Length, Ratio, Unit};
use bellstack::stack::agreement::{Agreement, CrossCheck};
use bellstack::stack::cap::Cap;
use bellstack::stack::grade::Grade;
use bellstack::stack::lengths::{BearingFrom, Missing};

use super::car::{Car, RATIO, Swaps, both, entry, tenths, thou};

#[test]
fn only_the_swapped_parts_dimensions_of_a_measured_sum_have_to_be_known() {
    let mut car = Car::measured();
    car.part("P").set("finger_height", None);
    car.part("P").set("set_gap", None);
    car.part("E").set("crank_protrusion", None);
    car.part("B").set("depth", None);
    car.set("F", "thickness", 1000);
    car.copy("F", "F2", &[("thickness", -40)]);
    assert_eq!(car.numbers(&[]), both(750, 200));
    assert_eq!(car.numbers(&[("flywheel", &["F2"])]), both(710, 240));
    // The swap of a part whose dimension nobody knows cannot be worked out.
    car.add("pressure_plate", "P2", &[("finger_height", 1850), ("set_gap", 330)]);
    car.setup(|setup| {
        let mut choice = setup.fitted_choice().unwrap();
        let slot = setup.slot("pressure_plate").unwrap();
        choice.fills[slot].parts = vec![setup.library.find("P2").unwrap()];
        let lacks = bellstack::stack::fit::evaluate(setup, &choice).unwrap_err();
        let of = |kind, id: &str, dim| vec![Missing { kind, id: Some(id.into()), dim }];
        let old = of("pressure_plate", "P", "finger_height");
        assert_eq!(lacks.finger, [old, of("engine", "E", "crank_protrusion")]);
        assert!(lacks.bearing.is_empty());
    });
}

#[test]
fn a_measured_sum_of_which_nothing_stays_is_dropped() {
    // The clutch reads 0.030 in higher than its parts add up to.
    let mut car = Car::paper();
    car.loosen(100);
    car.read(Reading::ClutchHeight, 2930, 0);
    for (id, part) in [("F", "F2"), ("D", "D2"), ("P", "P2")] {
        car.copy(id, part, &[]);
    }
    let two: Swaps<'_> = &[("flywheel", &["F2"]), ("disc", &["D2"])];
    let three: Swaps<'_> = &[("flywheel", &["F2"]), ("disc", &["D2"]), ("pressure_plate", &["P2"])];
    let looked = |swaps| {
        car.swapped(swaps, |_, fit| {
            let lengths = &fit.lengths;
            (fit.preload, lengths.finger.from.reads_clutch(), lengths.other_fingers.len())
        })
    };
    assert_eq!(looked(&[]), (thou(780), true, 1));
    // A worse route perhaps, but it is still there to compare with.
    assert_eq!(looked(two).2, 1);
    assert_eq!(looked(three), (thou(750), false, 0));
}

#[test]
fn the_route_with_the_smaller_u_is_used_and_the_measured_one_on_a_tie() {
    let used = |catalogued: i64, read: i64| {
        let mut car = Car::paper();
        car.part("E").set("crank_protrusion", Some(entry(500, catalogued)));
        car.read(Reading::CrankProtrusion, 510, read);
        car.now(|_, fit| (fit.preload, fit.lengths.crank))
    };
    assert_eq!(used(5, 4), (thou(760), Some(thou(510))));
    assert_eq!(used(5, 5), (thou(760), Some(thou(510))));
    assert_eq!(used(5, 6), (thou(750), Some(thou(500))));
}

#[test]
fn a_dimension_on_both_sides_of_a_swap_is_collected_by_piece() {
    let mut car = Car::measured();
    car.loosen(5);
    for id in ["S", "T"] {
        car.add("bearing_shim", id, &[("thickness", 30)]).set("thickness", Some(entry(30, 1)));
    }
    car.put("bearing_shim", &["S", "S"]);
    let worst = |swaps: Swaps<'_>| {
        car.swapped(swaps, |_, fit| {
            assert_ne!(fit.lengths.bearing.from, BearingFrom::Catalog);
            fit.lengths.bearing.extended.spread().worst_case_length()
        })
    };
    // The reading alone; then one piece out; then one out and another in; then both and another.
    assert_eq!(worst(&[]), thou(1));
    assert_eq!(worst(&[("bearing_shim", &["S"])]), thou(2));
    assert_eq!(worst(&[("bearing_shim", &["S", "T"])]), thou(3));
    assert_eq!(worst(&[("bearing_shim", &["T"])]), thou(4));
    // Two of one number are two pieces with errors of their own, not one error twice.
    let mut paper = Car::paper();
    paper.add("bearing_shim", "S", &[]).set("thickness", Some(entry(30, 3)));
    paper.put("bearing_shim", &["S", "S"]);
    paper.now(|_, fit| {
        let spread = fit.lengths.bearing.extended.spread();
        assert_eq!(spread.worst_case_length(), thou(6));
        let one = i128::from(thou(3).nm()) * i128::from(Ratio::ONE);
        assert_eq!(spread.three_u_squared, 2 * one * one);
    });
}

#[test]
fn the_tolerances_of_old_and_new_both_count_in_a_measured_swap() {
    let mut car = Car::measured();
    car.part("F").set("thickness", Some(entry(1000, 2)));
    car.copy("F", "F2", &[("thickness", -40)]).set("thickness", Some(entry(960, 3)));
    let form = |car: &Car| {
        car.swapped(&[("flywheel", &["F2"])], |_, fit| fit.lengths.finger.form.spread())
    };
    // The step is blank on neither: exact here, so the reading and the two thicknesses remain.
    for id in ["F", "F2"] {
        car.set(id, "cover_step", 0);
    }
    assert_eq!(form(&car).worst_case_length(), thou(1 + 2 + 3));
}

#[test]
fn a_plate_that_was_measured_over_and_stays_leaves_the_chain() {
    let mut car = Car::paper();
    car.loosen(100);
    car.fit("block_plate", "BP", &[]);
    car.part("BP").set("thickness", Some(entry(125, 3)));
    car.copy("BP", "BP2", &[("thickness", 10)]);
    car.read(Reading::FingerDepth, 3400 - 125, 0);
    car.job.depth_over_plate = true;
    car.read(Reading::BearingDepthExtended, 2650 - 125, 0);
    car.read(Reading::BearingDepthRetracted, 3600 - 125, 0);
    let looked = |car: &Car, swaps: Swaps<'_>| {
        car.swapped(swaps, |_, fit| {
            let plate =
                fit.preload_form.linear.iter().any(|(item, _)| item.dim.kind == "block_plate");
            (fit.preload, plate, fit.preload_form.spread().worst_case_length())
        })
    };
    assert_eq!(looked(&car, &[]), (thou(750), false, Length::ZERO));
    // Nothing hangs on its thickness then: a wrong entry changes nothing.
    let mut wrong = car.clone();
    wrong.part("BP").set("thickness", Some(entry(225, 3)));
    assert_eq!(looked(&wrong, &[]), (thou(750), false, Length::ZERO));
    // Swapped, old and new both count.
    assert_eq!(looked(&car, &[("block_plate", &["BP2"])]), (thou(740), true, thou(6)));
}

#[test]
fn a_worn_disc_of_known_thickness_is_judged_with_a_new_one() {
    let mut car = Car::measured();
    car.set("D", "thickness", 330);
    car.read(Reading::FingerDepth, 3470, 1);
    car.read(Reading::FittedDiscThickness, 310, 0);
    car.job.disc_state = DiscState::Worn;
    assert_eq!(car.as_it_stands(), both(820, 130));
    assert_eq!(car.numbers(&[]), both(750, 200));
    car.now(|_, fit| assert_eq!((fit.grade, fit.because), (Grade::Sure, None)));
    // Another disc is a new one of its number, against the worn one inside the reading.
    car.copy("D", "D2", &[("thickness", 4)]);
    assert_eq!(car.numbers(&[("disc", &["D2"])]), both(750 - 14, 200 + 14));
    // And another clutch starts from the worn disc too.
    car.set("P", "finger_height", 1900);
    car.set("P", "set_gap", 330);
    car.copy("P", "P2", &[("finger_height", -40)]);
    assert_eq!(car.numbers(&[("pressure_plate", &["P2"])]), both(710, 240));
}

#[test]
fn what_is_doubtful_about_a_disc_or_a_clutch_caps_the_grade_and_is_named() {
    let graded = |change: &dyn Fn(&mut Car)| {
        let mut car = Car::measured();
        car.loosen(1);
        change(&mut car);
        car.now(|_, fit| (fit.grade, fit.because))
    };
    assert_eq!(graded(&|_| {}), (Grade::Sure, None));
    // Unknown: never sure; and where a disc worn by all of its wear would leave the window, never
    // above marginal. 3.5 times 0.040 is 0.140 of 0.150 in of room, 3.5 times 0.045 is 0.158.
    let unknown = |wear: i64| {
        graded(&move |car: &mut Car| {
            car.job.disc_state = DiscState::Unknown;
            car.set("P", "wear_allowance", wear);
            car.house.window[Edge::ReserveMin] = Some(thou(10));
            car.job.window[Edge::ReserveMin] = Some(thou(150));
        })
    };
    assert_eq!(unknown(34), (Grade::Likely, Some(Cap::StateUnknown)));
    assert_eq!(unknown(45), (Grade::Marginal, Some(Cap::MayBeWorn)));
    // Without clutch measurements the question does not arise.
    let mut paper = Car::paper();
    paper.job.disc_state = DiscState::Unknown;
    paper.now(|_, fit| assert_eq!((fit.grade, fit.because), (Grade::Sure, None)));
    // A diaphragm outside its working range, 0.020 in about its gap where its maker gives none.
    let range = |disc: i64, most: Option<i64>| {
        let mut car = Car::paper();
        car.set("D", "thickness", disc);
        car.set("E", "crank_protrusion", 450);
        car.part("P").set("set_gap_max", most.map(|most| entry(most, 0)));
        car.now(|_, fit| (fit.grade, fit.because))
    };
    let outside = (Grade::Marginal, Some(Cap::OutsideRange));
    let inside = (Grade::Sure, None);
    assert_eq!([309, 351].map(|disc| range(disc, None)), [outside; 2]);
    assert_eq!([310, 330, 350].map(|disc| range(disc, None)), [inside; 3]);
    assert_eq!(range(335, Some(335)), inside);
    assert_eq!(range(336, Some(335)), outside);
}

#[test]
fn a_measured_sum_whose_clutch_stays_needs_neither_gap_nor_ratio() {
    let mut car = Car::measured();
    car.part("P").set("set_gap", None);
    car.part("P").set("finger_ratio", None);
    car.now(|_, fit| {
        assert_eq!((fit.preload, fit.reserve), (thou(750), thou(200)));
        assert_eq!((fit.grade, fit.because), (Grade::Sure, None));
    });
    // With another disc the difference of gaps needs the ratio, and still not the gap.
    car.set("D", "thickness", 330);
    car.copy("D", "D2", &[("thickness", 4)]);
    let swapped = |car: &Car| {
        car.swapped(&[("disc", &["D2"])], |_, fit| (fit.preload, fit.preload_form.spread().assumed))
    };
    // A ratio that nobody knows is taken as 3.75 +- 0.75 (common practice, no source).
    assert_eq!(swapped(&car), (thou(750 - 15), true));
    car.part("P").set("finger_ratio", Some(RATIO));
    assert_eq!(swapped(&car), (thou(750 - 14), false));
}

#[test]
fn a_worn_disc_of_unknown_thickness_has_lost_half_of_its_wear_give_or_take_that_half() {
    let mut car = Car::measured();
    car.set("P", "wear_allowance", 30);
    car.job.window[Edge::ReserveMin] = Some(thou(135));
    car.job.disc_state = DiscState::Worn;
    car.now(|_, fit| {
        // 3.5 times 0.015 in lower than it was read.
        assert_eq!((fit.preload, fit.reserve), (tenths(6975), tenths(2525)));
        assert_eq!((fit.grade, fit.because), (Grade::Likely, None));
        let spread = fit.preload_form.spread();
        // The two readings, and 3.5 times 0.015; the tolerances of two discs of one number cancel.
        assert_eq!(spread.worst_case_length(), tenths(20 + 525));
        assert!(spread.assumed);
    });
    assert_eq!(car.as_it_stands(), both(750, 200));
    // Where nobody knows what it may lose: half of 0.040 in.
    car.part("P").set("wear_allowance", None);
    assert_eq!(car.numbers(&[]), both(750 - 70, 200 + 70));
}

#[test]
fn one_bearing_depth_serves_both_edges_and_two_serve_one_each() {
    let mut car = Car::measured();
    car.set("R", "extended_height", 3100);
    car.set("R", "retracted_height", 2150);
    car.read(Reading::BearingDepthRetracted, 3590, 1);
    assert_eq!(car.numbers(&[]), both(750, 190));
    let without = |reading: Reading| {
        let mut car = car.clone();
        car.job.readings[reading as usize] = None;
        car.numbers(&[])
    };
    assert_eq!(without(Reading::BearingDepthRetracted), both(750, 200));
    assert_eq!(without(Reading::BearingDepthExtended), both(760, 190));
}

/// The comparison of a length with its catalogued route.
fn finger_check(reading: i64, tol: i64, catalogued: i64) -> CrossCheck {
    let mut car = Car::paper();
    car.fit("block_plate", "BP", &[("thickness", 125)]);
    car.part("E").set("crank_protrusion", Some(entry(500, catalogued)));
    car.set("P", "wear_allowance", 40);
    car.read(Reading::FingerDepth, reading, tol);
    car.setup(|setup| setup.cross_checks().all[0].clone())
}

#[test]
fn two_routes_agree_are_doubtful_or_cannot_both_be_right() {
    // Limits of 3 and 4: beyond 7 they exclude each other, beyond 2 * 5 / sqrt(3) = 5.77 they are
    // doubtful.
    for (apart, agreement) in [
        (0, Agreement::Agree),
        (5, Agreement::Agree),
        (6, Agreement::Doubtful),
        (7, Agreement::Doubtful),
        (8, Agreement::CannotBothBeRight),
    ] {
        for sign in [1, -1] {
            let check = finger_check(3400 + sign * apart, 3, 4);
            assert_eq!(check.length(), "finger tips");
            assert_eq!(check.routes(), ["finger depth as measured", "the catalogued dimensions"]);
            assert_eq!(check.difference(), thou(sign * apart));
            assert_eq!(check.agreement, agreement, "{apart}");
        }
    }
}

#[test]
fn a_difference_is_explained_by_the_single_slip_that_makes_it() {
    let shown = |check: CrossCheck| -> Vec<String> {
        check.slips.iter().map(|slip| slip.show(Unit::In)).collect()
    };
    let slips = |reading: i64| shown(finger_check(reading, 1, 2));
    assert_eq!(slips(3400), [""; 0]);
    let plate = "finger_depth: the block plate's thickness, 0.125 in, was counted once too often or \
                 not at all";
    assert_eq!(slips(3400 - 125), [plate]);
    assert_eq!(slips(3400 + 1000), ["finger_depth: a bar of 1.000 in was not taken off"]);
    // A disc may be worn by anything up to its allowance of 0.040 in, and stands the fingers high.
    let worn = "finger_depth: facing wear times the finger ratio: a worn disc";
    let by = |wear: &str| [format!("{worn}, {wear} in of wear over the whole pack")];
    assert_eq!(slips(3400 + 140), by("0.040"));
    assert_eq!(slips(3400 + 70), by("0.020"));
    assert_eq!(slips(3400 - 70), [""; 0]);
    // The bearing's travel is no slip of the finger tips.
    assert_eq!(slips(3400 - 950), [""; 0]);
    assert_eq!(slips(3400 + 333), [""; 0]);
    let inches = finger_check(86_360, 1, 2);
    assert_eq!(inches.agreement, Agreement::CannotBothBeRight);
    let times = "finger_depth: 25.4 times too large: millimetres taken for inches";
    assert_eq!(shown(inches), [times]);
}

#[test]
fn the_measured_travel_is_compared_with_the_catalogued_one() {
    let mut car = Car::measured();
    car.loosen(1);
    let travel = |car: &Car| {
        car.setup(|setup| {
            let checks = &setup.cross_checks().all;
            let found = checks.iter().find(|check| check.length() == "bearing travel").unwrap();
            (found.agreement, found.difference())
        })
    };
    assert_eq!(travel(&car), (Agreement::Agree, Length::ZERO));
    // Four limits of 0.001 in: doubtful beyond 2 * 2 / sqrt(3) = 2.31, impossible beyond 4.
    car.read(Reading::BearingDepthRetracted, 3603, 1);
    assert_eq!(travel(&car), (Agreement::Doubtful, thou(3)));
    car.read(Reading::BearingDepthRetracted, 3605, 1);
    assert_eq!(travel(&car), (Agreement::CannotBothBeRight, thou(5)));
}
