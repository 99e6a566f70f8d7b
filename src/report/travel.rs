//! The travel bar as text: out, in or beyond, which way, how far and how sure at a glance.

use super::View;
use super::page::Page;
use super::units::Units;
use crate::model::edge::Edge;
use crate::model::length::{Length, Unit};
use crate::stack::picture::{Stands, Travel};

/// The signs of a bar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Signs {
    /// Those of every terminal.
    #[default]
    Ascii,
    /// Lines and shades.
    Unicode,
}

/// What a cell of a bar shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum BarCell {
    Outside,
    Out,
    Bottomed,
    Barred,
    Free,
    Mark,
    /// The mark lies beyond what there is room for, ahead of fully out.
    FarOut,
    /// The same behind bottomed.
    FarBack,
    Before,
    Behind,
}

impl BarCell {
    const fn sign(self, signs: Signs) -> char {
        match (self, signs) {
            (Self::Outside, _) => ' ',
            (Self::Out | Self::Bottomed, Signs::Ascii) => '|',
            (Self::Barred, Signs::Ascii) => '/',
            (Self::Free, Signs::Ascii) => '.',
            (Self::Mark, Signs::Ascii) => 'o',
            (Self::Before, Signs::Ascii) => '[',
            (Self::Behind, Signs::Ascii) => ']',
            (Self::Out | Self::Bottomed, Signs::Unicode) => '┃',
            (Self::Barred, Signs::Unicode) => '▒',
            (Self::Free, Signs::Unicode) => '─',
            (Self::Mark, Signs::Unicode) => '●',
            (Self::Before, Signs::Unicode) => '├',
            (Self::Behind, Signs::Unicode) => '┤',
            (Self::FarOut, _) => '<',
            (Self::FarBack, _) => '>',
        }
    }
}

/// Beyond an end a bar shows at most this share of the travel, in per cent.
const BEYOND: i64 = 25;

/// A bar of some columns, and in which of them its ends and its mark stand.
struct TravelBar {
    cells: Vec<BarCell>,
    out: usize,
    bottomed: usize,
    mark: usize,
}

impl TravelBar {
    /// Lays a travel over `columns`; none where it has no length to lay.
    fn new(travel: &Travel, columns: usize) -> Option<Self> {
        let whole = travel.travel.nm();
        if whole <= 0 || columns < 5 {
            return None;
        }
        let beyond = whole / 100 * BEYOND;
        let low = travel.preload.nm().clamp(-beyond, 0);
        let high = travel.preload.nm().clamp(whole, whole + beyond);
        let last = i128::from(i64::try_from(columns).ok()? - 1);
        let column = |at: i64| {
            let at = i128::from(at.clamp(low, high) - low) * last * 2;
            let span = i128::from(high - low);
            usize::try_from((at + span) / (span * 2)).unwrap_or_default()
        };
        // An end is never covered by the mark of a stack that is beyond it.
        let mut out = column(0);
        let mut bottomed = column(whole);
        if travel.preload < Length::ZERO {
            out = out.max(1);
        }
        if travel.reserve < Length::ZERO {
            bottomed = bottomed.min(columns - 2);
        }
        let mut cells = vec![BarCell::Outside; columns];
        cells[out..bottomed].fill(BarCell::Free);
        for barred in travel.barred() {
            cells[column(barred.from.nm())..=column(barred.to.nm())].fill(BarCell::Barred);
        }
        cells[..out].fill(BarCell::Outside);
        cells[bottomed..].fill(BarCell::Outside);
        (cells[out], cells[bottomed]) = (BarCell::Out, BarCell::Bottomed);
        // Within the travel the mark stands between the ends, beyond it outside of them.
        let mark = match column(travel.preload.nm()) {
            mark if travel.preload < Length::ZERO => mark.min(out - 1),
            mark if travel.reserve < Length::ZERO => mark.max(bottomed + 1),
            mark => mark.clamp(out + 1, bottomed - 1),
        };
        // An error of less than half a column is not to be seen beside a mark that takes a whole one.
        let columns_of = |off: Length| {
            let (off, span) = (i128::from(off.nm()) * last, i128::from(high - low));
            usize::try_from((off * 2 + span) / (span * 2)).unwrap_or_default()
        };
        let before = mark.saturating_sub(columns_of(travel.off.0));
        let behind = (mark + columns_of(travel.off.1)).min(columns - 1);
        let is_end = |at: usize| at == out || at == bottomed;
        if before < mark && !is_end(before) {
            cells[before] = BarCell::Before;
        }
        if behind > mark && !is_end(behind) {
            cells[behind] = BarCell::Behind;
        }
        cells[mark] = match travel.preload.nm() {
            at if at < low => BarCell::FarOut,
            at if at > high => BarCell::FarBack,
            _ => BarCell::Mark,
        };
        Some(Self { cells, out, bottomed, mark })
    }

    fn text(&self, signs: Signs) -> String {
        self.cells.iter().map(|cell| cell.sign(signs)).collect()
    }
}

/// Where a stack stands, in a few words.
pub(super) fn stands(travel: &Travel, say: Units) -> String {
    match travel.stands {
        Stands::In(room) => format!("room {}", say.length(room)),
        Stands::TooTight(by) => format!("too tight by {}", say.length(by)),
        Stands::TooLoose(by) => format!("too loose by {}", say.length(by)),
        Stands::Bottomed(by) => format!("fingers {} too far back", say.length(by)),
        Stands::DoesNotReach(by) => format!("fingers {} out of reach", say.length(by)),
    }
}

/// A number with how far it may well be off and with its limits: `0.835 in +-0.004 (least 0.550)`.
pub(super) fn number(travel: &Travel, preload: bool, unit: Unit, plus_minus: &str) -> String {
    let digits = |length: Length| length.digits(unit, false);
    let (value, off, least, most) = if preload {
        (travel.preload, travel.off.0, Edge::PreloadMin, Edge::PreloadMax)
    } else {
        (travel.reserve, travel.off.1, Edge::ReserveMin, Edge::ReserveMax)
    };
    let limits = match (travel.limits[least], travel.limits[most]) {
        (Some(least), Some(most)) => format!(" ({} to {})", digits(least), digits(most)),
        (Some(least), None) => format!(" (least {})", digits(least)),
        (None, Some(most)) => format!(" (most {})", digits(most)),
        (None, None) => String::new(),
    };
    let (name, shown) = (if preload { "preload" } else { "reserve" }, value.show(unit));
    format!("{name} {shown} {plus_minus}{}{limits}", digits(off))
}

/// What stands in place of a bar that has no length.
const NO_BAR: &str = "No travel bar: the bearing does not travel from fully out to bottomed.";

/// The bar in full: both numbers above it, its ends and where the stack stands beneath it.
pub(super) fn full(page: &mut Page, travel: &Travel, view: View) {
    let width = usize::from(view.width);
    let Some(bar) = TravelBar::new(travel, width) else {
        page.line(NO_BAR);
        return;
    };
    let plus_minus = if view.signs == Signs::Unicode { "\u{b1}" } else { "+-" };
    let numbers = [true, false].map(|preload| number(travel, preload, view.unit, plus_minus));
    let used: usize = numbers.iter().map(|number| number.chars().count()).sum();
    let [preload, reserve] = &numbers;
    if used + 2 <= width {
        page.as_is(&format!("{preload}{}{reserve}", " ".repeat(width - used)));
    } else {
        page.as_is(preload);
        page.as_is(&format!("{reserve:>width$}"));
    }
    page.as_is(&bar.text(view.signs));
    page.as_is(&beneath(&bar, &stands(travel, Units::One(view.unit)), width));
}

/// The line beneath a bar: the words near the mark, between the names of both ends.
fn beneath(bar: &TravelBar, words: &str, width: usize) -> String {
    const OUT: &str = "out";
    const BOTTOMED: &str = "bottomed";
    let length = words.chars().count();
    let first = bar.out + OUT.len() + 1;
    let last = (bar.bottomed + 1).max(BOTTOMED.len()).min(width);
    let names = last - BOTTOMED.len();
    // Where there is no room between the names, the words stand on a line of their own.
    if first + length + 1 > names {
        let at = bar.mark.saturating_sub(length / 2).min(width.saturating_sub(length));
        let gap = " ".repeat(names.saturating_sub(first - 1));
        return format!("{}{OUT}{gap}{BOTTOMED}\n{}{words}", " ".repeat(bar.out), " ".repeat(at));
    }
    let at = bar.mark.saturating_sub(length / 2).clamp(first, names - 1 - length);
    format!(
        "{}{OUT}{}{words}{}{BOTTOMED}",
        " ".repeat(bar.out),
        " ".repeat(at - first + 1),
        " ".repeat(names - at - length)
    )
}

/// The bar in one line behind a lead.
pub(super) fn line(page: &mut Page, travel: &Travel, view: View, lead: &str) {
    let width = usize::from(view.width);
    let words = format!("  {}", stands(travel, Units::One(view.unit)));
    let names = lead.chars().count() + "out ".len() + " bottomed".len();
    let room = width.saturating_sub(names);
    // The words go first where the bar would be left with too little.
    let with_words = room.saturating_sub(words.chars().count());
    let (columns, words) =
        if with_words >= 20 { (with_words, words) } else { (room, String::new()) };
    if let Some(bar) = TravelBar::new(travel, columns) {
        page.as_is(&format!("{lead}out {} bottomed{words}", bar.text(view.signs)));
    }
}
