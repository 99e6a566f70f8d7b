//! What the slots behind the fingers add to the sum: catalogued, and as a move of a measured sum.

use crate::solve::candidates::Candidates;
use crate::solve::compact::records::nm;
use crate::stack::choice::{Bench, Choice, Fill};
use crate::stack::form::{Form, MICRO};
use crate::stack::lengths::rear::Reach;
use crate::stack::lengths::sums::{Sums, form};

/// A sum with its error limits, in nanometres: dimensions enter with plus or minus one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Rec {
    /// The value.
    pub pos: i64,
    /// Every tolerance at its limit.
    pub wc: i64,
    /// Three times the variance.
    pub v: i128,
    /// Whether some tolerance was assumed.
    pub assumed: bool,
}

impl Rec {
    fn of(form: &Form<'_>) -> Self {
        let spread = form.spread();
        Self {
            pos: form.value().nm(),
            wc: i64::try_from(spread.worst_case / MICRO).unwrap_or(i64::MAX),
            v: spread.three_u_squared / (MICRO * MICRO),
            assumed: spread.assumed,
        }
    }

    /// Both sums together; their pieces differ.
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        Self {
            pos: self.pos + other.pos,
            wc: self.wc + other.wc,
            v: self.v + other.v,
            assumed: self.assumed || other.assumed,
        }
    }
}

/// A candidate of a slot that adds the same to both ends of the bearing's travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Linear {
    /// Its catalogued dimension.
    pub c: Option<Rec>,
    /// What it moves a measured sum by.
    pub m: Option<Rec>,
    /// Its thickness, for the checks.
    pub thickness: Option<i64>,
}

/// A bearing.
#[derive(Debug, Clone, Copy, Default)]
pub struct BearingRec {
    /// Minus its heights, extended and retracted.
    pub c: [Option<Rec>; 2],
    /// The measured depth (or what stands for it) moved by this bearing.
    pub m: [Option<Rec>; 2],
    /// For the checks.
    pub contact: Option<i64>,
    /// For the checks.
    pub bores: Option<(i64, i64)>,
    /// Most shim behind it.
    pub max_shim: Option<i64>,
}

/// Every candidate of a slot that adds the same to both ends; `scratch` is as it was afterwards.
pub(super) fn linears<'a>(
    bench: &Bench<'a>,
    candidates: &Candidates<'a>,
    slot: usize,
    halves: &[Option<[u32; 2]>],
    scratch: &mut Choice<'a>,
) -> Vec<Linear> {
    let spec = bench.library.kinds.slots().nth(slot).map(|(_, spec)| spec);
    let inside = spec.is_some_and(|spec| spec.inside.is_some());
    let kept = std::mem::take(&mut scratch.fills[slot]);
    let times = Reach::Extended.times_of();
    let mut one = |fill: &Fill<'a>| {
        scratch.fills[slot] = fill.clone();
        let sums = Sums { bench, choice: scratch, as_it_stands: false };
        let c = sums.catalogued(&[slot], times).ok().map(|terms| Rec::of(&form(terms)));
        let m = if inside {
            sums.moved(&[slot], times).ok().map(|terms| Rec::of(&form(terms)))
        } else {
            c
        };
        let thickness = fill.parts.iter().map(|part| {
            nm(part, "thickness").or_else(|| nm(part, "depth")).or_else(|| nm(part, "shaft_length"))
        });
        Linear { c, m, thickness: thickness.sum() }
    };
    let fills = &candidates.slots[slot];
    // With nothing in the slot a measured sum loses what is fitted.
    let without = one(&Fill::empty());
    let mut records: Vec<Linear> = vec![Linear::default(); fills.len()];
    let (pairs, others): (Vec<usize>, Vec<usize>) =
        (0..fills.len()).partition(|index| halves[*index].is_some());
    for index in others.into_iter().chain(pairs) {
        records[index] = match halves[index] {
            Some([first, second]) if !fills[index].shares(&bench.fitted[slot]) => {
                let (first, second) = (records[first as usize], records[second as usize]);
                Linear::pair(&first, &second, &without, inside)
            }
            _ => one(&fills[index]),
        };
    }
    scratch.fills[slot] = kept;
    records
}

impl Linear {
    /// Two pieces of which none is fitted: what each of them adds alone.
    fn pair(first: &Self, second: &Self, without: &Self, inside: bool) -> Self {
        let c = first.c.zip(second.c).map(|(first, second)| first.plus(second));
        Self {
            c,
            m: if inside { c.zip(without.m).map(|(both, without)| both.plus(without)) } else { c },
            thickness: first.thickness.zip(second.thickness).map(|(first, second)| first + second),
        }
    }
}

/// Every bearing; `scratch` is as it was afterwards.
pub(super) fn bearings<'a>(
    bench: &Bench<'a>,
    candidates: &Candidates<'a>,
    slot: usize,
    scratch: &mut Choice<'a>,
) -> Vec<BearingRec> {
    let kept = std::mem::take(&mut scratch.fills[slot]);
    let mut records = Vec::with_capacity(candidates.slots[slot].len());
    for fill in &candidates.slots[slot] {
        scratch.fills[slot] = fill.clone();
        let sums = Sums { bench, choice: scratch, as_it_stands: false };
        let mut record = BearingRec::default();
        for (end, reach) in [Reach::Extended, Reach::Retracted].into_iter().enumerate() {
            let times = reach.times_of();
            record.c[end] = sums.catalogued(&[slot], times).ok().map(|terms| Rec::of(&form(terms)));
            // Base and move together: the fitted bearing's own ends may leave the sum.
            record.m[end] = sums.rear_reading(reach).and_then(Result::ok).and_then(|base| {
                let moved = sums.moved(&[slot], times).ok()?;
                Some(Rec::of(&form([base, moved].concat())))
            });
        }
        if let Some(part) = fill.parts.first() {
            record.contact = nm(part, "contact_diameter");
            record.bores = nm(part, "bore_outer").zip(nm(part, "bore_inner"));
            record.max_shim = nm(part, "max_shim");
        }
        records.push(record);
    }
    scratch.fills[slot] = kept;
    records
}
