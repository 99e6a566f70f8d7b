//! What is not known never looks better, and what is known counts.

use bellstack::model::edge::Edge;
use bellstack::model::job::{CrankPushed, DiscState, Reading};
use bellstack::model::length::Length;
use bellstack::model::part::Entry;
use bellstack::stack::cap::Cap;
use bellstack::stack::caution::{Caution, cautions};
use bellstack::stack::checks::Outcome;
use bellstack::stack::choice::Fill;
use bellstack::stack::fit::evaluate;
use bellstack::stack::grade::Grade;
use bellstack::stack::lengths::{AssumedGap, BearingFrom, End, FingerFrom, From, Missing};
use bellstack::stack::odds::{Chance, Proviso, chance_of};
use bellstack::stack::window::SetBy;

use super::car::{Car, both, entry, thou};

fn chance(car: &Car) -> f64 {
    car.now(|_, fit| chance_of(fit).value().unwrap())
}

/// Common practice, no source: a finger ratio that nobody knows is 3.75 +- 0.75.
#[test]
fn an_unknown_ratio_does_not_drop_a_known_misfit() {
    let mut car = Car::paper();
    car.job.window[Edge::PreloadMin] = Some(thou(650));
    car.part("P").set("finger_ratio", None);
    let matching = chance(&car);
    // A disc 0.060 in thicker than the gap: 3.75 times that is 0.225 in of preload.
    car.set("D", "thickness", 390);
    car.now(|setup, fit| {
        assert_eq!((fit.preload, fit.reserve), (thou(525), thou(425)));
        assert!(fit.grade > Grade::Marginal, "{:?}", fit.grade);
        assert!(cautions(setup, fit).contains(&Caution::RatioAssumed));
        // The ratio's own error, 0.75 times 0.060 in.
        let spread = fit.preload_form.spread();
        assert_eq!(spread.worst_case_length(), thou(45));
        assert!(spread.assumed);
    });
    assert!(matching > 0.99, "{matching}");
    car.set("P", "set_gap_max", 400);
    let misfit = chance(&car);
    assert!(misfit < 0.01, "{misfit}");
}

#[test]
fn an_unknown_ratio_asks_for_the_reserve_that_the_largest_would() {
    let mut car = Car::paper();
    car.set("P", "wear_allowance", 30);
    car.house.window[Edge::PreloadMin] = Some(thou(600));
    let reserve = |car: &Car| {
        car.now(|_, fit| {
            let limit = fit.window.limits[Edge::ReserveMin].unwrap();
            (limit.at, limit.set_by, fit.window.ratio_assumed, fit.wear.unwrap())
        })
    };
    let (at, by, assumed, wear) = reserve(&car);
    assert_eq!((at, by, assumed), (thou(105 + 30), SetBy::Clutch, false));
    assert!(!wear.ratio_assumed);
    car.part("P").set("finger_ratio", None);
    let (at, by, assumed, wear) = reserve(&car);
    // 4.5 times 0.030 in and the margin.
    assert_eq!((at, by, assumed), (thou(135 + 30), SetBy::Clutch, true));
    // 0.200 in of reserve are 0.0444 in of wear at 4.5.
    assert_eq!((wear.wear, wear.ratio_assumed), (Length::from_nm(1_128_888), true));
    // It is the upper end already: what is certain with it stays certain.
    car.now(|_, fit| assert_eq!(fit.grade, Grade::Sure));
}

/// The correction of a plate without a set gap: by how much the finger tips move, and its limits.
fn correction(car: &Car) -> (Length, Length, Option<AssumedGap>) {
    car.now(|_, fit| {
        let finger = &fit.lengths.finger;
        let product = &finger.form.products;
        let moved = product.iter().map(bellstack::stack::form::Product::value).sum();
        (moved, finger.form.spread().worst_case_length(), finger.set_gap_assumed)
    })
}

#[test]
fn a_blank_set_gap_is_assumed_by_the_first_of_four_ways_that_applies() {
    let blank = || {
        let mut car = Car::paper();
        car.part("P").set("set_gap", None);
        car
    };
    // The gap of the parts that the job names, give or take 0.030 in; 3.5 times that.
    let named = Some(AssumedGap::RangeUnknown);
    assert_eq!(correction(&blank()), (Length::ZERO, thou(105), named));
    // The candidate's disc keeps its tolerance, though it has the same number.
    let mut car = blank();
    car.part("D").set("thickness", Some(entry(330, 2)));
    assert_eq!(correction(&car).1, thou(105 + 7));
    // The middle of its range, give or take half of it.
    let mut car = blank();
    car.set("P", "set_gap_min", 310);
    car.set("P", "set_gap_max", 330);
    assert_eq!(correction(&car), (thou(-35), thou(35), Some(AssumedGap::RangeKnown)));
    // Another plate than the job's: a disc of 0.330 +- 0.050 in, whatever the job names.
    let mut car = blank();
    car.set("D", "thickness", 340);
    car.copy("P", "P2", &[]);
    let fit = car.swapped(&[("pressure_plate", &["P2"])], |_, fit| {
        let spread = fit.lengths.finger.form.spread();
        (fit.preload, spread.worst_case_length(), fit.lengths.finger.set_gap_assumed)
    });
    assert_eq!(fit, (thou(750 - 35), thou(175), named));
    // A step of the flywheel cancels there, and its tolerance with it, but for the cover itself.
    car.part("F").set("cover_step", Some(entry(100, 1)));
    let fit = car.swapped(&[("pressure_plate", &["P2"])], |_, fit| {
        (fit.preload, fit.lengths.finger.form.spread().worst_case_length())
    });
    assert_eq!(fit, (thou(750 + 100 - 35), thou(175 + 1)));
}

#[test]
fn a_matched_set_without_a_set_gap_was_taken_with_its_own_pack_on_a_flat_flywheel() {
    let mut car = Car::paper();
    car.part("P").set("set_gap", None);
    car.part("P").set("pack_thickness", Some(entry(750, 9)));
    car.put("disc", &[]);
    assert_eq!(correction(&car), (Length::ZERO, Length::ZERO, None));
    // Flat within 0.002 in is flat: the step counts once, under the cover.
    car.part("F").set("cover_step", Some(entry(0, 2)));
    assert_eq!(correction(&car), (Length::ZERO, thou(2), None));
    // On a stepped one the pack still cancels, and 0.030 in may be off.
    car.part("F").set("cover_step", Some(entry(100, 2)));
    let (moved, limit, assumed) = correction(&car);
    assert_eq!((moved, limit), (Length::ZERO, thou(105 + 2)));
    assert_eq!(assumed, Some(AssumedGap::RangeUnknown));
}

#[test]
fn what_an_assumed_set_gap_makes_of_a_chance_is_said_with_it() {
    let mut car = Car::paper();
    car.part("P").set("set_gap", None);
    car.now(|_, fit| {
        let Chance::Of(chance, conditions) = chance_of(fit) else { panic!() };
        assert_eq!(conditions, [Proviso::SetGap(AssumedGap::RangeUnknown)]);
        assert!(chance < 1.0);
        assert!(fit.grade > Grade::Sure);
    });
}

#[test]
fn with_anything_assumed_a_chance_is_never_above_999_in_a_thousand() {
    let mut car = Car::paper();
    car.part("B").set("depth", Some(Entry { tol: None, ..entry(6000, 0) }));
    assert!((chance(&car) - 0.999).abs() < 1e-12);
}

#[test]
fn a_chance_on_a_disc_of_unknown_state_names_its_condition() {
    let mut car = Car::measured();
    car.job.disc_state = DiscState::Unknown;
    car.job.window[Edge::ReserveMin] = Some(thou(100));
    car.now(|_, fit| {
        let Chance::Of(_, conditions) = chance_of(fit) else { panic!() };
        assert_eq!(conditions, [Proviso::DiscIsNew]);
        assert_eq!(fit.because, Some(Cap::StateUnknown));
    });
}

#[test]
fn a_diaphragm_outside_its_range_has_no_chance_that_could_be_counted() {
    let mut car = Car::paper();
    car.set("D", "thickness", 351);
    car.now(|_, fit| assert_eq!(chance_of(fit), Chance::Unknown(Cap::OutsideRange)));
}

/// Three readings and no part number: finger depth and both bearing depths.
fn three_readings() -> Car {
    let mut car = Car::paper();
    for slot in &mut car.job.fitted {
        slot.clear();
    }
    car.read(Reading::FingerDepth, 3400, 1);
    car.read(Reading::BearingDepthExtended, 2650, 1);
    car.read(Reading::BearingDepthRetracted, 3600, 1);
    car
}

#[test]
fn three_readings_answer_a_car_whose_part_numbers_nobody_knows() {
    let car = three_readings();
    car.now(|setup, fit| {
        assert_eq!((fit.preload, fit.reserve, fit.travel), (thou(750), thou(200), thou(950)));
        assert_eq!(fit.grade, Grade::Sure);
        let on_bench: Vec<&str> =
            fit.on_bench().map(|slot| setup.library.kinds.slot_key(slot)).collect();
        let all =
            ["engine", "flywheel", "disc", "pressure_plate", "bell_housing", "gearbox", "bearing"];
        assert_eq!(on_bench, all);
    });
    // A plate that goes in front of the bell needs nothing of what is on the bench.
    let mut car = car;
    car.add("block_plate", "BP", &[("thickness", 20)]);
    assert_eq!(car.numbers(&[("block_plate", &["BP"])]), both(730, 220));
    // Another flywheel does: the one on the bench has no dimension that anybody knows.
    car.setup(|setup| {
        let mut choice = setup.fitted_choice().unwrap();
        let slot = setup.slot("flywheel").unwrap();
        choice.fills[slot] = Fill::one(setup.library.find("F").unwrap());
        let lacks = evaluate(setup, &choice).unwrap_err();
        let flywheel = |dim| Missing { kind: "flywheel", id: None, dim };
        assert_eq!(lacks.finger[0], [flywheel("cover_step"), flywheel("thickness")]);
    });
}

#[test]
fn with_one_depth_alone_the_bearing_is_not_as_on_the_bench() {
    let mut car = three_readings();
    car.job.readings[Reading::BearingDepthRetracted as usize] = None;
    car.setup(|setup| {
        let slot = setup.slot("bearing").unwrap();
        assert!(setup.fitted[slot].is_empty());
        assert!(setup.fitted[setup.slot("gearbox").unwrap()].on_bench);
    });
}

#[test]
fn a_plate_over_which_it_was_read_needs_no_thickness_while_it_stays() {
    let mut car = Car::measured();
    car.add("block_plate", "BP", &[]);
    car.put("block_plate", &["BP"]);
    car.read(Reading::FingerDepth, 3400 - 125, 1);
    car.job.depth_over_plate = true;
    car.read(Reading::BearingDepthExtended, 2650 - 125, 1);
    car.read(Reading::BearingDepthRetracted, 3600 - 125, 1);
    assert_eq!(car.numbers(&[]), both(750, 200));
    // Known at any thickness, the answer is the same.
    for thickness in [10, 125, 400] {
        let mut known = car.clone();
        known.set("BP", "thickness", thickness);
        assert_eq!(known.numbers(&[]), both(750, 200), "{thickness}");
    }
    // Out it goes: then its thickness counts, and is missing.
    car.part("E").set("crank_protrusion", None);
    car.setup(|setup| {
        let mut choice = setup.fitted_choice().unwrap();
        choice.fills[setup.slot("block_plate").unwrap()] = Fill::empty();
        let lacks = evaluate(setup, &choice).unwrap_err();
        let plate = Missing { kind: "block_plate", id: Some("BP".into()), dim: "thickness" };
        assert_eq!(lacks.finger[0], [plate]);
    });
}

#[test]
fn the_end_that_was_read_needs_no_height_of_a_bearing_that_stays() {
    let mut car = Car::measured();
    car.job.readings[Reading::BearingDepthRetracted as usize] = None;
    car.copy("R", "R2", &[]);
    // The other end needs extended less retracted; another bearing needs the height at the end that
    // was read.
    car.part("R").set("extended_height", None);
    car.setup(|setup| {
        let lacks = evaluate(setup, &setup.fitted_choice().unwrap()).unwrap_err();
        let height = Missing { kind: "bearing", id: Some("R".into()), dim: "extended_height" };
        assert_eq!(lacks.bearing[0], [height]);
    });
    car.set("R", "extended_height", 3100);
    car.part("R").set("retracted_height", None);
    // Its retracted height cancels where another bearing takes its place.
    assert_eq!(car.numbers(&[("bearing", &["R2"])]), both(750, 200));
    car.swapped(&[("bearing", &["R2"])], |_, fit| {
        assert_eq!(fit.lengths.bearing.from, BearingFrom::Reading(End::Extended));
    });
}

#[test]
fn the_starter_on_the_block_asks_for_no_thickness_of_a_plate() {
    let mut car = Car::measured();
    car.fit("bell_spacer", "BS", &[("thickness", 100)]);
    car.add("block_plate", "BP", &[]);
    car.put("block_plate", &["BP"]);
    car.job.depth_over_plate = true;
    car.job.starter_on = bellstack::model::job::StarterOn::Block;
    car.swapped(&[("bell_spacer", &[])], |_, fit| {
        let check = fit.checks.iter().find(|check| check.name == "starter").unwrap();
        assert!(matches!(check.outcome, Outcome::Pass(_)), "{check:?}");
    });
}

#[test]
fn a_disc_whose_thickness_nobody_knows_is_a_missing_dimension() {
    let mut car = Car::measured();
    car.part("E").set("crank_protrusion", None);
    car.part("D").set("thickness", None);
    car.copy("F", "F2", &[("thickness", -40)]);
    // It stays with its flywheel's step: nothing has to be known of it.
    assert_eq!(car.numbers(&[("flywheel", &["F2"])]), both(710, 240));
    car.add("disc", "D2", &[("thickness", 334)]);
    let missing = |swap: &str| {
        car.setup(|setup| {
            let mut choice = setup.fitted_choice().unwrap();
            let slot = setup.slot("disc").unwrap();
            choice.fills[slot] = Fill::one(setup.library.find(swap).unwrap());
            evaluate(setup, &choice).unwrap_err().finger
        })
    };
    let thickness = Missing { kind: "disc", id: Some("D".into()), dim: "thickness" };
    assert_eq!(missing("D2")[0], [thickness]);
}

#[test]
fn the_finger_route_is_chosen_after_collecting_with_the_block_plate() {
    // Read over a plate that stays: its limits cancel, so the reading is surer than the catalog,
    // though the plate's own thickness is uncertain by more.
    let mut car = Car::paper();
    car.loosen(2);
    car.fit("block_plate", "BP", &[]);
    car.part("BP").set("thickness", Some(entry(125, 20)));
    car.read(Reading::FingerDepth, 3400 - 125 + 6, 3);
    car.job.depth_over_plate = true;
    car.now(|_, fit| {
        assert_eq!(fit.lengths.finger.from, FingerFrom::Depth);
        assert_eq!((fit.preload, fit.reserve), (thou(631), thou(319)));
    });
}

#[test]
fn one_bearing_route_serves_both_edges_so_that_the_travel_is_its_own() {
    // One depth, read well; its bearing's retracted height is known badly, the catalog's sum well.
    let mut car = Car::paper();
    car.read(Reading::BearingDepthExtended, 2660, 1);
    car.part("R").set("retracted_height", Some(entry(2150, 30)));
    car.now(|_, fit| {
        assert_eq!(fit.travel, thou(950), "the catalogued travel of the bearing");
        assert_eq!(fit.preload + fit.reserve, fit.travel);
    });
    // Both depths and another bearing: its travel is its own, whatever was read on the old one.
    let mut car = Car::measured();
    car.copy("R", "R2", &[("retracted_height", -50)]);
    car.read(Reading::BearingDepthRetracted, 3607, 1);
    car.swapped(&[("bearing", &["R2"])], |_, fit| assert_eq!(fit.travel, thou(1000)));
}

#[test]
fn a_step_swapped_for_another_flat_one_brings_no_error_of_the_ratio_in() {
    let mut car = Car::measured();
    car.part("P").set("finger_ratio", None);
    car.part("F").set("cover_step", None);
    car.exact("F", "thickness");
    car.copy("F", "F2", &[("thickness", -40)]);
    car.swapped(&[("flywheel", &["F2"])], |_, fit| {
        assert_eq!((fit.grade, fit.preload), (Grade::Sure, thou(710)));
    });
}

#[test]
fn a_catalogued_protrusion_counts_end_float_both_ways() {
    let mut car = Car::measured();
    car.set("E", "crank_end_float", 6);
    car.job.crank_pushed = CrankPushed::Front;
    let float = |car: &Car| car.now(|_, fit| (fit.float.rearward, fit.float.forward));
    assert_eq!(float(&car), (thou(6), Length::ZERO));
    // What the reserve buys in wear has it taken off too: 0.194 in at 3.5.
    car.now(|_, fit| assert_eq!(fit.wear.unwrap().wear, Length::from_nm(1_407_885)));
    car.job.readings[Reading::FingerDepth as usize] = None;
    car.read(Reading::ClutchHeight, 2900, 1);
    assert_eq!(float(&car), (thou(6), thou(6)));
    car.read(Reading::CrankProtrusion, 500, 1);
    assert_eq!(float(&car), (thou(6), Length::ZERO));
}

#[test]
fn end_float_that_nobody_knows_is_an_unchecked_check() {
    let outcome = |car: &Car| {
        car.now(|_, fit| {
            let check = fit.checks.iter().find(|check| check.name == "end_float").unwrap();
            check.outcome.clone()
        })
    };
    let mut car = Car::paper();
    assert_eq!(outcome(&car), Outcome::Unchecked(vec!["engine.crank_end_float".into()]));
    car.set("E", "crank_end_float", 6);
    assert!(matches!(outcome(&car), Outcome::Pass(_)));
}

#[test]
fn a_contradiction_caps_every_stack_that_rests_on_either_route() {
    let mut car = Car::paper();
    car.loosen(1);
    car.read(Reading::FingerDepth, 3420, 1);
    let graded = |car: &Car| car.now(|_, fit| (fit.grade, fit.because));
    assert_eq!(graded(&car), (Grade::Marginal, Some(Cap::Contradiction)));
    // Of another engine nothing of the reading stays but the clutch, and the contradiction with it.
    car.copy("E", "E2", &[]);
    car.swapped(&[("engine", &["E2"])], |_, fit| {
        assert_eq!(fit.because, Some(Cap::Contradiction));
    });
    // A doubt takes a sure stack down to likely.
    car.read(Reading::FingerDepth, 3412, 1);
    assert_eq!(graded(&car), (Grade::Likely, Some(Cap::Doubt)));
}

#[test]
fn two_readings_that_agree_confirm_each_other_against_the_catalog() {
    let mut car = Car::paper();
    car.loosen(1);
    car.read(Reading::FingerDepth, 3420, 1);
    car.read(Reading::CrankProtrusion, 500, 1);
    car.read(Reading::ClutchHeight, 2920, 1);
    car.setup(|setup| assert!(setup.cross_checks().confirmed));
    let graded = |car: &Car| car.now(|_, fit| (fit.grade, fit.because));
    assert_eq!(graded(&car), (Grade::Sure, None));
    // A part inside that sum that is replaced is taken off by the catalog's number.
    car.copy("F", "F2", &[]);
    car.swapped(&[("flywheel", &["F2"])], |_, fit| {
        assert_eq!(fit.because, Some(Cap::CatalogContradicted));
    });
    // A plate in front of the bell is not inside it.
    car.add("block_plate", "BP", &[("thickness", 20)]);
    car.swapped(&[("block_plate", &["BP"])], |_, fit| assert_eq!(fit.because, None));
    // Where all of the clutch is replaced, its readings cap nothing.
    for (id, other) in [("D", "D2"), ("P", "P2"), ("E", "E2")] {
        car.copy(id, other, &[]);
    }
    let all: super::car::Swaps<'_> = &[
        ("engine", &["E2"]),
        ("flywheel", &["F2"]),
        ("disc", &["D2"]),
        ("pressure_plate", &["P2"]),
    ];
    car.swapped(all, |_, fit| {
        let listed = FingerFrom::Apart { crank: From::Catalog, clutch: From::Catalog };
        assert_eq!((fit.lengths.finger.from, fit.because), (listed, None));
    });
}

#[test]
fn the_travel_caps_only_what_keeps_the_bearing() {
    let mut car = Car::measured();
    car.loosen(1);
    car.part("B").set("depth", Some(entry(6000, 100)));
    car.read(Reading::BearingDepthRetracted, 3610, 1);
    let because = |car: &Car| car.now(|_, fit| fit.because);
    assert_eq!(because(&car), Some(Cap::Contradiction));
    car.copy("R", "R2", &[]);
    car.swapped(&[("bearing", &["R2"])], |setup, fit| {
        let wrong: Vec<_> = setup.cross_checks().apart().iter().map(|c| c.length()).collect();
        assert_eq!(wrong, ["bearing travel"]);
        assert_eq!(fit.because, None);
    });
}

#[test]
fn a_worn_disc_does_not_look_worse_than_one_of_unknown_state() {
    // The worn one is judged with what it has lost; the unknown one as new, and held down for it.
    let grade = |state: DiscState| {
        let mut car = Car::measured();
        car.set("P", "wear_allowance", 40);
        car.job.window[Edge::PreloadMin] = Some(thou(700));
        car.job.disc_state = state;
        car.now(|_, fit| fit.grade)
    };
    assert!(grade(DiscState::Unknown) >= Grade::Marginal);
    assert!(grade(DiscState::Worn) >= Grade::Marginal);
    assert_eq!(grade(DiscState::New), Grade::Sure);
}

#[test]
fn a_fitted_piece_is_as_it_is_and_stays() {
    let mut car = Car::measured();
    car.piece("D", "A", bellstack::model::pieces::Condition::Used);
    car.instrument("mic", 1);
    car.gauge("D#A", "thickness", &[3200, 3200, 3200, 3200], Some("mic"));
    car.put("disc", &["D#A"]);
    car.job.disc_state = DiscState::Worn;
    car.now(|setup, fit| {
        assert_eq!((fit.preload, fit.reserve), (thou(750), thou(200)));
        assert_eq!(fit.to_buy, bellstack::stack::cost::ToBuy::default());
        assert!(!fit.lengths.finger.loss_assumed && !fit.lengths.finger.state_unknown);
        assert_eq!(setup.facings(), bellstack::stack::choice::Facings::Stay);
    });
}

#[test]
fn a_worn_disc_on_the_bench_is_replaced_by_one_like_it_that_is_to_be_bought() {
    let mut car = three_readings();
    car.job.disc_state = DiscState::Worn;
    car.now(|setup, fit| {
        // 3.75 times half of 0.040 in lower.
        assert_eq!((fit.preload, fit.reserve), (thou(750 - 75), thou(200 + 75)));
        assert_eq!(fit.to_buy.unpriced, 1);
        assert!(cautions(setup, fit).contains(&Caution::LossAssumed));
    });
    // Its thickness says nothing while nobody knows how thick a new one is.
    car.read(Reading::FittedDiscThickness, 310, 1);
    assert_eq!(car.numbers(&[]), both(675, 275));
    // A disc of the library in its place does: 3.75 times 0.330 less 0.310 in.
    car.add("disc", "D3", &[("thickness", 330)]);
    assert_eq!(car.numbers(&[("disc", &["D3"])]), both(675, 275));
}

#[test]
fn a_retired_part_that_is_fitted_is_named() {
    let mut car = Car::paper();
    car.part("R").retired = true;
    car.now(|setup, fit| assert_eq!(cautions(setup, fit), [Caution::Retired("R".into())]));
}
