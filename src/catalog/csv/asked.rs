//! What is asked of values where they are entered, beyond that they can be: that they are usual, or
//! meant, and that those of one part or job lie in order. What the catalog holds already is not asked
//! again.

use super::cells::Row;
use super::column::{Aspect, column_name};
use crate::error::{Error, Result};
use crate::model::entry::Entry;
use crate::model::job::{Job, READINGS};
use crate::model::kinds::{DimSpec, KindSpec, Quantity};
use crate::model::length::{Length, Unit};
use crate::model::ordered::{Pair, bearing_depths, gap_limits, out_of_order};
use crate::model::part::Part;
use crate::model::pieces::ReadingSet;
use crate::model::usual::{LengthRules, Meant, OWN_READINGS_APART, check_tolerance};

/// Asks the lengths of a part. `old` is the part as the catalog holds it, if it does.
pub(super) fn of_part(row: &mut Row<'_>, part: &Part, old: Option<&Part>, meant: &Meant) {
    let of = of_a(part.kind);
    let bars: Vec<Length> = part.bars.all().collect();
    for (index, spec) in part.kind.dims.iter().enumerate() {
        let Some(entry) = part.dims[index].filter(|_| spec.quantity == Quantity::Length) else {
            continue;
        };
        let before = old.and_then(|old| old.dims[index]);
        if let Some(usual) = spec.usual {
            let asked =
                LengthRules { key: spec.key, of: &of, usual, bars: &bars, sides: spec.sides };
            ask(row, &asked, (entry, before), meant);
        }
        if let Err(error) = apart(part, old, spec, &of, meant) {
            row.wrong(spec.key, error);
        }
    }
    let known = old.map(gap_limits);
    if let (Err(error), false) =
        (in_order(gap_limits(part), meant), known == Some(gap_limits(part)))
    {
        row.wrong("set_gap_min", error);
    }
}

/// Asks how far two dimensions of a part lie apart.
fn apart(part: &Part, old: Option<&Part>, spec: &DimSpec, of: &str, meant: &Meant) -> Result<()> {
    let Some((other, usual)) = spec.usual_less else { return Ok(()) };
    let less = |part: &Part| Some(part.length(spec.key)? - part.length(other)?);
    // That it is not above zero is a matter of what can be.
    let Some(length) = less(part).filter(|length| *length > Length::ZERO) else { return Ok(()) };
    if usual.holds(length)
        || meant.has(spec.key)
        || meant.has(other)
        || old.and_then(less) == Some(length)
    {
        return Ok(());
    }
    let exact = |length: Length| length.exact(Unit::In);
    let (key, low, high) = (spec.key, exact(usual.low), exact(usual.high));
    let shown = exact(length);
    let message =
        format!("`{shown}` is no usual `{key}` less `{other}`{of}, which is {low} to {high}");
    Err(Error::input(message).hint(format!("`--unusual {key}` keeps it")))
}

/// Asks the readings of a job. `old` is the job as the catalog holds it, if it does.
pub(super) fn of_job(row: &mut Row<'_>, job: &Job, old: Option<&Job>, meant: &Meant) {
    let bars: Vec<Length> = job.bars.all().collect();
    for (index, spec) in READINGS.iter().enumerate() {
        let Some(entry) = job.readings[index] else { continue };
        let before = old.and_then(|old| old.readings[index]);
        let (key, usual) = (spec.key, spec.usual);
        let asked = LengthRules { key, of: "", usual, bars: &bars, sides: spec.sides };
        ask(row, &asked, (entry, before), meant);
    }
    let known = old.map(bearing_depths);
    if let (Err(error), false) =
        (in_order(bearing_depths(job), meant), known == Some(bearing_depths(job)))
    {
        row.wrong("bearing_depth_extended", error);
    }
}

/// Asks readings of a dimension of a piece. `own` is the mean of what was read on it before.
pub(super) fn of_readings(
    row: &mut Row<'_>,
    (kind, spec): (&KindSpec, &DimSpec),
    set: &ReadingSet,
    own: Option<Length>,
    meant: &Meant,
) {
    if set.struck.is_some() || spec.quantity != Quantity::Length {
        return;
    }
    let of = of_a(kind);
    let bars: Vec<Length> = set.bar.into_iter().collect();
    let values = || set.values.iter().copied().map(Length::from_nm);
    let unusual = spec.usual.and_then(|usual| {
        let asked = LengthRules { key: spec.key, of: &of, usual, bars: &bars, sides: spec.sides };
        values().find_map(|value| asked.check(value, meant).err())
    });
    let apart = || {
        let like = own.or_else(|| values().next())?;
        let far = values().find(|value| (*value - like).abs() > OWN_READINGS_APART)?;
        let from =
            if own.is_some() { "what was read on it before" } else { "the reading before it" };
        let (far, like) = (far.exact(Unit::In), like.exact(Unit::In));
        let error = Error::input(format!("`{far}` is far from {from}, {like}"));
        Some(error.hint(format!("read it again; `--unusual {}` keeps it", spec.key)))
    };
    let wrong = unusual.or_else(|| apart().filter(|_| !meant.has(spec.key)));
    if let Some(error) = wrong {
        row.wrong("value", error);
    }
}

fn ask(
    row: &mut Row<'_>,
    asked: &LengthRules<'_>,
    (entry, before): (Entry, Option<Entry>),
    meant: &Meant,
) {
    if row.is_wrong(asked.key) {
        return;
    }
    let same = |value: fn(Entry) -> Option<i64>| before.and_then(value) == value(entry);
    if !same(|entry| Some(entry.value))
        && let Err(error) = asked.check(entry.as_length(), meant)
    {
        row.wrong(asked.key, error);
    }
    if let Some(tol) = entry.tol
        && !same(|entry| entry.tol)
        && let Err(error) = check_tolerance(asked.key, Length::from_nm(tol), meant)
    {
        row.wrong(column_name(asked.key, Aspect::Tol), error);
    }
}

/// Refuses two lengths of which the first is not below the second, unless that is meant.
fn in_order([low, high]: Pair, meant: &Meant) -> Result<()> {
    match out_of_order([low, high]) {
        Some(told) if !meant.has(low.0) && !meant.has(high.0) => {
            let keep = format!("were the two swapped? `--unusual {}` keeps them", low.0);
            Err(Error::input(told).hint(keep))
        }
        _ => Ok(()),
    }
}

/// ` of a flywheel`, ` of an engine`.
fn of_a(kind: &KindSpec) -> String {
    let article = if kind.name.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    format!(" of {article} {}", kind.name)
}
