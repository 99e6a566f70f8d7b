//! Slips that a reading may hold as a whole: another unit, a turn of the thimble, the bar.

use crate::measure::findings::Findings;
use crate::model::kinds::{DimSpec, Quantity};
use crate::model::length::{Length, Unit, divide_half_away, narrowed};
use crate::model::part::Part;
use crate::model::pieces::Condition;

/// What readings of a length are expected to be near, and how near.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Expected {
    /// The length.
    pub length: Length,
    /// How far off a reading may be that is no slip at all.
    pub near: Length,
    /// Where it comes from, in words.
    pub from: String,
}

impl Expected {
    /// What a part's own entry states; none of what is no length or not stated.
    pub fn listed(part: &Part, spec: &DimSpec) -> Option<Self> {
        let entry = part.entry(spec.key).filter(|_| spec.quantity == Quantity::Length)?;
        let near = Length::from_nm(2 * entry.tol.unwrap_or_default());
        Some(Self { length: entry.as_length(), near, from: "the listed".into() })
    }

    /// What a part's own entry states, and what its new pieces measured where the piece is new.
    pub fn of(
        findings: &Findings<'_>,
        part: &Part,
        condition: Condition,
        spec: &DimSpec,
    ) -> Vec<Self> {
        let mut expected: Vec<Self> = Self::listed(part, spec).into_iter().collect();
        let dim = part.kind.dim_index(spec.key).filter(|_| spec.quantity == Quantity::Length);
        let family = findings.family(&part.id).filter(|_| condition == Condition::New);
        if let Some(sisters) = family.zip(dim).and_then(|(family, dim)| family.values(dim)) {
            let pieces = if sisters.count() == 1 { "new piece's" } else { "new pieces'" };
            expected.push(Self {
                length: Length::from_nm(sisters.whole_mean()),
                near: expected.first().map_or(Length::ZERO, |listed| listed.near),
                from: format!("{} {pieces}", sisters.count()),
            });
        }
        expected
    }
}

/// What makes readings suspicious, in words; none where nothing does. `bars` are those that they or
/// other readings were taken over.
pub fn suspicion(
    values: &[i64],
    expected: &[Expected],
    bars: &[Length],
    unit: Unit,
) -> Option<String> {
    let found = |value: &i64| {
        let read = Length::from_nm(*value);
        let of = |expected: &Expected| {
            let Expected { length, near, .. } = *expected;
            let mut over = bars.iter().copied().map(Some).chain([None]);
            let slip = over.find_map(|bar| slip(read, length, near, bar))?;
            let (read, at) = (read.exact(unit), length.exact(unit));
            let from = &expected.from;
            Some(match slip {
                Slip::Unit => format!("{read} is 25.4 times off {from} {at}, as in the other unit"),
                Slip::Tenth => format!("{read} is a tenth of an inch off {from} {at}"),
                Slip::Bar(bar) => {
                    let bar = bar.exact(unit);
                    format!("{read} is off {from} {at} by just the bar of {bar}")
                }
            })
        };
        expected.iter().find_map(of)
    };
    values.iter().find_map(found)
}

/// One that would explain why a reading is not where it is expected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slip {
    /// Read in millimetres and written down in inches, or the other way round.
    Unit,
    /// A tenth of an inch more or less, as where a scale or a thimble is misread.
    Tenth,
    /// The bar's thickness too much or too little.
    Bar(Length),
}

/// A tenth of an inch.
const TENTH: Length = Length::from_thou(100);

/// How far off a value may be that is no slip at all. Half a tenth of an inch is the most at which
/// slips can still be told from each other.
const CLOSE: (i64, i64) = (Length::from_thou(10).nm(), Length::from_thou(45).nm());

/// The slip that would bring a reading to within `near` of what is expected, if it is not there
/// anyway. `bar` is one that it was taken over, or that other readings were.
pub fn slip(read: Length, expected: Length, near: Length, bar: Option<Length>) -> Option<Slip> {
    let near = near.nm().clamp(CLOSE.0, CLOSE.1);
    let close = |value: i64, near: i64| (value - expected.nm()).abs() <= near;
    if close(read.nm(), near) {
        return None;
    }
    let scaled = |times: i64, per: i64| {
        narrowed(divide_half_away(i128::from(read.nm()) * i128::from(times), i128::from(per)))
    };
    let (times, part) = (scaled(254, 10), scaled(10, 254));
    // A reading that is 25.4 times too small is as coarse as it is small, one that is too large as
    // fine.
    if read != Length::ZERO && (close(times, near * 2) || close(part, near)) {
        return Some(Slip::Unit);
    }
    let off = |by: Length| close(read.nm() - by.nm(), near) || close(read.nm() + by.nm(), near);
    let bar = bar.filter(|bar| *bar > Length::ZERO && off(*bar));
    bar.map(Slip::Bar).or_else(|| off(TENTH).then_some(Slip::Tenth))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(read: i64, bar: Option<i64>) -> Option<Slip> {
        let thou = Length::from_thou;
        slip(thou(read), thou(1000), thou(2), bar.map(thou))
    }

    #[test]
    fn a_reading_where_it_is_expected_is_no_slip_nor_is_one_that_nothing_explains() {
        for near in [990, 1000, 1010, 1040, 700] {
            assert_eq!(of(near, Some(500)), None, "{near}");
        }
    }

    #[test]
    fn another_unit_a_tenth_of_an_inch_and_the_bar_are_told_apart() {
        assert_eq!(of(25_400, None), Some(Slip::Unit));
        assert_eq!(of(39, None), Some(Slip::Unit));
        assert_eq!(of(1100, Some(500)), Some(Slip::Tenth));
        assert_eq!(of(903, None), Some(Slip::Tenth));
        assert_eq!(of(1498, Some(500)), Some(Slip::Bar(Length::from_thou(500))));
        assert_eq!(of(505, Some(500)), Some(Slip::Bar(Length::from_thou(500))));
        assert_eq!(of(1500, None), None);
    }
}
