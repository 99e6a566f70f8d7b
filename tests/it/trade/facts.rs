//! What every driveline shop knows. Each of these is common practice, no source.

use bellstack::model::edge::Edge;
use bellstack::model::house::Number;
use bellstack::model::job::Reading;
use bellstack::model::length::Length;
use bellstack::model::part::{Entry, Part};
use bellstack::solve::ask::{Ask, Order, Watch};
use bellstack::solve::cure::cure;
use bellstack::solve::recommend::recommend;
use bellstack::stack::answer::{Cure, Trouble};
use bellstack::stack::fit::Fit;
use bellstack::stack::grade::Grade;
use bellstack::stack::window::{FloatAllowance, SetBy};

use super::car::{Car, both, entry, thou};
use crate::support::{TestDir, take};

/// A car on the lift of which only the readings are known.
fn read(extended: i64, retracted: i64, fingers: i64) -> Car {
    let mut car = Car::paper();
    car.read(Reading::FingerDepth, fingers, 0);
    car.read(Reading::BearingDepthExtended, extended, 0);
    car.read(Reading::BearingDepthRetracted, retracted, 0);
    car.loosen(100);
    for kind in ["engine", "bell_housing", "gearbox"] {
        car.put(kind, &[]);
    }
    car
}

/// Common practice, no source: depths of 2.650 and 3.600 in are a travel of 0.950 in; against
/// fingers at 3.400 in that is a preload of 0.750 and a reserve of 0.200 in, and a good fit.
#[test]
fn three_readings_make_a_travel_a_preload_and_a_reserve() {
    read(2650, 3600, 3400).now(|_, fit| {
        assert_eq!(fit.travel, thou(950));
        assert_eq!((fit.preload, fit.reserve), (thou(750), thou(200)));
        assert_eq!(fit.window.limits[Edge::PreloadMin].unwrap().set_by, SetBy::House);
        assert_eq!(fit.window.limits[Edge::ReserveMin].unwrap().set_by, SetBy::House);
        assert_eq!(fit.grade, Grade::Sure);
        assert!(fit.holds());
        assert_eq!(fit.room, thou(50));
    });
}

/// Common practice, no source: a bearing of 0.950 to 0.960 in travel sits best near 0.700 in of
/// preload, with a couple of tenths left for wear.
#[test]
fn a_travel_of_nine_hundred_fifty_thousandths_is_best_near_seven_hundred_of_preload() {
    for travel in [950, 960] {
        let mut car = Car::paper();
        car.set("R", "retracted_height", 3100 - travel);
        car.put("flywheel", &[]);
        car.parts.retain(|part| part.id != "F");
        // Flywheels from 0.830 to 1.070 in, that is 0.580 to 0.820 in of preload.
        for thickness in (830..=1070).step_by(5) {
            car.add("flywheel", &format!("F{thickness:04}"), &[("thickness", thickness)]);
        }
        car.setup(|setup| {
            let ask = Ask { order: Order::Room, top: 1, ..Ask::default() };
            let answer = recommend(setup, &ask, &Watch::default()).unwrap();
            let best = &answer.stacks[0];
            assert!((best.preload - thou(700)).abs() <= thou(5), "{}", best.preload);
            assert!((best.reserve - thou(255)).abs() <= thou(5), "{}", best.reserve);
            // Every flywheel is a stack; those from 0.600 in of preload to 0.150 in of reserve fit.
            assert_eq!(answer.considered, Some(49));
            assert_eq!(answer.in_window, Some(if travel == 950 { 41 } else { 43 }));
        });
    }
}

/// The remedies of single parts: the slot's key with the part's number.
fn single_parts(cure: &Cure<Fit<'_>>, keys: &[&'static str]) -> Vec<(&'static str, String)> {
    let one = cure.remedies.iter().filter(|remedy| remedy.changes.len() == 1);
    let named = one.map(|remedy| {
        let change = &remedy.changes[0];
        (keys[change.slot], change.to.join("|"))
    });
    let mut found: Vec<_> = named.collect();
    found.sort();
    found
}

fn cured<T>(car: &Car, look: impl FnOnce(&Cure<Fit<'_>>, &[&'static str]) -> T) -> T {
    car.setup(|setup| {
        let ask = Ask { order: Order::Changes, top: 50, ..Ask::default() };
        let keys: Vec<_> = setup.library.kinds.slots().map(|(_, slot)| slot.key).collect();
        look(&cure(setup, &ask, &Watch::default()).unwrap(), &keys)
    })
}

/// Common practice, no source: 0.500 in is too little preload, and a shim behind the bearing
/// cures it.
#[test]
fn half_an_inch_is_too_little_preload_and_a_shim_cures_it() {
    let mut car = Car::paper();
    car.set("E", "crank_protrusion", 250);
    car.add("bearing_shim", "S060", &[("thickness", 60)]);
    car.add("bearing_shim", "S150", &[("thickness", 150)]);
    car.add("bell_spacer", "thick", &[("thickness", 100)]);
    assert_eq!(car.numbers(&[]), both(500, 450));
    cured(&car, |cure, keys| {
        assert_eq!(cure.now.grade, Grade::Out);
        assert_eq!(
            cure.trouble,
            Trouble::TooLoose {
                edge: Edge::PreloadMin,
                by: thou(100),
                wear: Some(Length::from_nm(725_714))
            }
        );
        // A spacer takes preload away; one shim of 0.060 in is not enough, two of them are.
        let shims = ["S060|S060", "S060|S150", "S150", "S150|S150"];
        let shims: Vec<_> = shims.iter().map(|ids| ("bearing_shims", (*ids).to_string())).collect();
        assert_eq!(single_parts(cure, keys), shims);
        let fit = |ids: &[&str]| {
            let found = cure
                .remedies
                .iter()
                .map(|remedy| &remedy.fit)
                .find(|fit: &&Fit<'_>| fit.choice.fills.iter().any(|fill| fill.ids() == ids));
            found.map(|fit| (fit.preload, fit.reserve))
        };
        assert_eq!(fit(&["S150"]), Some((thou(650), thou(300))));
        let shim = cure.look_for.iter().find(|row| keys[row.slot] == "bearing_shims").unwrap();
        let range = shim.range().unwrap();
        assert_eq!((range.from, range.to), (Some(thou(100)), Some(thou(300))));
    });
}

/// Common practice, no source: too tight is cured by a spacer on either side of the bell housing,
/// by a thinner flywheel or by a lower clutch.
#[test]
fn too_tight_is_cured_by_spacers_a_thinner_flywheel_or_a_lower_clutch() {
    let mut car = Car::paper();
    car.set("E", "crank_protrusion", 600);
    car.add("block_plate", "BP", &[("thickness", 90)]);
    car.add("bell_spacer", "BS", &[("thickness", 100)]);
    car.add("gearbox_spacer", "GS", &[("thickness", 110)]);
    car.add("bearing_shim", "shim", &[("thickness", 60)]);
    car.copy("F", "thinner", &[("thickness", -120)]);
    car.copy("F", "thicker", &[("thickness", 50)]);
    car.copy("P", "lower", &[("finger_height", -130)]);
    car.copy("P", "higher", &[("finger_height", 50)]);
    assert_eq!(car.numbers(&[]), both(850, 100));
    cured(&car, |cure, keys| {
        assert_eq!(
            cure.trouble,
            Trouble::TooTight {
                edge: Edge::ReserveMin,
                by: thou(50),
                wear: Some(Length::from_nm(362_857))
            }
        );
        let offered = single_parts(cure, keys);
        let expected = [
            ("bell_spacer", "BS"),
            ("block_plate", "BP"),
            ("flywheel", "thinner"),
            ("gearbox_spacer", "GS"),
            ("pressure_plate", "lower"),
        ];
        assert_eq!(offered, expected.map(|(slot, id)| (slot, id.to_string())));
        for slot in ["bell_spacer", "gearbox_spacer"] {
            let row = cure.look_for.iter().find(|row| keys[row.slot] == slot).unwrap();
            let range = row.range().unwrap();
            assert_eq!((range.from, range.to), (Some(thou(50)), Some(thou(250))));
            assert_eq!(row.known_parts().len(), 1, "{slot}");
        }
    });
}

/// Common practice, no source: bearings with travels from 0.850 to 1.400 in are in use.
#[test]
fn travels_from_eight_hundred_fifty_thousandths_to_one_and_four_tenths_are_accepted() {
    for travel in [850, 900, 950, 1000, 1100, 1250, 1400] {
        let mut car = Car::paper();
        // Extended so that the preload is 0.650 in: the rest of the travel is reserve.
        car.set("R", "extended_height", 3000);
        car.set("R", "retracted_height", 3000 - travel);
        assert!(car.part("R").validate().is_ok_and(|warnings: Vec<String>| warnings.is_empty()));
        car.now(|_, fit| {
            assert_eq!(fit.travel, thou(travel));
            assert_eq!((fit.preload, fit.reserve), (thou(650), thou(travel - 650)));
            assert_eq!(fit.window.empty_for(fit.travel, FloatAllowance::default()), None);
            assert!(fit.holds());
        });
    }
}

/// Common practice, no source: a clutch height taken over a gauge hub has the hub deducted, a depth
/// taken under a straight bar the bar's thickness.
#[test]
fn what_was_measured_over_a_hub_or_a_bar_has_it_deducted() {
    let setup = TestDir::new();
    let mut catalog = setup.catalog();
    take(
        &mut catalog,
        &[(
            "jobs.csv",
            "job,clutch_height_in,clutch_height_bar_in,bearing_depth_extended_in,\
             bearing_depth_extended_bar,finger_depth_mm,finger_depth_bar_mm\n\
             on the bench,3.905,1.000,3.150,0.500 in,,\n\
             on the car,,,,,99.06,12.70\n",
        )],
    )
    .unwrap();
    let read = |job: &str, reading: Reading| {
        catalog.load_job(job).unwrap().reading(reading).map(Entry::as_length)
    };
    assert_eq!(read("on the bench", Reading::ClutchHeight), Some(thou(2905)));
    assert_eq!(read("on the bench", Reading::BearingDepthExtended), Some(thou(2650)));
    assert_eq!(read("on the car", Reading::FingerDepth), Some(thou(3400)));
}

/// Common practice, no source: where a block plate is used, the crank is measured with it in place;
/// the plate then has to be added back to reach the bare block.
#[test]
fn a_crank_read_over_the_block_plate_is_the_bare_reading_less_the_plate() {
    let mut bare = Car::paper();
    bare.fit("block_plate", "BP", &[("thickness", 125)]);
    bare.set("B", "depth", 6000 - 125);
    bare.read(Reading::CrankProtrusion, 500, 0);
    let mut over = bare.clone();
    over.read(Reading::CrankProtrusion, 500 - 125, 0);
    over.job.crank_over_plate = true;
    assert_eq!(bare.numbers(&[]), both(750, 200));
    assert_eq!(over.numbers(&[]), both(750, 200));
    // Counted from behind the plate.
    let crank = |car: &Car| car.now(|_, fit| fit.lengths.crank);
    assert_eq!(crank(&over), Some(thou(500 - 125)));
    assert_eq!(crank(&bare), crank(&over));
    // Without the plate the bell comes forward; the crank stands where it stood.
    assert_eq!(over.numbers(&[("block_plate", &[])]), both(875, 75));
    assert_eq!(bare.numbers(&[("block_plate", &[])]), both(875, 75));
    // And the same for a finger depth.
    let mut depth = bare.clone();
    depth.job.readings[Reading::CrankProtrusion as usize] = None;
    depth.read(Reading::FingerDepth, 3400 - 125, 0);
    depth.job.depth_over_plate = true;
    assert_eq!(depth.numbers(&[]), both(750, 200));
    assert_eq!(depth.numbers(&[("block_plate", &[])]), both(875, 75));
}

/// Common practice, no source: what the house falls back on is 0.600 in of preload and 0.150 in of
/// reserve, and a travel that is just their sum has one place to stand.
#[test]
fn the_fallback_window_has_its_two_edges_on_the_bearing() {
    let mut car = Car::paper();
    assert_eq!(car.house.length(Number::FallbackPreloadMin), thou(600));
    assert_eq!(car.house.length(Number::FallbackReserveMin), thou(150));
    car.part("R").set("extended_height", Some(entry(2950, 0)));
    car.part("R").set("retracted_height", Some(entry(2200, 0)));
    car.now(|_, fit| {
        assert_eq!((fit.preload, fit.reserve), (thou(600), thou(150)));
        assert_eq!((fit.grade, fit.room), (Grade::Sure, Length::ZERO));
    });
    let short = |part: &mut Part| part.set("retracted_height", Some(entry(2201, 0)));
    short(car.part("R"));
    car.now(|_, fit| assert_eq!(fit.grade, Grade::Out));
}
