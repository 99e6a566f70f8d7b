//! Pieces, readings and instruments by hand: `KEY=VALUE` pairs are the cells of one row.

use super::edit::{agree, row};
use super::plan_measured::recounted;
use super::{asked, instrument_form, piece_form, reading_form};
use crate::catalog::Writer;
use crate::error::{Error, Result};
use crate::model::kinds::KindSpec;
use crate::model::pieces::{
    Condition, Instrument, Measurements, PIECE_MARK, ReadingSet, Specimen, part_and_label,
};
use crate::model::usual::Meant;

/// The part number and the label in a piece's name.
///
/// # Errors
///
/// Says how a piece is named where the name is none.
pub fn piece_named(name: &str) -> Result<(&str, &str)> {
    let parts = part_and_label(name.trim()).map(|(part, label)| (part.trim(), label.trim()));
    parts.ok_or_else(|| {
        Error::input(format!("`{name}` names no piece"))
            .hint(format!("write part number and label, such as `{name}{PIECE_MARK}A`"))
    })
}

/// Adds a piece.
///
/// # Errors
///
/// Refuses an unknown part, a label that is taken, unknown keys (naming the nearest), and a
/// condition that is not given.
pub fn add_piece(writer: &Writer<'_>, name: &str, pairs: &[String]) -> Result<()> {
    let (part, label) = piece_named(name)?;
    let mut piece = Specimen::new(part, label, Condition::default());
    fill_piece(&mut piece, pairs, false)?;
    writer.insert_piece(&piece)
}

/// Changes what the pairs say of a piece. Returns warnings about readings that now count among
/// others.
///
/// # Errors
///
/// Refuses a piece that is not there, and unknown keys (naming the nearest).
pub fn edit_piece(writer: &Writer<'_>, name: &str, pairs: &[String]) -> Result<Vec<String>> {
    let (part, label) = piece_named(name)?;
    let measured = writer.reader().load_measured()?;
    let Some(old) = measured.piece(part, label) else {
        return Err(writer.reader().no_piece(part, label));
    };
    let mut piece = old.clone();
    fill_piece(&mut piece, pairs, true)?;
    writer.update_piece(&piece)?;
    Ok(recounted(old, &piece, Some(&measured)).into_iter().collect())
}

fn fill_piece(piece: &mut Specimen, pairs: &[String], known: bool) -> Result<()> {
    let form = piece_form::form();
    let mut row = row(&form, pairs, &["part", "piece"])?;
    piece_form::read(&form, &mut row, piece, known);
    agree(row.into_wrongs())
}

/// Reads a set of readings of one dimension of a piece from pairs such as `value=1.001 1.002 in`
/// and `bar=1/4 in`. Returns what is unusual about them too.
///
/// # Errors
///
/// Refuses a dimension that the kind does not have, unknown keys (naming the nearest), and values
/// that cannot be.
pub fn read_set(
    kind: &KindSpec,
    (part, label): (&str, &str),
    dimension: &str,
    pairs: &[String],
    (measured, meant): (&Measurements, &Meant),
) -> Result<(ReadingSet, Vec<String>)> {
    let spec = kind.dim(dimension.trim())?;
    let form = reading_form::form();
    let mut row = row(&form, pairs, &["part", "piece", "dimension", "condition"])?;
    let mut set = ReadingSet::new(part, label, spec.key);
    let unusual = reading_form::read(&form, &mut row, spec, &mut set);
    let own = measured.mean(part, label, spec.key);
    asked::of_readings(&mut row, (kind, spec), &set, own, meant);
    agree(row.into_wrongs())?;
    Ok((set, unusual))
}

/// The condition of this word.
///
/// # Errors
///
/// Names the conditions that there are.
pub fn condition_named(word: &str) -> Result<Condition> {
    piece_form::condition(word)
}

/// The day of this date.
///
/// # Errors
///
/// Says how a date is written.
pub fn day_named(date: &str) -> Result<String> {
    reading_form::day(date)
}

/// Adds an instrument.
///
/// # Errors
///
/// Refuses a name that is taken, unknown keys (naming the nearest), and limits that cannot be.
pub fn add_instrument(writer: &Writer<'_>, name: &str, pairs: &[String]) -> Result<()> {
    let mut instrument = Instrument { name: name.trim().into(), ..Instrument::default() };
    fill_instrument(&mut instrument, pairs)?;
    writer.insert_instrument(&instrument)
}

/// Changes what the pairs say of an instrument; a blank value blanks it.
///
/// # Errors
///
/// Refuses a name that is not there, unknown keys (naming the nearest), and limits that cannot be.
pub fn edit_instrument(writer: &Writer<'_>, name: &str, pairs: &[String]) -> Result<()> {
    let name = name.trim();
    let measured = writer.reader().load_measured()?;
    let Some(old) = measured.instrument(name) else {
        return Err(writer.reader().no_instrument(name));
    };
    let mut instrument = old.clone();
    fill_instrument(&mut instrument, pairs)?;
    writer.update_instrument(&instrument)
}

fn fill_instrument(instrument: &mut Instrument, pairs: &[String]) -> Result<()> {
    let form = instrument_form::form();
    let mut row = row(&form, pairs, &["instrument"])?;
    instrument_form::read(&form, &mut row, instrument);
    agree(row.into_wrongs())
}
