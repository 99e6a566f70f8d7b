//! What was written down at the bench: pieces, readings and instruments.

use super::View;
use super::page::{Grid, Page};
use super::shop::pair;
use crate::measure::statistics::Sample;
use crate::model::kinds::Quantity;
use crate::model::length::{Length, Ratio, Unit};
use crate::model::library::Library;
use crate::model::part::show_value;
use crate::model::pieces::{Instrument, LimitOfError, Measurements, ReadingSet, Specimen};
use crate::model::sides::Sides;
use crate::model::words::count;

/// A list of pieces.
pub fn piece_list(
    library: &Library,
    pieces: &[&Specimen],
    gone_hidden: usize,
    view: View,
) -> String {
    let mut page = Page::new(view.width);
    if pieces.is_empty() {
        page.line("No piece is listed.");
    } else {
        let mut grid =
            Grid::new(["piece", "kind", "condition", "in\nhand", ">sets of\nreadings", "notes"]);
        for piece in pieces {
            let of_piece = |set: &&ReadingSet| set.part == piece.part && set.piece == piece.label;
            let sets = library.measured.readings.iter().filter(of_piece).count();
            grid.row([
                piece.id(),
                library.find(&piece.part).map_or("", |part| part.kind.key).to_string(),
                piece.condition.word().to_string(),
                if piece.in_hand { "yes" } else { "gone" }.to_string(),
                sets.to_string(),
                piece.notes.clone(),
            ]);
        }
        page.grid(grid);
        page.gap();
        page.line(format!("{}.", count(pieces.len() as u128, "piece")));
    }
    if gone_hidden > 0 {
        let number = count(gone_hidden as u128, "piece");
        page.line(format!("{number} gone and not shown: `bellstack piece list --all`."));
    }
    page.finish()
}

/// The quantity of what a set holds, and the words for its sides.
fn measured_in(library: &Library, set: &ReadingSet) -> CountsIn {
    let spec = library.find(&set.part).and_then(|part| part.kind.dim(&set.dimension).ok());
    spec.map_or((Quantity::Length, None), |spec| (spec.quantity, spec.sides))
}

type CountsIn = (Quantity, Option<&'static Sides>);

/// Mean and scatter of a set, with one digit more than the trade's; a single reading has no scatter.
fn mean_and_scatter((quantity, sides): CountsIn, values: &[i64], unit: Unit) -> (String, String) {
    let Some(sample) = Sample::of(values.iter().copied()) else { return Default::default() };
    #[allow(clippy::cast_possible_truncation, reason = "a scatter is far below 2^63 nm")]
    let scatter = sample.scatter().map(|scatter| scatter.s().round() as i64);
    let shown = |value: i64| match quantity {
        Quantity::Length => Length::from_nm(value).digits(unit, true),
        Quantity::Ratio => Ratio::from_millionths(value).to_string(),
        Quantity::Count | Quantity::Torque => show_value(quantity, value, unit),
    };
    let mean = sample.whole_mean();
    let mean = match sides {
        Some(sides) => sides.with_word(shown(mean.abs()), Length::from_nm(mean)),
        None => shown(mean),
    };
    (mean, scatter.map_or_else(|| "-".into(), shown))
}

/// The values as they were read, exactly.
fn values((quantity, sides): CountsIn, set: &ReadingSet, unit: Unit) -> String {
    let shown = set.values.iter().map(|value| match (quantity, sides) {
        (Quantity::Length, Some(sides)) => {
            let length = Length::from_nm(*value);
            sides.with_word(bare(length.abs(), unit), length)
        }
        (Quantity::Length, None) => bare(Length::from_nm(*value), unit),
        _ => show_value(quantity, *value, unit),
    });
    let all = shown.collect::<Vec<_>>().join("  ");
    match set.bar {
        Some(bar) => format!("{all}  (bar {})", bare(bar, unit)),
        None => all,
    }
}

/// A length exactly in the table's unit, where that can be written; else with the unit that can.
fn bare(length: Length, unit: Unit) -> String {
    let exact = length.exact(unit);
    match exact.strip_suffix(unit.name()) {
        Some(number) => number.trim_end().to_string(),
        None => exact,
    }
}

/// A list of sets of readings.
pub fn reading_list(library: &Library, sets: &[&ReadingSet], view: View) -> String {
    reading_page(library, sets, view).finish()
}

/// The same as a page.
pub(super) fn reading_page(library: &Library, sets: &[&ReadingSet], view: View) -> Page {
    let mut page = Page::new(view.width);
    if sets.is_empty() {
        page.line("No reading is listed.");
        return page;
    }
    let unit = view.unit;
    let (read, mean) = (format!("readings\n{}", unit.name()), format!(">mean\n{}", unit.name()));
    let scatter = format!(">scatter\n{}", unit.name());
    let mut grid =
        Grid::new([">no.", "piece", "dimension", &read, &mean, &scatter, "taken", "counts"]);
    for set in sets {
        let quantity = measured_in(library, set);
        let (mean, scatter) = mean_and_scatter(quantity, &set.values, unit);
        let taken = [set.date.as_str(), set.by.as_str(), set.instrument.as_deref().unwrap_or("")];
        let taken: Vec<&str> = taken.into_iter().filter(|text| !text.is_empty()).collect();
        let counts = set.struck.as_ref().map_or_else(|| "yes".into(), |why| format!("no: {why}"));
        grid.row([
            set.number.to_string(),
            set.piece_id(),
            set.dimension.clone(),
            values(quantity, set, unit),
            mean,
            scatter,
            taken.join(", "),
            counts,
        ]);
    }
    page.grid(grid);
    page.gap();
    page.line(format!("{} of readings.", count(sets.len() as u128, "set")));
    page
}

/// Mean and scatter of a set in one line, as it is told while somebody measures.
pub fn set_line(library: &Library, set: &ReadingSet, view: View) -> String {
    let quantity = measured_in(library, set);
    let (mean, scatter) = mean_and_scatter(quantity, &set.values, view.unit);
    let unit = if quantity.0 == Quantity::Length { view.unit.name() } else { "" };
    let with_unit = |number: &str| match number.split_once(' ') {
        Some((number, word)) => format!("{number} {unit} {word}"),
        None => format!("{number} {unit}").trim_end().to_string(),
    };
    let (mean, scatter) = (with_unit(&mean), with_unit(&scatter));
    let bar = set.bar.map(|bar| format!(", less the bar's {}", bar.exact(view.unit)));
    let bar = bar.unwrap_or_default();
    match set.values.len() {
        1 => format!("one reading: {mean}{bar}"),
        n => format!("mean {mean}, scatter {scatter}, {n} readings{bar}"),
    }
}

/// What was stored after somebody measured a piece.
pub fn measured(library: &Library, piece: &Specimen, sets: &[ReadingSet], view: View) -> String {
    let mut page = Page::new(view.width);
    let (stored, condition) = (count(sets.len() as u128, "set"), piece.condition.word());
    page.line(format!("Stored {stored} of readings on {} ({condition}).", piece.id()));
    page.gap();
    let unit = view.unit.name();
    let columns = [
        "dimension".to_string(),
        format!("readings\n{unit}"),
        format!(">mean\n{unit}"),
        format!(">scatter\n{unit}"),
    ];
    let mut grid = Grid::new(columns);
    for set in sets {
        let quantity = measured_in(library, set);
        let (mean, scatter) = mean_and_scatter(quantity, &set.values, view.unit);
        grid.row([set.dimension.clone(), values(quantity, set, view.unit), mean, scatter]);
    }
    page.grid(grid);
    for set in sets {
        if let Some(why) = &set.struck {
            page.gap();
            page.line(format!("{} is struck out and counts nowhere: {why}", set.dimension));
        }
    }
    page.finish()
}

fn limit(limit: &LimitOfError, unit: Unit) -> String {
    format!("+- {} up to {}", limit.limit.exact(unit), limit.up_to.exact(unit))
}

/// A list of instruments.
pub fn instrument_list(measured: &Measurements, view: View) -> String {
    let mut page = Page::new(view.width);
    if measured.instruments.is_empty() {
        page.line("There is no instrument in the catalog.");
        return page.finish();
    }
    let unit = view.unit;
    let mut grid =
        Grid::new(["instrument", "description", ">smallest\nstep", "limit of error", ">sets read"]);
    for instrument in &measured.instruments {
        let limits = match instrument.limits.as_slice() {
            [] => "unknown".to_string(),
            [only] => limit(only, unit),
            [first, .., last] => format!("{} ... {}", limit(first, unit), limit(last, unit)),
        };
        let with_it = |set: &&ReadingSet| set.instrument.as_ref() == Some(&instrument.name);
        grid.row([
            instrument.name.clone(),
            instrument.description.clone(),
            instrument.resolution.map_or_else(|| "unknown".into(), |step| step.exact(unit)),
            limits,
            measured.readings.iter().filter(with_it).count().to_string(),
        ]);
    }
    page.grid(grid);
    page.gap();
    page.line(format!("{}.", count(measured.instruments.len() as u128, "instrument")));
    page.finish()
}

/// Everything about one instrument.
pub fn instrument_show(instrument: &Instrument, view: View) -> String {
    let mut page = Page::new(view.width);
    page.line(format!("instrument {}", instrument.name));
    page.gap();
    let known = |text: &str| if text.is_empty() { "unknown".into() } else { text.to_string() };
    pair(&mut page, "description", &known(&instrument.description));
    let step = instrument.resolution.map(|step| step.exact(view.unit)).unwrap_or_default();
    pair(&mut page, "resolution", &known(&step));
    pair(&mut page, "source", &known(&instrument.source));
    page.gap();
    if instrument.limits.is_empty() {
        page.line("Its limits of error are unknown: what was read with it counts as assumed.");
    }
    for range in &instrument.limits {
        pair(&mut page, "limit of error", &limit(range, view.unit));
    }
    page.finish()
}
