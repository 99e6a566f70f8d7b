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
    State, bar, checks, cross_checks, disagree, drawing, first, in_words, measure, plan, state,
    sum, verdict, window,
};

use super::drawing::clean;
pub use super::drawing::small_bar;
use super::sentences;

/// Text from outside as a page may show it.
pub fn text(text: &str) -> Markup {
    html! { (clean(text)) }
}

/// A sentence in which what may be typed is marked as such.
pub fn words(line: &str) -> Markup {
    blocks::words(line)
}

/// What somebody who builds from an answer has to know.
pub fn safety() -> Markup {
    html! { p.safety { (sentences::SAFETY) } }
}
