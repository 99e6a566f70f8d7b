//! A ranking as a table.

use super::page::{Grid, Page};
use super::spoken::{Spoken, capital};
use super::{View, cells, sentences};
use crate::model::length::Unit;
use crate::stack::answer::Answer;
use crate::stack::choice::Setup;
use crate::stack::fit::Fit;
use crate::stack::measuring;
use crate::stack::odds::chance_of;

/// Of how many stacks the details are shown.
const DETAILED: usize = 3;

/// A ranking: the answer, the table, the details of the first few, what was left out.
pub fn table(setup: &Setup<'_>, answer: &Answer<'_>, view: View) -> String {
    let say = Spoken::In(view.unit);
    let mut page = Page::new(view.width);
    page.line(opening(answer, say));
    if let Some(forbidden) = &answer.forbidden {
        let why = sentences::forbidden(setup.library.kinds, forbidden, say);
        page.line(format!("What stands in the way: {why}"));
    }
    page.gap();
    page.line(title(setup));
    let shown = if answer.stacks.is_empty() { &answer.nearest } else { &answer.stacks };
    if !shown.is_empty() {
        let stays = cells::unchanged(setup, shown);
        if !stays.is_empty() {
            page.line(format!("In every row: {stays}"));
        }
        page.gap();
        if answer.stacks.is_empty() {
            page.line("The nearest:");
        }
        ranking(&mut page, setup, shown, view);
        for (index, fit) in shown.iter().take(DETAILED).enumerate() {
            page.gap();
            details(&mut page, setup, index + 1, fit, say);
        }
        page.gap();
    }
    if !answer.sieves.is_empty() {
        sieves(&mut page, setup, answer);
    }
    if let Some(line) = sentences::left_out(&answer.left_out) {
        page.line(line);
    }
    let checks = shown.iter().take(DETAILED).flat_map(|fit| &fit.checks);
    if let Some(line) = sentences::unchecked(checks) {
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

fn opening(answer: &Answer<'_>, say: Spoken) -> String {
    let counted = match (answer.in_window, answer.considered) {
        (Some(in_window), Some(considered)) => {
            let land = if in_window == 1 { "lands" } else { "land" };
            format!("{in_window} of {considered} combinations {land} in the window")
        }
        _ if answer.stacks.is_empty() => {
            "No combination that was asked for lands in the window".into()
        }
        _ => "Combinations were not counted".into(),
    };
    match answer.stacks.first() {
        Some(best) => {
            let fails = sentences::failed(best);
            let fails = if fails.is_empty() {
                String::new()
            } else {
                format!(", but fails {}", fails.join(", "))
            };
            format!(
                "{counted}; the best is {} with {} of room{fails}.",
                best.grade.word(),
                say.length(best.room)
            )
        }
        None if answer.in_window.is_some_and(|count| count > 0) => {
            format!("{counted}, but none of them is what was asked for.")
        }
        None => format!("{counted}."),
    }
}

/// What became of each slot's parts.
fn sieves(page: &mut Page, setup: &Setup<'_>, answer: &Answer<'_>) {
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

fn ranking(page: &mut Page, setup: &Setup<'_>, fits: &[Fit<'_>], view: View) {
    let say = Spoken::In(view.unit);
    let rows = fits.iter().map(|fit| (cells::chosen(setup, fit, say), fit));
    ranked(page, setup, view, "parts", rows);
}

/// The table of a ranking: `what` heads the column that tells each stack from the others.
pub(super) fn ranked<'f, 'a: 'f>(
    page: &mut Page,
    setup: &Setup<'_>,
    view: View,
    what: &str,
    rows: impl Iterator<Item = (String, &'f Fit<'a>)>,
) {
    let unit = view.unit.name();
    let currency = &setup.library.house.currency;
    let mut grid = Grid::new([
        ">#".to_string(),
        "grade".into(),
        what.into(),
        format!(">preload\n{unit}"),
        format!(">reserve\n{unit}"),
        format!(">room\n{unit}"),
        ">chance".into(),
        format!(">to buy\n{currency}"),
        "checks".into(),
    ]);
    for (index, (told, fit)) in rows.enumerate() {
        grid.row([
            (index + 1).to_string(),
            fit.grade.word().into(),
            told,
            fit.preload.digits(view.unit, false),
            fit.reserve.digits(view.unit, false),
            fit.room.digits(view.unit, false),
            cells::chance(&chance_of(fit)),
            cells::to_buy(fit),
            cells::checks(fit),
        ]);
    }
    page.grid(grid);
}

/// What is to be known of one stack beside its numbers.
pub(super) fn details(page: &mut Page, setup: &Setup<'_>, rank: usize, fit: &Fit<'_>, say: Spoken) {
    let lead = format!("{rank}. ");
    page.hanging(
        &lead,
        format!("{}: {}", cells::chosen(setup, fit, say), sentences::verdict(fit, say)),
    );
    consequences(page, setup, fit, say, "   ");
}

/// Window, wear, gearbox, cautions and the next step.
pub(super) fn consequences(
    page: &mut Page,
    setup: &Setup<'_>,
    fit: &Fit<'_>,
    say: Spoken,
    lead: &str,
) {
    page.hanging(lead, format!("Window: {}.", sentences::edges(fit, say)));
    aftermath(page, setup, fit, say, lead);
    let unit = say.unit();
    next(page, setup, fit, unit, lead);
}

/// Wear, gearbox and cautions.
pub(super) fn aftermath(
    page: &mut Page,
    setup: &Setup<'_>,
    fit: &Fit<'_>,
    say: Spoken,
    lead: &str,
) {
    let (wear, moved) = (sentences::wear(fit, say), sentences::gearbox_move(setup, fit, say));
    page.hanging(lead, capital(&format!("{wear}; {moved}.")));
    for check in fit.checks.iter().filter(|check| check.failed()) {
        page.hanging(lead, format!("Fails {}: {}.", check.name, sentences::note(check, say)));
    }
    for caution in &fit.cautions {
        page.hanging(lead, format!("Caution: {}.", sentences::caution(caution, say)));
    }
}

/// What would do most for a stack.
pub(super) fn next(page: &mut Page, setup: &Setup<'_>, fit: &Fit<'_>, unit: Unit, lead: &str) {
    if let Some(next) = measuring::next(setup, fit) {
        page.hanging(lead, format!("Next: {}.", super::measuring::next_words(&next, unit)));
    }
}
