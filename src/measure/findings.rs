//! What every piece of a library measured, dimension by dimension.

#![allow(
    clippy::cast_precision_loss,
    reason = "an uncertainty needs no more than a float's digits"
)]

use std::collections::BTreeMap;

use crate::measure::budget::Uncertainty;
use crate::measure::statistics::{Sample, Scatter};
use crate::model::entry::{Basis, Entry, Evidence};
use crate::model::house::Number;
use crate::model::kinds::{DimSpec, Quantity};
use crate::model::length::Length;
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::pieces::{Condition, ReadingSet, Specimen};

/// Up to this many readings the scatter of the mean is the shop's own pooled one: two or three
/// readings that happen to agree say little of their scatter.
const FEW: usize = 3;

/// What was read of one dimension of one piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// The readings that count: those of the finest instrument.
    pub sample: Sample,
    /// How well their mean is known.
    pub known: Uncertainty,
    /// The share of it that more readings cannot take away: the instrument's limit of error and its
    /// resolution. Sisters read with one instrument share it.
    pub systematic: Uncertainty,
    /// The instrument's limit of error was assumed.
    pub limit_assumed: bool,
    /// Nothing is known yet of how readings scatter: a single one, and none to pool.
    pub scatter_unknown: bool,
}

impl Measured {
    /// Whether something in its uncertainty was assumed.
    pub fn is_assumed(&self) -> bool {
        self.limit_assumed || self.scatter_unknown
    }

    /// The mean as an entry.
    pub fn entry(&self) -> Entry {
        let readings = u32::try_from(self.sample.count()).unwrap_or(u32::MAX);
        let basis = Basis::Measured { readings };
        entry(self.sample.whole_mean(), self.known, basis, self.is_assumed())
    }
}

/// A value with normal errors. Its u and its limit are rounded up to whole base units.
pub(super) fn entry(value: i64, known: Uncertainty, basis: Basis, assumed: bool) -> Entry {
    let tol = rounded_up(known.limit());
    let wide = rounded_up(known.effective() * 3.0_f64.sqrt()).min(tol);
    Entry { value, tol: Some(tol), evidence: Some(Evidence { basis, wide, assumed }) }
}

#[allow(clippy::cast_possible_truncation, reason = "a cast to an integer saturates")]
fn rounded_up(value: f64) -> i64 {
    value.ceil() as i64
}

/// One piece with what was measured on it, in the order of its kind's dimensions.
#[derive(Debug, Clone)]
pub struct Finding<'a> {
    /// The piece.
    pub specimen: &'a Specimen,
    /// Dimension by dimension.
    pub dims: Vec<Option<Measured>>,
}

impl Finding<'_> {
    /// Whether anything was measured on it.
    pub fn is_measured(&self) -> bool {
        self.dims.iter().any(Option::is_some)
    }
}

/// The pieces of one part number.
#[derive(Debug, Clone)]
pub struct Family<'a> {
    /// The part.
    pub part: &'a Part,
    /// Its pieces, by label.
    pub pieces: Vec<Finding<'a>>,
    /// How much its new pieces differ, dimension by dimension.
    scatters: Vec<Option<Scatter>>,
}

impl<'a> Family<'a> {
    fn new(part: &'a Part, pieces: Vec<Finding<'a>>) -> Self {
        let mut family = Self { part, pieces, scatters: Vec::new() };
        let scatter = |dim| family.values(dim)?.scatter();
        family.scatters = (0..part.dims.len()).map(scatter).collect();
        family
    }

    /// What the new pieces measured in one dimension; used and machined ones say nothing of what
    /// is to be bought.
    pub fn sisters(&self, dim: usize) -> impl Iterator<Item = (&Specimen, &Measured)> {
        let new = self.pieces.iter().filter(|piece| piece.specimen.condition == Condition::New);
        new.filter_map(move |piece| Some((piece.specimen, piece.dims[dim].as_ref()?)))
    }

    /// The new pieces' values of one dimension.
    pub fn values(&self, dim: usize) -> Option<Sample> {
        Sample::of(self.sisters(dim).map(|(_, measured)| measured.sample.whole_mean()))
    }
}

/// Everything that was measured, worked out.
#[derive(Debug, Clone)]
pub struct Findings<'a> {
    /// The library.
    pub library: &'a Library,
    /// Part by part, in the library's order; only parts with pieces.
    pub families: Vec<Family<'a>>,
}

impl<'a> Findings<'a> {
    /// Works out every piece of a library.
    pub fn of(library: &'a Library) -> Self {
        let mut pieces: BTreeMap<&str, Vec<&Specimen>> = BTreeMap::new();
        for specimen in &library.measured.specimens {
            pieces.entry(&specimen.part).or_default().push(specimen);
        }
        let mut sets: BTreeMap<(&str, &str, &str), Vec<&ReadingSet>> = BTreeMap::new();
        for set in library.measured.readings.iter().filter(|set| set.struck.is_none()) {
            let place = (set.part.as_str(), set.piece.as_str(), set.dimension.as_str());
            sets.entry(place).or_default().push(set);
        }
        let gauges = Gauges::of(library, sets.values().flatten().copied());
        let families = library.parts.iter().filter_map(|part| {
            let own = pieces.get(part.id.as_str())?;
            let finding = |specimen: &&'a Specimen| {
                let read = |dim: &'static DimSpec| {
                    let place = (part.id.as_str(), specimen.label.as_str(), dim.key);
                    gauges.measured(part, dim, sets.get(&place)?)
                };
                Finding { specimen, dims: part.kind.dims.iter().map(read).collect() }
            };
            Some(Family::new(part, own.iter().map(finding).collect()))
        });
        Self { library, families: families.collect() }
    }

    /// The pieces of a part number, if there are any.
    pub fn family(&self, id: &str) -> Option<&Family<'a>> {
        self.families.iter().find(|family| family.part.id == id)
    }

    /// How much new pieces of one number differ, pooled over the other numbers of the kind.
    pub fn kind_scatter(&self, part: &Part, dim: usize) -> Option<Scatter> {
        let others = self
            .families
            .iter()
            .filter(|other| other.part.kind.key == part.kind.key && other.part.id != part.id);
        Scatter::pooled(others.filter_map(|other| other.scatters[dim]))
    }
}

/// The shop's instruments with the scatter of their readings.
struct Gauges<'a> {
    library: &'a Library,
    /// Instrument by instrument, the unnamed one among them.
    own: BTreeMap<Option<&'a str>, Scatter>,
    /// Over all of them.
    all: Option<Scatter>,
}

impl<'a> Gauges<'a> {
    fn of(library: &'a Library, sets: impl Iterator<Item = &'a ReadingSet>) -> Self {
        let is_length = |set: &ReadingSet| {
            let mut dims = library.kinds.iter().flat_map(|kind| kind.dims);
            dims.any(|dim| dim.key == set.dimension && dim.quantity == Quantity::Length)
        };
        let mut scatters: BTreeMap<Option<&str>, Vec<Scatter>> = BTreeMap::new();
        for set in sets.filter(|set| is_length(set)) {
            let scatter = Sample::of(set.values.iter().copied()).and_then(|all| all.scatter());
            scatters.entry(set.instrument.as_deref()).or_default().extend(scatter);
        }
        let all = Scatter::pooled(scatters.values().flatten().copied());
        let own =
            scatters.into_iter().filter_map(|(name, own)| Some((name, Scatter::pooled(own)?)));
        Self { library, own: own.collect(), all }
    }

    /// What the readings of one dimension of one piece come to.
    fn measured(&self, part: &Part, dim: &DimSpec, sets: &[&ReadingSet]) -> Option<Measured> {
        let limits = sets.iter().filter_map(|set| {
            let centre = Sample::of(set.values.iter().copied())?.whole_mean();
            Some((*set, self.systematic(part, dim, set, centre)))
        });
        let limits: Vec<_> = limits.collect();
        // An assumed limit is no finer than any known one: it may be wrong.
        let coarseness =
            |(_, (limit, assumed)): &(&ReadingSet, (Uncertainty, bool))| (*assumed, limit.u);
        let finest =
            limits.iter().map(coarseness).min_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)))?;
        let counted: Vec<_> = limits.iter().filter(|one| coarseness(one) == finest).collect();
        let sample = Sample::of(counted.iter().flat_map(|(set, _)| &set.values).copied())?;
        let scatter = if sample.count() > FEW {
            sample.scatter()
        } else {
            let own =
                counted.iter().filter_map(|(set, _)| self.own.get(&set.instrument.as_deref()));
            Scatter::pooled(own.copied()).or(self.all)
        };
        let (systematic, limit_assumed) = counted.first()?.1;
        let mean =
            scatter.map(|one| Uncertainty { u: (one.variance / sample.n()).sqrt(), nu: one.nu });
        Some(Measured {
            sample,
            known: Uncertainty::combined(mean.into_iter().chain([systematic])),
            systematic,
            limit_assumed,
            scatter_unknown: scatter.is_none(),
        })
    }

    /// What an instrument may be wrong by throughout, and whether that was assumed: its limit of
    /// error and half its smallest step, both as rectangles.
    fn systematic(
        &self,
        part: &Part,
        dim: &DimSpec,
        set: &ReadingSet,
        centre: i64,
    ) -> (Uncertainty, bool) {
        let house = &self.library.house;
        if dim.quantity != Quantity::Length {
            let own = house.assumed(part.kind.key, dim, centre);
            return (Uncertainty::rectangular(own as f64), true);
        }
        let gauge = set.instrument.as_ref().and_then(|name| self.library.measured.instrument(name));
        let limit = gauge.and_then(|gauge| gauge.limit_at(Length::from_nm(centre)));
        let step = gauge.and_then(|gauge| gauge.resolution).unwrap_or(Length::ZERO);
        let half_width = limit.unwrap_or_else(|| house.length(Number::AssumedReading));
        let both = [half_width.nm() as f64, step.nm() as f64 / 2.0].map(Uncertainty::rectangular);
        (Uncertainty::combined(both), limit.is_none())
    }
}
