//! The candidates as plain numbers, laid out once so that the search never looks a key up.
//!
//! [`records`] is what a candidate of each slot is in numbers, and how that is read off its part;
//! [`linear`] is what slots behind the fingers add up to.

pub mod linear;
pub mod records;

use std::collections::HashMap;

use rustc_hash::FxHashMap;

use crate::model::house::Number;
use crate::model::job::Reading;
use crate::model::kinds::{Enters, Inside};
use crate::model::length::Length;
use crate::model::part::Part;
use crate::solve::candidates::Candidates;
use crate::solve::compact::linear::{bearings, linears};
use crate::solve::compact::records::{disc_rec, engine_rec, flywheel_rec, nm, plate_rec, val};
use crate::solve::mates::{Face, Patterns};
use crate::stack::choice::{Bench, Choice, Fill};
use crate::stack::cost::{ToBuy, pieces_to_buy, reusable};

pub use crate::solve::compact::linear::{BearingRec, Linear, Rec};
pub use crate::solve::compact::records::{
    Common, DiscRec, EngineRec, Facing, FlywheelRec, PlateRec, Val, pack, unpack,
};

/// The indices of the slots that the sum treats by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Named {
    /// Engine.
    pub engine: usize,
    /// Flywheel.
    pub flywheel: usize,
    /// Disc.
    pub disc: usize,
    /// Pressure plate.
    pub plate: usize,
    /// Bell housing.
    pub bell: usize,
    /// Gearbox.
    pub gearbox: usize,
    /// Bearing.
    pub bearing: usize,
    /// Block plate.
    pub block_plate: usize,
    /// Bell spacer.
    pub bell_spacer: usize,
    /// Gearbox spacer.
    pub gearbox_spacer: usize,
    /// Shims.
    pub shims: usize,
}

/// Everything that one search needs, as plain numbers.
#[derive(Debug)]
pub struct Compact<'b, 'a> {
    /// The job.
    pub bench: &'b Bench<'a>,
    /// The candidates that the numbers stand for.
    pub candidates: &'b Candidates<'a>,
    /// Slots by name.
    pub named: Named,
    /// The slots that add the same to both ends of the travel, in the order of the search.
    pub additive: Vec<usize>,
    /// Common numbers, slot by slot.
    pub common: Vec<Vec<Common>>,
    /// What candidates of a slot show at their joints, each once, slot by slot.
    pub faces: Vec<Vec<Vec<Face>>>,
    /// Whether a measured sum holds the parts of a slot.
    pub inside: Vec<bool>,
    /// The bits of joints at which some candidate of a slot adapts one pattern to another.
    pub adapts: Vec<u8>,
    /// Additive slots, bell housing and gearbox.
    pub linear: Vec<Vec<Linear>>,
    /// Engines.
    pub engines: Vec<EngineRec>,
    /// Flywheels.
    pub flywheels: Vec<FlywheelRec>,
    /// Discs.
    pub discs: Vec<DiscRec>,
    /// Plates.
    pub plates: Vec<PlateRec>,
    /// Bearings.
    pub bearings: Vec<BearingRec>,
    /// Patterns.
    pub patterns: Patterns<'a>,
    /// Readings, by [`Reading`].
    pub readings: [Option<Val>; 6],
    /// What is fitted, for measured sums.
    pub fitted: Fitted,
}

/// What is fitted today, as plain numbers.
#[derive(Debug, Clone, Copy, Default)]
pub struct Fitted {
    /// Engine.
    pub engine: Option<EngineRec>,
    /// Flywheel.
    pub flywheel: Option<FlywheelRec>,
    /// Disc.
    pub disc: Option<DiscRec>,
    /// Plate.
    pub plate: Option<PlateRec>,
    /// The block plate's thickness, for readings taken over it.
    pub block_plate: Option<Val>,
    /// Block plate and bell spacer together, for the starter.
    pub plates: Option<i64>,
    /// The pack of a fitted matched set is measured by the fitted disc's thickness.
    pub master: Option<(i64, i64)>,
}

impl<'b, 'a> Compact<'b, 'a> {
    /// Lays the candidates out. None where the table of kinds has something that the search does
    /// not know how to add up: then the full product answers.
    pub fn new(bench: &'b Bench<'a>, candidates: &'b Candidates<'a>) -> Option<Self> {
        let named = named(bench)?;
        let additive = additive(bench, candidates, &named)?;
        let mut patterns = Patterns::default();
        let (mut common, mut faces) = (Vec::new(), Vec::new());
        let halves: Vec<_> = candidates.slots.iter().map(|fills| halves(fills)).collect();
        for (slot, halves) in halves.iter().enumerate() {
            let (numbers, shown) = commons(bench, candidates, slot, halves, &mut patterns);
            common.push(numbers);
            faces.push(shown);
        }
        patterns.finish();
        let mut linear = vec![Vec::new(); candidates.slots.len()];
        let mut scratch = Choice { fills: bench.fitted.clone() };
        for slot in additive.iter().copied().chain([named.bell, named.gearbox]) {
            linear[slot] = linears(bench, candidates, slot, &halves[slot], &mut scratch);
        }
        let reading = |reading: Reading| {
            let entry = bench.job.reading(reading)?;
            Some(Val::of(entry, || bench.library.house.length(Number::AssumedReading).nm()))
        };
        let list = |slot: usize| candidates.slots[slot].iter();
        let adapts = |faces: &Vec<Vec<Face>>| {
            let adapting = faces.iter().flatten().filter(|face| face.rear.is_some());
            adapting.fold(0, |bits, face| bits | face.joint.bit())
        };
        Some(Self {
            inside: bench.library.kinds.slots().map(|(_, slot)| slot.inside.is_some()).collect(),
            adapts: faces.iter().map(adapts).collect(),
            engines: list(named.engine).map(|fill| engine_rec(bench, fill)).collect(),
            flywheels: list(named.flywheel).map(|fill| flywheel_rec(bench, fill)).collect(),
            discs: list(named.disc).map(|fill| disc_rec(bench, fill)).collect(),
            plates: list(named.plate).filter_map(|fill| plate_rec(bench, fill)).collect(),
            bearings: bearings(bench, candidates, named.bearing, &mut scratch),
            fitted: fitted(bench, &named),
            readings: [
                reading(Reading::CrankProtrusion),
                reading(Reading::ClutchHeight),
                reading(Reading::FingerDepth),
                reading(Reading::BearingDepthExtended),
                reading(Reading::BearingDepthRetracted),
                reading(Reading::FittedDiscThickness),
            ],
            bench,
            candidates,
            named,
            additive,
            common,
            faces,
            linear,
            patterns,
        })
    }

    /// The fitted parts' aligned positions, which a measured rear length already holds.
    pub fn fitted_shift(&self) -> i64 {
        let both = |slot: &usize| {
            let linear = &self.linear[*slot];
            linear.iter().find_map(|one| Some(one.c?.pos - one.m?.pos)).unwrap_or(0)
        };
        self.additive.iter().map(both).sum()
    }

    /// A reading.
    pub fn reading(&self, reading: Reading) -> Option<Val> {
        self.readings[reading as usize]
    }
}

/// The slots that the sum treats by name; none where the table of kinds lacks one.
fn named(bench: &Bench<'_>) -> Option<Named> {
    Some(Named {
        engine: bench.slot("engine")?,
        flywheel: bench.slot("flywheel")?,
        disc: bench.slot("disc")?,
        plate: bench.slot("pressure_plate")?,
        bell: bench.slot("bell_housing")?,
        gearbox: bench.slot("gearbox")?,
        bearing: bench.slot("bearing")?,
        block_plate: bench.slot("block_plate")?,
        bell_spacer: bench.slot("bell_spacer")?,
        gearbox_spacer: bench.slot("gearbox_spacer")?,
        shims: bench.slot("bearing_shim")?,
    })
}

/// Every other slot has to add the same to both ends of the travel, and to nothing else.
fn additive(bench: &Bench<'_>, candidates: &Candidates<'_>, named: &Named) -> Option<Vec<usize>> {
    let by_name = [
        named.engine,
        named.flywheel,
        named.disc,
        named.plate,
        named.bell,
        named.gearbox,
        named.bearing,
    ];
    let mut additive = Vec::new();
    for (index, (kind, slot)) in bench.library.kinds.slots().enumerate() {
        if by_name.contains(&index) {
            continue;
        }
        let known = kind
            .dims
            .iter()
            .flat_map(|dim| dim.enters)
            .all(|enters| matches!(enters, Enters::Rear(_)));
        if !known || !matches!(slot.inside, None | Some(Inside::BearingDepth)) {
            return None;
        }
        additive.push(index);
    }
    // The slot with the most candidates first: it is gone through the fewest times.
    additive.sort_by_key(|slot| std::cmp::Reverse(candidates.slots[*slot].len()));
    Some(additive)
}

/// What every candidate of a slot has, whatever the slot, and the faces that they show.
fn commons<'a>(
    bench: &Bench<'a>,
    candidates: &Candidates<'a>,
    slot: usize,
    halves: &[Option<[u32; 2]>],
    patterns: &mut Patterns<'a>,
) -> (Vec<Common>, Vec<Vec<Face>>) {
    let old = &bench.fitted[slot];
    let is_disc = Some(slot) == bench.slot("disc");
    let mut known: HashMap<Vec<Face>, u32> = HashMap::new();
    let mut shown: Vec<Vec<Face>> = Vec::new();
    let fills = &candidates.slots[slot];
    let mut common = vec![Common::default(); fills.len()];
    // Pairs come last: two parts of which none is fitted bring what each of them brings alone.
    let mut together: FxHashMap<(u32, u32), u32> = FxHashMap::default();
    let (pairs, others): (Vec<usize>, Vec<usize>) =
        (0..fills.len()).partition(|index| halves[*index].is_some());
    for index in others.into_iter().chain(pairs) {
        let fill = &fills[index];
        let mut number = |patterns: &mut Patterns<'a>| {
            let (faces, blank) = patterns.faces(bench.library.kinds, slot, fill);
            let next = shown.len() as u32;
            let number = *known.entry(faces).or_insert_with_key(|faces| {
                shown.push(faces.clone());
                next
            });
            (number, blank)
        };
        if let Some([first, second]) = halves[index]
            && first != second
            && !fill.shares(old)
        {
            let (first, second) = (common[first as usize], common[second as usize]);
            let key = (first.faces, second.faces);
            let faces = *together.entry(key).or_insert_with(|| number(patterns).0);
            common[index] = Common {
                cost: first.cost + second.cost,
                parts: 2,
                changes: 1,
                blank: first.blank | second.blank,
                faces,
                ..Common::default()
            };
            continue;
        }
        let (faces, blank) = number(patterns);
        let same = fill.same(old);
        let replaced = is_disc && bench.disc_is_replaced();
        common[index] = Common {
            cost: pack(cost(bench, fill)),
            parts: fill.parts.len() as u8 + u8::from(fill.bench),
            // A disc that leaves with a matched set belongs to the plate's change.
            changes: u8::from(!(same || is_disc && fill.parts.is_empty())),
            blank,
            faces,
            kept: same || (fill.cut != Length::ZERO && fill.same_parts(old)),
            stays: (fill.bench && old.bench) || (fill.shares(old) && !replaced),
        };
    }
    (common, shown)
}

/// What is still to be bought of a fill.
fn cost(bench: &Bench<'_>, fill: &Fill<'_>) -> ToBuy {
    let mut cost = ToBuy::default();
    for (index, part) in fill.parts.iter().enumerate() {
        let same = |other: &&&Part| other.id == part.id;
        if fill.parts[..index].iter().any(|other| other.id == part.id) {
            continue;
        }
        let needed = fill.parts.iter().filter(same).count();
        let needed = u32::try_from(needed).unwrap_or(u32::MAX);
        let pieces = pieces_to_buy(part, needed, reusable(bench, part));
        cost = cost + ToBuy::of(part, pieces);
    }
    cost
}

/// For each fill of two parts, where each of them stands alone in the list.
fn halves(fills: &[Fill<'_>]) -> Vec<Option<[u32; 2]>> {
    let mut alone: FxHashMap<*const Part, u32> = FxHashMap::default();
    for (index, fill) in (0..).zip(fills) {
        if let [part] = fill.parts.as_slice() {
            alone.insert(std::ptr::from_ref(*part), index);
        }
    }
    let half = |part: &Part| alone.get(&std::ptr::from_ref(part)).copied();
    let halves = |fill: &Fill<'_>| match fill.parts.as_slice() {
        [first, second] => Some([half(first)?, half(second)?]),
        _ => None,
    };
    fills.iter().map(halves).collect()
}

/// What is fitted, read off like a candidate.
fn fitted(bench: &Bench<'_>, named: &Named) -> Fitted {
    let there = |slot: usize| Some(&bench.fitted[slot]).filter(|fill| !fill.parts.is_empty());
    let thickness = |slot: usize| -> Option<i64> {
        bench.fitted[slot].parts.iter().map(|part| nm(part, "thickness")).sum()
    };
    Fitted {
        engine: there(named.engine).map(|fill| engine_rec(bench, fill)),
        flywheel: there(named.flywheel).map(|fill| flywheel_rec(bench, fill)),
        disc: there(named.disc).map(|fill| disc_rec(bench, fill)),
        plate: there(named.plate).and_then(|fill| plate_rec(bench, fill)),
        block_plate: there(named.block_plate)
            .and_then(|fill| val(bench, fill.parts[0], "thickness")),
        plates: thickness(named.block_plate).zip(thickness(named.bell_spacer)).map(|(a, b)| a + b),
        master: bench.master.and_then(|part| nm(part, "bore").zip(nm(part, "stroke"))),
    }
}
