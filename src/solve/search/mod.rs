//! The search: exact, in the order of the ranking, without looking at what cannot win.
//!
//! It is one walk over plates, bearings, flywheels, discs and the additive slots (plates, spacers,
//! shims), in stages of the ranking's first keys. The sum is additive, so for a plate and a bearing
//! the window is an interval of what the other slots have to add up to; rows of least cost by
//! position tell what they can still do. A branch is left when its best possible place is no better
//! than the last of those already found. Bounds only ever promise too much, and each combination is
//! judged exactly at the end, so the answer is that of the full product.
//!
//! Here are the goal, the stages and what they share. `layout` is what a stage lays out, `blocks`
//! what stands at both ends of the sum, `bounds` when a branch is left, `walk` the loop itself,
//! and `best` the list that it fills.

mod best;
mod blocks;
mod bounds;
mod layout;
mod walk;

use std::collections::HashMap;

use crate::error::Result;
use crate::model::house::Number;
use crate::model::kinds::Joint;
use crate::model::length::Length;
use crate::solve::ask::{Ask, Order, Watch};
use crate::solve::compact::{Common, Compact};
use crate::solve::search::best::{Best, Spent};
use crate::solve::verdict::Picks;
use crate::stack::grade::Grade;

/// What the search looks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Goal {
    /// The best stacks that were asked for.
    Wanted,
    /// The closest ones, in the window or not; those that fail a check too if so said.
    Nearest {
        /// Also those that fail a check.
        failing: bool,
    },
    /// Stacks that differ from what is fitted in just two slots, the diaphragm in its range.
    Pairs {
        /// What is fitted.
        fitted: Picks,
        /// Slot by slot the candidates that do alone.
        barred: Vec<Vec<bool>>,
        /// A stack that fails a check has to be better than this.
        failing_below: Grade,
    },
}

impl Goal {
    /// Only stacks in the window that the asker can have.
    fn is_wanted(&self) -> bool {
        !matches!(self, Self::Nearest { .. })
    }
}

/// Finds the picks that the full product would rank first. `bounds` off walks every branch: the
/// tests compare both.
///
/// # Errors
///
/// Only that the work was interrupted.
pub fn search(
    compact: &Compact<'_, '_>,
    ask: &Ask,
    goal: &Goal,
    top: usize,
    bounds: bool,
    watch: &Watch,
) -> Result<Vec<Picks>> {
    let order = if goal.is_wanted() { ask.order } else { Order::Room };
    let enough = compact.bench.library.house.length(Number::EnoughRoom);
    let (best, by_cost) = (Best::new(top), by_cost(compact, order));
    let mut walk = Walk {
        compact,
        ask,
        goal,
        order,
        enough,
        bounds,
        watch,
        by_cost,
        best,
        probing: false,
        steps: 0,
    };
    let mut before = None;
    for stage in stages(compact, ask, goal) {
        // Stages of one rank compete with each other; a later rank cannot beat a full list.
        let rank = (stage.grades, stage.blank.map(u8::count_ones), stage.slack);
        if before != Some(rank) && walk.best.is_full() {
            break;
        }
        before = Some(rank);
        walk.run(&stage)?;
    }
    Ok(walk.best.into_picks())
}

/// The candidates of each slot in the order in which they promise most.
fn by_cost(compact: &Compact<'_, '_>, order: Order) -> Vec<Vec<usize>> {
    let sorted = |common: &Vec<Common>| {
        let mut list: Vec<usize> = (0..common.len()).collect();
        list.sort_by_key(|i| {
            let one = &common[*i];
            (if order == Order::Changes { one.changes } else { 0 }, one.cost, one.parts, *i)
        });
        list
    };
    compact.common.iter().map(sorted).collect()
}

/// A stretch of the ranking that is searched by itself.
#[derive(Debug, Clone, Copy)]
struct Stage {
    /// Grades that count, from best to worst.
    grades: (Grade, Grade),
    /// Exactly these joints not verified; none: any.
    blank: Option<u8>,
    /// How far outside the window a stack may lie.
    slack: i64,
}

/// The stages of a search, in the order in which they are searched.
fn stages(compact: &Compact<'_, '_>, ask: &Ask, goal: &Goal) -> Vec<Stage> {
    if let Goal::Nearest { .. } = goal {
        // Widened step by step, so that the closest are found without walking everything.
        let steps = [0_i64, 50, 200, 1_000, 10_000, 1_000_000];
        let any = (Grade::Sure, Grade::Out);
        return steps
            .map(|thou| Stage { grades: any, blank: None, slack: Length::from_thou(thou).nm() })
            .to_vec();
    }
    if ask.order != Order::Grade {
        return vec![Stage { grades: (Grade::Sure, ask.at_least), blank: None, slack: 0 }];
    }
    let union = |common: &Vec<Common>| common.iter().fold(0_u8, |bits, one| bits | one.blank);
    let forced = |common: &Vec<Common>| common.iter().fold(u8::MAX, |bits, one| bits & one.blank);
    let may = compact.common.iter().map(union).fold(0, |a, b| a | b);
    let must = compact.common.iter().map(forced).fold(0, |a, b| a | b);
    let mut sets: Vec<u8> =
        (0..=u8::MAX).filter(|set| set & !may == 0 && must & !set == 0).collect();
    sets.sort_by_key(|set| set.count_ones());
    let grades = Grade::ALL.into_iter().filter(|grade| *grade <= ask.at_least);
    grades
        .filter(|grade| grade.in_window())
        .flat_map(|grade| {
            sets.iter().map(move |set| Stage {
                grades: (grade, grade),
                blank: Some(*set),
                slack: 0,
            })
        })
        .collect()
}

/// What the whole search shares, stage after stage.
struct Walk<'s, 'b, 'a> {
    compact: &'s Compact<'b, 'a>,
    ask: &'s Ask,
    goal: &'s Goal,
    /// The order of the ranking: near misses go by room, whatever was asked for.
    order: Order,
    /// Beyond this room more of it wins nothing.
    enough: Length,
    /// Whether branches that cannot win are left. Off, the answer is the same and takes longer.
    bounds: bool,
    watch: &'s Watch,
    /// Candidates of each slot, the cheapest first.
    by_cost: Vec<Vec<usize>>,
    /// Filled across stages: a stage of a later rank is not begun once it is full.
    best: Best,
    /// Only until the list is full.
    probing: bool,
    /// Steps so far, for the watch.
    steps: u64,
}

/// Whether those of a slot that show the same faces mate with what is picked elsewhere.
type Mates = HashMap<u32, bool>;

/// Slack for the once-rounded ratio products that the aligned positions split, nm.
const ROUNDING: i64 = 4;

impl Walk<'_, '_, '_> {
    fn tick(&mut self) -> Result<()> {
        self.steps += 1;
        if self.steps.is_multiple_of(1024) { self.watch.step(1024) } else { Ok(()) }
    }

    fn clash(&self, picks: &[u32], joints: &[Joint]) -> bool {
        joints.iter().any(|joint| self.compact.clashes(picks, *joint))
    }

    /// Whether the candidate picked in a slot mates at these joints with what else is picked.
    fn fits(&self, mates: &mut Mates, picks: &[u32], slot: usize, joints: &[Joint]) -> bool {
        let faces = self.compact.common[slot][picks[slot] as usize].faces;
        *mates.entry(faces).or_insert_with(|| !self.clash(picks, joints))
    }

    fn spent(&self, spent: Spent, slot: usize, index: usize) -> Spent {
        let common = &self.compact.common[slot][index];
        Spent {
            cost: spent.cost + common.cost,
            parts: spent.parts + common.parts,
            changes: spent.changes + common.changes,
            blank: spent.blank | common.blank,
        }
    }

    /// Stacks that fail a check may be found too.
    fn lets_fail(&self) -> bool {
        match self.goal {
            Goal::Wanted | Goal::Pairs { .. } => self.ask.show_failed,
            Goal::Nearest { failing } => *failing,
        }
    }
}
