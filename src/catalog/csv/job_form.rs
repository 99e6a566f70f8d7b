//! The columns of a job: read from a row, and written again.

use super::asked;
use super::cells::{Change, Row};
use super::form::{Aspect, Field, Form, Shape};
use super::part_form::id;
use crate::error::{Error, Result};
use crate::model::bars::as_read;
use crate::model::edge::Edge;
use crate::model::job::{Job, READINGS, Word, check_torque};
use crate::model::kinds::{Kinds, Quantity, Takes};
use crate::model::length::{Length, Unit};
use crate::model::part::{read_plain, show_value};
use crate::model::usual::Meant;

/// What a field of a job is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Of {
    Id,
    Description,
    /// The parts in the slot of this index, and how many it takes.
    Slot(usize, Takes),
    MasterCylinder,
    Torque,
    /// The reading of this index.
    Reading(usize),
    CrankOverPlate,
    DepthOverPlate,
    DiscState,
    CrankPushed,
    StarterOn,
    /// The edge of the job's own window of this index.
    Edge(Edge),
}

/// The form of a job.
pub(super) fn form(kinds: Kinds) -> Form<Of> {
    let plain = |key, what, about| Field { key, what, shape: Shape::Plain, about };
    let mut fields = vec![
        plain("job", Of::Id, "the job's name"),
        plain("description", Of::Description, "what it is"),
    ];
    fields.extend(kinds.slots().enumerate().map(|(index, (kind, slot))| {
        let about = match slot.takes {
            Takes::UpToTwo => "part numbers fitted today, `A|B` for two",
            _ if kind.slot.is_some_and(|slot| slot.fixed) => "part number that stays",
            _ => "part number fitted today",
        };
        plain(slot.key, Of::Slot(index, slot.takes), about)
    }));
    fields.extend([
        plain("master_cylinder", Of::MasterCylinder, "part number of the master cylinder"),
        plain("torque", Of::Torque, "torque that the clutch has to carry, N m"),
    ]);
    fields.extend(READINGS.iter().enumerate().map(|(index, spec)| {
        let shape = Shape::length(spec.sides);
        Field { key: spec.key, what: Of::Reading(index), shape, about: spec.about }
    }));
    fields.extend([
        plain(
            "crank_protrusion_over_plate",
            Of::CrankOverPlate,
            "yes where it was taken over the fitted block plate",
        ),
        plain(
            "finger_depth_over_plate",
            Of::DepthOverPlate,
            "yes where it was taken over the fitted block plate",
        ),
        plain("fitted_disc_state", Of::DiscState, "new, worn or unknown; blank is unknown"),
        plain("crank_pushed", Of::CrankPushed, "front, rear or unknown; blank is unknown"),
        plain("starter_on", Of::StarterOn, "block, bell or unknown; blank is unknown"),
    ]);
    fields.extend(Edge::ALL.map(|edge| Field {
        key: edge.key(),
        what: Of::Edge(edge),
        shape: Shape::Edge,
        about: "an edge of the job's own window",
    }));
    Form { fields }
}

/// Reads a row onto a job: columns that are not there leave it as it is. What is wrong is noted in
/// the row; whether the parts are there and fit is checked afterwards.
///
/// `old` is the job as the catalog holds it; `meant` is what is meant though it is unusual.
pub(super) fn read(
    form: &Form<Of>,
    row: &mut Row<'_>,
    job: &mut Job,
    old: Option<&Job>,
    meant: &Meant,
) {
    for (index, field) in form.fields.iter().enumerate() {
        match field.what {
            Of::Id => {}
            Of::Description => row.text(index, &mut job.description),
            Of::Slot(slot, takes) => {
                let read = |text: &str| ids(text, takes);
                if let Change::Set(ids) =
                    row.change(index, Aspect::Value, |item, _| read(item.text))
                {
                    job.fitted[slot] = ids.unwrap_or_default();
                }
            }
            Of::MasterCylinder => row
                .change(index, Aspect::Value, |item, _| id(item.text).map(String::from))
                .onto(&mut job.master_cylinder),
            Of::Torque => {
                row.change(index, Aspect::Value, |item, comma| {
                    torque(&super::cells::pointed(item.text, comma)?)
                })
                .onto(&mut job.torque);
            }
            Of::Reading(reading) => {
                let old = (job.readings[reading], job.bars.get(reading));
                let (new, bar) = row.entry((index, field.key, field.shape), Quantity::Length, old);
                job.bars.set(reading, bar);
                if let Some(Err(error)) = new.map(|entry| READINGS[reading].check(entry)) {
                    let column = row.column_of(index, field.key);
                    row.wrong(column, error);
                }
                job.readings[reading] = new;
            }
            Of::CrankOverPlate => word(row, index, &mut job.crank_over_plate),
            Of::DepthOverPlate => word(row, index, &mut job.depth_over_plate),
            Of::DiscState => word(row, index, &mut job.disc_state),
            Of::CrankPushed => word(row, index, &mut job.crank_pushed),
            Of::StarterOn => word(row, index, &mut job.starter_on),
            Of::Edge(edge) => row.edge(index).onto(&mut job.window[edge]),
        }
    }
    asked::of_job(row, job, old, meant);
}

fn word<W: Word>(row: &mut Row<'_>, field: usize, value: &mut W) {
    let change = row.change(field, Aspect::Value, |item, _| {
        W::from_word(&item.text.trim().to_ascii_lowercase()).ok_or_else(|| {
            let known: Vec<String> = W::WORDS.iter().map(|(word, _)| format!("`{word}`")).collect();
            Error::input(format!("`{}` is not known here", item.text.trim()))
                .hint(format!("write {} or leave it blank", known.join(", ")))
        })
    });
    if let Change::Set(new) = change {
        *value = new.unwrap_or_default();
    }
}

fn ids(text: &str, takes: Takes) -> Result<Vec<String>> {
    let ids: Vec<&str> = text.split('|').map(str::trim).filter(|id| !id.is_empty()).collect();
    let most = takes.most();
    if ids.len() > most {
        let found = ids.len();
        let most = if most == 1 { "one part" } else { "two parts at most" };
        return Err(Error::input(format!(
            "`{text}` names {found} parts, and the slot takes {most}"
        )));
    }
    let mut ids: Vec<String> =
        ids.into_iter().map(|text| id(text).map(String::from)).collect::<Result<_>>()?;
    // Shims stand in no order, so that one pair is written in one way.
    ids.sort_unstable();
    Ok(ids)
}

fn torque(text: &str) -> Result<i64> {
    let torque = read_plain(Quantity::Torque, text)?;
    check_torque(torque)?;
    Ok(torque)
}

/// The cell of a job under one of the form's columns, lengths exactly and with their unit.
pub(super) fn cell(job: &Job, what: Of, aspect: Aspect, unit: Unit) -> String {
    match what {
        Of::Id => job.id.clone(),
        Of::Description => job.description.clone(),
        Of::Slot(slot, _) => job.fitted[slot].join("|"),
        Of::MasterCylinder => job.master_cylinder.clone().unwrap_or_default(),
        Of::Torque => {
            job.torque.map(|torque| show_value(Quantity::Torque, torque, unit)).unwrap_or_default()
        }
        Of::Reading(reading) => {
            let Some(entry) = job.readings[reading] else { return String::new() };
            let (sides, bar) = (READINGS[reading].sides, job.bars.get(reading));
            let exact = |length: Length| length.exact(unit);
            match aspect {
                Aspect::Value => as_read(entry.as_length(), bar, sides, unit),
                Aspect::Tol => entry.tol.map(Length::from_nm).map(exact).unwrap_or_default(),
                Aspect::Bar => bar.map(exact).unwrap_or_default(),
            }
        }
        Of::CrankOverPlate => job.crank_over_plate.word().into(),
        Of::DepthOverPlate => job.depth_over_plate.word().into(),
        Of::DiscState => job.disc_state.word().into(),
        Of::CrankPushed => job.crank_pushed.word().into(),
        Of::StarterOn => job.starter_on.word().into(),
        Of::Edge(edge) => job.window[edge].map(|limit| limit.exact(unit)).unwrap_or_default(),
    }
}
