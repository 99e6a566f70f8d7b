//! A mixed-integer program as a third solver: the cheapest stack that lands in its window, posed as
//! one choice a slot with linear sums and exclusions, against the search ordered by price.
//!
//! The solver computes in floating point: sums are compared with a slack of 0.00001 in.

use bellstack::model::edge::Edge;
use bellstack::model::faces::Names;
use bellstack::model::length::Length;
use bellstack::model::library::Library;
use bellstack::model::money::Cents;
use bellstack::model::part::Part;
use bellstack::solve::ask::{Ask, Order, Watch};
use bellstack::solve::recommend::recommend;
use bellstack::stack::choice::Setup;
use good_lp::{
    Expression, ProblemVariables, ResolutionError, Solution, SolverModel, Variable, microlp,
    variable, variables,
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
    // Single pieces have no price.
    parts.retain(|part| part.piece_of.is_none());
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

fn part_face<'a>(part: &'a Part, key: &str) -> Option<&'a Names> {
    part.kind.face_index(key).map(|index| &part.faces[index])
}

fn nm(part: &Part, key: &str) -> Option<i64> {
    part.length(key).map(Length::nm)
}

/// Where the finger tips stand from the crank flange, and whether the clutch bolts up at all.
fn clutch(flywheel: &Part, disc: Option<&Part>, plate: &Part) -> Option<i64> {
    let pack = nm(plate, "pack_thickness");
    if pack.is_some() == disc.is_some() || clash(flywheel, plate, "cover_pattern") {
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

/// A face's key, the picks before and behind the joint, and what adapts between them.
type Joint<'p, 'a> = (&'p str, &'p [Pick<'a>], &'p [Pick<'a>], &'p [Variable]);

/// The options of every slot; flywheel, disc and plate are one, as their sum is no sum of parts.
struct Picks<'a> {
    engines: Vec<Pick<'a>>,
    clutches: Vec<Pick<'a>>,
    block_plates: Vec<Pick<'a>>,
    bell_spacers: Vec<Pick<'a>>,
    bells: Vec<Pick<'a>>,
    gearbox_spacers: Vec<Pick<'a>>,
    gearboxes: Vec<Pick<'a>>,
    bearings: Vec<Pick<'a>>,
    shims: Vec<Pick<'a>>,
}

impl<'a> Picks<'a> {
    fn of(library: &'a Library, vars: &mut ProblemVariables) -> Self {
        let of = |kind: &'static str| {
            library.of_kind(kind).filter(|part| part.missing().is_empty()).collect_vec()
        };
        let mut add = |parts: Vec<&'a Part>, rear: i64| {
            let chosen = vars.add(variable().binary());
            Pick { chosen, parts, rear }
        };
        let mut slot = |kind, key: &str, sign: i64| {
            let one = |part: &'a Part| add(vec![part], nm(part, key).unwrap() * sign);
            of(kind).into_iter().map(one).collect_vec()
        };
        let engines = slot("engine", "crank_protrusion", -1);
        let mut block_plates = slot("block_plate", "thickness", 1);
        let mut bell_spacers = slot("bell_spacer", "thickness", 1);
        let bells = slot("bell_housing", "depth", 1);
        let mut gearbox_spacers = slot("gearbox_spacer", "thickness", 1);
        let gearboxes = slot("gearbox", "seat_height", -1);
        let bearings = slot("bearing", "extended_height", -1);
        let mut shims = slot("bearing_shim", "thickness", -1);
        for picks in [&mut block_plates, &mut bell_spacers, &mut gearbox_spacers, &mut shims] {
            picks.push(add(vec![], 0));
        }
        for pair in of("bearing_shim").into_iter().combinations_with_replacement(2) {
            let rear = -pair.iter().map(|part| nm(part, "thickness").unwrap()).sum::<i64>();
            shims.push(add(pair, rear));
        }
        let mut clutches = Vec::new();
        for (flywheel, plate) in of("flywheel").into_iter().cartesian_product(of("pressure_plate"))
        {
            for disc in of("disc").into_iter().map(Some).chain([None]) {
                if let Some(height) = clutch(flywheel, disc, plate) {
                    let parts = [Some(flywheel), disc, Some(plate)];
                    clutches.push(add(parts.into_iter().flatten().collect(), -height));
                }
            }
        }
        Self {
            engines,
            clutches,
            block_plates,
            bell_spacers,
            bells,
            gearbox_spacers,
            gearboxes,
            bearings,
            shims,
        }
    }

    fn slots(&self) -> [&[Pick<'a>]; 9] {
        [
            &self.engines,
            &self.clutches,
            &self.block_plates,
            &self.bell_spacers,
            &self.bells,
            &self.gearbox_spacers,
            &self.gearboxes,
            &self.bearings,
            &self.shims,
        ]
    }

    /// Sums that must stay at most 1: two picks that clash, unless what stands between them adapts
    /// one to the other; and shim picks that clash in themselves or are too thick for a bearing.
    fn exclusions(&self) -> Vec<Expression> {
        let block = adapters(&self.bell_spacers, "block_pattern_rear");
        let gearbox = adapters(&self.gearbox_spacers, "gearbox_pattern_rear");
        let joints: [Joint<'_, 'a>; 15] = [
            ("crank_pattern", &self.engines, &self.clutches, &[]),
            ("spline", &self.clutches, &self.gearboxes, &[]),
            ("contact_face", &self.clutches, &self.bearings, &[]),
            ("block_pattern", &self.engines, &self.block_plates, &[]),
            ("block_pattern", &self.engines, &self.bell_spacers, &[]),
            ("block_pattern", &self.block_plates, &self.bell_spacers, &[]),
            ("block_pattern", &self.engines, &self.bells, &block),
            ("block_pattern", &self.block_plates, &self.bells, &block),
            ("block_pattern", &self.bell_spacers, &self.bells, &[]),
            ("gearbox_pattern", &self.bells, &self.gearbox_spacers, &[]),
            ("gearbox_pattern", &self.gearbox_spacers, &self.gearboxes, &[]),
            ("gearbox_pattern", &self.bells, &self.gearboxes, &gearbox),
            ("seat_pattern", &self.gearboxes, &self.bearings, &[]),
            ("seat_pattern", &self.gearboxes, &self.shims, &[]),
            ("seat_pattern", &self.bearings, &self.shims, &[]),
        ];
        let mut found = Vec::new();
        for (key, front, rear, between) in joints {
            for (a, b) in front.iter().cartesian_product(rear) {
                if a.parts.iter().cartesian_product(&b.parts).any(|(a, b)| clash(a, b, key)) {
                    let apart = between.iter().map(|pick| Expression::from(*pick));
                    found.push(a.chosen + b.chosen - apart.sum::<Expression>());
                }
            }
        }
        for pick in &self.shims {
            if let [a, b] = pick.parts[..]
                && clash(a, b, "seat_pattern")
            {
                found.push(2.0 * pick.chosen);
            }
            for bearing in &self.bearings {
                let most = nm(bearing.parts[0], "max_shim");
                if most.is_some_and(|most| -pick.rear > most) {
                    found.push(pick.chosen + bearing.chosen);
                }
            }
        }
        found
    }
}

/// Whether a part's rear face (its only one, but for adapters) does not mate with the one behind.
fn clash(front: &Part, rear: &Part, key: &str) -> bool {
    // A plate shows its spline only as a matched set.
    if key == "spline" && front.kind.key == "pressure_plate" && !front.is_matched_set() {
        return false;
    }
    let names = |part, key: &str| part_face(part, key).filter(|names| !names.is_unknown());
    let facing = names(front, &format!("{key}_rear")).or_else(|| names(front, key));
    facing.zip(names(rear, key)).is_some_and(|(a, b)| !a.mates(b))
}

/// The picks that stand between two patterns, of one of which the rear face tells.
fn adapters(picks: &[Pick<'_>], key: &str) -> Vec<Variable> {
    let adapts = |pick: &&Pick<'_>| {
        pick.parts.iter().any(|part| part_face(part, key).is_some_and(|names| !names.is_unknown()))
    };
    picks.iter().filter(adapts).map(|pick| pick.chosen).collect()
}

/// What preload and reserve may be wrong by in floating point, in thousandths of an inch.
const SLACK: f64 = 0.01;

#[allow(clippy::cast_precision_loss, reason = "lengths and prices are far below 2^53")]
fn thou(nm: i64) -> f64 {
    nm as f64 / 25_400.0
}

/// The least price in cents, none where nothing lands.
#[allow(clippy::cast_precision_loss, clippy::cast_possible_truncation, reason = "small prices")]
fn cheapest(shop: &Shop) -> Option<i64> {
    let mut vars = variables!();
    let picks = Picks::of(&shop.library, &mut vars);
    if picks.slots().iter().any(|picks| picks.is_empty()) {
        return None;
    }
    let sum = |each: &dyn Fn(&Pick<'_>) -> f64| -> Expression {
        picks.slots().into_iter().flatten().map(|pick| each(pick) * pick.chosen).sum()
    };
    let cents = |part: &&Part| part.price.unwrap().get() as f64;
    let cost = sum(&|pick| pick.parts.iter().map(cents).sum());
    // The fingers less the extended bearing; then the travel less that.
    let preload = sum(&|pick| -thou(pick.rear));
    let travel = |part: &&Part| {
        let heights = nm(part, "extended_height").zip(nm(part, "retracted_height"));
        heights.map_or(0.0, |(extended, retracted)| thou(extended - retracted))
    };
    let reserve = sum(&|pick| pick.parts.iter().map(travel).sum()) - preload.clone();
    let mut model = vars.minimise(cost.clone()).using(microlp);
    for picks in picks.slots() {
        let one: Expression = picks.iter().map(|pick| Expression::from(pick.chosen)).sum();
        model = model.with(one.eq(1.0));
    }
    for exclusion in picks.exclusions() {
        model = model.with(exclusion.leq(1.0));
    }
    let window = &shop.library.house.window;
    let limit = |edge: Option<Length>| edge.map(|edge| thou(edge.nm()));
    for (sum, least, most, fallback) in [
        (preload, window[Edge::PreloadMin], window[Edge::PreloadMax], 600.0),
        (reserve, window[Edge::ReserveMin], window[Edge::ReserveMax], 150.0),
    ] {
        model = model.with(sum.clone().geq(limit(least).unwrap_or(fallback) - SLACK));
        if let Some(most) = limit(most) {
            model = model.with(sum.leq(most + SLACK));
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
        let setup = Setup::new(&shop.library, &shop.job).unwrap();
        let ask = Ask { top: 1, order: Order::Price, ..Ask::default() };
        let answer = recommend(&setup, &ask, &Watch::default()).unwrap();
        let price = answer.stacks.first().map(|fit| fit.to_buy.amount.get());
        assert_eq!(cheapest(&shop), price, "seed {seed}");
        found += usize::from(price.is_some());
        none += usize::from(price.is_none());
    }
    assert!(found > 50 && none > 5, "{found} {none}");
}
