//! Things by hand: `KEY=VALUE` pairs are the cells of one row.

use itertools::Itertools as _;

use super::again::agree;
use super::cells::{Cell, Row};
use super::form::{Columns, RecordForm};
use super::holds::Holds;
use super::job_checker::numbers;
use super::mark::Mark;
use super::plan_measured::recounted;
use super::reading_form::ReadingRow;
use super::record::Sort;
use super::{asked, instrument_form, job_form, part_form, piece_form, reading_form};
use crate::catalog::{Stored as _, Writer};
use crate::error::{Error, Result};
use crate::model::bars::Entered;
use crate::model::job::{Job, JobState};
use crate::model::kinds::{KindSpec, Kinds, folded};
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::pieces::{
    Condition, Instrument, Measurements, PIECE_MARK, ReadingSet, Specimen, part_and_label,
};
use crate::model::usual::Meant;

/// `KEY=VALUE` pairs, and what of them is meant though it is unusual.
pub type Pairs<'p> = (&'p [String], &'p Meant);

/// What is to be told about pairs that were taken.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PairsTaken {
    /// What is unusual but possible.
    pub warnings: Vec<String>,
    /// Lengths that were entered over a bar or with a side.
    pub entered: Vec<Entered>,
}

/// Adds a part of a kind.
///
/// # Errors
///
/// Refuses an unknown kind, a number that is taken, unknown keys (naming the nearest), and values
/// that cannot be.
pub fn add_part(writer: &Writer<'_>, kind: &str, id: &str, pairs: Pairs<'_>) -> Result<PairsTaken> {
    let kinds = writer.reader().kinds();
    let Holds::Parts(Some(kind)) = Holds::asked(kinds, kind)? else {
        let row = kind.trim();
        return Err(
            Error::input(format!("`{row}` is no kind of part")).hint("it has a command of its own")
        );
    };
    let mut part = Part::new(id.trim(), kind);
    let taken = fill_part(writer, &mut part, None, pairs)?;
    writer.insert(&part)?;
    Ok(taken)
}

/// Adds a part like another one but for its number and what the pairs say; none of it lies on the shelf.
///
/// # Errors
///
/// As [`add_part`], and where there is no part to copy.
pub fn copy_part(writer: &Writer<'_>, id: &str, new: &str, pairs: Pairs<'_>) -> Result<PairsTaken> {
    let old = writer.reader().load_part(id.trim())?;
    let (id, formerly) = (new.trim().into(), Vec::new());
    let mut part = Part { id, formerly, on_hand: 0, retired: false, ..old.clone() };
    // What is unusual about the old one was meant.
    let taken = fill_part(writer, &mut part, Some(&old), pairs)?;
    writer.insert(&part)?;
    Ok(taken)
}

/// Changes what the pairs say of a part; a blank value blanks it.
///
/// # Errors
///
/// Refuses an unknown number, unknown keys (naming the nearest), values that cannot be, and a
/// change after which a job that names the part would no longer agree with itself.
pub fn edit_part(writer: &Writer<'_>, id: &str, pairs: Pairs<'_>) -> Result<PairsTaken> {
    let reader = writer.reader();
    let old = reader.load_part(id.trim())?;
    let mut part = old.clone();
    let taken = fill_part(writer, &mut part, Some(&old), pairs)?;
    writer.replace(&old, &part)?;
    for name in reader.jobs_naming(&part.id)? {
        check_job(writer, &reader.load_job(&name)?)
            .map_err(|error| error.at(format!("the job `{name}` names `{}`", part.id)))?;
    }
    Ok(taken)
}

/// Adds a job.
///
/// # Errors
///
/// Refuses a name that is taken, unknown keys (naming the nearest), parts that are not there, and
/// values that cannot be.
pub fn add_job(writer: &Writer<'_>, id: &str, pairs: Pairs<'_>) -> Result<PairsTaken> {
    let kinds = writer.reader().kinds();
    insert_job(writer, Job::new(id.trim(), kinds), None, pairs)
}

/// Adds a job with what the pairs say; what was unusual about the old one was meant.
fn insert_job(
    writer: &Writer<'_>,
    mut job: Job,
    old: Option<&Job>,
    pairs: Pairs<'_>,
) -> Result<PairsTaken> {
    let taken = fill_job(writer.reader().kinds(), &mut job, old, pairs)?;
    let job = job.called_as_now(writer.reader())?;
    check_job(writer, &job)?;
    writer.insert(&job)?;
    Ok(taken)
}

/// Adds a job like another one but for its name and what the pairs say. It is open, has come in on
/// no day yet, and nothing is set aside for it.
///
/// # Errors
///
/// As [`add_job`], and where there is no job to copy.
pub fn copy_job(writer: &Writer<'_>, id: &str, new: &str, pairs: Pairs<'_>) -> Result<PairsTaken> {
    let old = writer.reader().load_job(id.trim())?;
    let (id, state, date) = (new.trim().into(), JobState::default(), String::new());
    let job = Job { id, state, date, set_aside: Vec::new(), ..old.clone() };
    insert_job(writer, job, Some(&old), pairs)
}

/// Changes what the pairs say of a job; a blank value blanks it.
///
/// # Errors
///
/// Refuses an unknown name, unknown keys (naming the nearest), parts that are not there, and
/// values that cannot be.
pub fn edit_job(writer: &Writer<'_>, id: &str, pairs: Pairs<'_>) -> Result<PairsTaken> {
    let kinds: Kinds = writer.reader().kinds();
    let old = writer.reader().load_job(id.trim())?;
    let mut job = old.clone();
    let taken = fill_job(kinds, &mut job, Some(&old), pairs)?;
    let job = job.called_as_now(writer.reader())?;
    check_job(writer, &job)?;
    writer.replace(&old, &job)?;
    Ok(taken)
}

/// A job with what the pairs say of it, to be tried and not stored; `library` has the parts.
///
/// # Errors
///
/// As [`edit_job`].
pub fn tried_job(library: &Library, job: &Job, pairs: Pairs<'_>) -> Result<Job> {
    let mut tried = job.clone();
    fill_job(library.kinds, &mut tried, Some(job), pairs)?;
    agree_job(library.check_job(&tried))?;
    Ok(tried)
}

/// Checks a job against the parts that it names.
pub(in crate::catalog) fn check_job(writer: &Writer<'_>, job: &Job) -> Result<()> {
    let reader = writer.reader();
    let own: Vec<&str> = numbers(job).collect();
    let few = reader.load_candidates(&[], &own)?;
    if few.check_job(job).is_ok() {
        return Ok(());
    }
    // Only to name the nearest number of one that is missing, the whole library is needed.
    agree_job(reader.load_library()?.check_job(job))
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
    let part = writer.reader().current(part)?;
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
/// and `bar=1/4 in`. Returns what is unusual about them too. `measured` is what was read before, `meant`
/// what is meant though it is unusual.
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
    (measured, meant): (&Measurements, &Meant),
) -> Result<(ReadingSet, Vec<String>)> {
    let spec = kind.dim(dimension.trim())?;
    let form = reading_form::form();
    let mut row = row(&form, pairs, &["condition"])?;
    let mut read = ReadingRow::new(ReadingSet::new(part, label, spec.key), spec, None);
    let unusual = reading_form::read(&form, &mut row, &mut read);
    let own = measured.mean(part, label, spec.key);
    asked::of_readings(&mut row, (kind, spec), &read.set, own, meant);
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

fn fill_part(
    writer: &Writer<'_>,
    part: &mut Part,
    old: Option<&Part>,
    (pairs, meant): Pairs<'_>,
) -> Result<PairsTaken> {
    let form = part_form::form(part.kind);
    let currency = writer.reader().load_house()?.currency;
    let mut row = row(&form, pairs, &[])?;
    let rules = part_form::PartRules { old, currency: &currency, meant };
    let warnings = part_form::read(&form, &mut row, part, rules);
    let entered = row.take_entered();
    agree(row.into_wrongs())?;
    Ok(PairsTaken { warnings, entered })
}

fn fill_job(
    kinds: Kinds,
    job: &mut Job,
    old: Option<&Job>,
    (pairs, meant): Pairs<'_>,
) -> Result<PairsTaken> {
    let form = job_form::form(kinds);
    let mut row = row(&form, pairs, &[])?;
    job_form::read(&form, &mut row, job, old, meant);
    let entered = row.take_entered();
    agree(row.into_wrongs())?;
    Ok(PairsTaken { warnings: Vec::new(), entered })
}

fn fill_piece(piece: &mut Specimen, pairs: &[String], known: bool) -> Result<()> {
    let form = piece_form::form();
    let mut row = row(&form, pairs, &[])?;
    piece_form::read(&form, &mut row, piece, known);
    agree(row.into_wrongs())
}

fn fill<T>(form: &RecordForm<T>, thing: &mut T, pairs: &[String]) -> Result<()> {
    let mut row = row(form, pairs, &[])?;
    form.read(&mut row, thing);
    agree(row.into_wrongs())
}

/// The pairs as cells. What a form fixes and the keys of `beside`, which the command has a flag for,
/// are no pairs.
fn row<'a>(form: &dyn Columns, pairs: &'a [String], beside: &[&str]) -> Result<Row<'a>> {
    quoted(pairs)?;
    let mut cells = Vec::new();
    let mut wrongs = Vec::new();
    for pair in pairs {
        let (column, text) = pair.split_once('=').unwrap_or((pair, ""));
        let key = folded(column);
        match form.column(&key) {
            Some(at) if form.is_fixed(at.field) || beside.contains(&key.as_str()) => {
                wrongs.push((key, Error::input("it cannot be changed")));
            }
            Some(at) => cells.push(Cell { at, column, text: text.trim(), sort: Sort::Text }),
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
    Ok(Row::new(cells, Mark::Point))
}

/// Checks that each word is a pair. A value with a blank comes in several words where nobody quoted
/// it, and the part of it before the blank may be a value of its own.
///
/// # Errors
///
/// Shows how the pair is quoted.
pub fn quoted(pairs: &[String]) -> Result<()> {
    let Some(stray) = pairs.iter().position(|pair| !pair.contains('=')) else { return Ok(()) };
    let error = Error::input(format!("`{}` is no `KEY=VALUE`", pairs[stray]));
    let Some(before) = stray.checked_sub(1) else {
        return Err(
            error.hint("write the key, `=` and the value, such as `thickness=\"1.000 in\"`")
        );
    };
    let more = pairs[stray..].iter().take_while(|pair| !pair.contains('='));
    let whole = std::iter::once(&pairs[before]).chain(more).join(" ");
    let (key, value) = whole.split_once('=').unwrap_or((&whole, ""));
    // A value that has a quotation mark is quoted with the other one.
    let quote = if value.contains('"') { '\'' } else { '"' };
    Err(error.hint(format!("a value with a blank is quoted: `{key}={quote}{value}{quote}`")))
}

/// One error for everything that does not agree about a job.
fn agree_job(checked: Result<(), Vec<(&str, Error)>>) -> Result<()> {
    let wrongs = checked.err().unwrap_or_default();
    agree(wrongs.into_iter().map(|(key, error)| (key.to_string(), error)).collect())
}
