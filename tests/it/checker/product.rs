//! Every combination of the candidates, one by one: what is counted, what is listed, in which order.

use std::cmp::Ordering;

use bellstack::model::kinds::Takes;
use bellstack::model::part::Part;
use bellstack::solve::ask::{Ask, Order};
use bellstack::stack::grade::Grade;

use super::cost::by_ids;
use super::task::{Fill, Task};
use super::{CrossCheck, Verdict, judge};

/// What an answer to "which combinations" holds.
pub(crate) struct Ranked<'a> {
    pub(crate) considered: u128,
    pub(crate) in_window: u128,
    /// What is wanted, best first, before it is cut to the length that was asked for.
    pub(crate) stacks: Vec<(Vec<Fill<'a>>, Verdict)>,
    /// What could be worked out and is not wanted.
    pub(crate) others: Vec<(Vec<Fill<'a>>, Verdict)>,
    /// Parts that stand in some combination whose faces mate, and in none that could be worked out.
    pub(crate) stuck: Vec<String>,
    /// Parts that stand in some combination that could be worked out.
    pub(crate) works: Vec<String>,
}

impl<'a> Task<'a> {
    /// What may stand in each slot.
    pub(crate) fn candidates(&self, ask: &Ask) -> Vec<Vec<Fill<'a>>> {
        (0..self.fitted.len()).map(|slot| self.fills(ask, slot)).collect()
    }

    /// Whether a slot stays as it is: engine, bell housing and gearbox that the job names, whatever
    /// is as on the bench, and what was asked to stay.
    fn stays(&self, ask: &Ask, slot: usize) -> bool {
        let (_, spec) = self.library.kinds.slots().nth(slot).unwrap();
        let fitted = &self.fitted[slot];
        let named = spec.fixed && !fitted.parts.is_empty();
        ask.keep.contains(&slot) || ((named || fitted.bench) && !ask.open.contains(&slot))
    }

    fn fills(&self, ask: &Ask, slot: usize) -> Vec<Fill<'a>> {
        let (kind, spec) = self.library.kinds.slots().nth(slot).unwrap();
        let fitted = &self.fitted[slot];
        // What is asked to be empty is, though something as on the bench would stay.
        if ask.without.contains(&slot) {
            return vec![Fill::default()];
        }
        if self.stays(ask, slot) {
            return vec![fitted.clone()];
        }
        let only = ask.only.iter().find(|(only, _)| *only == slot).map(|(_, ids)| ids);
        let wanted = |id: &str| only.is_none_or(|ids| ids.iter().any(|known| known == id));
        let skipped = |part: &Part| {
            let number = part.piece_of.as_ref().unwrap_or(&part.id);
            ask.skip.contains(&part.id) || ask.skip.contains(number)
        };
        // A number that was asked for has measured pieces of it beside it.
        let asked = |part: &Part| wanted(&part.id) || part.piece_of.as_deref().is_some_and(wanted);
        let parts = self.library.parts.iter().enumerate().filter(|(_, part)| {
            part.kind.key == kind.key
                && (!part.retired || fitted.holds(&part.id) > 0)
                && !skipped(part)
                && asked(part)
        });
        let parts: Vec<_> = parts.map(|(at, part)| (u32::try_from(at).unwrap(), part)).collect();
        let mut fills = Vec::new();
        // An optional slot may be empty, and the disc's where a set takes it.
        if spec.takes != Takes::One && wanted("none") {
            fills.push(Fill::default());
        }
        if fitted.bench && only.is_none() {
            fills.push(fitted.clone());
        }
        for (index, one) in parts.iter().enumerate() {
            fills.push(Fill { parts: vec![*one], ..Fill::default() });
            let pairs = parts[index..].iter().filter(|other| {
                spec.takes == Takes::UpToTwo && (other.0 != one.0 || one.1.piece_of.is_none())
            });
            fills.extend(pairs.map(|other| Fill { parts: vec![*one, *other], ..Fill::default() }));
        }
        fills.retain(|fill| !ask.on_hand || self.is_at_hand(fill, slot));
        fills
    }

    /// Only what is fitted or on the shelf: nothing of it has to be bought.
    fn is_at_hand(&self, fill: &Fill<'a>, slot: usize) -> bool {
        let mut stack = self.fitted.clone();
        stack[slot] = fill.clone();
        self.bought(&stack, slot).is_empty()
    }

    /// Whether a stack may be a combination: filled, and no more shim than the bearing takes.
    pub(crate) fn is_whole(&self, stack: &[Fill<'a>]) -> bool {
        self.is_filled(stack) && self.shims_fit(stack)
    }

    /// Whether every slot is filled that needs it, the disc's where there is no set and only there.
    pub(crate) fn is_filled(&self, stack: &[Fill<'a>]) -> bool {
        let set = stack[self.slot("pressure_plate")].part().is_some_and(Part::is_matched_set);
        let kinds = self.library.kinds.slots();
        kinds.zip(stack).all(|((_, spec), fill)| match spec.takes {
            Takes::One => !fill.is_empty(),
            Takes::OneUnlessMatchedSet => fill.is_empty() == set,
            Takes::Optional | Takes::UpToTwo => true,
        })
    }

    fn shims_fit(&self, stack: &[Fill<'a>]) -> bool {
        let length = |part: &Part, key: &str| part.entry(key).map(|entry| entry.value);
        let most = stack[self.slot("bearing")].part().and_then(|part| length(part, "max_shim"));
        let shims = &stack[self.slot("bearing_shim")].parts;
        let total: Option<i64> = shims.iter().map(|(_, shim)| length(shim, "thickness")).sum();
        most.zip(total).is_none_or(|(most, total)| total <= most)
    }

    /// Every combination, worked out and ranked. `chance` is asked for where that is the order.
    pub(crate) fn recommend(
        &self,
        ask: &Ask,
        cross_checks: &[CrossCheck],
        chance: impl Fn(&[Fill<'a>]) -> i64,
    ) -> Ranked<'a> {
        let mut ranked = Ranked {
            considered: 0,
            in_window: 0,
            stacks: Vec::new(),
            others: Vec::new(),
            stuck: Vec::new(),
            works: Vec::new(),
        };
        let (mut mates, mut works) = (Vec::new(), Vec::new());
        let candidates = self.candidates(ask);
        every(&candidates, &mut |stack| {
            if !self.is_whole(stack) || self.faces(stack).clash {
                return;
            }
            let ids = || stack.iter().flat_map(Fill::ids).map(String::from);
            mates.extend(ids());
            let Ok(verdict) = judge(self, stack, cross_checks) else { return };
            works.extend(ids());
            ranked.considered += 1;
            ranked.in_window += u128::from(verdict.holds());
            let list =
                if self.wants(ask, &verdict) { &mut ranked.stacks } else { &mut ranked.others };
            list.push((stack.to_vec(), verdict));
        });
        for list in [&mut mates, &mut works] {
            list.sort();
            list.dedup();
        }
        ranked.stuck = mates.into_iter().filter(|id| works.binary_search(id).is_err()).collect();
        ranked.works = works;
        let chances: Vec<i64> = ranked
            .stacks
            .iter()
            .map(|(stack, _)| if ask.order == Order::Chance { chance(stack) } else { 0 })
            .collect();
        let mut listed: Vec<_> = ranked.stacks.drain(..).zip(chances).collect();
        listed.sort_by(|((one, a), first), ((other, b), second)| {
            second.cmp(first).then_with(|| self.order(ask.order, (one, a), (other, b)))
        });
        ranked.stacks = listed.into_iter().map(|(stack, _)| stack).collect();
        ranked
    }

    /// In its window, passing every check (or shown all the same), as good and as cheap as asked.
    pub(crate) fn wants(&self, ask: &Ask, verdict: &Verdict) -> bool {
        let (unpriced, cents) = verdict.to_buy;
        let pays = ask.budget.is_none_or(|most| unpriced == 0 && cents <= most.get().into());
        verdict.grade <= ask.at_least.min(Grade::Marginal)
            && (ask.show_failed || !verdict.fails())
            && pays
    }

    /// The total order of recommendations, but for chance.
    pub(crate) fn order(
        &self,
        order: Order,
        (one, a): (&[Fill<'a>], &Verdict),
        (other, b): (&[Fill<'a>], &Verdict),
    ) -> Ordering {
        let first = match order {
            Order::Grade | Order::Chance => Ordering::Equal,
            Order::Price => a.to_buy.cmp(&b.to_buy),
            Order::Room => b.least_room.cmp(&a.least_room),
            Order::Changes => a.changes.len().cmp(&b.changes.len()),
        };
        let enough = self.house.length("enough_room");
        let room = |verdict: &Verdict| verdict.least_room.min(enough);
        let faces = |verdict: &Verdict| verdict.not_verified.count_ones();
        first
            .then(a.grade.cmp(&b.grade))
            .then(faces(a).cmp(&faces(b)))
            .then(a.to_buy.cmp(&b.to_buy))
            .then(room(b).cmp(&room(a)))
            .then(a.parts.cmp(&b.parts))
            .then_with(|| by_ids(one, other))
    }
}

/// Every choice of one fill a slot.
fn every<'a>(candidates: &[Vec<Fill<'a>>], each: &mut impl FnMut(&[Fill<'a>])) {
    fn walk<'a>(
        candidates: &[Vec<Fill<'a>>],
        stack: &mut Vec<Fill<'a>>,
        each: &mut impl FnMut(&[Fill<'a>]),
    ) {
        let Some(fills) = candidates.get(stack.len()) else { return each(stack) };
        for fill in fills {
            stack.push(fill.clone());
            walk(candidates, stack, each);
            stack.pop();
        }
    }
    walk(candidates, &mut Vec::new(), each);
}

/// How many combinations there are before any falls, for whoever has to keep them few.
pub(crate) fn size(candidates: &[Vec<Fill<'_>>]) -> u128 {
    candidates.iter().map(|fills| fills.len() as u128).product()
}
