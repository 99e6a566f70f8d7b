//! What is on record: changes, kept answers, and what a look through finds.

use maud::{Markup, html};

use super::blocks::{blocks, words};
use super::text;
use crate::measure::remark::Remark;
use crate::model::history::{Event, Stamp};
use crate::model::kinds::Kinds;
use crate::report::units::Units;
use crate::report::{Comparison, View, history, inspection, kept};
use crate::stack::choice::Setup;
use crate::stack::inspection::Inspection;

/// How many changes of one command are shown at once.
const SHOWN: usize = 8;

/// Events under the commands that they came with, the newest first.
pub fn events(kinds: Kinds, events: &[Event], view: View) -> Markup {
    let commands: Vec<&[Event]> = events.chunk_by(|a, b| a.command == b.command).collect();
    let line = |event: &Event| html! { li { (words(&history::words(kinds, event, view.unit))) } };
    html! {
        ol.events {
            @for of_command in commands.into_iter().rev() {
                @let Stamp { at, command, .. } = &of_command[0].stamp;
                @let (first, rest) = of_command.split_at(of_command.len().min(SHOWN));
                li {
                    p { strong { (text(history::by(&of_command[0].stamp))) } ", " (text(at)) }
                    p { code { (text(command)) } }
                    ul.told { @for event in first { (line(event)) } }
                    @if !rest.is_empty() {
                        details { summary { (rest.len()) " more" } ul.told { @for event in rest { (line(event)) } } }
                    }
                }
            }
        }
    }
}

/// An answer that was kept beside today's.
pub fn compared(setup: &Setup<'_>, told: &Comparison<'_>, view: View) -> Markup {
    let page = kept::compare_page(setup, told, view);
    blocks(&page.into_blocks(), "Then and now")
}

/// What a look through found, topic by topic, of each at most so many; `mend` is the way to the page
/// where a remark can be mended, and what that way is called.
pub fn inspected(
    found: &Inspection,
    most: usize,
    view: View,
    mend: impl Fn(&Remark) -> Option<(String, &'static str)>,
) -> Markup {
    let say = Units::One(view.unit);
    html! {
        @for (topic, all) in inspection::topics(&found.remarks) {
            section.topic {
                h2 { (inspection::title(topic)) " (" (all.len()) ")" }
                p { (words(inspection::advice(topic))) "." }
                ul.remarks {
                    @for remark in all.iter().take(most) {
                        li {
                            div {
                                strong { (text(&remark.id)) } " "
                                span.note { (remark.kind.replace('_', " ")) }
                                @if !remark.columns.is_empty() { p { (words(&remark.columns.join(", "))) } }
                                @let told = inspection::found(&remark.found, say, view);
                                @if !told.is_empty() { p { (words(&told)) } }
                            }
                            @if let Some((way, name)) = mend(remark) {
                                a.button href=(way) { (name) span.unseen { " " (text(&remark.id)) } }
                            }
                        }
                    }
                }
                @if all.len() > most { p.note { "and " (all.len() - most) " more" } }
            }
        }
    }
}
