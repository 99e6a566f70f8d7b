//! The house numbers: the shop's own window, margins, floors and assumed tolerances.

use std::collections::BTreeMap;

use crate::error::{Error, Result};
use crate::model::edge::{Edge, PerEdge};
use crate::model::kinds::{Assumed, DimSpec, Kinds};
use crate::model::length::{Length, NM_PER_IN, Ratio, Unit};

/// Edges of a window that somebody set; what is blank is left to the next level.
pub type Limits = PerEdge<Option<Length>>;

impl Limits {
    /// Refuses a window whose least is above its most.
    ///
    /// # Errors
    ///
    /// Names the two edges.
    pub fn validate(&self) -> Result<()> {
        for (least, most) in
            [(Edge::PreloadMin, Edge::PreloadMax), (Edge::ReserveMin, Edge::ReserveMax)]
        {
            if let (Some(low), Some(high)) = (self[least], self[most])
                && low > high
            {
                let (low, high) = (low.exact(Unit::In), high.exact(Unit::In));
                let (least, most) = (least.key(), most.key());
                let found = format!("{least} {low} is above {most} {high}");
                let hint =
                    format!("lower the one or raise the other; `{most}=` takes that limit away");
                return Err(Error::input(found).hint(hint));
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
    /// Least room between the disc's hub and the crank bolts once the facings are worn.
    HubFloor,
    /// Finger ratio that stands in for one that nobody knows.
    BlankRatio,
    /// Its half-width.
    BlankRatioTol,
    /// Thickness of the disc with which a finger height was taken, where nobody knows it.
    BlankSetDisc,
    /// Its half-width.
    BlankSetDiscTol,
    /// Half-width of a set gap that is taken from the parts it was presumably taken with.
    BlankSetGapTol,
    /// Facing wear (whole pack) where nobody knows what the facings may lose.
    BlankWear,
}

/// What a house number counts in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counts {
    /// A length, nm.
    Length,
    /// Whole per cent.
    Percent,
    /// A ratio, millionths.
    Ratio,
}

/// A house number's key, default and meaning.
#[derive(Debug, Clone, Copy)]
pub struct NumberSpec {
    /// Which one it is.
    pub number: Number,
    /// The key by which it is set.
    pub key: &'static str,
    /// Its default, in what it counts in.
    pub default: i64,
    /// What it counts in.
    pub counts: Counts,
    /// What it means.
    pub about: &'static str,
}

const fn thou(number: Number, key: &'static str, thou: i64, about: &'static str) -> NumberSpec {
    NumberSpec { number, key, default: thou * (NM_PER_IN / 1000), counts: Counts::Length, about }
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
        counts: Counts::Percent,
        about: "part of the hydraulic stroke that is lost, per cent",
    },
    thou(Number::DowelFloor, "dowel_floor", 200, "least dowel engagement"),
    thou(Number::ShaftClearance, "shaft_clearance", 60, "least room ahead of the shaft's tip"),
    thou(Number::StarterTolerance, "starter_tolerance", 40, "how far the ring gear may move"),
    thou(Number::GapRange, "gap_range", 20, "working range about set_gap where none is given"),
    thou(Number::AssumedReading, "assumed.job", 5, "tolerance assumed for a job's reading"),
    thou(
        Number::HubFloor,
        "hub_floor",
        20,
        "least room between the disc's hub and the crank bolts once half of the wear is gone",
    ),
    NumberSpec {
        number: Number::BlankRatio,
        key: "blank.finger_ratio",
        default: 3_750_000,
        counts: Counts::Ratio,
        about: "finger ratio where nobody knows it (common practice, no source)",
    },
    NumberSpec {
        number: Number::BlankRatioTol,
        key: "blank.finger_ratio_tol",
        default: 750_000,
        counts: Counts::Ratio,
        about: "how far such a ratio may be off (common practice, no source)",
    },
    thou(
        Number::BlankSetDisc,
        "blank.set_disc",
        330,
        "disc with which a finger height was taken, where nobody knows it",
    ),
    thou(Number::BlankSetDiscTol, "blank.set_disc_tol", 50, "how far such a disc may be off"),
    thou(
        Number::BlankSetGapTol,
        "blank.set_gap_tol",
        30,
        "how far set_gap may be off where it is taken from the parts that the job names",
    ),
    thou(Number::BlankWear, "blank.wear", 40, "facing wear where nobody knows it"),
];

/// The house numbers of one catalog.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct House {
    /// The shop's own window.
    pub window: Limits,
    /// The currency of every price.
    pub currency: String,
    /// The unit that people read where nothing else is asked for.
    pub unit: Unit,
    numbers: Vec<i64>,
    /// Assumed tolerances that the shop changed, by `assumed.kind.dimension`.
    assumed: BTreeMap<String, i64>,
}

impl Default for House {
    fn default() -> Self {
        Self {
            window: Limits::default(),
            currency: "USD".into(),
            unit: Unit::In,
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

    /// A house number that is a ratio.
    pub fn ratio(&self, number: Number) -> Ratio {
        Ratio::from_millionths(self.numbers[number as usize])
    }

    /// The largest that a finger ratio may be that nobody knows.
    pub fn largest_ratio(&self) -> Ratio {
        let value = self.ratio(Number::BlankRatio).millionths();
        Ratio::from_millionths(value + self.ratio(Number::BlankRatioTol).millionths())
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
        let edges = self.window.iter().map(|(edge, limit)| Setting {
            key: edge.key().into(),
            value: limit.map(|limit| limit.exact(unit)).unwrap_or_default(),
            changed: limit.is_some(),
            about: "the shop's own window".into(),
        });
        let mut all: Vec<Setting> = edges.collect();
        all.extend(NUMBERS.iter().zip(&self.numbers).map(|(spec, value)| Setting {
            key: spec.key.into(),
            value: write(*value, spec.counts, unit),
            changed: *value != spec.default,
            about: spec.about.into(),
        }));
        all.extend(assumable(kinds).map(|(kind, dim)| {
            let key = assumed_key(kind, dim.key);
            let (default, counts) = default_of(dim.assumed);
            let own = self.assumed.get(&key).copied();
            Setting {
                value: write(own.unwrap_or(default), counts, unit),
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
        all.push(Setting {
            key: "units".into(),
            value: self.unit.name().into(),
            changed: self.unit != Unit::In,
            about: "unit that people read where `--units` is not given, in or mm".into(),
        });
        all
    }

    /// Refuses numbers that contradict each other, once all of them are set.
    ///
    /// # Errors
    ///
    /// Names the two that do.
    pub fn validate(&self) -> Result<()> {
        self.window.validate()?;
        let ratio = self.ratio(Number::BlankRatio);
        let off = self.ratio(Number::BlankRatioTol);
        if ratio.millionths() - off.millionths() < Ratio::ONE {
            let found = format!(
                "`blank.finger_ratio` {ratio} less `blank.finger_ratio_tol` {off} is less than 1"
            );
            return Err(Error::input(found).hint("fingers never move less than the pressure plate"));
        }
        Ok(())
    }

    /// Sets one setting from text; a blank goes back to the default. Whether it agrees with the others
    /// is asked by [`House::validate`], once all are set.
    ///
    /// # Errors
    ///
    /// Refuses unknown keys (naming the nearest), missing units and negative values.
    pub fn set(&mut self, kinds: Kinds, key: &str, text: &str) -> Result<()> {
        let text = text.trim();
        if let Some(edge) = Edge::named(key) {
            let limit = if text.is_empty() { None } else { Some(Length::parse(text)?) };
            self.window[edge] = limit;
            return Ok(());
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
        if key == "units" {
            let unit = [Unit::In, Unit::Mm].into_iter().find(|unit| unit.name() == text);
            if unit.is_none() && !text.is_empty() {
                return Err(Error::input(format!("`{text}` is no unit")).hint("write in or mm"));
            }
            self.unit = unit.unwrap_or(Unit::In);
            return Ok(());
        }
        if let Some(spec) = NUMBERS.iter().find(|spec| spec.key == key) {
            self.numbers[spec.number as usize] = read(text, spec.counts)?.unwrap_or(spec.default);
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

fn default_of(assumed: Assumed) -> (i64, Counts) {
    match assumed {
        Assumed::Thou(thou) => (Length::from_thou(thou).nm(), Counts::Length),
        Assumed::Percent(percent) => (percent, Counts::Percent),
        Assumed::Unneeded => (0, Counts::Length),
    }
}

fn write(value: i64, counts: Counts, unit: Unit) -> String {
    match counts {
        Counts::Length => Length::from_nm(value).exact(unit),
        Counts::Percent => format!("{value} %"),
        Counts::Ratio => Ratio::from_millionths(value).to_string(),
    }
}

/// The largest finger ratio that a house number may be, millionths.
const LARGEST_RATIO: i64 = 7 * Ratio::ONE;

fn read(text: &str, counts: Counts) -> Result<Option<i64>> {
    if text.is_empty() {
        return Ok(None);
    }
    if counts == Counts::Ratio {
        let ratio = Ratio::parse(text)?.millionths();
        if !(0..=LARGEST_RATIO).contains(&ratio) {
            return Err(Error::input(format!("a ratio of `{text}` is outside 0 to 7")));
        }
        return Ok(Some(ratio));
    }
    if counts == Counts::Percent {
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
