//! Answers that were kept: written once, with what they were an answer to.

use rusqlite::{Row, params};
use serde::de::DeserializeOwned;

use super::csv::filled;
use super::fault::Fault;
use super::parts::unknown;
use super::writer::check_id;
use super::{Reader, Writer};
use crate::error::{Error, Result};
use crate::model::history::{KeptAnswer, Stamp};
use crate::model::house::House;
use crate::model::job::Job;
use crate::model::kinds::nearest;
use crate::model::length::Unit;

impl Reader<'_> {
    /// Every answer that was kept, the newest last.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be read.
    pub fn load_answers(&self) -> Result<Vec<KeptAnswer>> {
        let load = || -> Result<Vec<KeptAnswer>, Fault> {
            let mut query = self.conn.prepare_cached(
                "SELECT name, job, at, by, line, asked, job_then, house_then, last_event, answer \
                 FROM answer ORDER BY number",
            )?;
            let mut rows = query.query([])?;
            let mut answers = Vec::new();
            while let Some(row) = rows.next()? {
                answers.push(kept(row)?);
            }
            Ok(answers)
        };
        self.told(load())
    }

    /// The answer of this name.
    ///
    /// # Errors
    ///
    /// An input error that names the nearest one where there is none of this name.
    pub fn load_answer(&self, name: &str) -> Result<KeptAnswer> {
        let mut answers = self.load_answers()?;
        if let Some(index) = answers.iter().position(|answer| answer.name == name) {
            return Ok(answers.swap_remove(index));
        }
        let error = Error::input(format!("there is no kept answer `{name}` in the catalog"));
        Err(match nearest(name, answers.iter().map(|answer| answer.name.as_str())) {
            Some(near) => error.hint(format!("did you mean `{near}`?")),
            None => error.hint("`answer list` shows all"),
        })
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
            asked: Vec::new(),
            job_then: filled(self.kinds, job),
            house_then: settings.map(|setting| (setting.key, setting.value)).collect(),
            last_event: self.told(self.last_event())?,
            answer: String::new(),
        })
    }
}

fn kept(row: &Row<'_>) -> Result<KeptAnswer, Fault> {
    fn list<T: DeserializeOwned>(row: &Row<'_>, column: usize) -> Result<T, Fault> {
        let text: String = row.get(column)?;
        serde_json::from_str(&text).map_err(|_| unknown(&format!("a kept answer with {text}")))
    }
    Ok(KeptAnswer {
        name: row.get(0)?,
        job: row.get(1)?,
        stamp: Stamp { at: row.get(2)?, by: row.get(3)?, command: row.get(4)? },
        asked: list(row, 5)?,
        job_then: list(row, 6)?,
        house_then: list(row, 7)?,
        last_event: row.get(8)?,
        answer: row.get(9)?,
    })
}

impl Writer<'_> {
    /// The name under which an answer can be kept: as asked, else the job's with the day, and with a
    /// number where that is taken.
    ///
    /// # Errors
    ///
    /// Refuses a name that is taken or cannot be one.
    pub fn answer_name(&self, asked: Option<&str>, job: &str, day: &str) -> Result<String> {
        let answers = self.reader().load_answers()?;
        let is_free = |name: &str| answers.iter().all(|answer| answer.name != name);
        if let Some(name) = asked {
            check_id(name)?;
            return if is_free(name) {
                Ok(name.into())
            } else {
                Err(Error::input(format!("there is a kept answer `{name}` already"))
                    .hint("it stays as it is: give the new one another name"))
            };
        }
        let plain = format!("{job}-{day}");
        let mut names =
            std::iter::once(plain.clone()).chain((2..).map(|n: u64| format!("{plain}-{n}")));
        Ok(names.find(|name| is_free(name)).unwrap_or(plain))
    }

    /// Keeps an answer for good.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be written, or the name was taken in the meantime.
    pub fn keep_answer(&self, kept: &KeptAnswer) -> Result<()> {
        let list = |list: serde_json::Result<String>| {
            list.map_err(|error| Error::storage(format!("the answer cannot be kept: {error}")))
        };
        let asked = list(serde_json::to_string(&kept.asked))?;
        let job = list(serde_json::to_string(&kept.job_then))?;
        let house = list(serde_json::to_string(&kept.house_then))?;
        let insert = || -> Result<(), Fault> {
            let Stamp { at, by, command } = &kept.stamp;
            let mut insert = self.conn().prepare_cached(
                "INSERT INTO answer (name, job, at, by, line, asked, job_then, house_then, \
                 last_event, answer) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
            )?;
            insert.execute(params![
                kept.name,
                kept.job,
                at,
                by,
                command,
                asked,
                job,
                house,
                kept.last_event,
                kept.answer
            ])?;
            Ok(())
        };
        self.told(insert())
    }
}
