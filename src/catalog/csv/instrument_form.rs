//! The columns of an instrument: read from a row, and written again.

use super::cells::{Change, Row, amount, pointed};
use super::form::{Aspect, Field, Form, Shape};
use crate::error::{Error, Result};
use crate::model::length::{Length, Unit};
use crate::model::pieces::{Instrument, LimitOfError, above_zero};

/// What a field of an instrument is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Of {
    Name,
    Description,
    Resolution,
    Limits,
    Source,
}

/// The form of an instrument.
pub(super) fn form() -> Form<Of> {
    let plain = |key, what, about| Field { key, what, shape: Shape::Plain, about };
    Form {
        fields: vec![
            plain("instrument", Of::Name, "the instrument's name"),
            plain("description", Of::Description, "what it is"),
            Field {
                key: "resolution",
                what: Of::Resolution,
                shape: Shape::Edge,
                about: "its smallest step",
            },
            plain(
                "limits",
                Of::Limits,
                "limits of error, plus or minus, each up to a length: `0.02 mm to 100 mm | 0.03 mm \
                 to 300 mm`",
            ),
            plain("source", Of::Source, "where the limits come from, with the edition"),
        ],
    }
}

/// Reads a row onto an instrument: columns that are not there leave it as it is.
pub(super) fn read(form: &Form<Of>, row: &mut Row<'_>, instrument: &mut Instrument) {
    for (index, field) in form.fields.iter().enumerate() {
        match field.what {
            // Which instrument it is was read before.
            Of::Name => {}
            Of::Description => row.text(index, &mut instrument.description),
            Of::Resolution => row
                .change(index, Aspect::Value, |item, comma| {
                    above_zero(Length::from_nm(amount(item, comma)?))
                })
                .onto(&mut instrument.resolution),
            Of::Limits => {
                let read = |text: &str, comma| limits(text, comma);
                if let Change::Set(limits) =
                    row.change(index, Aspect::Value, |item, comma| read(item.text, comma))
                {
                    instrument.limits = limits.unwrap_or_default();
                }
            }
            Of::Source => row.text(index, &mut instrument.source),
        }
    }
}

fn limits(text: &str, decimal_comma: bool) -> Result<Vec<LimitOfError>> {
    let length = |text: &str| above_zero(Length::parse(&pointed(text.trim(), decimal_comma)?)?);
    let mut limits = Vec::new();
    for range in text.split('|').filter(|range| !range.trim().is_empty()) {
        let Some((limit, up_to)) = range.split_once(" to ") else {
            return Err(Error::input(format!("`{}` is no limit of error", range.trim()))
                .hint("write the limit and up to which length, such as `0.02 mm to 100 mm`"));
        };
        limits.push(LimitOfError { up_to: length(up_to)?, limit: length(limit)? });
    }
    limits.sort_unstable();
    match limits.windows(2).find(|pair| pair[0].up_to == pair[1].up_to) {
        None => Ok(limits),
        Some(pair) => {
            let up_to = pair[0].up_to.exact(Unit::Mm);
            Err(Error::input(format!("there are two limits up to {up_to}")))
        }
    }
}

/// The cell of an instrument under one of the form's columns, lengths exactly and with their unit.
pub(super) fn cell(instrument: &Instrument, what: Of, unit: Unit) -> String {
    let limit = |limit: &LimitOfError| {
        format!("{} to {}", limit.limit.exact(unit), limit.up_to.exact(unit))
    };
    match what {
        Of::Name => instrument.name.clone(),
        Of::Description => instrument.description.clone(),
        Of::Resolution => instrument.resolution.map(|step| step.exact(unit)).unwrap_or_default(),
        Of::Limits => instrument.limits.iter().map(limit).collect::<Vec<_>>().join(" | "),
        Of::Source => instrument.source.clone(),
    }
}
