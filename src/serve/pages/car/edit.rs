//! Everything about a car in one form.

use maud::{Markup, html};

use super::signed_for;
use crate::catalog::csv::{ShownCell, edit_job, job_cells};
use crate::desk::{Bench, Thing, Version, Written, unless_changed};
use crate::error::{Error, Result};
use crate::model::job::{CrankPushed, DiscState, JobState, StarterOn, Word};
use crate::report::html::text;
use crate::serve::cells::{again, changed, fields, list, pairs, typed};
use crate::serve::form::asked;
use crate::serve::meanwhile;
use crate::serve::question;
use crate::serve::shell::{keep_box, wrong};
use crate::serve::visit::{Reply, Visit};

pub(in crate::serve::pages) fn page(visit: &Visit) -> Result<Reply> {
    Reply::page(format!("Edit {}", visit.needed("job")?), form(visit, None)?)
}

fn cells(visit: &Visit, bench: &Bench) -> Vec<ShownCell> {
    job_cells(bench.library.kinds, &bench.job, visit.unit())
}

fn form(visit: &Visit, error: Option<&Error>) -> Result<Markup> {
    let id = visit.needed("job")?;
    let (bench, seen) = visit
        .catalog()?
        .read(|reader| Ok((Bench::read(reader, id)?, Version::of(reader, Thing::Job(id))?)))?;
    Ok(html! {
        div.head {
            h1 { (text(id)) }
            p { a.button href=(asked("/car", [("job", id)])) { "The car" } }
        }
        @if let Some(error) = error { (wrong(error)) }
        form.whole method="post" action="/car/edit" id="whole" data-keep {
            (signed_for(visit, id, seen))
            (question::units(visit))
            (fields(visit, &cells(visit, &bench), &choices))
            (keep_box(error))
            div.row {
                button.main { "Store" }
                a.button href=(asked("/car", [("job", id)])) { "Leave it" }
            }
        }
    })
}

/// The words that a column may hold.
fn choices(column: &str) -> Option<Vec<String>> {
    fn words<W: Word>() -> Vec<String> {
        W::WORDS.iter().map(|(word, _)| (*word).to_string()).collect()
    }
    Some(match column {
        "fitted_disc_state" => words::<DiscState>(),
        "crank_pushed" => words::<CrankPushed>(),
        "state" => words::<JobState>(),
        "starter_on" => words::<StarterOn>(),
        "crank_protrusion_over_plate" | "finger_depth_over_plate" => words::<bool>(),
        _ => return None,
    })
}

pub(in crate::serve::pages) fn store(visit: &Visit) -> Result<Reply> {
    let id = visit.needed("job")?;
    let seen = Version(visit.form.number("seen").unwrap_or_default());
    let bench = Bench::of(&visit.catalog()?, id)?;
    let changed = changed(&visit.form, &cells(visit, &bench), question::unit(visit));
    let (pairs, meant) = (pairs(&changed), visit.meant());
    let command = format!("job edit {id} {}", typed(&changed));
    let written = visit.write(command, |writer| {
        unless_changed(writer, Thing::Job(id), seen, || edit_job(writer, id, &pairs, &meant))
    });
    match written {
        Ok(Written::Done(_)) => Ok(Reply::Go(asked("/car", [("job", id)]))),
        Ok(Written::Meanwhile(events)) => {
            let back = again("/car/edit", ("job", id), &changed);
            Ok(meanwhile::page(visit, id, &events, &list(&changed), &back))
        }
        Err(error) => Ok(Reply::Again(format!("Edit {id}"), form(visit, Some(&error))?)),
    }
}
