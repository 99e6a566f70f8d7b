//! `reading`: what was read on the pieces.

use super::args::{AddReading, As, Common, Reading as Args, Shape, Taken};
use super::env::Env;
use super::names::meant;
use super::{Reply, place};
use crate::catalog::csv::{column_help, condition_named, piece_named, read_set};
use crate::catalog::{Access, Writer};
use crate::error::Result;
use crate::measure::findings::Findings;
use crate::measure::slips::{Expected, suspicion};
use crate::model::length::{Length, Unit};
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::pieces::{Condition, ReadingSet, Specimen, part_and_label};
use crate::report;

pub(super) fn run(common: &Common, args: Args, env: &mut Env<'_>) -> Result<Reply> {
    match args {
        Args::List { of, dimension, written: As { format } } => {
            list(common, (of.as_deref(), dimension.as_deref()), format, env)
        }
        Args::Add(args) => add(common, &args, env),
        Args::Strike { numbers, because } => {
            place::change(common, env, Access::Write, |writer| {
                numbers.iter().try_for_each(|number| writer.strike_reading(*number, &because))
            })?;
            let lines = numbers.iter().map(|number| format!("struck out reading {number}\n"));
            Ok(Reply::stored(lines.collect::<String>()))
        }
        Args::Keys => {
            let columns = column_help(env.kinds, "readings")?;
            Ok(Reply::good(report::key_list("a set of readings", &columns, env.view(common))))
        }
    }
}

/// How something was read, as the pairs of a row.
pub(super) fn taken(taken: &Taken, env: &Env<'_>) -> Vec<String> {
    let by = taken.by.clone().unwrap_or_else(|| env.by());
    let date = taken.date.clone().unwrap_or_else(|| env.today());
    let mut pairs = vec![format!("by={by}"), format!("date={date}")];
    pairs.extend(taken.instrument.as_ref().map(|name| format!("instrument={name}")));
    pairs
}

fn add(common: &Common, args: &AddReading, env: &mut Env<'_>) -> Result<Reply> {
    let (part, label) = piece_named(&args.piece)?;
    let condition = args.condition.as_deref().map(condition_named).transpose()?;
    let mut pairs = taken(&args.taken, env);
    pairs.push(format!("value={}", args.values.join(" ")));
    pairs.extend(args.bar.as_ref().map(|bar| format!("bar={bar}")));
    let meant = meant(env.kinds, &args.unusual)?;
    let add = |writer: &Writer<'_>| {
        let before = writer.reader().load_library()?;
        let listed = writer.reader().load_part(part)?;
        let part = listed.id.as_str();
        let known = (&before.measured, &meant);
        let (set, mut unusual) =
            read_set(listed.kind, (part, label), &args.dimension, &pairs, known)?;
        unusual.extend(doubt(&before, &listed, condition, &set, args.bar.as_deref()));
        if let Some(condition) = condition {
            writer.insert(&Specimen::new(part, label, condition))?;
        }
        let number = writer.insert_reading(&set)?;
        Ok((number, set, writer.reader().load_library()?, unusual))
    };
    let (number, set, library, unusual) = place::change(common, env, Access::Write, add)?;
    env.warn(&unusual);
    let line = report::set_line(&library, &set, env.view(common));
    let (piece, dimension) = (set.piece_id(), &set.dimension);
    Ok(Reply::stored(format!("added reading {number}: {piece} {dimension}, {line}\n")))
}

/// What looks like a slip in a set that is to be stored.
fn doubt(
    library: &Library,
    part: &Part,
    condition: Option<Condition>,
    set: &ReadingSet,
    bar: Option<&str>,
) -> Option<String> {
    let piece = library.measured.piece(&set.part, &set.piece);
    let condition = piece.map(|piece| piece.condition).or(condition)?;
    let spec = part.kind.dim(&set.dimension).ok()?;
    let expected = Expected::of(&Findings::of(library), part, condition, spec);
    let bars: Vec<Length> = bar.and_then(|bar| Length::parse(bar).ok()).into_iter().collect();
    suspicion(&set.values, &expected, &bars, Unit::In)
}

fn list(
    common: &Common,
    (of, dimension): (Option<&str>, Option<&str>),
    format: Shape,
    env: &Env<'_>,
) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let (library, of) = catalog.read(|reader| {
        let library = reader.load_library()?;
        let of = of.map(|name| reader.current(name)).transpose()?;
        if let Some(name) = &of
            && library.find(name).is_none()
        {
            match part_and_label(name) {
                Some((part, label)) if library.measured.piece(part, label).is_some() => {}
                Some((part, label)) => return Err(reader.no_piece(part, label)),
                None => reader.load_part(name).map(|_| ())?,
            }
        }
        Ok((library, of))
    })?;
    let wanted = |set: &&ReadingSet| {
        of.as_ref().is_none_or(|name| set.part == *name || set.piece_id() == *name)
            && dimension.is_none_or(|key| set.dimension == key)
    };
    let sets: Vec<&ReadingSet> = library.measured.readings.iter().filter(wanted).collect();
    Ok(Reply::good(match format {
        Shape::Table => report::reading_list(&library, &sets, env.view(common)),
        Shape::Json => report::reading_list_json(&library, &sets),
    }))
}
