//! How much of a page a sheet takes, told before it is printed: from the widths of its texts and the
//! height of its drawing. What is too much is taken off the drawing's height, then off the type.

use crate::report::drawing::{Type, WIDTH};

/// A page's own width and height in millimetres: what A4 and US Letter have in common within the
/// margins, with a little to spare.
const PAGE: (f64, f64) = (190.0, 252.0);
/// One point of type, in millimetres.
const POINT: f64 = 25.4 / 72.0;
/// What a dense sheet makes of heights of text.
const DENSE: f64 = 0.88;

/// A sheet's text as it is counted: lines of each size and rows of tables.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Text {
    mm: f64,
}

impl Text {
    /// A text in a type of some points, wrapped at a share of the page.
    pub(super) fn wrapped(mut self, text: &str, points: f64, bold: bool, share: f64) -> Self {
        let set = Type { size: points * POINT, bold };
        #[allow(clippy::cast_precision_loss, reason = "lines are few")]
        let lines = set.wrap(text, PAGE.0 * share - 3.0).len() as f64;
        self.mm += lines * points * POINT * 1.24;
        self
    }

    /// Rows of a table beneath its head.
    #[allow(clippy::cast_precision_loss, reason = "rows are few")]
    pub(super) fn table(mut self, rows: usize) -> Self {
        self.mm += 7.4 + 3.6 * rows as f64;
        self
    }

    /// Something of a known height.
    pub(super) fn more(mut self, mm: f64) -> Self {
        self.mm += mm;
        self
    }

    /// Two columns beside each other.
    pub(super) fn columns(mut self, left: Self, right: Self) -> Self {
        self.mm += left.mm.max(right.mm);
        self
    }
}

/// How a sheet is set so that it stays on one page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct SheetSetting {
    /// In smaller type.
    pub(super) dense: bool,
    /// By how much the drawing's heights are made smaller.
    pub(super) squash: f64,
}

/// Fits a sheet's text and its drawing onto a page. `drawn` is the drawing's height in its own units
/// without its half section, `section` that of the half section.
pub(super) fn fit(text: Text, drawn: f64, section: f64) -> SheetSetting {
    let left = |dense: bool| {
        let (text, drawing) = if dense { (text.mm * DENSE, 0.93) } else { (text.mm, 1.0) };
        // What is left of the page for the half section, as a share of its full height.
        let per_unit = PAGE.0 / WIDTH * drawing;
        (PAGE.1 - text - drawn * per_unit) / (section * per_unit)
    };
    let plain = left(false);
    if plain >= 0.5 {
        return SheetSetting { dense: false, squash: plain.min(0.85) };
    }
    SheetSetting { dense: true, squash: left(true).clamp(0.34, 0.7) }
}
