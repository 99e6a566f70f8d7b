//! The changes that would put a car right, or the combinations for a build on paper, each to be tried
//! with one tap.

use maud::{Markup, html};

use super::what_if::WhatIf;
use crate::desk::{Bench, Stand};
use crate::error::Result;
use crate::model::length::Length;
use crate::report::html::{
    cure_closing, cure_opening, offer, ranking_closing, ranking_opening, remedy_words, stack_words,
    text,
};
use crate::serve::form::asked;
use crate::serve::visit::{Reply, Visit};
use crate::solve::ask::{Ask, Order};
use crate::solve::cure::cure;
use crate::solve::recommend::recommend;
use crate::stack::answer::LookFor;
use crate::stack::choice::Setup;
use crate::stack::shown::Shown;

/// How many are shown on their own page, and beside the car.
const SHOWN: usize = 10;
const BESIDE: usize = 3;

pub(in crate::serve::pages) fn page(visit: &Visit) -> Result<Reply> {
    let catalog = visit.catalog()?;
    let id = visit.needed("job")?;
    let bench = Bench::of(&catalog, id)?;
    let setup = bench.setup()?;
    let (title, found) = match Stand::of(&setup) {
        Stand::Paper(_) => ("What lands in the window", ranked(visit, &setup)?),
        _ => ("What would put it right", cured(visit, &setup)?),
    };
    if visit.wants_piece() {
        let all = asked("/car/cures", [("job", id)]);
        return Ok(Reply::Piece(html! {
            h2 { (title) }
            (found)
            p { a href=(all) { "All changes, and what to look for" } }
        }));
    }
    Reply::page(
        format!("{title}: {id}"),
        html! {
            h1 { (title) }
            p { a href=(asked("/car", [("job", id)])) { (text(id)) } }
            (found)
        },
    )
}

/// The library's parts in the range of a dimension, to be tried on this car.
fn find(visit: &Visit, setup: &Setup<'_>, row: &LookFor) -> String {
    let kind = setup.library.kinds.slots().nth(row.slot).map_or("", |(kind, _)| kind.key);
    let end = |end: Option<Length>| end.map(|end| end.exact(visit.unit())).unwrap_or_default();
    let range = row.range().unwrap_or_default();
    let (least, most) = (end(range.from), end(range.to));
    asked(
        "/parts",
        [
            ("kind", kind),
            ("dimension", row.dimension),
            ("least", &least),
            ("most", &most),
            ("job", &setup.job.id),
        ],
    )
}

fn shown(visit: &Visit) -> usize {
    if visit.wants_piece() { BESIDE } else { SHOWN }
}

fn cured(visit: &Visit, setup: &Setup<'_>) -> Result<Markup> {
    let ask = Ask { top: SHOWN, order: Order::Changes, ..Ask::default() };
    let cured = cure(setup, &ask, &visit.watch)?.shown(setup);
    let view = visit.view();
    let rows = cured.remedies.iter().map(|one| (remedy_words(setup, one, view), &one.fit));
    Ok(html! {
        (cure_opening(setup, &cured, view, visit.wants_piece()))
        (offers(visit, setup, rows.take(shown(visit)).collect()))
        @if !visit.wants_piece() { (cure_closing(setup, &cured, view, |row| find(visit, setup, row))) }
    })
}

fn ranked(visit: &Visit, setup: &Setup<'_>) -> Result<Markup> {
    let ask = Ask { top: SHOWN, ..Ask::default() };
    let answer = recommend(setup, &ask, &visit.watch)?.shown(setup);
    let view = visit.view();
    let stacks = if answer.stacks.is_empty() { &answer.nearest } else { &answer.stacks };
    let rows = stacks.iter().map(|shown| (stack_words(setup, &shown.fit, view), shown));
    Ok(html! {
        (ranking_opening(setup, &answer, view))
        (offers(visit, setup, rows.take(shown(visit)).collect()))
        @if !visit.wants_piece() { (ranking_closing(setup, &answer)) }
    })
}

fn offers(visit: &Visit, setup: &Setup<'_>, rows: Vec<(String, &Shown<'_>)>) -> Markup {
    html! {
        ol.offers {
            @for (index, (words, shown)) in rows.into_iter().enumerate() {
                li {
                    (offer(setup, &words, shown, visit.view(), &format!("offer{index}")))
                    @let address = WhatIf::of(setup, &shown.fit.choice).address(setup, "/car");
                    a.button.try href=(address) { "Try it" span.unseen { ": " (text(&words)) } }
                }
            }
        }
    }
}
