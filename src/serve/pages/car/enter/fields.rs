//! The fields of each question, and what was typed into them as pairs of a job's row.

use maud::{Markup, html};

use super::question;
use crate::desk::{
    Bench, EDGES, OF_THICKNESS, Step, another_plate, no_plate, over_plate, with_unit,
};
use crate::error::{Error, Result};
use crate::model::bars::as_read;
use crate::model::job::{Reading, ReadingSpec, Word as _};
use crate::model::kinds::Quantity;
use crate::model::part::show_value;
use crate::report::html::text;
use crate::report::{Sketch, reading_sketch};
use crate::serve::form::Fields;
use crate::serve::question::LengthField;
use crate::serve::visit::Visit;

/// What an answer stores.
pub(super) struct EntryAnswer {
    /// The pairs of the job's row.
    pub(super) pairs: Vec<String>,
    /// A block plate that is not in the library yet: its number and the pairs of its row.
    pub(super) plate: Option<(String, Vec<String>)>,
}

impl EntryAnswer {
    fn of(pairs: Vec<String>) -> Self {
        Self { pairs, plate: None }
    }
}

/// The values of the plate's question beside part numbers.
const NO_PLATE: &str = "none";
const OTHER_PLATE: &str = "another";

/// The fields of a question.
pub(super) fn of(visit: &Visit, bench: &Bench, step: Step) -> Markup {
    match step {
        Step::Plate => plate(visit, bench),
        Step::Read(reading) => read(visit, bench, reading.spec()),
        Step::Disc => disc(visit, bench),
        Step::Crank => html! {
            (head(step))
            (words_of(visit, step, bench.job.crank_pushed.word()))
        },
        Step::Window => window(visit, bench),
    }
}

fn read(visit: &Visit, bench: &Bench, spec: &ReadingSpec) -> Markup {
    let job = &bench.job;
    let known = job.reading(spec.reading);
    let shown = |value| show_value(Quantity::Length, value, visit.unit());
    let bar = job.bars.get(spec.reading as usize);
    let value = known.map(|entry| match (bar, spec.sides) {
        (None, Some(sides)) => sides.show(entry.as_length(), visit.unit()),
        (bar, sides) => as_read(entry.as_length(), bar, sides, visit.unit()),
    });
    let bar = bar.map(|bar| bar.exact(visit.unit())).unwrap_or_default();
    let question = LengthField {
        key: spec.key,
        sides: spec.sides,
        known: &value.unwrap_or_default(),
        bar: &bar,
        tolerance: &known.and_then(|entry| entry.tol).map(shown).unwrap_or_default(),
    };
    let over_plate = over_plate(spec.reading);
    let has_plate =
        bench.library.kinds.slot_of("block_plate").is_some_and(|slot| !job.fitted[slot].is_empty());
    let is_over = match spec.reading {
        Reading::CrankProtrusion => job.crank_over_plate,
        _ => job.depth_over_plate,
    };
    let sketch = Sketch {
        reading: spec.reading,
        over_plate: over_plate.is_some() && has_plate && is_over,
        recessed: known.is_some_and(|entry| entry.value < 0),
    };
    html! {
        (head(Step::Read(spec.reading)))
        div.sketch { (reading_sketch(sketch, "sketch")) }
        (question.fields(visit, spec.reading != Reading::FittedDiscThickness))
        @if let (Some(key), true) = (over_plate, has_plate) {
            label.choice {
                input type="checkbox" name=(key) value="yes" checked[is_over];
                span { "read over the fitted block plate" }
            }
        }
        (question::units(visit))
        @match spec.reading {
            Reading::FingerDepth => {
                p.note {
                    "The block's face cannot be reached with the clutch fitted? "
                    a href=(super::address(&job.id, Step::Read(Reading::CrankProtrusion))) { "Read it in two steps" } "."
                }
            }
            Reading::CrankProtrusion => {
                p.note {
                    "The clutch is on the car? "
                    a href=(super::address(&job.id, Step::Read(Reading::FingerDepth))) { "Read it in one step" } "."
                }
            }
            _ => {}
        }
    }
}

fn plate(visit: &Visit, bench: &Bench) -> Markup {
    let slot = bench.library.kinds.slot_of("block_plate");
    let fitted = slot.and_then(|slot| bench.job.fitted[slot].first());
    let chosen = visit.form.one("plate").or(fitted.map(String::as_str)).unwrap_or(NO_PLATE);
    let known = bench
        .library
        .of_kind("block_plate")
        .filter(|part| !part.retired || Some(&part.id) == fitted);
    let shown: Vec<_> = known.take(24).collect();
    html! {
        (head(Step::Plate))
        div {
            label.choice { input type="radio" name="plate" value=(NO_PLATE) checked[chosen == NO_PLATE]; span { "none" } }
            @for part in &shown {
                label.choice {
                    input type="radio" name="plate" value=(part.id) checked[chosen == part.id];
                    span {
                        (text(&part.id))
                        @if let Some(thickness) = part.length("thickness") { ", " (thickness.exact(visit.unit())) }
                        @if !part.description.is_empty() { ", " (text(&part.description)) }
                    }
                }
            }
            label.choice {
                input type="radio" name="plate" value=(OTHER_PLATE) checked[chosen == OTHER_PLATE];
                span { "another one" }
            }
        }
        label.field {
            span { "Thickness of the other one" }
            input type="text" inputmode="decimal" autocomplete="off" name="thickness" value=(visit.form.text("thickness"));
            small { (OF_THICKNESS) }
        }
        (question::units(visit))
    }
}

fn disc(visit: &Visit, bench: &Bench) -> Markup {
    let job = &bench.job;
    let known = job.reading(Reading::FittedDiscThickness);
    let known = known.map(|entry| show_value(Quantity::Length, entry.value, visit.unit()));
    let key = Reading::FittedDiscThickness.spec().key;
    let typed = visit.form.one(key).map(String::from).or(known).unwrap_or_default();
    let sketch =
        Sketch { reading: Reading::FittedDiscThickness, over_plate: false, recessed: false };
    html! {
        (head(Step::Disc))
        (words_of(visit, Step::Disc, job.disc_state.word()))
        div.sketch { (reading_sketch(sketch, "sketch")) }
        label.field {
            span { "Its thickness, clamped" }
            input type="text" inputmode="decimal" autocomplete="off" name=(key) value=(typed);
            small { "where it is worn and can be read" }
        }
        (question::units(visit))
    }
}

fn window(visit: &Visit, bench: &Bench) -> Markup {
    html! {
        (head(Step::Window))
        @for (edge, name, about) in EDGES {
            @let known = bench.job.window[edge].map(|limit| limit.exact(visit.unit()));
            @let typed = visit.form.one(edge.key()).map(String::from).or(known).unwrap_or_default();
            label.field {
                span { (name) }
                input type="text" inputmode="decimal" autocomplete="off" name=(edge.key()) value=(typed);
                small { (about) }
            }
        }
        (question::units(visit))
    }
}

/// A question and what has to be known to answer it.
fn head(step: Step) -> Markup {
    let about = step.about();
    html! {
        h2 { (step.heading()) }
        @if !about.is_empty() { p { (about) } }
    }
}

/// A choice among the words that answer a question.
fn words_of(visit: &Visit, step: Step, now: &str) -> Markup {
    let key = step.key();
    let chosen = visit.form.one(key).unwrap_or(now);
    html! {
        div role="radiogroup" aria-label=(key.replace('_', " ")) {
            @for (word, words) in step.words() {
                label.choice {
                    input type="radio" name=(key) value=(word) checked[word == chosen];
                    span { (words) }
                }
            }
        }
    }
}

/// What was typed.
pub(super) fn answer(visit: &Visit, bench: &Bench, step: Step) -> Result<EntryAnswer> {
    let (form, unit) = (&visit.form, question::unit(visit));
    let length = |key: &str| format!("{key}={}", with_unit(form.text(key), unit));
    Ok(EntryAnswer::of(match step {
        Step::Plate => return Ok(plate_of(visit, bench)),
        Step::Read(reading) => {
            let spec = reading.spec();
            if form.one(spec.key).is_none() && bench.job.reading(reading).is_none() {
                return Err(Error::input("nothing was read").hint("type the reading, or pass over"));
            }
            let question =
                LengthField { key: spec.key, sides: spec.sides, known: "", bar: "", tolerance: "" };
            let mut pairs = question.pairs(form, unit);
            let said = |key| format!("{key}={}", if form.has(key) { "yes" } else { "no" });
            pairs.extend(over_plate(reading).map(said));
            pairs
        }
        Step::Disc => vec![
            format!("fitted_disc_state={}", form.text("fitted_disc_state")),
            length(Reading::FittedDiscThickness.spec().key),
        ],
        Step::Crank => vec![format!("crank_pushed={}", form.text("crank_pushed"))],
        Step::Window => EDGES.iter().map(|(edge, ..)| length(edge.key())).collect(),
    }))
}

fn plate_of(visit: &Visit, bench: &Bench) -> EntryAnswer {
    let (form, unit) = (&visit.form, question::unit(visit));
    let chosen = form.text("plate");
    if chosen == NO_PLATE || chosen.is_empty() {
        return EntryAnswer::of(no_plate());
    }
    if chosen != OTHER_PLATE {
        return EntryAnswer::of(vec![format!("block_plate={chosen}")]);
    }
    let thickness = with_unit(form.text("thickness"), unit);
    let (number, of_plate) = another_plate(&bench.library, &bench.job, &thickness);
    EntryAnswer { pairs: vec![format!("block_plate={number}")], plate: Some((number, of_plate)) }
}

/// Whether a reading was typed into the form of a question.
pub(super) fn is_typed(step: Step, form: &Fields) -> bool {
    matches!(step, Step::Read(reading) if form.one(reading.spec().key).is_some())
}
