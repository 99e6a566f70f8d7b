//! Part numbers that change: a part gets another one, or another part takes its place. Jobs, pieces and
//! readings follow, since they refer to rows; the old number leads to the part from then on.

use std::borrow::Cow;
use std::collections::HashMap;

use rusqlite::{Connection, params};

use super::csv::check_job;
use super::fault::Fault;
use super::names::check_part_id;
use super::{Stored, Writer, parts, seal};
use crate::error::{Error, Result};
use crate::model::history::{Deed, Event, FieldChange, Held, Subject};
use crate::model::job::Job;
use crate::model::part::Part;
use crate::model::pieces::{PIECE_MARK, Specimen, part_and_label};

/// The field of a part's number in the history, and that of the part of a piece.
const ID: &str = "id";
const PART: &str = "part";

/// What followed a part number.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Followed {
    /// The jobs that name it.
    pub jobs: Vec<String>,
    /// Its pieces, by their labels.
    pub pieces: Vec<String>,
    /// How many lay on the shelf.
    pub on_hand: u32,
}

/// What parts are called now that were called otherwise once.
#[derive(Debug)]
pub(super) struct FormerNames(HashMap<String, String>);

impl FormerNames {
    pub(super) fn load(conn: &Connection) -> Result<Self, Fault> {
        let mut query = conn.prepare_cached(
            "SELECT key, id FROM former_number JOIN part ON part.number = former_number.part",
        )?;
        let rows = query.query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?;
        Ok(Self(rows.collect::<rusqlite::Result<_>>()?))
    }

    /// What a part or a piece of this name is called now.
    pub(super) fn now<'n>(&'n self, name: &'n str) -> Cow<'n, str> {
        if let Some(now) = self.0.get(name) {
            return Cow::Borrowed(now);
        }
        let piece = part_and_label(name).and_then(|(part, label)| Some((self.0.get(part)?, label)));
        piece.map_or(Cow::Borrowed(name), |(part, label)| {
            Cow::Owned(format!("{part}{PIECE_MARK}{label}"))
        })
    }

    /// What the thing of an event is called now; a set of readings by its number alone.
    pub(super) fn of<'n>(&'n self, event: &'n Event) -> Cow<'n, str> {
        match event.subject {
            Subject::Part | Subject::Piece => self.now(&event.name),
            Subject::Reading => event.name.split(' ').next().unwrap_or_default().into(),
            _ => Cow::Borrowed(&event.name),
        }
    }

    /// The piece that a set of readings is of, as it is called now.
    pub(super) fn piece_read<'n>(&'n self, reading: &'n str) -> Option<Cow<'n, str>> {
        let (_, rest) = reading.split_once(" of ")?;
        rest.rsplit_once(' ').map(|(piece, _)| self.now(piece))
    }
}

/// What a part or a piece was called before an event and behind it, where that changed.
pub(super) fn moved(event: &Event) -> Option<(&str, &str)> {
    let field = match event.subject {
        Subject::Part => ID,
        Subject::Piece => PART,
        _ => return None,
    };
    let change = event.changes.iter().find(|change| change.field == field)?;
    match (event.deed, &change.from, &change.to) {
        (Deed::Changed, Held::Text(from), Held::Text(to)) => Some((from, to)),
        _ => None,
    }
}

fn change(field: &str, from: &str, to: &str) -> FieldChange {
    let held = |text: &str| Held::Text(text.into());
    FieldChange { field: field.into(), from: held(from), to: held(to) }
}

impl Writer<'_> {
    /// Gives a part another number. The old one leads to it from then on.
    ///
    /// # Errors
    ///
    /// Refuses a number that cannot be one, or that is or was another part's.
    pub fn rename_part(&self, old: &Part, to: &str) -> Result<Followed> {
        if old.id == to {
            return Err(Error::input(format!("`{to}` is its number already")));
        }
        if self.told(parts::number(self.conn(), to))?.is_some() {
            let from = &old.id;
            return Err(Error::input(format!("there is a part `{to}` already"))
                .hint(format!("`part supersede {from} {to}` lets it take the place of `{from}`")));
        }
        let mut formerly = old.formerly.clone();
        formerly.retain(|former| former != to);
        formerly.push(old.id.clone());
        formerly.sort_unstable();
        self.renumber(old, &Part { id: to.into(), formerly, ..old.clone() })?;
        let pieces = self.reader().load_pieces(to)?;
        Ok(Followed {
            jobs: self.reader().jobs_naming(to)?,
            pieces: pieces.into_iter().map(|piece| piece.label).collect(),
            on_hand: old.on_hand,
        })
    }

    /// Stores a part under another number than it had.
    pub(super) fn renumber(&self, old: &Part, new: &Part) -> Result<()> {
        check_part_id(&new.id)?;
        let number = self.told(parts::number(self.conn(), &old.id))?;
        let number = number.ok_or_else(|| self.reader().no_part(&old.id))?;
        new.write(self, Some(number))?;
        self.seal(&seal::PART, number)?;
        let mut changes = vec![change(ID, &old.id, &new.id)];
        changes.extend(old.differences(self.reader().kinds(), Some(new)));
        self.record_as(Subject::Part, &old.id, Some(&old.id), Deed::Changed, &changes)
    }

    /// Lets one part take the place of another one of its kind: the jobs that name the old one, its
    /// pieces with their readings and what lies on the shelf are the new one's from then on. The old
    /// entry goes, and its number leads to the new one.
    ///
    /// # Errors
    ///
    /// Refuses parts of two kinds, pieces whose labels are taken, and a job that the new part cannot
    /// stand in.
    pub fn supersede_part(&self, old: &Part, new: &Part) -> Result<Followed> {
        let (from, to) = (&old.id, &new.id);
        if from == to {
            return Err(Error::input(format!("`{from}` cannot take its own place")));
        }
        if old.kind != new.kind {
            let (old, new) = (old.kind.key, new.kind.key);
            return Err(Error::input(format!("`{from}` is a {old}, and `{to}` a {new}"))
                .hint("one takes the place of another one of its kind"));
        }
        let reader = self.reader();
        let (pieces, taken) = (reader.load_pieces(from)?, reader.load_pieces(to)?);
        for piece in &pieces {
            if taken.iter().any(|other| other.label == piece.label) {
                let label = &piece.label;
                return Err(Error::input(format!("there is a piece `{label}` of both"))
                    .hint("pieces keep their labels: `part rename` the old one instead"));
            }
        }
        let jobs = reader.jobs_naming(from)?;
        for piece in &pieces {
            self.move_piece(piece, to)?;
        }
        for job in reader.jobs_naming(from)? {
            let old = reader.load_job(&job)?;
            let mut new = old.clone();
            new.call_parts(|id| (id == from).then(|| to.clone()));
            check_job(self, &new).map_err(|error| error.at(format!("the job `{job}`")))?;
            self.replace(&old, &new)?;
        }
        self.remove(old)?;
        let mut formerly =
            [new.formerly.clone(), old.formerly.clone(), vec![from.clone()]].concat();
        formerly.sort_unstable();
        let on_hand = new.on_hand.checked_add(old.on_hand).unwrap_or(new.on_hand);
        self.replace(new, &Part { on_hand, formerly, ..new.clone() })?;
        let pieces = pieces.into_iter().map(|piece| piece.label).collect();
        Ok(Followed { jobs, pieces, on_hand: old.on_hand })
    }

    /// Makes a piece one of another part, in the jobs that name it too.
    pub(super) fn move_piece(&self, piece: &Specimen, to: &str) -> Result<()> {
        let reader = self.reader();
        let number = piece.number(reader)?;
        let part = self.told(parts::number(self.conn(), to))?.ok_or_else(|| reader.no_part(to))?;
        let number = number.ok_or_else(|| reader.no_piece(&piece.part, &piece.label))?;
        self.execute("UPDATE piece SET part = ?2 WHERE number = ?1", params![number, part])?;
        self.execute("UPDATE job_part SET part = ?2 WHERE piece = ?1", params![number, part])?;
        self.seal(&seal::PIECE, number)?;
        let jobs = || -> Result<Vec<i64>, Fault> {
            let sql = "SELECT DISTINCT job FROM job_part WHERE piece = ?1";
            let mut query = self.conn().prepare_cached(sql)?;
            let rows = query.query_map([number], |row| row.get(0))?;
            Ok(rows.collect::<rusqlite::Result<_>>()?)
        };
        for job in self.told(jobs())? {
            self.seal(Job::SEALED, job)?;
        }
        let moved = [change(PART, &piece.part, to)];
        self.record_as(Subject::Piece, &piece.id(), Some(&piece.part), Deed::Changed, &moved)
    }
}
