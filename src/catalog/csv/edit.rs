//! Parts and jobs by hand: `KEY=VALUE` pairs are the cells of one row.

use itertools::Itertools as _;

use super::cells::{Item, Row, Wrongs};
use super::form::{Form, folded};
use super::holds::Holds;
use super::problems::one_line;
use super::shelf::numbers;
use super::{job_form, part_form};
use crate::catalog::Writer;
use crate::error::{Error, Result};
use crate::model::bars::Entered;
use crate::model::job::Job;
use crate::model::kinds::Kinds;
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::usual::Meant;

/// What is to be told about pairs that were taken.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Taken {
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
pub fn add_part(
    writer: &Writer<'_>,
    kind: &str,
    id: &str,
    pairs: &[String],
    meant: &Meant,
) -> Result<Taken> {
    let kinds = writer.reader().kinds();
    let Holds::Parts(Some(kind)) = Holds::asked(kinds, kind)? else {
        let row = kind.trim();
        return Err(
            Error::input(format!("`{row}` is no kind of part")).hint("it has a command of its own")
        );
    };
    let mut part = Part::new(id.trim(), kind);
    let taken = fill_part(writer, &mut part, None, pairs, meant)?;
    writer.insert_part(&part)?;
    Ok(taken)
}

/// Changes what the pairs say of a part; a blank value blanks it.
///
/// # Errors
///
/// Refuses an unknown number, unknown keys (naming the nearest), values that cannot be, and a
/// change after which a job that names the part would no longer agree with itself.
pub fn edit_part(writer: &Writer<'_>, id: &str, pairs: &[String], meant: &Meant) -> Result<Taken> {
    let reader = writer.reader();
    let old = reader.load_part(id.trim())?;
    let mut part = old.clone();
    let taken = fill_part(writer, &mut part, Some(&old), pairs, meant)?;
    writer.update_part(&part)?;
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
pub fn add_job(writer: &Writer<'_>, id: &str, pairs: &[String], meant: &Meant) -> Result<Taken> {
    let kinds = writer.reader().kinds();
    let mut job = Job::new(id.trim(), kinds);
    let taken = fill_job(kinds, &mut job, None, pairs, meant)?;
    check_job(writer, &job)?;
    writer.insert_job(&job)?;
    Ok(taken)
}

/// Changes what the pairs say of a job; a blank value blanks it.
///
/// # Errors
///
/// Refuses an unknown name, unknown keys (naming the nearest), parts that are not there, and
/// values that cannot be.
pub fn edit_job(writer: &Writer<'_>, id: &str, pairs: &[String], meant: &Meant) -> Result<Taken> {
    let old = writer.reader().load_job(id.trim())?;
    let mut job = old.clone();
    let taken = fill_job(writer.reader().kinds(), &mut job, Some(&old), pairs, meant)?;
    check_job(writer, &job)?;
    writer.update_job(&job)?;
    Ok(taken)
}

/// A job with what the pairs say of it, to be tried and not stored; `library` has the parts.
///
/// # Errors
///
/// As [`edit_job`].
pub fn tried_job(library: &Library, job: &Job, pairs: &[String], meant: &Meant) -> Result<Job> {
    let mut tried = job.clone();
    fill_job(library.kinds, &mut tried, Some(job), pairs, meant)?;
    let wrongs = library.check_job(&tried).err().unwrap_or_default();
    agree(wrongs.into_iter().map(|(key, error)| (key.to_string(), error)).collect())?;
    Ok(tried)
}

fn fill_part(
    writer: &Writer<'_>,
    part: &mut Part,
    old: Option<&Part>,
    pairs: &[String],
    meant: &Meant,
) -> Result<Taken> {
    let form = part_form::form(part.kind);
    let mut row = row(&form, pairs, &["id", "kind"])?;
    let currency = writer.reader().load_house()?.currency;
    let rules = part_form::Rules { old, currency: &currency, meant };
    let warnings = part_form::read(&form, &mut row, part, rules);
    let entered = row.take_entered();
    agree(row.into_wrongs())?;
    Ok(Taken { warnings, entered })
}

fn fill_job(
    kinds: Kinds,
    job: &mut Job,
    old: Option<&Job>,
    pairs: &[String],
    meant: &Meant,
) -> Result<Taken> {
    let form = job_form::form(kinds);
    let mut row = row(&form, pairs, &["job"])?;
    job_form::read(&form, &mut row, job, old, meant);
    let entered = row.take_entered();
    agree(row.into_wrongs())?;
    Ok(Taken { warnings: Vec::new(), entered })
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
    quoted(pairs)?;
    let mut items = Vec::new();
    let mut wrongs = Vec::new();
    for pair in pairs {
        let (column, text) = pair.split_once('=').unwrap_or((pair, ""));
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

/// One error for everything that is wrong.
pub(super) fn agree(mut wrongs: Wrongs) -> Result<()> {
    if wrongs.len() > 1 {
        let lines: Vec<String> = wrongs
            .iter()
            .map(|(column, error)| format!("\n  `{column}`: {}", one_line(error)))
            .collect();
        let message = format!("{} values are wrong{}", lines.len(), lines.concat());
        return Err(Error::input(message));
    }
    match wrongs.pop() {
        None => Ok(()),
        Some((column, error)) => Err(error.at(format!("`{column}`"))),
    }
}
