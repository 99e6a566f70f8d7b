//! An answer that was kept beside the same stacks today.

use serde::Serialize;

use super::{Head, differing, in_every_row, opening, stack_then};
use crate::error::Error;
use crate::model::history::Event;
use crate::model::kept::{KeptAnswer, Kind, StackThen};
use crate::model::kinds::Kinds;
use crate::model::length::{Length, Unit};
use crate::report::history::{self, EventRow};
use crate::report::json::{self, L};
use crate::report::page::{Grid, Page};
use crate::report::units::Units;
use crate::report::{View, cells, sentences};
use crate::stack::choice::Setup;
use crate::stack::fit::Fit;
use crate::stack::shown::Shown;

/// A stack then, and what it is today.
#[derive(Debug)]
pub struct Today<'a> {
    /// As it was.
    pub then: StackThen,
    /// As it is, or why it cannot be told.
    pub now: Result<Fit<'a>, Error>,
}

/// An answer that was kept beside today's.
#[derive(Debug)]
pub struct Comparison<'a> {
    /// The table of kinds.
    pub kinds: Kinds,
    /// The answer.
    pub kept: &'a KeptAnswer,
    /// Its stacks, the best first.
    pub stacks: Vec<Today<'a>>,
    /// The best answer to the same question today (of a fit: the fitted stack), or why there is none.
    pub best: Result<Option<Shown<'a>>, Error>,
    /// What has changed since in the job, its parts, the house numbers and the instruments.
    pub since: Vec<Event>,
}

impl Comparison<'_> {
    /// Whether its stacks were ranked, rather than one being the fitted one.
    fn is_ranked(&self) -> bool {
        self.kept.stacks.kind != Kind::Fit
    }

    /// Whether the best stack of that day holds today.
    pub fn holds(&self) -> bool {
        self.stacks.first().is_some_and(|best| best.now.as_ref().is_ok_and(Fit::holds))
    }

    /// The place among the kept stacks of the one that is best today.
    fn place_of_best(&self) -> Option<usize> {
        let best = stack_then(self.kinds, &self.best.as_ref().ok()?.as_ref()?.fit);
        let same = |then: &StackThen| (&then.parts, then.cut) == (&best.parts, best.cut);
        self.stacks.iter().position(|stack| same(&stack.then))
    }
}

/// Then and now side by side.
pub fn table(setup: &Setup<'_>, told: &Comparison<'_>, view: View) -> String {
    let mut page = page(setup, told, view);
    page.gap();
    page.line(sentences::SAFETY);
    page.finish()
}

/// The same as a page.
pub(in crate::report) fn page(setup: &Setup<'_>, told: &Comparison<'_>, view: View) -> Page {
    let mut page = Page::new(view.width);
    let say = Units::One(view.unit);
    page.line(verdict(told, say));
    page.line(best(setup, told, say));
    page.gap();
    page.line(opening(told.kept));
    let then: Vec<StackThen> = told.stacks.iter().map(|stack| stack.then.clone()).collect();
    if !then.is_empty() {
        let common = in_every_row(setup.library.kinds, &then, view.unit);
        if !common.is_empty() {
            page.line(format!("In every row: {common}"));
        }
        page.gap();
        page.grid(grid(setup, told, &then, view.unit));
    }
    for (index, stack) in told.stacks.iter().enumerate() {
        for line in remarks(stack) {
            page.hanging(&format!("{}: ", index + 1), line);
        }
    }
    page.gap();
    if told.since.is_empty() {
        page.line(
            "Since then nothing on record has changed in the job, its parts, the house numbers or \
             the instruments.",
        );
    } else {
        page.line("Changed since then:");
        history::list(&mut page, told.kinds, &told.since, view.unit);
    }
    page
}

fn verdict(told: &Comparison<'_>, say: Units) -> String {
    let Some(best) = told.stacks.first() else {
        return "The answer then named no stack.".into();
    };
    let (grade, room) = (&best.then.grade, say.length(best.then.room));
    let stack = if told.is_ranked() { "best stack" } else { "fitted stack" };
    match &best.now {
        Err(_) => {
            format!("The {stack} then was {grade} with {room} of room; today it cannot be had.")
        }
        Ok(now) if is_as_then(told.kinds, &best.then, now) => {
            format!("The {stack} then is today what it was: {grade} with {room} of room.")
        }
        Ok(now) => format!(
            "The {stack} then was {grade} with {room} of room; today it is {} with {}.",
            now.grade.word(),
            say.length(now.room)
        ),
    }
}

fn is_as_then(kinds: Kinds, then: &StackThen, now: &Fit<'_>) -> bool {
    stack_then(kinds, now) == *then
}

fn best(setup: &Setup<'_>, told: &Comparison<'_>, say: Units) -> String {
    let found = match &told.best {
        Err(error) => return format!("The same question cannot be answered today: {error}"),
        Ok(None) => return "Today no stack is an answer to the same question.".into(),
        Ok(Some(found)) => &found.fit,
    };
    match told.place_of_best() {
        Some(_) if !told.is_ranked() => "The same parts are fitted today.".into(),
        None if !told.is_ranked() => format!(
            "Other parts are fitted today: {} with {} of room.",
            found.grade.word(),
            say.length(found.room)
        ),
        Some(place) => {
            let others = cells::others(setup, found).join(", ");
            let bought = match others.as_str() {
                "" => String::new(),
                others => format!(", with another {others} than the piece in hand"),
            };
            format!("The best today is number {} of that day{bought}.", place + 1)
        }
        None => format!(
            "The best today is none of that day: {}, {} with {} of room.",
            cells::chosen(setup, found, say),
            found.grade.word(),
            say.length(found.room)
        ),
    }
}

fn grid(setup: &Setup<'_>, told: &Comparison<'_>, then: &[StackThen], unit: Unit) -> Grid {
    let name = unit.name();
    let mut header = vec![">#".to_string(), "grade\nthen".into(), "\nnow".into()];
    for what in ["preload", "reserve", "room"] {
        header.extend([format!(">{what}\nthen, {name}"), format!(">\nnow, {name}")]);
    }
    header.push("parts".into());
    let mut grid = Grid::new(header);
    for (index, stack) in told.stacks.iter().enumerate() {
        let now = stack.now.as_ref().ok();
        let grade = now.map_or("-", |now| now.grade.word()).to_string();
        let mut row = vec![(index + 1).to_string(), stack.then.grade.clone(), grade];
        let StackThen { preload, reserve, room, .. } = stack.then;
        let lengths: [(Length, Option<Length>); 3] = [
            (preload, now.map(|now| now.preload)),
            (reserve, now.map(|now| now.reserve)),
            (room, now.map(|now| now.room)),
        ];
        for (then, now) in lengths {
            let shown = |length: Length| length.digits(unit, false);
            row.extend([shown(then), now.map_or_else(|| "-".into(), shown)]);
        }
        row.push(differing(setup.library.kinds, then, &stack.then, unit));
        grid.row(row);
    }
    grid
}

/// What numbers do not tell: why a stack cannot be had, and checks that come out otherwise.
fn remarks(stack: &Today<'_>) -> Vec<String> {
    let now = match &stack.now {
        Ok(now) => now,
        Err(error) => return vec![error.message().to_string()],
    };
    let pieces = now.choice.fills.iter().flat_map(|fill| &fill.parts);
    let pieces = pieces.filter(|part| part.piece_of.is_some()).map(|part| part.id.as_str());
    let named = |piece: &&str| !stack.then.parts.values().flatten().any(|id| id == piece);
    let in_hand: Vec<&str> = pieces.filter(named).collect();
    let (then, now) = (&stack.then.fails, cells::failed(now));
    let new = now.iter().filter(|name| !then.iter().any(|known| known == *name));
    let cured = then.iter().filter(|name| !now.contains(name));
    let new = new.map(|name| format!("fails {name} today, and did not then"));
    let cured = cured.map(|name| format!("failed {name} then, and does not today"));
    let judged = (!in_hand.is_empty())
        .then(|| format!("judged today with what lies in hand: {}", in_hand.join(", ")));
    judged.into_iter().chain(new).chain(cured).collect()
}

#[derive(Serialize)]
struct StackNumbers<'a> {
    grade: &'a str,
    preload: L,
    reserve: L,
    room: L,
    fails: Vec<String>,
}

/// Then and now as one JSON object.
pub fn json(setup: &Setup<'_>, told: &Comparison<'_>) -> String {
    #[derive(Serialize)]
    struct StackThenAndNow<'a> {
        rank: usize,
        parts: json::Ordered<&'a [String]>,
        then: StackNumbers<'a>,
        now: Option<StackNumbers<'a>>,
        why: Option<String>,
    }
    #[derive(Serialize)]
    struct ThenAndNow<'a> {
        #[serde(flatten)]
        head: Head<'a>,
        holds: bool,
        stacks: Vec<StackThenAndNow<'a>>,
        best_today: Option<json::Stack<'a>>,
        best_is: Option<usize>,
        why_no_best: Option<String>,
        since: Vec<EventRow<'a>>,
    }
    let slots = || setup.library.kinds.slots().map(|(_, slot)| slot.key);
    let ranked = told.stacks.iter().enumerate().map(|(index, stack)| StackThenAndNow {
        rank: index + 1,
        parts: json::Ordered(slots().map(|key| (key, stack.then.in_slot(key))).collect()),
        then: then(&stack.then),
        now: stack.now.as_ref().ok().map(now),
        why: stack.now.as_ref().err().map(ToString::to_string),
    });
    let best = told.best.as_ref();
    json::object(ThenAndNow {
        head: Head::of(told.kept),
        holds: told.holds(),
        stacks: ranked.collect(),
        best_today: best.ok().and_then(Option::as_ref).map(|shown| json::stack(setup, shown, None)),
        best_is: told.place_of_best().map(|place| place + 1),
        why_no_best: best.err().map(ToString::to_string),
        since: told.since.iter().map(EventRow::of).collect(),
    })
}

fn then(stack: &StackThen) -> StackNumbers<'_> {
    StackNumbers {
        grade: &stack.grade,
        preload: stack.preload.into(),
        reserve: stack.reserve.into(),
        room: stack.room.into(),
        fails: stack.fails.clone(),
    }
}

fn now<'a>(fit: &'a Fit<'_>) -> StackNumbers<'a> {
    StackNumbers {
        grade: fit.grade.word(),
        preload: fit.preload.into(),
        reserve: fit.reserve.into(),
        room: fit.room.into(),
        fails: cells::failed(fit),
    }
}
