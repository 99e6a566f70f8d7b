//! The house numbers: the shop's own window, margins, floors and assumed tolerances.

use std::collections::BTreeMap;

use crate::error::{Error, Result};
use crate::model::kinds::{Assumed, DimSpec, Kinds};
use crate::model::length::{Length, NM_PER_IN, Unit};

/// Edges of a window that somebody set; what is blank is left to the next level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Limits {
    /// Least preload.
    pub preload_min: Option<Length>,
    /// Most preload.
    pub preload_max: Option<Length>,
    /// Least wear reserve.
    pub reserve_min: Option<Length>,
    /// Most wear reserve.
    pub reserve_max: Option<Length>,
}

/// The four edges' keys, in order.
pub const EDGE_KEYS: [&str; 4] = ["preload_min", "preload_max", "reserve_min", "reserve_max"];

impl Limits {
    /// The edges in the order of [`EDGE_KEYS`].
    pub fn get(&self, index: usize) -> Option<Length> {
        [self.preload_min, self.preload_max, self.reserve_min, self.reserve_max][index]
    }

    /// The edge of that index, to be set.
    pub fn get_mut(&mut self, index: usize) -> &mut Option<Length> {
        match index {
            0 => &mut self.preload_min,
            1 => &mut self.preload_max,
            2 => &mut self.reserve_min,
            _ => &mut self.reserve_max,
        }
    }

    /// Refuses a window whose least is above its most.
    ///
    /// # Errors
    ///
    /// Names the two edges.
    pub fn validate(&self) -> Result<()> {
        for (low, high, name) in [
            (self.preload_min, self.preload_max, "preload"),
            (self.reserve_min, self.reserve_max, "reserve"),
        ] {
            if let (Some(low), Some(high)) = (low, high)
                && low > high
            {
                let (low, high) = (low.exact(Unit::In), high.exact(Unit::In));
                return Err(Error::input(format!("{name}_min {low} is above {name}_max {high}")));
            }
        }
        Ok(())
    }
}

/// A house number: one setting of the shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Number {
    /// Added to the clutch's release travel for its least preload.
    StrokeMargin,
    /// Added to what wear moves the fingers for its least reserve.
    ReserveMargin,
    /// Least preload where neither job, shop nor clutch has one.
    FallbackPreloadMin,
    /// Least reserve where neither job, shop nor clutch has one.
    FallbackReserveMin,
    /// Room beyond which more is not better.
    EnoughRoom,
    /// Part of the hydraulic stroke that is lost, in per cent.
    LostMotion,
    /// Least dowel engagement.
    DowelFloor,
    /// Least distance of the shaft's tip from the bottom of the crank's hole.
    ShaftClearance,
    /// How far the ring gear may move from where it is today.
    StarterTolerance,
    /// Half-width of a diaphragm's working range where its maker gives none.
    GapRange,
    /// Tolerance assumed for a reading of a job.
    AssumedReading,
}

/// A house number's key, default and meaning.
#[derive(Debug, Clone, Copy)]
pub struct NumberSpec {
    /// Which one it is.
    pub number: Number,
    /// The key by which it is set.
    pub key: &'static str,
    /// Its default: nanometres, or per cent.
    pub default: i64,
    /// Whether it is in per cent rather than a length.
    pub percent: bool,
    /// What it means.
    pub about: &'static str,
}

const fn thou(number: Number, key: &'static str, thou: i64, about: &'static str) -> NumberSpec {
    NumberSpec { number, key, default: thou * (NM_PER_IN / 1000), percent: false, about }
}

/// Every house number. The defaults are common practice or invented round numbers, and say so.
pub const NUMBERS: &[NumberSpec] = &[
    thou(Number::StrokeMargin, "stroke_margin", 100, "added to release_travel for preload_min"),
    thou(
        Number::ReserveMargin,
        "reserve_margin",
        30,
        "added to finger movement by wear for reserve_min",
    ),
    thou(
        Number::FallbackPreloadMin,
        "fallback_preload_min",
        600,
        "preload_min where nobody set one (common practice, no source)",
    ),
    thou(
        Number::FallbackReserveMin,
        "fallback_reserve_min",
        150,
        "reserve_min where nobody set one (common practice, no source)",
    ),
    thou(Number::EnoughRoom, "enough_room", 30, "room beyond which more does not rank higher"),
    NumberSpec {
        number: Number::LostMotion,
        key: "lost_motion",
        default: 15,
        percent: true,
        about: "part of the hydraulic stroke that is lost, per cent",
    },
    thou(Number::DowelFloor, "dowel_floor", 200, "least dowel engagement"),
    thou(Number::ShaftClearance, "shaft_clearance", 60, "least room ahead of the shaft's tip"),
    thou(Number::StarterTolerance, "starter_tolerance", 40, "how far the ring gear may move"),
    thou(Number::GapRange, "gap_range", 20, "working range about set_gap where none is given"),
    thou(Number::AssumedReading, "assumed.job", 5, "tolerance assumed for a job's reading"),
];

/// The house numbers of one catalog.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct House {
    /// The shop's own window.
    pub window: Limits,
    /// The currency of every price.
    pub currency: String,
    numbers: Vec<i64>,
    /// Assumed tolerances that the shop changed, by `assumed.kind.dimension`.
    assumed: BTreeMap<String, i64>,
}

impl Default for House {
    fn default() -> Self {
        Self {
            window: Limits::default(),
            currency: "USD".into(),
            numbers: NUMBERS.iter().map(|spec| spec.default).collect(),
            assumed: BTreeMap::new(),
        }
    }
}

impl House {
    /// A house number that is a length.
    pub fn length(&self, number: Number) -> Length {
        Length::from_nm(self.numbers[number as usize])
    }

    /// A house number in per cent.
    pub fn percent(&self, number: Number) -> i64 {
        self.numbers[number as usize]
    }

    /// The tolerance assumed for a dimension of this value, in its base unit.
    pub fn assumed(&self, kind: &str, dim: &DimSpec, value: i64) -> i64 {
        let own = if self.assumed.is_empty() {
            None
        } else {
            self.assumed.get(&assumed_key(kind, dim.key)).copied()
        };
        match dim.assumed {
            Assumed::Thou(thou) => own.unwrap_or(Length::from_thou(thou).nm()),
            Assumed::Percent(percent) => (value.abs() * own.unwrap_or(percent) + 99) / 100,
            Assumed::Unneeded => own.unwrap_or(0),
        }
    }

    /// Every setting: key, value as it is written, whether it differs from the default, meaning.
    pub fn settings(&self, kinds: Kinds, unit: Unit) -> Vec<Setting> {
        let mut all: Vec<Setting> = EDGE_KEYS
            .iter()
            .enumerate()
            .map(|(index, key)| Setting {
                key: (*key).to_string(),
                value: self.window.get(index).map(|edge| edge.exact(unit)).unwrap_or_default(),
                changed: self.window.get(index).is_some(),
                about: "the shop's own window".into(),
            })
            .collect();
        all.extend(NUMBERS.iter().zip(&self.numbers).map(|(spec, value)| Setting {
            key: spec.key.into(),
            value: write(*value, spec.percent, unit),
            changed: *value != spec.default,
            about: spec.about.into(),
        }));
        all.extend(assumable(kinds).map(|(kind, dim)| {
            let key = assumed_key(kind, dim.key);
            let (default, percent) = default_of(dim.assumed);
            let own = self.assumed.get(&key).copied();
            Setting {
                value: write(own.unwrap_or(default), percent, unit),
                changed: own.is_some(),
                about: format!("tolerance assumed for {kind} {} where none is given", dim.key),
                key,
            }
        }));
        all.push(Setting {
            key: "currency".into(),
            value: self.currency.clone(),
            changed: self.currency != "USD",
            about: "currency of every price".into(),
        });
        all
    }

    /// Sets one setting from text; a blank goes back to the default.
    ///
    /// # Errors
    ///
    /// Refuses unknown keys (naming the nearest), missing units and negative values.
    pub fn set(&mut self, kinds: Kinds, key: &str, text: &str) -> Result<()> {
        let text = text.trim();
        if let Some(index) = EDGE_KEYS.iter().position(|edge| *edge == key) {
            let edge = if text.is_empty() { None } else { Some(Length::parse(text)?) };
            *self.window.get_mut(index) = edge;
            return self.window.validate();
        }
        if key == "currency" {
            let good = text.len() == 3 && text.bytes().all(|b| b.is_ascii_uppercase());
            if !good && !text.is_empty() {
                return Err(Error::input(format!("`{text}` is no currency"))
                    .hint("write the three capitals of ISO 4217, such as USD"));
            }
            self.currency = if good { text.into() } else { "USD".into() };
            return Ok(());
        }
        if let Some(spec) = NUMBERS.iter().find(|spec| spec.key == key) {
            self.numbers[spec.number as usize] = read(text, spec.percent)?.unwrap_or(spec.default);
            return Ok(());
        }
        if let Some((_, dim)) =
            assumable(kinds).find(|(kind, dim)| assumed_key(kind, dim.key) == key)
        {
            match read(text, default_of(dim.assumed).1)? {
                Some(value) => self.assumed.insert(key.into(), value),
                None => self.assumed.remove(key),
            };
            return Ok(());
        }
        let known: Vec<String> =
            self.settings(kinds, Unit::In).into_iter().map(|setting| setting.key).collect();
        let error = Error::input(format!("`{key}` is no house number"));
        Err(error.near(key, known.iter().map(String::as_str), "`window show` lists all"))
    }
}

/// One line of the house numbers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Setting {
    /// The key by which it is set.
    pub key: String,
    /// The value as it is written, blank where unset.
    pub value: String,
    /// Whether the shop changed it.
    pub changed: bool,
    /// What it means.
    pub about: String,
}

fn assumed_key(kind: &str, dim: &str) -> String {
    format!("assumed.{kind}.{dim}")
}

fn assumable(kinds: Kinds) -> impl Iterator<Item = (&'static str, &'static DimSpec)> {
    kinds
        .iter()
        .flat_map(|kind| kind.dims.iter().map(move |dim| (kind.key, dim)))
        .filter(|(_, dim)| dim.assumed != Assumed::Unneeded)
}

fn default_of(assumed: Assumed) -> (i64, bool) {
    match assumed {
        Assumed::Thou(thou) => (Length::from_thou(thou).nm(), false),
        Assumed::Percent(percent) => (percent, true),
        Assumed::Unneeded => (0, false),
    }
}

fn write(value: i64, percent: bool, unit: Unit) -> String {
    if percent { format!("{value} %") } else { Length::from_nm(value).exact(unit) }
}

fn read(text: &str, percent: bool) -> Result<Option<i64>> {
    if text.is_empty() {
        return Ok(None);
    }
    if percent {
        let number = text.trim_end_matches('%').trim();
        return number.parse::<i64>().ok().filter(|value| (0..100).contains(value)).map_or_else(
            || {
                Err(Error::input(format!("`{text}` is no percentage"))
                    .hint("write a whole number from 0 to 99, such as `15 %`"))
            },
            |value| Ok(Some(value)),
        );
    }
    let length = Length::parse(text)?;
    if length < Length::ZERO {
        return Err(Error::input(format!("`{text}` is negative")));
    }
    Ok(Some(length.nm()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_house_number_is_set_shown_and_taken_back() {
        let kinds = Kinds::standard();
        let mut house = House::default();
        assert_eq!(house.length(Number::StrokeMargin), Length::from_thou(100));
        house.set(kinds, "stroke_margin", "0.12 in").unwrap();
        house.set(kinds, "assumed.flywheel.thickness", "0.002 in").unwrap();
        let kind = kinds.get("flywheel").unwrap();
        assert_eq!(house.assumed("flywheel", &kind.dims[0], 0), 50_800);
        assert_eq!(house.settings(kinds, Unit::In).iter().filter(|s| s.changed).count(), 2);
        house.set(kinds, "stroke_margin", "").unwrap();
        house.set(kinds, "assumed.flywheel.thickness", "").unwrap();
        assert_eq!(house, House::default());
        let error = house.set(kinds, "stroke_margn", "1 in").unwrap_err().to_string();
        assert!(error.contains("`stroke_margin`"), "{error}");
    }

    #[test]
    fn numbers_stand_at_their_own_index() {
        for (index, spec) in NUMBERS.iter().enumerate() {
            assert_eq!(spec.number as usize, index);
        }
        for (index, spec) in crate::model::job::READINGS.iter().enumerate() {
            assert_eq!(spec.reading as usize, index);
        }
    }
}
