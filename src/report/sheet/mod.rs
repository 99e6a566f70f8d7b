//! The printed sheet: one stack on one side of paper, and the one with blanks to carry to the car.
//! Each is a file of its own that needs nothing from elsewhere.

mod blank;

use maud::{DOCTYPE, Markup, PreEscaped, html};

pub use blank::blank;

use super::drawing::{self, Paper, clean};
use super::page::Grid;
use super::units::{Units, capital};
use super::{View, cells, fit as fit_words, measuring, sentences};
use crate::model::job::Job;
use crate::model::length::Unit;
use crate::stack::choice::Setup;
use crate::stack::cost::purchases;
use crate::stack::fit::Fit;
use crate::stack::shown::OneStack;
use crate::stack::terms::Term;

const STYLE: &str = include_str!("sheet.css");

/// A whole page.
fn page(title: &str, class: &str, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (clean(title)) }
                style { (PreEscaped(STYLE)) }
            }
            body class=[(!class.is_empty()).then_some(class)] { (body) }
        }
    };
    format!("{}\n", page.into_string())
}

/// A line to write on, with what is known already on it.
fn field(name: &str, value: &str) -> Markup {
    html! { div.field { dt { (name) } dd { (clean(value)) } } }
}

/// What stands at the head of every sheet. What nobody has told is left to be written in.
fn head(job: &Job, date: &str, about: &str) -> Markup {
    let fields = [
        ("customer", ""),
        ("vehicle", ""),
        ("date", date),
        ("measured by", ""),
        ("measured with", ""),
        ("instruments checked", ""),
    ];
    html! {
        header {
            div {
                h1 { (clean(&format!("Job {}", job.id))) }
                p { (clean(&job.description)) }
                p.note { (about) }
            }
            dl.fields { @for (name, value) in fields { (field(name, value)) } }
        }
    }
}

/// A table.
fn table(grid: &Grid, has_sum: bool) -> Markup {
    let heads: Vec<(&str, bool)> = grid.heads().collect();
    let class = |number: bool| number.then_some("number");
    let last = grid.rows().len();
    html! {
        table {
            thead {
                tr { @for (head, number) in &heads { th scope="col" class=[class(*number)] { (clean_lines(head)) } } }
            }
            tbody {
                @for (index, row) in grid.rows().iter().enumerate() {
                    tr class=[(has_sum && index + 1 == last).then_some("last")] {
                        @for (cell, (_, number)) in row.iter().zip(&heads) {
                            td class=[class(*number)] { (clean(cell)) }
                        }
                    }
                }
            }
        }
    }
}

/// The lines of a head, each by itself.
fn clean_lines(text: &str) -> String {
    text.lines().map(clean).collect::<Vec<_>>().join("\n")
}

/// One stack, ready to be printed. `date` is today's.
pub fn sheet(setup: &Setup<'_>, report: &OneStack<'_>, view: View, date: &str) -> String {
    let (unit, fit) = (view.unit, &report.judged.fit);
    let say = Units::One(unit);
    let good = fit.holds();
    let corrections = fit_words::corrections(&report.terms, unit);
    let lines = lines(report);
    let class = if lines > 16.0 { "dense" } else { "" };
    let paper = Paper { alone: false, squash: (1.0 - 0.03 * lines).clamp(0.36, 0.85) };
    let body = html! {
        (head(setup.job, date, "Fit of the hydraulic release bearing: what it is computed to be before it is built."))
        section.verdict.out[!good] {
            p { (clean(&sentences::verdict(fit, say))) }
            p {
                (clean(&format!(
                    "Preload {}, wear reserve {}, travel {}; {}.",
                    say.length(fit.preload),
                    say.length(fit.reserve),
                    say.length(fit.travel),
                    sentences::chance(&report.judged.chance)
                )))
            }
        }
        ul.cautions { @for line in first(fit, say) { li { (clean(&line)) } } }
        figure { (drawing::stack(setup, report, unit, "sheet", paper)) }
        div.two {
            section {
                h2 { "The sum" }
                (table(&fit_words::sum_grid(fit, &report.terms, unit), true))
                @for note in fit_words::sum_notes(&report.terms) { p.note { (note) } }
                @for (term, parts) in &corrections {
                    p.note { (clean(&corrected(term, parts, unit))) }
                }
            }
            section {
                h2 { "The window" }
                (table(&window(fit, view), false))
                @if let Some(details) = &report.judged.details {
                    p.note { (clean(&sentences::edges_summed(&fit.window, &details.clutch, unit))) }
                }
                p {
                    (clean(&capital(&format!(
                        "{}; {}.",
                        sentences::wear(fit, say),
                        sentences::gearbox_move(setup, fit, say)
                    ))))
                }
                h2 { "Checks" }
                @for line in checks(fit) { p { (clean(&line)) } }
                h2 { "To buy" }
                @for line in to_buy(setup, fit) { p { (clean(&line)) } }
            }
        }
        @if let Some(measure) = report.to_measure.as_ref().filter(|one| !one.accept.is_empty()) {
            h2 { "Accept on arrival what measures so, everything else as it stands" }
            (table(&measuring::accept_grid(measure, unit), false))
        }
        h2 { "Measured again after assembly" }
        div.again {
            @for name in ["finger depth", "bearing depth, extended", "bearing depth, retracted", "preload", "wear reserve", "date", "signature"] {
                (field(name, ""))
            }
        }
        p.safety { (sentences::SAFETY) }
    };
    page(&format!("Fit sheet, job {}", setup.job.id), class, &body)
}

/// About how many lines stand beneath the drawing beyond those of every sheet: the more they are, the
/// smaller everything is, so that it stays on one page.
#[allow(clippy::cast_precision_loss, reason = "lines are few")]
fn lines(report: &OneStack<'_>) -> f64 {
    let accept = report.to_measure.as_ref().map_or(0, |one| one.accept.len());
    let made_of: usize = report.terms.iter().map(|term| term.made_of.len()).sum();
    let cautions = report.judged.fit.cautions.len();
    (report.terms.len() + made_of + 2 * accept + 2 * cautions) as f64
}

/// How a ratio correction comes about, in few words.
fn corrected(term: &Term, gaps: &[String], unit: Unit) -> String {
    let plate = term.part.as_deref().unwrap_or("the fitted plate");
    format!(
        "ratio_correction: {:+.3} (finger ratio of {plate}) times {} {}, the difference of gaps: {}.",
        term.to_preload,
        fit_words::signed(term.value, unit),
        unit.name(),
        gaps.join("; ")
    )
}

/// What somebody who builds it has to know first: cautions, checks that fail, and what the answer rests
/// on.
fn first(fit: &Fit<'_>, say: Units) -> Vec<String> {
    let cautions = fit.cautions.iter().map(|one| capital(&sentences::caution(one, say)));
    let fails = fit.checks.iter().filter(|check| check.failed());
    let fails = fails.map(|check| format!("Fails {}: {}", check.name, sentences::note(check, say)));
    cautions.chain(fails).map(|line| format!("{line}.")).chain(sentences::unverified(fit)).collect()
}

/// The window's edges without what only a statistician asks for.
fn window(fit: &Fit<'_>, view: View) -> Grid {
    let unit = view.unit;
    let name = unit.name();
    let mut grid = Grid::new([
        "edge".to_string(),
        format!(">limit\n{name}"),
        "set by".into(),
        format!(">room\n{name}"),
        format!(">worst case\n{name}"),
        "grade".into(),
    ]);
    for (at, edge) in fit.edges.set() {
        grid.row([
            sentences::edge_name(at).to_string(),
            edge.limit.digits(unit, true),
            sentences::set_by(&fit.window, at, edge.set_by).into(),
            edge.room.digits(unit, true),
            edge.spread.worst_case_length().digits(unit, true),
            edge.grade.word().into(),
        ]);
    }
    grid
}

/// The checks beside the window by name: what passes, what fails, what was not checked and why.
fn checks(fit: &Fit<'_>) -> Vec<String> {
    let passed = fit.checks.iter().filter(|check| check.passed()).map(|check| check.name);
    let passed = passed.collect::<Vec<_>>().join(", ");
    let mut lines = Vec::new();
    if !passed.is_empty() {
        lines.push(format!("Passes {passed}."));
    }
    // Why is told above, with the cautions.
    let failed = sentences::failed(fit).join(", ");
    if !failed.is_empty() {
        lines.push(format!("Fails {failed}."));
    }
    lines.extend(sentences::unchecked(&fit.checks));
    lines
}

/// What is still to be bought, one line a part, and what it costs.
fn to_buy(setup: &Setup<'_>, fit: &Fit<'_>) -> Vec<String> {
    let currency = &setup.library.house.currency;
    let all = purchases(setup, &fit.choice);
    if all.is_empty() {
        return vec!["Nothing.".into()];
    }
    let line = |purchase: &crate::stack::cost::Purchase<'_>| {
        let Some(part) = purchase.part else {
            return format!("{} like the worn one on the bench, price unknown", purchase.pieces);
        };
        let price =
            part.price.map_or("price unknown".into(), |price| format!("{price} {currency} each"));
        let days = part.lead_days.map_or_else(String::new, |days| format!(", {days} days"));
        format!("{} x {} ({}), {price}{days}", purchase.pieces, part.id, part.kind.name)
    };
    let mut lines: Vec<String> = all.iter().map(line).collect();
    lines.push(format!("In all {} {currency}.", cells::to_buy(fit)));
    lines
}
