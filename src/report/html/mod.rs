//! Answers as pieces of a page: the same results and the same words as in a terminal, in HTML.
//!
//! What is asked, tried or stored around them is no part of an answer and is written by the server.

mod blocks;
mod cure;
mod part;
mod plot;
mod record;
mod stack;

use maud::{Markup, html};

pub use cure::{
    cure_closing, cure_opening, offer, ranking_closing, ranking_opening, remedy_words, stack_words,
    trouble, trouble_short,
};
pub use part::{lessons, part, readings};
pub use record::{compared, events, inspected};
pub use stack::{
    Glance, bar, checks, cross_checks, disagree, drawing, first, in_words, measure, plan, state,
    sum, verdict, window,
};

use super::drawing::clean;
pub use super::drawing::small_bar;
use super::{sentences, shop};
use crate::model::job::{Job, JobState, Word as _};

/// Text from outside as a page may show it.
pub fn text(text: &str) -> Markup {
    html! { (clean(text)) }
}

/// How far a job has come, and what is told of it in words; nothing where nobody told anything.
pub fn job_words(job: &Job) -> Markup {
    let state = (job.state != JobState::default()).then(|| job.state.word().to_string());
    let told = shop::words(job).into_iter().filter(|(_, text)| !text.is_empty());
    let told: Vec<String> =
        state.into_iter().chain(told.map(|(key, text)| format!("{key}: {text}"))).collect();
    html! { @if !told.is_empty() { p.note { (text(&told.join("; "))) } } }
}

/// A sentence in which what may be typed is marked as such.
pub fn words(line: &str) -> Markup {
    blocks::words(line)
}

/// What somebody who builds from an answer has to know.
pub fn safety() -> Markup {
    html! { p.safety { (sentences::SAFETY) } }
}
