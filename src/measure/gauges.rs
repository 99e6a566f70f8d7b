//! The shop's instruments: what may be wrong with what was read, and by how much readings scatter.

#![allow(
    clippy::cast_precision_loss,
    reason = "an uncertainty needs no more than a float's digits"
)]

use std::collections::BTreeMap;

use crate::measure::budget::Uncertainty;
use crate::measure::measured::{Measured, entry};
use crate::measure::statistics::{Sample, Scatter};
use crate::model::entry::{Accuracy, Basis};
use crate::model::house::Number;
use crate::model::kinds::{DimSpec, Quantity};
use crate::model::length::Length;
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::pieces::ReadingSet;

/// Up to this many readings the scatter of the mean is the shop's own pooled one: two or three
/// readings that happen to agree say little of their scatter.
const FEW: usize = 3;

/// The shop's instruments with the scatter of their readings.
#[derive(Debug, Clone)]
pub struct Gauges<'a> {
    library: &'a Library,
    /// Instrument by instrument, the unnamed one among them.
    own: BTreeMap<Option<&'a str>, Scatter>,
    /// Over all of them.
    all: Option<Scatter>,
}

impl<'a> Gauges<'a> {
    /// Works out the instruments of a library.
    pub fn of(library: &'a Library) -> Self {
        let sets = library.measured.readings.iter().filter(|set| set.struck.is_none());
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
    pub(super) fn measured(
        &self,
        part: &Part,
        dim: &DimSpec,
        sets: &[&ReadingSet],
    ) -> Option<Measured> {
        let limits = sets.iter().filter_map(|set| {
            let centre = Sample::of(set.values.iter().copied())?.whole_mean();
            Some((*set, self.systematic(part, dim, set.instrument.as_deref(), centre)))
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

    /// What a dimension near `value` is known to once it was read a single time, with the finest
    /// instrument that the shop has repeated readings of: of one that it never used nobody knows
    /// what it reaches. Without one, as any reading is assumed.
    pub fn single(&self, part: &Part, dim: &DimSpec, value: i64) -> Accuracy {
        let names = self.own.keys().copied().flatten();
        let all = names.map(Some).chain([None]).map(|name| {
            let (systematic, assumed) = self.systematic(part, dim, name, value);
            let scatter = name.and_then(|_| self.own.get(&name).copied()).or(self.all);
            let mean = scatter.map(|one| Uncertainty { u: one.s(), nu: one.nu });
            let known = Uncertainty::combined(mean.into_iter().chain([systematic]));
            let assumed = assumed || scatter.is_none();
            let basis = Basis::Measured { readings: 1 };
            (systematic, entry(value, known, basis, assumed).accuracy(|| 0))
        });
        let finest = all.min_by(|(a, one), (b, other)| {
            one.assumed.cmp(&other.assumed).then(a.u.total_cmp(&b.u))
        });
        finest.map_or(Accuracy::assumed(0), |(_, known)| known)
    }

    /// What a reading of a job near `value` is stated to: the least limit of error there of an
    /// instrument that the shop has repeated readings of; without one, what is assumed of a job's
    /// readings.
    pub fn on_a_job(&self, value: Length) -> Accuracy {
        let used =
            self.own.keys().flatten().filter_map(|name| self.library.measured.instrument(name));
        let limits = used.filter_map(|one| one.limit_at(value));
        let assumed = self.library.house.length(Number::AssumedReading);
        limits.min().map_or(Accuracy::assumed(assumed.nm()), |limit| Accuracy::stated(limit.nm()))
    }

    /// What an instrument may be wrong by throughout, and whether that was assumed: its limit of
    /// error and half its smallest step, both as rectangles.
    fn systematic(
        &self,
        part: &Part,
        dim: &DimSpec,
        instrument: Option<&str>,
        centre: i64,
    ) -> (Uncertainty, bool) {
        let house = &self.library.house;
        if dim.quantity != Quantity::Length {
            let own = house.assumed(part.kind.key, dim, centre);
            return (Uncertainty::rectangular(own as f64), true);
        }
        let gauge = instrument.and_then(|name| self.library.measured.instrument(name));
        let limit = gauge.and_then(|gauge| gauge.limit_at(Length::from_nm(centre)));
        let step = gauge.and_then(|gauge| gauge.resolution).unwrap_or(Length::ZERO);
        let half_width = limit.unwrap_or_else(|| house.length(Number::AssumedReading));
        let both = [half_width.nm() as f64, step.nm() as f64 / 2.0].map(Uncertainty::rectangular);
        (Uncertainty::combined(both), limit.is_none())
    }
}
