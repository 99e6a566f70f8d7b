//! Counts that would take too long.

use std::ops::Range;

use bellstack::model::part::Entry;
use bellstack::solve::ask::{Ask, Watch};
use bellstack::solve::candidates::candidates;
use bellstack::solve::count::{By, How, count};
use bellstack::solve::numbers::Numbers;
use bellstack::solve::product::recommend_by_product;
use bellstack::stack::choice::Setup;

use crate::shops::real;

/// The numbers of some shops, of those of which there are combinations.
fn each_shop(seeds: Range<u64>, mut each: impl FnMut(u64, &Numbers<'_, '_>)) {
    for seed in seeds {
        let shop = real(seed);
        let setup = Setup::new(&shop.library, &shop.job).unwrap();
        let Ok(all) = candidates(&setup, &Ask::default()) else { continue };
        if all.empty_slot().is_some() {
            continue;
        }
        if let Some(numbers) = Numbers::new(&setup, &all) {
            each(seed, &numbers);
        }
    }
}

#[test]
fn where_work_is_bounded_stacks_in_their_windows_are_counted_whole_or_not_at_all() {
    let (mut counted, mut not_counted) = (0, 0);
    each_shop(0..150, |seed, numbers| {
        let with = |most_work| {
            let how = How { most_work, ..How::default() };
            count(numbers, how, &Watch::default()).unwrap()
        };
        let Some(all) = with(f64::INFINITY) else { return };
        assert!(all.in_window.is_some(), "without a bound everything is counted");
        for most_work in [0.0, 1e3, 1e4, 1e5, 1e6] {
            let some = with(most_work).unwrap();
            assert_eq!(some.considered, all.considered, "considered is always known");
            match some.in_window {
                None => not_counted += 1,
                Some(found) => {
                    assert_eq!(Some(found), all.in_window, "shop {seed}, {most_work} ns");
                    counted += 1;
                }
            }
        }
        if all.in_window > Some(0) {
            assert_eq!(with(0.0).unwrap().in_window, None, "nothing is counted without work");
        }
    });
    assert!(counted > 50 && not_counted > 50, "{counted} counted, {not_counted} not");
}

#[test]
fn stacks_in_their_windows_are_as_many_whichever_way_they_are_counted() {
    let (mut compared, mut some) = (0, 0);
    each_shop(0..600, |seed, numbers| {
        let by = |by| {
            let how = How { most_work: f64::INFINITY, by };
            count(numbers, how, &Watch::default()).unwrap()
        };
        let tally = by(None);
        for way in [By::Tables, By::Sums, By::Pairs, By::Ranges] {
            assert_eq!(by(Some(way)), tally, "shop {seed}, {way:?}");
        }
        compared += 1;
        some += usize::from(tally.is_some_and(|tally| tally.in_window > Some(0)));
    });
    assert!(compared > 300 && some > 150, "{compared} compared, {some} with stacks");
}

#[test]
fn hubs_are_counted_by_what_their_disc_and_their_facings_ask_for() {
    let (mut compared, mut apart) = (0, 0);
    for seed in 0..600 {
        let mut shop = real(seed);
        let (mut discs, mut plates) = (0, 0);
        for part in &mut shop.library.parts {
            let (key, microns) = match part.kind.key {
                "flywheel" => ("bolt_clearance", 10_000),
                // Whether a hub meets a bolt depends on the disc, on the plate's wear, and on both.
                "disc" => {
                    discs += 1;
                    ("hub_front", [5_000, 9_000, 9_800][discs % 3])
                }
                "pressure_plate" => {
                    plates += 1;
                    ("wear_allowance", [500, 1_500][plates % 2])
                }
                _ => continue,
            };
            part.set(key, Some(Entry::new(microns * 1_000, Some(0))));
        }
        let setup = Setup::new(&shop.library, &shop.job).unwrap();
        // What fails a check is no less in its window.
        let ask = Ask { show_failed: true, ..Ask::default() };
        let Ok(all) = candidates(&setup, &ask) else { continue };
        let size = all.slots.iter().map(Vec::len).product::<usize>();
        let Some(numbers) = (1..1500).contains(&size).then(|| Numbers::new(&setup, &all)).flatten()
        else {
            continue;
        };
        let watch = Watch::default();
        let Some(tally) = count(&numbers, How::default(), &watch).unwrap() else { continue };
        let product = recommend_by_product(&setup, &ask, &all, &watch).unwrap();
        let by_product = (product.considered.unwrap(), product.in_window);
        assert_eq!((tally.considered, tally.in_window), by_product, "shop {seed}");
        let meets = |fails: bool| {
            let mut stacks = product.stacks.iter();
            stacks.any(|fit| {
                fit.checks
                    .iter()
                    .any(|check| check.name == "hub_clearance" && check.failed() == fails)
            })
        };
        compared += 1;
        apart += usize::from(meets(true) && meets(false));
    }
    assert!(compared > 200 && apart > 20, "{compared} compared, {apart} with hubs of both kinds");
}
