//! The catalog as CSV files that read back to the same catalog, to the nanometre.

use std::collections::HashMap;
use std::fs;
use std::io::Write as _;
use std::iter::once;
use std::path::Path;

use super::form::{Aspect, Form, column_name};
use super::holds::Holds;
use super::text::join;
use super::{instrument_form, job_form, part_form, piece_form, reading_form};
use crate::catalog::open::plain;
use crate::error::{Error, Result};
use crate::model::job::Job;
use crate::model::kinds::{KindSpec, Kinds, Quantity};
use crate::model::length::Unit;
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::pieces::{Condition, Measurements, ReadingSet, Specimen};

/// One CSV file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CsvFile {
    /// Its name, which tells what it holds.
    pub name: String,
    /// What is in it.
    pub text: String,
    /// How many rows stand under its header.
    pub rows: usize,
}

/// Everything but the house numbers: a file for each kind, and one each for jobs, pieces, readings
/// and instruments. With `kind` (a kind's name, its plural, or a word such as `jobs`) only that one.
///
/// # Errors
///
/// An input error that names the nearest kind where there is none of this name.
pub fn export(
    library: &Library,
    jobs: &[Job],
    kind: Option<&str>,
    unit: Unit,
) -> Result<Vec<CsvFile>> {
    let only = kind.map(|name| Holds::asked(library.kinds, name)).transpose()?;
    let wanted = |holds| only.is_none_or(|only| only == holds);
    let mut files: Vec<CsvFile> = library
        .kinds
        .iter()
        .filter(|kind| wanted(Holds::Parts(Some(kind))))
        .map(|kind| part_file(kind, library.of_kind(kind.key), unit))
        .collect();
    if wanted(Holds::Jobs) {
        files.push(job_file(library.kinds, jobs, unit));
    }
    let measured = measured_files(&library.parts, &library.measured, unit);
    files.extend(measured.into_iter().filter(|(holds, _)| wanted(*holds)).map(|(_, file)| file));
    Ok(files)
}

/// One stream: the parts of one kind, the jobs or the like, or (without `kind`) every part under the
/// columns of all kinds.
///
/// # Errors
///
/// As [`export`].
pub fn export_one(
    library: &Library,
    jobs: &[Job],
    kind: Option<&str>,
    unit: Unit,
) -> Result<CsvFile> {
    let Some(name) = kind else { return Ok(all_parts(library, unit)) };
    let mut files = export(library, jobs, Some(name), unit)?;
    files.pop().ok_or_else(|| Error::input(format!("`{name}` is no kind of part")))
}

/// Writes files into a directory, which is made if it is missing. A file without rows is written
/// only over an older one of its name.
///
/// Returns the files written.
///
/// # Errors
///
/// A storage error where one cannot be written; each file is replaced as a whole.
pub fn write_files<'f>(files: &'f [CsvFile], directory: &Path) -> Result<Vec<&'f CsvFile>> {
    let refuse = |path: &Path, error: &std::io::Error| {
        Error::storage(format!("`{}` cannot be written: {}", path.display(), plain(error)))
    };
    fs::create_dir_all(directory).map_err(|error| refuse(directory, &error))?;
    let mut written = Vec::new();
    for file in files {
        let path = directory.join(&file.name);
        if file.rows == 0 && !path.exists() {
            continue;
        }
        let write = || -> std::io::Result<()> {
            let mut builder = tempfile::Builder::new();
            builder.prefix(".bellstack-").suffix(".csv");
            #[cfg(unix)]
            {
                use std::os::unix::fs::PermissionsExt as _;
                builder.permissions(fs::Permissions::from_mode(0o666));
            }
            let mut new = builder.tempfile_in(directory)?;
            new.write_all(file.text.as_bytes())?;
            new.persist(&path).map_err(|error| error.error)?;
            Ok(())
        };
        write().map_err(|error| refuse(&path, &error))?;
        written.push(file);
    }
    Ok(written)
}

/// The file of one kind.
pub(super) fn part_file<'p>(
    kind: &'static KindSpec,
    parts: impl Iterator<Item = &'p Part>,
    unit: Unit,
) -> CsvFile {
    let form = part_form::form(kind);
    let cell = |part: &&Part, what, aspect| part_form::cell(part, what, aspect, unit);
    table(format!("{}.csv", kind.plural), &form, parts, cell)
}

/// The file of the jobs.
pub(super) fn job_file(kinds: Kinds, jobs: &[Job], unit: Unit) -> CsvFile {
    let form = job_form::form(kinds);
    let cell = |job: &&Job, what, aspect| job_form::cell(job, what, aspect, unit);
    table("jobs.csv".into(), &form, jobs.iter(), cell)
}

/// The files of pieces, readings and instruments, with what each holds.
pub(super) fn measured_files(
    parts: &[Part],
    measured: &Measurements,
    unit: Unit,
) -> [(Holds, CsvFile); 3] {
    let pieces = table(
        "pieces.csv".into(),
        &piece_form::form(),
        measured.specimens.iter(),
        |piece, what, _| piece_form::cell(piece, what),
    );
    // In the order in which they were entered, so that they get the same numbers again.
    let mut sets: Vec<&ReadingSet> = measured.readings.iter().collect();
    sets.sort_by_key(|set| set.number);
    let of_part: HashMap<&str, &KindSpec> =
        parts.iter().map(|part| (part.id.as_str(), part.kind)).collect();
    let condition: HashMap<(&str, &str), Condition> = measured
        .specimens
        .iter()
        .map(|piece| ((piece.part.as_str(), piece.label.as_str()), piece.condition))
        .collect();
    let readings =
        table("readings.csv".into(), &reading_form::form(), sets.into_iter(), |set, what, _| {
            let condition = condition.get(&(set.part.as_str(), set.piece.as_str())).copied();
            let kind = of_part.get(set.part.as_str());
            let spec = kind.and_then(|kind| kind.dim(&set.dimension).ok());
            let quantity = spec.map_or(Quantity::Length, |spec| spec.quantity);
            let sides = spec.and_then(|spec| spec.sides);
            reading_form::cell(set, (quantity, sides), condition.unwrap_or_default(), what, unit)
        });
    let instruments = table(
        "instruments.csv".into(),
        &instrument_form::form(),
        measured.instruments.iter(),
        |instrument, what, _| instrument_form::cell(instrument, what, unit),
    );
    [(Holds::Pieces, pieces), (Holds::Readings, readings), (Holds::Instruments, instruments)]
}

/// The file of sets of readings of one piece that are not in the catalog, which its import makes.
pub fn readings_file(part: &Part, piece: &Specimen, sets: &[ReadingSet], unit: Unit) -> CsvFile {
    let (specimens, readings) = (vec![piece.clone()], sets.to_vec());
    let measured = Measurements { specimens, readings, ..Measurements::default() };
    let [_, (_, readings), _] = measured_files(std::slice::from_ref(part), &measured, unit);
    readings
}

fn table<T, W: Copy + PartialEq>(
    name: String,
    form: &Form<W>,
    items: impl Iterator<Item = T>,
    cell: impl Fn(&T, W, Aspect) -> String,
) -> CsvFile {
    let row =
        |item| form.columns().map(|(field, aspect)| cell(&item, field.what, aspect)).collect();
    let rows: Vec<Vec<String>> = items.map(row).collect();
    let count = rows.len();
    let is_bar: Vec<bool> = form.columns().map(|(_, aspect)| aspect == Aspect::Bar).collect();
    let rows = without_empty_bars(form.header(), rows, &is_bar);
    CsvFile { name, rows: count, text: join(rows) }
}

/// The header and the rows without the columns of bars in which nothing stands: most lengths are read
/// over none. A file without rows is a template and keeps them.
fn without_empty_bars(
    header: Vec<String>,
    rows: Vec<Vec<String>>,
    is_bar: &[bool],
) -> impl Iterator<Item = Vec<String>> {
    let stays: Vec<bool> = is_bar
        .iter()
        .enumerate()
        .map(|(column, is_bar)| {
            !is_bar || rows.is_empty() || rows.iter().any(|row| !row[column].is_empty())
        })
        .collect();
    once(header).chain(rows).map(move |row| {
        let kept = row.into_iter().zip(&stays).filter(|(_, stays)| **stays);
        kept.map(|(cell, _)| cell).collect()
    })
}

/// Every part in one table: each kind's columns, those of one name in one place.
fn all_parts(library: &Library, unit: Unit) -> CsvFile {
    let mut columns: Vec<(&str, Aspect)> = Vec::new();
    for kind in library.kinds.iter() {
        for (field, aspect) in part_form::form(kind).columns() {
            if !columns.contains(&(field.key, aspect)) {
                columns.push((field.key, aspect));
            }
        }
    }
    let header = columns.iter().map(|(key, aspect)| column_name(key, *aspect)).collect();
    let is_bar: Vec<bool> = columns.iter().map(|(_, aspect)| *aspect == Aspect::Bar).collect();
    let mut records: Vec<Vec<String>> = Vec::new();
    for kind in library.kinds.iter() {
        let form = part_form::form(kind);
        let fields: Vec<_> = columns
            .iter()
            .map(|(key, aspect)| {
                let field = form.fields.iter().find(|field| field.key == *key);
                field.map(|field| (field.what, *aspect))
            })
            .collect();
        for part in library.of_kind(kind.key) {
            let cell = |(what, aspect)| part_form::cell(part, what, aspect, unit);
            records.push(fields.iter().map(|field| field.map(cell).unwrap_or_default()).collect());
        }
    }
    CsvFile {
        name: "parts.csv".into(),
        text: join(without_empty_bars(header, records, &is_bar)),
        rows: library.parts.len(),
    }
}
