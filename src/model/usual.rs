//! Between what a length usually lies, and what one outside looks like if it was a slip.
//!
//! Asked where somebody enters a value, and never of what is in the catalog already: an unusual part
//! is no damage. The ranges stand in the table of kinds; they are wide round numbers, common practice
//! without a source.

use crate::error::{Error, Result};
use crate::model::length::{Length, Unit, divide_half_away, narrowed};
use crate::model::sides::Sides;

/// Between what a length usually lies, both ends included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Usual {
    /// The least.
    pub low: Length,
    /// The largest.
    pub high: Length,
}

/// The widest tolerance that is usual: common practice without a source.
pub const WIDEST_TOLERANCE: Length = Length::from_thou(80);

/// By how much a new reading may differ from the piece's own earlier ones: half of a tenth of an
/// inch, a house rule without a source.
pub const OWN_READINGS_APART: Length = Length::from_thou(50);

impl Usual {
    /// From so many thousandths of an inch to so many.
    pub const fn thou(low: i64, high: i64) -> Self {
        Self { low: Length::from_thou(low), high: Length::from_thou(high) }
    }

    /// Whether a length lies in it.
    pub fn holds(self, length: Length) -> bool {
        self.low <= length && length <= self.high
    }

    /// What a length outside would be, had it been written down by a slip: in the other unit, with
    /// the point elsewhere, over a bar that was not taken off, or with the other sign.
    fn slip(self, length: Length, bars: &[Length], sides: Option<&Sides>) -> Option<String> {
        let scaled = |times: i64, per: i64| {
            let nm = i128::from(length.nm()) * i128::from(times);
            Length::from_nm(narrowed(divide_half_away(nm, i128::from(per))))
        };
        let shown = |length: Length, unit| match sides {
            Some(sides) => sides.show(length, unit),
            None => length.exact(unit),
        };
        let mut others = vec![(scaled(10, 254), Unit::Mm), (scaled(254, 10), Unit::In)];
        for tens in [10, 100, 1000] {
            others.extend([(scaled(1, tens), Unit::In), (scaled(tens, 1), Unit::In)]);
        }
        others.push((-length, Unit::In));
        let mut told: Vec<(String, String)> = others
            .into_iter()
            .filter(|(other, _)| self.holds(*other))
            .map(|(other, unit)| (shown(other, unit), String::new()))
            .collect();
        told.extend(bars.iter().filter(|bar| self.holds(length - **bar)).map(|bar| {
            let (rest, bar) = (shown(length - *bar, Unit::In), bar.exact(Unit::In));
            (rest, format!(", with the bar of {bar} taken off"))
        }));
        let ((first, tail), more) = told.split_first()?;
        let more = more.iter().map(|(other, tail)| format!(", or {other}{tail}"));
        Some(format!("{first} is{tail}{}", more.collect::<Vec<_>>().concat()))
    }
}

/// What is asked of a length that is entered.
#[derive(Debug, Clone, Copy)]
pub struct LengthRules<'a> {
    /// The key of the dimension or reading.
    pub key: &'static str,
    /// What it is of, as in ` of a flywheel`; blank for a reading of a job.
    pub of: &'a str,
    /// Its usual range.
    pub usual: Usual,
    /// Bars that readings beside it were taken over.
    pub bars: &'a [Length],
    /// The words for its sides, if it has any.
    pub sides: Option<&'a Sides>,
}

impl LengthRules<'_> {
    /// Refuses a length that is not usual, unless who enters it says that it is meant.
    ///
    /// # Errors
    ///
    /// Says what is usual, and what the length looks like if it was a slip.
    pub fn check(&self, length: Length, meant: &Meant) -> Result<()> {
        if self.usual.holds(length) || meant.has(self.key) {
            return Ok(());
        }
        let shown = self.sides.map(|sides| sides.show(length, Unit::In));
        let shown = shown.unwrap_or_else(|| length.exact(Unit::In));
        let Usual { low, high } = self.usual;
        let (low, high) = (low.exact(Unit::In), high.exact(Unit::In));
        let of = self.of;
        let error = Error::input(format!(
            "`{shown}` is no usual `{}`{of}, which is {low} to {high}",
            self.key
        ));
        let keep = format!("`--unusual {}` keeps it", self.key);
        Err(match self.usual.slip(length, self.bars, self.sides) {
            Some(slip) => error.hint(format!("{slip}; {keep}")),
            None => error.hint(keep),
        })
    }
}

/// Refuses a tolerance that is wider than any usual one, unless it is meant.
///
/// # Errors
///
/// Says how wide a tolerance usually is.
pub fn check_tolerance(key: &str, tol: Length, meant: &Meant) -> Result<()> {
    if tol <= WIDEST_TOLERANCE || meant.has(key) || meant.has(&format!("{key}_tol")) {
        return Ok(());
    }
    let (shown, widest) = (tol.exact(Unit::In), WIDEST_TOLERANCE.exact(Unit::In));
    let error = Error::input(format!("`{shown}` is no usual tolerance: they are {widest} at most"));
    let keep = format!("`--unusual {key}` keeps it");
    let tenths = Usual { low: Length::from_nm(1), high: WIDEST_TOLERANCE };
    Err(match tenths.slip(tol, &[], None) {
        Some(slip) => error.hint(format!("{slip}; {keep}")),
        None => error.hint(keep),
    })
}

/// The values that are meant though they are unusual.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Meant {
    keys: Vec<String>,
}

/// The word for every key.
const ALL: &str = "all";

impl Meant {
    /// None.
    pub const fn none() -> Self {
        Self { keys: Vec::new() }
    }

    /// The values of these keys, or of all where one is `all`.
    pub fn new(keys: impl IntoIterator<Item = impl AsRef<str>>) -> Self {
        Self { keys: keys.into_iter().map(|key| key.as_ref().trim().to_string()).collect() }
    }

    /// Every value.
    pub fn all() -> Self {
        Self::new([ALL])
    }

    /// Whether the value of this key is meant.
    pub fn has(&self, key: &str) -> bool {
        self.keys.iter().any(|own| own == ALL || own == key)
    }

    /// The keys that were given, but `all`.
    pub fn keys(&self) -> impl Iterator<Item = &str> {
        self.keys.iter().map(String::as_str).filter(|key| *key != ALL)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::sides::CRANK;

    fn told(text: &str, usual: Usual, bars: &[Length]) -> String {
        let sides = text.contains("in (crank)").then_some(&CRANK);
        let length = Length::parse(text.trim_end_matches(" (crank)")).unwrap();
        let asked = LengthRules { key: "thickness", of: " of a flywheel", usual, bars, sides };
        let refused = asked.check(length, &Meant::default());
        refused.map_or_else(|error| error.to_string(), |()| "usual".into())
    }

    #[test]
    fn a_length_outside_its_range_is_refused_with_what_it_looks_like() {
        let flywheel = Usual::thou(200, 3000);
        assert_eq!(told("0.2 in", flywheel, &[]), "usual");
        assert_eq!(told("3 in", flywheel, &[]), "usual");
        assert_eq!(
            told("28.6 in", flywheel, &[]),
            "`28.600 in` is no usual `thickness` of a flywheel, which is 0.200 in to 3.000 in\n  hint: \
             28.60 mm is, or 2.860 in, or 0.286 in; `--unusual thickness` keeps it"
        );
        for (text, slip) in [
            ("1.125 mm", "1.125 in is, or "),
            ("10.05 in", "10.05 mm is, or 1.005 in; "),
            ("99 in", "0.990 in is; "),
            ("254 mm", "10.00 mm is, or 1.000 in; "),
            ("0.15 in", "1.500 in is; "),
        ] {
            assert!(told(text, flywheel, &[]).contains(slip), "{text}");
        }
        let bar = [Length::from_thou(500)];
        let height = Usual::thou(500, 1000);
        assert!(
            told("1.3 in", height, &bar)
                .contains("0.800 in is, with the bar of 0.500 in taken off")
        );
        assert!(told("-0.75 in", height, &[]).contains("0.750 in is; "));
        let proud = Usual::thou(0, 500);
        assert!(told("-0.25 in (crank)", proud, &[]).contains("0.250 in proud is; "));
        let told = told("77 in", Usual::thou(200, 201), &[]);
        assert!(told.ends_with("hint: `--unusual thickness` keeps it"), "{told}");
    }

    #[test]
    fn what_is_meant_is_kept() {
        let length = Length::from_thou(28_600);
        let asked = LengthRules {
            key: "thickness",
            of: "",
            usual: Usual::thou(200, 3000),
            bars: &[],
            sides: None,
        };
        for meant in [Meant::all(), Meant::new(["cover_step", " thickness "])] {
            assert!(asked.check(length, &meant).is_ok());
        }
        assert!(asked.check(length, &Meant::new(["cover_step"])).is_err());
    }

    #[test]
    fn a_tolerance_of_three_millimetres_is_no_usual_one() {
        let tol =
            |text: &str| check_tolerance("depth", Length::parse(text).unwrap(), &Meant::default());
        assert!(tol("0.080 in").is_ok());
        let told = tol("3 mm").unwrap_err().to_string();
        assert!(told.contains("they are 0.080 in at most"), "{told}");
        assert!(
            check_tolerance("depth", Length::from_thou(90), &Meant::new(["depth_tol"])).is_ok()
        );
    }
}
