//! The catalog as CSV files that read back to the same catalog, to the nanometre.

use std::collections::{BTreeSet, HashMap};
use std::iter::once;
use std::path::Path;

use super::form::{Columns as _, RecordForm};
use super::holds::Holds;
use super::reading_form::ReadingRow;
use super::text::join;
use super::{house_form, instrument_form, job_form, part_form, piece_form, reading_form};
use crate::catalog::disk;
use crate::error::{Error, Result};
use crate::model::job::Job;
use crate::model::kinds::{KindSpec, Kinds};
use crate::model::length::Unit;
use crate::model::library::Library;
use crate::model::part::{OWN, Part};
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

/// Everything that CSV can carry: a file for each kind, and one each for jobs, pieces, readings,
/// instruments and house numbers. With `kind` (a kind's name, its plural, or a word such as `jobs`) only that one.
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
    if wanted(Holds::House) {
        files.push(house_file(library, unit));
    }
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

/// The files that [`write_files`] would write: one without rows only over an older one of its name,
/// unless `all` are wanted.
pub fn to_write<'f>(files: &'f [CsvFile], directory: &Path, all: bool) -> Vec<&'f CsvFile> {
    let wanted = |file: &&CsvFile| all || file.rows > 0 || directory.join(&file.name).exists();
    files.iter().filter(wanted).collect()
}

/// Writes files into a directory, as [`disk::write_files`] does.
///
/// # Errors
///
/// As there.
pub fn write_files(files: &[&CsvFile], directory: &Path) -> Result<()> {
    let bytes = files.iter().map(|file| (file.name.as_str(), file.text.as_bytes()));
    disk::write_files(&bytes.collect::<Vec<_>>(), directory)
}

/// The file of one kind.
pub(super) fn part_file<'p>(
    kind: &'static KindSpec,
    parts: impl Iterator<Item = &'p Part>,
    unit: Unit,
) -> CsvFile {
    table(&format!("{}.csv", kind.plural), &part_form::form(kind), parts, unit)
}

/// The file of the jobs.
pub(super) fn job_file(kinds: Kinds, jobs: &[Job], unit: Unit) -> CsvFile {
    table("jobs.csv", &job_form::form(kinds), jobs.iter(), unit)
}

/// The file of the house numbers.
fn house_file(library: &Library, unit: Unit) -> CsvFile {
    let settings = library.house.settings(library.kinds, unit);
    table("window.csv", &house_form::form(), settings.iter(), unit)
}

/// The files of pieces, readings and instruments, with what each holds.
pub(super) fn measured_files(
    parts: &[Part],
    measured: &Measurements,
    unit: Unit,
) -> [(Holds, CsvFile); 3] {
    let pieces = table("pieces.csv", &piece_form::form(), measured.specimens.iter(), unit);
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
    let rows = sets.into_iter().filter_map(|set| {
        let spec = of_part.get(set.part.as_str())?.dim(&set.dimension).ok()?;
        let condition = condition.get(&(set.part.as_str(), set.piece.as_str())).copied();
        Some(ReadingRow::new(set.clone(), spec, condition))
    });
    let rows: Vec<ReadingRow> = rows.collect();
    let readings = table("readings.csv", &reading_form::form(), rows.iter(), unit);
    let instruments =
        table("instruments.csv", &instrument_form::form(), measured.instruments.iter(), unit);
    [(Holds::Pieces, pieces), (Holds::Readings, readings), (Holds::Instruments, instruments)]
}

/// The file of sets of readings of one piece that are not in the catalog, which its import makes.
pub fn readings_file(part: &Part, piece: &Specimen, sets: &[ReadingSet], unit: Unit) -> CsvFile {
    let (specimens, readings) = (vec![piece.clone()], sets.to_vec());
    let measured = Measurements { specimens, readings, ..Measurements::default() };
    let [_, (_, readings), _] = measured_files(std::slice::from_ref(part), &measured, unit);
    readings
}

fn table<'t, T: 't>(
    name: &str,
    form: &RecordForm<T>,
    things: impl Iterator<Item = &'t T>,
    unit: Unit,
) -> CsvFile {
    let things: Vec<&T> = things.collect();
    let own = form.own_names(things.iter().copied());
    let cells = |thing: &T| {
        let of_own = |name| form.own(thing).and_then(|own| own.get(name)).cloned();
        let own = own.iter().map(|name| of_own(name).unwrap_or_default());
        form.cells(thing, unit).into_iter().chain(own).collect()
    };
    let rows: Vec<Vec<String>> = things.into_iter().map(cells).collect();
    let count = rows.len();
    let header = form.header().into_iter().chain(own.iter().map(|name| format!("{OWN}{name}")));
    let seldom = form.seldom().into_iter().chain(own.iter().map(|_| false));
    let rows = without_empty(header.collect(), rows, &seldom.collect::<Vec<_>>());
    CsvFile { name: name.into(), rows: count, text: join(rows) }
}

/// The header and the rows without the columns that are seldom filled and in which nothing stands, such
/// as those of bars: most lengths are read over none. A file without rows is a template and keeps them.
fn without_empty(
    header: Vec<String>,
    rows: Vec<Vec<String>>,
    is_seldom: &[bool],
) -> impl Iterator<Item = Vec<String>> + use<> {
    let stays: Vec<bool> = is_seldom
        .iter()
        .enumerate()
        .map(|(column, is_seldom)| {
            !is_seldom || rows.is_empty() || rows.iter().any(|row| !row[column].is_empty())
        })
        .collect();
    once(header).chain(rows).map(move |row| {
        let kept = row.into_iter().zip(&stays).filter(|(_, stays)| **stays);
        kept.map(|(cell, _)| cell).collect()
    })
}

/// Every part in one table: each kind's columns, those of one name in one place.
fn all_parts(library: &Library, unit: Unit) -> CsvFile {
    let forms: Vec<(&KindSpec, RecordForm<Part>)> =
        library.kinds.iter().map(|kind| (kind, part_form::form(kind))).collect();
    let mut header: Vec<String> = Vec::new();
    let mut seldom: Vec<bool> = Vec::new();
    let mut at: HashMap<String, usize> = HashMap::new();
    for (name, is_seldom) in
        forms.iter().flat_map(|(_, form)| form.header().into_iter().zip(form.seldom()))
    {
        at.entry(name.clone()).or_insert_with(|| {
            header.push(name);
            seldom.push(is_seldom);
            header.len() - 1
        });
    }
    for name in library.parts.iter().flat_map(|part| part.own.keys()).collect::<BTreeSet<_>>() {
        at.insert(format!("{OWN}{name}"), header.len());
        header.push(format!("{OWN}{name}"));
        seldom.push(false);
    }
    let width = header.len();
    let mut records = Vec::new();
    for (kind, form) in &forms {
        let own: Vec<usize> = form.header().iter().map(|name| at[name]).collect();
        for part in library.of_kind(kind.key) {
            let mut record = vec![String::new(); width];
            for (at, cell) in own.iter().zip(form.cells(part, unit)) {
                record[*at] = cell;
            }
            for (name, text) in &part.own {
                record[at[&format!("{OWN}{name}")]].clone_from(text);
            }
            records.push(record);
        }
    }
    let rows = without_empty(header, records, &seldom);
    CsvFile { name: "parts.csv".into(), text: join(rows), rows: library.parts.len() }
}
