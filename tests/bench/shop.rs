//! A seeded generator of large shops, so that every measurement can be repeated.

#![allow(
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    clippy::struct_excessive_bools,
    reason = "only small numbers are drawn, none below zero is cast, and a plan is a list of switches"
)]

use bellstack::model::faces::Names;
use bellstack::model::house::House;
use bellstack::model::job::{Job, Reading};
use bellstack::model::kinds::Kinds;
use bellstack::model::length::Length;
use bellstack::model::library::Library;
use bellstack::model::money::Cents;
use bellstack::model::part::{Entry, Part};

/// What a generated shop is like.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Plan {
    pub(crate) seed: u64,
    /// Flywheels and plates.
    pub(crate) wide: usize,
    pub(crate) discs: usize,
    /// Of each plate and spacer.
    pub(crate) plates: usize,
    pub(crate) bearings: usize,
    pub(crate) shims: usize,
    /// In how many groups clutches and bearings mate; one: everything mates.
    pub(crate) groups: i64,
    /// Cheap parts never fit: the price falls with the misfit.
    pub(crate) adversarial: bool,
    /// Whether parts have a price at all.
    pub(crate) priced: bool,
    /// Whether dimensions have a tolerance.
    pub(crate) tolerances: bool,
    /// Dimensions in millimetres for one part in four.
    pub(crate) mixed: bool,
}

impl Plan {
    /// `n` parts of every kind that is searched.
    pub(crate) fn even(n: usize) -> Self {
        Self {
            seed: 1,
            wide: n,
            discs: n,
            plates: n,
            bearings: n,
            shims: n,
            groups: 1,
            adversarial: false,
            mixed: true,
            priced: true,
            tolerances: true,
        }
    }

    /// The large shop: `n` flywheels and plates, and fewer of the rest.
    pub(crate) fn large(n: usize) -> Self {
        Self {
            discs: n.div_ceil(10),
            plates: n.div_ceil(100),
            bearings: n.div_ceil(10),
            shims: 7,
            ..Self::even(n)
        }
    }
}

struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    fn range(&mut self, low: i64, high: i64) -> i64 {
        low + (self.next() % (high - low + 1) as u64) as i64
    }
}

struct Maker {
    dice: Dice,
    plan: Plan,
}

impl Maker {
    /// A length of `low` to `high` thou, in whole thou or in hundredths of a millimetre.
    fn length(&mut self, low: i64, high: i64) -> i64 {
        if self.plan.mixed && self.dice.range(0, 3) == 0 {
            return self.dice.range(low * 254 / 100, high * 254 / 100) * 10_000;
        }
        Length::from_thou(self.dice.range(low, high)).nm()
    }

    fn part(
        &mut self,
        kind: &str,
        prefix: &str,
        number: usize,
        dims: &[(&str, i64, i64, i64)],
    ) -> Part {
        let spec = Kinds::standard().get(kind).unwrap();
        let mut part = Part::new(format!("{prefix}{number:05}"), spec);
        let mut misfit = 0;
        for (index, (key, low, high, tol)) in dims.iter().enumerate() {
            let value = self.length(*low, *high);
            part.set(
                key,
                Some(Entry::new(value, self.plan.tolerances.then(|| Length::from_thou(*tol).nm()))),
            );
            if index == 0 {
                let middle = Length::from_thou((low + high) / 2).nm();
                misfit = (value - middle).abs() / 25_400;
            }
        }
        let price = if self.plan.adversarial {
            100_000 - 300 * misfit.min(300)
        } else {
            self.dice.range(10, 900) * 100
        };
        part.price = self.plan.priced.then(|| Cents::new(price));
        let group = self.dice.range(1, self.plan.groups);
        for (face, names) in part.kind.faces.iter().zip(&mut part.faces) {
            if face.key.ends_with("_rear") || face.matched_set_only {
                continue;
            }
            let grouped = matches!(face.key, "cover_pattern" | "contact_face");
            let name = if grouped { format!("g{group}") } else { "a".into() };
            *names = Names::parse(&name);
        }
        part
    }
}

/// A paper build: engine, bell housing and gearbox are given, all else is to be found.
pub(crate) fn shop(plan: Plan) -> (Library, Job) {
    let mut maker = Maker { dice: Dice(plan.seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1), plan };
    let mut parts = Vec::new();
    let fixed = |maker: &mut Maker, kind: &str, id: &str, dims: &[(&str, i64, i64, i64)]| {
        let mut part = maker.part(kind, id, 0, dims);
        part.on_hand = 1;
        part
    };
    parts.push(fixed(&mut maker, "engine", "E", &[("crank_protrusion", 20, 20, 2)]));
    parts.push(fixed(&mut maker, "bell_housing", "H", &[("depth", 6200, 6200, 4)]));
    parts.push(fixed(&mut maker, "gearbox", "G", &[("seat_height", 500, 500, 4)]));
    for n in 0..plan.wide {
        parts.push(maker.part(
            "flywheel",
            "F",
            n,
            &[("thickness", 800, 1300, 3), ("ring_gear_offset", 500, 520, 2)],
        ));
        let mut plate = maker.part(
            "pressure_plate",
            "P",
            n,
            &[
                ("finger_height", 1500, 2200, 5),
                ("set_gap", 300, 340, 2),
                ("release_travel", 300, 450, 5),
            ],
        );
        let ratio = 3_000_000 + 50_000 * maker.dice.range(0, 30);
        plate.set("finger_ratio", Some(Entry::new(ratio, Some(100_000))));
        plate.set("wear_allowance", Some(Entry::new(Length::from_thou(30).nm(), None)));
        parts.push(plate);
    }
    for n in 0..plan.discs {
        parts.push(maker.part("disc", "D", n, &[("thickness", 290, 350, 3)]));
    }
    for n in 0..plan.plates {
        parts.push(maker.part("block_plate", "K", n, &[("thickness", 30, 250, 1)]));
        parts.push(maker.part("bell_spacer", "S", n, &[("thickness", 100, 500, 2)]));
        parts.push(maker.part("gearbox_spacer", "X", n, &[("thickness", 100, 500, 2)]));
    }
    for n in 0..plan.bearings {
        let mut bearing = maker.part("bearing", "B", n, &[("extended_height", 2200, 3000, 5)]);
        let travel = maker.length(850, 1400);
        let value = bearing.entry("extended_height").unwrap().value - travel;
        bearing.set("retracted_height", Some(Entry::new(value, Some(Length::from_thou(5).nm()))));
        bearing.set("max_shim", Some(Entry::new(Length::from_thou(300).nm(), None)));
        parts.push(bearing);
    }
    for n in 0..plan.shims {
        parts.push(maker.part("bearing_shim", "Z", n, &[("thickness", 20, 120, 1)]));
    }
    let kinds = Kinds::standard();
    let library = Library::new(kinds, parts, House::default());
    let mut job = Job::new("paper", kinds);
    for (kind, id) in [("engine", "E00000"), ("bell_housing", "H00000"), ("gearbox", "G00000")] {
        job.fitted[kinds.slot_of(kind).unwrap()] = vec![id.into()];
    }
    (library, job)
}

/// A measured car of the same shop, too tight: everything is fitted, clutch and bearing measured.
pub(crate) fn measured(library: &Library, number: usize) -> Job {
    let kinds = library.kinds;
    let mut job = Job::new(format!("car-{number}"), kinds);
    for (index, (kind, slot)) in kinds.slots().enumerate() {
        let needed = matches!(
            slot.takes,
            bellstack::model::kinds::Takes::One
                | bellstack::model::kinds::Takes::OneUnlessMatchedSet
        );
        let ids: Vec<_> = library.of_kind(kind.key).map(|part| part.id.clone()).collect();
        if needed && !ids.is_empty() {
            job.fitted[index] = vec![ids[number * 7919 % ids.len()].clone()];
        }
    }
    let tol = Some(Length::from_thou(3).nm());
    let mut read = |reading: Reading, thou: i64| {
        let value = Length::from_thou(thou).nm();
        job.readings[reading as usize] = Some(Entry::new(value, tol));
    };
    read(Reading::FingerDepth, 2950 + (number as i64 * 37) % 120);
    read(Reading::BearingDepthExtended, 2150);
    read(Reading::BearingDepthRetracted, 3100);
    job.disc_state = bellstack::model::job::DiscState::New;
    job
}
