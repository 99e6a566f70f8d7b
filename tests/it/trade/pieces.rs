//! Pieces of metal: what was read on them counts, for themselves and for the next one of their number.

use bellstack::measure::findings::Findings;
use bellstack::model::edge::Edge;
use bellstack::model::entry::{Basis, Entry};
use bellstack::model::length::{Length, Unit};
use bellstack::model::library::Library;
use bellstack::model::pieces::Condition::{Machined, New, Used};
use bellstack::report::{View, fit_json, fit_table};
use bellstack::solve::ask::Ask;
use bellstack::solve::candidates::candidates;
use bellstack::stack::grade::Grade;
use bellstack::stack::odds::chance_of;
use bellstack::stack::shown::OneStack;

use super::car::{Car, entry, tenths, thou};

/// The entry of a part of the library as it is used.
fn used(library: &Library, id: &str, dim: &str) -> Entry {
    library.find(id).and_then(|part| part.entry(dim)).unwrap_or_else(|| panic!("{id} has {dim}"))
}

fn basis(entry: Entry) -> Basis {
    entry.evidence.map_or(Basis::Listed, |evidence| evidence.basis)
}

/// The u that counts, in tenths of a thousandth.
fn u(entry: Entry) -> f64 {
    let wide = entry.evidence.map_or(entry.tol.unwrap(), |evidence| evidence.wide);
    f64::from(i32::try_from(wide).unwrap()) / 3.0_f64.sqrt() / 2540.0
}

fn close(found: f64, expected: f64, within: f64) {
    assert!((found - expected).abs() <= within, "{found} is not {expected} within {within}");
}

/// A car whose flywheel is listed as 1.000 +- `tol` thousandths, with an instrument that is never
/// wrong.
fn shop(tol: i64) -> Car {
    let mut car = Car::paper();
    car.part("F").set("thickness", Some(entry(1000, tol)));
    car.instrument("ideal", 0);
    car
}

/// Four pieces, in tenths of a thousandth: 0.9985, 1.0002, 1.0010 and 0.9995 in.
const FOUR: [i64; 4] = [9985, 10_002, 10_010, 9995];

fn four_pieces(tol: i64) -> Car {
    let mut car = shop(tol);
    for (label, value) in ["1", "2", "3", "4"].into_iter().zip(FOUR) {
        car.piece("F", label, New);
        car.gauge(&format!("F#{label}"), "thickness", &[value], Some("ideal"));
    }
    car
}

#[test]
fn a_job_goes_from_marginal_to_likely_to_sure_as_its_flywheel_is_measured() {
    // The reserve has 0.050 in of room; 2u of +-0.055 in is 0.064 in.
    let mut car = shop(55);
    let graded = |car: &Car| car.now(|_, fit| (fit.grade, fit.reserve.nm()));
    assert_eq!(graded(&car), (Grade::Marginal, thou(200).nm()));
    car.piece("F", "1", New);
    car.put("flywheel", &["F#1"]);
    assert_eq!(graded(&car), (Grade::Marginal, thou(200).nm()));
    // Nobody wrote down with what: the shop's assumed limit for readings keeps it from sure.
    car.gauge("F#1", "thickness", &[10_012], None);
    assert_eq!(graded(&car), (Grade::Likely, thou(200).nm() - tenths(12).nm()));
    // A known instrument counts before one that is not, and three readings tell their own scatter.
    car.gauge("F#1", "thickness", &[10_009, 10_010, 10_011], Some("ideal"));
    assert_eq!(graded(&car), (Grade::Sure, thou(200).nm() - tenths(10).nm()));
    // Struck, they count no more.
    car.measured.readings[1].struck = Some("wrong piece".into());
    assert_eq!(graded(&car).0, Grade::Likely);
}

#[test]
fn a_single_reading_without_any_scatter_known_is_marked() {
    let mut car = shop(5);
    car.instrument("caliper", 10);
    car.piece("F", "1", New);
    car.gauge("F#1", "thickness", &[10_000], Some("caliper"));
    let alone = used(&car.library(), "F#1", "thickness");
    assert_eq!(basis(alone), Basis::Measured { readings: 1 });
    assert!(alone.evidence.unwrap().assumed);
    // +-0.0010 in as a rectangle: u is 5.7735 tenths, the limit three of that.
    close(u(alone), 5.7735, 0.001);
    assert_eq!(alone.tol, Some(43_995));
    // Elsewhere the same caliper read 7 and 9 tenths: s is 1.414 tenths with one degree of freedom.
    car.piece("B", "1", New);
    car.gauge("B#1", "depth", &[60_007, 60_009], Some("caliper"));
    let known = used(&car.library(), "F#1", "thickness");
    assert!(!known.evidence.unwrap().assumed);
    // u_c^2 = 5.7735^2 + 1.4142^2, nu_eff = u_c^4 / 1.4142^4 = 312: k is 2.006 (common tables
    // give 2.007 for 300 and 2.000 at infinity).
    close(u(known), (5.7735_f64.powi(2) + 2.0).sqrt() * 1.0033, 0.005);
}

#[test]
fn the_finest_instrument_counts_and_coarser_readings_take_nothing_away() {
    let mut car = shop(5);
    car.instrument("rule", 200);
    car.piece("F", "1", New);
    car.gauge("F#1", "thickness", &[10_001, 10_003], Some("ideal"));
    let fine = used(&car.library(), "F#1", "thickness");
    car.gauge("F#1", "thickness", &[10_100], Some("rule"));
    car.gauge("F#1", "thickness", &[9900], None);
    assert_eq!(used(&car.library(), "F#1", "thickness"), fine);
    assert_eq!((fine.value, basis(fine)), (tenths(10_002).nm(), Basis::Measured { readings: 2 }));
}

#[test]
fn more_readings_of_the_same_values_never_raise_the_uncertainty() {
    for pair in [[10_000, 10_000], [10_000, 10_004], [9990, 10_010]] {
        let mut last = f64::INFINITY;
        for times in [1, 2, 3, 5, 8] {
            let mut car = shop(5);
            car.instrument("caliper", 10);
            car.piece("F", "1", New);
            car.gauge("F#1", "thickness", &pair.repeat(times), Some("caliper"));
            let now = used(&car.library(), "F#1", "thickness");
            assert_eq!(now.value, tenths(i64::midpoint(pair[0], pair[1])).nm());
            assert!(u(now) <= last, "{pair:?} {times} times: {} after {last}", u(now));
            last = u(now);
        }
    }
}

#[test]
fn the_next_piece_is_predicted_from_its_sisters() {
    // Mean 0.9998 in; u = s sqrt(1 + 1/4) = 1.186 thousandths with three degrees of freedom.
    let car = four_pieces(40);
    let next = used(&car.library(), "F", "thickness");
    assert_eq!((next.value, basis(next)), (tenths(9998).nm(), Basis::Predicted { pieces: 4 }));
    // NIST TN 1297, table B.1: 3.31 for 95.45 % and three degrees of freedom.
    close(2.0 * u(next), 11.867 * 3.31, 0.06);
    assert!(!next.evidence.unwrap().assumed);
    // Each piece is what it measured.
    assert_eq!(used(&car.library(), "F#3", "thickness").value, tenths(10_010).nm());
}

#[test]
fn a_prediction_keeps_the_maker_s_tolerance_only_while_every_piece_has_kept_it() {
    // 1.000 +- 0.002 in: from 0.9998 the farther edge is 0.0022 in away.
    let kept = used(&four_pieces(2).library(), "F", "thickness");
    assert_eq!((kept.value, kept.tol), (tenths(9998).nm(), Some(tenths(22).nm())));
    assert_eq!(kept.evidence.unwrap().wide, tenths(22).nm());
    // One piece measured 0.0015 in below: +-0.001 in says nothing of the next one any more.
    let broken = used(&four_pieces(1).library(), "F", "thickness");
    let free = used(&four_pieces(40).library(), "F", "thickness");
    assert_eq!(broken, free);
    assert!(broken.tol.unwrap() > tenths(60).nm());
    // Where the maker states none, the shop's own 0.005 in stands in for it, and is marked.
    let mut car = four_pieces(2);
    car.part("F").set("thickness", Some(Entry::new(thou(1000).nm(), None)));
    let own = used(&car.library(), "F", "thickness");
    assert_eq!((own.tol, own.evidence.unwrap().assumed), (Some(tenths(52).nm()), true));
}

#[test]
fn other_numbers_of_the_kind_lend_their_scatter_for_six_degrees_of_freedom() {
    let mut car = four_pieces(40);
    car.copy("F", "F2", &[("thickness", -100)]);
    car.piece("F2", "a", New);
    car.gauge("F2#a", "thickness", &[9004], Some("ideal"));
    // One piece of F2, and s = 1.0614 thousandths of F's four: sqrt(1 + 1/1) of that with six
    // degrees of freedom. Table B.1 has no row for six; common tables give 2.52 (from memory).
    let next = used(&car.library(), "F2", "thickness");
    assert_eq!((next.value, basis(next)), (tenths(9004).nm(), Basis::Predicted { pieces: 1 }));
    close(2.0 * u(next), 10.614 * 2.0_f64.sqrt() * 2.52, 0.1);
    // F itself: its own three degrees of freedom, and none of F2's single piece.
    assert_eq!(
        used(&car.library(), "F", "thickness"),
        used(&four_pieces(40).library(), "F", "thickness")
    );
    // A second piece of F2 like the first says that pieces differ little: pooled, s falls to
    // sqrt(3 s^2 / 9) for six prior degrees of freedom of nothing.
    car.piece("F2", "b", New);
    car.gauge("F2#b", "thickness", &[9004], Some("ideal"));
    let pooled = used(&car.library(), "F", "thickness");
    close(2.0 * u(pooled), 11.867 / 3.0_f64.sqrt() * 2.32, 0.02);
}

#[test]
fn one_piece_alone_predicts_nothing_beyond_what_its_maker_states() {
    let mut car = shop(5);
    car.piece("F", "1", New);
    car.gauge("F#1", "thickness", &[10_030], Some("ideal"));
    assert_eq!(used(&car.library(), "F", "thickness"), entry(1000, 5));
    // Where nothing is listed, its value is better than none; how much others differ is assumed.
    car.part("F").set("thickness", None);
    let next = used(&car.library(), "F", "thickness");
    assert_eq!(
        (next.value, next.tol, basis(next)),
        (tenths(10_030).nm(), None, Basis::Predicted { pieces: 1 })
    );
    assert!(car.now(|_, fit| fit.preload_form.spread().assumed));
}

#[test]
fn new_used_and_machined_pieces_are_never_averaged() {
    let mut car = four_pieces(40);
    let before = used(&car.library(), "F", "thickness");
    car.piece("F", "cut", Machined);
    car.gauge("F#cut", "thickness", &[9500, 9501], Some("ideal"));
    car.part("D").set("thickness", Some(entry(330, 5)));
    car.piece("D", "worn", Used);
    car.gauge("D#worn", "diameter", &[95_000], Some("ideal"));
    let library = car.library();
    assert_eq!(used(&library, "F", "thickness"), before);
    assert_eq!(used(&library, "D", "thickness"), entry(330, 5));
    assert_eq!(used(&library, "F#cut", "thickness").value, tenths(9500).nm() + 1270);
    // The step may have changed under the tool; how thick the worn disc is, nobody knows.
    assert_eq!(used(&library, "F#cut", "cover_step"), Entry::new(0, None));
    assert_eq!(library.find("D#worn").unwrap().missing(), ["thickness"]);
    assert_eq!(used(&library, "F#1", "cover_step"), entry(0, 0));
}

/// The picks of a slot, as they are written.
fn picks(car: &Car, kind: &str, ask: &Ask) -> Vec<String> {
    car.setup(|setup| {
        let slot = setup.slot(kind).unwrap();
        let fills = &candidates(setup, ask).unwrap().slots[slot];
        fills.iter().map(|fill| fill.ids().join("|")).collect()
    })
}

#[test]
fn a_piece_in_hand_is_a_candidate_once_and_takes_its_place_off_the_shelf() {
    let mut car = shop(5);
    car.add("bearing_shim", "S", &[("thickness", 30)]).on_hand = 3;
    for label in ["1", "2", "3", "4"] {
        car.piece("S", label, New);
        car.gauge(&format!("S#{label}"), "thickness", &[300], Some("ideal"));
    }
    car.measured.specimens[2].in_hand = false;
    car.measured.readings.pop();
    // The third is gone, and the fourth was never measured: any piece of the number may be it.
    let all = ["", "S", "S|S", "S|S#1", "S|S#2", "S#1", "S#1|S#2", "S#2"];
    assert_eq!(picks(&car, "bearing_shim", &Ask::default()), all);
    let library = car.library();
    let on_hand = |id: &str| library.find(id).unwrap().on_hand;
    assert_eq!(["S", "S#1", "S#2", "S#3", "S#4"].map(on_hand), [1, 1, 1, 0, 0]);
    let on_hand = Ask { on_hand: true, ..Ask::default() };
    assert_eq!(
        picks(&car, "bearing_shim", &on_hand),
        ["", "S", "S|S#1", "S|S#2", "S#1", "S#1|S#2", "S#2"]
    );
    // A number among those wanted or not wanted stands for its pieces too.
    let slot = library.kinds.slot_of("bearing_shim").unwrap();
    let only = Ask { only: vec![(slot, vec!["S#1".into(), "none".into()])], ..Ask::default() };
    assert_eq!(picks(&car, "bearing_shim", &only), ["", "S#1"]);
    let only = Ask { only: vec![(slot, vec!["S".into(), "none".into()])], ..Ask::default() };
    assert_eq!(picks(&car, "bearing_shim", &only), all);
    let skip = Ask { skip: vec!["S".into()], ..Ask::default() };
    assert_eq!(picks(&car, "bearing_shim", &skip), [""]);
    car.part("S").retired = true;
    assert_eq!(picks(&car, "bearing_shim", &Ask::default()), [""]);
}

#[test]
fn a_fitted_piece_stays_where_it_is_and_is_not_on_the_shelf() {
    let mut car = four_pieces(5);
    car.part("F").on_hand = 4;
    car.put("flywheel", &["F#2"]);
    let library = car.library();
    let on_hand = |id: &str| library.find(id).unwrap().on_hand;
    assert_eq!(["F", "F#1", "F#2"].map(on_hand), [1, 1, 0]);
    assert_eq!(picks(&car, "flywheel", &Ask::default()), ["F", "F#1", "F#2", "F#3", "F#4"]);
    car.now(|_, fit| {
        assert_eq!(fit.changed, [0; 0]);
        assert_eq!((fit.to_buy.unpriced, fit.preload.nm()), (0, thou(750).nm() + tenths(2).nm()));
    });
    // A job that names the number alone has some piece of it fitted, not one of these.
    car.put("flywheel", &["F"]);
    car.swapped(&[("flywheel", &["F#2"])], |_, fit| assert_eq!(fit.changed.len(), 1));
    // Only once in one stack.
    car.add("bearing_shim", "S", &[("thickness", 30)]);
    car.piece("S", "1", New);
    car.put("bearing_shim", &["S#1", "S#1"]);
    let refused = car.stored().check_job(&car.job).unwrap_err();
    assert!(
        refused[0].1.to_string().contains("`S#1` cannot stand in a stack twice"),
        "{refused:?}"
    );
    car.put("bearing_shim", &["S#1", "S"]);
    assert!(car.stored().check_job(&car.job).is_ok());
}

#[test]
fn a_stack_says_what_its_terms_rest_on() {
    let mut car = four_pieces(40);
    car.gauge("F#1", "thickness", &[9985, 9986], Some("ideal"));
    let told = |car: &Car| {
        car.now(|setup, fit| {
            let report = OneStack::of(setup, fit.clone(), None, false);
            let table = fit_table(setup, &report, View::new(Unit::In, 100));
            assert!(table.lines().all(|line| line.chars().count() <= 100), "{table}");
            let json: serde_json::Value = serde_json::from_str(&fit_json(setup, &report)).unwrap();
            let terms = json["terms"].as_array().unwrap().clone();
            let term = terms.into_iter().find(|term| term["dimension"] == "flywheel.thickness");
            (table, term.unwrap())
        })
    };
    let (table, term) = told(&car);
    assert!(table.contains("rests on") && table.contains(" 4 pieces "), "{table}");
    assert_eq!((&term["basis"], &term["pieces"]), (&"predicted".into(), &4.into()));
    car.put("flywheel", &["F#1"]);
    let (table, term) = told(&car);
    assert!(table.contains(" F#1 ") && table.contains(" 3 readings "), "{table}");
    assert_eq!((&term["basis"], &term["readings"]), (&"measured".into(), &3.into()));
    assert_eq!(term["part"], "F#1");
    // Without pieces there is nothing to say.
    assert!(!told(&shop(5)).0.contains("rests on"));
}

#[test]
fn what_was_measured_is_off_by_chance_as_a_normal_is() {
    let mut car = four_pieces(40);
    // Preload is 0.7498 in; its least is set 2 u above and below that, and all else is exact.
    car.house.window[Edge::ReserveMin] = Some(thou(0));
    let u_nm = u(used(&car.library(), "F", "thickness")) * 2540.0;
    #[allow(clippy::cast_possible_truncation)]
    let two_u = Length::from_nm((2.0 * u_nm) as i64);
    let chance = |car: &mut Car, least: Length| {
        car.job.window[Edge::PreloadMin] = Some(least);
        car.now(|_, fit| chance_of(fit).value().unwrap())
    };
    // Phi(2) = 0.97725 (common tables, from memory).
    close(chance(&mut car, tenths(7498) - two_u), 0.977_25, 1e-4);
    close(chance(&mut car, tenths(7498) + two_u), 0.022_75, 1e-4);
    // Its limit is 0.0109 in: beyond that an error is unlikely, and no more than that.
    let covered = chance(&mut car, tenths(7388));
    assert!(covered < 1.0 && covered > 0.9999, "{covered}");
}

#[test]
fn findings_keep_the_pieces_that_are_gone() {
    let mut car = four_pieces(5);
    for piece in &mut car.measured.specimens {
        piece.in_hand = false;
    }
    let stored = car.stored();
    assert_eq!(Findings::of(&stored).family("F").unwrap().values(0).unwrap().count(), 4);
    assert_eq!(basis(used(&car.library(), "F", "thickness")), Basis::Predicted { pieces: 4 });
    assert_eq!(picks(&car, "flywheel", &Ask::default()), ["F"]);
}
