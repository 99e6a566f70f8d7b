//! Shops in which few combinations land, as parts of a kind lie far apart: what a search takes for out of
//! reach by the sums of other parts than those that stand there is lost at once.

use bellstack::model::faces::Names;
use bellstack::model::job::StarterOn;
use bellstack::model::library::Library;
use bellstack::model::part::{Entry, Part};
use bellstack::solve::ask::{Ask, Order, Watch};
use bellstack::solve::candidates::candidates;
use bellstack::solve::product::recommend_by_product;
use bellstack::solve::recommend::recommend;
use bellstack::stack::choice::Setup;

use super::ranked::{first_apart, said};
use super::seeds;
use crate::shops::{Dice, RealShop, real};

/// What is drawn apart, by kind of part.
const APART: [(&str, &str); 6] = [
    ("flywheel", "thickness"),
    ("flywheel", "ring_gear_offset"),
    ("block_plate", "thickness"),
    ("bell_spacer", "thickness"),
    ("gearbox_spacer", "thickness"),
    ("bearing_shim", "thickness"),
];

/// A shop whose parts stand further apart than they were drawn, each from the fitted one of its kind;
/// clutches mate with flywheels of one of two faces, and where the starter stands is known.
fn sparse(seed: u64) -> RealShop {
    let mut shop = real(seed);
    let mut dice = Dice::new(seed ^ 0x5a5a);
    let kinds = &shop.library.kinds;
    for (kind, key) in APART {
        let times = dice.range(1, 8);
        let fitted = kinds.slot_of(kind).and_then(|slot| shop.job.fitted[slot].first().cloned());
        let value = |id: &str| {
            let part = shop.library.parts.iter().find(|part| part.id == id)?;
            part.entry(key).map(|entry| entry.value)
        };
        let base = fitted.as_deref().and_then(value).unwrap_or_else(|| dice.range(0, 12_700_000));
        for part in shop.library.parts.iter_mut().filter(|part| part.kind.key == kind) {
            if let Some(entry) = part.entry(key) {
                let value = base + times * (entry.value - base);
                part.set(key, Some(Entry { value: value.max(100_000), ..entry }));
            }
        }
    }
    // Many shims of one thickness, made more or less exactly.
    for part in shop.library.parts.iter_mut().filter(|part| part.kind.key == "bearing_shim") {
        if let Some(entry) = part.entry("thickness") {
            let value = (entry.value / 508_000 + 1) * 508_000;
            let tol = *dice.pick(&[None, Some(0), Some(50_000), Some(600_000)]);
            part.set("thickness", Some(Entry::new(value, tol)));
        }
    }
    // Plates move a starter on the bell: what ring gear it meets depends on both.
    for part in shop.library.parts.iter_mut().filter(|part| part.kind.key == "flywheel") {
        if part.entry("ring_gear_offset").is_none() {
            part.set("ring_gear_offset", Some(Entry::new(dice.range(0, 100) * 254_000, None)));
        }
    }
    // Clutches that bolt to some flywheels alone, and flywheels of few steps, made more or less exactly.
    let (bolts, steps) = (dice.chance(50), dice.chance(50));
    for part in &mut shop.library.parts {
        let cover = part.kind.faces.iter().position(|face| face.key == "cover_pattern");
        if let Some(cover) = cover.filter(|_| bolts) {
            part.faces[cover] = Names::parse(if dice.chance(50) { "A" } else { "B" });
        }
        if steps && part.kind.key == "flywheel" {
            let tol = *dice.pick(&[None, Some(0), Some(300_000)]);
            part.set("cover_step", Some(Entry::new(*dice.pick(&[0, 2_000_000]), tol)));
        }
    }
    // Parts that differ in their numbers alone.
    let mut parts = shop.library.parts.clone();
    for kind in ["flywheel", "bearing"] {
        let first = parts.iter().find(|part| part.kind.key == kind && part.piece_of.is_none());
        let again = first.map(|part| Part { id: format!("{}-2", part.id), ..part.clone() });
        parts.extend(again.filter(|_| dice.chance(50)));
    }
    let (kinds, house) = (shop.library.kinds, shop.library.house.clone());
    shop.library = Library { measured: shop.library.measured, ..Library::new(kinds, parts, house) };
    shop.job.starter_on = *dice.pick(&[StarterOn::Bell, StarterOn::Block, StarterOn::Unknown]);
    shop
}

#[test]
fn nothing_is_lost_where_parts_of_a_kind_lie_far_apart() {
    let (mut compared, mut found, mut differ) = (0, 0, Vec::new());
    for seed in seeds(8_000_000, 1_000) {
        let RealShop { library, job, .. } = &sparse(seed);
        let setup = Setup::new(library, job).unwrap();
        let mut dice = Dice::new(seed);
        let ask = Ask {
            top: *dice.pick(&[1, 3, 20]),
            order: *dice.pick(&[Order::Grade, Order::Price, Order::Room, Order::Changes]),
            show_failed: dice.chance(25),
            ..Ask::default()
        };
        let Ok(all) = candidates(&setup, &ask) else { continue };
        let size = all.slots.iter().map(Vec::len).product::<usize>();
        if !(20..2_000).contains(&size) {
            continue;
        }
        let watch = Watch::default();
        let Ok(answer) = recommend(&setup, &ask, &watch) else { continue };
        let product = recommend_by_product(&setup, &ask, &all, &watch).unwrap();
        let both = [&answer, &product];
        let [listed, by_product] = both.map(|one| one.stacks.iter().map(said).collect::<Vec<_>>());
        let [near, near_by_product] =
            both.map(|one| one.nearest.iter().map(said).collect::<Vec<_>>());
        compared += 1;
        found += usize::from(!by_product.is_empty() && product.in_window < Some(20));
        if answer.in_window != product.in_window {
            differ.push(format!("seed {seed}: {:?} {:?}", answer.in_window, product.in_window));
        }
        let apart = first_apart(&listed, &by_product);
        let apart = apart.or_else(|| first_apart(&near, &near_by_product));
        differ.extend(apart.map(|apart| format!("seed {seed}: {apart}\n    {ask:?}")));
    }
    super::none_differ(&differ, &(compared, found));
    assert!(compared > 300 && found > 50, "{compared} compared, {found} with few that land");
}

#[test]
fn the_nearest_of_thousands_of_stacks_are_those_of_the_product() {
    let (mut compared, mut differ) = (0, Vec::new());
    for seed in seeds(8_100_000, 4_000) {
        let RealShop { library, job, .. } = &sparse(seed);
        let setup = Setup::new(library, job).unwrap();
        let (ask, watch) = (Ask::default(), Watch::default());
        let Ok(all) = candidates(&setup, &ask) else { continue };
        let size = all.slots.iter().map(Vec::len).product::<usize>();
        if compared == 25 || !(2_000..12_000).contains(&size) {
            continue;
        }
        let Ok(answer) = recommend(&setup, &ask, &watch) else { continue };
        if !answer.stacks.is_empty() || answer.nearest.is_empty() {
            continue;
        }
        let product = recommend_by_product(&setup, &ask, &all, &watch).unwrap();
        let [near, near_by_product] =
            [&answer, &product].map(|one| one.nearest.iter().map(said).collect::<Vec<_>>());
        let apart = first_apart(&near, &near_by_product);
        differ.extend(apart.map(|apart| format!("seed {seed}: {apart}")));
        compared += 1;
    }
    super::none_differ(&differ, &compared);
    assert!(compared == 25, "{compared} compared");
}
