//! A ranking as a table.

use itertools::Itertools as _;

use super::columns::{Column, table as columns_table};
use super::page::{Grid, Page};
use super::units::{Units, capital};
use super::{View, aside, cells, measuring, sentences, travel};
use crate::model::words::grouped;
use crate::stack::answer::Answer;
use crate::stack::choice::Setup;
use crate::stack::fit::Fit;
use crate::stack::shown::Shown;

/// A ranking: the answer, the table, the details of the first few, what was left out.
pub fn table(setup: &Setup<'_>, answer: &Answer<Shown<'_>>, view: View) -> String {
    let say = Units::One(view.unit);
    let mut page = Page::new(view.width);
    let shown = if answer.stacks.is_empty() { &answer.nearest } else { &answer.stacks };
    page.line(opening(answer, say));
    if let Some(forbidden) = &answer.forbidden {
        let why = sentences::forbidden(setup.library.kinds, forbidden, say);
        page.line(format!("What stands in the way: {why}"));
    }
    if let Some(best) = shown.first() {
        premises(&mut page, setup, &best.fit, say);
    }
    page.gap();
    page.line(title(setup));
    if !shown.is_empty() {
        let stays = cells::unchanged(setup, shown.iter().map(|shown| &shown.fit));
        if !stays.is_empty() {
            page.line(format!("In every row: {stays}"));
        }
        page.gap();
        if answer.stacks.is_empty() {
            page.line("The nearest:");
        }
        let rows = shown.iter().map(|shown| (cells::chosen(setup, &shown.fit, say), shown));
        ranked(&mut page, setup, view, "parts", rows.collect());
        for (index, shown) in shown.iter().enumerate() {
            if shown.details.is_some() {
                page.gap();
                let verdict = sentences::verdict(&shown.fit, say);
                let lead = format!("{}. ", index + 1);
                let parts = cells::chosen(setup, &shown.fit, say);
                page.hanging(&lead, format!("{parts}: {verdict}"));
                consequences(&mut page, setup, shown, view, "   ");
            }
        }
        page.gap();
        if !answer.stacks.is_empty() {
            let job = &setup.job.id;
            let with = sentences::with_flags(setup, &shown[0].fit);
            page.line(format!("Row 1 term by term: `bellstack fit {job}{with}`."));
            page.line(format!("Put it on the job: `bellstack job take {job} --row 1`."));
            page.gap();
        }
    }
    if !answer.sieves.is_empty() {
        sieves(&mut page, setup, answer);
    }
    if let Some(line) = sentences::left_out(&answer.left_out) {
        page.line(line);
    }
    if let Some(line) = aside::in_library(setup) {
        page.line(line);
    }
    let detailed = shown.iter().filter(|shown| shown.details.is_some());
    if let Some(line) = sentences::unchecked(detailed.flat_map(|shown| &shown.fit.checks)) {
        page.line(line);
    }
    page.gap();
    page.line(sentences::SAFETY);
    page.finish()
}

/// The job's description with its name.
pub(super) fn title(setup: &Setup<'_>) -> String {
    let job = setup.job;
    if job.description.is_empty() {
        format!("Job {}", job.id)
    } else {
        format!("Job {}: {}", job.id, job.description)
    }
}

/// How many combinations land, and how good the best one is.
pub(super) fn opening(answer: &Answer<Shown<'_>>, say: Units) -> String {
    let counted = match (answer.in_window, answer.considered) {
        (Some(in_window), Some(considered)) => {
            let land = if in_window == 1 { "lands" } else { "land" };
            let (in_window, considered) = (grouped(in_window), grouped(considered));
            format!("{in_window} of {considered} combinations {land} in the window")
        }
        (None, Some(considered)) => {
            let considered = grouped(considered);
            format!(
                "{considered} combinations, too many to count those in the window (narrow the question \
                 with `--on-hand`, `--only` or `--keep`)"
            )
        }
        _ if answer.stacks.is_empty() => {
            "No combination that was asked for lands in the window".into()
        }
        _ => "Combinations were not counted".into(),
    };
    match answer.stacks.first().map(|best| &best.fit) {
        Some(best) => {
            let fails = cells::failed(best);
            let fails = if fails.is_empty() {
                String::new()
            } else {
                format!(", but fails {}", fails.join(", "))
            };
            let room = say.length(best.room);
            format!("{counted}; the best is {} with {room} of room{fails}.", best.grade.word())
        }
        None if answer.in_window.is_some_and(|count| count > 0) => {
            format!("{counted}, but none of them is what was asked for.")
        }
        None => format!("{counted}."),
    }
}

/// What an answer rests on and does not show in its numbers: parts that nobody knows, faces that
/// nobody has looked at, readings that disagree.
pub(super) fn premises(page: &mut Page, setup: &Setup<'_>, fit: &Fit<'_>, say: Units) {
    let job = &setup.job.id;
    let ways = (
        "; `--open SLOT` searches it".to_string(),
        format!("see the cross-checks of `bellstack fit {job}` first"),
    );
    premises_with(page, setup, fit, say, ways);
}

/// The same with what to do about parts that nobody knows, and about readings that disagree.
pub(super) fn premises_with(
    page: &mut Page,
    setup: &Setup<'_>,
    fit: &Fit<'_>,
    say: Units,
    (open, cross_checks): (String, String),
) {
    let kinds = setup.library.kinds;
    let on_bench = fit.on_bench().map(|slot| kinds.slot_key(slot)).join(", ");
    if !on_bench.is_empty() {
        page.line(format!("As on the bench: {on_bench}{open}."));
    }
    // A car as it stands is bolted together.
    if let Some(faces) = sentences::unverified(fit).filter(|_| !fit.changed.is_empty()) {
        page.line(faces);
    }
    let apart = setup.cross_checks().apart().into_iter();
    let apart = apart
        .map(|check| format!("{} by {}", check.length(), say.length(check.difference().abs())));
    let apart = apart.unique().join(", ");
    if !apart.is_empty() {
        page.line(format!("Two ways to the same length disagree ({apart}): {cross_checks}."));
    }
}

/// What became of each slot's parts.
fn sieves(page: &mut Page, setup: &Setup<'_>, answer: &Answer<Shown<'_>>) {
    let mut grid = Grid::new(["slot", ">parts", "removed", ">left", ">ways to fill it"]);
    for sieve in &answer.sieves {
        let removed = sieve.removed.iter().map(|(why, parts)| format!("{parts} {}", why.words()));
        let removed = removed.collect::<Vec<_>>().join(", ");
        grid.row([
            setup.library.kinds.slot_key(sieve.slot).to_string(),
            sieve.parts.to_string(),
            if removed.is_empty() { "none".into() } else { removed },
            sieve.left().to_string(),
            sieve.fills.to_string(),
        ]);
    }
    page.line("What became of each slot's parts:");
    page.grid(grid);
    page.gap();
}

/// A row of a ranking: its place, the words that make it another one than its neighbours, the stack.
struct RankedRow<'f, 'a> {
    place: usize,
    words: String,
    shown: &'f Shown<'a>,
}

/// The table of a ranking: `what` heads the column that makes each stack another one than the others.
pub(super) fn ranked(
    page: &mut Page,
    setup: &Setup<'_>,
    view: View,
    what: &str,
    rows: Vec<(String, &Shown<'_>)>,
) {
    let unit = view.unit.name();
    let currency = &setup.library.house.currency;
    let rows: Vec<RankedRow<'_, '_>> = rows
        .into_iter()
        .enumerate()
        .map(|(index, (words, shown))| RankedRow { place: index + 1, words, shown })
        .collect();
    let length = |head: &str, of: fn(&Fit<'_>) -> crate::model::length::Length| {
        Column::number(format!("{head}\n{unit}"), move |row: &RankedRow<'_, '_>| {
            of(&row.shown.fit).digits(view.unit, false)
        })
    };
    let columns = [
        Column::number("#", |row: &RankedRow<'_, '_>| row.place.to_string()),
        Column::of("grade", |row: &RankedRow<'_, '_>| cells::grade(&row.shown.fit)),
        Column::of(what, |row: &RankedRow<'_, '_>| row.words.clone()),
        length("preload", |fit| fit.preload),
        length("reserve", |fit| fit.reserve),
        length("room", |fit| fit.room),
        Column::number("chance", |row: &RankedRow<'_, '_>| cells::chance(&row.shown.chance)),
        Column::number(format!("to buy\n{currency}"), |row: &RankedRow<'_, '_>| {
            cells::to_buy(&row.shown.fit)
        }),
        Column::of("checks", |row: &RankedRow<'_, '_>| cells::checks(&row.shown.fit)),
    ];
    columns_table(page, &columns, &rows);
    page.line(sentences::legend(rows.iter().map(|row| row.shown.fit.grade)));
    if rows.iter().any(|row| cells::is_marked(&row.shown.fit)) {
        page.line("! rests on two ways to a length that disagree");
    }
    if rows.iter().any(|row| !cells::conditions(&row.shown.chance).is_empty()) {
        let conditions = rows.iter().flat_map(|row| cells::conditions(&row.shown.chance));
        let conditions = conditions.map(|one| one.words()).unique().join("; ");
        page.line(format!("? a chance that holds only if: {conditions}"));
    }
}

/// Travel bar, cautions, window, wear, gearbox and what to do next.
pub(super) fn consequences(
    page: &mut Page,
    setup: &Setup<'_>,
    shown: &Shown<'_>,
    view: View,
    lead: &str,
) {
    let say = Units::One(view.unit);
    if let Some(details) = &shown.details {
        travel::line(page, &details.travel, view, lead);
    }
    aftermath(page, setup, shown, say, lead);
    page.hanging(lead, format!("Window: {}.", sentences::edges(&shown.fit, say)));
    next(page, shown, say, lead);
}

/// What somebody who builds it has to know first, then wear and gearbox.
pub(super) fn aftermath(
    page: &mut Page,
    setup: &Setup<'_>,
    shown: &Shown<'_>,
    say: Units,
    lead: &str,
) {
    let fit = &shown.fit;
    for caution in &shown.cautions {
        page.hanging(lead, format!("Caution: {}.", sentences::caution(caution, say)));
    }
    for check in fit.checks.iter().filter(|check| check.failed()) {
        page.hanging(lead, format!("Fails {}: {}.", check.name, sentences::note(check, say)));
    }
    page.hanging(lead, consequence(setup, fit, say));
}

/// What the reserve is good for, and where the gearbox goes.
pub(super) fn consequence(setup: &Setup<'_>, fit: &Fit<'_>, say: Units) -> String {
    let (wear, moved) = (sentences::wear(fit, say), sentences::gearbox_move(setup, fit, say));
    capital(&format!("{wear}; {moved}."))
}

/// What would do most for a stack.
pub(super) fn next(page: &mut Page, shown: &Shown<'_>, say: Units, lead: &str) {
    if let Some(next) = shown.details.as_ref().and_then(|details| details.next.as_ref()) {
        page.hanging(lead, format!("Next: {}.", measuring::next_words(next, say.unit())));
    }
}
