//! The catalog as one workbook: a worksheet a kind, numbers as numbers in one unit a column, so that it
//! sorts and adds up, and reads back to the nanometre.

use std::path::Path;

use super::column::{Aspect, ColumnShape, column_name};
use super::field::Field;
use super::form::RecordForm;
use super::holds::Holds;
use super::reading_form::ReadingRow;
use super::{house_form, instrument_form, job_form, part_form, piece_form, reading_form};
use crate::catalog::disk::{Directories, Workshop, around, plain};
use crate::error::{Error, Result};
use crate::model::job::Job;
use crate::model::length::{Length, Unit};
use crate::model::library::Library;
use crate::model::part::OWN;
use crate::model::sides::{Side, less_bar};
use crate::model::workbook::{self, SheetCell, SheetColumn};

/// The bytes of a workbook, and how many rows each of its worksheets has. Lengths are without the bars
/// that they were read over, whose columns it does not have.
///
/// # Errors
///
/// An input error where there is nothing to write, and one that names the nearest kind where there is
/// none of this name.
pub fn workbook(
    library: &Library,
    jobs: &[Job],
    kind: Option<&str>,
    unit: Unit,
) -> Result<BookFile> {
    let only = kind.map(|name| Holds::asked(library.kinds, name)).transpose()?;
    let wanted = |holds| only.is_none_or(|only| only == holds);
    let mut sheets = Vec::new();
    for kind in library.kinds.iter().filter(|kind| wanted(Holds::Parts(Some(kind)))) {
        let parts: Vec<_> = library.of_kind(kind.key).collect();
        sheets.push(sheet(kind.plural, &part_form::form(kind), &parts, unit));
    }
    if wanted(Holds::Jobs) {
        let jobs: Vec<_> = jobs.iter().collect();
        sheets.push(sheet("jobs", &job_form::form(library.kinds), &jobs, unit));
    }
    let measured = &library.measured;
    if wanted(Holds::Pieces) {
        let pieces: Vec<_> = measured.specimens.iter().collect();
        sheets.push(sheet("pieces", &piece_form::form(), &pieces, unit));
    }
    if wanted(Holds::Readings) {
        let row = |set: &crate::model::pieces::ReadingSet| {
            let spec = library.find(&set.part)?.kind.dim(&set.dimension).ok()?;
            let condition = measured.piece(&set.part, &set.piece).map(|piece| piece.condition);
            Some(ReadingRow::new(set.clone(), spec, condition))
        };
        let rows: Vec<ReadingRow> = measured.readings.iter().filter_map(row).collect();
        let rows: Vec<_> = rows.iter().collect();
        sheets.push(sheet("readings", &reading_form::form(), &rows, unit));
    }
    if wanted(Holds::Instruments) {
        let instruments: Vec<_> = measured.instruments.iter().collect();
        sheets.push(sheet("instruments", &instrument_form::form(), &instruments, unit));
    }
    if wanted(Holds::House) {
        let settings = library.house.settings(library.kinds, unit);
        let settings: Vec<_> = settings.iter().collect();
        sheets.push(sheet("window", &house_form::form(), &settings, unit));
    }
    // Nothing is on a worksheet without a row.
    sheets.retain(|(.., rows)| *rows > 0);
    if sheets.is_empty() {
        return Err(Error::input("there is nothing to write into a workbook"));
    }
    let counts = sheets.iter().map(|(name, _, rows)| ((*name).to_string(), *rows)).collect();
    let sheets = sheets.into_iter().map(|(name, columns, _)| (name, columns)).collect();
    Ok((workbook::workbook(sheets, "export CSV files instead")?, counts))
}

/// The bytes of a workbook, and how many rows each of its worksheets has.
type BookFile = (Vec<u8>, Vec<(String, usize)>);

/// A worksheet: its name, its columns, and how many rows it has.
fn sheet<'n, T: 'static>(
    name: &'n str,
    form: &RecordForm<T>,
    things: &[&T],
    unit: Unit,
) -> (&'n str, Vec<SheetColumn>, usize) {
    let columns = form.columns().filter(|(_, aspect)| *aspect != Aspect::Bar);
    let columns = columns.map(|(field, aspect)| column_of(field, aspect, form, things, unit));
    let own = form.own_names(things.iter().copied());
    let of_own = own.iter().map(|name| {
        let text = |thing: &&T| form.own(thing).and_then(|own| own.get(name)).cloned();
        let cells = things.iter().map(|thing| SheetCell::words(text(thing).unwrap_or_default()));
        (format!("{OWN}{name}"), cells.collect())
    });
    (name, columns.chain(of_own).collect(), things.len())
}

/// The plain fields in which numbers stand.
const OF_NUMBERS: [&str; 4] = ["price", "on_hand", "least_on_hand", "lead_days"];

/// A column's heading and its cells. Where one of its cells is no single length, such as several
/// readings, all of them are text as in CSV.
fn column_of<T>(
    field: &Field<T>,
    aspect: Aspect,
    form: &RecordForm<T>,
    things: &[&T],
    unit: Unit,
) -> SheetColumn {
    let name = column_name(field.key, aspect);
    let texts: Vec<String> = things.iter().map(|thing| (field.get)(thing, aspect, unit)).collect();
    if field.shape.is_length() {
        let has_bars = field.shape.aspects().any(|aspect| aspect == Aspect::Bar);
        let length = |(thing, text): (&&T, &String)| -> Result<Option<Length>> {
            if text.is_empty() {
                return Ok(None);
            }
            let sides = field.shape.sides().filter(|_| aspect == Aspect::Value);
            let (read, side) = match sides {
                Some(sides) => sides.read(text, Length::parse)?,
                None => (Length::parse(text)?, Side::Unsaid),
            };
            let bar = match aspect {
                Aspect::Value if has_bars => (field.get)(thing, Aspect::Bar, unit),
                _ => String::new(),
            };
            if bar.is_empty() {
                return Ok(Some(read));
            }
            less_bar(read, side, Length::parse(&bar)?, sides).map(Some)
        };
        let lengths: Result<Vec<Option<Length>>> = things.iter().zip(&texts).map(length).collect();
        // A bar of a form's own, as readings have, is taken off by whoever reads the text.
        let own_bar = form.fields.iter().any(|other| other.key == "bar");
        if let (Ok(lengths), false) = (lengths, own_bar && field.key == "value") {
            let number = |length: Length| match unit {
                Unit::In => length.inches(),
                Unit::Mm => length.millimetres(),
            };
            let cells = lengths.into_iter().map(|length| {
                length.map_or(SheetCell::Blank, |length| SheetCell::Length(number(length)))
            });
            return (format!("{name}_{}", unit.name()), cells.collect());
        }
        return (name, texts.into_iter().map(SheetCell::words).collect());
    }
    // A part number may be made of digits, and is none to reckon with.
    let counts = field.shape == ColumnShape::Number || OF_NUMBERS.contains(&field.key);
    let cells = texts.into_iter().map(|cell| match cell.parse::<f64>() {
        Ok(number) if counts => SheetCell::Number(number),
        _ => SheetCell::words(cell),
    });
    (name, cells.collect())
}

/// Writes a workbook into a file, in the place of what stood there.
///
/// # Errors
///
/// A storage error where it cannot be written; then everything is as it was.
pub fn write_workbook(bytes: &[u8], path: &Path) -> Result<()> {
    let put = || -> std::io::Result<()> {
        let directories = Directories::make(around(path))?;
        let workshop = Workshop::in_directory(around(path))?;
        workshop.write(path.file_name().unwrap_or_default(), bytes)?;
        workshop.place_all()?;
        directories.keep();
        Ok(())
    };
    put().map_err(|error| {
        let shown = path.display();
        Error::storage(format!("`{shown}` cannot be written: {}", plain(&error)))
            .hint("no file was written")
    })
}
