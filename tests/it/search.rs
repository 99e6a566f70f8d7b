//! The search's plain numbers and its cures against the plain ways to the same, on thousands of small
//! random shops. `exact` holds its rankings and counts.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "small shops: counts and places of a few thousand at most"
)]

use bellstack::model::kinds::{Joint, Takes};
use bellstack::solve::ask::{Ask, Order, Watch};
use bellstack::solve::candidates::{candidates, shims_within};
use bellstack::solve::compact::Compact;
use bellstack::solve::cure::{cure, cure_by_walking};
use bellstack::stack::answer::{Change, Cure};
use bellstack::stack::choice::{Choice, Setup};
use bellstack::stack::fit::evaluate;
use bellstack::stack::joints::joints;
use itertools::Itertools;

use crate::exact::{ask, row};
use crate::random::{Dice, Shop, shop};

/// Every combination in plain numbers against the same combination worked out in full.
#[test]
fn plain_numbers_say_the_same_as_the_full_sum_on_every_combination() {
    let (mut compared, mut impossible) = (0, 0);
    for seed in 0..400 {
        let shop = shop(seed, 2);
        let setup = Setup::new(&shop.library, &shop.job).unwrap();
        let mut dice = Dice::new(seed);
        let mut ask = Ask::default();
        if dice.chance(30) {
            ask.open = vec![0, 6, 8];
        }
        let candidates = candidates(&setup, &ask).unwrap();
        let compact = Compact::new(&setup, &candidates).unwrap();
        let sizes: Vec<_> = candidates.slots.iter().map(|fills| 0..fills.len() as u32).collect();
        for picks in sizes.into_iter().multi_cartesian_product() {
            if !dice.chance(30) {
                continue;
            }
            let fills = picks.iter().enumerate();
            let fills =
                fills.map(|(slot, pick)| candidates.slots[slot][*pick as usize].clone()).collect();
            let choice = Choice { fills };
            let named = compact.named;
            if setup.complete(&choice).is_err()
                || !shims_within(&choice.fills[named.bearing], &choice.fills[named.shims])
            {
                continue;
            }
            let found = joints(&setup, &choice);
            let clashes = Joint::ALL.iter().any(|joint| compact.clashes(&picks, *joint));
            assert_eq!(clashes, !found.clashes.is_empty(), "seed {seed} {picks:?}");
            let blank = picks
                .iter()
                .enumerate()
                .fold(0, |blank, (slot, pick)| blank | compact.common[slot][*pick as usize].blank);
            assert_eq!(blank, found.not_verified, "seed {seed} {picks:?}");
            let at = |slot: usize| picks[slot] as usize;
            let front = compact.front((
                at(named.engine),
                at(named.flywheel),
                at(named.disc),
                at(named.plate),
            ));
            let rear = compact.rear(&picks);
            let full = evaluate(&setup, &choice);
            let place = format!("seed {seed} {picks:?} {front:?} {rear:?}");
            let (Some(front), Some(rear)) = (front, rear) else {
                assert!(full.is_err(), "{place}");
                impossible += 1;
                continue;
            };
            let full = full.unwrap_or_else(|missing| panic!("{place}: {missing:?}"));
            let verdict = compact.verdict(&picks, &front, &rear);
            assert_eq!(
                verdict.preload,
                full.preload.nm(),
                "{place} {}",
                full.lengths.finger.used.name
            );
            assert_eq!(verdict.reserve, full.reserve.nm(), "{place}");
            assert_eq!(verdict.room, full.room.nm(), "{place}");
            assert_eq!(verdict.grade, full.grade, "{place} {:#?}", full.edges);
            assert_eq!(verdict.outside_range, full.outside_range, "{place}");
            let compact_fails = compact.fails(&picks, verdict.preload);
            let plain = full.checks.iter().any(|check| check.failed() && check.name != "faces");
            assert_eq!(compact_fails, plain, "{place} {:?}", full.checks);
            compared += 1;
        }
    }
    assert!(compared > 20_000 && impossible > 100, "{compared} {impossible}");
}

/// The changes of a cure, in order.
fn cured(cure: &Cure<'_>) -> Vec<(Vec<Change>, String)> {
    cure.remedies.iter().map(|remedy| (remedy.changes.clone(), row(&remedy.fit))).collect()
}

/// Puts something into every slot that a stack needs.
fn fit_all(shop: &mut Shop) {
    let plate = shop.library.kinds.slot_of("pressure_plate").unwrap();
    for (index, (kind, slot)) in shop.library.kinds.slots().enumerate() {
        let first = shop.library.of_kind(kind.key).next().map(|part| part.id.clone());
        let needed = !matches!(slot.takes, Takes::Optional | Takes::UpToTwo);
        if needed && shop.job.fitted[index].is_empty() {
            shop.job.fitted[index].extend(first);
        }
    }
    let plate = shop.library.find(&shop.job.fitted[plate][0]).unwrap();
    if plate.is_matched_set() {
        let disc = shop.library.kinds.slot_of("disc").unwrap();
        shop.job.fitted[disc].clear();
    }
}

#[test]
fn cures_by_search_are_those_of_walking_every_single_change_and_every_pair() {
    let (mut singles, mut pairs) = (0, 0);
    for seed in 30_000..33_000 {
        let mut shop = shop(seed, 3);
        fit_all(&mut shop);
        let setup = Setup::new(&shop.library, &shop.job).unwrap();
        let mut dice = Dice::new(seed);
        let order = *dice.pick(&[Order::Changes, Order::Changes, Order::Grade, Order::Price]);
        let ask = ask(&mut dice, &shop, order);
        let watch = Watch::default();
        let Ok(slow) = cure_by_walking(&setup, &ask, &watch) else {
            assert!(cure(&setup, &ask, &watch).is_err(), "seed {seed}");
            continue;
        };
        let fast = cure(&setup, &ask, &watch).unwrap();
        assert_eq!(cured(&fast), cured(&slow), "seed {seed} {ask:?}");
        let counts = |cure: &Cure<'_>| (cure.considered, cure.in_window);
        assert_eq!(counts(&fast), counts(&slow), "seed {seed}");
        singles += slow.remedies.iter().filter(|remedy| remedy.changes.len() == 1).count();
        pairs += slow.remedies.iter().filter(|remedy| remedy.changes.len() == 2).count();
    }
    assert!(singles > 50 && pairs > 100, "{singles} {pairs}");
}
