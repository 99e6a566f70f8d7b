//! The small drawing that shows how a reading is taken: its two faces, and where gauge and bar sit.
//! Nothing in it is to scale.

use maud::Markup;

use super::dimensions::{self, DrawnArrow, Rows, TextSide};
use super::ink::{Anchor, Canvas, Caption, Hatch, SMALL, ShapeFill, Stroke};
use super::labels::{self, Label};
use super::section::{AxisScale, Frame, Section};
use crate::model::edge::PerEdge;
use crate::model::job::Reading;
use crate::model::length::Length;
use crate::stack::picture::{Chain, Face, Front, Picture, Piece, Rear, SlotChange, Stands, Travel};

/// Which drawing of a reading is wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sketch {
    /// The reading.
    pub reading: Reading,
    /// It is taken over the block plate.
    pub over_plate: bool,
    /// The crank's flange stands behind the block's face, away from the gearbox.
    pub recessed: bool,
}

const WIDTH: f64 = 340.0;
const HIGH: f64 = 118.0;
const SIDE: f64 = 10.0;

/// Positions of the drawing in millimetres: invented, so that every face is easy to tell.
const fn mm(mm: i64) -> Length {
    Length::from_nm(mm * 1_000_000)
}

/// How a reading is taken. `id` begins the names of everything in the drawing.
pub fn reading(sketch: Sketch, id: &str) -> Markup {
    // No other reading has the block plate in sight.
    let on_block = matches!(sketch.reading, Reading::CrankProtrusion | Reading::FingerDepth);
    let sketch = Sketch { over_plate: sketch.over_plate && on_block, ..sketch };
    let shown = ReadingPicture::of(sketch);
    let picture = nominal(sketch);
    let mut canvas = Canvas::new(id);
    let (low, high) = shown.span;
    let per_mm = (WIDTH - 2.0 * SIDE) / (high - low).millimetres();
    let zero = SIDE - low.millimetres() * per_mm;
    let mut frame = Frame {
        scale: AxisScale { zero, per_mm },
        axis: 0.0,
        sides: (SIDE + 2.0, WIDTH - SIDE - 2.0),
        squash: HIGH / 290.0,
    };
    let lay = |frame: &Frame| labels::lay(shown.labels(frame), 2.0, WIDTH - 2.0);
    frame.axis = 4.0 + lay(&frame).height() + HIGH;
    let laid = lay(&frame);
    let section = Section { picture: &picture, frame };
    canvas.group("parts", |canvas| shown.parts(&section, canvas));
    canvas.group("gauge", |canvas| shown.gauge(&section, canvas));
    canvas.group("names", |canvas| laid.draw(canvas, 4.0));
    let top = frame.axis + 6.0;
    let bar = DrawnArrow {
        from: frame.x(shown.from.0),
        to: frame.x(shown.to.0),
        text: shown.name.into(),
        set: dimensions::NAMED,
        stroke: Stroke::RESULT,
        side: TextSide::Right,
        both: true,
    };
    for (at, radius) in [shown.from, shown.to] {
        let x = frame.x(at);
        canvas.lines(&[(x, frame.y(radius)), (x, top + 12.0)], Stroke::WITNESS);
    }
    let rows = Rows::lay(vec![vec![bar]], 2.0, WIDTH - 2.0);
    rows.draw(&mut canvas, top);
    let mut y = top + rows.height();
    for line in SMALL.wrap(shown.how, WIDTH - 4.0) {
        y += SMALL.line();
        canvas.text(&line, (2.0, y), Anchor::Begins, SMALL);
    }
    let [first, second] = [&shown.names.0, &shown.names.1];
    let about = Caption {
        title: shown.name,
        more: &format!("{}, from the {first} to the {second}. {}", shown.name, shown.how),
        size: (WIDTH, y + 6.0),
        alone: false,
        scale: None,
    };
    canvas.finish(&about)
}

/// What one drawing shows.
struct ReadingPicture {
    sketch: Sketch,
    name: &'static str,
    /// The two faces that are measured between: where each is, and how far from the axis.
    from: (Length, f64),
    to: (Length, f64),
    names: (&'static str, &'static str),
    how: &'static str,
    span: (Length, Length),
}

/// Where the faces of the drawing stand.
const BLOCK: Length = mm(0);
const FINGERS: Length = mm(62);
const FRICTION: Length = mm(26);
const PRESSED: Length = mm(34);
const CONTACT_OUT: Length = mm(54);
const CONTACT_BOTTOMED: Length = mm(84);
const BELL_REAR: Length = mm(150);
const THICK: Length = mm(7);

impl ReadingPicture {
    fn of(sketch: Sketch) -> Self {
        let flange = flange(sketch);
        let block = if sketch.over_plate { "block plate's face" } else { "block's face" };
        match sketch.reading {
            Reading::CrankProtrusion if sketch.recessed => Self {
                sketch,
                name: "crank protrusion, recessed",
                from: (BLOCK, 100.0),
                to: (flange, 60.0),
                names: (block, "crank flange"),
                how: "A bar across the block, the gauge down to the flange; the bar comes off.",
                span: (mm(-30), mm(46)),
            },
            Reading::CrankProtrusion => Self {
                sketch,
                name: "crank protrusion, proud",
                from: (BLOCK, 230.0),
                to: (flange, 60.0),
                names: (block, "crank flange"),
                how: "A bar across the flange, the gauge down to the block; the bar comes off.",
                span: (mm(-30), mm(46)),
            },
            Reading::ClutchHeight => Self {
                sketch,
                name: "clutch height",
                from: (flange, 30.0),
                to: (FINGERS, 60.0),
                names: ("face on the crank", "finger tips"),
                how: "On the bench, bolted down: a bar or hub on the tips, the gauge down to the \
                      bench; what lies on the tips comes off.",
                span: (mm(-8), mm(96)),
            },
            Reading::FingerDepth => Self {
                sketch,
                name: "finger depth",
                from: (BLOCK, 250.0),
                to: (FINGERS, 60.0),
                names: (block, "finger tips"),
                how: "On the car: a bar across the tips, the gauge past the clutch to the block; the \
                      bar comes off.",
                span: (mm(-30), mm(96)),
            },
            Reading::BearingDepthExtended | Reading::BearingDepthRetracted => {
                let out = sketch.reading == Reading::BearingDepthExtended;
                Self {
                    sketch,
                    name: if out { "bearing depth, extended" } else { "bearing depth, retracted" },
                    from: (BLOCK, 234.0),
                    to: (if out { CONTACT_OUT } else { CONTACT_BOTTOMED }, 60.0),
                    names: ("bell's engine face", "bearing's contact face"),
                    how: if out {
                        "Bell on the gearbox, bearing let out as far as it may work: a bar across \
                         the bell, the gauge down to the bearing; the bar comes off."
                    } else {
                        "The same with the bleeder open and the bearing pushed back until it \
                         bottoms; the bar comes off."
                    },
                    span: (mm(-14), mm(176)),
                }
            }
            Reading::FittedDiscThickness => Self {
                sketch,
                name: "fitted disc thickness",
                from: (FRICTION, 106.0),
                to: (PRESSED, 106.0),
                names: ("facing at the flywheel", "facing at the plate"),
                how: "Over both facings with the disc pressed flat, at three places.",
                span: (mm(8), mm(52)),
            },
        }
    }

    fn labels(&self, frame: &Frame) -> Vec<Label> {
        let label = |name: &str, (at, radius): (Length, f64)| Label {
            name: name.into(),
            lines: Vec::new(),
            at: (frame.x(at), frame.y(radius)),
            changed: false,
        };
        let mut labels = vec![label(self.names.0, self.from), label(self.names.1, self.to)];
        if let Some((at, radius)) = self.bar_middle() {
            labels.push(label("bar", (at, radius)));
        }
        labels
    }

    /// What lies between gauge and face: from where to where along the axis, and between which radii.
    fn bar(&self) -> Option<((Length, Length), (f64, f64))> {
        let flange = flange(self.sketch);
        Some(match self.sketch.reading {
            Reading::CrankProtrusion if self.sketch.recessed => {
                ((BLOCK, BLOCK + THICK), (0.0, 250.0))
            }
            Reading::CrankProtrusion => ((flange, flange + THICK), (0.0, 252.0)),
            Reading::ClutchHeight => ((FINGERS, FINGERS + THICK), (0.0, 262.0)),
            Reading::FingerDepth => ((FINGERS, FINGERS + THICK), (0.0, 268.0)),
            Reading::BearingDepthExtended | Reading::BearingDepthRetracted => {
                ((BLOCK - THICK, BLOCK), (0.0, 280.0))
            }
            Reading::FittedDiscThickness => return None,
        })
    }

    fn bar_middle(&self) -> Option<(Length, f64)> {
        let ((from, to), (low, high)) = self.bar()?;
        Some((Length::from_nm(i64::midpoint(from.nm(), to.nm())), (high - low) * 0.5))
    }

    fn parts(&self, section: &Section<'_, '_>, canvas: &mut Canvas) {
        match self.sketch.reading {
            Reading::CrankProtrusion => {
                section.crank(canvas);
                section.engine(canvas);
            }
            Reading::ClutchHeight => section.clutch(canvas),
            Reading::FingerDepth => {
                section.crank(canvas);
                section.engine(canvas);
                section.clutch(canvas);
            }
            Reading::BearingDepthExtended | Reading::BearingDepthRetracted => {
                section.bell(canvas);
                section.gearbox(canvas);
                section.bearing(canvas);
            }
            Reading::FittedDiscThickness => section.disc(canvas),
        }
        if self.sketch.over_plate {
            section.slab(canvas, "block_plate", ShapeFill::Hatch(Hatch::FallingFine));
        }
        section.centre(canvas, (2.0, WIDTH - 2.0));
    }

    /// The bar, the gauge's rod and both faces in heavy lines.
    fn gauge(&self, section: &Section<'_, '_>, canvas: &mut Canvas) {
        let frame = &section.frame;
        let heavy = Stroke { width: 3.2, ..Stroke::RESULT };
        if let Some((x, r)) = self.bar() {
            let x = (frame.x(x.0), frame.x(x.1));
            section.block(canvas, x, r, ShapeFill::Hatch(Hatch::Level), Stroke::OUTLINE);
        }
        let rod = |canvas: &mut Canvas, (from, to): (Length, Length), radius: f64| {
            let (from, to) = (frame.x(from), frame.x(to));
            let y = frame.y(radius);
            let toward = if to > from { 1.0 } else { -1.0 };
            let stem = Stroke { width: 2.2, ..Stroke::OUTLINE };
            canvas.lines(&[(from, y), (to - toward * 7.0, y)], stem);
            canvas.filled(
                &[(to, y), (to - toward * 8.0, y - 3.5), (to - toward * 8.0, y + 3.5)],
                stem,
            );
            // The gauge's head, flat on the bar.
            let head = [
                (from, y - 9.0),
                (from, y + 9.0),
                (from - toward * 6.0, y + 9.0),
                (from - toward * 6.0, y - 9.0),
            ];
            canvas.shape(&head, ShapeFill::Solid, Stroke::OUTLINE);
        };
        let flange = flange(self.sketch);
        match self.sketch.reading {
            Reading::CrankProtrusion if self.sketch.recessed => {
                rod(canvas, (BLOCK + THICK, flange), 60.0);
            }
            Reading::CrankProtrusion => rod(canvas, (flange + THICK, BLOCK), 230.0),
            Reading::ClutchHeight => {
                let x = frame.x(flange);
                canvas.lines(&[(x, frame.y(-6.0)), (x, frame.y(284.0))], heavy);
                rod(canvas, (FINGERS + THICK, flange), 244.0);
            }
            Reading::FingerDepth => rod(canvas, (FINGERS + THICK, BLOCK), 250.0),
            Reading::BearingDepthExtended | Reading::BearingDepthRetracted => {
                rod(canvas, (BLOCK - THICK, self.to.0), 60.0);
            }
            Reading::FittedDiscThickness => {
                for (face, outward) in [(FRICTION, -1.0), (PRESSED, 1.0)] {
                    let x = frame.x(face);
                    let jaw = [
                        (x, 118.0),
                        (x, 196.0),
                        (x + outward * 12.0, 196.0),
                        (x + outward * 12.0, 118.0),
                    ];
                    section.shape(canvas, &jaw, ShapeFill::Solid, Stroke::OUTLINE);
                }
                let (left, right) = (frame.x(FRICTION) - 12.0, frame.x(PRESSED) + 12.0);
                section.block(
                    canvas,
                    (left, right),
                    (196.0, 222.0),
                    ShapeFill::Tint,
                    Stroke::OUTLINE,
                );
            }
        }
        for (at, radius) in [self.from, self.to] {
            let (x, y) = (frame.x(at), frame.y(radius));
            canvas.lines(&[(x, y - 12.0), (x, y + 6.0)], heavy);
        }
    }
}

/// Where the crank flange stands in the drawing.
fn flange(sketch: Sketch) -> Length {
    match sketch.reading {
        Reading::CrankProtrusion if sketch.recessed => mm(-9),
        Reading::CrankProtrusion => mm(9),
        _ => mm(3),
    }
}

/// A stack of no car, with faces that are easy to tell.
fn nominal(sketch: Sketch) -> Picture<'static> {
    let face = |at: Length| Face { at, known: true };
    let flange = flange(sketch);
    // The plate stands before the faces that a reading over it is counted from.
    let block = if sketch.over_plate { mm(-4) } else { BLOCK };
    let stands = match sketch.reading {
        Reading::BearingDepthRetracted => CONTACT_BOTTOMED,
        _ => CONTACT_OUT,
    };
    let plate = Piece {
        slot: 0,
        kind: "block_plate",
        part: None,
        span: (block, BLOCK),
        broken: false,
        inside: None,
        change: SlotChange::Stays,
    };
    Picture {
        block: face(block),
        front: Front {
            flange: face(flange),
            friction: face(FRICTION),
            cover: face(FRICTION),
            pressed: face(PRESSED),
            fingers: FINGERS,
            pilot: None,
            hub: None,
            has_pack: false,
        },
        rear: Rear {
            bell: face(BLOCK),
            bell_rear: face(BELL_REAR),
            gearbox: face(BELL_REAR),
            seat: face(mm(124)),
            base: face(mm(124)),
            extended: CONTACT_OUT,
            retracted: CONTACT_BOTTOMED,
            stands,
            tip: None,
        },
        pieces: vec![plate],
        chain: Chain {
            zero: BLOCK,
            from_block: true,
            fingers: Vec::new(),
            bearing: Vec::new(),
            extended: Vec::new(),
            retracted: Vec::new(),
        },
        travel: Travel {
            travel: CONTACT_BOTTOMED - CONTACT_OUT,
            preload: Length::ZERO,
            reserve: Length::ZERO,
            off: (Length::ZERO, Length::ZERO),
            limits: PerEdge::default(),
            float: PerEdge::default(),
            stands: Stands::In(Length::ZERO),
        },
    }
}
