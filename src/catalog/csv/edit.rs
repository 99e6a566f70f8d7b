//! Parts and jobs by hand: `KEY=VALUE` pairs are the cells of one row.

use super::cells::{Item, Row, Wrongs};
use super::form::{Form, folded};
use super::holds::Holds;
use super::shelf::numbers;
use super::{job_form, part_form};
use crate::catalog::Writer;
use crate::error::{Error, Result};
use crate::model::job::Job;
use crate::model::kinds::Kinds;
use crate::model::part::Part;

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
    writer.insert_part(&part)?;
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
    let mut part = reader.load_part(id.trim())?;
    let warnings = fill_part(&mut part, pairs)?;
    writer.update_part(&part)?;
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
    fill_job(kinds, &mut job, pairs)?;
    check_job(writer, &job)?;
    writer.insert_job(&job)
}

/// Changes what the pairs say of a job; a blank value blanks it.
///
/// # Errors
///
/// Refuses an unknown name, unknown keys (naming the nearest), parts that are not there, and
/// values that cannot be.
pub fn edit_job(writer: &Writer<'_>, id: &str, pairs: &[String]) -> Result<()> {
    let mut job = writer.reader().load_job(id.trim())?;
    fill_job(writer.reader().kinds(), &mut job, pairs)?;
    check_job(writer, &job)?;
    writer.update_job(&job)
}

fn fill_part(part: &mut Part, pairs: &[String]) -> Result<Vec<String>> {
    let form = part_form::form(part.kind);
    let mut row = row(&form, pairs, &["id", "kind"])?;
    let warnings = part_form::read(&form, &mut row, part);
    agree(row.into_wrongs())?;
    Ok(warnings)
}

fn fill_job(kinds: Kinds, job: &mut Job, pairs: &[String]) -> Result<()> {
    let form = job_form::form(kinds);
    let mut row = row(&form, pairs, &["job"])?;
    job_form::read(&form, &mut row, job);
    agree(row.into_wrongs())
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

/// The pairs as cells. `fixed` keys say who the part or job is, and are no pairs.
pub(super) fn row<'a, W: Copy + PartialEq>(
    form: &Form<W>,
    pairs: &'a [String],
    fixed: &[&str],
) -> Result<Row<'a>> {
    let mut items = Vec::new();
    let mut wrongs = Vec::new();
    for pair in pairs {
        let Some((column, text)) = pair.split_once('=') else {
            wrongs.push((pair.clone(), Error::input("write `KEY=VALUE`")));
            continue;
        };
        let key = folded(column);
        match form.place(&key) {
            _ if fixed.contains(&key.as_str()) => {
                wrongs.push((key, Error::input("it cannot be changed")));
            }
            Some(place) => items.push(Item { place, column, text: text.trim() }),
            None => {
                let error = Error::input("this key is not known");
                let near = form.nearest(&key).map(|near| format!("did you mean `{near}`?"));
                let error = match near {
                    Some(near) => error.hint(near),
                    None => error.hint("the templates list every key"),
                };
                wrongs.push((column.to_string(), error));
            }
        }
    }
    agree(wrongs)?;
    Ok(Row::new(items, false))
}

/// One error for everything that is wrong.
pub(super) fn agree(mut wrongs: Wrongs) -> Result<()> {
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
