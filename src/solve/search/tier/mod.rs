//! What is laid out to look for stacks of one grade: lists without what cannot have it, tables of least
//! keys, and the interval that a plate, a disc and a bearing leave to all that stands between.

pub(crate) mod plates;

use std::cell::{OnceCell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;

use itertools::Itertools as _;
use rustc_hash::FxHashMap;

use crate::model::edge::Edge;
use crate::solve::numbers::checks::Starter;
use crate::solve::numbers::finger::Finger;
use crate::solve::numbers::{Limits, Sort};
use crate::solve::search::error::Error;
use crate::solve::search::key::{Key, Layout};
use crate::solve::search::lists::{
    ANYWHERE, Bearing, Behind, Class, Clutch, FAR, Flywheel, Item, Lists,
};
use crate::solve::search::places::{self, Places};
use crate::solve::search::table::{Part, Ranked, Table};
use crate::solve::search::tier::plates::PlateFacts;
use crate::stack::grade::Grade;

/// How much room a stack has to have.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) enum Aim {
    /// As much as this grade asks for.
    Grade(Grade),
    /// None: it may stand outside its window.
    Anywhere,
}

impl Aim {
    /// Whether something with an assumed tolerance may be part of such a stack.
    fn admits(self, assumed: bool) -> bool {
        self != Self::Grade(Grade::Sure) || !assumed
    }

    /// Whether a grade that is allowed at best will do.
    fn reaches(self, cap: Grade) -> bool {
        match self {
            Self::Grade(grade) => cap <= grade,
            Self::Anywhere => true,
        }
    }

    /// The room that the errors ask for at an edge, nm; never more than they do.
    fn guard(self, error: Error, assumed: bool) -> i64 {
        match self {
            Self::Grade(Grade::Sure) => error.worst_case,
            Self::Grade(Grade::Likely) => {
                let twice_u = (error.three_u_squared * (4.0 / 3.0)).sqrt() * (1.0 - 1e-9);
                let twice_u = twice_u as i64 - 1;
                if assumed { twice_u } else { twice_u.min(error.worst_case) }
            }
            Self::Grade(_) | Self::Anywhere => 0,
        }
    }

    /// Thin classes of errors, so that the least of a class is hardly less than any of it.
    fn class(self, error: Error) -> i64 {
        const THIN: i64 = 12_700;
        match self {
            Self::Grade(Grade::Sure) => error.worst_case / THIN,
            Self::Grade(Grade::Likely) => error.three_u_squared.sqrt() as i64 / THIN,
            Self::Grade(_) | Self::Anywhere => 0,
        }
    }
}

/// Where something has to stand, nm: `low` to `high` by the guarded window, and where the window itself
/// ends, from where room is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Interval {
    pub(crate) low: i64,
    pub(crate) high: i64,
    pub(crate) edge_low: i64,
    pub(crate) edge_high: i64,
}

impl Interval {
    /// The same for what is left once something is picked that adds to the position.
    #[must_use]
    pub(crate) fn less(self, at: i64) -> Self {
        Self {
            low: self.low - at,
            high: self.high - at,
            edge_low: self.edge_low - at,
            edge_high: self.edge_high - at,
        }
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.low > self.high
    }

    /// The most room that anything in it may have, nm.
    pub(crate) fn most_room(&self) -> i64 {
        (self.edge_high - self.edge_low).div_euclid(2)
    }

    /// The room at a position, nm.
    pub(crate) fn room(&self, at: i64) -> i64 {
        (at - self.edge_low).min(self.edge_high - at)
    }

    /// The last position at which room still grows.
    pub(crate) fn middle(&self) -> i64 {
        self.edge_low + (self.edge_high - self.edge_low).div_euclid(2)
    }

    /// What of it has at least some room.
    pub(crate) fn with_room(&self, room: i64) -> (i64, i64) {
        (self.low.max(self.edge_low + room), self.high.min(self.edge_high - room))
    }
}

/// What a plate, a disc, a flywheel's class and a bearing settle.
pub(crate) struct Settled<'p> {
    pub(crate) finger: &'p Finger,
    /// The disc's own part of the position, nm, and of its errors.
    pub(crate) at: i64,
    pub(crate) error: Error,
    pub(crate) assumed: bool,
    pub(crate) bearing: &'p Bearing,
    pub(crate) limits: &'p Limits,
    /// The least preload at which no check fails, nm.
    pub(crate) least_preload: Option<i64>,
}

impl Settled<'_> {
    /// Where what stands between, less the flywheel, has to stand; `rest` are the errors of that, at
    /// least.
    pub(crate) fn interval(&self, aim: Aim, rest: Error) -> Interval {
        let mut all = Interval { low: -FAR, high: FAR, edge_low: -FAR, edge_high: FAR };
        let ends = [self.bearing.ends.extended.at, self.bearing.ends.retracted.at];
        let guards =
            self.bearing.errors.map(|end| aim.guard(self.error.plus(end).plus(rest), self.assumed));
        for (edge, limit) in self.limits.set() {
            let end = usize::from(!edge.is_preload());
            let float = self.finger.float.at(edge).nm();
            let mut guard = guards[end];
            if matches!(aim, Aim::Grade(Grade::Sure | Grade::Likely)) {
                guard = guard.max(self.finger.least_room(edge));
            }
            // Preload falls and reserve grows as what stands between grows.
            let (at, is_high) = match edge {
                Edge::PreloadMin => (self.at - ends[0] - limit - float, true),
                Edge::PreloadMax => (self.at - ends[0] - limit + float, false),
                Edge::ReserveMin => (self.at - ends[1] + limit + float, false),
                Edge::ReserveMax => (self.at - ends[1] + limit - float, true),
            };
            if is_high {
                all.edge_high = all.edge_high.min(at);
                all.high = all.high.min(at - guard);
            } else {
                all.edge_low = all.edge_low.max(at);
                all.low = all.low.max(at + guard);
            }
        }
        if aim == Aim::Anywhere {
            (all.low, all.high) = (-FAR, FAR);
        }
        if let Some(least) = self.least_preload {
            all.high = all.high.min(self.at - ends[0] - least);
        }
        all
    }
}

/// One list in the order of positions: what stands between block and bell, of one strand and with about
/// the same errors.
pub(crate) struct Leaf {
    pub(crate) strand: usize,
    pub(crate) error: Error,
    pub(crate) ranked: Ranked,
    pub(crate) least: Key,
    /// The places of its items in the strand.
    pub(crate) items: Vec<u32>,
}

/// Shims of one thickness with one u, by key.
pub(crate) struct ShimGroup {
    pub(crate) at: i64,
    /// The least of theirs.
    pub(crate) error: Error,
    pub(crate) items: Vec<Item>,
}

/// Least keys by position, where anything stands, and the least errors.
#[derive(Clone, Default)]
pub(crate) struct Reach {
    /// By what ranks before the cost where costs are limited, the best first; else one.
    tables: Vec<(u128, Table)>,
    pub(crate) places: Places,
    pub(crate) error: Error,
}

impl Reach {
    /// `places` is how the places of sums are kept.
    fn sums(
        parts: &[ReachPart<'_>],
        layout: &Layout,
        places: fn(&[places::Part<'_>]) -> Places,
    ) -> Self {
        let mut by_lead: BTreeMap<u128, Vec<Part<'_>>> = BTreeMap::new();
        for part in parts {
            for (lead, table) in &part.reach.tables {
                by_lead.entry(lead + layout.lead(part.key.high)).or_default().push(Part {
                    table,
                    between: part.between,
                    at: part.at,
                    key: part.key.high,
                });
            }
        }
        let own = parts.iter().map(|part| (&part.reach.places, part.between, part.at));
        let own: Vec<places::Part<'_>> = own.filter(|_| layout.by_room).collect();
        let errors = parts.iter().map(|part| part.reach.error.plus(part.error));
        Self {
            tables: by_lead.iter().map(|(lead, parts)| (*lead, Table::sums(parts))).collect(),
            places: places(&own),
            error: Error::least_of(errors),
        }
    }

    /// The least key of anything in an interval that costs no more than `left` cents, and the most room
    /// that it may have; none where nothing is in it.
    pub(crate) fn best(
        &self,
        interval: &Interval,
        layout: &Layout,
        left: Option<u128>,
    ) -> Option<(u128, i64)> {
        if interval.is_empty() {
            return None;
        }
        let left = left?;
        let least = |low: i64, high: i64| {
            let keys = self.tables.iter().map(|(_, table)| table.least(low, high));
            let mut keys = keys.filter(|key| *key < Key::NONE);
            keys.find(|key| layout.cost(*key) <= left)
        };
        let mut room = interval.most_room();
        let mut key = None;
        if layout.by_room {
            let near = self.places.around(interval.middle(), interval.low, interval.high);
            let most = near.into_iter().flatten().map(|at| interval.room(at)).max()?;
            room = room.min(most);
            let (low, high) = interval.with_room(room);
            key = least(low, high);
        }
        let key = key.or_else(|| least(interval.low, interval.high))?;
        Some((key, room))
    }

    /// Whether anything may stand between two positions.
    fn has_any(&self, (low, high): (i64, i64)) -> bool {
        self.tables.iter().any(|(_, table)| table.least(low, high) < Key::NONE)
    }

    /// The least key of anything.
    pub(crate) fn least_of_all(&self) -> u128 {
        self.tables.iter().map(|(_, table)| table.least_of_all()).min().unwrap_or(Key::NONE)
    }
}

struct ReachPart<'r> {
    reach: &'r Reach,
    between: (i64, i64),
    at: i64,
    key: Key,
    error: Error,
}

/// Where the rest of a stack may stand: block plate's sort, bound of the starter, list behind the bell,
/// list of shims.
type RestKey = (Sort, usize, usize, usize);

/// The lists of one frame for one aim.
pub(crate) struct Tier<'l, 'n, 'b, 'a> {
    pub(crate) lists: &'l Lists<'n, 'b, 'a>,
    pub(crate) aim: Aim,
    /// Whether what fails a check is left out.
    pub(crate) checked: bool,
    pub(crate) by_room: bool,
    /// The plates that pass their checks, by key.
    pub(crate) plates: Vec<(u32, Key)>,
    pub(crate) facts: RefCell<FxHashMap<u32, Option<Rc<PlateFacts<'n, 'b, 'a>>>>>,
    /// By block plate's sort.
    pub(crate) leaves: FxHashMap<Sort, Vec<Leaf>>,
    /// Like those of the lists, without what the aim does not admit.
    pub(crate) behind: Vec<Vec<Behind>>,
    pub(crate) shims: Vec<Vec<ShimGroup>>,
    pub(crate) bearings: Vec<Bearing>,
    strands: RefCell<FxHashMap<(usize, usize), Rc<Reach>>>,
    rests: RefCell<FxHashMap<RestKey, Rc<Reach>>>,
    under_shims: RefCell<FxHashMap<(Sort, usize, usize), Rc<Reach>>>,
    wholes: RefCell<FxHashMap<(usize, usize, usize, usize), Rc<Reach>>>,
    /// By clutch.
    seated: RefCell<FxHashMap<usize, Rc<Vec<u32>>>>,
    pub(crate) least: Least,
}

/// A tier that is laid out when it is first looked at.
pub(crate) struct LaidOut<'l, 'n, 'b, 'a> {
    pub(crate) lists: &'l Lists<'n, 'b, 'a>,
    pub(crate) aim: Aim,
    checked: bool,
    tier: OnceCell<Tier<'l, 'n, 'b, 'a>>,
}

impl<'l, 'n, 'b, 'a> LaidOut<'l, 'n, 'b, 'a> {
    pub(crate) fn new(lists: &'l Lists<'n, 'b, 'a>, aim: Aim, checked: bool) -> Self {
        Self { lists, aim, checked, tier: OnceCell::new() }
    }

    pub(crate) fn tier(&self) -> &Tier<'l, 'n, 'b, 'a> {
        self.tier.get_or_init(|| Tier::new(self.lists, self.aim, self.checked))
    }
}

/// The least that parts of any stack add to its key.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Least {
    pub(crate) bearing: Key,
    pub(crate) disc: Key,
    pub(crate) flywheel: Key,
    /// Plates, spacers and shims.
    pub(crate) rest: Key,
}

impl<'l, 'n, 'b, 'a> Tier<'l, 'n, 'b, 'a> {
    fn new(lists: &'l Lists<'n, 'b, 'a>, aim: Aim, checked: bool) -> Self {
        let layout = lists.layout;
        let admits = |item: &Item| {
            let affords = layout.left(item.key.high).is_some();
            affords && aim.admits(item.is_assumed()) && !(checked && item.fails)
        };
        let behind: Vec<Vec<Behind>> = lists
            .behind
            .iter()
            .map(|list| list.iter().filter(|one| admits(&one.item)).copied().collect())
            .collect();
        let shims = lists.shims.iter().map(|list| groups(list.iter().filter(|one| admits(one))));
        let bearings = lists.bearings.iter().filter(|bearing| {
            let assumed = [bearing.ends.extended, bearing.ends.retracted];
            aim.admits(assumed.iter().any(|end| end.spread.assumed))
                && aim.reaches(bearing.ends.cap)
        });
        // Where a check of the engine alone fails, no plate helps.
        let plates = lists.plates().into_iter().filter(|_| !(checked && lists.fails));
        let plates = plates.filter(|(_, _, fails)| !(checked && *fails));
        let mut tier = Self {
            lists,
            aim,
            checked,
            by_room: layout.by_room,
            plates: plates.map(|(pick, key, _)| (pick, key)).collect(),
            facts: RefCell::default(),
            leaves: FxHashMap::default(),
            behind,
            shims: shims.collect(),
            bearings: bearings.copied().collect(),
            strands: RefCell::default(),
            rests: RefCell::default(),
            under_shims: RefCell::default(),
            wholes: RefCell::default(),
            seated: RefCell::default(),
            least: Least::default(),
        };
        tier.lay_out_leaves();
        let of = |keys: &mut dyn Iterator<Item = Key>| keys.min().unwrap_or_default();
        let shims = tier.shims.iter().flatten().flat_map(|group| &group.items);
        tier.least = Least {
            bearing: of(&mut tier.bearings.iter().map(|bearing| bearing.key)),
            disc: lists.least_disc(),
            flywheel: of(&mut lists.flywheels.iter().map(|one| one.item.key)),
            rest: of(&mut tier.leaves.values().flatten().map(|leaf| leaf.least))
                + of(&mut tier.behind.iter().flatten().map(|one| one.item.key))
                + of(&mut shims.map(|item| item.key)),
        };
        tier
    }

    fn lay_out_leaves(&mut self) {
        let layout = self.lists.layout;
        for (strand, list) in self.lists.strands.iter().enumerate() {
            let items = (0..).zip(&list.items).filter(|(_, one)| self.admits(one));
            let class = |one: &Item| (layout.lead(one.key.high), self.aim.class(one.error));
            let classes = items.into_group_map_by(|(_, one)| class(one));
            for (_, class) in classes.into_iter().sorted_unstable_by_key(|(class, _)| *class) {
                let keys: Vec<(i64, Key)> =
                    class.iter().map(|(_, one)| (one.sum.at, one.key)).collect();
                self.leaves.entry(list.block_plate).or_default().push(Leaf {
                    strand,
                    error: Error::least_of(class.iter().map(|(_, one)| one.error)),
                    least: keys.iter().map(|(_, key)| *key).min().unwrap_or_default(),
                    ranked: Ranked::new(&keys, |nm| layout.lack(nm)),
                    items: class.iter().map(|(place, _)| *place).collect(),
                });
            }
        }
    }

    /// What stands between block and bell in one strand, within a bound of the starter.
    fn strand(&self, strand: usize, bound: usize) -> Rc<Reach> {
        if let Some(known) = self.strands.borrow().get(&(strand, bound)) {
            return Rc::clone(known);
        }
        let list = &self.lists.strands[strand];
        let (low, high) = self.within_starter(strand, self.lists.starters[bound]);
        let leaves = self.leaves.get(&list.block_plate).into_iter().flatten();
        let leaves: Vec<&Leaf> = leaves.filter(|leaf| leaf.strand == strand).collect();
        let layout = self.lists.layout;
        let items = leaves.iter().flat_map(|leaf| leaf.ranked.at.iter().zip(&leaf.ranked.key));
        let items = items.filter(|(at, _)| low <= **at && **at <= high);
        let by_lead = items.clone().map(|(at, key)| (layout.lead(key.high), (*at, key.high)));
        let by_lead = by_lead.into_group_map().into_iter().sorted_unstable_by_key(|one| one.0);
        let tables = by_lead.map(|(lead, items)| (lead, Table::of(items.into_iter()))).collect();
        let places =
            if layout.by_room { Places::of(items.map(|(at, _)| *at)) } else { Places::default() };
        let error = Error::least_of(leaves.iter().map(|leaf| leaf.error));
        let reach = Rc::new(Reach { tables, places, error });
        self.strands.borrow_mut().insert((strand, bound), Rc::clone(&reach));
        reach
    }

    /// The strands that go with a block plate's sort.
    fn strands_of(&self, sort: Sort, bound: usize) -> Vec<(usize, Rc<Reach>)> {
        let strands = self.lists.strands.iter().enumerate();
        let own = strands.filter(|(_, strand)| strand.block_plate == sort);
        own.map(|(index, _)| (index, self.strand(index, bound))).collect()
    }

    /// All that stands between but for the flywheel: plates, spacers and shims.
    pub(crate) fn rest(&self, key: RestKey) -> Rc<Reach> {
        if let Some(known) = self.rests.borrow().get(&key) {
            return Rc::clone(known);
        }
        let (sort, bound, behind, shims) = key;
        let strands = self.strands_of(sort, bound);
        let mut parts = Vec::new();
        for (strand, reach) in &strands {
            for one in &self.behind[behind] {
                let between = self.within_shaft(*strand, one);
                let (at, key, error) = (one.item.sum.at, one.item.key, one.item.error);
                parts.push(ReachPart { reach, between, at, key, error });
            }
        }
        let spacers = Reach::sums(&parts, self.lists.layout, Places::sums);
        let reach = Rc::new(self.with_shims(&spacers, shims, Places::sums));
        self.rests.borrow_mut().insert(key, Rc::clone(&reach));
        reach
    }

    /// The bearings with which anything may stand between that goes with a clutch, by key: their places in
    /// the list of all.
    pub(crate) fn seated(&self, clutch: &Clutch) -> Rc<Vec<u32>> {
        if let Some(known) = self.seated.borrow().get(&clutch.number) {
            return Rc::clone(known);
        }
        let classes = clutch.classes.iter();
        let fronts = classes.flat_map(|class| {
            let own = class.flywheels.iter().filter(|one| self.admits_flywheel(class, one));
            own.map(|one| (class.block_plate, one.bound))
        });
        let fronts: Vec<(Sort, usize)> = fronts.unique().collect();
        let stands = |behind: usize| fronts.iter().any(|front| self.stands(*front, behind));
        let behind: Vec<bool> = (0..self.behind.len()).map(stands).collect();
        let seated = (0..)
            .zip(&self.bearings)
            .filter(|(_, one)| behind[one.behind] && !self.shims[one.shims].is_empty());
        let seated = Rc::new(seated.map(|(place, _)| place).collect());
        self.seated.borrow_mut().insert(clutch.number, Rc::clone(&seated));
        seated
    }

    /// Whether any plates and spacers may stand with a block plate's sort and a bound of the starter, and a
    /// list behind the bell.
    fn stands(&self, (sort, bound): (Sort, usize), behind: usize) -> bool {
        self.strands_of(sort, bound).iter().any(|(strand, reach)| {
            let mut behind = self.behind[behind].iter();
            behind.any(|one| reach.has_any(self.within_shaft(*strand, one)))
        })
    }

    fn with_shims(
        &self,
        reach: &Reach,
        shims: usize,
        places: fn(&[places::Part<'_>]) -> Places,
    ) -> Reach {
        let parts: Vec<ReachPart<'_>> = self.shims[shims]
            .iter()
            .flat_map(|group| {
                let layout = self.lists.layout;
                let best = group.items.iter().unique_by(|item| layout.lead(item.key.high));
                best.map(|item| ReachPart {
                    reach,
                    between: ANYWHERE,
                    at: group.at,
                    key: item.key,
                    error: group.error,
                })
            })
            .collect();
        Reach::sums(&parts, self.lists.layout, places)
    }

    /// What is left once all but shims and what stands before the bell is picked.
    pub(crate) fn under_shims(&self, sort: Sort, bound: usize, shims: usize) -> Rc<Reach> {
        let key = (sort, bound, shims);
        if let Some(known) = self.under_shims.borrow().get(&key) {
            return Rc::clone(known);
        }
        let strands = self.strands_of(sort, bound);
        let part = |reach| ReachPart {
            reach,
            between: ANYWHERE,
            at: 0,
            key: Key::default(),
            error: Error::default(),
        };
        let parts: Vec<_> = strands.iter().map(|(_, reach)| part(&**reach)).collect();
        let before = Reach::sums(&parts, self.lists.layout, Places::sums);
        let reach = Rc::new(self.with_shims(&before, shims, Places::fine_sums));
        self.under_shims.borrow_mut().insert(key, Rc::clone(&reach));
        reach
    }

    /// All that stands between, less the flywheels of one class.
    pub(crate) fn whole(&self, clutch: &Clutch, class: usize, bearing: &Bearing) -> Rc<Reach> {
        let key = (clutch.number, class, bearing.behind, bearing.shims);
        if let Some(known) = self.wholes.borrow().get(&key) {
            return Rc::clone(known);
        }
        let one = &clutch.classes[class];
        let flywheels = one.flywheels.iter().filter(|flywheel| self.admits_flywheel(one, flywheel));
        let rests: Vec<(Rc<Reach>, &Flywheel)> = flywheels
            .map(|flywheel| {
                let key = (one.block_plate, flywheel.bound, bearing.behind, bearing.shims);
                (self.rest(key), flywheel)
            })
            .collect();
        let part = |(reach, flywheel): &'_ (Rc<Reach>, &Flywheel)| {
            let item = &flywheel.item;
            (Rc::clone(reach), item.sum.at, item.key, item.error)
        };
        let owned: Vec<_> = rests.iter().map(part).collect();
        let parts: Vec<ReachPart<'_>> = owned
            .iter()
            .map(|(reach, at, key, error)| ReachPart {
                reach,
                between: ANYWHERE,
                at: -at,
                key: *key,
                error: *error,
            })
            .collect();
        let reach = Rc::new(Reach::sums(&parts, self.lists.layout, Places::sums));
        self.wholes.borrow_mut().insert(key, Rc::clone(&reach));
        reach
    }

    fn admits(&self, item: &Item) -> bool {
        let affords = self.lists.layout.left(item.key.high).is_some();
        affords && self.aim.admits(item.is_assumed()) && !(self.checked && item.fails)
    }

    /// The positions of a strand at which the starter meets a flywheel's ring gear.
    pub(crate) fn within_starter(&self, strand: usize, starter: Starter) -> (i64, i64) {
        let strand = &self.lists.strands[strand];
        if self.checked { strand.within_starter(starter) } else { ANYWHERE }
    }

    /// The positions of a strand at which the shaft reaches its pilot.
    pub(crate) fn within_shaft(&self, strand: usize, behind: &Behind) -> (i64, i64) {
        let strand = &self.lists.strands[strand];
        if self.checked { strand.within_shaft(self.lists.shaft, behind.shaft) } else { ANYWHERE }
    }

    /// The least preload at which no check of a plate fails, nm.
    pub(crate) fn least_preload(&self, plate: u32) -> Option<i64> {
        if self.checked { self.lists.least_preload(plate) } else { None }
    }

    /// What a plate's meeting with a bearing adds to the key; none where no stack may have both.
    pub(crate) fn plate_meets(&self, plate: u32, bearing: &Bearing) -> Option<Key> {
        let (key, fails) = self.lists.plate_meets(plate, bearing)?;
        (!(self.checked && fails)).then_some(key)
    }

    /// Whether a flywheel may stand with a disc and a plate.
    pub(crate) fn hub_clears(&self, flywheel: u32, disc: u32, plate: u32) -> bool {
        !(self.checked && self.lists.hub_fails(flywheel, disc, plate))
    }

    /// Whether a flywheel may be part of such a stack: of one whose form is its own all is settled there.
    pub(crate) fn admits_flywheel(&self, class: &Class, flywheel: &Flywheel) -> bool {
        let own = matches!(class.sort, Sort::Own(_));
        let fails = self.checked && flywheel.item.fails;
        let assumed = flywheel.item.is_assumed() || class.gap.assumed;
        !fails && self.aim.admits(!own && assumed)
    }

    /// Whether the finger tips of a plate, a disc and a class may be those of such a stack.
    pub(crate) fn admits_finger(&self, finger: &Finger) -> bool {
        self.aim.admits(finger.sum.spread.assumed) && self.aim.reaches(finger.cap)
    }
}

/// Items that stand at one place with one u, by key.
fn groups<'i>(items: impl Iterator<Item = &'i Item>) -> Vec<ShimGroup> {
    let mut groups: Vec<ShimGroup> = Vec::new();
    let mut places: FxHashMap<(i64, u64), usize> = FxHashMap::default();
    for item in items {
        let (at, error) = (item.sum.at, item.error);
        let place = *places.entry((at, error.three_u_squared.to_bits())).or_insert_with(|| {
            groups.push(ShimGroup { at, error, items: Vec::new() });
            groups.len() - 1
        });
        let group = &mut groups[place];
        group.error = group.error.least(error);
        group.items.push(*item);
    }
    groups
}
