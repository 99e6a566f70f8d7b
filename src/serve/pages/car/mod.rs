//! A car: where it stands, and what would change it.

mod cures;
mod edit;
mod enter;
mod keep;
mod kept;
mod sheet;
mod slots;
mod what_if;

pub(super) use cures::page as cures;
pub(super) use edit::{page as edit, store as store_edited};
pub(super) use enter::{add, new, page as enter, store};
pub(super) use keep::{keep, page as before_keeping};
pub(super) use kept::{keep as keep_answer, page as kept_answer};
pub(super) use sheet::page as sheet;

use maud::{Markup, html};

use crate::desk::{Bench, Stand, Thing, Version, one_stack, swapped};
use crate::error::Result;
use crate::report::html::{
    checks, cross_checks, disagree, drawing, first, job_words, measure, plan, sum, text, verdict,
    window,
};
use crate::serve::form::asked;
use crate::serve::shell::{signed, wrong};
use crate::serve::visit::{Reply, Visit};
use crate::stack::choice::Setup;
use crate::stack::shown::OneStack;
use what_if::WhatIf;

/// A car as it is fitted, or with what is tried on it.
pub(super) fn page(visit: &Visit) -> Result<Reply> {
    let catalog = visit.catalog()?;
    let id = visit.needed("job")?;
    let bench = Bench::of(&catalog, id)?;
    let setup = bench.setup()?;
    let what_if = WhatIf::read(&setup, &visit.query, visit.unit());
    let answer = match &what_if {
        Ok(what_if) => answer(visit, &setup, what_if),
        Err(error) => wrong(error),
    };
    if visit.wants_piece() {
        return Ok(Reply::Piece(answer));
    }
    let what_if = what_if.unwrap_or_default();
    Reply::page(
        id,
        html! {
            div.head {
                div {
                    h1 { (text(id)) }
                    @if !bench.job.description.is_empty() { p.about { (text(&bench.job.description)) } }
                    (job_words(&bench.job))
                }
                (ways(&setup, &what_if))
            }
            div.car {
                div.answer id="answer" { (answer) }
                (slots::form(visit, &setup, &what_if))
            }
        },
    )
}

/// What can be done with a car beside looking at it.
fn ways(setup: &Setup<'_>, what_if: &WhatIf) -> Markup {
    let id = setup.job.id.as_str();
    let job = [("job", id)];
    html! {
        nav.ways aria-label="This car" {
            a.button.narrow href="#try" { "What if" }
            a.button href=(asked("/car/enter", job)) { "Readings" }
            a.button href=(asked("/car/edit", job)) { "Edit" }
            a.button href=(what_if.address(setup, "/car/sheet")) { "Sheet to print" }
            a.button href=(asked("/car/sheet", [("job", id), ("blank", "1")])) { "Blank sheet" }
            a.button href=(asked("/record", job)) { "On record" }
        }
    }
}

/// Everything about the stack that is asked for.
fn answer(visit: &Visit, setup: &Setup<'_>, what_if: &WhatIf) -> Markup {
    let choice = swapped(setup, &what_if.swaps, what_if.machine_to);
    let one = choice.and_then(|choice| one_stack(setup, &choice, false, &visit.watch));
    match one {
        Ok(one) => stack(visit, setup, what_if, &one),
        Err(error) => html! {
            @if let Stand::Paper(empty) = Stand::of(setup) && what_if.is_nothing() {
                div.verdict.is-paper {
                    p.word { "On paper" }
                    p.sentence { "Nothing is fitted yet in " (empty.join(", ").replace('_', " ")) "." }
                }
                p {
                    a.button.main href=(asked("/car/cures", [("job", setup.job.id.as_str())])) {
                        "Rank the combinations"
                    }
                }
            } @else { (wrong(&error)) }
        },
    }
}

fn stack(visit: &Visit, setup: &Setup<'_>, what_if: &WhatIf, one: &OneStack<'_>) -> Markup {
    let view = visit.view();
    let fit = &one.judged.fit;
    html! {
        @if !what_if.is_nothing() { (tried(setup, what_if)) }
        (verdict(one, view))
        (first(setup, one, view))
        (cures_place(&setup.job.id))
        (drawing(setup, one, view))
        (plan(setup, fit, view))
        details open { summary { h2 { "The sum" } } (sum(setup, one, view)) }
        details open { summary { h2 { "The window" } } (window(one, view)) }
        details open[disagree(setup)] { summary { h2 { "Cross-checks" } } (cross_checks(setup, one, view)) }
        details { summary { h2 { "Checks" } } (checks(one, view)) }
        @if one.to_measure.is_some() {
            details { summary { h2 { "What to measure" } } (measure(one, view)) }
        }
        @if what_if.is_nothing() { (keep_form(visit, &setup.job.id)) }
    }
}

/// The answer as it stands, kept with what it was an answer to.
fn keep_form(visit: &Visit, job: &str) -> Markup {
    html! {
        details {
            summary { h2 { "Keep this answer" } }
            p { "It is kept with the car and the house numbers of today, so that it can be laid beside those of another day." }
            form.stack method="post" action="/answer/keep" {
                (signed(visit))
                input type="hidden" name="job" value=(job);
                label.field {
                    span { "Its name" }
                    input type="text" name="name" autocomplete="off" maxlength="80";
                    small { "blank: the car and the day" }
                }
                button.main { "Keep it" }
            }
        }
    }
}

/// The place of the smallest changes, which come after the page as they may take their time.
fn cures_place(job: &str) -> Markup {
    html! {
        section id="cures" data-piece=(asked("/car/cures", [("job", job), ("piece", "1")])) {
            h2 { "What would put it right" }
            p { a.button href=(asked("/car/cures", [("job", job)])) { "Find the smallest changes" } }
        }
    }
}

/// What is tried, that nothing of it is stored, and the way to keep it.
fn tried(setup: &Setup<'_>, what_if: &WhatIf) -> Markup {
    let kinds = setup.library.kinds;
    html! {
        div.tried role="status" {
            p {
                strong { "Tried, not stored: " }
                @for (index, swap) in what_if.swaps.iter().enumerate() {
                    @if index > 0 { ", " }
                    (kinds.slot_key(swap.slot).replace('_', " ")) " " (text(&swap.ids))
                }
                @if let Some(to) = what_if.machine_to {
                    @if !what_if.swaps.is_empty() { ", " }
                    "flywheel machined to " (to.exact(crate::model::length::Unit::In))
                }
            }
            p.row {
                a.button.main href=(what_if.address(setup, "/car/keep")) { "Keep on this job" }
                a.button href=(WhatIf::default().address(setup, "/car")) { "As fitted" }
            }
        }
    }
}

/// The version of a job that a form is about.
fn version(visit: &Visit, job: &str) -> Result<Version> {
    visit.catalog()?.read(|reader| Version::of(reader, Thing::Job(job)))
}

/// What a form of a car holds: what every form does, the job and the version that it is about.
fn signed_for(visit: &Visit, job: &str, version: Version) -> Markup {
    html! {
        (signed(visit))
        input type="hidden" name="job" value=(job);
        input type="hidden" name="seen" value=(version.0);
    }
}
