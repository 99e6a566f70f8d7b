//! The dialogue about one car: one question after another, each answer stored as it is given.

use crate::catalog::Catalog;
use crate::catalog::csv::{add_part, edit_job};
use crate::cli::args::Common;
use crate::cli::env::Env;
use crate::cli::{place, progress};
use crate::desk::{
    Bench, EDGES, OF_THICKNESS, SoFar, Step, another_plate, doubt, no_plate, of_bare, one_stack,
    over_plate, so_far, with_unit_set,
};
use crate::error::Result;
use crate::model::bars::as_read;
use crate::model::history::Stamp;
use crate::model::job::{Reading, ReadingSpec, Word as _};
use crate::model::length::Unit;
use crate::model::usual::Meant;
use crate::report;

/// What somebody says to a question.
pub(super) enum Said {
    Line(String),
    /// A blank line: the question is passed over.
    Nothing,
    /// The question before is asked again.
    Back,
    /// What was entered is enough: the verdict is wanted.
    Done,
    /// Nothing more is wanted, as at the end of the input.
    Quit,
}

/// What comes behind a question.
pub(super) enum Then {
    On,
    Back,
    To(Step),
    Again,
    End(Left),
}

/// How the questions were left.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Left {
    /// For the verdict.
    Done,
    /// For another time.
    Quit,
}

/// The dialogue about one car.
pub(super) struct Talk<'t, 'e> {
    pub(super) common: &'t Common,
    pub(super) catalog: Catalog,
    pub(super) id: String,
    /// The unit of bare lengths, once it was set.
    pub(super) unit: Option<Unit>,
    pub(super) env: &'t mut Env<'e>,
}

impl Talk<'_, '_> {
    /// One question after another, until there is none left or no more is wanted.
    pub(super) fn ask_all(&mut self, first: Step) -> Result<Left> {
        let mut step = first;
        loop {
            let bench = Bench::of(&self.catalog, &self.id)?;
            let steps = Step::all(&bench.job, Some(step));
            let at = steps.iter().position(|one| *one == step).unwrap_or_default() + 1;
            self.env.tell(&format!("\nQuestion {at} of {}. {}", steps.len(), step.heading()));
            let about = step.about();
            if !about.is_empty() {
                self.env.tell(&about);
            }
            step = match self.question(step, &bench)? {
                Then::On => match step.next(steps) {
                    Some(next) => next,
                    None => return Ok(Left::Done),
                },
                Then::Back => step.before(steps).unwrap_or(step),
                Then::To(other) => other,
                Then::Again => step,
                Then::End(left) => return Ok(left),
            };
        }
    }

    /// Asks one question, and stores what is answered.
    fn question(&mut self, step: Step, bench: &Bench) -> Result<Then> {
        match step {
            Step::Plate => self.plate(bench),
            Step::Read(reading) => self.read(reading, bench),
            Step::Disc => self.disc(bench),
            Step::Crank => {
                let word = bench.job.crank_pushed.word();
                match self.word(step, word)? {
                    Ok(word) => self.store(&[format!("{}={word}", step.key())], None),
                    Err(next) => Ok(next),
                }
            }
            Step::Window => self.window(bench),
        }
    }

    fn plate(&mut self, bench: &Bench) -> Result<Then> {
        let slot = bench.library.kinds.slot_of("block_plate");
        let fitted = slot.and_then(|slot| bench.job.fitted[slot].first());
        let plates = bench.library.of_kind("block_plate");
        let plates = plates.filter(|part| !part.retired && part.piece_of.is_none());
        for part in plates.take(24) {
            let thickness = part.length("thickness").map(|length| length.exact(self.common.unit()));
            let told = [Some(part.id.clone()), thickness, Some(part.description.clone())];
            let told: Vec<String> =
                told.into_iter().flatten().filter(|text| !text.is_empty()).collect();
            self.env.tell(&format!("  {}", told.join(", ")));
        }
        self.known(fitted.map(String::as_str));
        self.env.tell("Its number, `none`, or `another` for one that is not listed.");
        let line = match self.ask("> ")? {
            Said::Line(line) => line,
            other => return Ok(passed(&other)),
        };
        match line.to_lowercase().as_str() {
            "none" | "no" => self.store(&no_plate(), None),
            "another" => {
                self.env.tell(&format!("Its thickness: {OF_THICKNESS}."));
                let thickness = match self.ask("> ")? {
                    Said::Line(text) => with_unit_set(&text, self.unit),
                    Said::Nothing => String::new(),
                    Said::Back => return Ok(Then::Again),
                    other => return Ok(passed(&other)),
                };
                let (number, pairs) = another_plate(&bench.library, &bench.job, &thickness);
                let named = [format!("block_plate={number}")];
                self.store(&named, Some((&number, &pairs)))
            }
            _ => self.store(&[format!("block_plate={line}")], None),
        }
    }

    fn read(&mut self, reading: Reading, bench: &Bench) -> Result<Then> {
        let spec = reading.spec();
        let job = &bench.job;
        let bar = job.bars.get(reading as usize);
        let known = job.reading(reading).map(|entry| {
            let read = as_read(entry.as_length(), bar, spec.sides, self.common.unit());
            bar.map_or(read.clone(), |bar| format!("{read} over {}", bar.exact(self.common.unit())))
        });
        self.known(known.as_deref());
        let other = match reading {
            Reading::FingerDepth => Some(("apart", Reading::CrankProtrusion)),
            Reading::CrankProtrusion => Some(("together", Reading::FingerDepth)),
            _ => None,
        };
        match reading {
            Reading::FingerDepth => self.env.tell(
                "`apart` reads it in two steps, where the block's face cannot be reached with the \
                 clutch fitted.",
            ),
            Reading::CrankProtrusion => {
                self.env.tell("`together` reads it in one step, with the clutch on the car.");
            }
            _ => {}
        }
        let line = match self.ask("> ")? {
            Said::Line(line) => line,
            other => return Ok(passed(&other)),
        };
        if let Some((word, to)) = other
            && line.eq_ignore_ascii_case(word)
        {
            return Ok(Then::To(Step::Read(to)));
        }
        let mut pairs = typed(spec, &line, self.unit);
        let plate = bench.library.kinds.slot_of("block_plate");
        let has_plate = plate.is_some_and(|slot| !job.fitted[slot].is_empty());
        if let Some(key) = over_plate(reading).filter(|_| has_plate) {
            let Some(is_over) =
                self.env.yes_or_no("Read over the fitted block plate, yes or no? ")?
            else {
                return Ok(Then::End(Left::Quit));
            };
            pairs.push(format!("{key}={}", is_over.word()));
        }
        self.store(&pairs, None)
    }

    fn disc(&mut self, bench: &Bench) -> Result<Then> {
        let word = match self.word(Step::Disc, bench.job.disc_state.word())? {
            Ok(word) => word,
            Err(next) => return Ok(next),
        };
        let mut pairs = vec![format!("{}={word}", Step::Disc.key())];
        if word == "worn" {
            match self.ask("Its thickness, clamped (blank where it cannot be read): ")? {
                Said::Line(text) => {
                    let key = Reading::FittedDiscThickness.spec().key;
                    pairs.push(format!("{key}={}", with_unit_set(&text, self.unit)));
                }
                Said::Nothing => {}
                Said::Back => return Ok(Then::Again),
                Said::Done | Said::Quit => {
                    self.store(&pairs, None)?;
                    return Ok(Then::End(Left::Done));
                }
            }
        }
        self.store(&pairs, None)
    }

    fn window(&mut self, bench: &Bench) -> Result<Then> {
        for (edge, name, about) in EDGES {
            let known = bench.job.window[edge].map(|limit| limit.exact(self.common.unit()));
            self.known(known.as_deref());
            loop {
                let line = match self.ask(&format!("{name} ({about}): "))? {
                    Said::Line(line) => with_unit_set(&line, self.unit),
                    Said::Nothing => break,
                    other => return Ok(passed(&other)),
                };
                match self.store(&[format!("{}={line}", edge.key())], None)? {
                    Then::Again => {}
                    Then::End(left) => return Ok(Then::End(left)),
                    _ => break,
                }
            }
        }
        Ok(Then::On)
    }

    /// One of the words that answer a question, or what comes next.
    fn word(&mut self, step: Step, now: &str) -> Result<Result<String, Then>> {
        let words = step.words();
        for (word, says) in &words {
            let says = if word == says { String::new() } else { format!(": {says}") };
            self.env.tell(&format!("  {word}{says}"));
        }
        self.known((now != "unknown").then_some(now));
        loop {
            let line = match self.ask("> ")? {
                Said::Line(line) => line.to_lowercase(),
                other => return Ok(Err(passed(&other))),
            };
            if words.iter().any(|(word, _)| *word == line) {
                return Ok(Ok(line));
            }
            let known: Vec<String> = words.iter().map(|(word, _)| format!("`{word}`")).collect();
            self.env.tell(&format!("  write {}", known.join(", ")));
        }
    }

    /// Asks for a line; what only sets the unit of bare numbers is asked past.
    pub(super) fn ask(&mut self, prompt: &str) -> Result<Said> {
        loop {
            let Some(line) = self.env.ask(prompt)? else { return Ok(Said::Quit) };
            return Ok(match line.to_lowercase().as_str() {
                "" => Said::Nothing,
                "back" => Said::Back,
                "done" => Said::Done,
                "quit" => Said::Quit,
                word => match Unit::named(word) {
                    Some(unit) => {
                        self.unit = Some(unit);
                        self.env.tell(of_bare(self.unit));
                        continue;
                    }
                    None => Said::Line(line),
                },
            });
        }
    }

    fn known(&mut self, known: Option<&str>) {
        if let Some(known) = known {
            self.env.tell(&format!("  so far {known}; a blank line leaves it"));
        }
    }

    /// Stores an answer, a plate that is not in the library before it, and tells what it leads to.
    fn store(&mut self, pairs: &[String], plate: Option<(&str, &[String])>) -> Result<Then> {
        let mut meant = Meant::default();
        loop {
            let (id, stamp) = (self.id.clone(), self.stamp("edit", pairs));
            let stored = self.catalog.write(&stamp, |writer| {
                if let Some((number, of_plate)) = plate {
                    add_part(writer, "block_plate", number, (of_plate, &meant))?;
                }
                edit_job(writer, &id, (pairs, &meant))
            });
            let error = match stored {
                Ok(_) => {
                    self.tell_so_far()?;
                    return Ok(Then::On);
                }
                Err(error) if error.exit_status() == 2 => error,
                Err(error) => return Err(error),
            };
            let Some(doubt) = doubt(&error) else {
                self.env.tell(&format!("  {error}"));
                return Ok(Then::Again);
            };
            match self.env.yes_or_no(&format!("  {doubt}. Keep it, yes or no? "))? {
                Some(true) => meant = Meant::all(),
                Some(false) => {
                    self.env.tell("  Not kept.");
                    return Ok(Then::Again);
                }
                None => return Ok(Then::End(Left::Quit)),
            }
        }
    }

    /// Who stores an answer, and the command that would do the same.
    pub(super) fn stamp(&self, command: &str, pairs: &[String]) -> Stamp {
        let words = [&self.id].into_iter().chain(pairs).map(|word| place::quoted(word));
        let words = words.collect::<Vec<_>>().join(" ");
        Stamp { command: format!("job {command} {words}"), ..place::stamp(self.common, self.env) }
    }

    fn tell_so_far(&mut self) -> Result<()> {
        let bench = Bench::of(&self.catalog, &self.id)?;
        let told = match so_far(&bench.library, &bench.job)? {
            SoFar::Whole => {
                let setup = bench.setup()?;
                let choice = setup.fitted_choice()?;
                let one =
                    progress::watched(self.env, |watch| one_stack(&setup, &choice, false, watch))?;
                report::fit_brief(&one, self.env.view(self.common))
            }
            SoFar::Half(half, still) => {
                let (number, stands) = half.words(self.common.unit());
                format!("{number}: {stands}. {}", wanted(&still))
            }
            SoFar::Nothing(still) => wanted(&still),
        };
        if !told.is_empty() {
            self.env.tell(&format!("  So far: {}", told.trim_end()));
        }
        Ok(())
    }
}

/// What is still to be read; blank where nothing is.
pub(super) fn wanted(still: &[Reading]) -> String {
    let names: Vec<String> = still.iter().map(|one| one.spec().key.replace('_', " ")).collect();
    if names.is_empty() {
        return String::new();
    }
    format!("Still to be read for a verdict: {}.", names.join(", "))
}

/// What comes behind a question that was not answered.
fn passed(said: &Said) -> Then {
    match said {
        Said::Line(_) | Said::Nothing => Then::On,
        Said::Back => Then::Back,
        Said::Done => Then::End(Left::Done),
        Said::Quit => Then::End(Left::Quit),
    }
}

/// A reading as it was typed, as pairs of a job's row: bare numbers are in `unit`.
fn typed(spec: &ReadingSpec, line: &str, unit: Option<Unit>) -> Vec<String> {
    let (value, bar) = match line.split_once(" over ") {
        Some((value, bar)) => (value.trim(), with_unit_set(bar, unit)),
        None => (line, String::new()),
    };
    let words = spec.sides.iter().flat_map(|sides| sides.plus.iter().chain(sides.minus));
    let sided = words.into_iter().find_map(|word| {
        let number = value.strip_suffix(word)?;
        Some(format!("{} {word}", with_unit_set(number, unit)))
    });
    let value = sided.unwrap_or_else(|| with_unit_set(value, unit));
    let key = spec.key;
    let mut pairs = vec![format!("{key}={value}")];
    if !bar.is_empty() {
        pairs.push(format!("{key}_bar={bar}"));
    }
    pairs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bare_reading_has_the_unit_of_the_dialogue_and_its_bar_too() {
        let depth = Reading::FingerDepth.spec();
        let crank = Reading::CrankProtrusion.spec();
        for (spec, line, pairs) in [
            (depth, "2.940", &["finger_depth=2.940 in"][..]),
            (depth, "74.7 mm", &["finger_depth=74.7 mm"]),
            (depth, "3.190 over 1/4", &["finger_depth=3.190 in", "finger_depth_bar=1/4 in"]),
            (depth, "2.940 +-.002", &["finger_depth=2.940 +-.002 in"]),
            (crank, "0.020 recessed", &["crank_protrusion=0.020 in recessed"]),
            (crank, "0.5 mm proud", &["crank_protrusion=0.5 mm proud"]),
        ] {
            assert_eq!(typed(spec, line, Some(Unit::In)), pairs, "{line}");
        }
    }
}
