//! One stack with every term of its sum, so that it can be checked with a pencil.

use super::page::{Grid, Page};
use super::recommend::{aftermath, next, title};
use super::spoken::{Spoken, capital};
use super::{View, cells, measuring, sentences};
use crate::model::entry::Basis;
use crate::model::kinds::Kinds;
use crate::model::length::{Length, Unit, divide_half_away, narrowed};
use crate::stack::checks::Outcome;
use crate::stack::choice::Bench;
use crate::stack::crosscheck::Agreement;
use crate::stack::fit::{Fit, chance_of};
use crate::stack::grade::edge_grade;
use crate::stack::measuring::ToMeasure;
use crate::stack::terms::{Term, terms};
use crate::stack::unused::unused_readings;

/// A stack, worked out, and where the fitted disc is not the one that is judged, as it stands.
#[derive(Debug, Clone)]
pub struct FitReport<'a> {
    /// The stack that is judged.
    pub fit: Fit<'a>,
    /// The same with the fitted disc as it is now.
    pub as_it_stands: Option<Fit<'a>>,
    /// What is to be measured on it, where that was asked for or the grade asks for it.
    pub to_measure: Option<ToMeasure>,
}

/// The answer, the sum, the window's edges, cross-checks and checks.
pub fn table(bench: &Bench<'_>, report: &FitReport<'_>, view: View) -> String {
    let say = Spoken::In(view.unit);
    let fit = &report.fit;
    let mut page = Page::new(view.width);
    page.line(sentences::verdict(fit, say));
    page.line(format!(
        "Preload {}, wear reserve {}, travel {}; the chance that both are inside is {}.",
        say.length(fit.preload),
        say.length(fit.reserve),
        say.length(fit.travel),
        cells::chance(chance_of(fit))
    ));
    if let Some(now) = &report.as_it_stands {
        page.line(format!(
            "Judged with a new disc. As it stands, with the disc as worn as it is: preload {}, wear \
             reserve {}; {}.",
            say.length(now.preload),
            say.length(now.reserve),
            now.grade.word()
        ));
    }
    if fit.cross_checks(bench).iter().any(|check| check.agreement != Agreement::Agree) {
        page.line("Two ways to the same length disagree: see the cross-check below first.");
    }
    page.gap();
    page.line(title(bench));
    slots(&mut page, bench, fit, say);
    page.gap();
    sum(&mut page, bench.library.kinds, fit, view.unit);
    page.gap();
    edges(&mut page, fit, view.unit);
    page.gap();
    page.line(format!("Window: {}.", sentences::edges_summed(bench, fit, view.unit)));
    aftermath(&mut page, bench, fit, say, "");
    match &report.to_measure {
        Some(to_measure) => measuring::table(&mut page, fit, to_measure, view.unit),
        None => next(&mut page, fit, say, ""),
    }
    page.gap();
    if let Some(line) = sentences::routes(bench, fit) {
        page.line(line);
    }
    for unused in unused_readings(bench, fit) {
        page.line(sentences::unused(&unused));
    }
    cross_checks(&mut page, bench, fit, say);
    checks(&mut page, fit, say);
    page.gap();
    page.line(sentences::SAFETY);
    page.finish()
}

fn slots(page: &mut Page, bench: &Bench<'_>, fit: &Fit<'_>, say: Spoken) {
    let slots = bench.library.kinds.slots().zip(&fit.choice.fills);
    let each: Vec<String> = slots
        .filter(|(_, fill)| fill.bench || !fill.parts.is_empty())
        .map(|((_, slot), fill)| format!("{} {}", slot.key, cells::fill(fill, say)))
        .collect();
    page.line(format!("Stack: {}.", each.join(", ")));
    if !fit.changed.is_empty() {
        page.line(format!("Not as fitted: {}.", cells::chosen(bench, fit, say)));
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

fn signed(length: Length, unit: Unit) -> String {
    let digits = length.digits(unit, true);
    if digits.starts_with('-') { digits } else { format!("+{digits}") }
}

fn sum(page: &mut Page, kinds: Kinds, fit: &Fit<'_>, unit: Unit) {
    // What is nothing for certain is no term to check: the step of a flat flywheel, say.
    let terms: Vec<Term> = terms(fit).into_iter().filter(|term| !is_nothing(term)).collect();
    let learned = terms.iter().any(is_learned);
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
    page.grid(grid);
    let starred =
        |measured: bool| terms.iter().any(|term| term.assumed && is_learned(term) == measured);
    if starred(false) {
        page.line("* assumed, because none was given (`bellstack window show` lists them)");
    }
    if starred(true) {
        page.line(
            "* of what was measured: the instrument's limit of error, the scatter of the readings or \
             of the pieces is not known, and was assumed",
        );
    }
    for term in terms.iter().filter(|term| !term.made_of.is_empty()) {
        correction(page, term, unit);
    }
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

/// How the ratio correction comes about, beneath the sum.
fn correction(page: &mut Page, term: &Term, unit: Unit) {
    let plate = term.part.as_deref().unwrap_or("the fitted plate");
    page.line(format!(
        "ratio_correction: its value {} {} is by how much the gap differs from the one that the \
         finger height was taken at; {:+.3} (finger ratio of {plate}) times that goes to the \
         preload; its tolerance is that of the whole product. The difference is made of:",
        signed(term.value, unit),
        unit.name(),
        term.to_preload,
    ));
    for gap in term.made_of.iter().filter(|gap| !is_nothing(gap)) {
        page.hanging(
            "    ",
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
            ),
        );
    }
}

fn edges(page: &mut Page, fit: &Fit<'_>, unit: Unit) {
    let name = unit.name();
    let float = (0..4).any(|index| sentences::float_taken(fit, index) != Length::ZERO);
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
    for (index, edge) in fit.edges.iter().enumerate() {
        let Some(edge) = edge else { continue };
        let value = if index < 2 { fit.preload } else { fit.reserve };
        let mut row = vec![
            sentences::EDGES[index].to_string(),
            digits(edge.edge.limit),
            edge.edge.set_by.word().into(),
            digits(value),
        ];
        if float {
            row.push(digits(sentences::float_taken(fit, index)));
        }
        #[allow(clippy::cast_possible_truncation, reason = "u is far below 2^53 nm")]
        let u = Length::from_nm(edge.spread.u().round() as i64);
        row.extend([
            digits(edge.room),
            digits(edge.spread.worst_case_length()),
            digits(u),
            edge_grade(edge.room, &edge.spread).word().into(),
        ]);
        grid.row(row);
    }
    page.grid(grid);
}

/// The verb that goes with a route's name.
fn gives(route: &str) -> &'static str {
    let one = ["finger depth", "bearing depth"].iter().any(|one| route.starts_with(one));
    if one { "gives" } else { "give" }
}

/// What disagrees in full, what agrees in one line.
fn cross_checks(page: &mut Page, bench: &Bench<'_>, fit: &Fit<'_>, say: Spoken) {
    let checks = fit.cross_checks(bench);
    let (agree, apart): (Vec<_>, Vec<_>) =
        checks.iter().partition(|check| check.agreement == Agreement::Agree);
    for check in apart {
        page.line(format!(
            "Cross-check, {}: {} {} {}, {} {} {}: {} apart, {}.",
            check.length,
            check.used,
            gives(check.used),
            say.length(check.used_value),
            check.other,
            gives(check.other),
            say.length(check.other_value),
            say.length(check.difference().abs()),
            match check.agreement {
                Agreement::CannotBothBeRight => "they cannot both be right",
                _ => "doubtful",
            }
        ));
        for slip in &check.slips {
            page.hanging("    ", format!("it would be explained by {}", say.note(slip)));
        }
    }
    let each: Vec<String> = agree
        .iter()
        .map(|check| {
            let apart = say.length(check.difference().abs());
            format!("{} ({apart} from {})", check.length, check.other)
        })
        .collect();
    if !each.is_empty() {
        page.line(format!("Cross-checks that agree: {}.", each.join("; ")));
    }
}

fn checks(page: &mut Page, fit: &Fit<'_>, say: Spoken) {
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
