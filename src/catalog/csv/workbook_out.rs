//! The catalog as one workbook: a worksheet a kind, numbers as numbers in one unit a column, so that it
//! sorts and adds up, and reads back to the nanometre.

use std::path::Path;

use rust_xlsxwriter::{Format, Workbook, Worksheet, XlsxError};

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

/// What stands in a cell.
#[derive(Debug, Clone, PartialEq)]
enum Shown {
    Blank,
    Number(f64),
    Text(String),
}

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
    let mut book = Book { workbook: Workbook::new(), unit, sheets: Vec::new() };
    for kind in library.kinds.iter().filter(|kind| wanted(Holds::Parts(Some(kind)))) {
        let parts: Vec<_> = library.of_kind(kind.key).collect();
        book.add(kind.plural, &part_form::form(kind), &parts)?;
    }
    if wanted(Holds::Jobs) {
        book.add("jobs", &job_form::form(library.kinds), &jobs.iter().collect::<Vec<_>>())?;
    }
    let measured = &library.measured;
    if wanted(Holds::Pieces) {
        let pieces: Vec<_> = measured.specimens.iter().collect();
        book.add("pieces", &piece_form::form(), &pieces)?;
    }
    if wanted(Holds::Readings) {
        let row = |set: &crate::model::pieces::ReadingSet| {
            let spec = library.find(&set.part)?.kind.dim(&set.dimension).ok()?;
            let condition = measured.piece(&set.part, &set.piece).map(|piece| piece.condition);
            Some(ReadingRow::new(set.clone(), spec, condition))
        };
        let rows: Vec<ReadingRow> = measured.readings.iter().filter_map(row).collect();
        book.add("readings", &reading_form::form(), &rows.iter().collect::<Vec<_>>())?;
    }
    if wanted(Holds::Instruments) {
        let instruments: Vec<_> = measured.instruments.iter().collect();
        book.add("instruments", &instrument_form::form(), &instruments)?;
    }
    if wanted(Holds::House) {
        let settings = library.house.settings(library.kinds, unit);
        book.add("window", &house_form::form(), &settings.iter().collect::<Vec<_>>())?;
    }
    book.finish()
}

/// The bytes of a workbook, and how many rows each of its worksheets has.
type BookFile = (Vec<u8>, Vec<(String, usize)>);

struct Book {
    workbook: Workbook,
    unit: Unit,
    sheets: Vec<(String, usize)>,
}

impl Book {
    /// Adds a worksheet, unless nothing would be on it.
    fn add<T: 'static>(&mut self, name: &str, form: &RecordForm<T>, things: &[&T]) -> Result<()> {
        if things.is_empty() {
            return Ok(());
        }
        let unit = self.unit;
        let sheet = self.workbook.add_worksheet();
        let write = |sheet: &mut Worksheet| -> Result<(), XlsxError> {
            sheet.set_name(name)?;
            let (bold, digits) =
                (Format::new().set_bold(), Format::new().set_num_format("0.000##"));
            let columns = form.columns().filter(|(_, aspect)| *aspect != Aspect::Bar);
            for (column, (field, aspect)) in (0_u16..).zip(columns) {
                let (heading, cells) = column_of(field, aspect, form, things, unit);
                sheet.write_string_with_format(0, column, &heading, &bold)?;
                for (row, cell) in (1_u32..).zip(cells) {
                    match cell {
                        Shown::Blank => {}
                        Shown::Number(number) if field.shape.is_length() => {
                            sheet.write_number_with_format(row, column, number, &digits)?;
                        }
                        Shown::Number(number) => {
                            sheet.write_number(row, column, number)?;
                        }
                        Shown::Text(text) => {
                            sheet.write_string(row, column, &text)?;
                        }
                    }
                }
            }
            let own = form.own_names(things.iter().copied());
            let behind = form.columns().filter(|(_, aspect)| *aspect != Aspect::Bar).count();
            for (column, name) in (0_u16..).skip(behind).zip(&own) {
                sheet.write_string_with_format(0, column, format!("{OWN}{name}"), &bold)?;
                for (row, thing) in (1_u32..).zip(things) {
                    if let Some(text) = form.own(thing).and_then(|own| own.get(name)) {
                        sheet.write_string(row, column, text)?;
                    }
                }
            }
            sheet.set_freeze_panes(1, 0)?;
            sheet.autofit();
            Ok(())
        };
        write(sheet).map_err(|error| unwritable(&error))?;
        self.sheets.push((name.into(), things.len()));
        Ok(())
    }

    fn finish(mut self) -> Result<BookFile> {
        if self.sheets.is_empty() {
            return Err(Error::input("there is nothing to write into a workbook"));
        }
        let bytes = self.workbook.save_to_buffer().map_err(|error| unwritable(&error))?;
        Ok((bytes, self.sheets))
    }
}

fn unwritable(error: &XlsxError) -> Error {
    Error::storage(format!("the workbook cannot be made: {error}")).hint("export CSV files instead")
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
) -> (String, Vec<Shown>) {
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
            let cells = lengths
                .into_iter()
                .map(|length| length.map_or(Shown::Blank, |length| Shown::Number(number(length))));
            return (format!("{name}_{}", unit.name()), cells.collect());
        }
        return (name, texts.into_iter().map(text).collect());
    }
    // A part number may be made of digits, and is none to reckon with.
    let counts = field.shape == ColumnShape::Number || OF_NUMBERS.contains(&field.key);
    let cells = texts.into_iter().map(|cell| match cell.parse::<f64>() {
        Ok(number) if counts => Shown::Number(number),
        _ => text(cell),
    });
    (name, cells.collect())
}

fn text(cell: String) -> Shown {
    if cell.is_empty() { Shown::Blank } else { Shown::Text(cell) }
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
