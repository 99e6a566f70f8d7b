//! What is wrong with a job and the smallest changes that put it right.

use super::page::{Grid, Page};
use super::recommend::{consequences, ranked, title};
use super::spoken::{Spoken, count};
use super::{View, cells, sentences};
use crate::model::length::Length;
use crate::stack::answer::{Cure, Remedy, Trouble};
use crate::stack::choice::Setup;
use crate::stack::measuring;

/// Of how many remedies the details are shown.
const DETAILED: usize = 3;

/// One job in full.
pub fn table(setup: &Setup<'_>, cure: &Cure<'_>, view: View) -> String {
    let say = Spoken::In(view.unit);
    let mut page = Page::new(view.width);
    page.line(sentences::trouble(setup, &cure.now, &cure.trouble, say));
    before_anything(&mut page, setup, cure, say);
    if let Some(line) = best(setup, cure, say) {
        page.line(line);
    }
    page.gap();
    page.line(title(setup));
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
        remedies(&mut page, setup, cure, view);
        for (index, remedy) in cure.remedies.iter().take(DETAILED).enumerate() {
            page.gap();
            let change = words(setup, remedy, say);
            page.hanging(
                &format!("{}. ", index + 1),
                format!("{change}. {}", sentences::verdict(&remedy.fit, say)),
            );
            consequences(&mut page, setup, &remedy.fit, say, "   ");
        }
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
fn before_anything(page: &mut Page, setup: &Setup<'_>, cure: &Cure<'_>, say: Spoken) {
    let apart = setup
        .cross_checks()
        .apart()
        .into_iter()
        .map(|check| format!("{} by {}", check.length(), say.length(check.difference().abs())));
    let apart: Vec<String> = apart.collect();
    if !apart.is_empty() {
        page.line(format!(
            "Two ways to the same length disagree ({}): `bellstack fit {}` shows the cross-check, \
             see it first.",
            apart.join(", "),
            setup.job.id
        ));
    }
    if let Some(next) = measuring::next(setup, &cure.now) {
        let next = super::measuring::next_words(&next, say.unit());
        page.line(format!("Before any change: {next}."));
    }
}

/// A remedy's changes in words.
fn words(setup: &Setup<'_>, remedy: &Remedy<'_>, say: Spoken) -> String {
    let kinds = setup.library.kinds;
    let each = remedy.changes.iter().map(|change| sentences::change(kinds, change, say));
    each.collect::<Vec<_>>().join("; ")
}

fn best(setup: &Setup<'_>, cure: &Cure<'_>, say: Spoken) -> Option<String> {
    if cure.trouble == Trouble::Nothing {
        return None;
    }
    let looked = count(cure.considered, "single change");
    Some(match smallest(cure) {
        Some(remedy) => format!(
            "The smallest change that puts it right: {} ({}, {} of room).",
            words(setup, remedy, say),
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

fn remedies(page: &mut Page, setup: &Setup<'_>, cure: &Cure<'_>, view: View) {
    let say = Spoken::In(view.unit);
    let rows = cure.remedies.iter().map(|remedy| (words(setup, remedy, say), &remedy.fit));
    ranked(page, setup, view, "change", rows);
}

fn look_for(page: &mut Page, setup: &Setup<'_>, cure: &Cure<'_>, view: View) {
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
            setup.library.kinds.slot_key(row.slot).to_string(),
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
pub fn brief(cures: &[(Setup<'_>, Cure<'_>)], view: View) -> String {
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
            cures.first().map_or("", |(setup, _)| &setup.library.house.currency)
        ),
    ]);
    for (setup, cure) in cures {
        let first = smallest(cure);
        let fit = first.map(|remedy| &remedy.fit);
        let none = || if cure.trouble == Trouble::Nothing { "-" } else { "none found" }.to_string();
        grid.row([
            setup.job.id.clone(),
            cure.now.grade.word().into(),
            short(cure, say),
            first.map_or_else(none, |remedy| words(setup, remedy, say)),
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
