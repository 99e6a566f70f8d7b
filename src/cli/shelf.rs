//! What lies on the shelf: set aside for a job, put back, taken out, received, and what is running out.

use super::args::{Aside, Common, Format, Low, Measure, Moved, Received, Shelf, Taken, Unusual};
use super::env::Env;
use super::{Reply, measure, place, progress};
use crate::catalog::{Access, Writer};
use crate::desk::{Bench, newest, planned};
use crate::error::Result;
use crate::measure::shelf::{low as running_out, set_aside as set_aside_for};
use crate::model::pieces::PIECE_MARK;
use crate::model::words::count;
use crate::report;

/// `part set-aside`.
pub(super) fn set_aside(common: &Common, args: &Aside, env: &mut Env<'_>) -> Result<Reply> {
    let Aside { id, pieces, job } = args;
    let set = |writer: &Writer<'_>| writer.set_aside(id, *pieces, job);
    let name = place::change(common, env, Access::Write, set)?;
    Ok(Reply::stored(format!("set aside for {job}: {}\n", so_many(&name, *pieces))))
}

/// `part put-back`.
pub(super) fn put_back(common: &Common, args: &Aside, env: &mut Env<'_>) -> Result<Reply> {
    let Aside { id, pieces, job } = args;
    let put = |writer: &Writer<'_>| writer.put_back(id, *pieces, job);
    let name = place::change(common, env, Access::Write, put)?;
    let what = so_many(&name, *pieces);
    Ok(Reply::stored(format!("no longer set aside for {job}: {what}\n")))
}

/// `part take-out`.
pub(super) fn take_out(common: &Common, args: &Moved, env: &mut Env<'_>) -> Result<Reply> {
    let Moved { id, pieces, job } = args;
    let take = |writer: &Writer<'_>| writer.take_out(id, *pieces, job.as_deref());
    let (name, taken) = place::change(common, env, Access::Write, take)?;
    let whose = match (job, taken.aside) {
        (Some(job), 0) => format!(" for {job}; none of it was set aside for it"),
        (Some(job), aside) => format!(" for {job}, {aside} of it set aside before"),
        (None, _) => String::new(),
    };
    let what = so_many(&name, *pieces);
    Ok(Reply::stored(format!("taken out: {what}{whose}; {} left on the shelf\n", taken.left)))
}

/// `part receive`: at a terminal each piece may get a label and be measured.
pub(super) fn receive(common: &Common, args: &Received, env: &mut Env<'_>) -> Result<Reply> {
    let Moved { id, pieces, job } = &args.moved;
    let mut names = vec![Come { name: id.clone(), pieces: *pieces, is_piece: true }];
    let is_number =
        place::open(common, env, Access::Read)?.read(|reader| reader.find_part(id.trim()))?;
    if let Some(part) = is_number {
        names[0].is_piece = false;
        if env.input_is_terminal {
            names = labelled(&part.id, *pieces, env)?;
        }
    }
    let (job, condition) = (job.as_deref(), args.condition.as_str());
    let received = place::change(common, env, Access::Write, |writer| {
        let one = |Come { name, pieces, .. }: &Come| {
            let (name, on_hand) = writer.receive(name, *pieces, (job, condition))?;
            Ok((so_many(&name, *pieces), on_hand))
        };
        names.iter().map(one).collect::<Result<Vec<_>>>()
    })?;
    let on_hand = received.last().map_or(0, |(_, on_hand)| *on_hand);
    let what: Vec<&str> = received.iter().map(|(what, _)| what.as_str()).collect();
    let whose = job.map(|job| format!(", set aside for {job}")).unwrap_or_default();
    let mut text = format!("received: {}{whose}; {on_hand} on hand\n", what.join(", "));
    if env.input_is_terminal {
        for come in names.iter().filter(|come| come.is_piece) {
            match measure::run(common, &read_on(&come.name), env) {
                Ok(reply) => text += &reply.text,
                Err(error) => {
                    // It was counted before: whoever stopped the readings has to know.
                    env.tell(text.trim_end());
                    return Err(error);
                }
            }
        }
    }
    if let Some(job) = job {
        text += &plan_of(common, job, env)?;
    }
    Ok(Reply::stored(text))
}

/// Pieces that have come.
struct Come {
    /// The part number, or the piece.
    name: String,
    /// How many.
    pieces: u32,
    /// Whether it is one piece with a label of its own, which can be measured.
    is_piece: bool,
}

/// Asks for a label of each piece: what has none stays a number of the part.
fn labelled(id: &str, pieces: u32, env: &mut Env<'_>) -> Result<Vec<Come>> {
    let mut names = Vec::new();
    for number in 1..=pieces {
        let which = if pieces == 1 { String::new() } else { format!(" {number} of {pieces}") };
        let question = format!("Label of {id}{which}, to measure it now (blank: not now): ");
        match env.ask(&question)? {
            Some(label) if !label.is_empty() => {
                let name = format!("{id}{PIECE_MARK}{label}");
                names.push(Come { name, pieces: 1, is_piece: true });
            }
            Some(_) => {}
            None => break,
        }
    }
    let left = pieces - u32::try_from(names.len()).unwrap_or(pieces);
    if left > 0 {
        names.push(Come { name: id.into(), pieces: left, is_piece: false });
    }
    Ok(names)
}

fn read_on(piece: &str) -> Measure {
    Measure {
        part: piece.into(),
        only: Vec::new(),
        taken: Taken { instrument: None, by: None, date: None },
        unusual: Unusual { keys: Vec::new() },
    }
}

/// Whether what is to be built on a job still holds with what has come.
fn plan_of(common: &Common, job: &str, env: &mut Env<'_>) -> Result<String> {
    let catalog = place::open(common, env, Access::Read)?;
    let (bench, answers) =
        catalog.read(|reader| Ok((Bench::read(reader, job.trim())?, reader.load_answers()?)))?;
    let Some(kept) = newest(&answers, &bench.job.id) else {
        return Ok(format!("no answer is kept for {job} that it could be held against\n"));
    };
    let setup = bench.setup()?;
    let view = env.view(common);
    let fit = progress::watched(env, |watch| planned(&setup, Some(kept), watch));
    Ok(report::plan_today(kept, fit.as_ref(), view))
}

fn so_many(name: &str, pieces: u32) -> String {
    if pieces == 1 { name.into() } else { format!("{} of {name}", count(pieces.into(), "piece")) }
}

/// `shelf`: what is set aside.
pub(super) fn list(common: &Common, args: &Shelf, env: &Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let (library, jobs) = catalog.read(|reader| {
        let jobs = match &args.job {
            Some(job) => vec![reader.load_job(job.trim())?],
            None => reader.load_jobs()?,
        };
        Ok((reader.load_library()?, jobs))
    })?;
    let (rows, view) = (set_aside_for(&library, &jobs), env.view(common));
    let text = match args.written.format {
        Format::Table => report::shelf_table(&rows, view),
        Format::Json => report::shelf_json(&rows),
        Format::Csv => report::shelf_csv(&rows),
    };
    Ok(Reply::in_format(text, args.written.format))
}

/// `low`: parts of which fewer lie on the shelf than are to.
pub(super) fn low(common: &Common, args: &Low, env: &Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let kind = args.kind.as_deref().map(|name| env.kinds.named(name)).transpose()?;
    let (library, jobs) =
        catalog.read(|reader| Ok((reader.load_library()?, reader.load_jobs()?)))?;
    let (low, view) = (running_out(&library, &jobs, kind), env.view(common));
    let text = match args.written.format {
        Format::Table => report::low_table(&library, &low, view),
        Format::Json => report::low_json(&library, &low),
        Format::Csv => report::low_csv(&library, &low),
    };
    Ok(Reply::in_format(text, args.written.format))
}
