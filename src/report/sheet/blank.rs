//! The sheet to carry to the car: every reading in the order in which it is taken, with its small
//! drawing, a blank to write in, and bar and plate to tick.

use maud::{Markup, html};

use super::{field, head, page};
use crate::model::entry::Entry;
use crate::model::job::Reading;
use crate::model::length::{Length, Unit};
use crate::report::View;
use crate::report::drawing::{Sketch, reading};
use crate::report::sentences;
use crate::stack::choice::Setup;

/// The readings as a car comes apart: first what is read on it, then what is read on the bench.
const ORDER: [Reading; 6] = [
    Reading::FingerDepth,
    Reading::CrankProtrusion,
    Reading::ClutchHeight,
    Reading::FittedDiscThickness,
    Reading::BearingDepthExtended,
    Reading::BearingDepthRetracted,
];

/// What else has to be known of a car, with the words to choose from.
const TICKS: [(&str, &[&str]); 3] = [
    ("fitted disc", &["new", "worn"]),
    ("crank pushed", &["to the front", "to the rear"]),
    ("starter bolted to", &["the block", "the bell"]),
];

/// The sheet with blanks for a job. `date` is today's.
pub fn blank(setup: &Setup<'_>, view: View, date: &str) -> String {
    let body = html! {
        (head(setup.job, date, "To be filled in at the car. Finger depth alone does, or crank protrusion and clutch height; all three check each other."))
        ul.takes { @for (index, one) in ORDER.into_iter().enumerate() { (take(setup, one, index, view.unit)) } }
        div.ticks.last { @for (name, words) in TICKS { (ticks(name, words)) } }
        div.again {
            @for name in ["parts fitted", "part numbers seen", "remarks", "signature"] { (field(name, "")) }
        }
        p.safety { (sentences::SAFETY) }
    };
    page(&format!("Measuring sheet, job {}", setup.job.id), "", &body)
}

/// One reading: how it is taken, and where it is written down.
fn take(setup: &Setup<'_>, one: Reading, index: usize, unit: Unit) -> Markup {
    let spec = one.spec();
    let on_block = matches!(one, Reading::CrankProtrusion | Reading::FingerDepth);
    let over_plate = match one {
        Reading::CrankProtrusion => setup.job.crank_over_plate,
        Reading::FingerDepth => setup.job.depth_over_plate,
        _ => false,
    };
    let sketch = Sketch { reading: one, over_plate, recessed: is_recessed(setup) };
    let has_bar = one != Reading::FittedDiscThickness;
    html! {
        li.take {
            h2 { (format!("{}. {}", index + 1, spec.key.replace('_', " "))) }
            (reading(sketch, &format!("take{index}")))
            div.ticks {
                @if has_bar { span.tick { "over a bar" } }
                @if on_block { span.tick { "over the block plate" } }
                @if one == Reading::CrankProtrusion {
                    span.tick { "proud" }
                    span.tick { "recessed" }
                }
            }
            div.blanks {
                (field(&format!("read, {}", unit.name()), ""))
                @if has_bar { (field(&format!("bar, {}", unit.name()), "")) }
            }
        }
    }
}

/// Whether the crank is known to stand behind the block's face.
fn is_recessed(setup: &Setup<'_>) -> bool {
    let read = setup.job.reading(Reading::CrankProtrusion).map(Entry::as_length);
    let engine = setup.fitted_part("engine").and_then(|engine| engine.length("crank_protrusion"));
    read.or(engine).is_some_and(|length| length < Length::ZERO)
}

fn ticks(name: &str, words: &[&str]) -> Markup {
    html! {
        span { (name) ":" }
        @for word in words { span.tick { (word) } }
    }
}
