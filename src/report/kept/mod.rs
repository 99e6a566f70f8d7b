//! Answers that were kept: as they were given, and beside those of today.

mod compare;

pub(super) use compare::page as compare_page;
pub use compare::{Comparison, Today, json as compare_json, table as compare_table};

use serde::Serialize;
use serde_json::value::RawValue;

use super::View;
use super::cells;
use super::history::{StampRow, by};
use super::json;
use super::page::{Grid, Page};
use super::shop::pair;
use crate::error::{Error, Result};
use crate::model::house::House;
use crate::model::kept::{KeptAnswer, StackThen};
use crate::model::kinds::Kinds;
use crate::model::length::{Length, Unit};
use crate::model::words::count;
use crate::stack::fit::Fit;

/// The slot of the part that can be machined.
const FLYWHEEL: &str = "flywheel";

/// A stack as it will be read back.
pub fn stack_then(kinds: Kinds, fit: &Fit<'_>) -> StackThen {
    let slots = kinds.slots().map(|(_, slot)| slot.key).zip(&fit.choice.fills);
    let filled =
        slots.map(|(key, fill)| (key.to_string(), fill.ids())).filter(|(_, ids)| !ids.is_empty());
    StackThen {
        grade: fit.grade.word().into(),
        parts: filled
            .map(|(key, ids)| (key, ids.into_iter().map(String::from).collect()))
            .collect(),
        cut: fit
            .choice
            .fills
            .iter()
            .map(|fill| fill.cut)
            .find(|cut| *cut != Length::ZERO)
            .unwrap_or(Length::ZERO),
        preload: fit.preload,
        reserve: fit.reserve,
        room: fit.room,
        fails: cells::failed(fit),
    }
}

/// A list of answers, the newest last; those that cannot be read with the reason.
pub fn list(kept: &[(String, Result<KeptAnswer>)], view: View) -> String {
    let mut page = Page::new(view.width);
    if kept.is_empty() {
        page.line("No answer is kept.");
        return page.finish();
    }
    let room = format!(">its room\n{}", view.unit.name());
    let mut grid = Grid::new(["answer", "job", "kept", "by", ">stacks", "best", &room]);
    let mut damaged = Vec::new();
    for (name, kept) in kept {
        let kept = match kept {
            Ok(kept) => kept,
            Err(error) => {
                damaged.push((name, error));
                continue;
            }
        };
        let then = &kept.stacks;
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
    if damaged.len() < kept.len() {
        page.grid(grid);
        page.gap();
    }
    for (name, error) in damaged {
        page.line(format!("{name} cannot be read: {}", error.message()));
    }
    page.line(format!("{}.", count(kept.len() as u128, "answer")));
    page.finish()
}

/// An answer as it was given, with the job and the house numbers of that day.
pub fn show(kept: &KeptAnswer, kinds: Kinds, view: View) -> String {
    let then = &kept.stacks;
    let mut page = Page::new(view.width);
    page.line(opening(kept));
    page.gap();
    if then.stacks.is_empty() {
        page.line("No stack could be named.");
    } else if !then.landed {
        page.line("Nothing landed in the window. The nearest:");
    }
    let in_every_row = in_every_row(kinds, &then.stacks, view.unit);
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
        let worded = kinds.sides(key).zip(Length::parse(value).ok());
        let worded = worded.map(|(sides, length)| sides.show(length, view.unit));
        pair(&mut page, key, worded.as_ref().unwrap_or(value));
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
    page.finish()
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
            differing(kinds, stacks, stack, unit),
            preload,
            reserve,
            room,
            stack.fails.join(", "),
        ]);
    }
    grid
}

/// Whether every stack has the same in a slot.
fn is_common(stacks: &[StackThen], slot: &str) -> bool {
    let same = |a: &StackThen, b: &StackThen| {
        a.in_slot(slot) == b.in_slot(slot) && (slot != FLYWHEEL || a.cut == b.cut)
    };
    stacks.windows(2).all(|two| same(&two[0], &two[1]))
}

/// The parts that all stacks have, with their slots.
fn in_every_row(kinds: Kinds, stacks: &[StackThen], unit: Unit) -> String {
    let Some(first) = stacks.first() else { return String::new() };
    named(kinds, first, unit, |slot| is_common(stacks, slot)).join(", ")
}

/// The parts by which a stack differs from the others.
fn differing(kinds: Kinds, stacks: &[StackThen], stack: &StackThen, unit: Unit) -> String {
    named(kinds, stack, unit, |slot| !is_common(stacks, slot)).join(" + ")
}

/// The filled slots among the wanted ones, with their parts.
fn named(
    kinds: Kinds,
    stack: &StackThen,
    unit: Unit,
    wanted: impl Fn(&str) -> bool,
) -> Vec<String> {
    let keys = kinds.slots().map(|(_, slot)| slot.key);
    let filled = keys.filter(|key| !stack.in_slot(key).is_empty() && wanted(key));
    let named = |key: &str| {
        let ids = stack.in_slot(key).join("|");
        match stack.cut {
            cut if key == FLYWHEEL && cut != Length::ZERO => {
                format!("{key} {ids} with {} machined off", cut.show(unit))
            }
            _ => format!("{key} {ids}"),
        }
    };
    filled.map(named).collect()
}

/// Answers in JSON without the answers themselves.
pub fn list_json(kept: &[(String, Result<KeptAnswer>)]) -> String {
    #[derive(Serialize)]
    #[serde(untagged)]
    enum KeptRow<'a> {
        Read(Head<'a>),
        Damaged { name: &'a str, cannot_be_read: &'a str },
    }
    let rows = kept.iter().map(|(name, kept)| match kept {
        Ok(kept) => KeptRow::Read(Head::of(kept)),
        Err(error) => KeptRow::Damaged { name, cannot_be_read: error.message() },
    });
    json::list("answers", rows)
}

/// An answer in JSON with what it was an answer to.
///
/// # Errors
///
/// A storage error where the answer itself is no JSON.
pub fn show_json(kept: &KeptAnswer) -> Result<String> {
    #[derive(Serialize)]
    struct AnswerShown<'a> {
        #[serde(flatten)]
        head: Head<'a>,
        job_then: serde_json::Map<String, serde_json::Value>,
        house_then: serde_json::Map<String, serde_json::Value>,
        answer: &'a RawValue,
    }
    let map = |pairs: &[(String, String)]| {
        pairs.iter().map(|(key, value)| (key.clone(), value.as_str().into())).collect()
    };
    let answer = serde_json::from_str(&kept.given).map_err(|error| {
        Error::storage(format!("the kept answer `{}` cannot be read: {error}", kept.name))
    })?;
    Ok(json::object(AnswerShown {
        head: Head::of(kept),
        job_then: map(&kept.job_then),
        house_then: map(&kept.house_then),
        answer,
    }))
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
