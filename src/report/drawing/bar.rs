//! The travel bar as a drawing.

use super::ink::{Anchor, Canvas, Hatch, NAME, SMALL, ShapeFill, Stroke, TEXT};
use crate::model::length::{Length, Unit};
use crate::report::travel::{number, stands};
use crate::report::units::Units;
use crate::stack::picture::{Stands, Travel};

/// The height of the bar with its texts.
pub(super) const HEIGHT: f64 = 74.0;
/// The height of a small one, without texts.
pub(super) const SMALL_HEIGHT: f64 = 22.0;

/// Beyond an end a bar shows at most this share of the travel.
const BEYOND: f64 = 0.12;

/// The bar between two sides, its texts above and beneath it.
pub(super) fn draw(canvas: &mut Canvas, travel: &Travel, unit: Unit, top: f64, sides: (f64, f64)) {
    let y = (top + 26.0, top + 46.0);
    let (left, right) = sides;
    let numbers = [true, false].map(|preload| number(travel, preload, unit, "\u{b1}"));
    let half = (right - left) / 2.0 - 8.0;
    canvas.text(&NAME.fit(&numbers[0], half), (left, top + 13.0), Anchor::Begins, NAME);
    canvas.text(&NAME.fit(&numbers[1], half), (right, top + 13.0), Anchor::Ends, NAME);
    if travel.travel <= Length::ZERO {
        let words = "No travel bar: the bearing does not travel from fully out to bottomed.";
        canvas.text(words, (left, y.1), Anchor::Begins, TEXT);
        return;
    }
    let ends = ends(travel, sides);
    let mark = strip(canvas, travel, y, ends, sides);
    let foot = y.1 + 16.0;
    let words = stands(travel, Units::One(unit));
    let width = NAME.width(&words);
    let names = [("fully out", ends.0, Anchor::Begins), ("bottomed", ends.1, Anchor::Ends)];
    let from = ends.0 + SMALL.width("fully out") + 10.0;
    let to = ends.1 - SMALL.width("bottomed") - 10.0;
    for (name, x, stand) in names {
        canvas.text(name, (x, foot), stand, SMALL);
    }
    let at = (mark - width / 2.0).clamp(from, (to - width).max(from));
    canvas.text(&words, (at, foot), Anchor::Begins, NAME);
}

/// A small bar, without texts, for the row of a list.
pub(super) fn small(canvas: &mut Canvas, travel: &Travel, sides: (f64, f64)) {
    if travel.travel > Length::ZERO {
        strip(canvas, travel, (4.0, SMALL_HEIGHT - 4.0), ends(travel, sides), sides);
    }
}

/// Where the ends of the bar stand: inside of the sides where the mark lies beyond one.
fn ends(travel: &Travel, sides: (f64, f64)) -> (f64, f64) {
    let whole = sides.1 - sides.0;
    let beyond = |by: Length| {
        let share = by.millimetres() / travel.travel.millimetres();
        if by > Length::ZERO { share.clamp(0.03, BEYOND) + 0.02 } else { 0.0 }
    };
    let (before, behind) = (beyond(-travel.preload), beyond(-travel.reserve));
    (sides.0 + whole * before, sides.1 - whole * behind)
}

/// Draws the bar and returns where its mark stands.
fn strip(
    canvas: &mut Canvas,
    travel: &Travel,
    y: (f64, f64),
    ends: (f64, f64),
    sides: (f64, f64),
) -> f64 {
    let per_mm = (ends.1 - ends.0) / travel.travel.millimetres();
    let x = |at: Length| ends.0 + at.millimetres() * per_mm;
    let block = |from: f64, to: f64| [(from, y.0), (to, y.0), (to, y.1), (from, y.1)];
    for barred in travel.barred() {
        let hatch = if barred.edge.is_missed_when_loose() { Hatch::Rising } else { Hatch::Falling };
        let shape = block(x(barred.from), x(barred.to));
        canvas.shape(&shape, ShapeFill::Hatch(hatch), Stroke { width: 0.8, ..Stroke::OUTLINE });
    }
    canvas.shape(&block(ends.0, ends.1), ShapeFill::None, Stroke { width: 1.6, ..Stroke::OUTLINE });
    let middle = f64::midpoint(y.0, y.1);
    let mark = x(travel.preload).clamp(sides.0 + 6.0, sides.1 - 6.0);
    // The mark: a line through the bar with a head above, its whiskers through the middle.
    let out = matches!(travel.stands, Stands::In(_));
    let stroke = if out { Stroke::BEARING } else { Stroke::CHANGED };
    let stroke = Stroke { width: 2.6, ..stroke };
    let (from, to) =
        (mark - travel.off.0.millimetres() * per_mm, mark + travel.off.1.millimetres() * per_mm);
    let (from, to) = (from.max(sides.0), to.min(sides.1));
    let thin = Stroke { width: 1.4, ..stroke };
    if to - from > 3.0 {
        canvas.lines(&[(from, middle), (to, middle)], thin);
        for end in [from, to] {
            canvas.lines(&[(end, middle - 5.0), (end, middle + 5.0)], thin);
        }
    }
    canvas.lines(&[(mark, y.0 - 3.0), (mark, y.1 + 3.0)], stroke);
    let head = [(mark, y.0), (mark - 5.5, y.0 - 8.0), (mark + 5.5, y.0 - 8.0)];
    canvas.filled(&head, stroke);
    mark
}
