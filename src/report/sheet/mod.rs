//! The printed sheet: one stack on one side of paper, and the one with blanks to carry to the car.
//! Each is a file of its own that needs nothing from elsewhere.

mod blank;
mod room;

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
use room::Text;

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
        ("customer", job.customer.as_str()),
        ("vehicle", &job.vehicle),
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

/// The words and tables of a sheet, before they are set.
struct SheetContent {
    verdict: String,
    numbers: String,
    first: Vec<String>,
    sum: Grid,
    notes: Vec<String>,
    buy: Vec<String>,
    window: Grid,
    set_by: String,
    wear: String,
    checks: Vec<String>,
    accept: Option<Grid>,
}

impl SheetContent {
    fn of(setup: &Setup<'_>, report: &OneStack<'_>, unit: Unit) -> Self {
        let (judged, fit) = (&report.judged, &report.judged.fit);
        let say = Units::One(unit);
        let corrections = fit_words::corrections(&report.terms, unit);
        let corrections = corrections.iter().map(|(term, gaps)| corrected(term, gaps, unit));
        let notes = fit_words::sum_notes(&report.terms).into_iter().map(String::from);
        let clutch = judged.details.as_ref().map(|details| &details.clutch);
        let summed = clutch.map(|clutch| sentences::edges_summed(&fit.window, clutch, unit));
        let bought = report.to_measure.as_ref().filter(|measure| !measure.accept.is_empty());
        let (wear, moved) = (sentences::wear(fit, say), sentences::gearbox_move(setup, fit, say));
        Self {
            verdict: sentences::verdict(fit, say),
            numbers: format!(
                "Preload {}, wear reserve {}, travel {}; {}.",
                say.length(fit.preload),
                say.length(fit.reserve),
                say.length(fit.travel),
                sentences::chance(&judged.chance)
            ),
            first: first(setup, report, unit),
            sum: fit_words::sum_grid(setup.library.kinds, fit, &report.terms, unit),
            notes: notes.chain(corrections).collect(),
            buy: to_buy(setup, fit),
            window: window(fit, unit),
            set_by: summed.map_or_else(String::new, |summed| format!("{summed}.")),
            wear: capital(&format!("{wear}; {moved}.")),
            checks: checks(fit),
            accept: bought.map(|measure| measuring::accept_grid(measure, unit)),
        }
    }

    /// How much room all of it takes, but for the drawing.
    fn room(&self) -> Text {
        const LEFT: f64 = 0.57;
        const RIGHT: f64 = 0.40;
        let lines = |text: Text, lines: &[String], points: f64, share: f64| {
            lines.iter().fold(text, |text, line| text.wrapped(line, points, false, share))
        };
        let heading = 6.0;
        let left = lines(Text::default().more(heading), &self.notes, 7.0, LEFT);
        let left = left.table(self.sum.rows().len()).more(heading);
        let left = lines(left, &self.buy, 8.0, LEFT);
        // A cell of two lines, such as an edge's name, is as good as another row.
        let right = Text::default().more(2.0 * heading).table(self.window.rows().len() + 1);
        let right = right.wrapped(&self.set_by, 7.0, false, RIGHT);
        let right = lines(right.wrapped(&self.wear, 8.0, false, RIGHT), &self.checks, 8.0, RIGHT);
        let top = Text::default().more(24.0).wrapped(&self.verdict, 13.0, true, 0.96);
        let top = top.wrapped(&self.numbers, 8.0, false, 0.96).more(4.0);
        let top = self.first.iter().fold(top, |top, line| top.wrapped(line, 8.0, true, 0.95));
        let all = top.columns(left, right).more(heading + 12.0).wrapped(
            sentences::SAFETY,
            6.8,
            false,
            1.0,
        );
        let accept = self.accept.as_ref();
        accept.map_or(all, |grid| all.more(heading).table(grid.rows().len()))
    }
}

/// One stack, ready to be printed. `date` is today's.
pub fn sheet(setup: &Setup<'_>, report: &OneStack<'_>, view: View, date: &str) -> String {
    const ABOUT: &str =
        "Fit of the hydraulic release bearing: what it is computed to be before it is built.";
    let content = SheetContent::of(setup, report, view.unit);
    let draw = |squash: f64| {
        let paper = Paper { alone: false, squash };
        drawing::stack(setup, report, view.unit, "sheet", paper)
    };
    let setting = room::fit(content.room(), draw(1.0).1 - drawing::SECTION, drawing::SECTION);
    let (figure, _) = draw(setting.squash);
    let paragraphs = |lines: &[String], class: &str| {
        html! {
            @for line in lines { p class=[(!class.is_empty()).then_some(class)] { (clean(line)) } }
        }
    };
    let again = [
        "finger depth",
        "bearing depth, extended",
        "bearing depth, retracted",
        "preload",
        "wear reserve",
        "date",
        "signature",
    ];
    let body = html! {
        (head(setup.job, date, ABOUT))
        section.verdict.out[!report.judged.fit.holds()] {
            p { (clean(&content.verdict)) }
            p { (clean(&content.numbers)) }
        }
        ul.cautions { @for line in &content.first { li { (clean(line)) } } }
        figure { (figure) }
        div.two {
            section {
                h2 { "The sum" }
                (table(&content.sum, true))
                (paragraphs(&content.notes, "note"))
                h2 { "To buy" }
                (paragraphs(&content.buy, ""))
            }
            section {
                h2 { "The window" }
                (table(&content.window, false))
                p.note { (clean(&content.set_by)) }
                p { (clean(&content.wear)) }
                h2 { "Checks" }
                (paragraphs(&content.checks, ""))
            }
        }
        @if let Some(accept) = &content.accept {
            h2 { "Accept on arrival what measures so, everything else as it stands" }
            (table(accept, false))
        }
        h2 { "Measured again after assembly" }
        div.again { @for name in again { (field(name, "")) } }
        p.safety { (sentences::SAFETY) }
    };
    let class = if setting.dense { "dense" } else { "" };
    page(&format!("Fit sheet, job {}", setup.job.id), class, &body)
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

/// With a capital, but for a key, which has none.
fn begun(text: &str) -> String {
    let is_key = text.split(' ').next().is_some_and(|word| word.contains('_'));
    if is_key { text.into() } else { capital(text) }
}

/// What somebody who builds it has to know first: cautions, checks that fail, what the answer rests on,
/// and what to measure where that would decide.
fn first(setup: &Setup<'_>, report: &OneStack<'_>, unit: Unit) -> Vec<String> {
    let (fit, say) = (&report.judged.fit, Units::One(unit));
    let cautions = report.judged.cautions.iter().map(|one| begun(&sentences::caution(one, say)));
    let fails = fit.checks.iter().filter(|check| check.failed());
    let fails = fails.map(|check| format!("Fails {}: {}", check.name, sentences::note(check, say)));
    let mut lines: Vec<String> = cautions.chain(fails).map(|line| format!("{line}.")).collect();
    for (line, slips) in fit_words::apart(setup, say) {
        lines.push(format!("{line} {}", begun(&slips.join("; "))).trim_end().into());
    }
    lines.extend(sentences::unverified(fit));
    let next = report.judged.details.as_ref().and_then(|details| details.next.as_ref());
    lines.extend(next.map(|next| format!("Next: {}.", measuring::next_words(next, unit))));
    lines
}

/// The window's edges without what only a statistician asks for.
fn window(fit: &Fit<'_>, unit: Unit) -> Grid {
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
    let failed = cells::failed(fit).join(", ");
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
