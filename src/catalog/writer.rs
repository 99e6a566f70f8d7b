//! Changing parts, jobs and house numbers within one transaction.

use std::cell::Cell;
use std::path::Path;

use rusqlite::{Connection, Transaction, params};

use super::csv::{of_house, of_job, of_part, of_piece};
use super::fault::Fault;
use super::history::Thing;
use super::reader::Reader;
use super::{jobs, parts};
use crate::error::{Error, Result};
use crate::model::history::{Change, Deed, Held, Stamp};
use crate::model::house::House;
use crate::model::job::Job;
use crate::model::kinds::Kinds;
use crate::model::length::Unit;
use crate::model::part::Part;
use crate::model::pieces::PIECE_MARK;

/// An open transaction. Everything that it did is undone where the command fails.
#[derive(Debug)]
pub struct Writer<'c> {
    reader: Reader<'c>,
    pub(super) stamp: &'c Stamp,
    /// The row's number of the command in the history, once it has one.
    pub(super) command: Cell<Option<i64>>,
}

impl<'c> Writer<'c> {
    pub(super) fn new(
        tx: &'c Transaction<'_>,
        path: &'c Path,
        kinds: Kinds,
        stamp: &'c Stamp,
    ) -> Self {
        Self { reader: Reader::new(tx, path, kinds), stamp, command: Cell::new(None) }
    }

    /// The catalog as this transaction sees it.
    pub fn reader(&self) -> &Reader<'c> {
        &self.reader
    }

    pub(super) fn conn(&self) -> &'c Connection {
        self.reader.conn
    }

    pub(super) fn told<T>(&self, result: Result<T, Fault>) -> Result<T> {
        self.reader.told(result)
    }

    pub(super) fn part_number(&self, id: &str) -> Result<i64> {
        let number = self.told(parts::number(self.reader.conn, id))?;
        number.ok_or_else(|| self.reader.no_part(id))
    }

    /// Adds a part.
    ///
    /// # Errors
    ///
    /// Refuses a number that is taken or cannot be one, and values that cannot be.
    pub fn insert_part(&self, part: &Part) -> Result<()> {
        check_part_id(&part.id)?;
        check_values(part)?;
        if self.told(parts::number(self.reader.conn, &part.id))?.is_some() {
            return Err(Error::input(format!("there is a part `{}` already", part.id))
                .hint("change it with `part edit`, or give the new one another number"));
        }
        self.told(parts::insert(self.reader.conn, part))?;
        self.record(Thing::part(&part.id), Deed::Added, &[])
    }

    /// Replaces everything about a part but its number and kind.
    ///
    /// # Errors
    ///
    /// Refuses an unknown number, a part of another kind, and values that cannot be.
    pub fn update_part(&self, part: &Part) -> Result<()> {
        let old = self.reader.load_part(&part.id)?;
        self.replace_part(&old, part)
    }

    /// The same where the part as it is stored is at hand.
    pub(super) fn replace_part(&self, old: &Part, part: &Part) -> Result<()> {
        check_values(part)?;
        let number = self.part_number(&part.id)?;
        if old.kind != part.kind {
            let (id, kind, new) = (&part.id, old.kind.key, part.kind.key);
            return Err(Error::input(format!("`{id}` is a {kind}: it cannot become a {new}"))
                .hint("give the new part another number, or remove the old one first"));
        }
        self.told(parts::update(self.reader.conn, number, part))?;
        self.record(Thing::part(&part.id), Deed::Changed, &of_part(old, Some(part)))
    }

    /// Retires a part, or takes it back into use. True where that changed it.
    ///
    /// # Errors
    ///
    /// Refuses an unknown number.
    pub fn set_retired(&self, id: &str, retired: bool) -> Result<bool> {
        let number = self.part_number(id)?;
        let sql = "UPDATE part SET retired = ?2 WHERE number = ?1 AND retired <> ?2";
        let changed = self.reader.conn.execute(sql, params![number, retired]);
        if self.told(changed.map_err(Fault::from))? == 0 {
            return Ok(false);
        }
        let status = |retired| Held::Text(if retired { "retired" } else { "in use" }.into());
        let (from, to) = (status(!retired), status(retired));
        let change = Change { field: "status".into(), from, to };
        self.record(Thing::part(id), Deed::Changed, &[change])?;
        Ok(true)
    }

    /// Takes a part out of the catalog.
    ///
    /// # Errors
    ///
    /// Refuses an unknown number, a part that a job names, and one of which a piece was measured.
    pub fn remove_part(&self, id: &str) -> Result<()> {
        let number = self.part_number(id)?;
        let jobs = self.reader.jobs_naming(id)?;
        if !jobs.is_empty() {
            let list = some_of(&jobs);
            let noun = if jobs.len() == 1 { "job" } else { "jobs" };
            return Err(Error::input(format!("`{id}` is named by the {noun} {list}"))
                .hint("edit the job first, or use `part retire`: retired parts leave the search"));
        }
        if self.told(self.was_measured(number))? {
            return Err(Error::input(format!("pieces of `{id}` were measured"))
                .hint("readings are kept: use `part retire`, retired parts leave the search"));
        }
        let old = self.reader.load_part(id)?;
        let pieces = self.pieces_of(id)?;
        let removed = self.reader.conn.execute("DELETE FROM part WHERE number = ?1", [number]);
        self.told(removed.map_err(Fault::from))?;
        for piece in pieces {
            self.record_piece(&piece, Deed::Removed, &of_piece(&piece, None))?;
        }
        self.record(Thing::part(id), Deed::Removed, &of_part(&old, None))
    }

    fn was_measured(&self, part: i64) -> Result<bool, Fault> {
        let mut query = self.conn().prepare_cached(
            "SELECT EXISTS (SELECT 1 FROM piece JOIN reading ON reading.piece = piece.number \
             WHERE part = ?1)",
        )?;
        Ok(query.query_row([part], |row| row.get(0))?)
    }

    /// Adds a job whose parts are all there. What a job says about itself is checked before by
    /// [`crate::model::library::Library::check_job`].
    ///
    /// # Errors
    ///
    /// Refuses a name that is taken or cannot be one, and parts that are not there.
    pub fn insert_job(&self, job: &Job) -> Result<()> {
        check_id(&job.id)?;
        if self.told(jobs::number(self.reader.conn, &job.id))?.is_some() {
            return Err(Error::input(format!("there is a job `{}` already", job.id))
                .hint("change it with `job edit`, or give the new one another name"));
        }
        self.store_job(None, job)?;
        self.record(Thing::job(&job.id), Deed::Added, &[])
    }

    /// Replaces everything about a job but its name.
    ///
    /// # Errors
    ///
    /// Refuses an unknown name, and parts that are not there.
    pub fn update_job(&self, job: &Job) -> Result<()> {
        let old = self.reader.load_job(&job.id)?;
        self.replace_job(&old, job)
    }

    /// The same where the job as it is stored is at hand.
    pub(super) fn replace_job(&self, old: &Job, job: &Job) -> Result<()> {
        let number = self.job_number(&job.id)?;
        self.store_job(Some(number), job)?;
        let changes = of_job(self.reader.kinds, old, Some(job));
        self.record(Thing::job(&job.id), Deed::Changed, &changes)
    }

    /// Takes a job out of the catalog; its parts stay.
    ///
    /// # Errors
    ///
    /// Refuses an unknown name.
    pub fn remove_job(&self, id: &str) -> Result<()> {
        let (number, old) = (self.job_number(id)?, self.reader.load_job(id)?);
        self.told(jobs::remove(self.reader.conn, number))?;
        self.record(Thing::job(id), Deed::Removed, &of_job(self.reader.kinds, &old, None))
    }

    fn job_number(&self, id: &str) -> Result<i64> {
        let number = self.told(jobs::number(self.reader.conn, id))?;
        number.ok_or_else(|| self.reader.no_job(id))
    }

    fn store_job(&self, number: Option<i64>, job: &Job) -> Result<()> {
        let stored = jobs::store(self.reader.conn, self.reader.kinds, number, job);
        self.told(stored)?
            .map_err(|name| self.reader.no_named(&name).at(format!("job `{}`", job.id)))
    }

    /// Stores the house numbers that differ from the defaults.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be written.
    pub fn save_house(&self, house: &House) -> Result<()> {
        let changes = of_house(self.reader.kinds, &self.reader.load_house()?, house);
        let save = || -> Result<(), Fault> {
            self.reader.conn.execute("DELETE FROM setting", [])?;
            let mut insert =
                self.reader.conn.prepare_cached("INSERT INTO setting VALUES (?1, ?2)")?;
            for setting in house.settings(self.reader.kinds, Unit::In) {
                if setting.changed {
                    insert.execute([setting.key, setting.value])?;
                }
            }
            Ok(())
        };
        self.told(save())?;
        self.record(Thing::house(), Deed::Changed, &changes)
    }
}

fn check_values(part: &Part) -> Result<()> {
    match part.validate() {
        Ok(_) => Ok(()),
        Err(errors) => match errors.into_iter().next() {
            Some((key, error)) => Err(error.at(format!("`{}` {key}", part.id))),
            None => Ok(()),
        },
    }
}

/// Refuses a part number or a job's name that could not be written in a CSV cell or on a command
/// line: the bar separates two shims, and `none` empties a slot.
///
/// # Errors
///
/// Says which character or word it was.
pub(super) fn check_id(id: &str) -> Result<()> {
    let refuse =
        |why: &str| Err(Error::input(format!("`{}` cannot be an id: {why}", id.escape_debug())));
    if id.trim().is_empty() {
        return Err(Error::input("the id is blank"));
    }
    if id.trim() != id {
        return refuse("it begins or ends with a space");
    }
    if id.contains('|') {
        return refuse("`|` separates two ids");
    }
    if id.chars().any(char::is_control) {
        return refuse("it has a line break or another control character");
    }
    if id == "none" {
        return refuse("the word stands for an empty slot");
    }
    Ok(())
}

/// The same for a part number, in which the mark before a piece's label has no place either.
///
/// # Errors
///
/// As [`check_id`].
pub(super) fn check_part_id(id: &str) -> Result<()> {
    check_id(id)?;
    without_mark(id, "a part number")
}

/// Refuses a piece's label that could not be written behind its part number.
///
/// # Errors
///
/// As [`check_id`].
pub(super) fn check_label(label: &str) -> Result<()> {
    check_id(label).map_err(|error| error.at("label"))?;
    without_mark(label, "a label")
}

fn without_mark(text: &str, what: &str) -> Result<()> {
    if text.contains(PIECE_MARK) {
        let shown = text.escape_debug();
        let why = format!("`{PIECE_MARK}` stands between a number and the label of a piece of it");
        return Err(Error::input(format!("`{shown}` cannot be {what}: {why}")));
    }
    Ok(())
}

/// Names quoted and joined, the first five in full.
pub(super) fn some_of(names: &[String]) -> String {
    let shown: Vec<String> = names.iter().take(5).map(|name| format!("`{name}`")).collect();
    let more = names.len().saturating_sub(5);
    let list = shown.join(", ");
    if more == 0 { list } else { format!("{list} and {more} more") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_that_a_command_could_not_name_is_refused() {
        for bad in ["", " ", "a|b", "a\nb", " a", "none"] {
            assert!(check_id(bad).is_err(), "{bad:?}");
        }
        for good in ["A-1", "17 x 4", "none-1", "\u{e9}\u{df}", "=1"] {
            assert!(check_id(good).is_ok(), "{good:?}");
        }
        assert!(
            check_id("A#1").is_ok()
                && check_part_id("A#1").is_err()
                && check_part_id("A-1").is_ok()
        );
    }

    #[test]
    fn a_long_list_of_names_is_cut() {
        let names: Vec<String> = (1..=7).map(|n| n.to_string()).collect();
        assert_eq!(some_of(&names), "`1`, `2`, `3`, `4`, `5` and 2 more");
    }
}
