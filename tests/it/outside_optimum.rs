//! A mixed-integer program as a third solver: the cheapest stack that lands in its window, posed as
//! one choice a slot with linear sums and exclusions, against the search ordered by price.
//!
//! The solver computes in floating point: sums are compared with a slack of 0.00001 in.

use bellstack::model::faces::Names;
use bellstack::model::length::Length;
use bellstack::model::library::Library;
use bellstack::model::money::Cents;
use bellstack::model::part::Part;
use bellstack::solve::ask::{Ask, Order, Watch};
use bellstack::solve::recommend::recommend;
use bellstack::stack::choice::Bench;
use good_lp::{
    Expression, ResolutionError, Solution, SolverModel, Variable, microlp, variable, variables,
};
use itertools::Itertools;

use crate::random::{Dice, Shop, shop};

/// Only these dimensions stay: the sum's own, so that no check beside the window speaks.
const KEPT: [&str; 12] = [
    "crank_protrusion",
    "thickness",
    "cover_step",
    "free_thickness",
    "cushion",
    "finger_height",
    "set_gap",
    "pack_thickness",
    "finger_ratio",
    "depth",
    "seat_height",
    "max_shim",
];

/// A build on paper in which every part is bought at a known price.
fn priced(seed: u64) -> Shop {
    let Shop { library, mut job } = shop(seed, 3);
    let mut dice = Dice::new(seed);
    let mut parts = library.parts;
    for part in &mut parts {
        for (spec, dim) in part.kind.dims.iter().zip(&mut part.dims) {
            if !KEPT.contains(&spec.key) && !spec.key.ends_with("ed_height") {
                *dim = None;
            }
        }
        part.price = Some(Cents::new(dice.range(1, 40) * 250));
        part.on_hand = 0;
        part.retired = false;
    }
    job.readings.iter_mut().for_each(|reading| *reading = None);
    job.fitted.iter_mut().for_each(Vec::clear);
    job.crank_over_plate = false;
    job.depth_over_plate = false;
    job.master_cylinder = None;
    Shop { library: Library::new(library.kinds, parts, library.house), job }
}

/// One option of a slot: its variable, its parts, and what it adds to where the bearing stands.
struct Pick<'a> {
    chosen: Variable,
    parts: Vec<&'a Part>,
    rear: i64,
}

fn face<'a>(part: &'a Part, key: &str) -> &'a Names {
    &part.faces[part.kind.face_index(key).unwrap()]
}

fn nm(part: &Part, key: &str) -> Option<i64> {
    part.length(key).map(Length::nm)
}

/// Where the finger tips stand from the crank flange, and whether the clutch bolts up at all.
fn clutch(flywheel: &Part, disc: Option<&Part>, plate: &Part) -> Option<i64> {
    let pack = nm(plate, "pack_thickness");
    if pack.is_some() == disc.is_some()
        || !face(flywheel, "cover_pattern").mates(face(plate, "cover_pattern"))
    {
        return None;
    }
    let step = nm(flywheel, "cover_step").unwrap_or(0);
    let thickness = disc.map(|disc| {
        nm(disc, "thickness").unwrap_or_else(|| {
            nm(disc, "free_thickness").unwrap_or(0) - nm(disc, "cushion").unwrap_or(0)
        })
    });
    let gap = pack.or(thickness)? - step;
    let taken = nm(plate, "set_gap").or(pack.filter(|_| step == 0));
    let ratio = plate.entry("finger_ratio").map(|entry| entry.value);
    let moved = match (taken, ratio) {
        (Some(taken), Some(ratio)) => {
            let product = ratio * (gap - taken);
            product.signum() * ((product.abs() + 500_000) / 1_000_000)
        }
        _ => 0,
    };
    Some(nm(flywheel, "thickness")? + step + nm(plate, "finger_height")? - moved)
}

/// The least price in cents, none where nothing lands.
fn cheapest(shop: &Shop) -> Option<i64> {
    let mut vars = variables!();
    let of = |kind: &'static str| {
        shop.library.of_kind(kind).filter(|part| part.missing().is_empty()).collect_vec()
    };
    let mut slot = |kind: &'static str, key: &str, sign: i64, optional: bool| {
        let mut picks = of(kind)
            .into_iter()
            .map(|part| (vec![part], nm(part, key).unwrap() * sign))
            .collect_vec();
        if optional {
            picks.push((vec![], 0));
        }
        let add = |(parts, rear)| Pick { chosen: vars.add(variable().binary()), parts, rear };
        picks.into_iter().map(add).collect_vec()
    };
    let engines = slot("engine", "crank_protrusion", -1, false);
    let block_plates = slot("block_plate", "thickness", 1, true);
    let bell_spacers = slot("bell_spacer", "thickness", 1, true);
    let bells = slot("bell_housing", "depth", 1, false);
    let gearbox_spacers = slot("gearbox_spacer", "thickness", 1, true);
    let gearboxes = slot("gearbox", "seat_height", -1, false);
    let bearings = slot("bearing", "extended_height", -1, false);
    let shims = {
        let one = of("bearing_shim");
        let pairs = one.iter().combinations_with_replacement(2);
        let pairs = pairs.map(|pair| pair.into_iter().copied().collect_vec());
        let picks = one.iter().map(|part| vec![*part]).chain(pairs).chain([vec![]]);
        picks
            .map(|parts| {
                let rear = -parts.iter().map(|part| nm(part, "thickness").unwrap()).sum::<i64>();
                Pick { chosen: vars.add(variable().binary()), parts, rear }
            })
            .collect_vec()
    };
    let mut clutches = Vec::new();
    for (flywheel, plate) in of("flywheel").into_iter().cartesian_product(of("pressure_plate")) {
        for disc in of("disc").into_iter().map(Some).chain([None]) {
            if let Some(height) = clutch(flywheel, disc, plate) {
                let parts = [Some(flywheel), disc, Some(plate)].into_iter().flatten().collect();
                let chosen = vars.add(variable().binary());
                clutches.push(Pick { chosen, parts, rear: -height });
            }
        }
    }
    let slots = [
        &engines,
        &clutches,
        &block_plates,
        &bell_spacers,
        &bells,
        &gearbox_spacers,
        &gearboxes,
        &bearings,
        &shims,
    ];
    if slots.iter().any(|picks| picks.is_empty()) {
        return None;
    }
    let all = || slots.iter().flat_map(|picks| picks.iter());
    let price = |pick: &Pick<'_>| {
        let cents = pick.parts.iter().map(|part| part.price.unwrap().get() as f64);
        cents.sum::<f64>() * pick.chosen
    };
    let sum = |terms: Vec<Expression>| terms.into_iter().sum::<Expression>();
    let thou = |nm: i64| nm as f64 / 25_400.0;
    // Preload is what the fingers stand further back than the extended bearing: less all of it.
    let preload = sum(all().map(|pick| -thou(pick.rear) * pick.chosen).collect());
    let travel = sum(bearings
        .iter()
        .map(|pick| {
            let travel = nm(pick.parts[0], "retracted_height").unwrap() + pick.rear;
            -thou(travel) * pick.chosen
        })
        .collect());
    let cost = sum(all().map(price).collect());
    let mut model = vars.minimise(cost.clone()).using(microlp);
    for picks in slots {
        let one = sum(picks.iter().map(|pick| pick.chosen.into()).collect());
        model = model.with(one.eq(1.0));
    }
    const SLACK: f64 = 0.01;
    let window = &shop.library.house.window;
    let limit = |edge: Option<Length>| edge.map(|edge| thou(edge.nm()));
    let reserve = travel - preload.clone();
    model = model
        .with(preload.clone().geq(limit(window.preload_min).unwrap_or(600.0) - SLACK))
        .with(reserve.clone().geq(limit(window.reserve_min).unwrap_or(150.0) - SLACK));
    for (sum, most) in [(preload, window.preload_max), (reserve, window.reserve_max)] {
        if let Some(most) = limit(most) {
            model = model.with(sum.leq(most + SLACK));
        }
    }
    // Two picks that cannot stand together, unless one of `between` stands between them.
    let mut excluded: Vec<(Variable, Variable, Vec<Variable>)> = Vec::new();
    let mut joint = |a: &[Pick<'_>], ka: &str, b: &[Pick<'_>], kb: &str, between: &[Variable]| {
        for (a, b) in a.iter().cartesian_product(b) {
            let clash = a.parts.iter().cartesian_product(&b.parts).any(|(a, b)| {
                let rear = a.kind.face_index(&format!("{ka}_rear"));
                let rear = rear.map(|index| &a.faces[index]).filter(|names| !names.is_unknown());
                let known = a.kind.face_index(ka).zip(b.kind.face_index(kb));
                // A plate shows its spline only as a matched set.
                let shows = |part: &Part, key: &str| {
                    key != "spline" || part.kind.key != "pressure_plate" || part.is_matched_set()
                };
                known.is_some_and(|(ka_index, kb_index)| {
                    shows(a, ka) && !rear.unwrap_or(&a.faces[ka_index]).mates(&b.faces[kb_index])
                })
            });
            if clash {
                excluded.push((a.chosen, b.chosen, between.to_vec()));
            }
        }
    };
    let adapters = |picks: &[Pick<'_>], key: &str| {
        let adapts =
            |pick: &&Pick<'_>| pick.parts.first().is_some_and(|part| !face(part, key).is_unknown());
        picks.iter().filter(adapts).map(|pick| pick.chosen).collect_vec()
    };
    let block = adapters(&bell_spacers, "block_pattern_rear");
    let gearbox = adapters(&gearbox_spacers, "gearbox_pattern_rear");
    joint(&engines, "crank_pattern", &clutches, "crank_pattern", &[]);
    joint(&clutches, "spline", &gearboxes, "spline", &[]);
    joint(&clutches, "contact_face", &bearings, "contact_face", &[]);
    joint(&engines, "block_pattern", &block_plates, "block_pattern", &[]);
    joint(&engines, "block_pattern", &bell_spacers, "block_pattern", &[]);
    joint(&block_plates, "block_pattern", &bell_spacers, "block_pattern", &[]);
    joint(&engines, "block_pattern", &bells, "block_pattern", &block);
    joint(&block_plates, "block_pattern", &bells, "block_pattern", &block);
    joint(&bell_spacers, "block_pattern", &bells, "block_pattern", &[]);
    joint(&bells, "gearbox_pattern", &gearbox_spacers, "gearbox_pattern", &[]);
    joint(&gearbox_spacers, "gearbox_pattern", &gearboxes, "gearbox_pattern", &[]);
    joint(&bells, "gearbox_pattern", &gearboxes, "gearbox_pattern", &gearbox);
    joint(&gearboxes, "seat_pattern", &bearings, "seat_pattern", &[]);
    joint(&gearboxes, "seat_pattern", &shims, "seat_pattern", &[]);
    joint(&bearings, "seat_pattern", &shims, "seat_pattern", &[]);
    for (a, b, between) in excluded {
        let apart = sum(between.into_iter().map(Expression::from).collect());
        model = model.with((a + b - apart).leq(1.0));
    }
    for pick in &shims {
        if let [a, b] = pick.parts[..]
            && !face(a, "seat_pattern").mates(face(b, "seat_pattern"))
        {
            model = model.with(Expression::from(pick.chosen).leq(0.0));
        }
        for bearing in &bearings {
            let most = nm(bearing.parts[0], "max_shim");
            if most.is_some_and(|most| -pick.rear > most) {
                model = model.with((pick.chosen + bearing.chosen).leq(1.0));
            }
        }
    }
    match model.solve() {
        Ok(solution) => Some(solution.eval(cost).round() as i64),
        Err(ResolutionError::Infeasible) => None,
        Err(error) => panic!("{error}"),
    }
}

#[test]
fn a_mixed_integer_program_finds_the_same_least_price() {
    let (mut found, mut none) = (0, 0);
    for seed in 50_000..50_200 {
        let shop = priced(seed);
        let bench = Bench::new(&shop.library, &shop.job).unwrap();
        let ask = Ask { top: 1, order: Order::Price, ..Ask::default() };
        let answer = recommend(&bench, &ask, &Watch::default()).unwrap();
        let price = answer.stacks.first().map(|fit| fit.to_buy.amount.get());
        assert_eq!(cheapest(&shop), price, "seed {seed}");
        found += usize::from(price.is_some());
        none += usize::from(price.is_none());
    }
    assert!(found > 50 && none > 5, "{found} {none}");
}
