//! A function of two shifts on a grid about zero.

#![allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "only counts of cells are cast: not negative, and below a few thousand"
)]

/// A function of the shifts of preload and reserve, on a grid about zero.
pub(super) struct ShiftGrid {
    pub(super) steps: [f64; 2],
    cells: [usize; 2],
    values: Vec<f64>,
}

impl ShiftGrid {
    /// A grid for shifts of these standard deviations, in steps of a twelfth of the standard
    /// deviations of preload and reserve. Shifts beyond five of their own do not count.
    pub(super) fn around(shifts: [f64; 2], spreads: [f64; 2]) -> Self {
        let cells = [0, 1].map(|i| (120.0 * shifts[i] / spreads[i]).ceil().max(40.0));
        let steps = [0, 1].map(|i| 10.0 * shifts[i] / cells[i]);
        let (cells, values) = (cells.map(|n| n as usize), Vec::new());
        ShiftGrid { steps, cells, values }
    }

    pub(super) fn filled(&self, value: impl Fn([f64; 2]) -> f64) -> ShiftGrid {
        let node = |axis: usize, i| (i as f64 - self.cells[axis] as f64 / 2.0) * self.steps[axis];
        let columns = self.cells[1] + 1;
        let all = 0..(self.cells[0] + 1) * columns;
        let values = all.map(|i| value([node(0, i / columns), node(1, i % columns)]));
        ShiftGrid { values: values.collect(), ..*self }
    }

    /// The value at a shift, by cubic interpolation; beyond the grid, that at its edge.
    pub(super) fn at(&self, shift: [f64; 2]) -> f64 {
        let [(i, in_x), (j, in_y)] = [0, 1].map(|axis| {
            let cells = self.cells[axis] as f64;
            let place = (shift[axis] / self.steps[axis] + cells / 2.0).clamp(0.0, cells);
            let first = (place.floor() - 1.0).clamp(0.0, cells - 3.0);
            let [a, b, c, d] = [0.0, 1.0, 2.0, 3.0].map(|node| place - first - node);
            let weights = [b * c * d / -6.0, a * c * d / 2.0, a * b * d / -2.0, a * b * c / 6.0];
            (first as usize, weights)
        });
        let rows = self.values.chunks(self.cells[1] + 1).skip(i);
        let row = |row: &[f64]| -> f64 { in_y.iter().zip(&row[j..]).map(|(w, q)| w * q).sum() };
        rows.zip(in_x).map(|(values, w)| w * row(values)).sum()
    }

    /// The value at no shift, where each point holds the mean over its cell. That mean exceeds the
    /// value by a 24th of the second differences, to the fourth order of the step.
    pub(super) fn at_zero(&self) -> f64 {
        let [x, y] = self.steps;
        let about = [[x, 0.0], [-x, 0.0], [0.0, y], [0.0, -y]].map(|shift| self.at(shift));
        (28.0 * self.at([0.0, 0.0]) - about.iter().sum::<f64>()) / 24.0
    }
}
