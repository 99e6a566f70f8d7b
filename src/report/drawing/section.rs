//! The half section: every part above the crank's axis, to scale along it. Heights are no measure.

use super::ink::{Canvas, Hatch, ShapeFill, Stroke};
use crate::model::length::Length;
use crate::stack::picture::{Picture, Piece, SlotChange};

/// How high a drawing stands above its axis.
pub(in crate::report) const HEIGHT: f64 = 290.0;

/// Turns positions along the axis into places on the drawing.
#[derive(Debug, Clone, Copy)]
pub(super) struct AxisScale {
    /// Where the zero of the positions stands.
    pub(super) zero: f64,
    /// How many units one millimetre has.
    pub(super) per_mm: f64,
}

impl AxisScale {
    pub(super) fn x(self, at: Length) -> f64 {
        self.zero + at.millimetres() * self.per_mm
    }
}

/// The frame in which a half section is drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    pub(super) scale: AxisScale,
    /// Where the axis runs.
    pub(super) axis: f64,
    /// Where the block is broken off, and the gearbox.
    pub(super) sides: (f64, f64),
    /// By how much heights are made smaller.
    pub(super) squash: f64,
}

impl Frame {
    pub(super) fn x(&self, at: Length) -> f64 {
        self.scale.x(at)
    }

    pub(super) fn y(&self, radius: f64) -> f64 {
        self.axis - radius * self.squash
    }

    /// Half a millimetre or so of a wall, never more than a share of what it is a wall of.
    fn wall(&self, mm: f64, of: f64) -> f64 {
        (mm * self.scale.per_mm).min(of.abs() * 0.3)
    }
}

/// Between which radii a kind is seen, for its outline of today, its break and its leader.
pub(super) fn band(kind: &str) -> (f64, f64) {
    match kind {
        "engine" => (96.0, 262.0),
        "block_plate" => (150.0, 286.0),
        "bell_spacer" => (234.0, 286.0),
        "bell_housing" => (180.0, 258.0),
        "gearbox_spacer" => (92.0, 178.0),
        "gearbox" => (20.0, 64.0),
        "flywheel" => (30.0, 214.0),
        "disc" => (106.0, 166.0),
        "pressure_plate" => (128.0, 204.0),
        "bearing" => (24.0, 60.0),
        _ => (20.0, 62.0),
    }
}

/// The shapes of one half section.
pub(super) struct Section<'s, 'a> {
    pub(super) picture: &'s Picture<'a>,
    pub(super) frame: Frame,
}

impl Section<'_, '_> {
    /// Draws everything, the farther parts first.
    pub(super) fn draw(&self, canvas: &mut Canvas) {
        self.crank(canvas);
        self.shaft(canvas);
        self.engine(canvas);
        self.bell(canvas);
        self.gearbox(canvas);
        for (kind, hatch) in [
            ("block_plate", Hatch::FallingFine),
            ("bell_spacer", Hatch::RisingFine),
            ("gearbox_spacer", Hatch::RisingFine),
        ] {
            self.slab(canvas, kind, ShapeFill::Hatch(hatch));
        }
        self.slab(canvas, "bearing_shim", ShapeFill::Solid);
        self.clutch(canvas);
        self.bearing(canvas);
        self.outlines(canvas);
        self.breaks(canvas);
        let (left, right) = self.frame.sides;
        self.centre(canvas, (left - 8.0, right + 8.0));
    }

    /// The crank's axis.
    pub(super) fn centre(&self, canvas: &mut Canvas, ends: (f64, f64)) {
        let y = self.frame.axis;
        canvas.lines(&[(ends.0, y), (ends.1, y)], Stroke::AXIS);
    }

    pub(super) fn shape(
        &self,
        canvas: &mut Canvas,
        points: &[(f64, f64)],
        fill: ShapeFill,
        stroke: Stroke,
    ) {
        let points: Vec<_> = points.iter().map(|(x, r)| (*x, self.frame.y(*r))).collect();
        canvas.shape(&points, fill, stroke);
    }

    pub(super) fn lines(&self, canvas: &mut Canvas, points: &[(f64, f64)], stroke: Stroke) {
        let points: Vec<_> = points.iter().map(|(x, r)| (*x, self.frame.y(*r))).collect();
        canvas.lines(&points, stroke);
    }

    pub(super) fn block(
        &self,
        canvas: &mut Canvas,
        x: (f64, f64),
        r: (f64, f64),
        fill: ShapeFill,
        stroke: Stroke,
    ) {
        self.shape(canvas, &[(x.0, r.0), (x.0, r.1), (x.1, r.1), (x.1, r.0)], fill, stroke);
    }

    /// How the part of a kind is drawn: hatched in section, plain where its length is not known, with a
    /// heavy outline where something is other than today.
    fn look(&self, kind: &str, hatch: ShapeFill) -> (ShapeFill, Stroke) {
        look(self.picture.piece(kind), hatch)
    }

    /// A broken-off edge from one radius to another, as points.
    fn torn(x: f64, from: f64, to: f64) -> Vec<(f64, f64)> {
        let steps = ((to - from).abs() / 11.0).round().max(3.0);
        let mut points = Vec::new();
        let mut step = 0.0;
        let mut side = 1.0;
        while step <= steps {
            let off = if step == 0.0 || step >= steps { 0.0 } else { 3.0 * side };
            points.push((x + off, from + (to - from) * step / steps));
            (step, side) = (step + 1.0, -side);
        }
        points
    }

    pub(super) fn engine(&self, canvas: &mut Canvas) {
        let face = self.frame.x(self.picture.block.at);
        let (low, high) = band("engine");
        let mut points = vec![(face, low), (face, high)];
        points.extend(Self::torn(self.frame.sides.0, high, low));
        self.shape(canvas, &points, ShapeFill::Hatch(Hatch::RisingWide), Stroke::OUTLINE);
    }

    pub(super) fn crank(&self, canvas: &mut Canvas) {
        let flange = self.frame.x(self.picture.front.flange.at);
        let left = self.frame.sides.0.min(flange - 4.0);
        let thick = self.frame.wall(10.0, flange - left);
        let mut points = vec![(flange, 18.0), (flange, 74.0), (flange - thick, 74.0)];
        points.push((flange - thick, 46.0));
        points.extend(Self::torn(left, 46.0, 18.0));
        let (_, stroke) = self.look("engine", ShapeFill::Tint);
        self.shape(canvas, &points, ShapeFill::Tint, stroke);
        if let Some((front, rear)) = self.picture.front.pilot {
            let x = (self.frame.x(front), self.frame.x(rear));
            self.block(canvas, x, (13.0, 18.0), ShapeFill::Hatch(Hatch::Crossed), Stroke::OUTLINE);
        }
    }

    fn shaft(&self, canvas: &mut Canvas) {
        let right = self.frame.sides.1;
        let front = &self.picture.front;
        let known = self.picture.rear.tip.map(|tip| self.frame.x(tip));
        let tip = known.unwrap_or_else(|| self.frame.x(front.pressed.at));
        let mut points = vec![(tip, 0.0)];
        match known {
            Some(_) => points.extend([(tip, 8.0), (tip + 5.0, 12.0)]),
            None => points.extend(Self::torn(tip, 0.0, 12.0)),
        }
        points.extend(Self::torn(right, 12.0, 0.0));
        self.shape(canvas, &points, ShapeFill::Tint, Stroke { width: 0.9, ..Stroke::OUTLINE });
    }

    pub(super) fn bell(&self, canvas: &mut Canvas) {
        let rear = &self.picture.rear;
        let (front, back) = (self.frame.x(rear.bell.at), self.frame.x(rear.bell_rear.at));
        let thick = self.frame.wall(10.0, back - front);
        let (fill, stroke) = self.look("bell_housing", ShapeFill::Hatch(Hatch::FallingWide));
        let points = [
            (front, 286.0),
            (front + thick, 286.0),
            (front + thick, 262.0),
            (back - thick, 186.0),
            (back, 186.0),
            (back, 92.0),
            (back - thick, 92.0),
            (back - thick, 168.0),
            (front + thick, 244.0),
            (front + thick, 234.0),
            (front, 234.0),
        ];
        self.shape(canvas, &points, fill, stroke);
    }

    pub(super) fn gearbox(&self, canvas: &mut Canvas) {
        let rear = &self.picture.rear;
        let (seat, face) = (self.frame.x(rear.seat.at), self.frame.x(rear.gearbox.at));
        let right = self.frame.sides.1;
        let (fill, stroke) = self.look("gearbox", ShapeFill::Hatch(Hatch::RisingWide));
        let mut points = vec![(seat, 20.0), (seat, 64.0), (face, 64.0), (face, 178.0)];
        points.extend(Self::torn(right, 178.0, 20.0));
        self.shape(canvas, &points, fill, stroke);
    }

    /// Plates, spacers and shims: slabs from face to face.
    pub(super) fn slab(&self, canvas: &mut Canvas, kind: &str, hatch: ShapeFill) {
        let pieces = self.picture.pieces.iter().filter(|piece| piece.kind == kind);
        for piece in pieces.filter(|piece| !is_gone(piece)) {
            let (fill, stroke) = look(Some(piece), hatch);
            // A thin one is not to vanish in its own outline.
            let width = (self.frame.x(piece.span.1) - self.frame.x(piece.span.0)).abs();
            let stroke = Stroke { width: stroke.width.min((width / 2.0).max(0.6)), ..stroke };
            let x = (self.frame.x(piece.span.0), self.frame.x(piece.span.1));
            self.block(canvas, x, band(kind), fill, stroke);
        }
    }

    pub(super) fn clutch(&self, canvas: &mut Canvas) {
        let front = &self.picture.front;
        let at = |length: Length| self.frame.x(length);
        let (flange, friction, cover) =
            (at(front.flange.at), at(front.friction.at), at(front.cover.at));
        let (pressed, tips) = (at(front.pressed.at), at(front.fingers));
        let (fill, stroke) = self.look("flywheel", ShapeFill::Hatch(Hatch::Rising));
        let points = [
            (flange, 30.0),
            (flange, 214.0),
            (cover, 214.0),
            (cover, 172.0),
            (friction, 172.0),
            (friction, 92.0),
            (flange + (friction - flange) * 0.55, 80.0),
            (flange + (friction - flange) * 0.55, 30.0),
        ];
        self.shape(canvas, &points, fill, stroke);
        self.disc(canvas);
        let thick = self.frame.wall(13.0, (tips - pressed) * 1.2);
        let (fill, stroke) = self.look("pressure_plate", ShapeFill::Hatch(Hatch::Falling));
        self.block(canvas, (pressed, pressed + thick), (104.0, 168.0), fill, stroke);
        let lid = cover + (tips - cover) * 0.62;
        let wall = self.frame.wall(2.6, tips - cover);
        let shell = [
            (cover, 214.0),
            (cover + wall, 214.0),
            (cover + wall, 206.0),
            (lid, 192.0),
            (lid, 132.0),
            (lid - wall, 132.0),
            (lid - wall, 186.0),
            (cover + wall, 198.0),
            (cover + wall, 176.0),
            (cover, 176.0),
        ];
        self.shape(canvas, &shell, ShapeFill::Solid, stroke);
        // The fingers: from the plate's rim over the cover's edge down to the bearing.
        let thin = wall * 0.8;
        let fingers = [
            (pressed + thick, 164.0),
            (lid - wall, 146.0),
            (tips - thin, 74.0),
            (tips, 66.0),
            (tips, 48.0),
            (tips - thin, 48.0),
            (tips - thin * 1.8, 66.0),
            (lid - wall - thin, 138.0),
            (pressed + thick, 154.0),
        ];
        self.shape(canvas, &fingers, ShapeFill::Tint, Stroke { width: 1.6, ..stroke });
    }

    pub(super) fn disc(&self, canvas: &mut Canvas) {
        let front = &self.picture.front;
        let (friction, pressed) = (self.frame.x(front.friction.at), self.frame.x(front.pressed.at));
        let has_pack = front.has_pack;
        let kind = if has_pack { "pressure_plate" } else { "disc" };
        let (_, stroke) = self.look(kind, ShapeFill::None);
        let middle = f64::midpoint(friction, pressed);
        let half = (pressed - friction) / 2.0;
        let crossed = ShapeFill::Hatch(Hatch::Crossed);
        if has_pack {
            // A pack: two discs with a plate between them, however many there really are.
            let third = (pressed - friction) / 3.0;
            let row = [
                (friction, crossed),
                (friction + third, ShapeFill::Solid),
                (friction + 2.0 * third, crossed),
            ];
            for (from, fill) in row {
                self.block(canvas, (from, from + third), (106.0, 166.0), fill, stroke);
            }
        } else {
            for (from, to) in [(friction, middle - half * 0.2), (middle + half * 0.2, pressed)] {
                self.block(canvas, (from, to), (106.0, 166.0), crossed, stroke);
            }
        }
        // The hub on the shaft, and what joins it to the facings.
        let hub = front.hub.map_or(friction + half * 0.4, |front| self.frame.x(front));
        let foot = (pressed + half).max(hub + half);
        self.block(
            canvas,
            (hub, foot),
            (13.0, 34.0),
            ShapeFill::Tint,
            Stroke { width: 1.0, ..stroke },
        );
        let web = [(middle, 166.0), (middle, 60.0), (f64::midpoint(hub, foot), 34.0)];
        self.lines(canvas, &web, Stroke { width: 1.8, ..stroke });
    }

    pub(super) fn bearing(&self, canvas: &mut Canvas) {
        let rear = &self.picture.rear;
        let at = |length: Length| self.frame.x(length);
        let (out, bottomed) = (at(rear.extended), at(rear.retracted));
        let (stands, foot) = (at(rear.stands), at(rear.base.at));
        let ring = self.frame.wall(5.0, foot - bottomed);
        let (fill, stroke) = self.look("bearing", ShapeFill::Hatch(Hatch::Level));
        let stroke = if stroke == Stroke::OUTLINE { Stroke::BEARING } else { stroke };
        // Both ends of its travel, as outlines of the ring that touches the fingers.
        for end in [out, bottomed] {
            self.block(canvas, (end, end + ring), (42.0, 70.0), ShapeFill::None, Stroke::END);
        }
        self.block(canvas, (bottomed + ring, foot), (24.0, 60.0), fill, stroke);
        self.block(canvas, (stands + ring, bottomed + ring), (46.0, 54.0), ShapeFill::Tint, stroke);
        self.block(canvas, (stands, stands + ring), (44.0, 68.0), ShapeFill::Solid, stroke);
    }

    /// What is there today and is not there any more, or not so long: dashed.
    fn outlines(&self, canvas: &mut Canvas) {
        for piece in &self.picture.pieces {
            let Some(ghost) = piece.change.ghost() else { continue };
            let (low, high) = band(piece.kind);
            let x = (self.frame.x(ghost.span.0), self.frame.x(ghost.span.1));
            self.block(canvas, x, (low - 3.0, high + 3.0), ShapeFill::None, Stroke::TODAY);
        }
    }

    /// A break through every part whose own length nobody knows.
    fn breaks(&self, canvas: &mut Canvas) {
        for piece in self.picture.pieces.iter().filter(|piece| piece.broken) {
            let (low, high) = band(piece.kind);
            let middle = match piece.kind {
                "engine" => self.frame.x(self.picture.front.flange.at) - 5.0,
                _ => f64::midpoint(self.frame.x(piece.span.0), self.frame.x(piece.span.1)),
            };
            let (low, high) =
                if piece.kind == "engine" { (14.0, 80.0) } else { (low - 5.0, high + 5.0) };
            for off in [-2.5, 2.5] {
                let edge = Self::torn(middle + off, low, high);
                self.lines(canvas, &edge, Stroke { width: 1.0, ..Stroke::OUTLINE });
            }
        }
    }

    /// The place on a part to which its leader points.
    pub(super) fn anchor(&self, piece: &Piece<'_>) -> (f64, f64) {
        let (from, to) = (self.frame.x(piece.span.0), self.frame.x(piece.span.1));
        let middle = f64::midpoint(from, to);
        let ghost = piece.change.ghost().filter(|_| is_gone(piece));
        let middle = ghost.map_or(middle, |ghost| {
            f64::midpoint(self.frame.x(ghost.span.0), self.frame.x(ghost.span.1))
        });
        let (x, r) = match piece.kind {
            "engine" => {
                (f64::midpoint(self.frame.sides.0, self.frame.x(self.picture.block.at)), 220.0)
            }
            "block_plate" => (middle, 276.0),
            "bell_spacer" => (middle, 268.0),
            // On the wall, whose middle line falls from front to rear.
            "bell_housing" => (from + (to - from) * 0.55, 253.0 - 76.0 * 0.55),
            "gearbox_spacer" => (middle, 160.0),
            "gearbox" => (
                f64::midpoint(self.frame.x(self.picture.rear.gearbox.at), self.frame.sides.1),
                150.0,
            ),
            "flywheel" => (middle, 196.0),
            "disc" => (middle, 150.0),
            "pressure_plate" => {
                let lid = from + (to - from) * 0.62;
                (lid - 3.0, 170.0)
            }
            "bearing" => {
                let body = f64::midpoint(self.frame.x(self.picture.rear.retracted), to);
                (body + (to - body) * 0.3, 52.0)
            }
            _ => (middle, 50.0),
        };
        (x, self.frame.y(r))
    }
}

fn look(piece: Option<&Piece<'_>>, hatch: ShapeFill) -> (ShapeFill, Stroke) {
    let changed = piece.is_some_and(|piece| piece.change.is_one() && !is_gone(piece));
    let stroke = if changed { Stroke::CHANGED } else { Stroke::OUTLINE };
    let broken = piece.is_some_and(|piece| piece.broken);
    (if broken { ShapeFill::Tint } else { hatch }, stroke)
}

/// Whether a piece is taken out, so that only its outline of today is left.
pub(super) fn is_gone(piece: &Piece<'_>) -> bool {
    matches!(piece.change, SlotChange::TakenOut { .. })
}
