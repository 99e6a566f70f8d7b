//! Jobs in their tables: one row of their own, one for each part they name and each reading.

use rusqlite::{Connection, Row, params};

use super::believed::{believed, in_row};
use super::csv::{Cells, day_named, job_columns};
use super::fault::Fault;
use super::measured;
use super::names::check_id;
use super::parts::{self, unknown};
use super::renamed::FormerNames;
use super::seal::{self, Sealed};
use super::{Reader, Stored, Writer};
use crate::error::{Error, Result};
use crate::model::edge::Edge;
use crate::model::history::{FieldChange, Subject};
use crate::model::job::{Job, MOST_ASIDE, READINGS, check_torque};
use crate::model::kinds::Kinds;
use crate::model::length::Length;
use crate::model::part::Entry;
use crate::model::pieces::{PIECE_MARK, above_zero, part_and_label};

/// Under this name the master cylinder stands among a job's parts, though it has no slot.
const MASTER: &str = "master_cylinder";

/// The same of what is set aside for it.
const ASIDE: &str = "set_aside";

/// Loads every job, or the one of this name, by id.
pub(super) fn load(conn: &Connection, kinds: Kinds, id: Option<&str>) -> Result<Vec<Job>, Fault> {
    let mut numbers = Vec::new();
    let mut jobs = Vec::new();
    let mut query = conn.prepare_cached(
        "SELECT number, id, description, torque, crank_over_plate, depth_over_plate, disc_state, \
         crank_pushed, starter_on, preload_min, preload_max, reserve_min, reserve_max, state, date, \
         customer, contact, vehicle, notes FROM job \
         WHERE ?1 IS NULL OR id = ?1 ORDER BY number",
    )?;
    let mut rows = query.query([id])?;
    while let Some(row) = rows.next()? {
        let number: i64 = row.get(0)?;
        let name = || row.get(1).unwrap_or_else(|_| number.to_string());
        let job = believed("job", row, name, || {
            let mut job = Job::new(row.get::<_, String>(1)?, kinds);
            job.description = row.get(2)?;
            job.torque = row.get(3)?;
            job.torque.map_or(Ok(()), check_torque).map_err(|error| error.at("`torque`"))?;
            job.crank_over_plate = row.get(4)?;
            job.depth_over_plate = row.get(5)?;
            job.disc_state = row.get(6)?;
            job.crank_pushed = row.get(7)?;
            job.starter_on = row.get(8)?;
            for edge in Edge::ALL {
                job.window[edge] = row.get(edge.key())?;
            }
            job.state = row.get("state")?;
            job.date = row.get("date")?;
            if !job.date.is_empty() {
                day_named(&job.date).map_err(|error| error.at("`date`"))?;
            }
            job.customer = row.get("customer")?;
            job.contact = row.get("contact")?;
            job.vehicle = row.get("vehicle")?;
            job.notes = row.get("notes")?;
            Ok(job)
        })?;
        numbers.push(number);
        jobs.push(job);
    }
    for (job, number) in jobs.iter_mut().zip(numbers) {
        load_parts(conn, kinds, number, job)?;
        load_readings(conn, number, job)?;
    }
    jobs.sort_by(|a, b| a.id.cmp(&b.id));
    Ok(jobs)
}

fn load_parts(conn: &Connection, kinds: Kinds, number: i64, job: &mut Job) -> Result<(), Fault> {
    let mut query = conn.prepare_cached(
        "SELECT slot, id, label, kind, job_part.piece FROM job_part \
         LEFT JOIN part ON part.number = job_part.part \
         LEFT JOIN piece ON piece.number = job_part.piece AND piece.part = job_part.part \
         WHERE job = ?1 ORDER BY slot, position",
    )?;
    let mut rows = query.query([number])?;
    while let Some(row) = rows.next()? {
        let mut read = || take_part(kinds, job, row);
        if let Err(fault) = read() {
            return Err(in_row("job_part", row, &job.id, fault));
        }
    }
    Ok(())
}

/// Takes what one row says that the job names.
fn take_part(kinds: Kinds, job: &mut Job, row: &Row<'_>) -> Result<(), Fault> {
    let slot = row.get_ref(0)?.as_str().map_err(rusqlite::Error::from)?;
    let gone = || Error::storage(format!("`{slot}` names what is not there"));
    let (id, kind): (Option<String>, Option<String>) = (row.get(1)?, row.get(3)?);
    let (mut id, kind) = id.zip(kind).ok_or_else(gone)?;
    let (label, piece): (Option<String>, Option<i64>) = (row.get(2)?, row.get(4)?);
    if piece.is_some() {
        id.push(PIECE_MARK);
        id.push_str(&label.ok_or_else(gone)?);
    }
    if slot == ASIDE {
        job.set_aside.push(id);
        return match job.set_aside.len() {
            0..=MOST_ASIDE => Ok(()),
            _ => Err(Error::storage(format!("`{slot}` names more than {MOST_ASIDE}")).into()),
        };
    }
    let (wanted, most) = if slot == MASTER {
        (MASTER, 1)
    } else {
        let slots = kinds.slots().find(|(_, known)| known.key == slot);
        let (kind, slot) =
            slots.ok_or_else(|| unknown(&format!("a `{slot}` for the job `{}`", job.id)))?;
        (kind.key, slot.takes.most())
    };
    if kind != wanted {
        let message = format!("`{slot}` names `{id}`, which is a {kind}");
        return Err(Error::storage(message).into());
    }
    let named = match kinds.slot_named(slot) {
        Some(index) => {
            job.fitted[index].push(id);
            job.fitted[index].len()
        }
        None => usize::from(job.master_cylinder.replace(id).is_some()) + 1,
    };
    if named > most {
        return Err(Error::storage(format!("`{slot}` names more than {most}")).into());
    }
    Ok(())
}

fn load_readings(conn: &Connection, number: i64, job: &mut Job) -> Result<(), Fault> {
    let mut query =
        conn.prepare_cached("SELECT key, value, tol, bar FROM job_reading WHERE job = ?1")?;
    let mut rows = query.query([number])?;
    while let Some(row) = rows.next()? {
        let read = || -> Result<(usize, Entry, Option<Length>), Fault> {
            let key = row.get_ref(0)?.as_str().map_err(rusqlite::Error::from)?;
            let Some(index) = READINGS.iter().position(|spec| spec.key == key) else {
                return Err(unknown(&format!("a `{key}` for the job `{}`", job.id)));
            };
            let entry = Entry::new(row.get(1)?, row.get(2)?);
            READINGS[index].check(entry).map_err(|error| error.at(format!("`{key}`")))?;
            let bar = row.get::<_, Option<Length>>(3)?.map(above_zero).transpose();
            Ok((index, entry, bar.map_err(|error| error.at("`bar`"))?))
        };
        let name = || job.id.clone();
        let (index, entry, bar) = believed("job_reading", row, name, read)?;
        job.readings[index] = Some(entry);
        job.bars.set(index, bar);
    }
    Ok(())
}

/// The jobs that name a part, by id.
pub(super) fn naming(conn: &Connection, part: &str) -> Result<Vec<String>, Fault> {
    let mut query = conn.prepare_cached(
        "SELECT DISTINCT job.id FROM part JOIN job_part ON job_part.part = part.number \
         JOIN job ON job.number = job_part.job WHERE part.id = ?1 ORDER BY job.id",
    )?;
    let rows = query.query_map([part], |row| row.get(0))?;
    Ok(rows.collect::<rusqlite::Result<_>>()?)
}

/// Whether anything is set aside for a job.
pub(super) fn some_set_aside(conn: &Connection) -> Result<bool, Fault> {
    let mut query =
        conn.prepare_cached("SELECT EXISTS (SELECT 1 FROM job_part WHERE slot = ?1)")?;
    Ok(query.query_row([ASIDE], |row| row.get(0))?)
}

/// The row's number of a job.
fn number(conn: &Connection, id: &str) -> Result<Option<i64>, Fault> {
    use rusqlite::OptionalExtension as _;
    let mut query = conn.prepare_cached("SELECT number FROM job WHERE id = ?1")?;
    Ok(query.query_row([id], |row| row.get(0)).optional()?)
}

/// Adds a job, or replaces everything about it where it has a number already. Returns its number.
///
/// Fails with the name where the job names a part or piece that is not there.
fn store(
    conn: &Connection,
    kinds: Kinds,
    number: Option<i64>,
    job: &Job,
) -> Result<Result<i64, String>, Fault> {
    // Replaced under its own number, the job keeps its place; its rows in other tables go with it.
    if let Some(number) = number {
        conn.prepare_cached("DELETE FROM job WHERE number = ?1")?.execute([number])?;
    }
    let edge = |edge: Edge| job.window[edge];
    let mut insert = conn.prepare_cached(
        "INSERT INTO job (number, id, description, torque, crank_over_plate, depth_over_plate, \
         disc_state, crank_pushed, starter_on, preload_min, preload_max, reserve_min, reserve_max, \
         state, date, customer, contact, vehicle, notes) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, \
         ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19)",
    )?;
    insert.execute(params![
        number,
        job.id,
        job.description,
        job.torque,
        job.crank_over_plate,
        job.depth_over_plate,
        job.disc_state,
        job.crank_pushed,
        job.starter_on,
        edge(Edge::PreloadMin),
        edge(Edge::PreloadMax),
        edge(Edge::ReserveMin),
        edge(Edge::ReserveMax),
        job.state,
        job.date,
        job.customer,
        job.contact,
        job.vehicle,
        job.notes
    ])?;
    let own = conn.last_insert_rowid();
    let slots = kinds.slots().zip(&job.fitted).flat_map(|((_, slot), ids)| {
        ids.iter().enumerate().map(|(position, id)| (slot.key, position, id))
    });
    let master = job.master_cylinder.iter().map(|id| (MASTER, 0, id));
    let mut insert = conn.prepare_cached("INSERT INTO job_part VALUES (?1, ?2, ?3, ?4, ?5)")?;
    let aside = job.set_aside.iter().enumerate().map(|(position, id)| (ASIDE, position, id));
    for (slot, position, name) in slots.chain(master).chain(aside) {
        let Some((part, piece)) = named(conn, name)? else { return Ok(Err(name.clone())) };
        let position = i64::try_from(position).unwrap_or(i64::MAX);
        insert.execute(params![own, slot, position, part, piece])?;
    }
    let mut insert = conn.prepare_cached("INSERT INTO job_reading VALUES (?1, ?2, ?3, ?4, ?5)")?;
    for (index, (spec, entry)) in READINGS.iter().zip(&job.readings).enumerate() {
        if let Some(entry) = entry {
            let bar = job.bars.get(index);
            insert.execute(params![own, spec.key, entry.value, entry.tol, bar])?;
        }
    }
    Ok(Ok(own))
}

/// The row's number of the part that a job names, and that of the piece where it names one.
fn named(conn: &Connection, name: &str) -> Result<Option<(i64, Option<i64>)>, Fault> {
    if let Some(part) = parts::called(conn, name)? {
        return Ok(Some((part, None)));
    }
    let Some((id, label)) = part_and_label(name) else { return Ok(None) };
    let piece = measured::piece_number(conn, &parts::current(conn, id)?, label)?;
    Ok(parts::called(conn, id)?.zip(piece).map(|(part, piece)| (part, Some(piece))))
}

/// A job is stored with its parts all there. What it says about itself is checked before by
/// [`crate::model::library::Library::check_job`].
impl Stored for Job {
    const SUBJECT: Subject = Subject::Job;

    const SEALED: &'static Sealed = &seal::JOB;

    fn called(&self) -> (String, Option<&str>) {
        (self.id.clone(), None)
    }

    fn number(&self, reader: &Reader<'_>) -> Result<Option<i64>> {
        reader.told(number(reader.conn, &self.id))
    }

    fn named(reader: &Reader<'_>, name: &str) -> Result<Self> {
        reader.load_job(name)
    }

    fn check_name(&self) -> Result<()> {
        check_id(&self.id)
    }

    fn taken(&self) -> Error {
        Error::input(format!("there is a job `{}` already", self.id))
            .hint("change it with `job edit`, or give the new one another name")
    }

    fn write(&self, writer: &Writer<'_>, number: Option<i64>) -> Result<i64> {
        let reader = writer.reader();
        let stored = writer.told(store(reader.conn, reader.kinds, number, self))?;
        stored.map_err(|name| reader.no_named(&name).at(format!("job `{}`", self.id)))
    }

    fn differences(&self, kinds: Kinds, to: Option<&Self>) -> Vec<FieldChange> {
        job_columns(kinds).differences(self, to)
    }

    fn cells(&self, kinds: Kinds) -> Cells {
        job_columns(kinds).filled(self)
    }

    fn called_as_now(mut self, reader: &Reader<'_>) -> Result<Self> {
        let names = reader.told(FormerNames::load(reader.conn))?;
        self.call_parts(|id| Some(names.now(id).into_owned()));
        Ok(self)
    }

    fn again(kinds: Kinds, name: &str, cells: &Cells) -> Result<Self> {
        job_columns(kinds).again(Self::new(name, kinds), cells)
    }
}
