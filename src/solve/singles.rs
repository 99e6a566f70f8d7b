//! Every change of one slot in plain numbers: how many there are, and which put a job right.

use rustc_hash::FxHashMap;

use crate::error::Result;
use crate::model::house::Number;
use crate::model::kinds::Joint;
use crate::model::length::Length;
use crate::solve::ask::{Ask, Order, Watch};
use crate::solve::compact::{Compact, unpack};
use crate::solve::rank::{Merits, Place};
use crate::solve::verdict::{Picks, Verdict};
use crate::stack::choice::Bench;
use crate::stack::fit::Fit;
use crate::stack::grade::Grade;

/// What changes of one slot come to.
pub struct Singles {
    /// Changes whose known faces mate and that can be summed up.
    pub tried: u128,
    /// Those of them that are in the window and fail no check.
    pub good: u128,
    /// Slot by slot the candidates that put the job right.
    pub does_alone: Vec<Vec<bool>>,
    found: Vec<(Place, Picks)>,
}

impl Singles {
    /// Looks at every change from `base`, which is what is fitted.
    ///
    /// # Errors
    ///
    /// Only that the work was interrupted.
    pub fn of(
        bench: &Bench<'_>,
        ask: &Ask,
        now: &Fit<'_>,
        compact: &Compact<'_, '_>,
        base: &Picks,
        watch: &Watch,
    ) -> Result<Self> {
        let does_alone = compact.common.iter().map(|common| vec![false; common.len()]).collect();
        let mut singles = Self { tried: 0, good: 0, does_alone, found: Vec::new() };
        let look = Look {
            compact,
            ask,
            now: (now.grade, now.fails()),
            // A chance cannot be bounded from parts: it is worked out for the best by grade.
            order: if ask.order == Order::Chance { Order::Grade } else { ask.order },
            enough: bench.library.house.length(Number::EnoughRoom),
            base: base.clone(),
        };
        for slot in 0..compact.common.len() {
            look.slot(slot, &mut singles, watch)?;
        }
        singles.found.sort_unstable();
        Ok(singles)
    }

    /// The best changes, as stacks, the best first.
    pub fn best(&self, top: usize) -> Vec<Picks> {
        self.found.iter().take(top).map(|(_, picks)| picks.clone()).collect()
    }
}

/// Whether a grade is better than today's, or a check that fails today holds. `now` is today's grade,
/// and whether a check fails.
pub fn is_better(now: (Grade, bool), grade: Grade, fails: bool) -> bool {
    grade < now.0 || (now.1 && !fails)
}

struct Look<'l, 'b, 'a> {
    compact: &'l Compact<'b, 'a>,
    ask: &'l Ask,
    /// Today's grade, and whether a check fails.
    now: (Grade, bool),
    order: Order,
    enough: Length,
    base: Picks,
}

impl Look<'_, '_, '_> {
    /// Every change of one slot.
    fn slot(&self, slot: usize, singles: &mut Singles, watch: &Watch) -> Result<()> {
        let compact = self.compact;
        let named = compact.named;
        let mut picks = self.base.clone();
        // By the faces that are shown, and by whether the disc left with another plate.
        let mut mates: Vec<[Option<bool>; 2]> = vec![[None; 2]; compact.faces[slot].len()];
        let mut known: FxHashMap<_, Option<(Verdict, bool)>> = FxHashMap::default();
        for pick in 0..compact.common[slot].len() {
            watch.step(1)?;
            picks[slot] = pick as u32;
            if picks[slot] == self.base[slot] || !self.is_whole(&mut picks) {
                continue;
            }
            let left = picks[named.disc] != self.base[named.disc] && slot != named.disc;
            let faces = compact.common[slot][pick].faces as usize;
            let clash = || Joint::ALL.iter().any(|joint| compact.clashes(&picks, *joint));
            if !*mates[faces][usize::from(left)].get_or_insert_with(|| !clash()) {
                continue;
            }
            // Many pairs of shims are alike in all that counts: each is worked out once.
            let verdict = match compact.linear[slot].get(pick) {
                Some(linear) if compact.additive.contains(&slot) => {
                    let one = &compact.common[slot][pick];
                    let key = (*linear, one.kept, one.stays);
                    *known.entry(key).or_insert_with(|| self.verdict(&picks))
                }
                _ => self.verdict(&picks),
            };
            if let Some((verdict, fails)) = verdict {
                singles.tried += 1;
                self.judge((slot, pick), &picks, &verdict, fails, singles);
            }
        }
        Ok(())
    }

    /// What a stack comes to, and whether it fails a check; none where it cannot be summed up.
    fn verdict(&self, picks: &Picks) -> Option<(Verdict, bool)> {
        let (compact, named) = (self.compact, self.compact.named);
        let at = |slot: usize| picks[slot] as usize;
        let front =
            compact.front((at(named.engine), at(named.flywheel), at(named.disc), at(named.plate)));
        let verdict = compact.verdict(picks, &front?, &compact.rear(picks)?);
        Some((verdict, compact.fails(picks, verdict.preload)))
    }

    /// Whether a stack has a disc or a matched set, and no more shim than its bearing takes. The disc
    /// leaves with a matched set, and that is one change.
    fn is_whole(&self, picks: &mut Picks) -> bool {
        let (compact, named) = (self.compact, self.compact.named);
        let set = compact.plates[picks[named.plate] as usize].pack.is_some();
        if picks[named.plate] != self.base[named.plate] {
            picks[named.disc] = self.base[named.disc];
            if set && !compact.discs[picks[named.disc] as usize].none {
                let Some(none) = compact.discs.iter().position(|disc| disc.none) else {
                    return false;
                };
                picks[named.disc] = none as u32;
            }
        }
        let (bearing, shims) = (picks[named.bearing] as usize, picks[named.shims] as usize);
        compact.discs[picks[named.disc] as usize].none == set
            && compact.shims_within(bearing, shims)
    }

    /// Counts one change, and keeps it where it puts the job right.
    fn judge(
        &self,
        (slot, pick): (usize, usize),
        picks: &Picks,
        verdict: &Verdict,
        fails: bool,
        singles: &mut Singles,
    ) {
        let compact = self.compact;
        singles.good += u128::from(verdict.grade.in_window() && !fails);
        let better = is_better(self.now, verdict.grade, fails);
        let asked = verdict.grade.in_window()
            && verdict.grade <= self.ask.at_least
            && (self.ask.show_failed || !fails);
        if !better || !asked || verdict.outside_range {
            return;
        }
        let common = picks.iter().zip(&compact.common).map(|(pick, list)| &list[*pick as usize]);
        let blank = common.clone().fold(0, |bits, one| bits | one.blank);
        let to_buy = unpack(common.clone().map(|one| one.cost).sum());
        let is_dear = |budget| to_buy.unpriced > 0 || to_buy.amount > budget;
        if self.ask.budget.is_some_and(is_dear) {
            return;
        }
        let merits = Merits {
            grade: verdict.grade,
            not_verified: blank.count_ones(),
            to_buy,
            room: Length::from_nm(verdict.room),
            parts: common.clone().map(|one| usize::from(one.parts)).sum(),
            changes: common.map(|one| usize::from(one.changes)).sum(),
            chance: 0,
        };
        singles.does_alone[slot][pick] = true;
        singles.found.push((merits.place(self.order, self.enough), picks.clone()));
    }
}
