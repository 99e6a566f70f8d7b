//! One stack: where it stands, on what that rests, the sum, the window, the checks.

use maud::{Markup, html};

use super::blocks::{blocks, table, words};
use crate::report::drawing::{self, Paper};
use crate::report::page::Page;
use crate::report::units::Units;
use crate::report::{View, fit as told, measuring, recommend, sentences, travel};
use crate::stack::choice::Setup;
use crate::stack::fit::Fit;
use crate::stack::grade::Grade;
use crate::stack::picture::{Stands, Travel};
use crate::stack::shown::OneStack;

/// How a stack is to be taken at a glance. Words say it too.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Glance {
    /// Out of its window, or it fails a check.
    Out,
    /// It may be in or out: measure first.
    Doubt,
    /// In its window.
    In,
}

impl Glance {
    /// The name of its look.
    pub const fn class(self) -> &'static str {
        match self {
            Self::Out => "is-out",
            Self::Doubt => "is-doubt",
            Self::In => "is-in",
        }
    }
}

/// How a stack is to be taken.
pub fn state(fit: &Fit<'_>) -> Glance {
    match fit.grade {
        Grade::Undecided => Glance::Doubt,
        Grade::Marginal if !fit.fails() => Glance::Doubt,
        Grade::Sure | Grade::Likely if !fit.fails() => Glance::In,
        _ => Glance::Out,
    }
}

/// Where a stack stands, in two or three words.
pub fn in_words(fit: &Fit<'_>) -> &'static str {
    if fit.grade == Grade::Undecided {
        return "Undecided";
    }
    match Travel::of(fit).stands {
        Stands::Bottomed(_) => "Bottomed",
        Stands::DoesNotReach(_) => "Does not reach",
        Stands::TooTight(_) => "Too tight",
        Stands::TooLoose(_) => "Too loose",
        Stands::In(_) if fit.fails() => "Fails a check",
        Stands::In(_) => match fit.grade {
            Grade::Sure => "Sure",
            Grade::Likely => "Likely",
            _ => "Marginal",
        },
    }
}

/// The travel bar: both numbers above it, its ends and where the stack stands beneath. A telephone is
/// shown a shorter one of the same height.
pub fn bar(fit: &Fit<'_>, view: View, id: &str) -> Markup {
    let travel = Travel::of(fit);
    let number = |preload| travel::number(&travel, preload, view.unit, "\u{b1}");
    html! {
        figure.travel {
            div.ends { span { (number(true)) } span { (number(false)) } }
            div.long { (drawing::strip(&travel, view.unit, id, 900.0)) }
            div.slim { (drawing::strip(&travel, view.unit, &format!("{id}-slim"), 330.0)) }
            div.ends.beneath {
                span { "fully out" }
                strong { (travel::stands(&travel, Units::One(view.unit))) }
                span { "bottomed" }
            }
        }
    }
}

/// The drawing to scale.
pub fn drawing(setup: &Setup<'_>, one: &OneStack<'_>, view: View) -> Markup {
    let paper = Paper { alone: false, squash: 1.0 };
    html! {
        figure.drawing tabindex="0" role="region" aria-label="The stack to scale" {
            (drawing::stack(setup, one, view.unit, "stack", paper).0)
        }
    }
}

/// The verdict in large words, with its sentence, the numbers and the travel bar.
pub fn verdict(one: &OneStack<'_>, view: View) -> Markup {
    let say = Units::One(view.unit);
    let fit = &one.judged.fit;
    html! {
        div class=(format!("verdict {}", state(fit).class())) {
            p.word { (in_words(fit)) }
            p.sentence { (words(&sentences::verdict(fit, say))) }
            (bar(fit, view, "verdict"))
            p {
                "Travel " (say.length(fit.travel)) "; " (words(&sentences::chance(&one.judged.chance))) "."
            }
        }
    }
}

/// A part of a text page, laid out as paragraphs.
fn page(view: View, about: &str, fill: impl FnOnce(&mut Page)) -> Markup {
    let mut page = Page::new(view.width);
    fill(&mut page);
    blocks(&page.into_blocks(), about)
}

/// What has to be known before anything is built: cautions and checks that fail first, then what the
/// answer rests on, and what would do most.
pub fn first(setup: &Setup<'_>, one: &OneStack<'_>, view: View) -> Markup {
    let say = Units::One(view.unit);
    let fit = &one.judged.fit;
    let cautions = one.judged.cautions.iter().map(|caution| sentences::caution(caution, say));
    let fails = fit.checks.iter().filter(|check| check.failed());
    let fails = fails.map(|check| format!("fails {}: {}", check.name, sentences::note(check, say)));
    let all: Vec<String> = cautions.chain(fails).collect();
    html! {
        @if !all.is_empty() {
            ul.cautions { @for caution in &all { li { strong { "Caution: " } (words(caution)) "." } } }
        }
        (page(view, "What the answer rests on", |page| {
            let ways = (String::new(), "see the cross-checks first".to_string());
            recommend::premises_with(page, setup, fit, say, ways);
            told::beside(page, setup, one, say);
            page.line(recommend::consequence(setup, fit, say));
            recommend::next(page, &one.judged, say, "");
        }))
    }
}

/// The parts of the stack in one line.
pub fn plan(setup: &Setup<'_>, fit: &Fit<'_>, view: View) -> Markup {
    page(view, "The stack", |page| told::slots(page, setup, fit, Units::One(view.unit)))
}

/// The sum, term by term, so that it can be checked with a pencil.
pub fn sum(setup: &Setup<'_>, one: &OneStack<'_>, view: View) -> Markup {
    let fit = &one.judged.fit;
    html! {
        (table(&told::sum_grid(setup.library.kinds, fit, &one.terms, view.unit), "The sum", true))
        (page(view, "The sum", |page| told::beneath_sum(page, &one.terms, view.unit)))
    }
}

/// The window's edges and who set them.
pub fn window(one: &OneStack<'_>, view: View) -> Markup {
    let fit = &one.judged.fit;
    html! {
        (table(&told::edges_grid(fit, view.unit), "The window", false))
        @if let Some(details) = &one.judged.details {
            p.note {
                "Window: " (words(&sentences::edges_summed(&fit.window, &details.clutch, view.unit))) "."
            }
        }
    }
}

/// Ways to one length that agree and that do not, and which were taken.
pub fn cross_checks(setup: &Setup<'_>, one: &OneStack<'_>, view: View) -> Markup {
    page(view, "Cross-checks", |page| {
        if let Some(line) = sentences::routes(&one.judged) {
            page.line(line);
        }
        for unused in one.judged.details.iter().flat_map(|details| &details.unused) {
            page.line(sentences::unused(unused));
        }
        told::cross_checks(page, setup, Units::One(view.unit));
    })
}

/// Whether two ways to one length disagree, so that the cross-checks are to be seen first.
pub fn disagree(setup: &Setup<'_>) -> bool {
    !setup.cross_checks().apart().is_empty()
}

/// The checks beside the window.
pub fn checks(one: &OneStack<'_>, view: View) -> Markup {
    let say = Units::One(view.unit);
    page(view, "Checks", |page| told::checks(page, &one.judged.fit, say))
}

/// What to measure next, and what may be accepted when it arrives.
pub fn measure(one: &OneStack<'_>, view: View) -> Markup {
    page(view, "What to measure", |page| {
        if let Some(measure) = &one.to_measure {
            measuring::table(page, measure, view.unit);
        }
    })
}
