//! What stands around every page: its head, the way to the others, the safety words at its foot.

use axum::response::Html;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::visit::{UNUSUAL, Visit};
use super::{assets, pages};
use crate::error::Error;
use crate::model::length::Unit;
use crate::report::html::{safety, text, words};
use crate::report::visible;

/// The pages that are always one tap away.
const WAYS: &[(&str, &str)] = &[
    ("/", "Today"),
    ("/new", "New car"),
    ("/parts", "Parts"),
    ("/measure", "Measure"),
    ("/look", "Look through"),
    ("/record", "On record"),
];

/// What a browser gets: whatever a name from outside holds, nothing in it is obeyed or hidden.
fn sent(page: Markup) -> Html<String> {
    Html(glued(&visible(&page.into_string())))
}

/// A page in whose text no number is ever parted from its unit, nor a tolerance from its sign.
fn glued(page: &str) -> String {
    let mut glued = String::with_capacity(page.len() + 256);
    let mut inside_tag = false;
    let mut rest = page;
    while let Some(at) = rest.find(['<', '>', ' ']) {
        let (before, from) = rest.split_at(at);
        glued.push_str(before);
        let after = &from[1..];
        match from.as_bytes()[0] {
            b'<' => inside_tag = true,
            b'>' => inside_tag = false,
            _ if !inside_tag
                && (before.ends_with("+-")
                    || (before.ends_with(|c: char| c.is_ascii_digit()) && is_unit(after))) =>
            {
                glued.push('\u{a0}');
                rest = after;
                continue;
            }
            _ => {}
        }
        glued.push_str(&from[..1]);
        rest = after;
    }
    glued.push_str(rest);
    glued
}

/// Whether a text begins with the unit of a number.
fn is_unit(text: &str) -> bool {
    let ends = |rest: &str| !rest.starts_with(|c: char| c.is_alphanumeric());
    ["in", "mm", "%"].iter().any(|unit| text.strip_prefix(unit).is_some_and(ends))
}

fn head(title: &str) -> Markup {
    html! {
        head {
            meta charset="utf-8";
            meta name="viewport" content="width=device-width, initial-scale=1";
            meta name="color-scheme" content="light dark";
            title { (text(title)) " - bellstack" }
            link rel="stylesheet" href=(assets::style());
            link rel="icon" href=(format!("/fixed/{}", assets::MARK_NAME));
            script src=(assets::script()) defer {}
        }
    }
}

/// A page of a device that is in.
pub(super) fn page(visit: &Visit, title: &str, body: &Markup) -> Html<String> {
    sent(html! {
        (DOCTYPE)
        html lang="en" {
            (head(title))
            body {
                a.skip href="#main" { "Skip to the page" }
                header.top {
                    nav aria-label="Pages" {
                        ul {
                            @for (path, name) in WAYS {
                                li { a href=(path) aria-current=[is_here(visit, path).then_some("page")] { (name) } }
                            }
                        }
                    }
                    div.device {
                        (units(visit))
                        a href="/devices" { @if visit.device.by.is_empty() { "Devices" } @else { (text(&visit.device.by)) } }
                    }
                }
                main id="main" tabindex="-1" { (body) }
                footer { (safety()) }
            }
        }
    })
}

fn is_here(visit: &Visit, path: &str) -> bool {
    visit.path == path || pages::belongs(visit.path) == path
}

/// The button that turns every length into the other unit.
fn units(visit: &Visit) -> Markup {
    let (now, other, to) = match visit.unit() {
        Unit::In => ("in", "mm", "millimetres"),
        Unit::Mm => ("mm", "in", "inches"),
    };
    html! {
        form method="post" action="/unit" {
            (token(visit))
            input type="hidden" name="back" value=(visit.here());
            button.unit name="unit" value=(other) {
                span.on { (now) } span aria-hidden="true" { " | " (other) }
                span.unseen { ": show lengths in " (to) }
            }
        }
    }
}

/// What every form holds: that it is of this device.
pub(super) fn token(visit: &Visit) -> Markup {
    html! { input type="hidden" name="token" value=(visit.device.token); }
}

/// What a form that changes the catalog holds: the token, and who writes where nobody said so yet.
pub(super) fn signed(visit: &Visit) -> Markup {
    html! {
        (token(visit))
        @if visit.device.by.is_empty() {
            label.field {
                span { "Who writes" }
                input type="text" name="by" autocomplete="name" required maxlength="60" value=(visit.form.text("by"));
                small { "asked once on this device; it goes on record with what you change" }
            }
        }
    }
}

/// A page that needs no device.
pub(super) fn bare(title: &str, body: &Markup) -> Html<String> {
    sent(html! {
        (DOCTYPE)
        html lang="en" { (head(title)) body { main.bare id="main" { (body) } } }
    })
}

/// A piece of a page.
pub(super) fn piece(body: &Markup) -> Html<String> {
    sent(html! { (PreEscaped(&body.0)) })
}

/// A refusal: what was found, what was expected, what to do.
pub(super) fn refusal(error: &Error) -> Markup {
    let mut lines = error.message().lines();
    html! {
        div.refused role="alert" {
            h1 { "Not done" }
            p { (words(lines.next().unwrap_or_default())) }
            @let more: Vec<&str> = lines.collect();
            @if !more.is_empty() { ul { @for line in more { li { (words(line.trim())) } } } }
            @if let Some(hint) = error.advice() { p { (words(hint)) } }
        }
    }
}

/// The same within a page, above the form that it is about.
pub(super) fn wrong(error: &Error) -> Markup {
    html! {
        div.refused role="alert" { (said(error)) }
    }
}

/// What is wrong and what to do, without what is typed on a command line alone.
pub(super) fn said(error: &Error) -> Markup {
    html! {
        @for line in error.message().lines() { p { (words(without_flag(line).trim())) } }
        @let hint = error.advice().map(without_flag).unwrap_or_default();
        @if !hint.is_empty() { p { (words(&hint)) } }
    }
}

/// How the command line says that an unusual value is kept; a form has a box for it.
const FLAG: &str = "`--unusual";

/// A text without what is typed on the command line to keep an unusual value.
fn without_flag(text: &str) -> String {
    let Some((before, rest)) = text.split_once(FLAG) else { return text.into() };
    let after = ["keeps it", "keeps them"].iter().find_map(|end| rest.split_once(end));
    let before = before.trim_end().trim_end_matches(';');
    format!("{before}{}", after.map_or("", |(_, after)| after))
}

/// The box with which an unusual value is kept, where that is what is wrong.
pub(super) fn keep_box(error: Option<&Error>) -> Markup {
    let is_unusual = |error: &Error| error.one_line().contains(FLAG);
    html! {
        @if error.is_some_and(is_unusual) {
            label.choice.doubt {
                input type="checkbox" name=(UNUSUAL) value="all";
                span { "It is right as it stands: keep it" }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_and_its_unit_stay_together_and_fields_keep_what_was_typed() {
        assert_eq!(
            glued("<p title=\"1 in\">0.061 in short, 97.9 %, 3 inches, 5 in</p>1 in<b>2 mm</b>"),
            "<p title=\"1 in\">0.061\u{a0}in short, 97.9\u{a0}%, 3 inches, 5\u{a0}in</p>1\u{a0}in<b>2\u{a0}mm</b>"
        );
        assert_eq!(glued("<b>1 in +- 2 in</b>"), "<b>1\u{a0}in +-\u{a0}2\u{a0}in</b>");
    }

    #[test]
    fn a_form_does_not_say_what_to_type_on_the_command_line() {
        let said = "28.6 in is no usual flywheel; 28.6 mm is; `--unusual thickness` keeps it";
        assert_eq!(without_flag(said), "28.6 in is no usual flywheel; 28.6 mm is");
        assert_eq!(without_flag("`--unusual thickness` keeps it"), "");
        assert_eq!(without_flag("no part"), "no part");
        let error = Error::input("odd").hint("`--unusual thickness` keeps it");
        assert!(keep_box(Some(&error)).into_string().contains("checkbox"));
        assert_eq!(keep_box(Some(&Error::input("odd"))).into_string(), "");
    }
}
