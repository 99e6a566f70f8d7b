//! The job of a random shop: a build on paper, or a car whose readings are its parts' own sum plus an
//! error within their tolerances, one in ten of them with a slip. Set right, too tight or too loose by
//! the bell housing's depth.

use bellstack::model::edge::Edge;
use bellstack::model::entry::Entry;
use bellstack::model::house::Limits;
use bellstack::model::job::{CrankPushed, DiscState, Job, Reading, StarterOn};
use bellstack::model::kinds::Kinds;
use bellstack::model::length::Length;
use bellstack::model::part::Part;

use super::parts::{Maker, THOU};

/// What stands on the bench in truth, slot by slot, as places in the shop.
struct Car {
    at: Vec<(&'static str, Vec<usize>)>,
}

impl Car {
    fn parts<'p>(&self, parts: &'p [Part], kind: &str) -> Vec<&'p Part> {
        let (_, places) = self.at.iter().find(|(known, _)| *known == kind).unwrap();
        places.iter().map(|place| &parts[*place]).collect()
    }

    /// The sum of a dimension over a slot; what nobody knows is `otherwise`.
    fn sum(&self, parts: &[Part], kind: &str, key: &str, otherwise: i64) -> i64 {
        let of = |part: &&Part| part.entry(key).map_or(otherwise, |entry| entry.value);
        self.parts(parts, kind).iter().map(of).sum()
    }
}

/// Draws what is fitted, reads it, and sets the bell housings to where it comes out.
pub(crate) fn draw_job(maker: &mut Maker<'_>) -> (Job, Limits) {
    let car = park(maker);
    let parts = &maker.parts;
    let thou = |thou: i64| thou * THOU;
    let set = car.parts(parts, "pressure_plate")[0].is_matched_set();
    let thick = if set {
        car.sum(parts, "pressure_plate", "pack_thickness", 0)
    } else {
        let disc = car.parts(parts, "disc")[0];
        let apart = |key| disc.entry(key).map(|entry| entry.value);
        let clamped = apart("free_thickness").zip(apart("cushion")).map(|(free, off)| free - off);
        apart("thickness").or(clamped).unwrap_or(thou(330))
    };
    let step = car.sum(parts, "flywheel", "cover_step", 0);
    let ratio = car.sum(parts, "pressure_plate", "finger_ratio", 3_700_000);
    let gap = thick - step;
    let set_gap = car.sum(parts, "pressure_plate", "set_gap", gap);
    let corrected = times(ratio, gap - set_gap);
    let protrusion = car.sum(parts, "engine", "crank_protrusion", thou(20));
    let clutch = car.sum(parts, "flywheel", "thickness", thou(950))
        + step
        + car.sum(parts, "pressure_plate", "finger_height", thou(2_000))
        - corrected;
    let (plates, spacers) = (
        car.sum(parts, "block_plate", "thickness", thou(80)),
        car.sum(parts, "bell_spacer", "thickness", thou(90)),
    );
    let long = car.sum(parts, "bearing", "extended_height", thou(2_800));
    let short = car.sum(parts, "bearing", "retracted_height", long - thou(850));
    let behind = car.sum(parts, "gearbox_spacer", "thickness", thou(80))
        - car.sum(parts, "gearbox", "seat_height", thou(200))
        - car.sum(parts, "bearing_shim", "thickness", thou(40));
    // Where the fitted parts come out: mostly between the usual minimums, or near them.
    let spare = long - short - thou(665);
    let preload = thou(500) + maker.dice.range(-60, spare / THOU + 60) * THOU;
    let tips = protrusion + clutch;
    let depth = tips - preload - plates - spacers + long - behind;
    move_bells(maker, depth);
    let worn = if maker.dice.chance(25) { maker.dice.range(2, 14) * 2 * THOU } else { 0 };
    let stands = clutch + times(ratio, worn);

    let kinds = Kinds::standard();
    let mut job = Job::new("job", kinds);
    for (kind, places) in &car.at {
        let slot = kinds.slot_of(kind).unwrap();
        job.fitted[slot] = places.iter().map(|place| maker.parts[*place].id.clone()).collect();
    }
    read_it(
        maker,
        &mut job,
        &Truth { protrusion, stands, plates, depth: depth + behind, long, short },
    );
    tell(maker, &mut job, worn, thick);
    leave_blank(maker, &mut job);
    let window = windows(maker, &mut job, preload, long - short - preload);
    (job, window)
}

/// A ratio in millionths times a length, rounded half away from zero.
fn times(ratio: i64, length: i64) -> i64 {
    let product = i128::from(ratio) * i128::from(length);
    let half = if product < 0 { -500_000 } else { 500_000 };
    ((product + half) / 1_000_000) as i64
}

/// What readings would say without any error.
struct Truth {
    protrusion: i64,
    /// The clutch's height with its facings as they are.
    stands: i64,
    plates: i64,
    /// Bell housing's engine face to the bearing's seat.
    depth: i64,
    long: i64,
    short: i64,
}

fn park(maker: &mut Maker<'_>) -> Car {
    let mut at = Vec::new();
    let mut set = false;
    // The plate is chosen first: a set takes no disc.
    for kind in [
        "pressure_plate",
        "engine",
        "flywheel",
        "disc",
        "block_plate",
        "bell_spacer",
        "bell_housing",
        "gearbox_spacer",
        "gearbox",
        "bearing",
        "bearing_shim",
    ] {
        let places: Vec<usize> =
            (0..maker.parts.len()).filter(|place| maker.parts[*place].kind.key == kind).collect();
        let optional =
            matches!(kind, "block_plate" | "bell_spacer" | "gearbox_spacer" | "bearing_shim");
        let skipped = (kind == "disc" && set) || (optional && maker.dice.chance(50));
        let mut chosen = Vec::new();
        if !skipped && !places.is_empty() {
            chosen.push(*maker.dice.pick(&places));
            let second = *maker.dice.pick(&places);
            let twice = second == chosen[0] && maker.parts[second].piece_of.is_some();
            if kind == "bearing_shim" && !twice && maker.dice.chance(30) {
                chosen.push(second);
            }
        }
        if kind == "pressure_plate" {
            set = maker.parts[chosen[0]].is_matched_set();
        }
        at.push((kind, chosen));
    }
    Car { at }
}

fn move_bells(maker: &mut Maker<'_>, depth: i64) {
    let bells: Vec<usize> =
        (0..maker.parts.len()).filter(|at| maker.parts[*at].kind.key == "bell_housing").collect();
    for (index, place) in bells.into_iter().enumerate() {
        let by = if index == 0 { 0 } else { maker.dice.range(-30, 30) * THOU };
        let entry = maker.parts[place].entry("depth");
        let entry = entry.map(|entry| Entry { value: depth + by, ..entry });
        maker.parts[place].set("depth", entry);
    }
}

fn read_it(maker: &mut Maker<'_>, job: &mut Job, truth: &Truth) {
    if maker.dice.chance(25) {
        return;
    }
    let plate = !job.fitted[Kinds::standard().slot_of("block_plate").unwrap()].is_empty();
    job.crank_over_plate = plate && maker.dice.chance(60);
    job.depth_over_plate = plate && maker.dice.chance(60);
    let over = |yes: bool| if yes { truth.plates } else { 0 };
    let slip = if maker.dice.chance(10) { maker.dice.range(-30, 30) * 10 * THOU } else { 0 };
    let which = maker.dice.range(0, 9);
    let fingers = match which {
        0..=2 => [true, false, false],
        3..=5 => [false, true, true],
        6 => [true, true, true],
        7 => [false, true, false],
        8 => [false, false, true],
        _ => [maker.dice.chance(50); 3],
    };
    let ends = *maker.dice.pick(&[
        [true, true],
        [true, true],
        [true, true],
        [true, false],
        [false, true],
        [false, false],
    ]);
    let wanted = [
        (
            Reading::FingerDepth,
            fingers[0],
            truth.protrusion + truth.stands - over(job.depth_over_plate),
        ),
        (Reading::CrankProtrusion, fingers[1], truth.protrusion - over(job.crank_over_plate)),
        (Reading::ClutchHeight, fingers[2], truth.stands),
        (Reading::BearingDepthExtended, ends[0], truth.depth - truth.long),
        (Reading::BearingDepthRetracted, ends[1], truth.depth - truth.short),
    ];
    let there: Vec<_> = wanted.into_iter().filter(|(_, read, _)| *read).collect();
    let slipped = if there.is_empty() { 0 } else { maker.dice.range(0, there.len() as i64 - 1) };
    for (index, (reading, _, value)) in there.into_iter().enumerate() {
        let tol = maker.tol(5);
        let error = maker.dice.range(-4, 4) * tol.unwrap_or(4 * THOU) / 4;
        let slip = if index as i64 == slipped { slip } else { 0 };
        job.readings[reading as usize] = Some(Entry::new(value + error + slip, tol));
    }
}

fn tell(maker: &mut Maker<'_>, job: &mut Job, worn: i64, thick: i64) {
    let dice = &mut *maker.dice;
    job.disc_state = if worn > 0 {
        *dice.pick(&[DiscState::Worn, DiscState::Worn, DiscState::Unknown])
    } else {
        *dice.pick(&[DiscState::New, DiscState::New, DiscState::Unknown])
    };
    let told = if worn > 0 { 50 } else { 15 };
    if dice.chance(told) {
        let tol = (!dice.chance(30)).then(|| dice.range(0, 4) * THOU);
        job.readings[Reading::FittedDiscThickness as usize] = Some(Entry::new(thick - worn, tol));
    }
    job.crank_pushed = *dice.pick(&[CrankPushed::Front, CrankPushed::Rear, CrankPushed::Unknown]);
    job.starter_on = *dice.pick(&[StarterOn::Bell, StarterOn::Block, StarterOn::Unknown]);
    if dice.chance(60) {
        job.torque = Some(600_000);
    }
    if dice.chance(70) && maker.parts.iter().any(|part| part.id == "master_cylinder0") {
        job.master_cylinder = Some("master_cylinder0".into());
    }
}

/// Slots that the job does not name: most of them in a build on paper, some on the bench.
fn leave_blank(maker: &mut Maker<'_>, job: &mut Job) {
    let kinds = Kinds::standard();
    let measured = job.readings.iter().any(Option::is_some);
    let share = if measured {
        *maker.dice.pick(&[0, 0, 0, 0, 25, 60])
    } else {
        *maker.dice.pick(&[0, 50, 90])
    };
    for (index, (kind, slot)) in kinds.slots().enumerate() {
        let share = if slot.fixed { share / 3 } else { share };
        // A plate that something was read over has to be named.
        let read_over = kind.key == "block_plate" && (job.crank_over_plate || job.depth_over_plate);
        if maker.dice.chance(share) && !read_over {
            job.fitted[index].clear();
        }
    }
}

/// The job's own window or the shop's, at and about where the fitted parts come out, so that edges are
/// met to the nanometre now and then.
fn windows(maker: &mut Maker<'_>, job: &mut Job, preload: i64, reserve: i64) -> Limits {
    let mut shop = Limits::default();
    for edge in Edge::ALL {
        let likely = if edge.is_least() { 40 } else { 15 };
        if !maker.dice.chance(likely) {
            continue;
        }
        let value = if edge.is_preload() { preload } else { reserve };
        let by = *maker.dice.pick(&[0, 1, -1, 2 * THOU, 5 * THOU, 10 * THOU, 20 * THOU, 60 * THOU]);
        let by = by + maker.dice.range(-2, 6) * THOU;
        let limit = if edge.is_least() { value - by } else { value + by };
        let limit = Some(Length::from_nm(limit.max(0)));
        if maker.dice.chance(60) {
            job.window[edge] = limit;
        } else {
            shop[edge] = limit;
        }
    }
    // What contradicts itself is refused on entry, and none here.
    for (least, most) in
        [(Edge::PreloadMin, Edge::PreloadMax), (Edge::ReserveMin, Edge::ReserveMax)]
    {
        let above = job.window[least].max(shop[least]);
        for limits in [&mut job.window, &mut shop] {
            limits[most] = limits[most].map(|limit| limit.max(above.unwrap_or(limit)));
        }
    }
    shop
}
