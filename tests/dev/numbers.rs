use crate::random::{Dice, Shop, landing, shop};
use bellstack::solve::ask::Ask;
use bellstack::solve::candidates::{candidates, shims_within};
use bellstack::solve::numbers::Numbers;
use bellstack::stack::choice::{Choice, Setup};
use bellstack::stack::fit::evaluate;
use bellstack::stack::joints::joints;
use itertools::Itertools;

#[test]
fn plain_numbers() {
    let (mut compared, mut impossible) = (0, 0);
    let first: u64 = std::env::var("FIRST").map_or(0, |s| s.parse().unwrap());
    let many: u64 = std::env::var("SHOPS").map_or(400, |s| s.parse().unwrap());
    for seed in first..first + many {
        let shop = shop(seed, 2);
        let setup = Setup::new(&shop.library, &shop.job).unwrap();
        let mut dice = Dice::new(seed);
        let mut ask = Ask::default();
        if dice.chance(30) {
            ask.open = vec![0, 6, 8];
        }
        let candidates = candidates(&setup, &ask).unwrap();
        let numbers = Numbers::new(&setup, &candidates).unwrap();
        let sizes: Vec<_> = candidates.slots.iter().map(|fills| 0..fills.len() as u32).collect();
        for picks in sizes.into_iter().multi_cartesian_product() {
            if !dice.chance(10) {
                continue;
            }
            let fills = picks
                .iter()
                .enumerate()
                .map(|(slot, pick)| candidates.slots[slot][*pick as usize].clone())
                .collect();
            let choice = Choice { fills };
            if setup.complete(&choice).is_err()
                || !shims_within(&choice.fills[9], &choice.fills[10])
            {
                continue;
            }
            let found = joints(&setup, &choice);
            assert_eq!(
                numbers.unverified(&picks),
                found.clashes.is_empty().then(|| found.not_verified_count()),
                "seed {seed} {picks:?}"
            );
            let full = evaluate(&setup, &choice);
            let judged = numbers.judge(&picks);
            assert!(!numbers.are_unsupported(), "seed {seed}");
            let place = format!("seed {seed} {picks:?} {judged:?}");
            let Some((judged, fails)) = judged else {
                assert!(full.is_err(), "{place}");
                impossible += 1;
                continue;
            };
            let full = full.unwrap_or_else(|missing| panic!("{place}: {missing:?}"));
            assert_eq!(judged.preload, full.preload.nm(), "{place} {:?}", full.lengths.finger.from);
            assert_eq!(judged.room, full.room.nm(), "{place}");
            assert_eq!(judged.grade, full.grade, "{place} {:#?} {:?}", full.edges, full.because);
            let plain = full.checks.iter().any(|check| check.failed() && check.name != "faces");
            assert_eq!(fails, plain, "{place} {:?}", full.checks);
            compared += 1;
        }
    }
    println!("{compared} {impossible}");
}
