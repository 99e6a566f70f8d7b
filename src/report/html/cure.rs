//! What is wrong with a job, the changes that put it right, and what to look for.

use maud::{Markup, html};

use super::blocks::{blocks, table_with, words};
use super::state;
use crate::report::page::Page;
use crate::report::units::Units;
use crate::report::{View, aside, cells, cure as told, drawing, recommend, sentences};
use crate::stack::answer::{Answer, Cure, LookFor, Remedy, Trouble};
use crate::stack::choice::Setup;
use crate::stack::fit::Fit;
use crate::stack::picture::Travel;
use crate::stack::shown::Shown;

/// What is wrong with a job as it is fitted, in one sentence.
pub fn trouble(setup: &Setup<'_>, fit: &Fit<'_>, trouble: &Trouble, view: View) -> Markup {
    words(&sentences::trouble(setup, fit, trouble, Units::One(view.unit)))
}

/// What is wrong in a few words, for the row of a list.
pub fn trouble_short(trouble: &Trouble, view: View) -> String {
    told::short(trouble, Units::One(view.unit))
}

/// A stack that is offered, in the words that make it another one than its neighbours.
pub fn offer(setup: &Setup<'_>, words_of: &str, shown: &Shown<'_>, view: View, id: &str) -> Markup {
    let fit = &shown.fit;
    let (say, currency) = (Units::One(view.unit), &setup.library.house.currency);
    html! {
        p.change { (words(words_of)) }
        p class=(format!("grade {}", state(fit).class())) {
            strong { (cells::grade(fit)) } ", " (say.length(fit.room)) " of room, chance "
            (cells::chance(&shown.chance))
        }
        (drawing::small_bar(&Travel::of(fit), view.unit, id))
        p.note {
            "preload " (say.length(fit.preload)) ", reserve " (say.length(fit.reserve)) "; to buy "
            (cells::to_buy(fit)) " " (currency) "; " (words(&cells::checks(fit)))
        }
    }
}

/// The words of a remedy: its changes.
pub fn remedy_words(setup: &Setup<'_>, remedy: &Remedy<Shown<'_>>, view: View) -> String {
    told::words(setup, remedy, Units::One(view.unit))
}

/// The words of a stack in a ranking: its parts.
pub fn stack_words(setup: &Setup<'_>, fit: &Fit<'_>, view: View) -> String {
    cells::chosen(setup, fit, Units::One(view.unit))
}

/// What a cure says above its changes. Beside the verdict, which says it already, what is wrong is
/// left out.
pub fn cure_opening(
    setup: &Setup<'_>,
    cure: &Cure<Shown<'_>>,
    view: View,
    beside_verdict: bool,
) -> Markup {
    let say = Units::One(view.unit);
    let is_said = beside_verdict && cure.trouble != Trouble::Nothing;
    html! {
        @if !is_said { p { (words(&sentences::trouble(setup, &cure.now.fit, &cure.trouble, say))) } }
        @if let Some(line) = told::best(setup, cure, say) { p { (words(&line)) } }
        @if let Some(line) = told::faces_of_best(cure) { p { (words(&line)) } }
    }
}

/// What a cure says beneath them: dimensions to look for, what forbids one, what was left out. `find`
/// is the way to the library's parts in a range.
pub fn cure_closing(
    setup: &Setup<'_>,
    cure: &Cure<Shown<'_>>,
    view: View,
    find: impl Fn(&LookFor) -> String,
) -> Markup {
    let say = Units::One(view.unit);
    let mut page = Page::new(view.width);
    if let Some(why) = &cure.forbidden
        && !matches!(cure.trouble, Trouble::EmptyWindow(_))
    {
        let why = sentences::forbidden(setup.library.kinds, why, say);
        page.line(format!("No single dimension can cure it: {why}"));
    }
    if let Some(line) = sentences::left_out(&cure.left_out) {
        page.line(line);
    }
    if let Some(line) = aside::in_library(setup) {
        page.line(line);
    }
    let way = |row: &LookFor| {
        let slot = setup.library.kinds.slot_key(row.slot).replace('_', " ");
        (!row.known_parts().is_empty()).then(|| (find(row), format!("find the {slot}")))
    };
    let ways: Vec<_> = cure.look_for.iter().filter(|row| row.found.is_some()).map(way).collect();
    html! {
        @if !cure.look_for.is_empty() && cure.trouble != Trouble::Nothing {
            h2 { "Dimensions to look for" }
            p { (words(told::LOOK_FOR)) }
            @if !ways.is_empty() { (table_with(&told::look_for_grid(setup, cure, view), "Dimensions to look for", false, &ways)) }
            @for line in told::differences(setup, cure, view) { p { (words(&line)) } }
        }
        (blocks(&page.into_blocks(), "What was left out"))
    }
}

/// What a ranking says above its stacks.
pub fn ranking_opening(setup: &Setup<'_>, answer: &Answer<Shown<'_>>, view: View) -> Markup {
    let say = Units::One(view.unit);
    let shown = if answer.stacks.is_empty() { &answer.nearest } else { &answer.stacks };
    let mut page = Page::new(view.width);
    page.line(recommend::opening(answer, say));
    if let Some(forbidden) = &answer.forbidden {
        let why = sentences::forbidden(setup.library.kinds, forbidden, say);
        page.line(format!("What stands in the way: {why}"));
    }
    if let Some(best) = shown.first() {
        let ways = (String::new(), "see the cross-checks of the car first".to_string());
        recommend::premises_with(&mut page, setup, &best.fit, say, ways);
    }
    let stays = cells::unchanged(setup, shown.iter().map(|shown| &shown.fit));
    if !stays.is_empty() {
        page.line(format!("In every row: {stays}"));
    }
    if answer.stacks.is_empty() && !shown.is_empty() {
        page.line("The nearest:");
    }
    blocks(&page.into_blocks(), "The ranking")
}

/// What a ranking says beneath them.
pub fn ranking_closing(setup: &Setup<'_>, answer: &Answer<Shown<'_>>) -> Markup {
    html! {
        @if let Some(line) = sentences::left_out(&answer.left_out) { p { (words(&line)) } }
        @if let Some(line) = aside::in_library(setup) { p { (words(&line)) } }
    }
}
