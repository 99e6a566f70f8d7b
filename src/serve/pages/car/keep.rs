//! What was tried on a car is kept on it: what changes is shown first, and what others changed in
//! between is never overwritten unseen.

use maud::{Markup, html};

use super::what_if::WhatIf;
use super::{signed_for, version};
use crate::catalog::csv::{edit_job, tried_job};
use crate::desk::{
    Bench, Stand, Taken, Thing, Version, Written, one_stack, swapped, taken, unless_changed,
};
use crate::error::Result;
use crate::report::html::{plan, text, verdict, words};
use crate::serve::form::asked;
use crate::serve::meanwhile;
use crate::serve::shell::wrong;
use crate::serve::visit::{Reply, Visit};
use crate::stack::choice::Setup;

/// What the readings of the car are of, as the form says it.
const READINGS: &str = "readings";
const OF_THE_OLD: &str = "old";

/// What would change on the job.
pub(in crate::serve::pages) fn page(visit: &Visit) -> Result<Reply> {
    let catalog = visit.catalog()?;
    let id = visit.needed("job")?;
    let bench = Bench::of(&catalog, id)?;
    let setup = bench.setup()?;
    let what_if = WhatIf::read(&setup, &visit.query, visit.unit())?;
    let choice = swapped(&setup, &what_if.swaps, what_if.machine_to)?;
    let one = one_stack(&setup, &choice, false, &visit.watch)?;
    let back = what_if.address(&setup, "/car");
    let body = match taken(&setup, &one.judged.fit) {
        Ok(taken) => form(visit, &setup, &what_if, &taken, version(visit, id)?),
        Err(error) => wrong(&error),
    };
    Reply::page(
        format!("Keep on {id}"),
        html! {
            h1 { "Keep on " (text(id)) }
            p { a href=(back) { "Back to what is tried" } }
            (verdict(&one, visit.view()))
            (plan(&setup, &one.judged.fit, visit.view()))
            (body)
        },
    )
}

fn form(
    visit: &Visit,
    setup: &Setup<'_>,
    what_if: &WhatIf,
    taken: &Taken,
    version: Version,
) -> Markup {
    html! {
        form.keep method="post" action="/car/keep" {
            (signed_for(visit, &setup.job.id, version))
            @for (name, value) in what_if.fields(setup).iter().skip(1) {
                input type="hidden" name=(name) value=(value);
            }
            h2 { "What changes" }
            (changes(setup, taken))
            @if !taken.stale.is_empty() {
                fieldset {
                    legend { "These readings hold a part that leaves" }
                    ul {
                        @for reading in &taken.stale {
                            li { (reading.spec().key.replace('_', " ")) ": " (setup.job.reading(*reading).map(|entry| entry.as_length().exact(visit.unit())).unwrap_or_default()) }
                        }
                    }
                    label.choice {
                        input type="radio" name=(READINGS) value=(OF_THE_OLD) checked;
                        span {
                            "They were taken with the old parts: blank them. The record keeps them; measure again once it is built. "
                            (afterwards(visit, setup, &[&taken.pairs[..], &taken.blanks].concat()))
                        }
                    }
                    label.choice {
                        input type="radio" name=(READINGS) value="new";
                        span {
                            "They were taken with the new parts already: leave them. "
                            (afterwards(visit, setup, &taken.pairs))
                        }
                    }
                }
            }
            button.main { "Keep on this job" }
        }
    }
}

/// What the car is once these pairs are stored on it.
fn afterwards(visit: &Visit, setup: &Setup<'_>, pairs: &[String]) -> Markup {
    let job = tried_job(setup.library, setup.job, (pairs, &visit.meant()));
    let told = job.and_then(|job| {
        let setup = Setup::new(setup.library, &job)?;
        Ok(match Stand::of(&setup) {
            Stand::Judged(fit, _) => format!(
                "The car then is {}: preload {}, wear reserve {}.",
                fit.grade.word(),
                fit.preload.show(visit.unit()),
                fit.reserve.show(visit.unit())
            ),
            Stand::Paper(slots) => {
                format!("The car then has nothing in {}.", slots.join(", ").replace('_', " "))
            }
            Stand::Untold(error) => format!("What the car then is cannot be told: {error}"),
        })
    });
    html! { strong { (words(&told.unwrap_or_else(|error| error.one_line()))) } }
}

fn changes(setup: &Setup<'_>, taken: &Taken) -> Markup {
    let kinds = setup.library.kinds;
    html! {
        ul.changes {
            @for pair in &taken.pairs {
                @let (key, to) = pair.split_once('=').unwrap_or((pair, ""));
                @let from = kinds.slot_named(key).map(|slot| &setup.fitted[slot]);
                @let from = from.map(|fill| if fill.on_bench { "as on the bench".into() } else { fill.ids().join("|") }).unwrap_or_default();
                li {
                    (key.replace('_', " ")) ": "
                    (text(if from.is_empty() { "none" } else { &from })) " \u{2192} "
                    (text(if to.is_empty() { "none" } else { to }))
                }
            }
        }
    }
}

/// Keeps it.
pub(in crate::serve::pages) fn keep(visit: &Visit) -> Result<Reply> {
    let id = visit.needed("job")?;
    let seen = Version(visit.form.number("seen").unwrap_or_default());
    let bench = Bench::of(&visit.catalog()?, id)?;
    let setup = bench.setup()?;
    let what_if = WhatIf::read(&setup, &visit.form, visit.unit())?;
    let choice = swapped(&setup, &what_if.swaps, what_if.machine_to)?;
    let one = one_stack(&setup, &choice, false, &visit.watch)?;
    let Taken { mut pairs, blanks, .. } = taken(&setup, &one.judged.fit)?;
    if visit.form.text(READINGS) == OF_THE_OLD || visit.form.one(READINGS).is_none() {
        pairs.extend(blanks);
    }
    let command = format!("job edit {id} {}", pairs.join(" "));
    let written = visit.write(command, |writer| {
        unless_changed(writer, Thing::Job(id), seen, || {
            edit_job(writer, id, (&pairs, &visit.meant()))
        })
    })?;
    match written {
        Written::Done(_) => Ok(Reply::Go(asked("/car", [("job", id)]))),
        Written::Meanwhile(events) => {
            let yours = changes(&setup, &Taken { pairs, ..Taken::default() });
            let back = what_if.address(&setup, "/car/keep");
            Ok(meanwhile::page(visit, id, &events, &yours, &back))
        }
    }
}
