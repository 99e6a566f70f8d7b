//! What every piece of a library measured, dimension by dimension.

use std::collections::BTreeMap;

use crate::measure::gauges::Gauges;
use crate::measure::measured::Measured;
use crate::measure::statistics::{Sample, Scatter};
use crate::model::kinds::DimSpec;
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::pieces::{Condition, ReadingSet, Specimen};

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
    own: Vec<Option<Scatter>>,
    /// How much those of each other number of the kind do, pooled.
    kind: Vec<Option<Scatter>>,
}

impl<'a> Family<'a> {
    fn new(part: &'a Part, pieces: Vec<Finding<'a>>) -> Self {
        let kind = vec![None; part.dims.len()];
        let mut family = Self { part, pieces, own: Vec::new(), kind };
        let scatter = |dim| family.values(dim)?.scatter();
        family.own = (0..part.dims.len()).map(scatter).collect();
        family
    }

    /// How much new pieces of one number differ, pooled over the other numbers of the kind.
    pub fn kind_scatter(&self, dim: usize) -> Option<Scatter> {
        self.kind[dim]
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
        let gauges = Gauges::of(library);
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
        let mut families: Vec<_> = families.collect();
        pool_kinds(&mut families);
        Self { library, families }
    }

    /// The pieces of a part number, if there are any.
    pub fn family(&self, id: &str) -> Option<&Family<'a>> {
        self.families.iter().find(|family| family.part.id == id)
    }
}

/// Tells each family what the others of its kind scatter by: those before it, and those behind it.
fn pool_kinds(families: &mut [Family<'_>]) {
    for one_kind in families.chunk_by_mut(|a, b| a.part.kind == b.part.kind) {
        let dims = one_kind.first().map_or(0, |family| family.own.len());
        for dim in 0..dims {
            let mut before = None;
            for family in one_kind.iter_mut() {
                family.kind[dim] = before;
                before = Scatter::pooled(before.into_iter().chain(family.own[dim]));
            }
            let mut behind = None;
            for family in one_kind.iter_mut().rev() {
                family.kind[dim] = Scatter::pooled(family.kind[dim].into_iter().chain(behind));
                behind = Scatter::pooled(behind.into_iter().chain(family.own[dim]));
            }
        }
    }
}
