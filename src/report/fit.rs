//! One stack with every term of its sum, so that it can be checked with a pencil.

use super::page::{Grid, Page};
use super::recommend::{aftermath, next, premises, title};
use super::units::{Units, capital};
use super::{View, aside, cells, measuring, sentences, travel};
use crate::model::entry::Basis;
use crate::model::kinds::Kinds;
use crate::model::length::{Length, Unit, divide_half_away, narrowed};
use crate::stack::agreement::{Agreement, CrossCheck};
use crate::stack::checks::Outcome;
use crate::stack::choice::Setup;
use crate::stack::fit::Fit;
use crate::stack::shown::{OneStack, Shown};
use crate::stack::terms::Term;

/// The answer, the sum, the window's edges, cross-checks and checks.
pub fn table(setup: &Setup<'_>, report: &OneStack<'_>, view: View) -> String {
    let say = Units::One(view.unit);
    let (judged, fit) = (&report.judged, &report.judged.fit);
    let mut page = Page::new(view.width);
    page.line(sentences::verdict(fit, say));
    page.line(format!(
        "Preload {}, wear reserve {}, travel {}; {}.",
        say.length(fit.preload),
        say.length(fit.reserve),
        say.length(fit.travel),
        sentences::chance(&judged.chance)
    ));
    premises(&mut page, setup, fit, say);
    beside(&mut page, setup, report, say);
    page.gap();
    aftermath(&mut page, setup, judged, say, "");
    if report.to_measure.is_none() {
        next(&mut page, judged, say, "");
    }
    page.gap();
    if let Some(details) = &judged.details {
        travel::full(&mut page, &details.travel, view);
        page.gap();
    }
    page.line(title(setup));
    slots(&mut page, setup, fit, say);
    page.gap();
    sum(&mut page, setup.library.kinds, fit, &report.terms, view.unit);
    page.gap();
    edges(&mut page, fit, view.unit);
    page.gap();
    if let Some(details) = &judged.details {
        let window = sentences::edges_summed(&fit.window, &details.clutch, view.unit);
        page.line(format!("Window: {window}."));
    }
    if let Some(to_measure) = &report.to_measure {
        measuring::table(&mut page, to_measure, view.unit);
    }
    page.gap();
    if let Some(line) = sentences::routes(judged) {
        page.line(line);
    }
    for unused in judged.details.iter().flat_map(|details| &details.unused) {
        page.line(sentences::unused(unused));
    }
    cross_checks(&mut page, setup, say);
    checks(&mut page, fit, say);
    page.gap();
    page.line(sentences::SAFETY);
    page.finish()
}

/// The verdict and its two numbers, in two lines.
pub fn brief(report: &OneStack<'_>, view: View) -> String {
    let (fit, say) = (&report.judged.fit, Units::One(view.unit));
    format!(
        "{}\nPreload {}, wear reserve {}.",
        sentences::verdict(fit, say),
        say.length(fit.preload),
        say.length(fit.reserve)
    )
}

/// The stacks beside the one that is judged: the car as it stands, and another piece of what was
/// asked for.
pub(super) fn beside(page: &mut Page, setup: &Setup<'_>, report: &OneStack<'_>, say: Units) {
    if let Some(line) = aside::in_stack(setup, &report.judged.fit) {
        page.line(line);
    }
    if let Some(Shown { fit: now, .. }) = &report.as_it_stands {
        page.line(format!(
            "Judged with a new disc. As it stands, with the disc as worn as it is: preload {}, wear \
             reserve {}; {}.",
            say.length(now.preload),
            say.length(now.reserve),
            now.grade.word()
        ));
    }
    if let Some(Shown { fit: other, .. }) = &report.another {
        page.line(format!(
            "Judged with what was measured and lies in hand: {}. With another one, to buy: preload \
             {}, wear reserve {}; {}.",
            cells::pieces(setup, &report.judged.fit),
            say.length(other.preload),
            say.length(other.reserve),
            other.grade.word()
        ));
    }
}

/// What stands in each slot, and what is not as fitted.
pub(super) fn slots(page: &mut Page, setup: &Setup<'_>, fit: &Fit<'_>, say: Units) {
    let slots = setup.library.kinds.slots().zip(&fit.choice.fills);
    let each: Vec<String> = slots
        .filter(|(_, fill)| fill.on_bench || !fill.parts.is_empty())
        .map(|((_, slot), fill)| format!("{} {}", slot.key, cells::fill(fill, say)))
        .collect();
    page.line(format!("Stack: {}.", each.join(", ")));
    if !fit.changed.is_empty() {
        page.line(format!("Not as fitted: {}.", cells::chosen(setup, fit, say)));
    }
}

/// The smallest step that is printed.
const fn step(unit: Unit) -> i64 {
    match unit {
        Unit::In => 2540,
        Unit::Mm => 1000,
    }
}

/// A printed length, counted in printed steps.
fn printed(length: Length, unit: Unit) -> i64 {
    let step = i128::from(step(unit));
    let steps = divide_half_away(i128::from(length.nm()), step);
    narrowed(steps)
}

pub(super) fn signed(length: Length, unit: Unit) -> String {
    let digits = length.digits(unit, true);
    if digits.starts_with('-') { digits } else { format!("+{digits}") }
}

fn sum(page: &mut Page, kinds: Kinds, fit: &Fit<'_>, terms: &[Term], unit: Unit) {
    page.grid(sum_grid(kinds, fit, terms, unit));
    beneath_sum(page, terms, unit);
}

/// What the marks of the sum mean, and how its ratio corrections come about.
pub(super) fn beneath_sum(page: &mut Page, terms: &[Term], unit: Unit) {
    for note in sum_notes(terms) {
        page.line(note);
    }
    for (term, parts) in corrections(terms, unit) {
        let plate = term.part.as_deref().unwrap_or("the fitted plate");
        page.line(format!(
            "ratio_correction: its value {} {} is by how much the gap differs from the one that the \
             finger height was taken at; {:+.3} (finger ratio of {plate}) times that goes to the \
             preload; its tolerance is that of the whole product. The difference is made of:",
            signed(term.value, unit),
            unit.name(),
            term.to_preload,
        ));
        for part in parts {
            page.hanging("    ", part);
        }
    }
}

/// Every term of the sum, and the sum.
pub(super) fn sum_grid(kinds: Kinds, fit: &Fit<'_>, terms: &[Term], unit: Unit) -> Grid {
    // What is nothing for certain is no term to check: the step of a flat flywheel, say.
    let terms: Vec<&Term> = terms.iter().filter(|term| !is_nothing(term)).collect();
    let learned = terms.iter().any(|term| is_learned(term));
    let name = unit.name();
    let mut columns = vec![
        "term".to_string(),
        "from".into(),
        format!(">value\n{name}"),
        format!(">tolerance\n{name}"),
    ];
    columns.extend(learned.then(|| "rests on".into()));
    columns.extend([format!(">to preload\n{name}"), format!(">to reserve\n{name}")]);
    let mut grid = Grid::new(columns);
    let adds = |is_used: f64, adds: Length| {
        if is_used == 0.0 { String::new() } else { signed(adds, unit) }
    };
    for term in &terms {
        let mut row = vec![
            with_side(kinds, term),
            term.part.clone().unwrap_or_else(|| "job".into()),
            term.value.digits(unit, true),
            tolerance(term, unit),
        ];
        row.extend(learned.then(|| term.basis.map(cells::basis).unwrap_or_default()));
        row.extend([adds(term.to_preload, term.adds), adds(term.to_reserve, term.adds_to_reserve)]);
        grid.row(row);
    }
    let mut last = |name: &str, sums: [String; 2]| {
        let mut row = vec![name.to_string()];
        row.resize(4 + usize::from(learned), String::new());
        row.extend(sums);
        grid.row(row);
    };
    // Where a value is no whole number of printed steps, the printed column may miss its sum by a
    // step: that difference is a line of its own, so that a pencil comes to the same sum.
    let preload: i64 = terms.iter().map(|term| printed(term.adds, unit)).sum();
    let reserve: i64 = terms.iter().map(|term| printed(term.adds_to_reserve, unit)).sum();
    let missing = [printed(fit.preload, unit) - preload, printed(fit.reserve, unit) - reserve];
    if missing != [0, 0] {
        let cell = |length: Length| {
            if length == Length::ZERO { String::new() } else { signed(length, unit) }
        };
        let cells = missing.map(|steps| cell(Length::from_nm(steps * step(unit))));
        last("rounding of the lines above", cells);
    }
    last("sum", [signed(fit.preload, unit), signed(fit.reserve, unit)]);
    grid
}

/// What the marks in the sum mean.
pub(super) fn sum_notes(terms: &[Term]) -> Vec<&'static str> {
    let starred = |measured: bool| {
        let counts = terms.iter().filter(|term| !is_nothing(term));
        counts.into_iter().any(|term| term.assumed && is_learned(term) == measured)
    };
    let mut notes = Vec::new();
    if starred(false) {
        notes.push("* assumed, because none was given (`bellstack window show` lists them)");
    }
    if starred(true) {
        notes.push(
            "* of what was measured: the instrument's limit of error, the scatter of the readings or \
             of the pieces is not known, and was assumed",
        );
    }
    notes
}

/// What a term is, with the word for the side of a signed length.
fn with_side(kinds: Kinds, term: &Term) -> String {
    let key = term.dimension.rsplit('.').next().unwrap_or_default();
    match kinds.sides(key).and_then(|sides| sides.word(term.value)) {
        Some(word) => format!("{} ({word})", term.dimension),
        None => term.dimension.clone(),
    }
}

/// Whether a term rests on readings of pieces.
fn is_learned(term: &Term) -> bool {
    matches!(term.basis, Some(Basis::Measured { .. } | Basis::Predicted { .. }))
        || term.made_of.iter().any(is_learned)
}

/// A term that is zero and exact, and is made of nothing else.
fn is_nothing(term: &Term) -> bool {
    term.value == Length::ZERO && term.tol == Length::ZERO && term.made_of.iter().all(is_nothing)
}

fn tolerance(term: &Term, unit: Unit) -> String {
    let mark = if term.assumed { "*" } else { " " };
    format!("{}{mark}", term.tol.digits(unit, true))
}

/// The ratio corrections, each with what the difference of gaps in it is made of.
pub(super) fn corrections(terms: &[Term], unit: Unit) -> Vec<(&Term, Vec<String>)> {
    let made = terms.iter().filter(|term| !is_nothing(term) && !term.made_of.is_empty());
    made.map(|term| (term, gaps(term, unit))).collect()
}

fn gaps(term: &Term, unit: Unit) -> Vec<String> {
    let part = |gap: &Term| {
        format!(
            "{} {} of {}, tolerance {}{}",
            signed(gap.adds, unit),
            gap.dimension,
            gap.part.as_deref().unwrap_or("the job"),
            gap.tol.digits(unit, true),
            match gap.basis {
                _ if gap.assumed => " (assumed)".into(),
                Some(basis) if is_learned(gap) => format!(" ({})", cells::basis(basis)),
                _ => String::new(),
            }
        )
    };
    term.made_of.iter().filter(|gap| !is_nothing(gap)).map(part).collect()
}

fn edges(page: &mut Page, fit: &Fit<'_>, unit: Unit) {
    page.grid(edges_grid(fit, unit));
}

/// The window's edges, each with how far inside the stack is and how sure that is.
pub(super) fn edges_grid(fit: &Fit<'_>, unit: Unit) -> Grid {
    let name = unit.name();
    let float = fit.edges.set().any(|(_, edge)| edge.float != Length::ZERO);
    let mut columns = vec![
        "edge".to_string(),
        format!(">limit\n{name}"),
        "set by".into(),
        format!(">computed\n{name}"),
    ];
    if float {
        columns.push(format!(">end float\n{name}"));
    }
    columns.extend([
        format!(">room\n{name}"),
        format!(">worst case\n{name}"),
        format!(">u\n{name}"),
        "grade".into(),
    ]);
    let mut grid = Grid::new(columns);
    let digits = |length: Length| length.digits(unit, true);
    for (at, edge) in fit.edges.set() {
        let value = if at.is_preload() { fit.preload } else { fit.reserve };
        let mut row = vec![
            sentences::edge_name(at).to_string(),
            digits(edge.limit),
            sentences::set_by(&fit.window, at, edge.set_by).into(),
            digits(value),
        ];
        if float {
            row.push(digits(edge.float));
        }
        #[allow(clippy::cast_possible_truncation, reason = "u is far below 2^53 nm")]
        let u = Length::from_nm(edge.spread.u().round() as i64);
        row.extend([
            digits(edge.room),
            digits(edge.spread.worst_case_length()),
            digits(u),
            edge.grade.word().into(),
        ]);
        grid.row(row);
    }
    grid
}

/// Two ways to one length that disagree, each with the single slips that would explain it.
pub(super) fn apart(setup: &Setup<'_>, say: Units) -> Vec<(String, Vec<String>)> {
    let told = |check: &CrossCheck| {
        let [first, second] = check.routes();
        let line = format!(
            "Cross-check, {}: by {first} {}, by {second} {}: {} apart, {}.",
            check.length(),
            say.length(check.first_value),
            say.length(check.second_value),
            say.length(check.difference().abs()),
            match check.agreement {
                Agreement::CannotBothBeRight => "they cannot both be right",
                _ => "doubtful",
            }
        );
        let slip = |slip| format!("it would be explained by {}", say.note(slip));
        (line, check.slips.iter().map(slip).collect())
    };
    setup.cross_checks().apart().into_iter().map(told).collect()
}

/// What disagrees in full, what agrees in one line.
pub(super) fn cross_checks(page: &mut Page, setup: &Setup<'_>, say: Units) {
    let checks = setup.cross_checks();
    for (line, slips) in apart(setup, say) {
        page.line(line);
        for slip in slips {
            page.hanging("    ", slip);
        }
    }
    if checks.confirmed && !checks.apart().is_empty() {
        page.line(
            "Two readings of the finger tips agree: the catalogue does not describe the part on this \
             car.",
        );
    }
    // Of those that agree, the widest apart of each length says enough.
    let agree = checks.shown();
    let agree = agree.iter().filter(|check| check.agreement == Agreement::Agree);
    let mut widest: Vec<(&str, usize, Length)> = Vec::new();
    for check in agree {
        let apart = check.difference().abs();
        match widest.iter_mut().find(|(length, ..)| *length == check.length()) {
            Some((_, checks, most)) => {
                *checks += 1;
                *most = apart.max(*most);
            }
            None => widest.push((check.length(), 1, apart)),
        }
    }
    let each: Vec<String> = widest
        .iter()
        .map(|(length, checks, most)| match checks {
            1 => format!("{length} within {}", say.length(*most)),
            _ => format!("{length} by {checks} comparisons within {}", say.length(*most)),
        })
        .collect();
    if !each.is_empty() {
        page.line(format!("Cross-checks that agree: {}.", each.join("; ")));
    }
}

/// The checks that pass, and those that could not be made.
pub(super) fn checks(page: &mut Page, fit: &Fit<'_>, say: Units) {
    page.gap();
    for check in &fit.checks {
        if let Outcome::Pass(note) = &check.outcome {
            page.line(format!("Passes {}: {}.", check.name, say.note(note)));
        }
    }
    if let Some(line) = sentences::unchecked(&fit.checks) {
        page.line(capital(&line));
    }
}
