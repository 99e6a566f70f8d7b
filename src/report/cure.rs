//! What is wrong with a job and the smallest changes that put it right.

use itertools::Itertools as _;

use super::columns::{Column, table as columns_table};
use super::page::{Grid, Page};
use super::recommend::{consequences, premises, ranked, title};
use super::units::Units;
use super::{View, aside, cells, measuring, sentences, travel};
use crate::model::length::Length;
use crate::model::words::{count, list};
use crate::stack::answer::{Cure, LookFor, Remedy, Trouble};
use crate::stack::caution::Caution;
use crate::stack::choice::Setup;
use crate::stack::shown::Shown;

/// One job in full.
pub fn table(setup: &Setup<'_>, cure: &Cure<Shown<'_>>, view: View) -> String {
    let say = Units::One(view.unit);
    let mut page = Page::new(view.width);
    let now = &cure.now.fit;
    page.line(sentences::trouble(setup, now, &cure.trouble, say));
    if let Some(line) = best(setup, cure, say) {
        page.line(line);
    }
    if let Some(line) = faces_of_best(cure) {
        page.line(line);
    }
    premises(&mut page, setup, now, say);
    before_anything(&mut page, cure, say);
    page.gap();
    page.line(title(setup));
    page.line(format!(
        "Today: preload {}, wear reserve {}; {}.",
        say.length(now.preload),
        say.length(now.reserve),
        now.grade.word()
    ));
    if let Some(details) = &cure.now.details {
        travel::line(&mut page, &details.travel, view, "");
    }
    if let Some(Shown { fit: worn, .. }) = &cure.as_it_stands {
        page.line(format!(
            "That is with a new disc. With the disc as worn as it is: preload {}, wear reserve {}; {}.",
            say.length(worn.preload),
            say.length(worn.reserve),
            worn.grade.word()
        ));
    }
    for caution in &cure.now.cautions {
        page.line(format!("Caution: {}.", sentences::caution(caution, say)));
    }
    if !cure.remedies.is_empty() {
        page.gap();
        let rows = cure.remedies.iter().map(|remedy| (words(setup, remedy, say), &remedy.fit));
        ranked(&mut page, setup, view, "change", rows.collect());
        for (index, remedy) in cure.remedies.iter().enumerate() {
            if remedy.fit.details.is_some() {
                page.gap();
                let change = words(setup, remedy, say);
                let verdict = sentences::verdict(&remedy.fit.fit, say);
                page.hanging(&format!("{}. ", index + 1), format!("{change}. {verdict}"));
                consequences(&mut page, setup, &remedy.fit, view, "   ");
            }
        }
        page.gap();
        let job = &setup.job.id;
        let with = sentences::with_flags(setup, &cure.remedies[0].fit.fit);
        page.line(format!("Row 1 term by term: `bellstack fit {job}{with}`."));
        page.line(format!("Put it on the job: `bellstack job take {job} --cure 1`."));
    }
    look_for(&mut page, setup, cure, view);
    if let Some(why) = &cure.forbidden
        && !matches!(cure.trouble, Trouble::EmptyWindow(_))
    {
        page.gap();
        let why = sentences::forbidden(setup.library.kinds, why, say);
        page.line(format!("No single dimension can cure it: {why}"));
    }
    page.gap();
    if let Some(line) = sentences::left_out(&cure.left_out) {
        page.line(line);
    }
    if let Some(line) = aside::in_library(setup) {
        page.line(line);
    }
    let shown = cure.remedies.iter().filter(|remedy| remedy.fit.details.is_some());
    if let Some(line) = sentences::unchecked(shown.flat_map(|remedy| &remedy.fit.fit.checks)) {
        page.line(line);
    }
    page.gap();
    page.line(sentences::SAFETY);
    page.finish()
}

/// What is to be settled before anything is changed: for a job that is not certain the measurement
/// that would do most.
fn before_anything(page: &mut Page, cure: &Cure<Shown<'_>>, say: Units) {
    if let Some(next) = cure.now.details.as_ref().and_then(|details| details.next.as_ref()) {
        let next = measuring::next_words(next, say.unit());
        page.line(format!("Before any change: {next}."));
    }
}

/// A remedy's changes in words.
pub(super) fn words(setup: &Setup<'_>, remedy: &Remedy<Shown<'_>>, say: Units) -> String {
    let kinds = setup.library.kinds;
    remedy.changes.iter().map(|change| sentences::change(kinds, change, say)).join("; ")
}

/// What the smallest change is, or that there is none.
pub(super) fn best(setup: &Setup<'_>, cure: &Cure<Shown<'_>>, say: Units) -> Option<String> {
    if cure.trouble == Trouble::Nothing {
        return None;
    }
    Some(match smallest(cure) {
        Some(remedy) => format!(
            "The smallest change that puts it right: {} ({}, {} of room).",
            words(setup, remedy, say),
            remedy.fit.fit.grade.word(),
            say.length(remedy.fit.fit.room)
        ),
        None if cure.remedies.is_empty() => {
            "Nothing better was found, neither with one change nor with two.".into()
        }
        None if cure.remedies.iter().all(|remedy| remedy.fit.fit.fails()) => {
            "No change puts it right: each of those below fails a check.".into()
        }
        None => "No change puts it right for certain: each of those below fails a check or is not \
                 in its window as computed."
            .into(),
    })
}

/// Which mating faces of the smallest change's stack nobody has verified; none where all are.
pub(super) fn faces_of_best(cure: &Cure<Shown<'_>>) -> Option<String> {
    smallest(cure).and_then(|remedy| sentences::unverified(&remedy.fit.fit))
}

/// The first change that lands in the window and fails no check.
fn smallest<'c, 'a>(cure: &'c Cure<Shown<'a>>) -> Option<&'c Remedy<Shown<'a>>> {
    cure.remedies.iter().find(|remedy| remedy.fit.fit.holds())
}

/// The dimensions to look for.
pub(super) fn look_for(page: &mut Page, setup: &Setup<'_>, cure: &Cure<Shown<'_>>, view: View) {
    if cure.look_for.is_empty() || cure.trouble == Trouble::Nothing {
        return;
    }
    page.gap();
    page.line(LOOK_FOR);
    if cure.look_for.iter().any(|row| row.found.is_some()) {
        page.grid(look_for_grid(setup, cure, view));
    }
    for line in differences(setup, cure, view) {
        page.hanging("  ", line);
    }
    let kinds = setup.library.kinds;
    let named = cure.look_for.iter().filter(|row| !row.known_parts().is_empty());
    // Of a part with two dimensions in the sum both rows have the same parts.
    for row in named.dedup_by(|a, b| a.slot == b.slot) {
        let slot = kinds.slot_key(row.slot);
        page.hanging("  ", format!("{slot} in the catalog: {}", list(row.known_parts(), NAMED)));
    }
}

/// How many parts in a range are named in a table.
const NAMED: usize = 8;

/// What stands above the dimensions to look for.
pub(super) const LOOK_FOR: &str =
    "Dimensions to look for (each would put the job in its window if only that part changed):";

/// The dimensions to look for, row by row as the cure has them.
pub(super) fn look_for_grid(setup: &Setup<'_>, cure: &Cure<Shown<'_>>, view: View) -> Grid {
    let unit = view.unit.name();
    let mut grid = Grid::new([
        "slot".to_string(),
        "dimension".into(),
        format!(">today\n{unit}"),
        format!(">at least\n{unit}"),
        format!(">at most\n{unit}"),
        ">in the\ncatalog".into(),
    ]);
    let open =
        |end: Option<Length>| end.map_or_else(|| "-".into(), |end| end.digits(view.unit, false));
    for row in &cure.look_for {
        let (Some((today, range)), slot) = (row.found, setup.library.kinds.slot_key(row.slot))
        else {
            continue;
        };
        grid.row([
            slot.to_string(),
            row.dimension.into(),
            today.digits(view.unit, false),
            open(range.from),
            open(range.to),
            row.parts.as_ref().map_or_else(|| "-".into(), |parts| parts.len().to_string()),
        ]);
    }
    grid
}

/// By how much a dimension that nobody knows today would have to differ, a line each.
pub(super) fn differences(setup: &Setup<'_>, cure: &Cure<Shown<'_>>, view: View) -> Vec<String> {
    let say = Units::One(view.unit);
    let unknown = cure.look_for.iter().filter(|row| row.found.is_none());
    let line = |row: &LookFor| {
        let slot = setup.library.kinds.slot_key(row.slot);
        let by = sentences::differs(row.dimension, row.by, say);
        format!("{slot} {}: {by} than today's, whatever that is", row.dimension)
    };
    unknown.map(line).collect()
}

/// A job with its cure: one row of a desk's day.
type JobCure<'a> = (Setup<'a>, Cure<Shown<'a>>);

/// Many jobs, one row each: a desk's day.
pub fn brief(cures: &[(Setup<'_>, Cure<Shown<'_>>)], view: View) -> String {
    let say = Units::One(view.unit);
    let mut page = Page::new(view.width);
    let well = cures.iter().filter(|(_, cure)| cure.trouble == Trouble::Nothing).count();
    let changed = cures.iter().filter(|(_, cure)| smallest(cure).is_some()).count();
    page.line(format!(
        "{}: nothing wrong with {well}, a change found for {changed}, none found for {}.",
        count(cures.len() as u128, "job"),
        cures.len() - well - changed
    ));
    page.gap();
    let unit = view.unit.name();
    let currency = cures.first().map_or("", |(setup, _)| &setup.library.house.currency);
    let then = |of: fn(&Shown<'_>) -> String| {
        move |(_, cure): &JobCure<'_>| smallest(cure).map_or_else(|| "-".into(), |one| of(&one.fit))
    };
    let columns = [
        Column::of("job", |(setup, _): &JobCure<'_>| setup.job.id.clone()),
        Column::of("today", |(_, cure): &JobCure<'_>| cells::grade(&cure.now.fit)),
        Column::of("what is wrong", |(_, cure): &JobCure<'_>| short(&cure.trouble, say)),
        Column::of("smallest change", |(setup, cure): &JobCure<'_>| {
            let none = if cure.trouble == Trouble::Nothing { "-" } else { "none found" };
            smallest(cure).map_or_else(|| none.into(), |remedy| words(setup, remedy, say))
        }),
        Column::of("then", then(|shown| cells::grade(&shown.fit))),
        Column::number(format!("room\n{unit}"), move |(_, cure): &JobCure<'_>| {
            let room = smallest(cure).map(|remedy| remedy.fit.fit.room);
            room.map_or_else(|| "-".into(), |room| room.digits(view.unit, false))
        }),
        Column::number(format!("to buy\n{currency}"), then(|shown| cells::to_buy(&shown.fit))),
    ];
    columns_table(&mut page, &columns, cures);
    let then = cures.iter().filter_map(|(_, cure)| smallest(cure)).map(|one| one.fit.fit.grade);
    page.line(sentences::legend(then.chain(cures.iter().map(|(_, cure)| cure.now.fit.grade))));
    let marked = |(_, cure): &JobCure<'_>| {
        let then = smallest(cure).map(|remedy| &remedy.fit.fit);
        cells::is_marked(&cure.now.fit) || then.is_some_and(cells::is_marked)
    };
    if cures.iter().any(marked) {
        page.line("! rests on two ways to a length that disagree: `bellstack fit JOB` shows them");
    }
    for (setup, cure) in cures {
        let named = cure
            .now
            .cautions
            .iter()
            .filter(|one| matches!(one, Caution::Retired(_) | Caution::Gone(_)));
        let named = named.map(|one| sentences::caution(one, say)).join("; ");
        if !named.is_empty() {
            page.line(format!("{}: {named}.", setup.job.id));
        }
    }
    page.gap();
    page.line("`bellstack cure JOB` shows one job in full.");
    page.gap();
    page.line(sentences::SAFETY);
    page.finish()
}

/// What is wrong, in a few words.
pub(super) fn short(trouble: &Trouble, say: Units) -> String {
    match trouble {
        Trouble::Nothing => "nothing".into(),
        Trouble::TooTight { by, .. } => format!("too tight by {}", say.length(*by)),
        Trouble::TooLoose { by, .. } => format!("too loose by {}", say.length(*by)),
        Trouble::EmptyWindow(_) => "bearing travel".into(),
        Trouble::NotCertain => "not certain".into(),
        Trouble::FailsCheck(name) => format!("fails {name}"),
    }
}
