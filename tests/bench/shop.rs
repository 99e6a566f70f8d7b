//! A seeded generator of large shops, so that every measurement can be repeated. All of it is
//! invented.

use bellstack::model::faces::Names;
use bellstack::model::house::House;
use bellstack::model::job::Job;
use bellstack::model::kinds::Kinds;
use bellstack::model::length::Length;
use bellstack::model::library::Library;
use bellstack::model::money::Cents;
use bellstack::model::part::{Entry, Part};
use clap::ValueEnum;

/// What is special about a shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Variant {
    /// Everything mates, is priced at random, and is measured in inches with its tolerances.
    Plain,
    /// Clutches and bearings mate within one of about 20 groups.
    Groups,
    /// What is cheap makes the fit too tight, and every thousandth that a dearer part wins costs
    /// the same: cheap parts never fit, and stacks at the window's edge cost about the same.
    Adversarial,
    /// The price falls as the tolerances widen: cheap stacks are in the window and never `sure`.
    Loose,
    /// No part has a price.
    Unpriced,
    /// No dimension has a tolerance.
    Untoleranced,
    /// One dimension in four was measured in hundredths of a millimetre.
    Mixed,
    /// Every check beside the window has what it needs.
    Checked,
}

/// How many parts of each kind a shop has.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Plan {
    pub(crate) variant: Variant,
    /// Flywheels and pressure plates.
    wide: usize,
    discs: usize,
    /// Of each of block plate, bell spacer and gearbox spacer.
    plates: usize,
    bearings: usize,
    shims: usize,
}

impl Plan {
    /// `n` flywheels and `n` plates, a tenth of discs and bearings, a hundredth of each plate and
    /// spacer, and shims that give 30 picks.
    pub(crate) fn tapered(n: usize, variant: Variant) -> Self {
        let tenth = n.div_ceil(10);
        let plates = n.div_ceil(100).max(3);
        Self { variant, wide: n, discs: tenth, plates, bearings: tenth, shims: 7 }
    }

    /// `n` parts of every kind.
    pub(crate) fn even(n: usize, variant: Variant) -> Self {
        Self { variant, wide: n, discs: n, plates: n, bearings: n, shims: n }
    }

    /// In how many groups clutches and bearings mate; the parts of a kind take turns, so that none
    /// is empty.
    pub(crate) fn groups(&self) -> usize {
        if self.variant == Variant::Groups { self.bearings.min(20) } else { 1 }
    }
}

/// A small seeded generator of numbers (splitmix64).
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from `low` to `high`, both included.
    pub(crate) fn range(&mut self, low: i64, high: i64) -> i64 {
        let numbers = high.abs_diff(low) + 1;
        low + i64::try_from(self.next() % numbers).unwrap()
    }

    /// A number from 0 to `count` - 1.
    pub(crate) fn index(&mut self, count: usize) -> usize {
        usize::try_from(self.next() % u64::try_from(count).unwrap()).unwrap()
    }

    /// True in `percent` of cases.
    pub(crate) fn chance(&mut self, percent: i64) -> bool {
        self.range(0, 99) < percent
    }
}

/// A dimension to be drawn: its key, from where to where, and its tightest tolerance, in thou.
type Draw = (&'static str, i64, i64, i64);

struct Maker {
    dice: Dice,
    plan: Plan,
    parts: Vec<Part>,
}

impl Maker {
    fn is(&self, variant: Variant) -> bool {
        self.plan.variant == variant
    }

    /// A length of `low` to `high` thou, in steps of half a thou or of a hundredth of a millimetre.
    fn length(&mut self, low: i64, high: i64) -> i64 {
        if self.is(Variant::Mixed) && self.dice.range(0, 3) == 0 {
            return self.dice.range(low * 254 / 100, high * 254 / 100) * 10_000;
        }
        self.dice.range(low * 2, high * 2) * 12_700
    }

    /// Makes a part. `wins` says what a larger first dimension does to the reserve, in thousandths
    /// per thou: an adversarial price is made of that.
    fn part(&mut self, kind: &str, number: usize, wins: i64, draws: &[Draw]) -> Part {
        let kind = Kinds::standard().get(kind).unwrap();
        let prefix: String = kind.key.split('_').map(|word| &word[..2]).collect();
        let mut part = Part::new(format!("{prefix}{number:05}").to_uppercase(), kind);
        let slack = self.dice.range(2, if self.is(Variant::Loose) { 16 } else { 4 });
        for (key, low, high, tol) in draws {
            let value = self.length(*low, *high);
            let tol = thou(*tol) * slack / 2;
            part.set(
                key,
                Some(Entry::new(value, (!self.is(Variant::Untoleranced)).then_some(tol))),
            );
        }
        let noise = self.dice.range(0, 99);
        let price = match self.plan.variant {
            Variant::Unpriced => None,
            Variant::Adversarial => {
                let (key, low, high, _) = draws[0];
                let worst = if wins < 0 { high } else { low };
                let better = part.entry(key).unwrap().value - thou(worst);
                Some(100 + noise + better * wins / thou(10))
            }
            Variant::Loose => Some((17 - slack) * 1_000 + noise),
            _ => Some(self.dice.range(10, 900) * 100),
        };
        part.price = price.map(Cents::new);
        let group = format!("g{}", number % self.plan.groups());
        for (face, names) in part.kind.faces.iter().zip(&mut part.faces) {
            let grouped = matches!(face.key, "cover_pattern" | "contact_face");
            if !face.key.ends_with("_rear") && !face.matched_set_only {
                *names = Names::parse(if grouped { &group } else { "a" });
            }
        }
        part
    }

    /// What only the checks beside the window ask for.
    fn check(&mut self, part: &mut Part, draws: &[Draw]) {
        if self.is(Variant::Checked) {
            for (key, low, high, tol) in draws {
                let value = self.length(*low, *high);
                part.set(key, Some(Entry::new(value, Some(thou(*tol)))));
            }
        }
    }

    /// What a job gives and the search leaves alone: one is on the shelf.
    fn fixed(&mut self) {
        let mut engine = self.part("engine", 0, 0, &[("crank_protrusion", 20, 20, 2)]);
        let pilot: [Draw; 4] = [
            ("pilot_recess", 100, 100, 5),
            ("pilot_length", 750, 750, 5),
            ("pilot_bore_depth", 1500, 1500, 5),
            ("dowel_protrusion", 500, 500, 5),
        ];
        self.check(&mut engine, &pilot);
        let bell = self.part("bell_housing", 0, 0, &[("depth", 5200, 5200, 4)]);
        let mut gearbox = self.part("gearbox", 0, 0, &[("seat_height", 500, 500, 4)]);
        self.check(&mut gearbox, &[("shaft_length", 6200, 6200, 5)]);
        let mut all = vec![engine, bell, gearbox];
        if self.is(Variant::Checked) {
            all.push(self.part("master_cylinder", 0, 0, &[("bore", 1000, 1000, 1)]));
            all[3].set("stroke", Some(Entry::new(thou(1500), None)));
        }
        for part in &mut all {
            part.on_hand = 1;
        }
        self.parts.append(&mut all);
    }

    fn clutches(&mut self) {
        for number in 0..self.plan.wide {
            let mut flywheel = self.part("flywheel", number, -1000, &[("thickness", 800, 1300, 3)]);
            self.check(&mut flywheel, &[("bolt_clearance", 100, 300, 5)]);
            self.parts.push(flywheel);
            let draws: [Draw; 3] = [
                ("finger_height", 1500, 2200, 5),
                ("set_gap", 300, 340, 2),
                ("release_travel", 300, 450, 5),
            ];
            let mut plate = self.part("pressure_plate", number, -1000, &draws);
            let ratio = 3_000_000 + 10_000 * self.dice.range(0, 150);
            let tol = (!self.is(Variant::Untoleranced)).then_some(100_000);
            plate.set("finger_ratio", Some(Entry::new(ratio, tol)));
            plate.set("wear_allowance", Some(Entry::new(thou(30), None)));
            plate.set("disc_diameter", Some(Entry::new(thou(11_000), None)));
            let circle: [Draw; 2] =
                [("finger_circle_inner", 1500, 1600, 5), ("finger_circle_outer", 2000, 2100, 5)];
            self.check(&mut plate, &circle);
            if self.is(Variant::Checked) {
                plate
                    .set("torque_rating", Some(Entry::new(self.dice.range(300, 900) * 1000, None)));
            }
            self.parts.push(plate);
        }
        for number in 0..self.plan.discs {
            let mut disc = self.part("disc", number, 3750, &[("thickness", 290, 350, 3)]);
            disc.set("diameter", Some(Entry::new(thou(11_000), None)));
            self.check(&mut disc, &[("hub_front", 20, 200, 5)]);
            self.parts.push(disc);
        }
    }

    fn rear(&mut self) {
        for number in 0..self.plan.plates {
            let block_plate = self.part("block_plate", number, 1000, &[("thickness", 30, 250, 1)]);
            self.parts.push(block_plate);
            for kind in ["bell_spacer", "gearbox_spacer"] {
                let spacer = self.part(kind, number, 1000, &[("thickness", 100, 500, 2)]);
                self.parts.push(spacer);
            }
        }
        for number in 0..self.plan.bearings {
            let heights: [Draw; 1] = [("extended_height", 2200, 3000, 5)];
            let mut bearing = self.part("bearing", number, -1000, &heights);
            let long = bearing.entry("extended_height").unwrap();
            let travel = self.length(850, 1400);
            bearing.set("retracted_height", Some(Entry::new(long.value - travel, long.tol)));
            bearing.set("max_shim", Some(Entry::new(thou(170), None)));
            let circles: [Draw; 3] = [
                ("contact_diameter", 1550, 2050, 5),
                ("bore_outer", 2600, 2800, 1),
                ("bore_inner", 2000, 2100, 1),
            ];
            self.check(&mut bearing, &circles);
            self.parts.push(bearing);
        }
        for number in 0..self.plan.shims {
            // Seven in even steps: of their 36 picks, 30 stay within a bearing's 0.170 in.
            let step = 20 + 15 * i64::try_from(number).unwrap();
            let (low, high) = if self.plan.shims == 7 { (step, step) } else { (10, 120) };
            let shim = self.part("bearing_shim", number, -1000, &[("thickness", low, high, 1)]);
            self.parts.push(shim);
        }
    }
}

pub(crate) fn thou(thou: i64) -> i64 {
    Length::from_thou(thou).nm()
}

/// The shop's library, the same in every run.
pub(crate) fn library(plan: Plan) -> Library {
    let mut maker = Maker { dice: Dice::new(1), plan, parts: Vec::new() };
    maker.fixed();
    maker.clutches();
    maker.rear();
    Library::new(Kinds::standard(), maker.parts, House::default())
}

/// A build on paper: engine, bell housing and gearbox are given, all else is to be found.
pub(crate) fn paper(library: &Library) -> Job {
    let kinds = library.kinds;
    let mut job = Job::new("paper", kinds);
    for kind in ["engine", "bell_housing", "gearbox"] {
        let id = library.of_kind(kind).next().unwrap().id.clone();
        job.fitted[kinds.slot_of(kind).unwrap()].push(id);
    }
    job.master_cylinder = library.of_kind("master_cylinder").next().map(|part| part.id.clone());
    job.torque = job.master_cylinder.as_ref().map(|_| 500_000);
    job
}
