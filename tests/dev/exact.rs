use crate::random::{Dice, Shop, landing};
use bellstack::model::money::Cents;
use bellstack::solve::ask::{Answer, Ask, Order, Watch};
use bellstack::solve::candidates::candidates;
use bellstack::solve::product::recommend_by_product;
use bellstack::solve::recommend::recommend_among;
use bellstack::stack::choice::Setup;
use bellstack::stack::fit::Fit;
use bellstack::stack::grade::Grade;

pub fn ask(dice: &mut Dice, shop: &Shop, order: Order) -> Ask {
    let kinds = shop.library.kinds;
    let parts = &shop.library.parts;
    let slots: Vec<usize> = (0..kinds.slot_count()).collect();
    let optional = ["disc", "block_plate", "bell_spacer", "gearbox_spacer", "bearing_shim"];
    let mut ask = Ask {
        top: *dice.pick(&[1, 3, 20, 200]),
        order,
        on_hand: dice.chance(15),
        budget: dice.chance(20).then(|| Cents::new(dice.range(0, 4) * 5000)),
        at_least: *dice.pick(&[Grade::Marginal, Grade::Marginal, Grade::Likely, Grade::Sure]),
        show_failed: dice.chance(20),
        open: slots.iter().copied().filter(|_| dice.chance(5)).collect(),
        ..Ask::default()
    };
    if dice.chance(15) {
        ask.skip.push(dice.pick(parts).id.clone());
    }
    if dice.chance(8) {
        ask.without.extend(kinds.slot_of(dice.pick::<&str>(&optional)));
    }
    if dice.chance(8) {
        let part = dice.pick(parts);
        if let Some(slot) = kinds.slot_of(part.kind.key).filter(|slot| !ask.without.contains(slot))
        {
            ask.only.push((slot, vec![part.id.clone()]));
        }
    }
    ask
}
pub fn row(fit: &Fit<'_>) -> String {
    let ids: Vec<_> = fit.choice.fills.iter().map(|fill| fill.ids().join("|")).collect();
    format!(
        "{:?} blank {} {:?} room {} parts {} {ids:?} {:?}",
        fit.grade,
        fit.joints.not_verified,
        fit.to_buy,
        fit.room.nm(),
        fit.part_count,
        fit.fails()
    )
}
fn order() -> Vec<(u64, Order)> {
    let all = [
        (100_000, Order::Grade),
        (200_000, Order::Price),
        (300_000, Order::Room),
        (400_000, Order::Changes),
        (500_000, Order::Chance),
    ];
    let only: Option<usize> = std::env::var("ORDER").ok().map(|s| s.parse().unwrap());
    match only {
        Some(one) => vec![all[one]],
        None => all[..4].to_vec(),
    }
}
#[test]
fn exact() {
    let many: u64 = std::env::var("SHOPS").map_or(300, |s| s.parse().unwrap());
    let most: i64 = std::env::var("MOST").map_or(2, |s| s.parse().unwrap());
    let largest: f64 = std::env::var("LARGEST").map_or(1500.0, |s| s.parse().unwrap());
    let counts = std::env::var("COUNTS").is_ok();
    let near_only = std::env::var("NONEAR").is_ok();
    let mut failed = Vec::new();
    let (mut shops, mut found, mut near) = (0, 0, 0);
    for (first, order) in order() {
        let seeds: Vec<u64> = std::env::var("SEEDS").map_or((first..first + many).collect(), |s| {
            s.split(',')
                .map(|x| x.parse().unwrap())
                .filter(|x| (first..first + 100_000).contains(x))
                .collect()
        });
        for seed in seeds {
            let one = || {
                let shop = landing(seed, most);
                let setup = Setup::new(&shop.library, &shop.job).unwrap();
                let mut dice = Dice::new(seed ^ 0xabcd);
                let ask = ask(&mut dice, &shop, order);
                let watch = Watch::default();
                let candidates = candidates(&setup, &ask).unwrap();
                let size: f64 = candidates.slots.iter().map(|fills| fills.len() as f64).product();
                if size > largest {
                    return (0, 0, 0);
                }
                let slow = recommend_by_product(&setup, &ask, &candidates, &watch).unwrap();
                let fast = recommend_among(&setup, &ask, &candidates, &watch).unwrap();
                let rows = |fits: &[Fit<'_>]| fits.iter().map(row).collect::<Vec<_>>();
                if counts {
                    assert_eq!(
                        (fast.considered, fast.in_window),
                        (slow.considered, slow.in_window),
                        "counts seed {seed} {ask:?}"
                    );
                }
                assert_eq!(rows(&fast.stacks), rows(&slow.stacks), "seed {seed} {ask:?}");
                if !near_only {
                    assert_eq!(
                        rows(&fast.nearest),
                        rows(&slow.nearest),
                        "near seed {seed} {ask:?}"
                    );
                }
                let both = |answer: &Answer<Fit<'_>>| (answer.considered, answer.in_window);
                if counts {
                    assert_eq!(both(&fast), both(&slow), "counts seed {seed} {ask:?}");
                    assert_eq!(fast.forbidden, slow.forbidden);
                }
                (1, usize::from(!slow.stacks.is_empty()), usize::from(!slow.nearest.is_empty()))
            };
            match std::panic::catch_unwind(one) {
                Ok((a, b, c)) => {
                    shops += a;
                    found += b;
                    near += c;
                }
                Err(_) => failed.push((order, seed)),
            }
        }
    }
    println!("shops {shops} found {found} near {near}");
    assert!(failed.is_empty(), "{} failed: {:?}", failed.len(), &failed[..failed.len().min(20)]);
}
