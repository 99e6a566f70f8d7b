//! Listed, measured and predicted side by side.

use super::View;
use super::page::{Grid, Page};
use super::shop::value_shown;
use super::units::Units;
use crate::measure::findings::{Family, Findings};
use crate::measure::lessons::{Lesson, lessons as taught};
use crate::measure::measured::Measured;
use crate::model::entry::Entry;
use crate::model::kinds::{DimSpec, Quantity};
use crate::model::length::{Length, Ratio, Unit, fixed};
use crate::model::words::count;

/// How many pieces are shown one by one.
const SHOWN: usize = 20;

/// A value in printed digits, without its unit.
pub(super) fn digits(spec: &DimSpec, value: i64, unit: Unit) -> String {
    match spec.quantity {
        Quantity::Length => Length::from_nm(value).digits(unit, true),
        Quantity::Ratio => fixed(value, Ratio::ONE, 3),
        _ => value_shown(spec.quantity, value, unit),
    }
}

/// The same of a number that was worked out.
#[allow(clippy::cast_possible_truncation, reason = "it is far below 2^53 of its base unit")]
pub(super) fn rounded(spec: &DimSpec, value: f64, unit: Unit) -> String {
    digits(spec, value.round() as i64, unit)
}

/// What the pieces of a part number teach; blank where nothing was read.
pub fn lessons(findings: &Findings<'_>, family: &Family<'_>, view: View) -> String {
    // It stands behind what else is shown of the part.
    page(findings, family, view).map_or_else(String::new, |page| format!("\n{}", page.finish()))
}

/// The same as a page; none where nothing was read.
pub(super) fn page(findings: &Findings<'_>, family: &Family<'_>, view: View) -> Option<Page> {
    let lessons = taught(findings, family);
    if lessons.is_empty() && family.pieces.iter().all(|piece| !piece.is_measured()) {
        return None;
    }
    let mut page = Page::new(view.width);
    if lessons.iter().any(|lesson| lesson.sample.is_some()) {
        side_by_side(&mut page, &lessons, view.unit);
    }
    for lesson in &lessons {
        remarks(&mut page, lesson, view.unit);
    }
    pieces(&mut page, family, view.unit);
    Some(page)
}

fn side_by_side(page: &mut Page, lessons: &[Lesson], unit: Unit) {
    let name = unit.name();
    page.line("New pieces as they measured, and the next one as it is likely to be:");
    let mut grid = Grid::new([
        "dimension".to_string(),
        format!(">listed\n{name}"),
        format!(">tolerance\n{name}"),
        ">pieces".into(),
        format!(">mean\n{name}"),
        format!(">s\n{name}"),
        format!(">next, 95 %\nfrom {name}"),
        format!(">next, 95 %\nto {name}"),
    ]);
    for lesson in lessons {
        let Some(sample) = lesson.sample else { continue };
        let spec = lesson.spec;
        let shown = |value: Option<i64>, none: &str| {
            value.map_or_else(|| none.to_string(), |value| digits(spec, value, unit))
        };
        let worked_out =
            |value: Option<f64>| value.map_or_else(String::new, |value| rounded(spec, value, unit));
        grid.row([
            spec.key.to_string(),
            shown(lesson.listed.map(|entry| entry.value), "unknown"),
            shown(lesson.listed.and_then(|entry: Entry| entry.tol), ""),
            sample.count().to_string(),
            rounded(spec, sample.mean(), unit),
            worked_out(lesson.s),
            worked_out(lesson.next.map(|(from, _)| from)),
            worked_out(lesson.next.map(|(_, to)| to)),
        ]);
    }
    page.grid(grid);
    if lessons.iter().any(|lesson| lesson.sample.is_some() && lesson.next.is_none()) {
        page.line(
            "One piece says nothing of how much pieces differ: the next one is taken as listed, or else \
             as that one.",
        );
    }
}

/// Pieces that stand apart, and what was struck.
fn remarks(page: &mut Page, lesson: &Lesson, unit: Unit) {
    let value = |value: i64| match lesson.spec.quantity {
        Quantity::Length => Units::One(unit).length(Length::from_nm(value)),
        quantity => value_shown(quantity, value, unit),
    };
    for apart in &lesson.apart {
        page.line(format!(
            "{} stands apart: its {} is {}, its sisters' {}, {:.1} times their scatter off. Same \
             revision?",
            apart.piece,
            lesson.spec.key,
            value(apart.value),
            value(apart.sisters),
            apart.times
        ));
    }
    if lesson.struck > 0 {
        let struck = count(lesson.struck as u128, "reading");
        let verb = if lesson.struck == 1 { "is" } else { "are" };
        page.line(format!("{struck} of {} {verb} struck and do not count.", lesson.spec.key));
    }
}

/// Piece by piece.
fn pieces(page: &mut Page, family: &Family<'_>, unit: Unit) {
    let name = unit.name();
    let mut grid = Grid::new([
        "piece".to_string(),
        "condition".into(),
        "in hand".into(),
        "dimension".into(),
        format!(">measured\n{name}"),
        format!(">+- (95 %)\n{name}"),
        ">readings".into(),
    ]);
    let measured: Vec<_> = family.pieces.iter().filter(|piece| piece.is_measured()).collect();
    if measured.is_empty() {
        return;
    }
    for piece in measured.iter().take(SHOWN) {
        let dims = family.part.kind.dims.iter().zip(&piece.dims);
        for (spec, known) in dims.filter_map(|(spec, known)| Some((spec, known.as_ref()?))) {
            let mark = if known.is_assumed() { "*" } else { " " };
            let specimen = piece.specimen;
            grid.row([
                specimen.label.clone(),
                specimen.condition.word().into(),
                if specimen.in_hand { "yes" } else { "gone" }.into(),
                spec.key.into(),
                digits(spec, known.sample.whole_mean(), unit),
                format!("{}{mark}", rounded(spec, known.known.expanded(0.95), unit)),
                known.sample.count().to_string(),
            ]);
        }
    }
    page.gap();
    page.line("Piece by piece:");
    page.grid(grid);
    if measured.iter().any(|piece| piece.dims.iter().flatten().any(Measured::is_assumed)) {
        page.line(
            "* the instrument's limit of error or the scatter of its readings is not known, and was \
             assumed",
        );
    }
    if measured.len() > SHOWN {
        let more = count((measured.len() - SHOWN) as u128, "more piece");
        page.line(format!("{more} not shown."));
    }
}
