//! What to measure next, and what may be accepted when it arrives: hand sums, and every limit tried
//! again on a shop that has it.

use bellstack::model::edge::Edge;
use bellstack::model::entry::{Accuracy, Evidence};
use bellstack::model::job::{READINGS, Reading};
use bellstack::model::length::Length;
use bellstack::model::part::{Entry, possible};
use bellstack::model::pieces::Condition;
use bellstack::model::pieces::Condition::New;
use bellstack::solve::ask::Ask;
use bellstack::solve::candidates::{candidates, shims_within};
use bellstack::stack::choice::{Choice, Fill, Setup};
use bellstack::stack::fit::evaluate;
use bellstack::stack::grade::Grade;
use bellstack::stack::measuring::{Acceptance, Decision, Dimension, Next, ToMeasure, to_measure};
use bellstack::stack::shown::OneStack;
use bellstack::stack::trial::Span;

use super::car::{Car, entry, thou};
use crate::random::{Dice, Shop, shop};

fn measuring(car: &Car) -> ToMeasure {
    car.now(|setup, fit| to_measure(setup, fit).unwrap())
}

/// The reading that decides the fitted stack.
fn decisive(car: &Car) -> Option<Decision> {
    decides(&measuring(car)).cloned()
}

fn decides(measure: &ToMeasure) -> Option<&Decision> {
    match &measure.next {
        Some(Next::Read(decision)) => Some(decision),
        _ => None,
    }
}

fn span(from: i64, to: i64) -> Span {
    Span { from: Some(from), to: Some(to) }
}

fn accepted<'m>(measure: &'m ToMeasure, part: &str, key: &str) -> &'m Acceptance {
    let own =
        |row: &&Acceptance| row.dimension.part.as_deref() == Some(part) && row.dimension.key == key;
    measure.accept.iter().find(own).unwrap()
}

/// The paper car, whose preload of 0.750 in may fall by 0.150 in and whose reserve of 0.200 in by
/// 0.050 in; its flywheel is listed as 1.000 +- `tol` thousandths.
fn paper(tol: i64) -> Car {
    let mut car = Car::paper();
    car.part("F").set("thickness", Some(entry(1000, tol)));
    car
}

#[test]
fn shares_of_the_variance_are_ordered_and_add_up() {
    let mut car = paper(20);
    car.part("D").set("thickness", Some(entry(330, 10)));
    car.part("B").set("depth", Some(entry(6000, 15)));
    // The disc counts with 3.5 times its tolerance: 35^2, 20^2 and 15^2 are 1850 in all.
    let measure = measuring(&car);
    let found: Vec<_> = measure.shares.iter().map(|(of, share)| (of.name(), *share)).collect();
    let by_hand = [
        ("disc.thickness", 1225.0 / 1850.0),
        ("flywheel.thickness", 400.0 / 1850.0),
        ("bell_housing.depth", 225.0 / 1850.0),
    ];
    assert_eq!(found.len(), by_hand.len());
    for ((name, share), (expected, by_hand)) in found.iter().zip(by_hand) {
        assert_eq!(name, expected);
        assert!((share - by_hand).abs() < 1e-12, "{name}: {share} is not {by_hand}");
    }
    assert_eq!(measure.edge, Edge::ReserveMin, "the least reserve has less room");
}

#[test]
fn a_reading_that_decides_says_within_which_limits() {
    // 2u of +-0.055 in is 0.064 in: marginal. The shop has no instrument, and assumes +-0.005 in.
    let mut car = paper(55);
    let assumed = decisive(&car).unwrap();
    assert_eq!(
        (assumed.dimension.name().as_str(), assumed.reading.assumed),
        ("flywheel.thickness", true)
    );
    assert_eq!(assumed.sure, None);
    // With an instrument of +-0.001 in, u is 0.00057735 in.
    car.instrument("caliper", 10);
    car.piece("B", "1", New);
    // It repeats to the nanometre: nothing comes to the limit of error but that.
    car.gauge("B#1", "depth", &[60_000, 60_000], Some("caliper"));
    let decision = decisive(&car).unwrap();
    // Its rectangle is rounded up to whole nanometres, so that 2u is 29 330.6 nm.
    assert_eq!(decision.reading.wide, 25_401);
    let edges = (thou(850).nm(), thou(1050).nm());
    assert_eq!(decision.inside, Some(span(edges.0, edges.1)));
    assert_eq!(decision.likely, Some(span(edges.0 + 29_331, edges.1 - 29_331)));
    assert_eq!(decision.open, Some(span(edges.0 - 29_330, edges.1 + 29_330)));
    let limit = decision.reading.tol;
    assert_eq!(decision.sure, Some(span(edges.0 + limit, edges.1 - limit)));
}

#[test]
fn what_is_said_of_a_reading_comes_true_once_it_is_taken() {
    let mut car = paper(55);
    car.instrument("caliper", 10);
    car.piece("B", "1", New);
    car.gauge("B#1", "depth", &[60_000, 60_004], Some("caliper"));
    let decision = decisive(&car).unwrap();
    car.piece("F", "1", New);
    car.put("flywheel", &["F#1"]);
    let set = car.gauge("F#1", "thickness", &[0], Some("caliper")).clone();
    let mut graded = |value: i64| {
        car.measured.readings.last_mut().unwrap().values = vec![value];
        car.now(|_, fit| fit.grade)
    };
    assert_eq!(set.values, [0]);
    let ends =
        |span: Option<Span>| span.map(|span| (span.from.unwrap(), span.to.unwrap())).unwrap();
    for (wanted, (from, to)) in [
        (Grade::Sure, ends(decision.sure)),
        (Grade::Likely, ends(decision.likely)),
        (Grade::Marginal, ends(decision.inside)),
        (Grade::Undecided, ends(decision.open)),
    ] {
        for (end, beyond) in [(from, from - 1), (to, to + 1)] {
            assert_eq!(graded(end), wanted);
            assert!(graded(beyond) > wanted, "{wanted:?} one nanometre beyond {end}");
        }
    }
}

#[test]
fn the_reading_that_decides_is_one_that_may_well_come_out_so() {
    // Outside by 0.030 in: the flywheel holds most of the u, and the bell housing cannot be that far
    // off. Read as it is listed to be, it decides.
    let mut car = paper(55);
    car.set("F", "thickness", 1080);
    car.part("F").set("thickness", Some(entry(1080, 55)));
    car.part("B").set("depth", Some(entry(6000, 10)));
    let decision = decisive(&car).unwrap();
    assert_eq!(decision.dimension.part.as_deref(), Some("F"));
    // Where it cannot be that far off itself, nothing decides, and there is nothing to be read.
    car.part("F").set("thickness", Some(entry(1080, 8)));
    car.part("B").set("depth", Some(entry(6000, 8)));
    let measure = measuring(&car);
    assert!(measure.next.is_none(), "{:?}", measure.next);
    // A job whose grade is good asks for nothing.
    assert!(decisive(&paper(1)).is_none());
}

#[test]
fn a_reading_of_the_job_decides_as_well() {
    let mut car = Car::measured();
    car.read(Reading::FingerDepth, 3400, 55);
    let decision = decisive(&car).unwrap();
    assert_eq!(decision.dimension.name(), "job.finger_depth");
    let inside = Some(span(thou(3250).nm(), thou(3450).nm()));
    assert_eq!(decision.inside, inside);
    // An instrument's limit of error is what its readings are stated to.
    car.instrument("depth gauge", 5);
    // Nobody knows what one reaches that the shop never used.
    assert_eq!(decisive(&car).unwrap().reading, decision.reading);
    car.copy("F", "OTHER", &[]);
    car.piece("OTHER", "1", Condition::New);
    car.gauge("OTHER#1", "thickness", &[9999, 10001], Some("depth gauge"));
    let stated = decisive(&car).unwrap();
    assert_eq!(stated.reading, Accuracy::stated(thou(1).nm() / 2));
    // Worst case 0.0005 + 0.001 in of the bearing depth.
    let worst = thou(3).nm() / 2;
    assert_eq!(stated.sure, Some(span(thou(3250).nm() + worst, thou(3450).nm() - worst)));
}

#[test]
fn a_disc_is_accepted_as_far_as_the_diaphragm_works() {
    let mut car = paper(0);
    car.copy("D", "D2", &[]);
    car.copy("R", "R2", &[]);
    let measure = car.swapped(&[("disc", &["D2"]), ("bearing", &["R2"])], |setup, fit| {
        to_measure(setup, fit).unwrap()
    });
    // 0.050 in of reserve are 0.0142857 in of disc; the last nanometre inside is 362 857.
    let row = accepted(&measure, "D2", "thickness");
    let thin = thou(330).nm() - 362_857;
    // 0.150 in of preload would be 0.0428571 in, but the range about set_gap ends at 0.020 in.
    assert_eq!(row.likely, Some(span(thin, thou(350).nm())));
    assert_eq!(row.inside, Some(span(thin, thou(330).nm() + 1_088_571)));
    // A bearing's two heights stand for one number each.
    let tall = accepted(&measure, "R2", "extended_height");
    assert_eq!(tall.likely, Some(Span { from: Some(thou(2950).nm()), to: None }));
    let short = accepted(&measure, "R2", "retracted_height");
    assert_eq!(short.likely, Some(Span { from: None, to: Some(thou(2200).nm()) }));
}

#[test]
fn only_what_is_still_to_be_bought_has_limits() {
    let mut car = paper(0);
    car.copy("F", "F2", &[("thickness", 10)]);
    car.add("bearing_shim", "S", &[("thickness", 30)]);
    car.set("R", "max_shim", 200);
    let rows = |car: &Car, swaps: super::car::Swaps<'_>| -> Vec<String> {
        car.swapped(swaps, |setup, fit| {
            let rows = to_measure(setup, fit).unwrap().accept;
            let name =
                |row: Acceptance| format!("{} {}", row.dimension.part.unwrap(), row.dimension.key);
            rows.into_iter().map(name).collect()
        })
    };
    assert_eq!(rows(&car, &[]), [""; 0]);
    assert_eq!(rows(&car, &[("flywheel", &["F2"])]), ["F2 thickness", "F2 cover_step"]);
    // Of two shims that are bought, each is held to its own limits, the other as it stands.
    assert_eq!(rows(&car, &[("bearing_shim", &["S", "S"])]), ["S thickness"]);
    car.part("S").on_hand = 2;
    assert_eq!(rows(&car, &[("bearing_shim", &["S", "S"])]), [""; 0]);
    car.part("S").on_hand = 1;
    car.swapped(&[("bearing_shim", &["S", "S"])], |setup, fit| {
        let measure = to_measure(setup, fit).unwrap();
        // Reserve 0.140 in with both: none of 0.010 in less than 0.150 in is to be had but by a
        // thinner shim.
        let row = accepted(&measure, "S", "thickness");
        assert_eq!(fit.reserve, thou(140));
        assert_eq!(row.inside, Some(Span { from: None, to: Some(thou(20).nm()) }));
    });
}

/// A shop in which a dimension has another value, known as closely as a reading has it.
fn changed(shop: &Shop, of: &Dimension, value: i64, known: Accuracy) -> Shop {
    let Accuracy { tol, wide, assumed, basis } = known;
    let evidence = Some(Evidence { basis, wide, assumed });
    let entry = Some(Entry { value, tol: Some(tol), evidence });
    let (mut library, mut job) = (shop.library.clone(), shop.job.clone());
    if let Some(part) = &of.part {
        library.parts.iter_mut().find(|one| one.id == *part).unwrap().set(of.key, entry);
    } else {
        let reading = READINGS.iter().find(|spec| spec.key == of.key).unwrap().reading;
        job.readings[reading as usize] = entry;
    }
    Shop { library, job }
}

/// The grade of the same parts in a shop.
fn grade(shop: &Shop, stands: &Choice<'_>) -> Grade {
    let setup = Setup::new(&shop.library, &shop.job).unwrap();
    let kinds = shop.library.kinds;
    let fills = kinds.slots().zip(&stands.fills).map(|((kind, _), fill)| {
        let part = |id: &str| shop.library.part_of_kind(id, kind.key).unwrap();
        Fill { parts: fill.ids().into_iter().map(part).collect(), ..fill.clone() }
    });
    let choice = Choice { fills: fills.collect() };
    evaluate(&setup, &choice).unwrap().grade
}

#[test]
fn every_limit_is_exact_to_the_nanometre_in_random_shops() {
    let (mut ends, mut none, mut open) = (0, 0, 0);
    for seed in 0..400 {
        let shop = shop(seed, 2);
        let setup = Setup::new(&shop.library, &shop.job).unwrap();
        let mut dice = Dice::new(seed);
        let slots = candidates(&setup, &Ask::default()).unwrap().slots;
        if slots.iter().any(Vec::is_empty) {
            continue;
        }
        let choice = Choice { fills: slots.iter().map(|fills| dice.pick(fills).clone()).collect() };
        let shims = setup.slot("bearing_shim").unwrap();
        let bearing = setup.slot("bearing").unwrap();
        if setup.complete(&choice).is_err()
            || !shims_within(&choice.fills[bearing], &choice.fills[shims])
        {
            continue;
        }
        let Ok(fit) = evaluate(&setup, &choice) else { continue };
        let Some(measure) = to_measure(&setup, &fit) else { continue };
        let mut claims = Vec::new();
        for row in &measure.accept {
            claims.push((&row.dimension, row.reading, Grade::Likely, row.likely));
            claims.push((&row.dimension, row.reading, Grade::Marginal, row.inside));
        }
        if let Some(one) = decides(&measure) {
            claims.push((&one.dimension, one.reading, Grade::Sure, one.sure));
            claims.push((&one.dimension, one.reading, Grade::Likely, one.likely));
            claims.push((&one.dimension, one.reading, Grade::Marginal, one.inside));
            claims.push((&one.dimension, one.reading, Grade::Undecided, one.open));
        }
        for (of, known, wanted, range) in claims {
            // Of two pieces of a number one is tried, and a library cannot hold them apart.
            let pieces = choice.fills.iter().flat_map(Fill::ids);
            if pieces.filter(|id| Some(*id) == of.part.as_deref()).count() > 1 {
                continue;
            }
            // The number of a fitted piece also says with what disc its clutch was set: another value
            // of it would change more than the one that is tried.
            let fitted = setup.fitted.iter().flat_map(|fill| &fill.parts);
            if fitted.into_iter().any(|piece| piece.piece_of == of.part && of.part.is_some()) {
                continue;
            }
            let at = |value: i64| grade(&changed(&shop, of, value, known), &choice);
            let place = format!("seed {seed} {} {wanted:?} {range:?}", of.name());
            let kind = shop.library.kinds.get(of.kind);
            let spec = kind.and_then(|kind| Some(&kind.dims[kind.dim_index(of.key)?]));
            let (least, most) = spec.map_or((0, thou(10_000).nm()), possible);
            let Some(range) = range else {
                none += 1;
                for value in (0..20).map(|_| dice.range(least, most)).chain([of.value]) {
                    assert!(at(value) > wanted, "{place}: {value}");
                }
                continue;
            };
            for (end, beyond, limit) in [(range.from, -1, least), (range.to, 1, most)] {
                match end {
                    Some(end) => {
                        ends += 1;
                        assert!(at(end) <= wanted, "{place}: at {end}");
                        assert!(at(end + beyond) > wanted, "{place}: beyond {end}");
                    }
                    None if spec.is_some() => {
                        open += 1;
                        assert!(at(limit) <= wanted, "{place}: at {limit}");
                    }
                    None => {}
                }
            }
            let (from, to) = (range.from.unwrap_or(least), range.to.unwrap_or(most));
            assert!(at(dice.range(from, to)) <= wanted, "{place}: inside");
        }
    }
    assert!(ends > 400 && none > 400 && open > 60, "{ends} ends, {none} none, {open} open");
}

#[test]
fn tables_and_json_tell_the_limits() {
    use bellstack::model::length::Unit;
    use bellstack::report::{View, fit_json, fit_table};
    let mut car = paper(55);
    car.copy("R", "R2", &[("extended_height", 10)]);
    car.swapped(&[("bearing", &["R2"])], |setup, fit| {
        let report = OneStack::of(setup, fit.clone(), None, true);
        let table = fit_table(setup, &report, View::new(Unit::In, 100));
        assert!(table.lines().all(|line| line.chars().count() <= 100), "{table}");
        let next = "Next: measure thickness of F (a reading counts as +-0.0087 in, assumed): the \
                    stack is likely if it reads";
        let line = table.replace("\n  ", " ");
        assert!(line.contains(next), "{table}");
        assert!(table.contains("R2    extended_height    3.1100"), "{table}");
        let json: serde_json::Value = serde_json::from_str(&fit_json(setup, &report)).unwrap();
        let decides = &json["next"]["decides"];
        assert_eq!(decides["dimension"], "flywheel.thickness");
        assert_eq!(decides["in_window"]["to"]["nm"], thou(1050).nm());
        assert_eq!(json["measure_next"]["edge"], "reserve_min");
        assert_eq!(json["accept"][0]["part"], "R2");
        assert_eq!(json["accept"][0]["slot"], "bearing");
        assert!(json["accept"][0]["in_window"]["to"].is_null());
        assert_eq!(Length::from_nm(json["accept"][0]["value"]["nm"].as_i64().unwrap()), thou(3110));
    });
}
