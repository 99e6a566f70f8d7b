//! Answers that were kept: written once, with what they were an answer to.

use rusqlite::{Connection, OptionalExtension as _, Row, params};
use serde::Serialize;
use serde::de::{DeserializeOwned, IgnoredAny};

use super::believed::in_row;
use super::csv::job_columns;
use super::fault::Fault;
use super::names::check_id;
use super::{Reader, Writer, seal};
use crate::error::{Error, Result};
use crate::model::history::Stamp;
use crate::model::house::House;
use crate::model::job::Job;
use crate::model::kept::{KeptAnswer, Question, StacksThen};
use crate::model::length::Unit;

const COLUMNS: &str = "name, job, at, by, line, question, job_then, house_then, last_event, stacks, \
                       answer, number";

/// What an answer is called, and the answer, or why it cannot be read.
pub type Named = (String, Result<KeptAnswer>);

impl Reader<'_> {
    /// Every answer that was kept, the newest last. One that is damaged does not hide the others.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be read.
    pub fn load_answers(&self) -> Result<Vec<Named>> {
        let load = || -> Result<Vec<Named>, Fault> {
            let sql = format!("SELECT {COLUMNS} FROM answer ORDER BY number");
            let mut query = self.conn.prepare_cached(&sql)?;
            let mut rows = query.query([])?;
            let mut answers = Vec::new();
            while let Some(row) = rows.next()? {
                let kept = kept(self.conn, row);
                answers.push((named(row), kept.map_err(|fault| self.damaged(row, fault))));
            }
            Ok(answers)
        };
        self.told(load())
    }

    /// The answer of this name.
    ///
    /// # Errors
    ///
    /// An input error that names the nearest one where there is none of this name, a storage error
    /// where it is damaged.
    pub fn load_answer(&self, name: &str) -> Result<KeptAnswer> {
        let load = || -> Result<Option<Result<KeptAnswer>>, Fault> {
            let sql = format!("SELECT {COLUMNS} FROM answer WHERE name = ?1");
            let mut query = self.conn.prepare_cached(&sql)?;
            let mut rows = query.query([name])?;
            let Some(row) = rows.next()? else { return Ok(None) };
            Ok(Some(kept(self.conn, row).map_err(|fault| self.damaged(row, fault))))
        };
        self.told(load())?.unwrap_or_else(|| {
            let error = Error::input(format!("there is no kept answer `{name}` in the catalog"));
            let names = "SELECT name FROM answer ORDER BY name";
            Err(self.with_nearest(error, name, names, "`answer list` shows all"))
        })
    }

    fn damaged(&self, row: &Row<'_>, fault: Fault) -> Error {
        in_row("answer", row, &named(row), fault).at(self.path)
    }

    /// What has to be kept with an answer to a job, as this snapshot has it.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be read.
    pub fn to_keep(&self, job: &Job, house: &House, stamp: &Stamp) -> Result<KeptAnswer> {
        let settings = house.settings(self.kinds, Unit::In).into_iter();
        Ok(KeptAnswer {
            name: String::new(),
            job: job.id.clone(),
            stamp: stamp.clone(),
            question: None,
            job_then: job_columns(self.kinds).filled(job),
            house_then: settings.map(|setting| (setting.key, setting.value)).collect(),
            last_event: self.told(self.last_event())?,
            stacks: StacksThen::default(),
            given: String::new(),
        })
    }
}

/// What a row is called, by its number where its name is damaged too.
fn named(row: &Row<'_>) -> String {
    let number = || row.get::<_, i64>(11).map(|number| number.to_string()).unwrap_or_default();
    row.get(0).unwrap_or_else(|_| number())
}

fn kept(conn: &Connection, row: &Row<'_>) -> Result<KeptAnswer, Fault> {
    if !seal::is_whole(conn, &seal::ANSWER, row.get(11)?)? {
        return Err(Error::storage("it is not as it was kept").into());
    }
    let given: String = row.get(10)?;
    read::<IgnoredAny>("answer", &given)?;
    let stacks: Option<String> = row.get(9)?;
    let stacks = stacks.ok_or_else(|| Error::storage("`stacks` is blank"))?;
    let question: Option<String> = row.get(5)?;
    let question: Option<Question> =
        question.map(|question| read("question", &question)).transpose()?;
    Ok(KeptAnswer {
        name: row.get(0)?,
        job: row.get(1)?,
        stamp: Stamp { at: row.get(2)?, by: row.get(3)?, command: row.get(4)? },
        question,
        job_then: read("job_then", &row.get::<_, String>(6)?)?,
        house_then: read("house_then", &row.get::<_, String>(7)?)?,
        last_event: row.get(8)?,
        stacks: read("stacks", &stacks)?,
        given,
    })
}

/// What stands in a column as JSON.
fn read<T: DeserializeOwned>(column: &str, text: &str) -> Result<T> {
    serde_json::from_str(text)
        .map_err(|error| Error::storage(format!("`{column}` cannot be read: {error}")))
}

fn written(value: &impl Serialize) -> Result<String> {
    serde_json::to_string(value)
        .map_err(|error| Error::storage(format!("the answer cannot be kept: {error}")))
}

impl Writer<'_> {
    /// The name under which an answer can be kept: as asked, else the job's with the day, and with a
    /// number where that is taken.
    ///
    /// # Errors
    ///
    /// Refuses a name that is taken or cannot be one.
    pub fn answer_name(&self, asked: Option<&str>, job: &str, day: &str) -> Result<String> {
        if let Some(name) = asked {
            check_id(name)?;
            return if self.is_free(name)? {
                Ok(name.into())
            } else {
                Err(Error::input(format!("there is a kept answer `{name}` already"))
                    .hint("it stays as it is: give the new one another name"))
            };
        }
        let plain = format!("{job}-{day}");
        let mut name = plain.clone();
        let mut next = 2_u64;
        while !self.is_free(&name)? {
            name = format!("{plain}-{next}");
            next += 1;
        }
        Ok(name)
    }

    fn is_free(&self, name: &str) -> Result<bool> {
        let find = || -> Result<bool, Fault> {
            let mut query = self.conn().prepare_cached("SELECT 1 FROM answer WHERE name = ?1")?;
            Ok(query.query_row([name], |_| Ok(())).optional()?.is_none())
        };
        self.told(find())
    }

    /// Keeps an answer for good.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be written, or the name was taken in the meantime.
    pub fn keep_answer(&self, kept: &KeptAnswer) -> Result<()> {
        let question = kept.question.as_ref().map(written).transpose()?;
        let (job, house) = (written(&kept.job_then)?, written(&kept.house_then)?);
        let stacks = written(&kept.stacks)?;
        let insert = || -> Result<(), Fault> {
            let Stamp { at, by, command } = &kept.stamp;
            // What was typed stands in `line`; `asked` is of answers that had no question yet.
            let mut insert = self.conn().prepare_cached(
                "INSERT INTO answer (name, job, at, by, line, asked, question, job_then, \
                 house_then, last_event, stacks, answer) \
                 VALUES (?1, ?2, ?3, ?4, ?5, '[]', ?6, ?7, ?8, ?9, ?10, ?11)",
            )?;
            insert.execute(params![
                kept.name,
                kept.job,
                at,
                by,
                command,
                question,
                job,
                house,
                kept.last_event,
                stacks,
                kept.given
            ])?;
            Ok(())
        };
        self.told(insert())?;
        self.seal(&seal::ANSWER, self.conn().last_insert_rowid())
    }
}
