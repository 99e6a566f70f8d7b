//! One part number of the shop's library.

use std::collections::BTreeMap;

use crate::error::{Error, Result};
use crate::model::bars::Bars;
pub use crate::model::entry::Entry;
use crate::model::faces::Names;
use crate::model::kinds::{DimSpec, KindSpec, Quantity, Sign};
use crate::model::length::{LONGEST, Length, Ratio, Unit, fixed};
use crate::model::money::Cents;

/// Columns of the shop's own, such as shelf and supplier, by their names.
pub type OwnColumns = BTreeMap<String, String>;

/// What stands before the name of a column of the shop's own, in a file and in a command.
pub const OWN: &str = "own_";

/// The name of a column of the shop's own in the name of a file's column.
pub fn own_name(column: &str) -> Option<&str> {
    let name = column.strip_prefix(OWN)?;
    let is_plain = |c: char| c.is_alphanumeric() || c == '_';
    (!name.is_empty() && name.chars().all(is_plain)).then_some(name)
}

/// A part with everything that was entered about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// The user's own part number; of a single piece, that with the piece's label.
    pub id: String,
    /// The part number of a single piece, which cannot be bought and stands in a stack once.
    pub piece_of: Option<String>,
    /// What kind of part it is.
    pub kind: &'static KindSpec,
    /// Who makes it.
    pub maker: String,
    /// What it is.
    pub description: String,
    /// What one costs, where known.
    pub price: Option<Cents>,
    /// How many lie on the shelf.
    pub on_hand: u32,
    /// The least number that is to lie on the shelf, where the shop keeps one.
    pub least_on_hand: Option<u32>,
    /// How many days one takes to come, where known.
    pub lead_days: Option<u32>,
    /// Retired parts stay in the library and leave the search.
    pub retired: bool,
    /// Anything else.
    pub notes: String,
    /// The numbers that it had before, or whose place it has taken, bytewise.
    pub formerly: Vec<String>,
    /// What the shop's own columns say.
    pub own: OwnColumns,
    /// Values in the order of the kind's dimensions.
    pub dims: Vec<Option<Entry>>,
    /// The bars that dimensions were read over, by their index.
    pub bars: Bars,
    /// Patterns in the order of the kind's faces.
    pub faces: Vec<Names>,
    /// Words in the order of the kind's facts.
    pub facts: Vec<Option<String>>,
}

impl Part {
    /// A part of which nothing but number and kind is known.
    pub fn new(id: impl Into<String>, kind: &'static KindSpec) -> Self {
        Self {
            id: id.into(),
            piece_of: None,
            kind,
            maker: String::new(),
            description: String::new(),
            price: None,
            on_hand: 0,
            least_on_hand: None,
            lead_days: None,
            retired: false,
            notes: String::new(),
            formerly: Vec::new(),
            own: OwnColumns::new(),
            dims: vec![None; kind.dims.len()],
            bars: Bars::default(),
            faces: vec![Names::Unknown; kind.faces.len()],
            facts: vec![None; kind.facts.len()],
        }
    }

    /// Whether this is its number, or was once.
    pub fn is_called(&self, id: &str) -> bool {
        self.id == id || self.was_called(id)
    }

    /// Whether this was its number once.
    pub fn was_called(&self, id: &str) -> bool {
        self.formerly.iter().any(|former| former == id)
    }

    /// The entry of a dimension, if it is known.
    pub fn entry(&self, key: &str) -> Option<Entry> {
        self.kind.dim_index(key).and_then(|index| self.dims[index])
    }

    /// A dimension that is a length.
    pub fn length(&self, key: &str) -> Option<Length> {
        self.entry(key).map(Entry::as_length)
    }

    /// Sets a dimension by its key; unknown keys are ignored, as the caller checked them.
    pub fn set(&mut self, key: &str, entry: Option<Entry>) {
        if let Some(index) = self.kind.dim_index(key) {
            self.dims[index] = entry;
        }
    }

    /// Whether this is a matched set: a plate that brings its disc or discs.
    pub fn is_matched_set(&self) -> bool {
        self.entry("pack_thickness").is_some()
    }

    /// Whether a dimension can be had, itself or through the ones that stand in for it.
    pub fn knows(&self, dim: &DimSpec) -> bool {
        let stand_in = || {
            !dim.stand_in.is_empty()
                && dim.stand_in.iter().all(|(key, _)| self.entry(key).is_some())
        };
        dim.blank.is_some() || self.entry(dim.key).is_some() || stand_in()
    }

    /// The needed dimensions that are missing.
    pub fn missing(&self) -> Vec<&'static str> {
        self.kind
            .dims
            .iter()
            .filter(|dim| dim.needed && !self.knows(dim))
            .map(|dim| dim.key)
            .collect()
    }

    /// Checks every value and every pair of values that must agree.
    ///
    /// Returns warnings about values that are unusual but possible.
    ///
    /// # Errors
    ///
    /// One error for each thing that cannot be, with the dimension it concerns.
    pub fn validate(&self) -> std::result::Result<Vec<String>, Vec<(&'static str, Error)>> {
        let mut errors = Vec::new();
        let mut warnings = Vec::new();
        for (spec, entry) in self.kind.dims.iter().zip(&self.dims) {
            let Some(entry) = entry else { continue };
            match check_value(spec, *entry) {
                Ok(None) => {}
                Ok(Some(warning)) => {
                    warnings.push(format!("{} `{}`: {warning}", self.kind.name, self.id));
                }
                Err(error) => errors.push((spec.key, error)),
            }
        }
        for (fact, word) in self.kind.facts.iter().zip(&self.facts) {
            if let Some(word) = word
                && !fact.accepted.contains(&word.as_str())
            {
                let message = format!("`{word}` is refused: {}", fact.refusal);
                let hint = format!("`{}` may be {} or blank", fact.key, fact.accepted.join(", "));
                errors.push((fact.key, Error::input(message).hint(hint)));
            }
        }
        for order in ORDERS {
            if let (Some(low), Some(high)) = (self.length(order.low), self.length(order.high))
                && (low > high || (order.strict && low == high))
            {
                let message = format!(
                    "{} {} is {} than {} {}",
                    order.low,
                    low.exact(Unit::In),
                    if order.strict { "not smaller" } else { "larger" },
                    order.high,
                    high.exact(Unit::In),
                );
                errors.push((order.low, Error::input(message).hint(order.hint)));
            }
        }
        if errors.is_empty() { Ok(warnings) } else { Err(errors) }
    }
}

/// Two dimensions of one part of which the first must not pass the second.
struct Order {
    low: &'static str,
    high: &'static str,
    strict: bool,
    hint: &'static str,
}

const ORDERS: &[Order] = &[
    Order {
        low: "retracted_height",
        high: "extended_height",
        strict: true,
        hint: "a bearing stands taller extended than retracted; were the two swapped?",
    },
    Order {
        low: "min_thickness",
        high: "thickness",
        strict: false,
        hint: "was the part worn out?",
    },
    Order { low: "set_gap_min", high: "set_gap", strict: false, hint: "the range holds set_gap" },
    Order { low: "set_gap", high: "set_gap_max", strict: false, hint: "the range holds set_gap" },
    Order {
        low: "release_travel",
        high: "max_release_travel",
        strict: false,
        hint: "a clutch releases before its travel's end",
    },
    Order {
        low: "finger_circle_inner",
        high: "finger_circle_outer",
        strict: true,
        hint: "were the two swapped?",
    },
    Order { low: "bore_inner", high: "bore_outer", strict: true, hint: "were the two swapped?" },
    Order {
        low: "cushion",
        high: "free_thickness",
        strict: true,
        hint: "clamped thickness is free thickness less cushion",
    },
];

const RATIO_REFUSED: (i64, i64) = (1_500_000, 7_000_000);
const RATIO_UNUSUAL: (i64, i64) = (2_300_000, 5_500_000);

/// The largest number of base units that any value may have, whatever it counts in: sums of a whole
/// stack stay far within 64 bits.
pub const LARGEST: i64 = LONGEST.nm();

/// The least and the largest value that a dimension may have, in its base unit.
pub fn possible(spec: &DimSpec) -> (i64, i64) {
    match (spec.quantity, spec.sign) {
        (Quantity::Ratio, _) => RATIO_REFUSED,
        (_, Sign::Positive) => (1, LARGEST),
        (_, Sign::NotNegative) => (0, LARGEST),
        (_, Sign::Any) => (-LARGEST, LARGEST),
    }
}

/// Checks one value of a dimension. Returns a warning where it is unusual but possible.
///
/// # Errors
///
/// Says why the value cannot be.
pub fn check_value(spec: &DimSpec, entry: Entry) -> Result<Option<String>> {
    let shown = show_value(spec.quantity, entry.value, Unit::In);
    match spec.sign {
        Sign::Positive if entry.value <= 0 => {
            return Err(Error::input(format!("`{shown}` is not above zero")));
        }
        Sign::NotNegative if entry.value < 0 => {
            return Err(Error::input(format!("`{shown}` is negative")));
        }
        _ => {}
    }
    if entry.tol.is_some_and(|tol| tol < 0) {
        return Err(Error::input("its tolerance is negative")
            .hint("a tolerance is the half-width, as in +-0.005 in"));
    }
    let size = entry.value.unsigned_abs().max(entry.tol.unwrap_or(0).unsigned_abs());
    if size > LARGEST.unsigned_abs() {
        let most = match spec.quantity {
            Quantity::Length => "100 in".into(),
            quantity => show_value(quantity, LARGEST, Unit::In),
        };
        return Err(Error::input(format!("`{shown}` or its tolerance is beyond {most}")));
    }
    if spec.quantity == Quantity::Ratio {
        let (low, high) = RATIO_REFUSED;
        if entry.value < low || entry.value > high {
            return Err(Error::input(format!("a finger ratio of {shown} is outside 1.5 to 7")).hint(
                "the ratio is finger movement per movement of the pressure plate, mostly 3 to 4.5",
            ));
        }
        if entry.tol.is_some_and(|tol| tol >= entry.value) {
            return Err(Error::input("its tolerance is as large as the ratio itself"));
        }
        let (low, high) = RATIO_UNUSUAL;
        if entry.value < low || entry.value > high {
            return Ok(Some(format!("a finger ratio of {shown} is unusual (mostly 3 to 4.5)")));
        }
    }
    Ok(None)
}

/// A stored value exactly, with its unit where it has one.
pub fn show_value(quantity: Quantity, value: i64, unit: Unit) -> String {
    match quantity {
        Quantity::Length => Length::from_nm(value).exact(unit),
        Quantity::Ratio => Ratio::from_millionths(value).to_string(),
        Quantity::Count => value.to_string(),
        Quantity::Torque => {
            let text = fixed(value, 1000, 3);
            text.trim_end_matches('0').trim_end_matches('.').to_string()
        }
    }
}

/// Reads a value that has no unit of length: a ratio, a count or a torque.
///
/// # Errors
///
/// Refuses what is no number, and fractions of a count.
pub fn read_plain(quantity: Quantity, text: &str) -> Result<i64> {
    let text = text.trim();
    match quantity {
        Quantity::Ratio => Ok(Ratio::parse(text)?.millionths()),
        Quantity::Count => text
            .parse::<u32>()
            .map(i64::from)
            .map_err(|_| Error::input(format!("`{text}` is no whole number"))),
        // Millionths again, brought to thousandths: one reader of decimals for all.
        Quantity::Torque => {
            let number = text.trim_end_matches("N m").trim_end_matches("Nm").trim();
            let millionths = Ratio::parse(number)?.millionths();
            (millionths % 1000 == 0)
                .then_some(millionths / 1000)
                .ok_or_else(|| Error::input(format!("`{text}` has more than three decimals")))
        }
        Quantity::Length => Ok(Length::parse(text)?.nm()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::kinds::Kinds;

    fn part(kind: &str, dims: &[(&str, i64)]) -> Part {
        let mut part = Part::new("X", Kinds::standard().get(kind).unwrap());
        for (key, value) in dims {
            part.set(key, Some(Entry::new(*value, None)));
        }
        part
    }

    #[test]
    fn impossible_dimensions_are_refused_by_name() {
        let bearing = part("bearing", &[("extended_height", 10), ("retracted_height", 20)]);
        assert_eq!(bearing.validate().unwrap_err()[0].0, "retracted_height");
        let flywheel = part("flywheel", &[("thickness", -1)]);
        assert_eq!(flywheel.validate().unwrap_err()[0].0, "thickness");
        let plate = part("pressure_plate", &[("finger_ratio", 7_000_001)]);
        assert!(plate.validate().unwrap_err()[0].1.to_string().contains("1.5 to 7"));
        let plate = part("pressure_plate", &[("finger_ratio", 5_600_000)]);
        assert_eq!(plate.validate().unwrap().len(), 1);
    }

    #[test]
    fn a_pull_type_clutch_is_refused() {
        let mut plate = part("pressure_plate", &[]);
        plate.facts[0] = Some("pull".into());
        assert!(plate.validate().unwrap_err()[0].1.to_string().contains("pull-type"));
    }

    #[test]
    fn clamped_thickness_may_come_from_free_thickness_and_cushion() {
        let disc = part("disc", &[("free_thickness", 8_800_000), ("cushion", 800_000)]);
        assert!(disc.missing().is_empty());
        assert_eq!(part("disc", &[("free_thickness", 1)]).missing(), ["thickness"]);
    }

    #[test]
    fn torque_keeps_three_decimals() {
        assert_eq!(read_plain(Quantity::Torque, "450.5 N m").unwrap(), 450_500);
        assert_eq!(show_value(Quantity::Torque, 450_500, Unit::In), "450.5");
        assert_eq!(show_value(Quantity::Torque, 450_000, Unit::In), "450");
    }
}
