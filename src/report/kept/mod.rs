//! Answers that were kept: as they were given, and beside those of today.

mod compare;
mod then;

pub use compare::{Comparison, Today, json as compare_json, table as compare_table};
pub use then::{StackThen, StacksThen};

use serde::Serialize;
use serde_json::value::RawValue;

use super::View;
use super::history::{StampRow, by};
use super::json;
use super::page::{Grid, Page};
use super::shop::pair;
use super::units::count;
use crate::error::Result;
use crate::model::history::KeptAnswer;
use crate::model::house::House;
use crate::model::kinds::Kinds;
use crate::model::length::Unit;

/// A list of answers, the newest last.
///
/// # Errors
///
/// As [`StacksThen::of`].
pub fn list(kept: &[KeptAnswer], kinds: Kinds, view: View) -> Result<String> {
    let mut page = Page::new(view.width);
    if kept.is_empty() {
        page.line("No answer is kept.");
        return Ok(page.finish());
    }
    let room = format!(">its room\n{}", view.unit.name());
    let mut grid = Grid::new(["answer", "job", "kept", "by", ">stacks", "best", &room]);
    for kept in kept {
        let then = StacksThen::of(kept, kinds)?;
        let landed = if then.landed { then.stacks.len() } else { 0 };
        let best = then.stacks.first();
        grid.row([
            kept.name.clone(),
            kept.job.clone(),
            kept.stamp.at.clone(),
            by(&kept.stamp).to_string(),
            landed.to_string(),
            best.map_or("none", |best| best.grade.as_str()).to_string(),
            best.map_or_else(|| "-".into(), |best| best.room.digits(view.unit, false)),
        ]);
    }
    page.grid(grid);
    page.gap();
    page.line(format!("{}.", count(kept.len() as u128, "answer")));
    Ok(page.finish())
}

/// An answer as it was given, with the job and the house numbers of that day.
///
/// # Errors
///
/// As [`StacksThen::of`].
pub fn show(kept: &KeptAnswer, kinds: Kinds, view: View) -> Result<String> {
    let then = StacksThen::of(kept, kinds)?;
    let mut page = Page::new(view.width);
    page.line(opening(kept));
    page.gap();
    if then.stacks.is_empty() {
        page.line("No stack could be named.");
    } else if !then.landed {
        page.line("Nothing landed in the window. The nearest:");
    }
    let in_every_row = in_every_row(kinds, &then.stacks);
    if !then.stacks.is_empty() {
        if !in_every_row.is_empty() {
            page.line(format!("In every row: {in_every_row}"));
            page.gap();
        }
        page.grid(stacks(kinds, &then.stacks, view.unit));
    }
    page.gap();
    page.line("The job that day:");
    for (key, value) in &kept.job_then {
        pair(&mut page, key, value);
    }
    page.gap();
    let default = House::default().settings(kinds, Unit::In);
    let is_default = |key: &str, value: &str| {
        default.iter().any(|setting| setting.key == key && setting.value == value)
    };
    let changed = kept.house_then.iter().filter(|(key, value)| !is_default(key, value));
    let changed: Vec<_> = changed.collect();
    if changed.is_empty() {
        page.line("The house numbers that day were the defaults.");
    } else {
        page.line("The house numbers that day, where they were not the defaults:");
    }
    for (key, value) in changed {
        pair(&mut page, key, value);
    }
    Ok(page.finish())
}

/// Which answer it is.
fn opening(kept: &KeptAnswer) -> String {
    let KeptAnswer { name, job, stamp, .. } = kept;
    format!("Answer {name} to the job {job}, kept {} by {}: {}", stamp.at, by(stamp), stamp.command)
}

fn stacks(kinds: Kinds, stacks: &[StackThen], unit: Unit) -> Grid {
    let name = unit.name();
    let of = |what: &str| format!(">{what}\n{name}");
    let [preload, reserve, room] = ["preload", "reserve", "room"].map(of);
    let mut grid = Grid::new([">#", "grade", "parts", &preload, &reserve, &room, "fails"]);
    for (index, stack) in stacks.iter().enumerate() {
        let lengths = [stack.preload, stack.reserve, stack.room];
        let lengths = lengths.map(|length| length.digits(unit, false));
        let [preload, reserve, room] = lengths;
        grid.row([
            (index + 1).to_string(),
            stack.grade.clone(),
            differing(kinds, stacks, stack),
            preload,
            reserve,
            room,
            stack.fails.join(", "),
        ]);
    }
    grid
}

/// Whether every stack has the same in a slot.
fn is_common(stacks: &[StackThen], slot: usize) -> bool {
    stacks.windows(2).all(|two| two[0].parts[slot] == two[1].parts[slot])
}

/// The parts that all stacks have, with their slots.
fn in_every_row(kinds: Kinds, stacks: &[StackThen]) -> String {
    let Some(first) = stacks.first() else { return String::new() };
    let common = |slot: &usize| is_common(stacks, *slot);
    named(kinds, first, (0..first.parts.len()).filter(common)).join(", ")
}

/// The parts by which a stack differs from the others.
fn differing(kinds: Kinds, stacks: &[StackThen], stack: &StackThen) -> String {
    let own = |slot: &usize| !is_common(stacks, *slot);
    named(kinds, stack, (0..stack.parts.len()).filter(own)).join(" + ")
}

fn named(kinds: Kinds, stack: &StackThen, slots: impl Iterator<Item = usize>) -> Vec<String> {
    let filled = slots.filter(|slot| !stack.parts[*slot].is_empty());
    filled.map(|slot| format!("{} {}", kinds.slot_key(slot), stack.parts[slot].join("|"))).collect()
}

/// Answers in JSON without the answers themselves.
pub fn list_json(kept: &[KeptAnswer]) -> String {
    json::text(&kept.iter().map(Head::of).collect::<Vec<_>>())
}

/// An answer in JSON with what it was an answer to.
pub fn show_json(kept: &KeptAnswer) -> String {
    #[derive(Serialize)]
    struct Whole<'a> {
        #[serde(flatten)]
        head: Head<'a>,
        job_then: serde_json::Map<String, serde_json::Value>,
        house_then: serde_json::Map<String, serde_json::Value>,
        answer: Option<&'a RawValue>,
    }
    let map = |pairs: &[(String, String)]| {
        pairs.iter().map(|(key, value)| (key.clone(), value.as_str().into())).collect()
    };
    json::text(&Whole {
        head: Head::of(kept),
        job_then: map(&kept.job_then),
        house_then: map(&kept.house_then),
        answer: serde_json::from_str(&kept.answer).ok(),
    })
}

/// What an answer is called, what it is an answer to, and who kept it when.
#[derive(Serialize)]
struct Head<'a> {
    name: &'a str,
    job: &'a str,
    #[serde(flatten)]
    stamp: StampRow<'a>,
}

impl<'a> Head<'a> {
    fn of(kept: &'a KeptAnswer) -> Self {
        Self { name: &kept.name, job: &kept.job, stamp: StampRow::of(&kept.stamp) }
    }
}
