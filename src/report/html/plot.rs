//! Readings against the tolerance, piece by piece.

use maud::{Markup, html};

use crate::measure::findings::{Family, Finding, Findings};
use crate::measure::lessons::Lesson;
use crate::model::kinds::Quantity;
use crate::model::pieces::ReadingSet;
use crate::report::drawing::clean;
use crate::report::{View, lessons};

/// The size of the plot and of what is in it, in its own units.
const WIDTH: f64 = 360.0;
const LEFT: f64 = 64.0;
const RIGHT: f64 = 346.0;
const ROW: f64 = 24.0;
const TOP: f64 = 46.0;
/// How many pieces are drawn.
const PIECES: usize = 12;

/// One piece: its label, what was read on it, and their mean with the range that holds it with 95 %.
struct PiecePlot {
    label: String,
    values: Vec<i64>,
    mean: f64,
    half: f64,
}

/// The readings of one dimension of every piece beside what its maker states and where the next piece
/// is likely to be; nothing where nothing counts.
pub(super) fn plot(
    findings: &Findings<'_>,
    family: &Family<'_>,
    lesson: &Lesson,
    view: View,
    id: &str,
) -> Markup {
    let rows = rows(findings, family, lesson);
    let Some(scale) = ValueScale::of(lesson, &rows) else { return html! {} };
    let spec = lesson.spec;
    let shown = |value: f64| lessons::rounded(spec, value, view.unit);
    let unit = if spec.quantity == Quantity::Length { view.unit.name() } else { "" };
    let foot = TOP + number(rows.len()) * ROW;
    let height = foot + if lesson.next.is_some() { 62.0 } else { 38.0 };
    let limits = limits(lesson);
    let title = format!("{} of each piece, {unit}", spec.key);
    html! {
        figure.plot {
            figcaption { (title) }
            svg viewBox=(format!("0 0 {WIDTH} {height:.0}")) role="img" aria-labelledby=(id) font-size="11" {
                title id=(id) { (clean(&in_words(lesson, &rows, &shown))) }
                defs {
                    pattern id=(format!("{id}-out")) width="5" height="5" patternUnits="userSpaceOnUse"
                        patternTransform="rotate(45)" {
                        line x1="0" y1="0" x2="0" y2="5" stroke="currentColor" stroke-opacity="0.45" {}
                    }
                }
                @if let Some((low, high)) = limits {
                    @for (from, to) in [(LEFT, scale.x(low)), (scale.x(high), RIGHT)] {
                        @if to > from {
                            rect x=(n(from)) y=(n(TOP - 8.0)) width=(n(to - from)) height=(n(foot - TOP + 8.0))
                                fill=(format!("url(#{id}-out)")) {}
                        }
                    }
                    // Each limit has a line of its own: a narrow tolerance leaves no room beside it.
                    @for (at, value, y) in [(scale.x(low), low, 13.0), (scale.x(high), high, 29.0)] {
                        (line((at, y + 3.0), (at, foot), "1.6", ""))
                        text x=(n(at.clamp(LEFT, RIGHT - 30.0))) y=(n(y)) text-anchor="middle" fill="currentColor" { (shown(value)) }
                    }
                }
                @if let Some(listed) = lesson.listed {
                    @let x = scale.x(float(listed.value));
                    (line((x, TOP - 8.0), (x, foot), "1", "4 3"))
                    @if limits.is_none() {
                        text x=(n(x)) y="29" text-anchor="middle" fill="currentColor" { "listed " (shown(float(listed.value))) }
                    }
                }
                @for (index, row) in rows.iter().enumerate() {
                    @let y = TOP + (number(index) + 0.5) * ROW;
                    text x="2" y=(n(y + 4.0)) fill="currentColor" { (clean(&row.label)) }
                    (line((LEFT, y), (RIGHT, y), "0.5", "1 3"))
                    (line((scale.x(row.mean - row.half), y), (scale.x(row.mean + row.half), y), "2", ""))
                    (line((scale.x(row.mean), y - 8.0), (scale.x(row.mean), y + 8.0), "2.4", ""))
                    @for value in &row.values {
                        circle cx=(n(scale.x(float(*value)))) cy=(n(y)) r="3.2" fill="none" stroke="currentColor" stroke-width="1.4" {}
                    }
                }
                (line((LEFT, foot), (RIGHT, foot), "1", ""))
                @for (at, anchor) in [(scale.low, "start"), (scale.high, "end")] {
                    text x=(n(scale.x(at))) y=(n(foot + 16.0)) text-anchor=(anchor) fill="currentColor" { (shown(at)) }
                }
                @if let Some((from, to)) = lesson.next {
                    @let y = foot + 34.0;
                    (line((scale.x(from), y), (scale.x(to), y), "3.2", ""))
                    text x="2" y=(n(y + 4.0)) fill="currentColor" { "next" }
                    text x=(n(RIGHT)) y=(n(y + 20.0)) text-anchor="end" fill="currentColor" {
                        (shown(from)) " to " (shown(to)) ", with 95 %"
                    }
                }
            }
        }
    }
}

fn rows(findings: &Findings<'_>, family: &Family<'_>, lesson: &Lesson) -> Vec<PiecePlot> {
    let Some(dim) = family.part.kind.dim_index(lesson.spec.key) else { return Vec::new() };
    let row = |piece: &Finding<'_>| {
        let measured = piece.dims[dim].as_ref()?;
        let of_piece = |set: &&ReadingSet| {
            set.struck.is_none()
                && set.part == family.part.id
                && set.piece == piece.specimen.label
                && set.dimension == lesson.spec.key
        };
        let sets = findings.library.measured.readings.iter().filter(of_piece);
        Some(PiecePlot {
            label: format!("{} ({})", piece.specimen.label, piece.specimen.condition.word()),
            values: sets.flat_map(|set| set.values.iter().copied()).collect(),
            mean: measured.sample.mean(),
            half: measured.known.expanded(0.95),
        })
    };
    family.pieces.iter().filter_map(row).take(PIECES).collect()
}

/// What the maker allows.
fn limits(lesson: &Lesson) -> Option<(f64, f64)> {
    let listed = lesson.listed?;
    let tol = listed.tol?;
    Some((float(listed.value - tol), float(listed.value + tol)))
}

/// From values to places.
struct ValueScale {
    low: f64,
    high: f64,
}

impl ValueScale {
    /// One in which everything has room; none where there is nothing to show.
    fn of(lesson: &Lesson, rows: &[PiecePlot]) -> Option<Self> {
        if rows.is_empty() {
            return None;
        }
        let ends = rows.iter().flat_map(|row| [row.mean - row.half, row.mean + row.half]);
        let read = rows.iter().flat_map(|row| &row.values).map(|value| float(*value));
        let stated = lesson.listed.map(|listed| float(listed.value));
        let more = limits(lesson).into_iter().chain(lesson.next).flat_map(|(a, b)| [a, b]);
        let all = ends.chain(read).chain(stated).chain(more);
        let start = (f64::INFINITY, f64::NEG_INFINITY);
        let (low, high) = all.fold(start, |(low, high), at| (low.min(at), high.max(at)));
        let spare = ((high - low) * 0.08).max(1000.0);
        Some(Self { low: low - spare, high: high + spare })
    }

    fn x(&self, at: f64) -> f64 {
        let share = (at - self.low) / (self.high - self.low);
        LEFT + share.clamp(0.0, 1.0) * (RIGHT - LEFT)
    }
}

/// The plot in words.
fn in_words(lesson: &Lesson, rows: &[PiecePlot], shown: &impl Fn(f64) -> String) -> String {
    let stated = match (lesson.listed, limits(lesson)) {
        (_, Some((low, high))) => format!("allowed {} to {}", shown(low), shown(high)),
        (Some(listed), None) => format!("listed {}, no tolerance", shown(float(listed.value))),
        (None, None) => "nothing listed".into(),
    };
    let each = rows.iter().map(|row| {
        let readings = row.values.len();
        format!("{}: mean {} of {readings}", row.label, shown(row.mean))
    });
    let next = lesson.next.map_or_else(String::new, |(from, to)| {
        format!(". The next piece: {} to {} with 95 %", shown(from), shown(to))
    });
    format!("{}: {stated}. {}{next}", lesson.spec.key, each.collect::<Vec<_>>().join("; "))
}

fn line(from: (f64, f64), to: (f64, f64), width: &str, dash: &str) -> Markup {
    html! {
        line x1=(n(from.0)) y1=(n(from.1)) x2=(n(to.0)) y2=(n(to.1)) stroke="currentColor"
            stroke-width=(width) stroke-dasharray=[(!dash.is_empty()).then_some(dash)] {}
    }
}

/// A place in the plot.
fn n(place: f64) -> String {
    format!("{place:.1}")
}

#[allow(clippy::cast_precision_loss, reason = "places need no more than a float's digits")]
fn float(value: i64) -> f64 {
    value as f64
}

#[allow(clippy::cast_precision_loss, reason = "rows are few")]
fn number(count: usize) -> f64 {
    count as f64
}
