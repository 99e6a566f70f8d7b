//! What is wrong with a job and the smallest changes that put it right.

use super::page::{Grid, Page};
use super::recommend::{consequences, ranked, title};
use super::spoken::Spoken;
use super::{View, cells, sentences};
use crate::model::length::Length;
use crate::model::words::count;
use crate::stack::answer::{Cure, Remedy, Trouble};
use crate::stack::choice::Bench;
use crate::stack::crosscheck::Agreement;
use crate::stack::nextstep::next_step;

/// Of how many remedies the details are shown.
const DETAILED: usize = 3;

/// One job in full.
pub fn table(bench: &Bench<'_>, cure: &Cure<'_>, view: View) -> String {
    let say = Spoken::In(view.unit);
    let mut page = Page::new(view.width);
    page.line(sentences::trouble(bench, &cure.now, &cure.trouble, say));
    before_anything(&mut page, bench, cure, say);
    if let Some(line) = best(bench, cure, say) {
        page.line(line);
    }
    page.gap();
    page.line(title(bench));
    page.line(format!(
        "Today: preload {}, wear reserve {}; {}.",
        say.length(cure.now.preload),
        say.length(cure.now.reserve),
        cure.now.grade.word()
    ));
    if let Some(now) = &cure.as_it_stands {
        page.line(format!(
            "That is with a new disc. With the disc as worn as it is: preload {}, wear reserve {}; {}.",
            say.length(now.preload),
            say.length(now.reserve),
            now.grade.word()
        ));
    }
    if !cure.remedies.is_empty() {
        page.gap();
        remedies(&mut page, bench, cure, view);
        for (index, remedy) in cure.remedies.iter().take(DETAILED).enumerate() {
            page.gap();
            let change = words(bench, remedy, say);
            page.hanging(
                &format!("{}. ", index + 1),
                format!("{change}. {}", sentences::verdict(&remedy.fit, say)),
            );
            consequences(&mut page, bench, &remedy.fit, say, "   ");
        }
    }
    look_for(&mut page, bench, cure, view);
    if let Some(why) = &cure.forbidden
        && !matches!(cure.trouble, Trouble::EmptyWindow(_))
    {
        page.gap();
        let why = sentences::forbidden(bench.library.kinds, why, say);
        page.line(format!("No single dimension can cure it: {why}"));
    }
    page.gap();
    if let Some(line) = sentences::left_out(&cure.left_out) {
        page.line(line);
    }
    let shown = cure.remedies.iter().take(DETAILED).map(|remedy| &remedy.fit);
    if let Some(line) = sentences::unchecked(shown.flat_map(|fit| &fit.checks)) {
        page.line(line);
    }
    page.gap();
    page.line(sentences::SAFETY);
    page.finish()
}

/// What is to be settled before anything is changed: readings that contradict, and for a job that
/// is not certain the measurement that would do most.
fn before_anything(page: &mut Page, bench: &Bench<'_>, cure: &Cure<'_>, say: Spoken) {
    let checks = cure.now.cross_checks(bench);
    let apart: Vec<String> = checks
        .iter()
        .filter(|check| check.agreement != Agreement::Agree)
        .map(|check| format!("{} by {}", check.length, say.length(check.difference().abs())))
        .collect();
    if !apart.is_empty() {
        page.line(format!(
            "Two ways to the same length disagree ({}): `bellstack fit {}` shows the cross-check, \
             see it first.",
            apart.join(", "),
            bench.job.id
        ));
    }
    if let Some(step) = next_step(&cure.now) {
        page.line(format!("Before any change: {}.", sentences::next_step(&step, say)));
    }
}

/// A remedy's changes in words.
fn words(bench: &Bench<'_>, remedy: &Remedy<'_>, say: Spoken) -> String {
    let kinds = bench.library.kinds;
    let each = remedy.changes.iter().map(|change| sentences::change(kinds, change, say));
    each.collect::<Vec<_>>().join("; ")
}

fn best(bench: &Bench<'_>, cure: &Cure<'_>, say: Spoken) -> Option<String> {
    if cure.trouble == Trouble::Nothing {
        return None;
    }
    let looked = count(cure.considered, "single change");
    Some(match smallest(cure) {
        Some(remedy) => format!(
            "The smallest change that puts it right: {} ({}, {} of room).",
            words(bench, remedy, say),
            remedy.fit.grade.word(),
            say.length(remedy.fit.room)
        ),
        None if cure.remedies.is_empty() => {
            format!("Nothing better was found among {looked}, nor among pairs of them.")
        }
        None if cure.remedies.iter().all(|remedy| remedy.fit.fails()) => {
            "No change puts it right: each of those below fails a check.".into()
        }
        None => "No change puts it right for certain: each of those below fails a check or is not \
                 in its window as computed."
            .into(),
    })
}

/// The first change that lands in the window and fails no check.
fn smallest<'c, 'a>(cure: &'c Cure<'a>) -> Option<&'c Remedy<'a>> {
    cure.remedies.iter().find(|remedy| remedy.fit.holds())
}

fn remedies(page: &mut Page, bench: &Bench<'_>, cure: &Cure<'_>, view: View) {
    let say = Spoken::In(view.unit);
    let rows = cure.remedies.iter().map(|remedy| (words(bench, remedy, say), &remedy.fit));
    ranked(page, bench, view, "change", rows);
}

fn look_for(page: &mut Page, bench: &Bench<'_>, cure: &Cure<'_>, view: View) {
    if cure.look_for.is_empty() || cure.trouble == Trouble::Nothing {
        return;
    }
    page.gap();
    page.line(
        "Dimensions to look for (each would put the job in its window if only that part changed):",
    );
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
        grid.row([
            bench.library.kinds.slot_key(row.slot).to_string(),
            row.dimension.into(),
            row.fitted.digits(view.unit, false),
            open(row.range.from),
            open(row.range.to),
            row.in_catalog.to_string(),
        ]);
    }
    page.grid(grid);
}

/// Many jobs, one row each: a desk's day.
pub fn brief(cures: &[(Bench<'_>, Cure<'_>)], view: View) -> String {
    let say = Spoken::In(view.unit);
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
    let mut grid = Grid::new([
        "job".to_string(),
        "today".into(),
        "what is wrong".into(),
        "smallest change".into(),
        "then".into(),
        format!(">room\n{unit}"),
        format!(
            ">to buy\n{}",
            cures.first().map_or("", |(bench, _)| &bench.library.house.currency)
        ),
    ]);
    for (bench, cure) in cures {
        let first = smallest(cure);
        let fit = first.map(|remedy| &remedy.fit);
        let none = || if cure.trouble == Trouble::Nothing { "-" } else { "none found" }.to_string();
        grid.row([
            bench.job.id.clone(),
            cure.now.grade.word().into(),
            short(cure, say),
            first.map_or_else(none, |remedy| words(bench, remedy, say)),
            fit.map_or("-", |fit| fit.grade.word()).into(),
            fit.map_or_else(|| "-".into(), |fit| fit.room.digits(view.unit, false)),
            fit.map_or_else(|| "-".into(), cells::to_buy),
        ]);
    }
    page.grid(grid);
    page.gap();
    page.line("`bellstack cure JOB` shows one job in full.");
    page.gap();
    page.line(sentences::SAFETY);
    page.finish()
}

/// What is wrong, in a few words.
fn short(cure: &Cure<'_>, say: Spoken) -> String {
    match &cure.trouble {
        Trouble::Nothing => "nothing".into(),
        Trouble::TooTight { by, .. } => format!("too tight by {}", say.length(*by)),
        Trouble::TooLoose { by, .. } => format!("too loose by {}", say.length(*by)),
        Trouble::EmptyWindow(_) => "bearing travel".into(),
        Trouble::NotCertain => "not certain".into(),
        Trouble::FailsCheck(name) => format!("fails {name}"),
    }
}
