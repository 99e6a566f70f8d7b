//! Today: every job and where it stands, what is too tight or too loose first.

use maud::{Markup, html};

use crate::desk::{Stand, library_and_jobs};
use crate::error::Result;
use crate::model::job::Job;
use crate::report::View;
use crate::report::html::{in_words, job_words, small_bar, state, text, trouble_short, words};
use crate::serve::form::asked;
use crate::serve::visit::{Reply, Visit};
use crate::stack::choice::Setup;
use crate::stack::picture::Travel;

/// How many jobs one page shows.
const SHOWN: usize = 40;

pub(super) fn page(visit: &Visit) -> Result<Reply> {
    let catalog = visit.catalog()?;
    let (library, jobs) = catalog.read(library_and_jobs)?;
    let wanted = visit.query.text("words").to_lowercase();
    let mut stands: Vec<(&Job, Stand<'_>)> = jobs
        .iter()
        .filter(|job| is_wanted(job, &wanted) && !(wanted.is_empty() && job.is_done()))
        .map(|job| {
            let stand = Setup::new(&library, job);
            (job, stand.map_or_else(Stand::Untold, |setup| Stand::of(&setup)))
        })
        .collect();
    stands.sort_by_key(|(_, stand)| stand.urgency());
    let from = visit.query.number("from").unwrap_or(0_usize).min(stands.len());
    let found = stands.len();
    let view = visit.view();
    Reply::page(
        "Today",
        html! {
            div.head {
                h1 { "Today" }
                a.button.main href="/new" { "New car" }
            }
            @if jobs.is_empty() {
                p { "There is no car in the catalog yet. " a href="/new" { "Begin with a new car" } ": three readings answer it." }
            } @else {
                form.search method="get" action="/" role="search" {
                    label.field { span { "Find a car" } input type="search" name="words" value=(visit.query.text("words")); }
                    button { "Find" }
                }
                p.count role="status" { (counted(&stands, &wanted)) (also_done(&jobs, &wanted)) }
                ol.cars {
                    @for (index, (job, stand)) in stands.iter().enumerate().skip(from).take(SHOWN) {
                        (row(job, stand, view, index))
                    }
                }
                (more(visit, from, found))
            }
        },
    )
}

fn is_wanted(job: &Job, words: &str) -> bool {
    let told = [&job.id, &job.description, &job.customer, &job.contact, &job.vehicle, &job.notes];
    let told = told.map(String::as_str).join(" ").to_lowercase();
    words.split_whitespace().all(|word| told.contains(word))
}

fn counted(stands: &[(&Job, Stand<'_>)], wanted: &str) -> String {
    let number = stands.len();
    let cars = if number == 1 { "car" } else { "cars" };
    let urgent = stands.iter().filter(|(_, stand)| stand.urgency() <= 3).count();
    let found = if wanted.is_empty() { "" } else { " found" };
    match urgent {
        0 => format!("{number} {cars}{found}."),
        1 => format!("{number} {cars}{found}, 1 of them wants something done."),
        _ => format!("{number} {cars}{found}, {urgent} of them want something done."),
    }
}

/// That cars which are done are not listed, and how they are found.
fn also_done(jobs: &[Job], wanted: &str) -> String {
    let done = jobs.iter().filter(|job| job.is_done()).count();
    match done {
        0 => String::new(),
        _ if !wanted.is_empty() => String::new(),
        1 => " 1 more is done: it is found by its words.".into(),
        _ => format!(" {done} more are done: they are found by their words."),
    }
}

fn row(job: &Job, stand: &Stand<'_>, view: View, index: usize) -> Markup {
    let page = asked("/car", [("job", job.id.as_str())]);
    html! {
        @match stand {
            Stand::Judged(fit, trouble) => {
                li class=(state(fit).class()) {
                    p.word { (in_words(fit)) }
                    (small_bar(&Travel::of(fit), view.unit, &format!("row{index}")))
                    (name(job, &page))
                    p.note { (said(&trouble_short(trouble, view))) }
                }
            }
            Stand::Paper(empty) => {
                li.is-paper {
                    p.word { "On paper" }
                    (name(job, &page))
                    p.note { "nothing fitted yet in " (empty.join(", ").replace('_', " ")) }
                }
            }
            Stand::Untold(error) => {
                li.is-doubt {
                    p.word { "Not told" }
                    (name(job, &page))
                    p.note { (words(error.message())) }
                }
            }
        }
    }
}

fn name(job: &Job, page: &str) -> Markup {
    html! {
        h2 { a href=(page) { (text(&job.id)) } }
        @if !job.description.is_empty() { p.about { (text(&job.description)) } }
        (job_words(job))
    }
}

fn said(trouble: &str) -> &str {
    if trouble == "nothing" { "nothing is wrong" } else { trouble }
}

/// The way to the cars before and behind those that are shown.
fn more(visit: &Visit, from: usize, found: usize) -> Markup {
    let way = |from: usize| {
        let from = from.to_string();
        asked("/", [("words", visit.query.text("words")), ("from", &from)])
    };
    html! {
        @if found > SHOWN {
            nav.more aria-label="More cars" {
                @if from > 0 { a.button href=(way(from.saturating_sub(SHOWN))) { "Before" } }
                @if from + SHOWN < found { a.button href=(way(from + SHOWN)) { "Behind" } }
            }
        }
    }
}
