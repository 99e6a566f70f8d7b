//! Labels above a drawing, each with a leader to its part: laid out so that no text touches another,
//! and no leader crosses a text or another leader.
//!
//! Labels stand in rows in the order of their parts. From a label its leader falls straight down past
//! the rows beneath it, then leans over to its part. Where each has to keep off which others is a set of
//! differences; the mean of two solutions, one pushed from the left and one from the right, keeps them
//! all and stands as near to the parts as either.

use super::ink::{Anchor, Canvas, NAME, Stroke, TEXT, Type};

/// What a label says, and where its part is.
#[derive(Debug, Clone)]
pub(super) struct Label {
    /// The part's name.
    pub(super) name: String,
    /// What is said beneath it.
    pub(super) lines: Vec<String>,
    /// The place on the part.
    pub(super) at: (f64, f64),
    /// Something is other than today.
    pub(super) changed: bool,
}

/// A label whose texts are cut to a width.
struct CutLabel {
    texts: Vec<(String, Type)>,
    width: f64,
    height: f64,
    at: (f64, f64),
    changed: bool,
}

/// Room between two labels, and around a leader.
const APART: f64 = 10.0;
const BESIDE: f64 = 6.0;
/// The height in which leaders lean over to their parts.
const LEAN: f64 = 26.0;
/// Leaders fall to their parts at least so far apart.
const LEADERS: f64 = 7.0;

/// Labels with their places.
pub(super) struct LaidLabels {
    blocks: Vec<CutLabel>,
    rows: usize,
    ports: Vec<f64>,
    foots: Vec<f64>,
    row_heights: Vec<f64>,
}

impl LaidLabels {
    /// How much room they take above the drawing.
    pub(super) fn height(&self) -> f64 {
        self.row_heights.iter().sum::<f64>() + LEAN
    }

    /// Draws the labels with their leaders; `top` is where the first row begins.
    pub(super) fn draw(&self, canvas: &mut Canvas, top: f64) {
        let bus = top + self.row_heights.iter().sum::<f64>();
        for (index, block) in self.blocks.iter().enumerate() {
            let (port, foot) = (self.ports[index], self.foots[index]);
            // Row 0 is the lowest.
            let row = index % self.rows;
            let below: f64 = self.row_heights[..row].iter().sum();
            let bottom = bus - below;
            let stroke = if block.changed {
                Stroke { width: 1.1, ..Stroke::CHANGED }
            } else {
                Stroke::LEADER
            };
            let path = [(port, bottom - 4.0), (port, bus), (foot, bus + LEAN), block.at];
            canvas.lines(&path, stroke);
            canvas.dot(block.at, 2.2, stroke);
            let mut y = bottom - 8.0 - block.height;
            for (text, set) in &block.texts {
                y += set.line();
                canvas.text(text, (port, y - 2.0), Anchor::Middle, *set);
            }
            if block.changed {
                let (left, right) = (port - block.width / 2.0, port + block.width / 2.0);
                let (up, down) = (bottom - 8.0 - block.height, bottom - 4.0);
                let frame =
                    [(left - 4.0, up), (right + 4.0, up), (right + 4.0, down), (left - 4.0, down)];
                canvas.shape(
                    &frame,
                    super::ink::ShapeFill::None,
                    Stroke { width: 1.1, ..Stroke::CHANGED },
                );
            }
        }
    }
}

/// Lays labels out between `left` and `right`.
pub(super) fn lay(mut labels: Vec<Label>, left: f64, right: f64) -> LaidLabels {
    labels.sort_by(|a, b| a.at.0.total_cmp(&b.at.0));
    let foots = settled(
        &labels.iter().map(|label| label.at.0).collect::<Vec<_>>(),
        (left + LEADERS, right - LEADERS),
        &|_| 0.0,
        &|_, _| LEADERS,
    );
    // Fewer rows are better, then wider labels.
    let tries =
        [(1, 150.0), (2, 150.0), (3, 150.0), (2, 112.0), (3, 112.0), (4, 112.0), (5, 112.0)];
    for (rows, most) in tries.into_iter().chain((3..=40).map(|rows| (rows, 78.0))) {
        let blocks: Vec<CutLabel> = labels.iter().map(|label| block(label, most)).collect();
        let half = |index: usize| blocks[index].width / 2.0 + 5.0;
        // How far the leader of one has to keep off that of a later one.
        let apart = |first: usize, second: usize| {
            let (low, high) = (first % rows, second % rows);
            match low.cmp(&high) {
                std::cmp::Ordering::Equal => half(first) + half(second) + APART,
                std::cmp::Ordering::Less => half(first) + BESIDE,
                std::cmp::Ordering::Greater => half(second) + BESIDE,
            }
        };
        let ports = settled(&foots, (left, right), &half, &apart);
        let fits = (0..ports.len()).all(|one| {
            let inside =
                ports[one] - half(one) >= left - 0.01 && ports[one] + half(one) <= right + 0.01;
            let off = |other: usize| ports[other] - ports[one] >= apart(one, other) - 0.01;
            inside && (one + 1..ports.len()).all(off)
        });
        if fits || rows == 40 {
            let height = |row: usize| {
                let in_row = blocks.iter().skip(row).step_by(rows).map(|block| block.height);
                in_row.fold(0.0, f64::max) + 14.0
            };
            let rows = rows.min(blocks.len()).max(1);
            let row_heights = (0..rows).map(height).collect();
            return LaidLabels { blocks, rows, ports, foots, row_heights };
        }
    }
    LaidLabels { blocks: Vec::new(), rows: 1, ports: Vec::new(), foots, row_heights: vec![0.0] }
}

fn block(label: &Label, most: f64) -> CutLabel {
    let mut texts = vec![(NAME.fit(&label.name, most), NAME)];
    for line in &label.lines {
        texts.extend(TEXT.wrap(line, most).into_iter().map(|line| (line, TEXT)));
    }
    let width = texts.iter().map(|(text, set)| set.width(text)).fold(0.0, f64::max);
    let height = texts.iter().map(|(_, set)| set.line()).sum();
    CutLabel { texts, width, height, at: label.at, changed: label.changed }
}

/// Places near the ones that are wished, in their order, inside `bounds` by `half` of each, and `apart`
/// from each other, where there is room for that.
fn settled(
    wished: &[f64],
    bounds: (f64, f64),
    half: &dyn Fn(usize) -> f64,
    apart: &dyn Fn(usize, usize) -> f64,
) -> Vec<f64> {
    let rightward = |from: &[f64]| {
        let mut places: Vec<f64> = Vec::with_capacity(from.len());
        for (index, wished) in from.iter().enumerate() {
            let least = wished.max(bounds.0 + half(index));
            let before = places.iter().enumerate();
            let off = before.map(|(before, at)| at + apart(before, index));
            let at = off.fold(least, f64::max);
            places.push(at);
        }
        places
    };
    let leftward = |from: &[f64]| {
        let mut places = from.to_vec();
        for index in (0..places.len()).rev() {
            let most = places[index].min(bounds.1 - half(index));
            let behind = places.iter().enumerate().skip(index + 1);
            let off = behind.map(|(behind, at)| at - apart(index, behind));
            places[index] = off.fold(most, f64::min);
        }
        places
    };
    let (first, second) = (leftward(&rightward(wished)), rightward(&leftward(wished)));
    first.iter().zip(&second).map(|(one, other)| f64::midpoint(*one, *other)).collect()
}
