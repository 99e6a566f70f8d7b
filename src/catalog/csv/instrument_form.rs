//! The columns of an instrument.

use super::cells::{Cell, amount};
use super::field::{Field, Member, member};
use super::form::RecordForm;
use super::mark::{Mark, pointed};
use crate::error::{Error, Result};
use crate::model::length::{Length, Unit};
use crate::model::pieces::{Instrument, LimitOfError, above_zero};

/// The form of an instrument.
pub(in crate::catalog) fn form() -> RecordForm<Instrument> {
    RecordForm {
        fields: vec![
            Field::name("instrument", "the instrument's name", |instrument: &Instrument| {
                instrument.name.clone()
            }),
            Field::text("description", "what it is", member!(Instrument, description)),
            Field::optional(
                "resolution",
                "its smallest step",
                member!(Instrument, resolution),
                |cell, mark| above_zero(Length::from_nm(amount(cell, mark)?)),
                Length::exact,
            )
            .edge(),
            Field::or(
                "limits",
                "limits of error, plus or minus, each up to a length: `0.02 mm to 100 mm | 0.03 mm \
                 to 300 mm`",
                member!(Instrument, limits),
                Some(Vec::new()),
                limits,
                |limits, unit| {
                    let shown = limits.iter().map(|limit| shown(limit, unit));
                    shown.collect::<Vec<_>>().join(" | ")
                },
            ),
            Field::text(
                "source",
                "where the limits come from, with the edition",
                member!(Instrument, source),
            ),
        ],
    }
}

fn shown(limit: &LimitOfError, unit: Unit) -> String {
    format!("{} to {}", limit.limit.exact(unit), limit.up_to.exact(unit))
}

fn limits(cell: &Cell<'_>, mark: Mark) -> Result<Vec<LimitOfError>> {
    let length = |text: &str| above_zero(Length::parse(&pointed(text.trim(), mark)?)?);
    let mut limits = Vec::new();
    for range in cell.text.split('|').filter(|range| !range.trim().is_empty()) {
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
