//! What may stand in each slot for a job and an ask.

use std::collections::HashSet;

use crate::error::{Error, Result};
use crate::model::kinds::{KindSpec, SlotSpec, Takes};
use crate::model::length::Length;
use crate::model::part::Part;
use crate::solve::ask::{Ask, LeftOut, Removed, Sieve};
use crate::stack::choice::{Choice, Facings, Fill, Setup};
use crate::stack::cost::pieces_to_buy;

/// The fills that each slot may take, in slot order; each list is in bytewise order of ids, the
/// empty slot first.
#[derive(Debug, Clone)]
pub struct Candidates<'a> {
    /// Slot by slot.
    pub slots: Vec<Vec<Fill<'a>>>,
    /// Parts that lack a dimension.
    pub left_out: Vec<LeftOut>,
    /// What became of each slot's parts, but for those that clash; only where that is asked for.
    pub sieves: Vec<Sieve>,
}

impl<'a> Candidates<'a> {
    /// The stack of the candidates that are picked in each slot.
    pub fn choice(&self, picks: &[u32]) -> Choice<'a> {
        let fills = picks.iter().zip(&self.slots);
        Choice { fills: fills.map(|(pick, fills)| fills[*pick as usize].clone()).collect() }
    }

    /// The first slot that nothing can fill.
    pub fn empty_slot(&self) -> Option<usize> {
        self.slots.iter().position(Vec::is_empty)
    }
}

/// Collects the candidates.
///
/// # Errors
///
/// Refuses an ask that contradicts itself or names parts and slots that are not there.
pub fn candidates<'a>(setup: &Setup<'a>, ask: &Ask) -> Result<Candidates<'a>> {
    check(setup, ask)?;
    let mut left_out = Vec::new();
    let (mut slots, mut sieves) = (Vec::new(), Vec::new());
    for (index, (kind, slot)) in setup.library.kinds.slots().enumerate() {
        let one = Slot { setup, ask, index, kind, spec: slot };
        let fills = one.fills(&mut left_out)?;
        if ask.explain {
            sieves.push(one.sieve(&fills));
        }
        slots.push(fills);
    }
    left_out.sort();
    Ok(Candidates { slots, left_out, sieves })
}

fn check(setup: &Setup<'_>, ask: &Ask) -> Result<()> {
    let kinds = setup.library.kinds;
    for id in &ask.skip {
        if setup.library.find(id).is_none() {
            return Err(Error::input(format!("`--skip {id}`: there is no part `{id}`")));
        }
    }
    for (slot, ids) in &ask.only {
        let kind = kinds.slots().nth(*slot).map_or("", |(kind, _)| kind.key);
        for id in ids.iter().filter(|id| *id != "none") {
            setup.library.part_of_kind(id, kind).map_err(|error| error.at("`--only`"))?;
        }
    }
    for slot in ask.changing.iter().flatten() {
        let fixed = kinds.slots().nth(*slot).is_some_and(|(_, spec)| spec.fixed);
        if (fixed || setup.fitted[*slot].on_bench) && !ask.open.contains(slot) {
            let key = kinds.slot_key(*slot);
            let found =
                format!("`--only {key}`: the job's {} stays as it is", key.replace('_', " "));
            return Err(Error::input(found).hint(format!("add `--open {key}` to let it change")));
        }
    }
    for slot in &ask.keep {
        let named = |list: &[usize]| list.contains(slot);
        if named(&ask.without) || named(&ask.open) || ask.only.iter().any(|(only, _)| only == slot)
        {
            let key = kinds.slot_key(*slot);
            return Err(Error::input(format!(
                "`--keep {key}` contradicts what else is asked of it"
            )));
        }
    }
    Ok(())
}

struct Slot<'b, 'a> {
    setup: &'b Setup<'a>,
    ask: &'b Ask,
    index: usize,
    kind: &'static KindSpec,
    spec: &'static SlotSpec,
}

impl<'a> Slot<'_, 'a> {
    fn fills(&self, left_out: &mut Vec<LeftOut>) -> Result<Vec<Fill<'a>>> {
        let fitted = &self.setup.fitted[self.index];
        if self.ask.changing.as_ref().is_some_and(|slots| !slots.contains(&self.index)) {
            return Ok(vec![fitted.clone()]);
        }
        let blank = fitted.parts.is_empty();
        let only = self.ask.only.iter().find(|(slot, _)| *slot == self.index).map(|(_, ids)| ids);
        if self.ask.without.contains(&self.index) {
            return match self.spec.takes {
                Takes::One => {
                    Err(Error::input(format!("a stack needs its {}", self.kind.name)).hint(
                        format!("`--without {}` is for the slots that may be empty", self.spec.key),
                    ))
                }
                _ => Ok(vec![Fill::empty()]),
            };
        }
        let opened = self.ask.open.contains(&self.index);
        let fixed = self.spec.fixed && !opened && only.is_none();
        if fitted.on_bench && !opened {
            return Ok(vec![fitted.clone()]);
        }
        if self.ask.keep.contains(&self.index) || (fixed && !blank) {
            if blank && self.spec.takes == Takes::One {
                let (job, key) = (&self.setup.job.id, self.spec.key);
                return Err(Error::input(format!("job `{job}` names no {key} to keep")));
            }
            return Ok(self.usable(fitted.parts.iter().copied(), left_out, |parts| {
                if parts.len() < fitted.parts.len() { vec![] } else { vec![fitted.clone()] }
            }));
        }
        let wanted = |part: &&Part| {
            let named = only.is_none_or(|ids| is_among(part, ids));
            let is_fitted = fitted.parts.iter().any(|fitted| fitted.id == part.id);
            named && !is_among(part, &self.ask.skip) && (!part.retired || is_fitted)
        };
        let parts = self.setup.library.of_kind(self.kind.key).filter(wanted);
        let may_be_empty = only.is_none_or(|ids| ids.iter().any(|id| id == "none"));
        let mut fills = self.usable(parts, left_out, |parts| self.picks(&parts, may_be_empty));
        // Worn facings on the bench are replaced by new ones, which nobody has at hand.
        let is_bought = self.setup.facing_slot() == Some(self.index)
            && self.setup.facings() == Facings::Replaced;
        if fitted.on_bench && only.is_none() && !(self.ask.on_hand && is_bought) {
            fills.insert(0, fitted.clone());
        }
        Ok(fills)
    }

    /// What became of the kind's parts: the first reason for which each is no candidate.
    fn sieve(&self, fills: &[Fill<'a>]) -> Sieve {
        let used: HashSet<&str> = fills.iter().flat_map(Fill::ids).collect();
        let asks = |list: &[usize]| list.contains(&self.index);
        let only = self.ask.only.iter().find(|(slot, _)| *slot == self.index).map(|(_, ids)| ids);
        let fixed = self.spec.fixed && !asks(&self.ask.open) && only.is_none();
        let reason = |part: &Part| match part {
            _ if asks(&self.ask.without) => Removed::Without,
            _ if asks(&self.ask.keep) || fixed => Removed::Stays,
            part if part.retired => Removed::Retired,
            part if only.is_some_and(|ids| !is_among(part, ids)) => Removed::Only,
            part if is_among(part, &self.ask.skip) => Removed::Skipped,
            part if !part.missing().is_empty() => Removed::Lacks,
            _ => Removed::NotOnHand,
        };
        let mut sieve = Sieve { slot: self.index, fills: fills.len(), ..Sieve::default() };
        for part in self.setup.library.of_kind(self.kind.key) {
            // A piece that cannot be had is not told apart from its number.
            if part.piece_of.is_some() && part.retired && !used.contains(part.id.as_str()) {
                continue;
            }
            sieve.parts += 1;
            if !used.contains(part.id.as_str()) {
                sieve.remove(reason(part), 1);
            }
        }
        sieve.removed.sort_unstable();
        sieve
    }

    /// Drops the parts that lack a needed dimension; of what is fitted it may cancel, where it stays.
    fn usable(
        &self,
        parts: impl Iterator<Item = &'a Part>,
        left_out: &mut Vec<LeftOut>,
        make: impl FnOnce(Vec<&'a Part>) -> Vec<Fill<'a>>,
    ) -> Vec<Fill<'a>> {
        let fitted = &self.setup.fitted[self.index];
        let mut usable = Vec::new();
        for part in parts {
            let missing = part.missing();
            let stays = fitted.parts.iter().any(|fitted| fitted.id == part.id);
            if missing.is_empty() || stays {
                usable.push(part);
            }
            // Whether it stands in a sum that works is found out later.
            if !missing.is_empty() {
                left_out.push(LeftOut {
                    kind: self.kind.key,
                    id: Some(part.id.clone()),
                    needs: missing,
                    needs_any: Vec::new(),
                });
            }
        }
        make(usable)
    }

    fn picks(&self, parts: &[&'a Part], may_be_empty: bool) -> Vec<Fill<'a>> {
        let mut fills: Vec<Fill<'a>> = Vec::new();
        // A disc's empty slot is for the matched sets; which plate it goes with is settled later.
        if self.spec.takes != Takes::One && may_be_empty {
            fills.push(Fill::empty());
        }
        for (index, part) in parts.iter().enumerate() {
            self.offer(&mut fills, Fill::one(part));
            if self.spec.takes == Takes::UpToTwo {
                for second in &parts[index..] {
                    self.offer(&mut fills, Fill::several([*part, *second]));
                }
            }
        }
        fills
    }

    fn offer(&self, fills: &mut Vec<Fill<'a>>, fill: Fill<'a>) {
        let to_buy = |part: &Part| {
            let needed = fill.parts.iter().filter(|other| other.id == part.id).count();
            let needed = u32::try_from(needed).unwrap_or(u32::MAX);
            pieces_to_buy(self.setup, part, needed)
        };
        // A single piece cannot be bought: where it is not to be had, it is no candidate.
        let at_hand = |part: &&Part| self.ask.on_hand || part.piece_of.is_some();
        let lacks = fill.parts.iter().filter(|part| at_hand(part)).any(|part| to_buy(part) > 0);
        if lacks || fill.piece_twice().is_some() {
            return;
        }
        fills.push(fill);
    }
}

/// Whether a part is one of those that a user named; a number stands for its pieces too.
fn is_among(part: &Part, ids: &[String]) -> bool {
    ids.contains(&part.id) || part.piece_of.as_ref().is_some_and(|of| ids.contains(of))
}

/// Whether shims stay within what their bearing takes, as far as both are known.
pub fn shims_within(bearing: &Fill<'_>, shims: &Fill<'_>) -> bool {
    let most = bearing.parts.first().and_then(|bearing| bearing.length("max_shim"));
    let total: Option<Length> = shims.parts.iter().map(|shim| shim.length("thickness")).sum();
    shims.parts.is_empty() || most.zip(total).is_none_or(|(most, total)| total <= most)
}
