//! The chain of dimensions beneath a half section: arrows to scale, each with its name and value.

use super::ink::{Anchor, Canvas, Stroke, TEXT, Type};

/// Where beside its arrow a text had better stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum TextSide {
    Left,
    Right,
}

/// An arrow to be laid.
#[derive(Debug, Clone)]
pub(super) struct DrawnArrow {
    pub(super) from: f64,
    pub(super) to: f64,
    pub(super) text: String,
    pub(super) set: Type,
    pub(super) stroke: Stroke,
    pub(super) side: TextSide,
    /// It has a head at both ends: a distance, not a step of the sum.
    pub(super) both: bool,
}

/// The height of a row.
pub(super) const ROW: f64 = 16.0;
const HEAD: f64 = 8.0;
/// Arrows shorter than this are shown from outside.
const SHORT: f64 = 15.0;
const GAP: f64 = 6.0;

/// Where a text of a row stands.
#[derive(Debug, Clone, Copy)]
enum TextPlace {
    Inside,
    Beside(f64, f64),
}

/// An arrow with its row and the place of its text.
struct LaidArrow {
    bar: DrawnArrow,
    row: usize,
    text_row: usize,
    place: TextPlace,
    text: String,
}

/// Arrows in their rows.
pub(super) struct Rows {
    laid: Vec<LaidArrow>,
    rows: usize,
}

impl Rows {
    /// Lays arrows out in rows, in their order: each in the row of the one before it, where it and its
    /// text have room there, else in the next. Every group begins a row.
    pub(super) fn lay(groups: Vec<Vec<DrawnArrow>>, left: f64, right: f64) -> Self {
        let mut laid = Vec::new();
        let mut rows = 0;
        for group in groups.into_iter().filter(|group| !group.is_empty()) {
            let mut taken: Vec<(f64, f64)> = Vec::new();
            let mut row = rows;
            for bar in group {
                let own = reach(&bar);
                let text = bar.set.fit(&bar.text, right - left);
                let free = |span: (f64, f64), taken: &[(f64, f64)]| {
                    span.0 >= left
                        && span.1 <= right
                        && taken.iter().all(|one| span.1 + GAP <= one.0 || span.0 >= one.1 + GAP)
                };
                let places = places(&bar, &text, left, right);
                let fits = |taken: &[(f64, f64)]| {
                    let clear = free((own.0.max(left), own.1.min(right)), taken);
                    let place = places.iter().find(|(_, span)| free(*span, taken));
                    place.filter(|_| clear).copied()
                };
                let mut found = fits(&taken);
                if found.is_none() {
                    if !taken.is_empty() {
                        row += 1;
                        taken.clear();
                    }
                    found = fits(&taken);
                }
                taken.push(own);
                let bar_row = row;
                let place = if let Some((place, span)) = found {
                    taken.push(span);
                    place
                } else {
                    // Not even an empty row has room beside the arrow: the text has the next one.
                    let span = alone(&bar, &text, left, right);
                    row += 1;
                    taken = vec![span];
                    TextPlace::Beside(span.0, span.1)
                };
                laid.push(LaidArrow { bar, row: bar_row, text_row: row, place, text });
                rows = row + 1;
            }
        }
        Self { laid, rows }
    }

    pub(super) fn height(&self) -> f64 {
        #[allow(clippy::cast_precision_loss, reason = "rows are few")]
        let rows = self.rows as f64;
        rows * ROW
    }

    #[allow(clippy::cast_precision_loss, reason = "rows are few")]
    fn y(row: usize, top: f64) -> f64 {
        top + (row as f64 + 0.5) * ROW
    }

    /// The places that texts take: each from left to right and from top to foot.
    pub(super) fn boxes(&self, top: f64) -> Vec<[f64; 4]> {
        let one = |laid: &LaidArrow| {
            let (from, to) = text_span(laid);
            let y = Self::y(laid.text_row, top);
            [from - 2.0, to + 2.0, y - ROW / 2.0, y + ROW / 2.0]
        };
        self.laid.iter().map(one).collect()
    }

    /// The foot of the lowest row in which some arrow begins or ends at a place.
    pub(super) fn lowest(&self, x: f64, top: f64) -> Option<f64> {
        let touches =
            |laid: &&LaidArrow| (laid.bar.from - x).abs() < 0.5 || (laid.bar.to - x).abs() < 0.5;
        let rows = self.laid.iter().filter(touches).map(|laid| laid.row);
        rows.max().map(|row| Self::y(row, top) + 5.0)
    }

    pub(super) fn draw(&self, canvas: &mut Canvas, top: f64) {
        for laid in &self.laid {
            let y = Self::y(laid.row, top);
            let span = text_span(laid);
            let inside = matches!(laid.place, TextPlace::Inside);
            arrow(canvas, &laid.bar, y, inside.then_some(span));
            let y = Self::y(laid.text_row, top);
            canvas.text(
                &laid.text,
                (span.0, y + laid.bar.set.size * 0.35),
                Anchor::Begins,
                laid.bar.set,
            );
        }
    }
}

/// From where to where the text of an arrow stands.
fn text_span(laid: &LaidArrow) -> (f64, f64) {
    match laid.place {
        TextPlace::Beside(from, to) => (from, to),
        TextPlace::Inside => {
            let middle = f64::midpoint(laid.bar.from, laid.bar.to);
            let half = laid.bar.set.width(&laid.text) / 2.0;
            (middle - half, middle + half)
        }
    }
}

/// What an arrow itself takes of a row.
fn reach(bar: &DrawnArrow) -> (f64, f64) {
    let (low, high) = (bar.from.min(bar.to), bar.from.max(bar.to));
    if high - low < SHORT { (low - HEAD - 6.0, high + HEAD + 6.0) } else { (low, high) }
}

/// Where a text may stand, the best first, each with what it takes of the row.
fn places(bar: &DrawnArrow, text: &str, left: f64, right: f64) -> Vec<(TextPlace, (f64, f64))> {
    let width = bar.set.width(text);
    let (low, high) = reach(bar);
    let mut places = Vec::new();
    if high - low >= width + 2.0 * HEAD + 24.0 {
        places.push((TextPlace::Inside, (low, high)));
    }
    let after = (high + GAP, high + GAP + width);
    let before = (low - GAP - width, low - GAP);
    let beside = |span: (f64, f64)| (TextPlace::Beside(span.0, span.1), span);
    let both = match bar.side {
        TextSide::Left => [before, after],
        TextSide::Right => [after, before],
    };
    let fits = |span: &(f64, f64)| span.0 >= left && span.1 <= right;
    places.extend(both.into_iter().filter(fits).map(beside));
    places
}

/// The place of a text that has no room beside its arrow.
fn alone(bar: &DrawnArrow, text: &str, left: f64, right: f64) -> (f64, f64) {
    let width = bar.set.width(text);
    let middle = f64::midpoint(bar.from, bar.to);
    let from = (middle - width / 2.0).clamp(left, (right - width).max(left));
    (from, from + width)
}

fn arrow(canvas: &mut Canvas, bar: &DrawnArrow, y: f64, text: Option<(f64, f64)>) {
    let (from, to) = (bar.from, bar.to);
    let toward = if to >= from { 1.0 } else { -1.0 };
    let head = |tip: f64, toward: f64| {
        [(tip, y), (tip - toward * HEAD, y - 3.4), (tip - toward * HEAD, y + 3.4)]
    };
    let solid = Stroke { dash: "", width: 0.6, ..bar.stroke };
    let line = |canvas: &mut Canvas, a: f64, b: f64| canvas.lines(&[(a, y), (b, y)], bar.stroke);
    if (to - from).abs() < SHORT {
        // From outside, pointing at both ends.
        for (tip, toward) in [(from.min(to), 1.0), (from.max(to), -1.0)] {
            line(canvas, tip - toward * (HEAD + 6.0), tip - toward * HEAD);
            canvas.filled(&head(tip, toward), solid);
        }
        return;
    }
    let end = to - toward * HEAD;
    let start = if bar.both { from + toward * HEAD } else { from };
    match text {
        Some((left, right)) => {
            let (near, far) =
                if toward > 0.0 { (left - 4.0, right + 4.0) } else { (right + 4.0, left - 4.0) };
            line(canvas, start, near);
            line(canvas, far, end);
        }
        None => line(canvas, start, end),
    }
    canvas.filled(&head(to, toward), solid);
    if bar.both {
        canvas.filled(&head(from, -toward), solid);
    } else {
        canvas.dot((from, y), 2.6, bar.stroke);
    }
}

/// What most arrows are named in.
pub(super) const NAMED: Type = TEXT;
