//! The questions about a new car, in the order in which it comes apart: what a page and the terminal
//! ask alike.

use super::measure::in_question;
use crate::error::Error;
use crate::model::edge::Edge;
use crate::model::job::{CrankPushed, DiscState, Job, Reading, Word as _};
use crate::model::length::Unit;
use crate::model::library::Library;

/// One question.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Step {
    /// Is there a plate between block and bell housing?
    Plate,
    /// A reading.
    Read(Reading),
    /// Is the fitted disc worn?
    Disc,
    /// Where did the crank stand?
    Crank,
    /// What does the clutch's maker ask for?
    Window,
}

/// The shortest way: three readings and what goes with them.
const SHORT: &[Step] = &[
    Step::Plate,
    Step::Read(Reading::FingerDepth),
    Step::Disc,
    Step::Read(Reading::BearingDepthExtended),
    Step::Read(Reading::BearingDepthRetracted),
    Step::Crank,
    Step::Window,
];

/// The same where the fingers are read in two steps, on the bench.
const APART: &[Step] = &[
    Step::Plate,
    Step::Read(Reading::CrankProtrusion),
    Step::Read(Reading::ClutchHeight),
    Step::Disc,
    Step::Read(Reading::BearingDepthExtended),
    Step::Read(Reading::BearingDepthRetracted),
    Step::Crank,
    Step::Window,
];

impl Step {
    /// Its name in an address.
    pub fn key(self) -> &'static str {
        match self {
            Self::Plate => "block_plate",
            Self::Read(reading) => reading.spec().key,
            Self::Disc => "fitted_disc_state",
            Self::Crank => "crank_pushed",
            Self::Window => "window",
        }
    }

    /// The step of a name.
    pub fn named(key: &str) -> Option<Self> {
        SHORT.iter().chain(APART).copied().find(|step| step.key() == key)
    }

    /// The steps of a car: the short way, or in two steps where that was begun or is asked for.
    pub fn all(job: &Job, asked: Option<Self>) -> &'static [Self] {
        let apart = [Reading::CrankProtrusion, Reading::ClutchHeight];
        let has = |reading: Reading| job.reading(reading).is_some();
        let is_apart = |step: Self| apart.iter().any(|reading| step == Self::Read(*reading));
        let begun = apart.into_iter().any(has) && !has(Reading::FingerDepth);
        match asked {
            Some(step) if is_apart(step) => APART,
            Some(Self::Read(Reading::FingerDepth)) => SHORT,
            _ if begun => APART,
            _ => SHORT,
        }
    }

    /// Whether it asks for a reading.
    pub fn is_reading(self) -> bool {
        matches!(self, Self::Read(_))
    }

    /// The one behind it; none behind the last.
    pub fn next(self, steps: &[Self]) -> Option<Self> {
        let at = steps.iter().position(|step| *step == self)?;
        steps.get(at + 1).copied()
    }

    /// The one before it.
    pub fn before(self, steps: &[Self]) -> Option<Self> {
        let at = steps.iter().position(|step| *step == self)?;
        steps.get(at.checked_sub(1)?).copied()
    }

    /// Its name in the list of all of them.
    pub fn name(self) -> String {
        match self {
            Self::Plate => "plate behind the block".into(),
            Self::Read(reading) => reading.spec().key.replace('_', " "),
            Self::Disc => "state of the disc".into(),
            Self::Crank => "where the crank stood".into(),
            Self::Window => "what the clutch asks for".into(),
        }
    }

    /// The question itself.
    pub fn heading(self) -> String {
        match self {
            Self::Plate => "Is there a plate between block and bell housing?".into(),
            Self::Read(reading) => capital(&reading.spec().key.replace('_', " ")),
            Self::Disc => "Is the disc that is fitted worn?".into(),
            Self::Crank => "Where did the crank stand while it was read?".into(),
            Self::Window => "What does the clutch ask for?".into(),
        }
    }

    /// What has to be known to answer it; blank where the question says all.
    pub fn about(self) -> String {
        match self {
            Self::Plate => String::new(),
            Self::Read(reading) => format!("{}.", capital(reading.spec().about)),
            Self::Disc => {
                "A worn disc lets the fingers stand high: the car then looks too tight and may \
                           need nothing but its new disc."
                    .into()
            }
            Self::Crank => {
                "A crank moves a little along its axis. Pushed to the front means away from the \
                            gearbox."
                    .into()
            }
            Self::Window => {
                "Where its maker states them. Blank: what the clutch's part or the shop's house \
                             numbers say."
                    .into()
            }
        }
    }

    /// The words that answer it, each with what it says; none where it is answered otherwise.
    pub fn words(self) -> Vec<(&'static str, &'static str)> {
        match self {
            Self::Disc => vec![
                (DiscState::New.word(), "new"),
                (DiscState::Worn.word(), "worn"),
                (DiscState::Unknown.word(), "nobody knows"),
            ],
            Self::Crank => vec![
                (CrankPushed::Front.word(), "pushed to the front"),
                (CrankPushed::Rear.word(), "pushed to the rear"),
                (CrankPushed::Unknown.word(), "nobody looked: both ways are counted"),
            ],
            Self::Plate | Self::Read(_) | Self::Window => Vec::new(),
        }
    }

    /// Whether a job answers it.
    pub fn is_answered(self, job: &Job, plate: Option<usize>) -> bool {
        match self {
            Self::Plate => plate.is_some_and(|slot| !job.fitted[slot].is_empty()),
            Self::Read(reading) => job.reading(reading).is_some(),
            Self::Disc => job.disc_state != DiscState::Unknown,
            Self::Crank => job.crank_pushed != CrankPushed::Unknown,
            Self::Window => job.window.iter().any(|(_, limit)| limit.is_some()),
        }
    }

    /// The first that is not answered yet of those that a verdict needs; else the first of all.
    pub fn first_open(job: &Job, steps: &'static [Self]) -> Self {
        let is_open = |step: &&Self| matches!(step, Self::Read(_)) && !step.is_answered(job, None);
        let begun = job.readings.iter().any(Option::is_some);
        let open = steps.iter().find(is_open).filter(|_| begun);
        open.or(steps.first()).copied().unwrap_or(Self::Plate)
    }
}

/// The edges of the window that are asked for, each with its name and how it comes about.
pub const EDGES: [(Edge, &str, &str); 2] = [
    (Edge::PreloadMin, "Least preload", "release travel and a margin"),
    (Edge::ReserveMin, "Least wear reserve", "facing wear times the finger ratio, and a margin"),
];

/// What is to be known of a plate's thickness that is asked for.
pub const OF_THICKNESS: &str = "blank where it cannot be read: a plate that stays cancels out. It goes into the \
                                library under this car's name";

/// The column that says that a reading was taken over the block plate.
pub fn over_plate(reading: Reading) -> Option<&'static str> {
    match reading {
        Reading::CrankProtrusion => Some("crank_protrusion_over_plate"),
        Reading::FingerDepth => Some("finger_depth_over_plate"),
        _ => None,
    }
}

/// The pairs of a job's row that say that it has no plate. Without one nothing was read over one.
pub fn no_plate() -> Vec<String> {
    let mut pairs = vec!["block_plate=".to_string()];
    let keys = ["crank_protrusion_over_plate", "finger_depth_over_plate"];
    pairs.extend(keys.map(|key| format!("{key}=no")));
    pairs
}

/// The number and the pairs of a plate that is not in the library yet: it goes there under the name of
/// the job that it is fitted in.
pub fn another_plate(library: &Library, job: &Job, thickness: &str) -> (String, Vec<String>) {
    let base = format!("{} plate", job.id.replace(['|', '#'], " "));
    let mut number = base.trim().to_string();
    let mut next = 2;
    while library.find(&number).is_some() {
        number = format!("{base} {next}");
        next += 1;
    }
    let pairs = vec![format!("thickness={thickness}"), format!("description=fitted in {}", job.id)];
    (number, pairs)
}

/// The same where the unit of bare numbers may not have been set.
pub fn with_unit_set(text: &str, unit: Option<Unit>) -> String {
    unit.map_or_else(|| text.trim().into(), |unit| with_unit(text, unit))
}

/// A number that was typed without a unit, with the unit of its form; anything else as it is. Several
/// readings have one unit behind the last of them.
pub fn with_unit(text: &str, unit: Unit) -> String {
    let text = text.trim();
    let is_bare =
        |c: char| c.is_ascii_digit() || ".,/ +-\u{2212}\u{b1}\u{bd}\u{bc}\u{be}".contains(c);
    let is_number = text.chars().all(is_bare) && text.contains(|c: char| c.is_numeric());
    if is_number { format!("{text} {}", unit.name()) } else { text.into() }
}

/// What is said of bare lengths in a dialogue whose unit was set, or was not: nobody guesses one.
pub fn of_bare(unit: Option<Unit>) -> &'static str {
    match unit {
        None => {
            "Every length has its unit, until `in` or `mm` on a line of its own sets that of bare ones."
        }
        Some(Unit::In) => "Bare lengths are in inches; `mm` on a line of its own changes that.",
        Some(Unit::Mm) => {
            "Bare lengths are in millimetres; `in` on a line of its own changes that."
        }
    }
}

/// What is to be asked of a value that was refused only because it is not usual; none where it cannot be.
pub fn doubt(error: &Error) -> Option<String> {
    let is_unusual = error.advice().is_some_and(|advice| advice.contains("`--unusual"));
    is_unusual.then(|| in_question(error))
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::entry::Entry;
    use crate::model::kinds::Kinds;

    #[test]
    fn every_question_is_found_by_its_name_and_leads_to_the_next() {
        for steps in [SHORT, APART] {
            let mut step = steps[0];
            assert_eq!(step.before(steps), None);
            for next in &steps[1..] {
                assert_eq!((step.next(steps), next.before(steps)), (Some(*next), Some(step)));
                step = *next;
            }
            assert_eq!(step.next(steps), None);
            assert!(steps.iter().all(|step| Step::named(step.key()) == Some(*step)));
        }
        assert_eq!(Step::named("no such"), None);
    }

    #[test]
    fn a_car_is_come_back_to_at_the_first_reading_that_lacks() {
        let mut job = Job::new("x", Kinds::standard());
        assert_eq!(Step::first_open(&job, SHORT), Step::Plate);
        job.readings[Reading::FingerDepth as usize] = Some(Entry::new(70_000_000, None));
        let open = Step::first_open(&job, Step::all(&job, None));
        assert_eq!(open, Step::Read(Reading::BearingDepthExtended));
    }

    #[test]
    fn a_bare_number_is_in_the_unit_of_its_form_and_what_has_a_unit_keeps_it() {
        for (typed, meant) in [
            ("0.25", "0.25 in"),
            (" 1/4 ", "1/4 in"),
            ("\u{bd}", "\u{bd} in"),
            ("1.001 1.002", "1.001 1.002 in"),
            ("6.35 mm", "6.35 mm"),
            ("1/4\"", "1/4\""),
            ("250 thou", "250 thou"),
            ("", ""),
            ("abc", "abc"),
            ("-", "-"),
        ] {
            assert_eq!(with_unit(typed, Unit::In), meant);
        }
        assert_eq!(with_unit("8,4", Unit::Mm), "8,4 mm");
    }
}
