//! The smallest changes that bring a job into its window, and the dimensions to look for.

use itertools::Itertools;

use crate::error::Result;
use crate::model::length::{Length, NM_PER_IN};
use crate::solve::ask::{Ask, LeftOut, Order, Watch};
use crate::solve::candidates::{Candidates, candidates, shims_within};
use crate::solve::lookfor::look_for;
use crate::solve::rank::rank;
use crate::solve::recommend::{empty_window, forbidding, wanted};
pub use crate::stack::answer::{Change, Cure, Remedy, Trouble};
use crate::stack::choice::{Bench, Fill};
use crate::stack::fit::{Fit, evaluate, evaluate_as_it_stands};
use crate::stack::grade::Grade;
use crate::stack::joints::joints;

/// Cures one job.
///
/// # Errors
///
/// Refuses a job whose fitted parts are not all named, or whose sum lacks a dimension.
pub fn cure<'a>(bench: &Bench<'a>, ask: &Ask, watch: &Watch) -> Result<Cure<'a>> {
    let fitted = bench.fitted_choice()?;
    let now = evaluate(bench, &fitted).map_err(|missing| lacks(bench, missing))?;
    let as_it_stands = if bench.disc_is_replaced() && bench.job.measures_clutch() {
        evaluate_as_it_stands(bench, &fitted).ok()
    } else {
        None
    };
    let trouble = trouble(bench, &now);
    let candidates = candidates(bench, ask)?;
    let mut search =
        Changes { bench, ask, watch, candidates: &candidates, now: &now, tried: 0, good: 0 };
    let fits = if trouble == Trouble::Nothing { Vec::new() } else { search.remedies()? };
    let (considered, in_window) = (search.tried, search.good);
    let look_for = look_for(bench, ask, &now);
    let forbidden = if look_for.is_empty() { forbidding(bench, &now) } else { None };
    let remedies =
        fits.into_iter().map(|fit| Remedy { changes: changes(bench, &fit), fit }).collect();
    let left_out = candidates.left_out;
    Ok(Cure {
        now,
        as_it_stands,
        trouble,
        considered,
        in_window,
        left_out,
        remedies,
        look_for,
        forbidden,
    })
}

/// The refusal for a stack whose sum lacks a dimension.
pub fn lacks(
    bench: &Bench<'_>,
    missing: Vec<crate::stack::lengths::Missing>,
) -> crate::error::Error {
    let parts = LeftOut::gather(missing);
    let list = parts
        .iter()
        .map(|part| match part.id.as_str() {
            "" => part.needs.join(", "),
            id => format!("{} of {} `{id}`", part.needs.join(", "), part.kind),
        })
        .join("; ");
    crate::error::Error::input(format!(
        "job `{}` cannot be summed up: it needs {list}",
        bench.job.id
    ))
    .hint("enter the dimension, or measure the length that holds it on the job")
}

/// What is wrong with a stack.
pub fn trouble(bench: &Bench<'_>, fit: &Fit<'_>) -> Trouble {
    if let Some(empty) = empty_window(bench, fit) {
        return Trouble::EmptyWindow(empty);
    }
    let edges = fit.edges.iter().enumerate();
    let worst = edges
        .filter_map(|(index, edge)| edge.as_ref().map(|edge| (index, edge.room)))
        .min_by_key(|(_, room)| *room);
    match worst {
        Some((edge, room)) if room < Length::ZERO => {
            let by = -room;
            // Least preload and most reserve are missed by fingers that hardly reach.
            if edge == 0 || edge == 3 {
                Trouble::TooLoose { edge, by }
            } else {
                Trouble::TooTight { edge, by }
            }
        }
        _ => match fit.checks.iter().find(|check| check.failed()) {
            Some(check) => Trouble::FailsCheck(check.name),
            None if fit.grade <= Grade::Likely => Trouble::Nothing,
            None => Trouble::NotCertain,
        },
    }
}

/// The changes that make a stack out of what is fitted.
pub fn changes(bench: &Bench<'_>, fit: &Fit<'_>) -> Vec<Change> {
    let own = |ids: Vec<&str>| ids.into_iter().map(String::from).collect();
    fit.changed
        .iter()
        .map(|slot| {
            let (new, old) = (&fit.choice.fills[*slot], &bench.fitted[*slot]);
            let machined = new.cut != Length::ZERO;
            let thickness = new.parts.first().and_then(|part| part.length("thickness"));
            Change {
                slot: *slot,
                from: own(old.ids()),
                to: if machined { Vec::new() } else { own(new.ids()) },
                machine_to: thickness.filter(|_| machined).map(|thickness| thickness - new.cut),
            }
        })
        .collect()
}

struct Changes<'b, 'a> {
    bench: &'b Bench<'a>,
    ask: &'b Ask,
    watch: &'b Watch,
    candidates: &'b Candidates<'a>,
    now: &'b Fit<'a>,
    tried: u128,
    good: u128,
}

type Swap<'a> = (usize, Fill<'a>);

impl<'a> Changes<'_, 'a> {
    /// Single changes; then, where they do not fill the list, pairs in which neither alone would do.
    fn remedies(&mut self) -> Result<Vec<Fit<'a>>> {
        let mut singles = self.swaps();
        singles.extend(self.machining());
        let mut fits = Vec::new();
        let mut alone = vec![false; singles.len()];
        for (index, swap) in singles.iter().enumerate() {
            self.watch.step(1)?;
            if let Some(fit) = self.attempt(&[swap]) {
                alone[index] = true;
                fits.push(fit);
            }
        }
        let fewest_first = self.ask.order == Order::Changes;
        if !fewest_first || fits.len() < self.ask.top {
            let all: Vec<_> = singles.iter().enumerate().collect();
            for [(a, first), (b, second)] in all.into_iter().array_combinations() {
                if first.0 == second.0 || alone[a] || alone[b] {
                    continue;
                }
                self.watch.step(1)?;
                fits.extend(self.attempt(&[first, second]));
            }
        }
        Ok(rank(self.bench, fits, self.ask.order, self.ask.top))
    }

    fn swaps(&self) -> Vec<Swap<'a>> {
        let mut swaps = Vec::new();
        for (slot, fills) in self.candidates.slots.iter().enumerate() {
            let other = fills.iter().filter(|fill| !fill.same(&self.bench.fitted[slot]));
            swaps.extend(other.map(|fill| (slot, fill.clone())));
        }
        swaps
    }

    /// The fitted flywheel, machined over both faces just as far as the best grade within reach
    /// needs, in steps of 0.001 in.
    fn machining(&self) -> Option<Swap<'a>> {
        let slot = self.bench.slot("flywheel")?;
        let fitted = &self.bench.fitted[slot];
        let flywheel = *fitted.parts.first()?;
        if self.ask.keep.contains(&slot) || self.ask.skip.contains(&flywheel.id) {
            return None;
        }
        let most = flywheel.length("thickness")? - flywheel.length("min_thickness")?;
        let step = Length::from_nm(NM_PER_IN / 1000);
        if most < step {
            return None;
        }
        let with = |cut: Length| {
            let mut choice = self.now.choice.clone();
            choice.fills[slot].cut = cut;
            evaluate(self.bench, &choice).ok().map(|fit| (fit, choice))
        };
        let (first, _) = with(step)?;
        // A cut lowers the fingers: it makes room at the least reserve and the most preload.
        let mut cuts = vec![step];
        for edge in [first.edges[1], first.edges[2]].into_iter().flatten() {
            let two_u = Length::from_nm((2.0 * edge.spread.u()).ceil() as i64 + 1);
            for goal in [edge.spread.worst_case_length(), two_u, Length::ZERO] {
                let needed = (goal - edge.room).max(Length::ZERO) + step;
                cuts.push(up_to_step(needed, step));
            }
        }
        let offers = cuts.into_iter().filter(|cut| *cut <= most).filter_map(with);
        let best =
            offers.min_by_key(|(fit, choice)| (fit.fails(), fit.grade, choice.fills[slot].cut))?;
        Some((slot, best.1.fills[slot].clone()))
    }

    /// The stack that some changes make, if it is a remedy.
    fn attempt(&mut self, swaps: &[&Swap<'a>]) -> Option<Fit<'a>> {
        let mut choice = self.now.choice.clone();
        for (slot, fill) in swaps {
            choice.fills[*slot] = fill.clone();
        }
        let slot = |kind| self.bench.slot(kind).unwrap_or_default();
        let (plate, disc) = (slot("pressure_plate"), slot("disc"));
        let set = choice.fills[plate].parts.first().is_some_and(|part| part.is_matched_set());
        // A matched set takes the disc's place too, and that is one change.
        if set && !swaps.iter().any(|(slot, _)| *slot == disc) {
            choice.fills[disc] = Fill::empty();
        }
        if self.bench.complete(&choice).is_err()
            || !shims_within(&choice.fills[slot("bearing")], &choice.fills[slot("bearing_shim")])
            || !joints(self.bench, &choice).clashes.is_empty()
        {
            return None;
        }
        let fit = evaluate(self.bench, &choice).ok()?;
        self.tried += 1;
        self.good += u128::from(fit.holds());
        let better = fit.grade < self.now.grade || (self.now.fails() && !fit.fails());
        (better && wanted(self.ask, &fit) && !fit.outside_range).then_some(fit)
    }
}

fn up_to_step(length: Length, step: Length) -> Length {
    let steps = (i128::from(length.nm()) + i128::from(step.nm()) - 1) / i128::from(step.nm());
    Length::from_nm(i64::try_from(steps).unwrap_or(i64::MAX / step.nm()) * step.nm())
}
