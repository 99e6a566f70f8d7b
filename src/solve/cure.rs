//! The smallest changes that bring a job into its window, and the dimensions to look for.

use itertools::Itertools as _;

use crate::error::Result;
use crate::model::entry::Entry;
use crate::model::length::{Length, NM_PER_IN};
use crate::solve::ask::{Ask, LeftOut, Order, Watch};
use crate::solve::candidates::{Candidates, candidates};
use crate::solve::change::Changes;
use crate::solve::lookfor::look_for;
use crate::solve::numbers::{Numbers, Picks};
use crate::solve::product::worked_out;
use crate::solve::rank::{rank, wanted};
use crate::solve::reasons::{self, empty_window, forbidding};
use crate::solve::search::key::Layout;
pub use crate::stack::answer::{Change, Cure, Remedy, Trouble};
use crate::stack::choice::{Choice, Facings, Fill, Setup};
use crate::stack::fit::{Fit, evaluate, evaluate_as_it_stands};
use crate::stack::grade::Grade;
use crate::stack::lengths::Lacks;
use crate::stack::window::wear_bought;

/// Cures one job.
///
/// # Errors
///
/// Refuses a job whose fitted parts are not all named, or whose sum lacks a dimension.
pub fn cure<'a>(setup: &Setup<'a>, ask: &Ask, watch: &Watch) -> Result<Cure<Fit<'a>>> {
    cure_with(setup, ask, watch, found_or_walked)
}

/// The same by walking every single change and every pair, one by one: slow and simple, and the
/// tests hold the other against it.
///
/// # Errors
///
/// As [`cure`].
pub fn cure_by_walking<'a>(setup: &Setup<'a>, ask: &Ask, watch: &Watch) -> Result<Cure<Fit<'a>>> {
    cure_with(setup, ask, watch, walked)
}

/// The same for one row of a table of many jobs: what is wrong, and the first remedy that lands in its
/// window and fails no check. Nothing is counted, looked for or left out by name.
///
/// # Errors
///
/// As [`cure`].
pub fn cure_in_brief<'a>(setup: &Setup<'a>, ask: &Ask, watch: &Watch) -> Result<Cure<Fit<'a>>> {
    // Unless what fails is asked for, the first remedy is one that holds.
    let top = if ask.show_failed { ask.top } else { 1 };
    let ask = &Ask { top, counts: false, ..ask.clone() };
    let Begun { fitted: _, now, trouble, candidates } = begun(setup, ask)?;
    let (fits, _) = changed(setup, ask, watch, (&now, &trouble), candidates, found_or_walked)?;
    Ok(Cure {
        now,
        as_it_stands: None,
        trouble,
        considered: None,
        in_window: None,
        left_out: Vec::new(),
        remedies: remedies_of(setup, fits),
        look_for: Vec::new(),
        forbidden: None,
    })
}

/// The remedies of a job, the best first; with how many changes and pairs of changes can be judged and how
/// many of them are remedies, where that was counted.
type Remedies<'a> = (Vec<Fit<'a>>, Option<(u128, u128)>);

fn cure_with<'a>(
    setup: &Setup<'a>,
    ask: &Ask,
    watch: &Watch,
    remedies: impl FnOnce(Hunt<'_, 'a>) -> Result<Remedies<'a>>,
) -> Result<Cure<Fit<'a>>> {
    let Begun { fitted, now, trouble, candidates } = begun(setup, ask)?;
    let as_it_stands = if setup.facings() == Facings::Replaced && setup.job.measures_clutch() {
        evaluate_as_it_stands(setup, &fitted).ok()
    } else {
        None
    };
    let left_out = reasons::left_out_of_changes(setup, &candidates, watch)?;
    let (fits, counts) = changed(setup, ask, watch, (&now, &trouble), candidates, remedies)?;
    let look_for = look_for(setup, ask, &now);
    let forbidden = if look_for.is_empty() { forbidding(setup, &now) } else { None };
    Ok(Cure {
        now,
        as_it_stands,
        trouble,
        considered: counts.map(|(considered, _)| considered),
        in_window: counts.map(|(_, in_window)| in_window),
        left_out,
        remedies: remedies_of(setup, fits),
        look_for,
        forbidden,
    })
}

/// A job before anything of it is changed.
struct Begun<'a> {
    fitted: Choice<'a>,
    now: Fit<'a>,
    trouble: Trouble,
    /// What may be fitted instead, slot by slot.
    candidates: Candidates<'a>,
}

fn begun<'a>(setup: &Setup<'a>, ask: &Ask) -> Result<Begun<'a>> {
    let fitted = setup.fitted_choice()?;
    let now = evaluate(setup, &fitted).map_err(|lack| lacks(setup, &lack))?;
    let trouble = trouble(setup, &now);
    let mut candidates = candidates(setup, ask)?;
    leave_sets_out(setup, &mut candidates);
    Ok(Begun { fitted, now, trouble, candidates })
}

/// The remedies of a job; of one with which nothing is wrong there are none.
fn changed<'a>(
    setup: &Setup<'a>,
    ask: &Ask,
    watch: &Watch,
    (now, trouble): (&Fit<'a>, &Trouble),
    mut candidates: Candidates<'a>,
    remedies: impl FnOnce(Hunt<'_, 'a>) -> Result<Remedies<'a>>,
) -> Result<Remedies<'a>> {
    if *trouble == Trouble::Nothing {
        return Ok((Vec::new(), ask.counts.then_some((0, 0))));
    }
    stay(setup, &mut candidates);
    machine(setup, ask, now, &mut candidates);
    remedies(Hunt { setup, ask, watch, candidates: &candidates, now })
}

fn remedies_of<'a>(setup: &Setup<'a>, fits: Vec<Fit<'a>>) -> Vec<Remedy<Fit<'a>>> {
    fits.into_iter().map(|fit| Remedy { changes: changes(setup, &fit), fit }).collect()
}

/// What remedies are looked for among.
#[derive(Clone, Copy)]
struct Hunt<'h, 'a> {
    setup: &'h Setup<'a>,
    ask: &'h Ask,
    watch: &'h Watch,
    candidates: &'h Candidates<'a>,
    now: &'h Fit<'a>,
}

fn found_or_walked<'a>(hunt: Hunt<'_, 'a>) -> Result<Remedies<'a>> {
    match found(hunt)? {
        Some(found) => Ok(found),
        None => walked(hunt),
    }
}

/// The remedies by numbers; none where the stacks cannot be added up.
fn found<'a>(hunt: Hunt<'_, 'a>) -> Result<Option<Remedies<'a>>> {
    let Hunt { setup, ask, watch, now, .. } = hunt;
    let mut candidates = hunt.candidates.clone();
    let disc = setup.slot("disc").unwrap_or_default();
    // A matched set empties the disc's slot, whatever was asked of it.
    if !candidates.slots[disc].iter().any(Fill::is_empty) {
        candidates.slots[disc].insert(0, Fill::empty());
    }
    let Some(numbers) = Numbers::new(setup, &candidates) else { return Ok(None) };
    let Some(layout) = Layout::new(&numbers, ask.order, None) else { return Ok(None) };
    let no_disc = candidates.slots[disc].iter().position(Fill::is_empty);
    let changes = Changes {
        numbers: &numbers,
        ask,
        layout: &layout,
        base: fitted_picks(setup, &candidates),
        no_disc: no_disc.map(|at| at as u32),
        now: (now.grade, now.fails()),
        watch,
    };
    let found = changes.best()?;
    if numbers.are_unsupported() {
        return Ok(None);
    }
    let stack = |picks: &Picks| evaluate(setup, &candidates.choice(picks)).ok();
    let fits = found.best.iter().filter_map(stack).collect();
    Ok(Some((rank(setup, fits, ask.order, ask.top), found.counts)))
}

fn walked<'a>(hunt: Hunt<'_, 'a>) -> Result<Remedies<'a>> {
    let base = fitted_picks(hunt.setup, hunt.candidates);
    let mut walk = Walk { hunt, base, tried: 0 };
    let fits = walk.walked()?;
    let counts = hunt.ask.counts.then_some((walk.tried, fits.len() as u128));
    Ok((rank(hunt.setup, fits, hunt.ask.order, hunt.ask.top), counts))
}

/// The refusal for a stack whose sum lacks a dimension.
pub fn lacks(setup: &Setup<'_>, lacks: &Lacks) -> crate::error::Error {
    let one = |part: &LeftOut| {
        let needs = part.needs.join(", ");
        match &part.id {
            Some(id) => format!("{needs} of {} `{id}`", part.kind),
            None => format!("{needs} of the {} on the bench", part.kind.replace('_', " ")),
        }
    };
    let route = |lack: &Vec<crate::stack::lengths::Missing>| {
        LeftOut::gather(lack.iter().cloned()).iter().map(one).join(" and ")
    };
    let length = |routes: &[Vec<crate::stack::lengths::Missing>]| {
        let mut each: Vec<String> = routes.iter().map(route).collect();
        each.dedup();
        each.join(", or ")
    };
    let all = [&lacks.finger, &lacks.bearing];
    let list = all.into_iter().filter(|routes| !routes.is_empty()).map(|r| length(r)).join("; ");
    crate::error::Error::input(format!(
        "job `{}` cannot be summed up: it needs {list}",
        setup.job.id
    ))
    .hint("enter the dimension, or measure the length that holds it on the job")
}

/// Whether a stack is better than the job as it is: of a job that fails a check, any that passes is.
fn is_better(now: (Grade, bool), grade: Grade, fails: bool) -> bool {
    let (now_grade, now_fails) = now;
    grade < now_grade || (now_fails && !fails)
}

/// What is wrong with a stack.
pub fn trouble(setup: &Setup<'_>, fit: &Fit<'_>) -> Trouble {
    if let Some(empty) = empty_window(setup, fit) {
        return Trouble::EmptyWindow(empty);
    }
    match fit.nearest_edge().map(|(index, edge)| (index, edge.room)) {
        Some((edge, room)) if room < Length::ZERO => {
            let by = -room;
            let plate = setup.part(&fit.choice, "pressure_plate");
            let ratio = plate.and_then(|plate| plate.entry("finger_ratio")).map(Entry::as_ratio);
            let wear = ratio.map(|ratio| wear_bought(by, ratio));
            if edge.is_missed_when_loose() {
                Trouble::TooLoose { edge, by, wear }
            } else {
                Trouble::TooTight { edge, by, wear }
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
pub fn changes(setup: &Setup<'_>, fit: &Fit<'_>) -> Vec<Change> {
    let own = |ids: Vec<&str>| ids.into_iter().map(String::from).collect();
    fit.changed
        .iter()
        .map(|slot| {
            let (new, old) = (&fit.choice.fills[*slot], &setup.fitted[*slot]);
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

/// Where the disc has to stay, or to be one of some, there is no place for a matched set, which brings its
/// own.
fn leave_sets_out(setup: &Setup<'_>, candidates: &mut Candidates<'_>) {
    let slots = setup.slot("disc").zip(setup.slot("pressure_plate"));
    let Some((disc, plate)) = slots else { return };
    if !candidates.slots[disc].iter().any(Fill::is_empty) {
        let is_set = |fill: &Fill<'_>| fill.parts.iter().any(|plate| plate.is_matched_set());
        candidates.slots[plate].retain(|fill| !is_set(fill));
    }
}

/// What is fitted may stay in every slot, whatever else was asked of it.
fn stay<'a>(setup: &Setup<'a>, candidates: &mut Candidates<'a>) {
    for (fills, fitted) in candidates.slots.iter_mut().zip(&setup.fitted) {
        if !fills.iter().any(|fill| fill.same(fitted)) {
            let at = fills.partition_point(|fill| fill.ids() < fitted.ids());
            fills.insert(at, fitted.clone());
        }
    }
}

/// What is fitted, as candidates.
fn fitted_picks(setup: &Setup<'_>, candidates: &Candidates<'_>) -> Vec<u32> {
    let slots = candidates.slots.iter().zip(&setup.fitted);
    let at = slots.map(|(fills, fitted)| fills.iter().position(|fill| fill.same(fitted)));
    at.map(|at| at.map_or(u32::MAX, |at| at as u32)).collect()
}

struct Walk<'b, 'a> {
    hunt: Hunt<'b, 'a>,
    /// What is fitted, as candidates.
    base: Vec<u32>,
    /// How many changes and pairs of changes could be worked out.
    tried: u128,
}

/// One slot's change to a candidate.
#[derive(Clone, Copy)]
struct Swap {
    slot: usize,
    pick: u32,
}

impl<'a> Walk<'_, 'a> {
    /// Whether pairs may still find their way into an answer.
    fn asks_for_pairs(&self, singles: usize) -> bool {
        self.hunt.ask.order != Order::Changes || singles < self.hunt.ask.top
    }

    /// Single changes; then, where they do not fill the list, pairs in which neither alone would do.
    fn walked(&mut self) -> Result<Vec<Fit<'a>>> {
        let (mut fits, mut others) = (Vec::new(), Vec::new());
        for swap in self.swaps() {
            self.hunt.watch.step(1)?;
            match self.attempt(&[swap]) {
                Some(fit) => fits.push(fit),
                None => others.push(swap),
            }
        }
        if !self.asks_for_pairs(fits.len()) {
            return Ok(fits);
        }
        for (index, first) in others.iter().enumerate() {
            for second in others[index + 1..].iter().filter(|second| second.slot != first.slot) {
                self.hunt.watch.step(1)?;
                fits.extend(self.attempt(&[*first, *second]));
            }
        }
        Ok(fits)
    }

    fn swaps(&self) -> Vec<Swap> {
        let slots = self.hunt.candidates.slots.iter().enumerate();
        let all = slots
            .flat_map(|(slot, fills)| (0..).zip(fills).map(move |(pick, _)| Swap { slot, pick }));
        let disc = self.hunt.setup.slot("disc");
        // A disc leaves with the set that takes its place, and is no change of its own.
        let no_disc = |swap: &Swap| {
            Some(swap.slot) == disc
                && self.hunt.candidates.slots[swap.slot][swap.pick as usize].is_empty()
        };
        all.filter(|swap| swap.pick != self.base[swap.slot] && !no_disc(swap)).collect()
    }

    /// The stack that some changes make, if it is a remedy.
    fn attempt(&mut self, swaps: &[Swap]) -> Option<Fit<'a>> {
        let slot = |kind| self.hunt.setup.slot(kind).unwrap_or_default();
        let (plate, disc) = (slot("pressure_plate"), slot("disc"));
        let mut choice = Choice { fills: self.hunt.now.choice.fills.clone() };
        for swap in swaps {
            choice.fills[swap.slot] =
                self.hunt.candidates.slots[swap.slot][swap.pick as usize].clone();
        }
        let set = choice.fills[plate].parts.first().is_some_and(|part| part.is_matched_set());
        // A matched set takes the disc's place too, and that is one change.
        if set && !swaps.iter().any(|swap| swap.slot == disc) {
            choice.fills[disc] = Fill::empty();
        }
        let fit = worked_out(self.hunt.setup, &choice).ok()?;
        self.tried += 1;
        let now = (self.hunt.now.grade, self.hunt.now.fails());
        let better = is_better(now, fit.grade, fit.fails());
        (better && wanted(self.hunt.ask, &fit) && !fit.is_outside_range()).then_some(fit)
    }
}

/// The fitted flywheel, machined over both faces just as far as the best grade within reach needs, in
/// steps of 0.001 in: one more candidate of its slot, behind the one that it is made from.
fn machine<'a>(setup: &Setup<'a>, ask: &Ask, now: &Fit<'a>, candidates: &mut Candidates<'a>) {
    let Some(slot) = setup.slot("flywheel") else { return };
    let Some(machined) = machined(setup, ask, now, slot) else { return };
    let fills = &mut candidates.slots[slot];
    if let Some(at) = fills.iter().position(|fill| fill.same(&setup.fitted[slot])) {
        fills.insert(at + 1, machined);
    }
}

fn machined<'a>(setup: &Setup<'a>, ask: &Ask, now: &Fit<'a>, slot: usize) -> Option<Fill<'a>> {
    let fitted = &setup.fitted[slot];
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
        evaluate(setup, &choice).ok().map(|fit| (fit, choice))
    };
    let (first, _) = with(step)?;
    // A cut lowers the fingers: it makes room at the least reserve and the most preload.
    let mut cuts = vec![step];
    for (_, edge) in first.edges.set().filter(|(edge, _)| !edge.is_missed_when_loose()) {
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
    let steps = (length.nm() + step.nm() - 1).div_euclid(step.nm());
    Length::from_nm(steps * step.nm())
}
