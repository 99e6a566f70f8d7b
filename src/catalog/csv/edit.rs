//! Things by hand: `KEY=VALUE` pairs are the cells of one row.

use super::cells::{Cell, Row, Wrongs};
use super::form::{Columns, Form};
use super::holds::Holds;
use super::job_checker::numbers;
use super::plan_measured::recounted;
use super::reading_form::ReadingRow;
use super::{instrument_form, job_form, part_form, piece_form, reading_form};
use crate::catalog::Writer;
use crate::error::{Error, Result};
use crate::model::job::Job;
use crate::model::kinds::{KindSpec, Kinds, folded};
use crate::model::part::Part;
use crate::model::pieces::{
    Condition, Instrument, PIECE_MARK, ReadingSet, Specimen, part_and_label,
};

/// Adds a part of a kind. Returns warnings about values that are unusual.
///
/// # Errors
///
/// Refuses an unknown kind, a number that is taken, unknown keys (naming the nearest), and values
/// that cannot be.
pub fn add_part(
    writer: &Writer<'_>,
    kind: &str,
    id: &str,
    pairs: &[String],
) -> Result<Vec<String>> {
    let kinds = writer.reader().kinds();
    let Holds::Parts(Some(kind)) = Holds::asked(kinds, kind)? else {
        let row = kind.trim();
        return Err(
            Error::input(format!("`{row}` is no kind of part")).hint("it has a command of its own")
        );
    };
    let mut part = Part::new(id.trim(), kind);
    let warnings = fill_part(&mut part, pairs)?;
    writer.insert(&part)?;
    Ok(warnings)
}

/// Changes what the pairs say of a part; a blank value blanks it. Returns warnings about values
/// that are unusual.
///
/// # Errors
///
/// Refuses an unknown number, unknown keys (naming the nearest), values that cannot be, and a
/// change after which a job that names the part would no longer agree with itself.
pub fn edit_part(writer: &Writer<'_>, id: &str, pairs: &[String]) -> Result<Vec<String>> {
    let reader = writer.reader();
    let old = reader.load_part(id.trim())?;
    let mut part = old.clone();
    let warnings = fill_part(&mut part, pairs)?;
    writer.replace(&old, &part)?;
    for name in reader.jobs_naming(&part.id)? {
        check_job(writer, &reader.load_job(&name)?)
            .map_err(|error| error.at(format!("the job `{name}` names `{}`", part.id)))?;
    }
    Ok(warnings)
}

/// Adds a job.
///
/// # Errors
///
/// Refuses a name that is taken, unknown keys (naming the nearest), parts that are not there, and
/// values that cannot be.
pub fn add_job(writer: &Writer<'_>, id: &str, pairs: &[String]) -> Result<()> {
    let kinds = writer.reader().kinds();
    let mut job = Job::new(id.trim(), kinds);
    fill(&job_form::form(kinds), &mut job, pairs)?;
    check_job(writer, &job)?;
    writer.insert(&job)
}

/// Changes what the pairs say of a job; a blank value blanks it.
///
/// # Errors
///
/// Refuses an unknown name, unknown keys (naming the nearest), parts that are not there, and
/// values that cannot be.
pub fn edit_job(writer: &Writer<'_>, id: &str, pairs: &[String]) -> Result<()> {
    let kinds: Kinds = writer.reader().kinds();
    let old = writer.reader().load_job(id.trim())?;
    let mut job = old.clone();
    fill(&job_form::form(kinds), &mut job, pairs)?;
    check_job(writer, &job)?;
    writer.replace(&old, &job)
}

/// Checks a job against the parts that it names.
fn check_job(writer: &Writer<'_>, job: &Job) -> Result<()> {
    let reader = writer.reader();
    let own: Vec<&str> = numbers(job).collect();
    let few = reader.load_candidates(&[], &own)?;
    if few.check_job(job).is_ok() {
        return Ok(());
    }
    // Only to name the nearest number of one that is missing, the whole library is needed.
    let wrongs = reader.load_library()?.check_job(job).err().unwrap_or_default();
    agree(wrongs.into_iter().map(|(key, error)| (key.to_string(), error)).collect())
}

/// The part number and the label in a piece's name.
///
/// # Errors
///
/// Says how a piece is named where the name is none.
pub fn piece_named(name: &str) -> Result<(&str, &str)> {
    let parts = part_and_label(name.trim()).map(|(part, label)| (part.trim(), label.trim()));
    parts.ok_or_else(|| {
        Error::input(format!("`{name}` names no piece"))
            .hint(format!("write part number and label, such as `{name}{PIECE_MARK}A`"))
    })
}

/// Adds a piece.
///
/// # Errors
///
/// Refuses an unknown part, a label that is taken, unknown keys (naming the nearest), and a
/// condition that is not given.
pub fn add_piece(writer: &Writer<'_>, name: &str, pairs: &[String]) -> Result<()> {
    let (part, label) = piece_named(name)?;
    let mut piece = Specimen::new(part, label, Condition::default());
    fill_piece(&mut piece, pairs, false)?;
    writer.insert(&piece)
}

/// Changes what the pairs say of a piece. Returns warnings about readings that now count among
/// others.
///
/// # Errors
///
/// Refuses a piece that is not there, and unknown keys (naming the nearest).
pub fn edit_piece(writer: &Writer<'_>, name: &str, pairs: &[String]) -> Result<Vec<String>> {
    let (part, label) = piece_named(name)?;
    let old = writer.reader().load_piece(part, label)?;
    let mut piece = old.clone();
    fill_piece(&mut piece, pairs, true)?;
    writer.replace(&old, &piece)?;
    let measured = writer.reader().load_measured()?;
    Ok(recounted(&old, &piece, Some(&measured)).into_iter().collect())
}

/// Reads a set of readings of one dimension of a piece from pairs such as `value=1.001 1.002 in`
/// and `bar=1/4 in`. Returns what is unusual about them too.
///
/// # Errors
///
/// Refuses a dimension that the kind does not have, unknown keys (naming the nearest), and values
/// that cannot be.
pub fn read_set(
    kind: &KindSpec,
    (part, label): (&str, &str),
    dimension: &str,
    pairs: &[String],
) -> Result<(ReadingSet, Vec<String>)> {
    let spec = kind.dim(dimension.trim())?;
    let form = reading_form::form();
    let mut row = row(&form, pairs, &["condition"])?;
    let mut read = ReadingRow::new(ReadingSet::new(part, label, spec.key), spec, None);
    let unusual = reading_form::read(&form, &mut row, &mut read);
    agree(row.into_wrongs())?;
    Ok((read.set, unusual))
}

/// The condition of this word.
///
/// # Errors
///
/// Names the conditions that there are.
pub fn condition_named(word: &str) -> Result<Condition> {
    piece_form::condition(word)
}

/// The day of this date.
///
/// # Errors
///
/// Says how a date is written.
pub fn day_named(date: &str) -> Result<String> {
    reading_form::day(date)
}

/// Adds an instrument.
///
/// # Errors
///
/// Refuses a name that is taken, unknown keys (naming the nearest), and limits that cannot be.
pub fn add_instrument(writer: &Writer<'_>, name: &str, pairs: &[String]) -> Result<()> {
    let mut instrument = Instrument { name: name.trim().into(), ..Instrument::default() };
    fill(&instrument_form::form(), &mut instrument, pairs)?;
    writer.insert(&instrument)
}

/// Changes what the pairs say of an instrument; a blank value blanks it.
///
/// # Errors
///
/// Refuses a name that is not there, unknown keys (naming the nearest), and limits that cannot be.
pub fn edit_instrument(writer: &Writer<'_>, name: &str, pairs: &[String]) -> Result<()> {
    let old = writer.reader().load_instrument(name.trim())?;
    let mut instrument = old.clone();
    fill(&instrument_form::form(), &mut instrument, pairs)?;
    writer.replace(&old, &instrument)
}

fn fill_part(part: &mut Part, pairs: &[String]) -> Result<Vec<String>> {
    let form = part_form::form(part.kind);
    let mut row = row(&form, pairs, &[])?;
    let warnings = part_form::read(&form, &mut row, part);
    agree(row.into_wrongs())?;
    Ok(warnings)
}

fn fill_piece(piece: &mut Specimen, pairs: &[String], known: bool) -> Result<()> {
    let form = piece_form::form();
    let mut row = row(&form, pairs, &[])?;
    piece_form::read(&form, &mut row, piece, known);
    agree(row.into_wrongs())
}

fn fill<T>(form: &Form<T>, thing: &mut T, pairs: &[String]) -> Result<()> {
    let mut row = row(form, pairs, &[])?;
    form.read(&mut row, thing);
    agree(row.into_wrongs())
}

/// The pairs as cells. What a form fixes and the keys of `beside`, which the command has a flag for,
/// are no pairs.
fn row<'a>(form: &dyn Columns, pairs: &'a [String], beside: &[&str]) -> Result<Row<'a>> {
    let mut cells = Vec::new();
    let mut wrongs = Vec::new();
    for pair in pairs {
        let Some((column, text)) = pair.split_once('=') else {
            wrongs.push((pair.clone(), Error::input("write `KEY=VALUE`")));
            continue;
        };
        let key = folded(column);
        match form.column(&key) {
            Some(at) if form.is_fixed(at.field) || beside.contains(&key.as_str()) => {
                wrongs.push((key, Error::input("it cannot be changed")));
            }
            Some(at) => cells.push(Cell { at, column, text: text.trim() }),
            None => {
                let error = Error::input("this key is not known");
                let names = form.names();
                let known = names.iter().map(String::as_str);
                let error = error.near(&key, known, "the templates list every key");
                wrongs.push((column.to_string(), error));
            }
        }
    }
    agree(wrongs)?;
    Ok(Row::new(cells, false))
}

/// One error for everything that is wrong.
fn agree(mut wrongs: Wrongs) -> Result<()> {
    if wrongs.len() > 1 {
        let lines: Vec<String> = wrongs
            .iter()
            .map(|(column, error)| format!("\n  `{column}`: {}", error.one_line()))
            .collect();
        let message = format!("{} values are wrong{}", lines.len(), lines.concat());
        return Err(Error::input(message));
    }
    match wrongs.pop() {
        None => Ok(()),
        Some((column, error)) => Err(error.at(format!("`{column}`"))),
    }
}
