//! Both ends of the sum: heads (blocks of flywheels and discs that behave alike) and tails (bearings).

use std::collections::HashMap;
use std::rc::Rc;

use crate::model::kinds::Joint;
use crate::model::length::{Length, Ratio};
use crate::solve::compact::Rec;
use crate::solve::front::Route;
use crate::solve::search::best::Spent;
use crate::solve::search::layout::{Alike, Group, Layout, cheapest};
use crate::solve::search::{Mates, ROUNDING, Walk};
use crate::solve::tables::{Rows, Spot, plus};
use crate::stack::form::MICRO;
use crate::stack::grade::Grade;

/// The tails: one bearing with its routes to both ends, for one bell housing and gearbox.
pub(super) struct Tail {
    pub(super) bearing: usize,
    /// Positions of both ends with nothing in the additive slots.
    pub(super) ends: [i64; 2],
    /// The error limits of both ends, and three times the variance with what the additive slots
    /// bring at least.
    pub(super) wc: [i64; 2],
    pub(super) v: [f64; 2],
}

/// The heads: flywheels and discs that behave alike under one plate and route.
#[derive(Clone, Copy)]
pub(super) struct Block {
    pub(super) route: Route,
    /// Where the fingers stand with nothing of a flywheel or disc.
    pub(super) base: i64,
    /// Millionths by which a flywheel's step and a disc's thickness move the fingers beside the
    /// step itself.
    pub(super) step_gear: i64,
    pub(super) disc_gear: i64,
    /// Which groups of the layout they are.
    pub(super) flywheels: usize,
    pub(super) discs: usize,
    /// Error limits that neither flywheel nor disc brings: the worst case in whole nanometres,
    /// rounded down, and three times the variance in their square.
    pub(super) base_wc: i64,
    pub(super) base_v: f64,
}

impl Block {
    /// With other error limits, given in micro-nanometres and their square.
    pub(super) fn with_limits(self, wc: i128, v: i128) -> Self {
        let base_wc = i64::try_from(wc / MICRO).unwrap_or(i64::MAX / 8);
        let base_v = v as f64 / (MICRO as f64 * MICRO as f64);
        Self { base_wc, base_v, ..self }
    }
}

/// Where a block's flywheels and discs stand, in the order of their groups. Fingers further out count
/// down, as they do in the sum.
pub(super) struct Places<'l> {
    pub(super) flywheels: Vec<(Spot, &'l Alike)>,
    pub(super) discs: Vec<(Spot, &'l Alike)>,
}

/// The joints at which a flywheel meets what was picked before it, and those of a disc.
const AT_FLYWHEEL: [Joint; 2] = [Joint::Crank, Joint::Cover];
const AT_DISC: [Joint; 2] = [Joint::Diameter, Joint::Spline];

/// What candidates of a slot have to mate with, and what they may cost beyond the cheapest.
struct Mating<'p> {
    picks: &'p [u32],
    slot: usize,
    joints: &'p [Joint],
    spare: i64,
}

/// What rows hang on: whether they are for a first look, rough gears, groups, faces of the plate.
type Key = (bool, i64, i64, usize, usize, Vec<u32>);

/// Rows of least cost with the flywheels, with the discs, and with both. Plates of nearly the same
/// ratio share them.
#[derive(Default)]
pub(super) struct Cache {
    flywheels: HashMap<Key, Rc<Rows>>,
    discs: HashMap<Key, Rc<Rows>>,
    both: HashMap<Key, Rc<Rows>>,
}

/// An engine, bell housing and gearbox: what all plates on them share.
pub(super) struct Frame {
    pub(super) spent: Spent,
    /// What any stack of it costs at least.
    pub(super) floor: i64,
    pub(super) tails: Vec<Tail>,
    pub(super) cache: Cache,
}

/// How many rows of one sort are kept at a time; those for a first look are smaller.
const CACHE: usize = 32;

/// The rows of a key, made where they are not known.
fn kept(known: &mut HashMap<Key, Rc<Rows>>, key: Key, make: impl FnOnce() -> Rows) -> Rc<Rows> {
    if let Some(rows) = known.get(&key) {
        return Rc::clone(rows);
    }
    let most = if key.0 { 8 * CACHE } else { CACHE };
    if known.len() >= most {
        known.clear();
    }
    let rows = Rc::new(make());
    known.insert(key, Rc::clone(&rows));
    rows
}

/// How a block's own gears lie to the rough ones of its rows: what is added to a spot before a row
/// is asked, and how far off it may be then.
#[derive(Clone, Copy, Default)]
pub(super) struct Offset {
    pub(super) shift: i64,
    pub(super) blur: i64,
}

impl Offset {
    /// The least cost in rows between two positions for what stands at a spot by the block's own
    /// gears.
    pub(super) fn min(self, rows: &Rows, low: i64, high: i64, at: Spot) -> i64 {
        rows.min(low - self.blur, high + self.blur, plus(at, [self.shift; 2]))
    }
}

/// The gears that rows are laid out for, in millionths: multiples of this.
const ROUGH: i64 = 62_500;

fn rough(gear: i64) -> i64 {
    (gear + ROUGH / 2) / ROUGH * ROUGH
}

impl Walk<'_, '_, '_> {
    /// Every bearing with each pair of routes to its ends.
    pub(super) fn tails(&self, layout: &Layout, picks: &[u32]) -> Vec<Tail> {
        let compact = self.compact;
        let named = compact.named;
        let bell = compact.linear[named.bell][picks[named.bell] as usize];
        let gearbox = compact.linear[named.gearbox][picks[named.gearbox] as usize];
        let mut tails = Vec::new();
        for b in layout.lists[named.bearing].iter() {
            let bearing = &compact.bearings[*b];
            let mut routes: [Vec<Rec>; 2] = [Vec::new(), Vec::new()];
            for (end, found) in routes.iter_mut().enumerate() {
                let total = |own: Option<Rec>, bell: Option<Rec>, gearbox: Option<Rec>| {
                    Some(own?.plus(bell?).plus(gearbox?))
                };
                if let Some(measured) = total(bearing.m[end], bell.m, gearbox.m) {
                    found.push(Rec { pos: measured.pos - layout.fitted, ..measured });
                }
                found.extend(total(bearing.c[end], bell.c, gearbox.c));
            }
            let only_sure = layout.stage.grades.1 == Grade::Sure && self.bounds;
            for extended in routes[0].iter().filter(|rec| !(only_sure && rec.assumed)) {
                for retracted in routes[1].iter().filter(|rec| !(only_sure && rec.assumed)) {
                    let ends = [extended, retracted];
                    tails.push(Tail {
                        bearing: *b,
                        ends: ends.map(|rec| rec.pos),
                        wc: ends.map(|rec| rec.wc),
                        v: ends.map(|rec| (rec.v + layout.rear_v) as f64),
                    });
                }
            }
        }
        tails
    }

    /// Groups of flywheels and discs under the picked plate, route by route.
    pub(super) fn blocks(&self, layout: &Layout, picks: &[u32]) -> Vec<Block> {
        let compact = self.compact;
        let named = compact.named;
        let (e, p) = (picks[named.engine] as usize, picks[named.plate] as usize);
        let plate = &compact.plates[p];
        let ratio = plate.ratio.map_or(0, |ratio| ratio.value);
        let mut blocks = Vec::new();
        for (f_group, flywheels) in layout.flywheels.iter().enumerate() {
            for (d_group, discs) in layout.discs.iter().enumerate() {
                if compact.discs[discs.first()].none != plate.pack.is_some() {
                    continue;
                }
                for route in Route::ALL {
                    let (f0, d0) = (flywheels.first(), discs.first());
                    let Some(first) = compact.front_route(route, (e, f0, d0, p)) else { continue };
                    let mut block = Block {
                        route,
                        base: 0,
                        step_gear: 0,
                        disc_gear: 0,
                        flywheels: f_group,
                        discs: d_group,
                        base_wc: 0,
                        base_v: 0.0,
                    };
                    let at = |f, d| compact.front_route(route, (e, f, d, p)).map(|front| front.pos);
                    if let Some(f1) = flywheels.other {
                        let plain = self.flywheel_at(f1, &block) - self.flywheel_at(f0, &block);
                        let moved = at(f1, d0).map_or(plain, |pos| pos - first.pos);
                        block.step_gear = if (moved - plain).abs() > ROUNDING { ratio } else { 0 };
                    }
                    if let Some(d1) = discs.other {
                        let moved = at(f0, d1).map_or(0, |pos| pos - first.pos);
                        block.disc_gear = if moved.abs() > 0 { ratio } else { 0 };
                    }
                    block.base =
                        first.pos - self.flywheel_at(f0, &block) - self.disc_at(d0, &block);
                    let generous = Block { step_gear: ratio, disc_gear: ratio, ..block };
                    let (fw, fv) = self.flywheel_spread(f0, &generous);
                    let (dw, dv) = self.disc_spread(d0, &generous);
                    block = block.with_limits(
                        (first.wc - first.gear_wc - fw - dw).max(0),
                        (first.v - first.gear_v - fv - dv).max(0),
                    );
                    let dirty = self.bounds && self.is_capped(layout.stage.grades.1, &first, p);
                    if !dirty {
                        blocks.push(block);
                    }
                }
            }
        }
        blocks
    }

    /// How far a flywheel moves the fingers under a block, beside its base.
    pub(super) fn flywheel_at(&self, f: usize, block: &Block) -> i64 {
        let flywheel = &self.compact.flywheels[f];
        let thickness = flywheel.thickness.unwrap_or_default().value;
        thickness + flywheel.step.value + geared(block.step_gear, flywheel.step.value)
    }

    /// The same of a disc.
    pub(super) fn disc_at(&self, d: usize, block: &Block) -> i64 {
        let facing = self.compact.discs[d].facing.unwrap_or_default();
        -geared(block.disc_gear, facing.value)
    }

    /// How a block's gears lie to those of its rows: for the disc on, and for the flywheel on.
    pub(super) fn offsets(layout: &Layout, block: &Block) -> (Offset, Offset) {
        let off = |gear: i64, group: &Group| Offset {
            shift: geared(gear, group.middle),
            blur: geared((gear - rough(gear)).abs(), group.half) + ROUNDING,
        };
        let disc = off(block.disc_gear, &layout.discs[block.discs]);
        let flywheel = off(block.step_gear, &layout.flywheels[block.flywheels]);
        let both = Offset { shift: disc.shift - flywheel.shift, blur: disc.blur + flywheel.blur };
        (disc, both)
    }

    /// Where the flywheels and discs of a block stand that mate and may still win.
    pub(super) fn places<'l>(
        &self,
        layout: &'l Layout,
        picks: &[u32],
        block: &Block,
        spare: i64,
    ) -> Places<'l> {
        let named = self.compact.named;
        let (flywheels, discs) = (&layout.flywheels[block.flywheels], &layout.discs[block.discs]);
        let slot = Mating { picks, slot: named.flywheel, spare, joints: &AT_FLYWHEEL };
        let flywheels =
            self.mating(layout, flywheels, &slot, |f| self.flywheel_spot(layout, f, block));
        let slot = Mating { slot: named.disc, joints: &AT_DISC, ..slot };
        let discs = self.mating(layout, discs, &slot, |d| self.disc_spot(layout, d, block));
        Places { flywheels, discs }
    }

    fn flywheel_spot(&self, layout: &Layout, f: usize, block: &Block) -> Spot {
        let limit = if layout.limits { self.flywheel_spread(f, block).0 / MICRO } else { 0 };
        spot(-self.flywheel_at(f, block), limit)
    }

    fn disc_spot(&self, layout: &Layout, d: usize, block: &Block) -> Spot {
        let limit = if layout.limits { self.disc_spread(d, block).0 / MICRO } else { 0 };
        spot(-self.disc_at(d, block), limit)
    }

    /// What a stack of this frame may cost beyond the least and still win; what is dearer can be left
    /// out of rows, as it only ever shrinks.
    pub(super) fn spare(&self, frame: &Frame) -> i64 {
        self.cost_cut() - frame.floor
    }

    /// The cheapest that discs of a block do together with the additive slots.
    pub(super) fn disc_rows(
        &self,
        layout: &Layout,
        picks: &[u32],
        block: &Block,
        frame: &mut Frame,
    ) -> Rc<Rows> {
        let spare = self.spare(frame);
        let key = self.key(picks, block, &[Joint::Diameter, Joint::Spline]);
        let key = (false, 0, key.1, 0, key.3, key.4);
        kept(&mut frame.cache.discs, key, || {
            layout.rows[0].with(&self.disc_items(layout, picks, block, spare))
        })
    }

    /// The cheapest that flywheels and discs of a block do together with the additive slots.
    pub(super) fn both_rows(
        &self,
        layout: &Layout,
        picks: &[u32],
        block: &Block,
        frame: &mut Frame,
        coarse: bool,
    ) -> Rc<Rows> {
        let spare = self.spare(frame);
        let Cache { flywheels, both, .. } = &mut frame.cache;
        let key = self.key(picks, block, &[Joint::Cover, Joint::Diameter, Joint::Spline]);
        kept(both, (coarse, key.0, key.1, key.2, key.3, key.4), || {
            let key = self.key(picks, block, &[Joint::Cover]);
            let rows = kept(flywheels, (coarse, key.0, 0, key.2, 0, key.4), || {
                let rows = if coarse { &layout.coarse } else { &layout.rows[0] };
                rows.with(&self.flywheel_items(layout, picks, block, spare))
            });
            rows.with(&self.disc_items(layout, picks, block, spare))
        })
    }

    /// What the discs of a block bring to a row: by a rough gear, from the middle of what is geared.
    /// Only those that cost no more than `spare` beyond the cheapest.
    fn disc_items(
        &self,
        layout: &Layout,
        picks: &[u32],
        block: &Block,
        spare: i64,
    ) -> Vec<(Spot, i64)> {
        let slot = self.compact.named.disc;
        let gear = rough(block.disc_gear);
        let (at, group) = (Block { disc_gear: gear, ..*block }, &layout.discs[block.discs]);
        // A rough gear may be larger than the block's own, and limits have to be the least.
        let low = Block { disc_gear: (gear - ROUGH / 2).max(0), ..*block };
        let middle = geared(gear, group.middle);
        let mating = Mating { picks, slot, spare, joints: &AT_DISC };
        let found = self.mating(layout, group, &mating, |d| {
            let limit = if layout.limits { self.disc_spread(d, &low).0 / MICRO } else { 0 };
            spot(-self.disc_at(d, &at) - middle, limit)
        });
        self.priced(slot, &found)
    }

    /// The same of the flywheels.
    fn flywheel_items(
        &self,
        layout: &Layout,
        picks: &[u32],
        block: &Block,
        spare: i64,
    ) -> Vec<(Spot, i64)> {
        let slot = self.compact.named.flywheel;
        let gear = rough(block.step_gear);
        let (at, group) = (Block { step_gear: gear, ..*block }, &layout.flywheels[block.flywheels]);
        let low = Block { step_gear: (gear - ROUGH / 2).max(0), ..*block };
        let middle = geared(gear, group.middle);
        let mating = Mating { picks, slot, spare, joints: &AT_FLYWHEEL };
        let found = self.mating(layout, group, &mating, |f| {
            let limit = if layout.limits { self.flywheel_spread(f, &low).0 / MICRO } else { 0 };
            spot(middle - self.flywheel_at(f, &at), limit)
        });
        self.priced(slot, &found)
    }

    /// Spots with what the cheapest at each costs.
    fn priced(&self, slot: usize, found: &[(Spot, &Alike)]) -> Vec<(Spot, i64)> {
        let common = &self.compact.common[slot];
        found.iter().map(|(spot, alike)| (*spot, cheapest(alike, common))).collect()
    }

    /// The spots of those of a group that mate with what is picked and may still win.
    fn mating<'l>(
        &self,
        layout: &Layout,
        group: &'l Group,
        with: &Mating<'_>,
        spot: impl Fn(usize) -> Spot,
    ) -> Vec<(Spot, &'l Alike)> {
        let (mut picks, mut mates) = (with.picks.to_vec(), Mates::new());
        let mut fits = |index: usize| {
            picks[with.slot] = index as u32;
            self.fits(&mut mates, &picks, with.slot, with.joints)
        };
        let (common, least) = (&self.compact.common[with.slot], layout.cheapest[with.slot]);
        let may_win = |alike: &&Alike| cheapest(alike, common) - least <= with.spare;
        let found = group.alike.iter().filter(may_win).filter(|alike| fits(alike[0]));
        found.map(|alike| (spot(alike[0]), alike)).collect()
    }

    /// What the rows of a block hang on, with the faces of its plate at these joints.
    fn key(
        &self,
        picks: &[u32],
        block: &Block,
        joints: &[Joint],
    ) -> (i64, i64, usize, usize, Vec<u32>) {
        let named = self.compact.named;
        let faces = self.compact.shown(named.plate, picks[named.plate]).iter();
        let faces = faces.filter(|face| joints.contains(&face.joint));
        let faces: Vec<u32> = faces.flat_map(|face| [face.joint as u32, face.front]).collect();
        (rough(block.step_gear), rough(block.disc_gear), block.flywheels, block.discs, faces)
    }
}

/// A position with the limit of its error, rounded down.
fn spot(at: i64, limit: i128) -> Spot {
    let limit = limit as i64;
    [at + limit, at - limit]
}

/// A length through a ratio in millionths.
fn geared(gear: i64, length: i64) -> i64 {
    if gear == 0 || length == 0 {
        return 0;
    }
    Ratio::from_millionths(gear).times(Length::from_nm(length)).nm()
}
