//! Several readings in one cell, as somebody writes them down who reads one place after another.

use super::cells::{Cell, in_column};
use super::column::ColumnRef;
use super::mark::{Mark, pointed};
use crate::error::{Error, Result};
use crate::model::kinds::{DimSpec, Quantity};
use crate::model::length::{Length, Scale, Unit, unit_start};
use crate::model::number::is_bare_fraction;
use crate::model::part::{read_plain, show_value};
use crate::model::pieces::ReadingSet;
use crate::model::sides::Side;

/// Reads one value or several. A unit counts for the numbers before it that have none of their own;
/// in a column that names the unit the numbers are bare.
pub(super) fn read_values(spec: &DimSpec, cell: &Cell<'_>, mark: Mark) -> Result<(Vec<i64>, Side)> {
    let (text, side) = match spec.sides {
        Some(sides) => sides.split(cell.text)?,
        None => (cell.text, Side::Unsaid),
    };
    if side == Side::Zero && text.is_empty() {
        return Ok((vec![0], side));
    }
    let sign = if side == Side::Minus { -1 } else { 1 };
    let words = text.split(|c: char| c.is_whitespace() || c == '|');
    // A comma with a blank behind it separates; any other one is a decimal comma.
    let words = words.map(|word| word.strip_suffix(',').unwrap_or(word));
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    let one = |number: &str, scale: Option<Scale>| {
        let number = pointed(number, mark)?;
        match scale {
            _ if spec.quantity != Quantity::Length => read_plain(spec.quantity, &number),
            Some(scale) => in_column(&number, scale).map(|length| sign * length.nm()),
            None => Length::parse(&number).map(|length| sign * length.nm()),
        }
    };
    let ColumnRef { scale, .. } = cell.at;
    if spec.quantity != Quantity::Length && scale.is_some() {
        return Err(Error::input(format!("`{}` is no length", spec.key))
            .hint("write its readings into the column `value`"));
    }
    clear(&words)?;
    if spec.quantity != Quantity::Length || scale.is_some() {
        let values = words.into_iter().map(|word| one(word, scale)).collect::<Result<Vec<_>>>();
        return Ok((values?, side));
    }
    let mut values = Vec::new();
    let mut bare: Vec<&str> = Vec::new();
    for word in words {
        let (number, unit) = word.split_at(unit_start(word));
        if !number.is_empty() {
            bare.push(number);
        }
        if !unit.is_empty() {
            if bare.is_empty() {
                return Err(Error::input(format!("`{unit}` stands behind no number")));
            }
            for number in bare.drain(..) {
                values.push(one(&format!("{number} {unit}"), None)?);
            }
        }
    }
    match bare.first() {
        None => Ok((values, side)),
        Some(number) => one(number, None).map(|_| (values, side)),
    }
}

/// Refuses `1 1/32`, which may be one reading or two.
fn clear(words: &[&str]) -> Result<()> {
    let whole = |word: &str| !word.is_empty() && word.bytes().all(|byte| byte.is_ascii_digit());
    match words.windows(2).find(|pair| whole(pair[0]) && is_bare_fraction(pair[1])) {
        None => Ok(()),
        Some(pair) => {
            let (one, other) = (pair[0], pair[1]);
            Err(Error::input(format!("`{one} {other}` may be one reading or two"))
                .hint(format!("write `{one}-{other}` for one reading")))
        }
    }
}

/// Readings as [`read_values`] reads them: exactly, as they were read over their bar, with the unit
/// once where all have the same.
pub(super) fn show_values(spec: &DimSpec, set: &ReadingSet, unit: Unit) -> String {
    // The bar comes off the size, so that all of a set lie to the side that its word says.
    let other_side = set.bar.and(spec.sides).filter(|_| set.values.iter().any(|value| *value < 0));
    let over = set.bar.map_or(0, Length::nm);
    let read = |value: &i64| over + if other_side.is_some() { value.abs() } else { *value };
    let numbers = numbers(spec.quantity, set.values.iter().map(read), unit);
    match other_side {
        Some(sides) => format!("{numbers} {}", sides.minus[0]),
        None => numbers,
    }
}

fn numbers(quantity: Quantity, values: impl Iterator<Item = i64>, unit: Unit) -> String {
    let shown: Vec<String> = values.map(|value| show_value(quantity, value, unit)).collect();
    let unit_of = |text: &str| text.rsplit_once(' ').map(|(_, unit)| unit.to_string());
    let last = shown.last().and_then(|text| unit_of(text));
    match last {
        Some(unit) if shown.iter().all(|text| unit_of(text).as_ref() == Some(&unit)) => {
            let numbers: Vec<&str> =
                shown.iter().filter_map(|text| text.split_once(' ')).map(|pair| pair.0).collect();
            format!("{} {unit}", numbers.join(" "))
        }
        _ => shown.join(" "),
    }
}

#[cfg(test)]
mod tests {
    use super::super::column::Aspect;
    use super::super::record::Sort;
    use super::*;
    use crate::model::kinds::Kinds;

    fn read(dimension: (&str, &str), text: &str, scale: Option<Scale>) -> Result<Vec<i64>> {
        let spec = Kinds::standard().get(dimension.0).unwrap().dim(dimension.1).unwrap();
        let at = ColumnRef { field: 0, aspect: Aspect::Value, scale };
        read_values(spec, &Cell { at, column: "value", text, sort: Sort::Text }, Mark::Point)
            .map(|(values, _)| values)
    }

    const THICKNESS: (&str, &str) = ("flywheel", "thickness");

    #[test]
    fn a_unit_counts_for_the_readings_before_it() {
        let thou = |values: &[i64]| values.iter().map(|v| v * 25_400).collect::<Vec<i64>>();
        let read = |text| read(THICKNESS, text, None).unwrap();
        assert_eq!(read("2.394 2.396 2.395 in"), thou(&[2394, 2396, 2395]));
        assert_eq!(read("2.394, 2.396 in"), thou(&[2394, 2396]));
        assert_eq!(read("2.394in | 2.396\""), thou(&[2394, 2396]));
        assert_eq!(read("1-1/2 3/4 in 25.4 mm"), thou(&[1500, 750, 1000]));
        assert_eq!(read("1\u{bd} \u{be}\u{201d}"), thou(&[1500, 750]));
    }

    #[test]
    fn readings_that_may_be_meant_otherwise_are_refused() {
        let refused = |text| read(THICKNESS, text, None).unwrap_err().to_string();
        assert!(refused("2.394 2.396").contains("`2.394` has no unit"));
        assert!(refused("2.394 in 2.396").contains("`2.396` has no unit"));
        assert!(refused("1 1/32 in").contains("write `1-1/32` for one reading"));
        assert!(refused("1 \u{bd} in").contains("write `1-\u{bd}` for one reading"));
        assert!(refused("in 2.394").contains("stands behind no number"));
        assert!(refused("2,394 in").contains("decimal comma"));
        assert!(refused("2.394 yd").contains("no unit of length"));
    }

    #[test]
    fn a_column_with_a_unit_takes_bare_numbers() {
        let bare = |text| read(THICKNESS, text, Some(Scale::Millimetre));
        assert_eq!(bare("25.4 25.5").unwrap(), [25_400_000, 25_500_000]);
        assert!(bare("25.4 mm").unwrap_err().to_string().contains("mm"));
        let ratio = ("pressure_plate", "finger_ratio");
        assert_eq!(read(ratio, "3.5 3.6", None).unwrap(), [3_500_000, 3_600_000]);
        assert!(read(ratio, "3.5", Some(Scale::Inch)).is_err());
    }

    #[test]
    fn a_crank_stands_proud_or_recessed() {
        let crank = ("engine", "crank_protrusion");
        assert_eq!(read(crank, "0.020 0.021 in recessed", None).unwrap(), [-508_000, -533_400]);
    }

    fn shown(dimension: (&str, &str), values: &[i64], bar: Option<Length>, unit: Unit) -> String {
        let spec = Kinds::standard().get(dimension.0).unwrap().dim(dimension.1).unwrap();
        let values = values.to_vec();
        show_values(spec, &ReadingSet { values, bar, ..ReadingSet::new("x", "A", spec.key) }, unit)
    }

    #[test]
    fn shown_readings_read_back() {
        for values in
            [vec![25_400_000, 25_425_400], vec![25_400_000, 1, 3], vec![7], vec![-508_000]]
        {
            for unit in [Unit::In, Unit::Mm] {
                let text = shown(THICKNESS, &values, None, unit);
                assert_eq!(read(THICKNESS, &text, None).unwrap(), values, "{text}");
            }
        }
        let bar = Some(Length::from_thou(250));
        let inches = |dimension, values: &[i64], bar| shown(dimension, values, bar, Unit::In);
        assert_eq!(inches(THICKNESS, &[25_400_000, 50_800_000], None), "1.000 2.000 in");
        assert_eq!(inches(THICKNESS, &[25_400_000, 50_800_000], bar), "1.250 2.250 in");
        let crank = ("engine", "crank_protrusion");
        assert_eq!(inches(crank, &[-508_000, -533_400], bar), "0.270 0.271 in recessed");
        assert_eq!(inches(crank, &[508_000, 533_400], bar), "0.270 0.271 in");
    }
}
