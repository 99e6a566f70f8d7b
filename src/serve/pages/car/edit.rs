//! Everything about a car in one form.

use maud::Markup;

use crate::catalog::Writer;
use crate::catalog::csv::{Pairs, ShownCell, edit_job, job_cells};
use crate::desk::{Bench, Thing, Version};
use crate::error::{Error, Result};
use crate::model::job::{CrankPushed, DiscState, JobState, StarterOn, Word};
use crate::serve::pages::whole::Whole;
use crate::serve::visit::{Reply, Visit};

pub(in crate::serve::pages) fn page(visit: &Visit) -> Result<Reply> {
    Reply::page(format!("Edit {}", visit.needed("job")?), form(visit, None)?)
}

fn cells(visit: &Visit, bench: &Bench) -> Vec<ShownCell> {
    job_cells(bench.library.kinds, &bench.job, visit.unit())
}

fn whole(id: &str) -> Whole<'_> {
    Whole {
        thing: Thing::Job(id),
        named: ("job", id),
        page: ("/car", "The car"),
        command: "job edit",
    }
}

fn form(visit: &Visit, error: Option<&Error>) -> Result<Markup> {
    let id = visit.needed("job")?;
    let (bench, seen) = visit
        .catalog()?
        .read(|reader| Ok((Bench::read(reader, id)?, Version::of(reader, Thing::Job(id))?)))?;
    Ok(whole(id).form(visit, (&cells(visit, &bench), &choices), seen, error))
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
    let cells = cells(visit, &Bench::of(&visit.catalog()?, id)?);
    let edit = |writer: &Writer<'_>, pairs: Pairs<'_>| edit_job(writer, id, pairs);
    whole(id).store(visit, &cells, edit, |error| form(visit, Some(error)))
}
