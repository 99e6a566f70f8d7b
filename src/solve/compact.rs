//! The candidates as plain numbers, laid out once so that the search never looks a key up.

use std::sync::Arc;

use crate::model::house::Number;
use crate::model::job::Reading;
use crate::model::kinds::{Enters, Inside};
use crate::model::part::Part;
use crate::solve::candidates::Candidates;
use crate::solve::mates::{Face, Patterns};
use crate::stack::choice::{Bench, Choice, Fill};
use crate::stack::cost::{ToBuy, pieces_to_buy, reusable};
use crate::stack::form::{Form, MICRO};
use crate::stack::lengths::rear::Reach;
use crate::stack::lengths::sums::{Sums, form};

/// A sum with its error limits, in nanometres: tolerances enter with plus or minus one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Rec {
    /// The value.
    pub pos: i64,
    /// Every tolerance at its limit.
    pub wc: i64,
    /// The sum of squared tolerances: three times the variance.
    pub v: i128,
    /// Whether some tolerance was assumed.
    pub assumed: bool,
}

impl Rec {
    fn of(form: &Form<'_>) -> Self {
        let spread = form.spread();
        Self {
            pos: form.value().nm(),
            wc: i64::try_from(spread.worst_case / MICRO).unwrap_or(i64::MAX),
            v: spread.three_u_squared / (MICRO * MICRO),
            assumed: spread.assumed,
        }
    }

    /// Both sums together; their pieces differ.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self {
            pos: self.pos + other.pos,
            wc: self.wc + other.wc,
            v: self.v + other.v,
            assumed: self.assumed || other.assumed,
        }
    }
}

/// One value with its tolerance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Val {
    /// The value.
    pub value: i64,
    /// The limit half-width.
    pub tol: i64,
    /// Whether it was assumed.
    pub assumed: bool,
}

/// What every candidate has, whatever its slot.
#[derive(Debug, Clone, Default)]
pub struct Common {
    /// Unpriced pieces in the high bits, cents in the low ones: one number that adds and compares.
    pub cost: i64,
    /// How many parts it is.
    pub parts: u32,
    /// One where it differs from what is fitted.
    pub changes: u32,
    /// The bits of joints at which it is blank.
    pub blank: u8,
    /// What it shows at its joints.
    pub faces: Vec<Face>,
    /// It is just what is fitted.
    pub kept: bool,
    /// Some piece of it stays inside the measured sum.
    pub stays: bool,
}

/// Bits for cents in [`Common::cost`].
const CENT_BITS: u32 = 44;

/// Packs what is to be bought into one number.
pub fn pack(to_buy: ToBuy) -> i64 {
    (i64::from(to_buy.unpriced) << CENT_BITS) + to_buy.amount.get()
}

/// The inverse of [`pack`].
pub fn unpack(cost: i64) -> ToBuy {
    let unpriced = u32::try_from(cost >> CENT_BITS).unwrap_or(u32::MAX);
    let cents = cost & ((1 << CENT_BITS) - 1);
    ToBuy { unpriced, amount: crate::model::money::Cents::new(cents) }
}

/// A candidate of a slot that adds the same to both ends of the bearing's travel.
#[derive(Debug, Clone, Copy, Default)]
pub struct Linear {
    /// Its catalogued dimension.
    pub c: Option<Rec>,
    /// What it moves a measured sum by.
    pub m: Option<Rec>,
    /// Its thickness, for the checks.
    pub thickness: Option<i64>,
}

/// A bearing.
#[derive(Debug, Clone, Copy, Default)]
pub struct BearingRec {
    /// Minus its heights, extended and retracted.
    pub c: [Option<Rec>; 2],
    /// The measured depth (or what stands for it) moved by this bearing.
    pub m: [Option<Rec>; 2],
    /// For the checks.
    pub contact: Option<i64>,
    /// For the checks.
    pub bores: Option<(i64, i64)>,
    /// Most shim behind it.
    pub max_shim: Option<i64>,
}

/// An engine.
#[derive(Debug, Clone, Copy, Default)]
pub struct EngineRec {
    /// Catalogued protrusion.
    pub protrusion: Option<Val>,
    /// For the checks.
    pub pilot_recess: Option<i64>,
    /// For the checks.
    pub pilot_length: Option<i64>,
    /// For the checks.
    pub pilot_bore_depth: Option<i64>,
    /// For the checks.
    pub dowels: Option<i64>,
    /// End float.
    pub float: i64,
    /// What it takes off (preload's least, reserve's least).
    pub allowance: (i64, i64),
}

/// A flywheel.
#[derive(Debug, Clone, Copy, Default)]
pub struct FlywheelRec {
    /// Its thickness.
    pub thickness: Option<Val>,
    /// Its step; blank is exactly zero.
    pub step: Val,
    /// For the checks.
    pub ring: Option<i64>,
    /// For the checks.
    pub teeth: Option<i64>,
    /// For the checks.
    pub bolts: Option<i64>,
}

/// A disc, or a matched set's pack.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Facing {
    /// Clamped thickness.
    pub value: i64,
    /// Sum of its tolerances.
    pub wc: i64,
    /// Sum of their squares.
    pub v: i128,
    /// Whether one was assumed.
    pub assumed: bool,
}

/// A disc, or its absence.
#[derive(Debug, Clone, Copy, Default)]
pub struct DiscRec {
    /// There is none: it goes with matched sets only.
    pub none: bool,
    /// Its clamped thickness.
    pub facing: Option<Facing>,
    /// What it may lose by itself.
    pub wear: Option<i64>,
    /// For the checks.
    pub hub: Option<i64>,
}

/// A pressure plate.
#[derive(Debug, Clone, Copy)]
pub struct PlateRec {
    /// Finger height.
    pub height: Option<Val>,
    /// The gap it was taken with.
    pub set_gap: Option<Val>,
    /// Its pack, for a matched set.
    pub pack: Option<Facing>,
    /// Finger ratio and its tolerance, in millionths.
    pub ratio: Option<Val>,
    /// The working range.
    pub range: (Option<i64>, Option<i64>),
    /// For the checks.
    pub release: Option<i64>,
    /// The finger circle.
    pub circle: Option<(i64, i64)>,
    /// For the checks.
    pub torque: Option<i64>,
    /// What all facings of the pack may lose.
    pub wear: Option<i64>,
    /// The window with no disc's own wear counted.
    pub window: [Option<i64>; 4],
}

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
    pub patterns: Arc<Patterns>,
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

fn val(bench: &Bench<'_>, part: &Part, key: &str) -> Option<Val> {
    let index = part.kind.dim_index(key)?;
    let entry = part.dims[index]?;
    let assumed =
        || bench.library.house.assumed(part.kind.key, &part.kind.dims[index], entry.value);
    Some(Val {
        value: entry.value,
        tol: entry.tol.unwrap_or_else(assumed),
        assumed: entry.tol.is_none(),
    })
}

fn nm(part: &Part, key: &str) -> Option<i64> {
    part.length(key).map(crate::model::length::Length::nm)
}

fn facing(bench: &Bench<'_>, part: &Part, keys: &[(&str, i64)]) -> Option<Facing> {
    let mut facing = Facing::default();
    for (key, sign) in keys {
        let val = val(bench, part, key)?;
        facing.value += sign * val.value;
        facing.wc += val.tol;
        facing.v += i128::from(val.tol) * i128::from(val.tol);
        facing.assumed |= val.assumed;
    }
    Some(facing)
}

/// An engine's numbers.
pub fn engine_rec(bench: &Bench<'_>, fill: &Fill<'_>) -> EngineRec {
    let Some(part) = fill.parts.first() else { return EngineRec::default() };
    let allowance = bench.float_allowance(Some(part));
    EngineRec {
        protrusion: val(bench, part, "crank_protrusion"),
        pilot_recess: nm(part, "pilot_recess"),
        pilot_length: nm(part, "pilot_length"),
        pilot_bore_depth: nm(part, "pilot_bore_depth"),
        dowels: nm(part, "dowel_protrusion"),
        float: nm(part, "crank_end_float").unwrap_or(0),
        allowance: (allowance.0.nm(), allowance.1.nm()),
    }
}

fn flywheel_rec(bench: &Bench<'_>, fill: &Fill<'_>) -> FlywheelRec {
    let Some(part) = fill.parts.first() else { return FlywheelRec::default() };
    FlywheelRec {
        thickness: val(bench, part, "thickness"),
        step: val(bench, part, "cover_step").unwrap_or_default(),
        ring: nm(part, "ring_gear_offset"),
        teeth: part.entry("ring_teeth").map(|entry| entry.value),
        bolts: nm(part, "bolt_clearance"),
    }
}

fn disc_rec(bench: &Bench<'_>, fill: &Fill<'_>) -> DiscRec {
    let Some(part) = fill.parts.first() else {
        return DiscRec { none: true, ..DiscRec::default() };
    };
    let own = facing(bench, part, &[("thickness", 1)]);
    let stand_in = || facing(bench, part, &[("free_thickness", 1), ("cushion", -1)]);
    DiscRec {
        none: false,
        facing: own.or_else(stand_in),
        wear: crate::stack::window::wear(None, Some(part))
            .map(super::super::model::length::Length::nm),
        hub: nm(part, "hub_front"),
    }
}

fn plate_rec(bench: &Bench<'_>, fill: &Fill<'_>) -> Option<PlateRec> {
    let part = fill.parts.first()?;
    let house = &bench.library.house;
    let half = house.length(Number::GapRange);
    let (least, most) = crate::stack::fit::working_range(part, half);
    let window = crate::stack::window::window(house, &bench.job.window, Some(part), None).edges();
    Some(PlateRec {
        height: val(bench, part, "finger_height"),
        set_gap: val(bench, part, "set_gap"),
        pack: facing(bench, part, &[("pack_thickness", 1)]),
        ratio: val(bench, part, "finger_ratio"),
        range: (
            least.map(super::super::model::length::Length::nm),
            most.map(super::super::model::length::Length::nm),
        ),
        wear: nm(part, "wear_allowance"),
        release: nm(part, "release_travel"),
        circle: nm(part, "finger_circle_inner").zip(nm(part, "finger_circle_outer")),
        torque: part.entry("torque_rating").map(|entry| entry.value),
        window: window.map(|edge| edge.map(|edge| edge.limit.nm())),
    })
}

impl<'b, 'a> Compact<'b, 'a> {
    /// Lays the candidates out. None where the table of kinds has something that the search does
    /// not know how to add up: then the full product answers.
    pub fn new(bench: &'b Bench<'a>, candidates: &'b Candidates<'a>) -> Option<Self> {
        let named = named(bench)?;
        let additive = additive(bench, candidates, &named)?;
        let mut patterns = Patterns::default();
        let mut common = Vec::new();
        for slot in 0..candidates.slots.len() {
            common.push(commons(bench, candidates, slot, &mut patterns));
        }
        patterns.finish();
        let mut linear = vec![Vec::new(); candidates.slots.len()];
        let mut scratch = Choice { fills: bench.fitted.clone() };
        for slot in additive.iter().copied().chain([named.bell, named.gearbox]) {
            linear[slot] = linears(bench, candidates, slot, &mut scratch);
        }
        let reading = |reading: Reading| {
            let entry = bench.job.reading(reading)?;
            let assumed = bench.library.house.length(Number::AssumedReading).nm();
            let tol = entry.tol.unwrap_or(assumed);
            Some(Val { value: entry.value, tol, assumed: entry.tol.is_none() })
        };
        let list = |slot: usize| candidates.slots[slot].iter();
        let adapts = |common: &Vec<Common>| {
            let faces = common.iter().flat_map(|one| &one.faces);
            let adapting = faces.filter(|face| face.rear.is_some());
            adapting.fold(0, |bits, face| bits | face.joint.bit())
        };
        Some(Self {
            adapts: common.iter().map(adapts).collect(),
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
            linear,
            patterns: Arc::new(patterns),
        })
    }

    /// A reading.
    pub fn reading(&self, reading: Reading) -> Option<Val> {
        self.readings[reading as usize]
    }
}

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

fn commons(
    bench: &Bench<'_>,
    candidates: &Candidates<'_>,
    slot: usize,
    patterns: &mut Patterns,
) -> Vec<Common> {
    let old = &bench.fitted[slot];
    let is_disc = Some(slot) == bench.slot("disc");
    let one = |fill: &Fill<'_>| {
        let (faces, blank) = patterns.faces(bench.library.kinds, slot, fill);
        let mut cost = ToBuy::default();
        for (index, part) in fill.parts.iter().enumerate() {
            let first = fill.parts.iter().position(|other| other.id == part.id) == Some(index);
            if first {
                let needed = fill.parts.iter().filter(|other| other.id == part.id).count();
                let needed = u32::try_from(needed).unwrap_or(u32::MAX);
                let pieces = pieces_to_buy(part, needed, reusable(bench, part));
                cost = cost + ToBuy::of(part, pieces);
            }
        }
        let kept = fill.same(old);
        let shared = fill.parts.iter().any(|part| old.parts.iter().any(|o| o.id == part.id));
        let replaced = is_disc && bench.disc_is_replaced();
        Common {
            cost: pack(cost),
            parts: u32::try_from(fill.parts.len()).unwrap_or(u32::MAX) + u32::from(fill.bench),
            // A disc that leaves with a matched set belongs to the plate's change.
            changes: u32::from(!(kept || is_disc && fill.parts.is_empty())),
            blank,
            faces,
            kept,
            stays: (fill.bench && old.bench) || (shared && !replaced),
        }
    };
    candidates.slots[slot].iter().map(one).collect()
}

fn linears<'a>(
    bench: &Bench<'a>,
    candidates: &Candidates<'a>,
    slot: usize,
    scratch: &mut Choice<'a>,
) -> Vec<Linear> {
    let spec = bench.library.kinds.slots().nth(slot).map(|(_, spec)| spec);
    let inside = spec.is_some_and(|spec| spec.inside.is_some());
    let kept = std::mem::take(&mut scratch.fills[slot]);
    let times = Reach::Extended.times_of();
    let mut records = Vec::with_capacity(candidates.slots[slot].len());
    for fill in &candidates.slots[slot] {
        scratch.fills[slot] = fill.clone();
        let sums = Sums { bench, choice: scratch, as_it_stands: false };
        let c = sums.catalogued(&[slot], times).ok().map(|terms| Rec::of(&form(terms)));
        let m = if inside {
            sums.moved(&[slot], times).ok().map(|terms| Rec::of(&form(terms)))
        } else {
            c
        };
        let thickness = fill.parts.iter().map(|part| {
            nm(part, "thickness").or_else(|| nm(part, "depth")).or_else(|| nm(part, "shaft_length"))
        });
        records.push(Linear { c, m, thickness: thickness.sum() });
    }
    scratch.fills[slot] = kept;
    records
}

fn bearings<'a>(
    bench: &Bench<'a>,
    candidates: &Candidates<'a>,
    slot: usize,
    scratch: &mut Choice<'a>,
) -> Vec<BearingRec> {
    let kept = std::mem::take(&mut scratch.fills[slot]);
    let mut records = Vec::with_capacity(candidates.slots[slot].len());
    for fill in &candidates.slots[slot] {
        scratch.fills[slot] = fill.clone();
        let sums = Sums { bench, choice: scratch, as_it_stands: false };
        let mut record = BearingRec::default();
        for (end, reach) in [Reach::Extended, Reach::Retracted].into_iter().enumerate() {
            let times = reach.times_of();
            record.c[end] = sums.catalogued(&[slot], times).ok().map(|terms| Rec::of(&form(terms)));
            // Base and move together: the fitted bearing's own ends may leave the sum.
            record.m[end] = sums.rear_reading(reach).and_then(Result::ok).and_then(|base| {
                let moved = sums.moved(&[slot], times).ok()?;
                Some(Rec::of(&form([base, moved].concat())))
            });
        }
        if let Some(part) = fill.parts.first() {
            record.contact = nm(part, "contact_diameter");
            record.bores = nm(part, "bore_outer").zip(nm(part, "bore_inner"));
            record.max_shim = nm(part, "max_shim");
        }
        records.push(record);
    }
    scratch.fills[slot] = kept;
    records
}

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
