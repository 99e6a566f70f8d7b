//! Drawings: a stack in half section with its chain of dimensions and its travel bar, and the small
//! drawing that shows how a reading is taken. Texts are laid out, never placed by hope.

mod bar;
mod dimensions;
mod ink;
mod labels;
mod reading;
mod section;
mod words;

use itertools::Itertools as _;
use maud::Markup;

use super::units::Units;
use super::{View, recommend, sentences};
use crate::model::length::{Length, Unit};
use crate::stack::choice::Setup;
use crate::stack::picture::{Arrow, Picture, Rests, Travel};
use crate::stack::shown::OneStack;
use dimensions::{DrawnArrow, Rows, TextSide};
use ink::{Anchor, Canvas, Caption, NAME, SMALL, Stroke, TEXT};
pub(super) use ink::{Type, clean};
use labels::Label;
pub use reading::{Sketch, reading};
pub(super) use section::HEIGHT as SECTION;
use section::{AxisScale, Frame, Section, is_gone};

/// How wide a drawing is, in its own units.
pub(super) const WIDTH: f64 = 1000.0;
const MARGIN: f64 = 14.0;
/// How much of the block and of the gearbox is seen beyond what stands between them.
const BLOCK: f64 = 52.0;
const GEARBOX: f64 = 62.0;

/// A stack as an SVG file of its own.
pub fn svg(setup: &Setup<'_>, report: &OneStack<'_>, view: View) -> String {
    let paper = Paper { alone: true, squash: 1.0 };
    let (drawing, _) = stack(setup, report, view.unit, "stack", paper);
    format!("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n{}\n", drawing.into_string())
}

/// On what a drawing is made.
#[derive(Debug, Clone, Copy)]
pub(super) struct Paper {
    /// A file of its own, with a title; else part of a page.
    pub(super) alone: bool,
    /// By how much heights are made smaller.
    pub(super) squash: f64,
}

/// The drawing of a stack with its height. `id` begins the names of everything in it.
pub(super) fn stack(
    setup: &Setup<'_>,
    report: &OneStack<'_>,
    unit: Unit,
    id: &str,
    paper: Paper,
) -> (Markup, f64) {
    let alone = paper.alone;
    let (picture, fit) = (&report.picture, &report.judged.fit);
    let mut canvas = Canvas::new(id);
    let title = clean(&recommend::title(setup));
    let verdict = clean(&sentences::verdict(fit, Units::One(unit)));
    let mut top = MARGIN;
    if alone {
        let set = ink::Type { size: 16.0, bold: true };
        let room = WIDTH - 2.0 * MARGIN;
        top += set.line();
        canvas.text(&set.fit(&title, room), (MARGIN, top - 3.0), Anchor::Begins, set);
        for line in TEXT.wrap(&verdict, room) {
            top += TEXT.line();
            canvas.text(&line, (MARGIN, top - 2.0), Anchor::Begins, TEXT);
        }
        top += 10.0;
    }
    let mut frame = Frame { squash: paper.squash, ..frame(picture) };
    let labels = labels(setup, picture, &frame, unit);
    let labels = labels::lay(labels, MARGIN, WIDTH - MARGIN);
    frame.axis = top + labels.height() + section::HEIGHT * paper.squash;
    // Labels point at places on the drawing, which is known to stand only now.
    let laid = self::labels(setup, picture, &frame, unit);
    let laid = labels::lay(laid, MARGIN, WIDTH - MARGIN);
    let section = Section { picture, frame };
    canvas.group("half section", |canvas| section.draw(canvas));
    canvas.group("names of the parts", |canvas| laid.draw(canvas, top));
    let mut y = frame.axis + 18.0;
    let rows = chain(setup, picture, frame.scale, unit);
    let boxes = rows.boxes(y);
    canvas.group("faces", |canvas| witnesses(canvas, picture, &frame, &rows, y, &boxes));
    canvas.group("chain of dimensions", |canvas| rows.draw(canvas, y));
    y += rows.height() + 12.0;
    let sides = (MARGIN + 8.0, WIDTH - MARGIN - 8.0);
    canvas.group("travel of the bearing", |canvas| {
        bar::draw(canvas, &picture.travel, unit, y, sides);
    });
    y += bar::HEIGHT + 4.0;
    for line in SMALL.wrap(&legend(picture), WIDTH - 2.0 * MARGIN) {
        y += SMALL.line();
        canvas.text(&line, (MARGIN, y), Anchor::Begins, SMALL);
    }
    let about = Caption {
        title: &title,
        more: &clean(&more(setup, picture, &verdict, unit)),
        size: (WIDTH, y + MARGIN),
        alone,
        scale: Some((frame.scale.zero, frame.scale.per_mm)),
    };
    (canvas.finish(&about), y + MARGIN)
}

/// A small travel bar without texts, for the row of a list. `id` begins the names of everything in it.
pub fn small_bar(travel: &Travel, unit: Unit, id: &str) -> Markup {
    strip(travel, unit, id, 240.0)
}

/// The same, so wide.
pub(super) fn strip(travel: &Travel, unit: Unit, id: &str, width: f64) -> Markup {
    let mut canvas = Canvas::new(id);
    bar::small(&mut canvas, travel, (2.0, width - 2.0));
    let about = Caption {
        title: &super::travel::stands(travel, Units::One(unit)),
        more: &super::travel::number(travel, true, unit, "\u{b1}"),
        size: (width, bar::SMALL_HEIGHT),
        alone: false,
        scale: None,
    };
    canvas.finish(&about)
}

/// The scale at which everything finds room between the sides.
fn frame(picture: &Picture<'_>) -> Frame {
    let (low, high) = picture.ends();
    let (left, right) = (MARGIN + BLOCK, WIDTH - MARGIN - GEARBOX);
    let per_mm = (right - left) / (high - low).millimetres().max(1.0);
    let zero = left - low.millimetres() * per_mm;
    Frame {
        scale: AxisScale { zero, per_mm },
        axis: 0.0,
        sides: (MARGIN + 8.0, WIDTH - MARGIN - 8.0),
        squash: 1.0,
    }
}

fn labels(setup: &Setup<'_>, picture: &Picture<'_>, frame: &Frame, unit: Unit) -> Vec<Label> {
    let section = Section { picture, frame: *frame };
    let label = |piece: &crate::stack::picture::Piece<'_>| Label {
        name: words::kind(setup.library.kinds, piece.kind).into(),
        lines: words::piece(piece, picture.front.has_pack, unit)
            .iter()
            .map(|line| clean(line))
            .collect(),
        at: section.anchor(piece),
        changed: piece.change.is_one(),
    };
    picture.pieces.iter().map(label).collect()
}

/// The arrows beneath the half section.
fn chain(setup: &Setup<'_>, picture: &Picture<'_>, scale: AxisScale, unit: Unit) -> Rows {
    let chain = &picture.chain;
    let lay = |arrows: &[Arrow]| -> Vec<DrawnArrow> {
        let bar = |arrow: &Arrow| DrawnArrow {
            from: scale.x(arrow.from),
            to: scale.x(arrow.to),
            text: clean(&words::arrow(setup.library.kinds, arrow, unit)),
            set: dimensions::NAMED,
            stroke: match arrow.rests {
                Rests::Measured => Stroke::MEASURED,
                Rests::Catalogued => Stroke::CATALOGUED,
                Rests::Assumed => Stroke::ASSUMED,
            },
            side: TextSide::Right,
            both: false,
        };
        arrows.iter().map(bar).collect()
    };
    let mut rear = lay(&chain.bearing);
    rear.extend(lay(&chain.extended));
    rear.extend(lay(&chain.retracted));
    let (travel, fingers) = (&picture.travel, picture.front.fingers);
    let result = |name: &str, from: Length, to: Length, value: Length, side: TextSide| DrawnArrow {
        from: scale.x(from),
        to: scale.x(to),
        text: format!("{name} {}", value.show(unit)),
        set: NAME,
        stroke: Stroke::RESULT,
        side,
        both: true,
    };
    let results = vec![
        result("preload", picture.rear.extended, fingers, travel.preload, TextSide::Left),
        result("reserve", fingers, picture.rear.retracted, travel.reserve, TextSide::Right),
    ];
    Rows::lay(vec![lay(&chain.fingers), rear, results], MARGIN, WIDTH - MARGIN)
}

/// Thin lines from the faces that the numbers are about down to their arrows, broken where a text
/// stands.
fn witnesses(
    canvas: &mut Canvas,
    picture: &Picture<'_>,
    frame: &Frame,
    rows: &Rows,
    top: f64,
    boxes: &[[f64; 4]],
) {
    let (front, rear) = (&picture.front, &picture.rear);
    let faces = [
        ("zero", picture.chain.zero, if picture.chain.from_block { 90.0 } else { 146.0 }),
        ("block", picture.block.at, 96.0),
        ("flange", front.flange.at, 18.0),
        ("friction", front.friction.at, 92.0),
        ("cover", front.cover.at, 172.0),
        ("fingers", front.fingers, 48.0),
        ("extended", rear.extended, 42.0),
        ("retracted", rear.retracted, 42.0),
        ("seat", rear.seat.at, 20.0),
        ("gearbox", rear.gearbox.at, 178.0),
    ];
    for (name, at, radius) in faces {
        let x = frame.scale.x(at);
        let mut start = frame.y(radius);
        // A face that no arrow touches is only marked where it is.
        let Some(foot) = rows.lowest(x, top) else {
            canvas.face(name, at.nm(), (x, start), (x, start - 8.0), Stroke::OUTLINE);
            continue;
        };
        let mut crossed: Vec<&[f64; 4]> = boxes
            .iter()
            .filter(|[left, right, up, _]| *left <= x && x <= *right && *up < foot)
            .collect();
        crossed.sort_by(|a, b| a[2].total_cmp(&b[2]));
        let mut pieces = Vec::new();
        for [_, _, up, down] in crossed {
            pieces.push((start, *up));
            start = *down;
        }
        pieces.push((start, foot));
        for (from, to) in pieces.into_iter().filter(|(from, to)| to > from) {
            canvas.face(name, at.nm(), (x, from), (x, to), Stroke::WITNESS);
        }
    }
}

/// What the signs of this drawing mean: only those that it has.
fn legend(picture: &Picture<'_>) -> String {
    let rests = |rests: Rests| picture.chain.arrows().any(|arrow| arrow.rests == rests);
    let pieces = &picture.pieces;
    let ghost = pieces.iter().any(|piece| piece.change.ghost().is_some());
    let changed = pieces.iter().any(|piece| piece.change.is_one() && !is_gone(piece));
    let zero = if picture.chain.from_block {
        "Arrows begin at the block's face"
    } else {
        "Arrows begin behind the block plate"
    };
    let lines = [
        (rests(Rests::Measured), "thick where measured"),
        (rests(Rests::Catalogued), "thin where catalogued"),
        (rests(Rests::Assumed), "dashed where assumed"),
    ];
    let lines = lines.into_iter().filter(|(there, _)| *there).map(|(_, words)| words).join(", ");
    let parts = [
        (changed, "heavy outline: other than today"),
        (ghost, "dashed outline: today's"),
        (pieces.iter().any(|piece| piece.broken), "broken: own length not known, drawn by guess"),
        (picture.rear.tip.is_none(), "shaft's tip not known"),
    ];
    let parts = parts.into_iter().filter(|(there, _)| *there).map(|(_, words)| words);
    let parts = parts.map(|words| format!(" {}.", super::units::capital(words))).join("");
    format!(
        "To scale along the crank's axis, engine at the left; heights are no measure. {zero}: \
         {lines}.{parts} On the travel bar: hatched is outside the window, whiskers are twice u."
    )
}

/// The drawing in words.
fn more(setup: &Setup<'_>, picture: &Picture<'_>, verdict: &str, unit: Unit) -> String {
    let kinds = setup.library.kinds;
    let parts = picture.pieces.iter().map(|piece| {
        let name = words::kind(kinds, piece.kind);
        format!("{name}: {}", words::piece(piece, picture.front.has_pack, unit).join("; "))
    });
    let chain =
        |arrows: &[Arrow]| arrows.iter().map(|arrow| words::arrow(kinds, arrow, unit)).join("; ");
    let chains = &picture.chain;
    let to_bearing = [&chains.bearing, &chains.extended, &chains.retracted];
    let to_bearing =
        to_bearing.map(|arrows| chain(arrows)).into_iter().filter(|one| !one.is_empty());
    format!(
        "{verdict} A half section above the crank's axis, engine at the left, to scale along the axis. \
         Parts from the engine to the gearbox: {}. To the finger tips: {}. To the bearing: {}. Preload \
         {}, wear reserve {}.",
        { parts }.join(". "),
        chain(&chains.fingers),
        { to_bearing }.join("; then "),
        picture.travel.preload.show(unit),
        picture.travel.reserve.show(unit),
    )
}
