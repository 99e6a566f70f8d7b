//! The columns of a job.

use super::asked;
use super::cells::{Cell, OverBar, Row, signed_length};
use super::field::{Content, Field, Member, member};
use super::form::RecordForm;
use super::mark::{Mark, pointed};
use super::reading_form::day;
use crate::catalog::names::check_id;
use crate::error::{Error, Result};
use crate::model::edge::Edge;
use crate::model::job::{Job, MOST_ASIDE, READINGS, check_torque};
use crate::model::kinds::{Kinds, Quantity, Takes};
use crate::model::length::Length;
use crate::model::part::{read_plain, show_value};
use crate::model::usual::Meant;

/// The form of a job. Whether the parts that it names are there and fit is checked behind it.
pub(in crate::catalog) fn form(kinds: Kinds) -> RecordForm<Job> {
    let mut fields = vec![
        Field::name("job", "the job's name", |job: &Job| job.id.clone()),
        Field::text("description", "what it is", member!(Job, description)),
        Field::word("state", "planned, waiting, open or done; blank is open", member!(Job, state)),
        Field::or(
            "date",
            "the day on which it came in, such as 2026-03-31",
            member!(Job, date),
            Some(String::new()),
            |cell, _| day(cell.text),
            |day, _| day,
        )
        .of(Content::Day),
        Field::text("customer", "for whom it is", member!(Job, customer)),
        Field::text("contact", "how the customer is reached", member!(Job, contact)),
        Field::text("vehicle", "the car", member!(Job, vehicle)),
        Field::text("notes", "anything else", member!(Job, notes)),
    ];
    fields.extend(kinds.slots().enumerate().map(|(index, (kind, slot))| {
        let about = match slot.takes {
            Takes::UpToTwo => "part numbers fitted today, `A|B` for two",
            _ if kind.slot.is_some_and(|slot| slot.fixed) => "part number that stays",
            _ => "part number fitted today",
        };
        let member = Member::new(
            move |job: &Job| job.fitted[index].clone(),
            move |job: &mut Job| &mut job.fitted[index],
        );
        let most = slot.takes.most();
        let read = move |cell: &Cell<'_>, _: Mark| ids(cell.text, most);
        Field::or(slot.key, about, member, Some(Vec::new()), read, |ids, _| ids.join("|"))
    }));
    fields.extend([
        Field::optional(
            "master_cylinder",
            "part number of the master cylinder",
            member!(Job, master_cylinder),
            |cell, _| id(cell.text),
            |id, _| id,
        ),
        Field::or(
            "set_aside",
            "what of the shelf is kept for it, `A|B`; two of one as `A|A`",
            member!(Job, set_aside),
            Some(Vec::new()),
            |cell, _| names(cell.text),
            |names, _| names.join("|"),
        )
        .of(Content::Name)
        .seldom(),
        Field::optional(
            "torque",
            "torque that the clutch has to carry, N m",
            member!(Job, torque),
            torque,
            |torque, unit| show_value(Quantity::Torque, torque, unit),
        ),
    ]);
    fields.extend(READINGS.iter().enumerate().map(|(index, spec)| {
        let get = move |job: &Job| OverBar { entry: job.readings[index], bar: job.bars.get(index) };
        let put = move |job: &mut Job, new: OverBar| {
            job.readings[index] = new.entry;
            job.bars.set(index, new.bar);
        };
        let written = (Quantity::Length, spec.sides);
        Field::entry(spec.key, spec.about, written, get, put, |entry| spec.check(entry))
    }));
    let over = "yes where it was taken over the fitted block plate";
    fields.extend([
        Field::word("crank_protrusion_over_plate", over, member!(Job, crank_over_plate)),
        Field::word("finger_depth_over_plate", over, member!(Job, depth_over_plate)),
        Field::word(
            "fitted_disc_state",
            "new, worn or unknown; blank is unknown",
            member!(Job, disc_state),
        ),
        Field::word(
            "crank_pushed",
            "front, rear or unknown; blank is unknown",
            member!(Job, crank_pushed),
        ),
        Field::word(
            "starter_on",
            "block, bell or unknown; blank is unknown",
            member!(Job, starter_on),
        ),
    ]);
    fields.extend(Edge::ALL.map(|edge| {
        let member = Member::new(
            move |job: &Job| job.window[edge],
            move |job: &mut Job| &mut job.window[edge],
        );
        let about = "an edge of the job's own window";
        Field::optional(edge.key(), about, member, signed_length, Length::exact).edge()
    }));
    RecordForm { fields }
}

/// Reads a row onto a job; what is wrong is noted in the row. `old` is the job as the catalog holds it,
/// `meant` what is meant though it is unusual.
pub(super) fn read(
    form: &RecordForm<Job>,
    row: &mut Row<'_>,
    job: &mut Job,
    old: Option<&Job>,
    meant: &Meant,
) {
    form.read(row, job);
    asked::of_job(row, job, old, meant);
}

/// The name of a part or of a piece in a cell.
fn id(text: &str) -> Result<String> {
    let id = text.trim();
    check_id(id)?;
    Ok(id.into())
}

fn ids(text: &str, most: usize) -> Result<Vec<String>> {
    let ids: Vec<&str> = text.split('|').map(str::trim).filter(|id| !id.is_empty()).collect();
    if ids.len() > most {
        let found = ids.len();
        let most = if most == 1 { "one part" } else { "two parts at most" };
        return Err(Error::input(format!(
            "`{text}` names {found} parts, and the slot takes {most}"
        )));
    }
    let mut ids: Vec<String> = ids.into_iter().map(id).collect::<Result<_>>()?;
    // Shims stand in no order, so that one pair is written in one way.
    ids.sort_unstable();
    Ok(ids)
}

/// Parts and pieces with `|` between them, each as often as there are pieces of it.
fn names(text: &str) -> Result<Vec<String>> {
    let ids = text.split('|').map(str::trim).filter(|id| !id.is_empty());
    let mut ids: Vec<String> = ids.map(id).collect::<Result<_>>()?;
    if ids.len() > MOST_ASIDE {
        let found = ids.len();
        let message = format!("{found} pieces are set aside, and {MOST_ASIDE} may be");
        return Err(Error::input(message).hint("split the job"));
    }
    ids.sort_unstable();
    Ok(ids)
}

fn torque(cell: &Cell<'_>, mark: Mark) -> Result<i64> {
    let torque = read_plain(Quantity::Torque, &pointed(cell.text, mark)?)?;
    check_torque(torque)?;
    Ok(torque)
}
