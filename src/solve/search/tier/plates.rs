//! What is known of one pressure plate once it is looked at: what goes with it, and how far its finger
//! tips reach with any disc.

use std::rc::Rc;

use crate::model::edge::PerEdge;
use crate::solve::numbers::finger::{Finger, OpenFinger, Span};
use crate::solve::numbers::{COMMON, Limits, Numbers, Sort};
use crate::solve::search::error::Error;
use crate::solve::search::key::{Key, WIDEST};
use crate::solve::search::lists::{Bearing, Clutch, Disc, Discs};
use crate::solve::search::tier::{Interval, Settled, Tier};

/// A plate with what goes with it.
pub(crate) struct PlateFacts<'n, 'b, 'a> {
    numbers: &'n Numbers<'b, 'a>,
    pub(crate) pick: u32,
    pub(crate) clutch: Rc<Clutch>,
    pub(crate) discs: Rc<Discs>,
    /// The bearings that something may stand with, by key: their places in the tier's list.
    pub(crate) bearings: Rc<Vec<u32>>,
    /// By class of flywheels: the finger tips with any disc of which nothing is fitted.
    common: Vec<Rc<OpenFinger>>,
    /// By class: how far the finger tips reach with any disc, and their least errors; none where no stack of
    /// the tier has them.
    spans: Vec<Option<(Span, Error)>>,
    /// The window's widest limits with any disc.
    limits: Limits,
    /// The least preload at which no check fails, nm.
    pub(crate) least_preload: Option<i64>,
    pub(crate) least_disc: Key,
    /// The least key of a disc that costs as much as the cheapest.
    pub(crate) cheapest_disc: u128,
    pub(crate) least_flywheel: Key,
}

impl<'n, 'b, 'a> PlateFacts<'n, 'b, 'a> {
    /// None where no stack can have this plate.
    fn new(tier: &Tier<'_, 'n, 'b, 'a>, pick: u32) -> Option<Self> {
        let lists = tier.lists;
        let numbers = lists.numbers;
        let (clutch, discs) = (lists.clutch(pick), lists.discs(pick));
        let bearings = tier.seated(&clutch);
        if bearings.is_empty() {
            return None;
        }
        let engine = lists.frame[0];
        let least_disc = discs.list.first()?.key;
        let cheapest_disc = discs.cheapest?;
        let (low, high) = discs.alone?;
        let least_flywheel = clutch.classes.first()?.flywheels[0].item.key;
        let finger = |class: usize, disc: Sort| {
            let class = &clutch.classes[class];
            numbers.finger((engine, pick, class.sort, disc, class.block_plate))
        };
        let classes = 0..clutch.classes.len();
        let common =
            |class| if discs.ends.is_some() { finger(class, COMMON) } else { Rc::default() };
        let common: Vec<Rc<OpenFinger>> = classes.clone().map(common).collect();
        let span = |class: usize| {
            let gap = &clutch.classes[class].gap;
            let with_common = discs.ends.and_then(|ends| common[class].span(gap, &ends));
            let of_own = |disc: &Disc| finger(class, disc.sort).span(gap, &[disc.gap; 2]);
            let own = discs.own.iter().filter_map(of_own);
            let all = own.chain(with_common).reduce(Span::with)?;
            // Two products, each rounded by itself, may come out a nanometre further.
            let all = Span { low: all.low + low - 1, high: all.high + high + 1, ..all };
            // Where the least that any route is held to is too much, no disc helps.
            let errors = Error::of(&all.finger.sum.spread);
            tier.admits_finger(&all.finger).then_some((all, errors))
        };
        let spans: Vec<Option<(Span, Error)>> = classes.map(span).collect();
        if spans.iter().all(Option::is_none) {
            return None;
        }
        let least_preload = tier.least_preload(pick);
        let limits = discs.widest.iter().map(|disc| numbers.limits(pick, *disc));
        let limits = limits.reduce(widest)?;
        Some(Self {
            numbers,
            pick,
            clutch,
            discs,
            bearings,
            common,
            spans,
            limits,
            least_preload,
            least_disc,
            cheapest_disc,
            least_flywheel,
        })
    }

    /// The classes of flywheels that a stack of the tier may have.
    pub(crate) fn classes(&self) -> impl Iterator<Item = usize> {
        let spans = self.spans.iter().enumerate();
        spans.filter(|(_, span)| span.is_some()).map(|(class, _)| class)
    }

    /// The window's limits with a disc.
    pub(crate) fn limits_with(&self, disc: u32) -> Limits {
        self.numbers.limits(self.pick, disc)
    }

    /// The finger tips with a class of flywheels and a disc; none where no stack of the tier has them.
    pub(crate) fn finger(
        &self,
        tier: &Tier<'_, 'n, 'b, 'a>,
        class: usize,
        disc: &Disc,
    ) -> Option<Finger> {
        let of = &self.clutch.classes[class];
        let open = if disc.sort == COMMON {
            Rc::clone(&self.common[class])
        } else {
            let key = (tier.lists.frame[0], self.pick, of.sort, disc.sort, of.block_plate);
            self.numbers.finger(key)
        };
        open.with(&of.gap, &disc.gap).filter(|finger| tier.admits_finger(finger))
    }
}

/// What both limits allow together.
fn widest(one: Limits, two: Limits) -> Limits {
    PerEdge::from_fn(|edge| {
        let (a, b) = (one[edge]?, two[edge]?);
        Some(if edge.is_least() { a.min(b) } else { a.max(b) })
    })
}

impl<'n, 'b, 'a> Tier<'_, 'n, 'b, 'a> {
    /// A plate with what goes with it; none where no stack can have it.
    pub(crate) fn plate(&self, pick: u32) -> Option<Rc<PlateFacts<'n, 'b, 'a>>> {
        if let Some(known) = self.facts.borrow().get(&pick) {
            return known.clone();
        }
        let facts = PlateFacts::new(self, pick).map(Rc::new);
        self.facts.borrow_mut().insert(pick, facts.clone());
        facts
    }

    /// Where what stands between has to stand less the flywheel, at one end of a span.
    fn interval_at(
        &self,
        facts: &PlateFacts<'_, '_, '_>,
        bearing: &Bearing,
        (finger, at): (&Finger, i64),
        errors: Error,
    ) -> Interval {
        let settled = Settled {
            finger,
            at,
            error: Error::default(),
            assumed: false,
            bearing,
            limits: &facts.limits,
            least_preload: facts.least_preload,
        };
        settled.interval(self.aim, errors)
    }

    /// The least key that flywheel, plates, spacers and shims add with a plate and a bearing for no more
    /// than `left` cents, and the most room that a stack of them may have.
    pub(crate) fn best_with(
        &self,
        facts: &PlateFacts<'n, 'b, 'a>,
        bearing: &Bearing,
        left: Option<u128>,
    ) -> Option<(u128, i64)> {
        let mut best: Option<(u128, i64)> = None;
        for (class, span) in facts.spans.iter().enumerate() {
            let Some((Span { low, high, finger }, errors)) = span else { continue };
            let reach = self.whole(&facts.clutch, class, bearing);
            let errors = reach.error.plus(*errors);
            let at_low = self.interval_at(facts, bearing, (finger, *low), errors);
            if at_low.is_empty() {
                continue;
            }
            // At the other end all of it stands further back.
            let at_high = at_low.less(low - high);
            let both = Interval { high: at_high.high, edge_high: at_high.edge_high, ..at_low };
            if let Some((key, room)) = reach.best(&both, self.lists.layout, left) {
                let room = room.min(at_low.most_room());
                let (known, most) = best.unwrap_or((key, room));
                best = Some((key.min(known), room.max(most)));
            }
        }
        best
    }

    /// The most room that a stack with a plate may have; none where it goes with no bearing.
    pub(crate) fn most_room(&self, facts: &PlateFacts<'n, 'b, 'a>) -> Option<i64> {
        if !self.by_room {
            return Some(WIDEST);
        }
        let spans = facts.spans.iter().flatten().map(|(span, _)| *span);
        let finger = spans.reduce(Span::with)?.finger;
        let room = |bearing: &Bearing| {
            let interval =
                self.interval_at(facts, bearing, (&finger, 0), Error::of(&finger.sum.spread));
            interval.most_room()
        };
        facts.bearings.iter().map(|place| room(&self.bearings[*place as usize])).max()
    }
}
