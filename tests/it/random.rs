//! Small random shops: mixed units, ties, steps, ratios, sets, missing values, faces and readings.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    reason = "only small numbers are drawn, and none below zero is cast"
)]

use bellstack::model::edge::Edge;
use bellstack::model::entry::{Basis, Evidence};
use bellstack::model::faces::Names;
use bellstack::model::house::House;
use bellstack::model::job::{CrankPushed, DiscState, Job, Reading, StarterOn};
use bellstack::model::kinds::Kinds;
use bellstack::model::length::Length;
use bellstack::model::library::Library;
use bellstack::model::money::Cents;
use bellstack::model::part::{Entry, Part};
use bellstack::solve::ask::Ask;
use bellstack::solve::candidates::candidates;
use bellstack::stack::choice::{Choice, Setup};
use bellstack::stack::fit::evaluate;
use bellstack::stack::joints::joints;
use itertools::Itertools;

/// A small seeded generator of numbers (splitmix64), so that every failure can be repeated.
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from `low` to `high`, both included.
    pub(crate) fn range(&mut self, low: i64, high: i64) -> i64 {
        low + (self.next() % (high - low + 1) as u64) as i64
    }

    /// True in `percent` of cases.
    pub(crate) fn chance(&mut self, percent: i64) -> bool {
        self.range(0, 99) < percent
    }

    pub(crate) fn pick<'t, T>(&mut self, from: &'t [T]) -> &'t T {
        &from[self.range(0, from.len() as i64 - 1) as usize]
    }

    /// A length of `low` to `high` steps, a step being 0.010 in or, now and then, 0.25 mm.
    fn length(&mut self, low: i64, high: i64) -> i64 {
        let steps = self.range(low, high);
        if self.chance(25) { steps * 250_000 + self.range(0, 1) } else { steps * 254_000 }
    }
}

pub(crate) struct Shop {
    pub(crate) library: Library,
    pub(crate) job: Job,
}

struct Maker<'d> {
    dice: &'d mut Dice,
    /// How often a tolerance or an optional value is missing, per cent.
    gaps: i64,
    /// No two faces clash.
    mating: bool,
}

impl Maker<'_> {
    fn part(&mut self, kind: &str, number: usize) -> Part {
        let kind = Kinds::standard().get(kind).unwrap();
        let mut part = Part::new(format!("{}{number}", &kind.key[..kind.key.len().min(12)]), kind);
        if self.dice.chance(70) {
            part.price = Some(Cents::new(self.dice.range(0, 4) * 5000));
        }
        part.on_hand = self.dice.range(-2, 2).max(0) as u32;
        part.retired = self.dice.chance(5);
        for index in 0..part.faces.len() {
            let names: [&str; 7] = ["a", "a", "a", "b", "a|b", "*", ""];
            let is_rear = kind.faces[index].key.ends_with("_rear");
            if is_rear && self.dice.chance(70) {
                continue;
            }
            let name = *self.dice.pick::<&str>(&names);
            part.faces[index] = Names::parse(if self.mating && name == "b" { "a|b" } else { name });
        }
        part
    }

    /// A single piece of a part number, in hand or gone.
    fn piece(&mut self, kind: &str, number: usize) -> Part {
        let piece = self.filled(kind, number);
        let (of, on_hand) = (piece.id.clone(), u32::from(self.dice.chance(70)));
        Part { id: format!("{of}#1"), piece_of: Some(of), price: None, on_hand, ..piece }
    }

    fn set(&mut self, part: &mut Part, key: &str, low: i64, high: i64) {
        let value = self.dice.length(low, high);
        let tol = (!self.dice.chance(self.gaps)).then(|| self.dice.range(0, 6) * 12_700);
        part.set(key, Some(self.known(value, tol)));
    }

    /// Some values are as stated; others were measured or predicted, so that their limit and their u
    /// go their own ways.
    fn known(&mut self, value: i64, tol: Option<i64>) -> Entry {
        if self.dice.chance(60) {
            return Entry::new(value, tol);
        }
        let basis =
            *self.dice.pick(&[Basis::Measured { readings: 3 }, Basis::Predicted { pieces: 4 }]);
        let (share, assumed) = (self.dice.range(1, 4), self.dice.chance(10));
        let evidence = Evidence { basis, wide: tol.unwrap_or(0) * share / 4, assumed };
        Entry { evidence: Some(evidence), ..Entry::new(value, tol) }
    }

    fn maybe(&mut self, part: &mut Part, key: &str, low: i64, high: i64) {
        if !self.dice.chance(self.gaps + 20) {
            self.set(part, key, low, high);
        }
    }

    fn filled(&mut self, kind: &str, number: usize) -> Part {
        let mut part = self.part(kind, number);
        let lacks = self.dice.chance(4);
        match kind {
            "engine" => {
                self.set(&mut part, "crank_protrusion", -4, 4);
                self.maybe(&mut part, "pilot_recess", 5, 15);
                self.maybe(&mut part, "pilot_length", 20, 50);
                self.maybe(&mut part, "pilot_bore_depth", 60, 160);
                self.maybe(&mut part, "dowel_protrusion", 20, 60);
                if self.dice.chance(40) {
                    part.set("crank_end_float", Some(Entry::new(152_400, None)));
                }
            }
            "flywheel" => {
                self.set(&mut part, "thickness", 80, 110);
                if self.dice.chance(30) {
                    self.set(&mut part, "cover_step", -2, 3);
                }
                self.maybe(&mut part, "ring_gear_offset", 40, 46);
                self.maybe(&mut part, "bolt_clearance", 4, 30);
                part.set("min_thickness", Some(Entry::new(60 * 254_000, None)));
                if self.dice.chance(60) {
                    let value = self.dice.range(132, 133);
                    part.set("ring_teeth", Some(Entry::new(value, None)));
                }
            }
            "disc" => {
                if self.dice.chance(80) {
                    self.set(&mut part, "thickness", 29, 35);
                } else {
                    self.set(&mut part, "free_thickness", 32, 37);
                    self.set(&mut part, "cushion", 1, 3);
                }
                self.maybe(&mut part, "min_thickness", 24, 28);
                self.maybe(&mut part, "diameter", 900, 903);
                self.maybe(&mut part, "hub_front", 2, 12);
            }
            "pressure_plate" => {
                self.set(&mut part, "finger_height", 150, 200);
                self.maybe(&mut part, "set_gap", 29, 35);
                if self.dice.chance(25) {
                    self.set(&mut part, "pack_thickness", 29, 35);
                }
                if self.dice.chance(80) {
                    let value = self.dice.range(230, 450) * 10_000 + self.dice.range(0, 1) * 3;
                    let tol =
                        (!self.dice.chance(self.gaps)).then(|| self.dice.range(0, 4) * 50_000);
                    part.set("finger_ratio", Some(self.known(value, tol)));
                }
                self.maybe(&mut part, "wear_allowance", 2, 6);
                self.maybe(&mut part, "release_travel", 30, 60);
                if self.dice.chance(30) {
                    self.set(&mut part, "finger_circle_inner", 150, 170);
                    self.set(&mut part, "finger_circle_outer", 200, 220);
                }
                self.maybe(&mut part, "disc_diameter", 900, 903);
                self.maybe(&mut part, "torque_rating", 1, 1);
                if let Some(torque) = part.entry("torque_rating") {
                    let value = self.dice.range(3, 6) * 100_000;
                    part.set("torque_rating", Some(Entry { value, ..torque }));
                }
            }
            "bell_housing" => self.set(&mut part, "depth", 480, 520),
            "gearbox" => {
                self.set(&mut part, "seat_height", 0, 20);
                self.maybe(&mut part, "shaft_length", 500, 530);
            }
            "bearing" => {
                let long = self.dice.range(240, 280);
                let travel = self.dice.range(85, 130);
                for (key, value) in [("extended_height", long), ("retracted_height", long - travel)]
                {
                    let tol =
                        (!self.dice.chance(self.gaps)).then(|| self.dice.range(0, 4) * 25_400);
                    part.set(key, Some(self.known(value * 254_000, tol)));
                }
                self.maybe(&mut part, "contact_diameter", 160, 210);
                self.maybe(&mut part, "max_shim", 10, 30);
                if self.dice.chance(50) {
                    self.set(&mut part, "bore_outer", 260, 280);
                    self.set(&mut part, "bore_inner", 200, 210);
                }
            }
            "master_cylinder" => {
                self.set(&mut part, "bore", 70, 80);
                self.set(&mut part, "stroke", 110, 140);
            }
            _ => self.set(&mut part, "thickness", 2, 30),
        }
        if lacks {
            let needed: Vec<_> = part.kind.dims.iter().filter(|dim| dim.needed).collect();
            let key = self.dice.pick(&needed).key;
            part.set(key, None);
        }
        part
    }
}

/// A shop with up to `most` parts a kind. The window is wide enough that some stacks land.
pub(crate) fn shop(seed: u64, most: i64) -> Shop {
    let mut dice = Dice::new(seed);
    let kinds = Kinds::standard();
    let gaps = *dice.pick(&[0, 10, 40]);
    let mut maker = Maker { dice: &mut dice, gaps, mating: !seed.is_multiple_of(4) };
    let mut parts = Vec::new();
    for kind in kinds.iter() {
        let few = matches!(kind.key, "engine" | "bell_housing" | "gearbox" | "master_cylinder");
        let count =
            if few { 1 + i64::from(maker.dice.chance(15)) } else { maker.dice.range(1, most) };
        for number in 0..count as usize {
            parts.push(maker.filled(kind.key, number));
            if !few && maker.dice.chance(15) {
                parts.push(maker.piece(kind.key, number));
            }
        }
    }
    let mut house = House::default();
    if dice.chance(50) {
        house.window[Edge::PreloadMin] = Some(Length::from_thou(dice.range(300, 600)));
        house.window[Edge::ReserveMin] = Some(Length::from_thou(dice.range(50, 200)));
    }
    if dice.chance(20) {
        house.window[Edge::PreloadMax] = Some(Length::from_thou(dice.range(650, 900)));
    }
    if dice.chance(10) {
        house.window[Edge::ReserveMax] = Some(Length::from_thou(dice.range(300, 500)));
    }
    let library = Library::new(kinds, parts, house);
    let job = job(&mut dice, &library);
    Shop { library, job }
}

/// A shop, mostly moved back or forth so that some stack stands in the middle of its window: the
/// bell housing is as much deeper, and with it what was measured over it.
pub(crate) fn landing(seed: u64, most: i64) -> Shop {
    let mut shop = shop(seed, most);
    let deeper = if seed.is_multiple_of(5) { None } else { too_tight(&shop) };
    let Some(deeper) = deeper else { return shop };
    let bells = shop.library.parts.iter_mut().filter(|part| part.kind.key == "bell_housing");
    let depths = bells.flat_map(|bell| &mut bell.dims).flatten();
    let depth = [Reading::BearingDepthExtended, Reading::BearingDepthRetracted];
    let readings = shop.job.readings.iter_mut().enumerate();
    let readings = readings.filter(|(index, _)| depth.iter().any(|one| *one as usize == *index));
    for entry in depths.chain(readings.filter_map(|(_, entry)| entry.as_mut())) {
        entry.value += deeper;
    }
    shop
}

/// How far the first stack that mates and whose bearing travels enough stands from the middle
/// between its least preload and its least reserve, in whole steps.
fn too_tight(shop: &Shop) -> Option<i64> {
    let setup = Setup::new(&shop.library, &shop.job).ok()?;
    let all = candidates(&setup, &Ask::default()).ok()?;
    let lists = all.slots.iter().map(|fills| fills.iter().cloned());
    let fits = lists.multi_cartesian_product().filter_map(|fills| {
        let choice = Choice { fills };
        setup.complete(&choice).ok()?;
        let mates = joints(&setup, &choice).clashes.is_empty();
        if mates { evaluate(&setup, &choice).ok() } else { None }
    });
    fits.take(100).find_map(|fit| {
        let room = |edge: Edge| fit.edges[edge].map(|edge| edge.room.nm());
        let (preload, reserve) = (room(Edge::PreloadMin)?, room(Edge::ReserveMin)?);
        (preload + reserve > 0).then_some((preload - reserve) / 2 / 254_000 * 254_000)
    })
}

fn job(dice: &mut Dice, library: &Library) -> Job {
    let kinds = library.kinds;
    let mut job = Job::new("job", kinds);
    let measured = dice.chance(60);
    for (index, (kind, slot)) in kinds.slots().enumerate() {
        let ids: Vec<String> = library.of_kind(kind.key).map(|part| part.id.clone()).collect();
        let blank = match (slot.fixed, measured) {
            (true, _) => dice.chance(20),
            (false, true) => dice.chance(15),
            (false, false) => dice.chance(70),
        };
        if !blank && !ids.is_empty() {
            job.fitted[index].push(dice.pick(&ids).clone());
            if slot.key == "bearing_shims" && dice.chance(40) {
                let second = dice.pick(&ids).clone();
                if !second.contains('#') {
                    job.fitted[index].push(second);
                }
            }
        }
    }
    let plate = &job.fitted[kinds.slot_of("pressure_plate").unwrap()];
    if plate.first().and_then(|id| library.find(id)).is_some_and(Part::is_matched_set) {
        job.fitted[kinds.slot_of("disc").unwrap()].clear();
    }
    job.master_cylinder =
        Some("master_cylin0".into()).filter(|id: &String| library.find(id).is_some());
    if dice.chance(60) {
        job.torque = Some(400_000);
    }
    let mut read = |reading: Reading, low: i64, high: i64, percent: i64| {
        if dice.chance(percent) {
            let tol = (!dice.chance(40)).then(|| dice.range(0, 30) * 2_540);
            let value = dice.length(low, high);
            job.readings[reading as usize] = Some(Entry::new(value, tol));
        }
    };
    read(Reading::CrankProtrusion, -4, 4, 40);
    if measured {
        read(Reading::ClutchHeight, 240, 290, 50);
        read(Reading::FingerDepth, 240, 290, 40);
        read(Reading::BearingDepthExtended, 200, 240, 50);
        read(Reading::BearingDepthRetracted, 300, 340, 50);
        read(Reading::FittedDiscThickness, 28, 34, 30);
    }
    let plates = !job.fitted[kinds.slot_of("block_plate").unwrap()].is_empty();
    job.crank_over_plate = plates && dice.chance(50);
    job.depth_over_plate = plates && dice.chance(50);
    job.disc_state = *dice.pick(&[DiscState::New, DiscState::Worn, DiscState::Unknown]);
    job.crank_pushed = *dice.pick(&[CrankPushed::Front, CrankPushed::Rear, CrankPushed::Unknown]);
    job.starter_on = *dice.pick(&[StarterOn::Bell, StarterOn::Block, StarterOn::Unknown]);
    job
}
