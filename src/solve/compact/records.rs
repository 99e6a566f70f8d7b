//! What a candidate is in plain numbers, and how that is read off its part.
//!
//! A number that a check alone uses is a bare length; one that enters the sum keeps its tolerance.

use crate::model::entry::{Accuracy, Entry};
use crate::model::house::Number;
use crate::model::length::Length;
use crate::model::money::Cents;
use crate::model::part::Part;
use crate::stack::choice::{Bench, Fill};
use crate::stack::cost::ToBuy;
use crate::stack::fit::working_range;
use crate::stack::window::{wear, window};

/// One value with its error limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Val {
    /// The value.
    pub value: i64,
    /// The limit half-width.
    pub tol: i64,
    /// The half-width of the rectangle of its u.
    pub wide: i64,
    /// Whether something in them was assumed.
    pub assumed: bool,
}

impl Val {
    /// An entry; the shop's own tolerance stands in for a missing one.
    pub fn of(entry: Entry, own: impl FnOnce() -> i64) -> Self {
        let Accuracy { tol, wide, assumed, .. } = entry.accuracy(own);
        Self { value: entry.value, tol, wide, assumed }
    }
}

/// What every candidate has, whatever its slot.
#[derive(Debug, Clone, Copy, Default)]
pub struct Common {
    /// Unpriced pieces in the high bits, cents in the low ones: one number that adds and compares.
    pub cost: i64,
    /// What it shows at its joints, by its place in [`Compact::faces`](super::Compact::faces):
    /// those that show the same go together.
    pub faces: u32,
    /// How many parts it is.
    pub parts: u8,
    /// One where it differs from what is fitted.
    pub changes: u8,
    /// The bits of joints at which it is blank.
    pub blank: u8,
    /// It is the piece that is fitted, machined or not.
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
    ToBuy { unpriced, amount: Cents::new(cents) }
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
    /// Machined, so that its thickness is another dimension than before.
    pub cut: bool,
}

/// A disc, or a matched set's pack.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Facing {
    /// Clamped thickness.
    pub value: i64,
    /// Sum of its tolerances.
    pub wc: i64,
    /// Three times its variance.
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

/// A dimension by its key, its tolerance assumed where none is given.
pub(super) fn val(bench: &Bench<'_>, part: &Part, key: &str) -> Option<Val> {
    let index = part.kind.dim_index(key)?;
    let entry = part.dims[index]?;
    let house = &bench.library.house;
    Some(Val::of(entry, || house.assumed(part.kind.key, &part.kind.dims[index], entry.value)))
}

/// A length by its key.
pub(super) fn nm(part: &Part, key: &str) -> Option<i64> {
    part.length(key).map(Length::nm)
}

/// A clamped thickness from dimensions with signs; all of them have to be known.
fn facing(bench: &Bench<'_>, part: &Part, keys: &[(&str, i64)]) -> Option<Facing> {
    let mut facing = Facing::default();
    for (key, sign) in keys {
        let val = val(bench, part, key)?;
        facing.value += sign * val.value;
        facing.wc += val.tol;
        facing.v += i128::from(val.wide).pow(2);
        facing.assumed |= val.assumed;
    }
    Some(facing)
}

/// An engine's numbers.
pub(super) fn engine_rec(bench: &Bench<'_>, fill: &Fill<'_>) -> EngineRec {
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

/// A flywheel's numbers.
pub(super) fn flywheel_rec(bench: &Bench<'_>, fill: &Fill<'_>) -> FlywheelRec {
    let Some(part) = fill.parts.first() else { return FlywheelRec::default() };
    let (thickness, cut) = (val(bench, part, "thickness"), fill.cut.nm());
    FlywheelRec {
        thickness: thickness.map(|val| Val { value: val.value - cut, ..val }),
        step: val(bench, part, "cover_step").unwrap_or_default(),
        ring: nm(part, "ring_gear_offset"),
        teeth: part.entry("ring_teeth").map(|entry| entry.value),
        bolts: nm(part, "bolt_clearance").map(|bolts| bolts - cut),
        cut: cut != 0,
    }
}

/// A disc's numbers; the free thickness less the cushion stands in for the clamped one.
pub(super) fn disc_rec(bench: &Bench<'_>, fill: &Fill<'_>) -> DiscRec {
    let Some(part) = fill.parts.first() else {
        return DiscRec { none: true, ..DiscRec::default() };
    };
    let own = facing(bench, part, &[("thickness", 1)]);
    let stand_in = || facing(bench, part, &[("free_thickness", 1), ("cushion", -1)]);
    DiscRec {
        none: false,
        facing: own.or_else(stand_in),
        wear: wear(None, Some(part)).map(Length::nm),
        hub: nm(part, "hub_front"),
    }
}

/// A plate's numbers.
pub(super) fn plate_rec(bench: &Bench<'_>, fill: &Fill<'_>) -> Option<PlateRec> {
    let part = fill.parts.first()?;
    let house = &bench.library.house;
    let half = house.length(Number::GapRange);
    let (least, most) = working_range(part, half);
    let window = window(house, &bench.job.window, Some(part), None).edges();
    Some(PlateRec {
        height: val(bench, part, "finger_height"),
        set_gap: val(bench, part, "set_gap"),
        pack: facing(bench, part, &[("pack_thickness", 1)]),
        ratio: val(bench, part, "finger_ratio"),
        range: (least.map(Length::nm), most.map(Length::nm)),
        wear: nm(part, "wear_allowance"),
        release: nm(part, "release_travel"),
        circle: nm(part, "finger_circle_inner").zip(nm(part, "finger_circle_outer")),
        torque: part.entry("torque_rating").map(|entry| entry.value),
        window: window.map(|edge| edge.map(|edge| edge.limit.nm())),
    })
}
