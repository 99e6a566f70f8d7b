//! The smallest changes that bring a job into its window, and the dimensions to look for.

use itertools::Itertools as _;

use crate::error::Result;
use crate::model::length::{Length, NM_PER_IN};
use crate::solve::ask::{Ask, LeftOut, Order, Watch};
use crate::solve::candidates::{Candidates, candidates, shims_within};
use crate::solve::compact::Compact;
use crate::solve::lookfor::look_for;
use crate::solve::rank::rank;
use crate::solve::recommend::{MOST_CHANCES, empty_window, forbidding, stack, wanted};
use crate::solve::search::{Goal, search};
use crate::solve::singles::{Singles, is_better};
use crate::solve::verdict::{NONE, Picks};
pub use crate::stack::answer::{Change, Cure, Remedy, Trouble};
use crate::stack::choice::{Bench, Choice, Fill};
use crate::stack::fit::{Fit, evaluate, evaluate_as_it_stands};
use crate::stack::grade::Grade;
use crate::stack::joints::joints;

/// Cures one job.
///
/// # Errors
///
/// Refuses a job whose fitted parts are not all named, or whose sum lacks a dimension.
pub fn cure<'a>(bench: &Bench<'a>, ask: &Ask, watch: &Watch) -> Result<Cure<'a>> {
    cure_job(bench, ask, watch, false)
}

/// The same by walking every single change and every pair, one by one: slow and simple, and the
/// tests hold the search for pairs against it.
///
/// # Errors
///
/// As [`cure`].
pub fn cure_by_walking<'a>(bench: &Bench<'a>, ask: &Ask, watch: &Watch) -> Result<Cure<'a>> {
    cure_job(bench, ask, watch, true)
}

fn cure_job<'a>(bench: &Bench<'a>, ask: &Ask, watch: &Watch, walk: bool) -> Result<Cure<'a>> {
    let fitted = bench.fitted_choice()?;
    let now = evaluate(bench, &fitted).map_err(|missing| lacks(bench, missing))?;
    let as_it_stands = if bench.disc_is_replaced() && bench.job.measures_clutch() {
        evaluate_as_it_stands(bench, &fitted).ok()
    } else {
        None
    };
    let trouble = trouble(bench, &now);
    let mut candidates = candidates(bench, ask)?;
    let left_out = std::mem::take(&mut candidates.left_out);
    stay(bench, &mut candidates);
    machine(bench, ask, &now, &mut candidates);
    let compact = if walk { None } else { Compact::new(bench, &candidates) };
    let mut search = Changes {
        bench,
        ask,
        watch,
        candidates: &candidates,
        compact: compact.as_ref(),
        now: &now,
        base: fitted_picks(bench, &candidates),
        tried: 0,
        good: 0,
    };
    let fits = if trouble == Trouble::Nothing { Vec::new() } else { search.remedies()? };
    let (considered, in_window) = (search.tried, search.good);
    let look_for = look_for(bench, ask, &now);
    let forbidden = if look_for.is_empty() { forbidding(bench, &now) } else { None };
    let remedies =
        fits.into_iter().map(|fit| Remedy { changes: changes(bench, &fit), fit }).collect();
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
    match fit.nearest_edge().map(|(index, edge)| (index, edge.room)) {
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

/// What is fitted may stay in every slot, whatever else was asked of it.
fn stay<'a>(bench: &Bench<'a>, candidates: &mut Candidates<'a>) {
    for (fills, fitted) in candidates.slots.iter_mut().zip(&bench.fitted) {
        if !fills.iter().any(|fill| fill.same(fitted)) {
            let at = fills.partition_point(|fill| fill.ids() < fitted.ids());
            fills.insert(at, fitted.clone());
        }
    }
}

/// What is fitted, as candidates.
fn fitted_picks(bench: &Bench<'_>, candidates: &Candidates<'_>) -> Picks {
    let slots = candidates.slots.iter().zip(&bench.fitted);
    let at = slots.map(|(fills, fitted)| fills.iter().position(|fill| fill.same(fitted)));
    at.map(|at| at.map_or(NONE, |at| at as u32)).collect()
}

struct Changes<'b, 'a> {
    bench: &'b Bench<'a>,
    ask: &'b Ask,
    watch: &'b Watch,
    candidates: &'b Candidates<'a>,
    /// The same as plain numbers, where the search can add them up.
    compact: Option<&'b Compact<'b, 'a>>,
    now: &'b Fit<'a>,
    /// What is fitted, as candidates.
    base: Vec<u32>,
    tried: u128,
    good: u128,
}

/// One slot's change to a candidate.
#[derive(Clone, Copy)]
struct Swap {
    slot: usize,
    pick: u32,
}

impl<'a> Changes<'_, 'a> {
    /// Single changes; then, where they do not fill the list, pairs in which neither alone would do.
    fn remedies(&mut self) -> Result<Vec<Fit<'a>>> {
        let fits = match self.compact {
            Some(compact) => self.searched(compact)?,
            None => self.walked()?,
        };
        Ok(rank(self.bench, fits, self.ask.order, self.ask.top))
    }

    /// Whether pairs may still find their way into an answer.
    fn asks_for_pairs(&self, singles: usize) -> bool {
        self.ask.order != Order::Changes || singles < self.ask.top
    }

    fn searched(&mut self, compact: &Compact<'_, 'a>) -> Result<Vec<Fit<'a>>> {
        // A chance cannot be bounded from parts: the best by grade are ranked by it afterwards.
        let by_chance = self.ask.order == Order::Chance;
        let top = if by_chance { MOST_CHANCES } else { self.ask.top };
        let singles = Singles::of(self.bench, self.ask, self.now, compact, &self.base, self.watch)?;
        (self.tried, self.good) = (singles.tried, singles.good);
        let stack = |picks: &Picks| stack(self.bench, self.candidates, picks);
        let mut fits: Vec<Fit<'a>> = singles.best(top).iter().filter_map(stack).collect();
        if !self.asks_for_pairs(fits.len()) {
            return Ok(fits);
        }
        let mut ask = Ask { top, ..self.ask.clone() };
        if by_chance || ask.order == Order::Changes {
            // Every pair has two changes.
            ask.order = Order::Grade;
        }
        if !self.now.fails() {
            let better = Grade::ALL.into_iter().filter(|grade| *grade < self.now.grade).max();
            let Some(better) = better else { return Ok(fits) };
            ask.at_least = ask.at_least.min(better);
        }
        let (fitted, barred) = (self.base.clone(), singles.does_alone);
        let goal = Goal::Pairs { fitted, barred, failing_below: self.now.grade };
        let pairs = search(compact, &ask, &goal, top, true, self.watch)?;
        fits.extend(pairs.iter().filter_map(stack));
        Ok(fits)
    }

    /// The same one by one.
    fn walked(&mut self) -> Result<Vec<Fit<'a>>> {
        let (mut fits, mut others) = (Vec::new(), Vec::new());
        for swap in self.swaps() {
            self.watch.step(1)?;
            match self.attempt(&[swap]) {
                Some(fit) => fits.push(fit),
                None => others.push(swap),
            }
        }
        if !self.asks_for_pairs(fits.len()) {
            return Ok(fits);
        }
        // The counts are of single changes.
        let counted = (self.tried, self.good);
        for (index, first) in others.iter().enumerate() {
            for second in others[index + 1..].iter().filter(|second| second.slot != first.slot) {
                self.watch.step(1)?;
                fits.extend(self.attempt(&[*first, *second]));
            }
        }
        (self.tried, self.good) = counted;
        Ok(fits)
    }

    fn swaps(&self) -> Vec<Swap> {
        let slots = self.candidates.slots.iter().enumerate();
        let all = slots
            .flat_map(|(slot, fills)| (0..).zip(fills).map(move |(pick, _)| Swap { slot, pick }));
        all.filter(|swap| swap.pick != self.base[swap.slot]).collect()
    }

    /// The stack that some changes make, if it is a remedy.
    fn attempt(&mut self, swaps: &[Swap]) -> Option<Fit<'a>> {
        let slot = |kind| self.bench.slot(kind).unwrap_or_default();
        let (plate, disc) = (slot("pressure_plate"), slot("disc"));
        let mut choice = Choice { fills: self.now.choice.fills.clone() };
        for swap in swaps {
            choice.fills[swap.slot] = self.candidates.slots[swap.slot][swap.pick as usize].clone();
        }
        let set = choice.fills[plate].parts.first().is_some_and(|part| part.is_matched_set());
        // A matched set takes the disc's place too, and that is one change.
        if set && !swaps.iter().any(|swap| swap.slot == disc) {
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
        let now = (self.now.grade, self.now.fails());
        let better = is_better(now, fit.grade, fit.fails());
        (better && wanted(self.ask, &fit) && !fit.outside_range).then_some(fit)
    }
}

/// The fitted flywheel, machined over both faces just as far as the best grade within reach needs, in
/// steps of 0.001 in: one more candidate of its slot, behind the one that it is made from.
fn machine<'a>(bench: &Bench<'a>, ask: &Ask, now: &Fit<'a>, candidates: &mut Candidates<'a>) {
    let Some(slot) = bench.slot("flywheel") else { return };
    let Some(machined) = machined(bench, ask, now, slot) else { return };
    let fills = &mut candidates.slots[slot];
    if let Some(at) = fills.iter().position(|fill| fill.same(&bench.fitted[slot])) {
        fills.insert(at + 1, machined);
    }
}

fn machined<'a>(bench: &Bench<'a>, ask: &Ask, now: &Fit<'a>, slot: usize) -> Option<Fill<'a>> {
    let fitted = &bench.fitted[slot];
    let flywheel = *fitted.parts.first()?;
    if ask.keep.contains(&slot) || ask.skip.contains(&flywheel.id) {
        return None;
    }
    let most = flywheel.length("thickness")? - flywheel.length("min_thickness")?;
    let step = Length::from_nm(NM_PER_IN / 1000);
    if most < step {
        return None;
    }
    let with = |cut: Length| {
        let mut choice = now.choice.clone();
        choice.fills[slot].cut = cut;
        evaluate(bench, &choice).ok().map(|fit| (fit, choice))
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
    Some(best.1.fills[slot].clone())
}

fn up_to_step(length: Length, step: Length) -> Length {
    let steps = (i128::from(length.nm()) + i128::from(step.nm()) - 1) / i128::from(step.nm());
    Length::from_nm(i64::try_from(steps).unwrap_or(i64::MAX / step.nm()) * step.nm())
}
