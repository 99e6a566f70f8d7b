//! Small helpers for the tests.

use std::path::{Path, PathBuf};

use bellstack::catalog::csv::{Imported, Options, Source, import};
use bellstack::catalog::{Access, Catalog};
use bellstack::error::{Error, Result};
use bellstack::model::history::Stamp;
use bellstack::model::kinds::Kinds;
use bellstack::model::part::{Entry, Part};

/// A directory of its own that goes away with the test.
pub(crate) struct TestDir {
    dir: tempfile::TempDir,
}

impl TestDir {
    pub(crate) fn new() -> Self {
        Self { dir: tempfile::tempdir().unwrap() }
    }

    pub(crate) fn dir(&self) -> &Path {
        self.dir.path()
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    pub(crate) fn catalog(&self) -> Catalog {
        self.open(Access::Create).unwrap()
    }

    pub(crate) fn open(&self, access: Access) -> Result<Catalog> {
        Catalog::open(&self.path("shop.db"), Kinds::standard(), access)
    }

    pub(crate) fn files(&self) -> Vec<String> {
        names_in(self.dir())
    }

    /// With a catalog that holds what stands in these texts, each under a file's name.
    pub(crate) fn holding(files: &[(&str, &str)]) -> (Self, Catalog) {
        let bench = Self::new();
        let mut catalog = bench.catalog();
        take(&mut catalog, files).unwrap();
        (bench, catalog)
    }

    /// With a catalog that holds one part.
    pub(crate) fn with_part(kind: &str, id: &str) -> Self {
        let bench = Self::new();
        bench.catalog().write(&stamp(), |writer| writer.insert(&part(kind, id))).unwrap();
        bench
    }
}

/// The names of what lies in a directory.
pub(crate) fn names_in(directory: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(directory).unwrap();
    let mut names: Vec<String> =
        entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
    names.sort_unstable();
    names
}

/// Who changes catalogs in tests that do not ask for it.
pub(crate) fn stamp() -> Stamp {
    Stamp { at: "2026-01-02T03:04:05Z".into(), by: "Kim".into(), command: "a test".into() }
}

/// Imports texts under file names.
pub(crate) fn take(catalog: &mut Catalog, files: &[(&str, &str)]) -> Result<Imported> {
    take_with(catalog, files, &Options::default())
}

pub(crate) fn take_with(
    catalog: &mut Catalog,
    files: &[(&str, &str)],
    options: &Options<'_>,
) -> Result<Imported> {
    let sources: Vec<Source> =
        files.iter().map(|(name, text)| Source::embedded(name, text)).collect();
    import(catalog, &stamp(), &sources, options)
}

/// The error of importing texts into a catalog in which nothing is.
pub(crate) fn refused(files: &[(&str, &str)]) -> Error {
    let bench = TestDir::new();
    let mut catalog = bench.catalog();
    let error = take(&mut catalog, files).unwrap_err();
    assert!(catalog.load_library().unwrap().parts.is_empty());
    assert!(bench.files().is_empty(), "a refused import leaves no file: {:?}", bench.files());
    error
}

/// A generator of test numbers that gives the same ones in every run.
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// A number from 0 to `below` - 1.
    pub(crate) fn roll(&mut self, below: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) % below
    }

    pub(crate) fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        let index = self.roll(from.len() as u64);
        &from[usize::try_from(index).unwrap()]
    }
}

/// A part with the dimensions that it needs.
pub(crate) fn part(kind: &str, id: &str) -> Part {
    let mut part = Part::new(id, Kinds::standard().get(kind).unwrap());
    for dim in part.kind.dims.iter().filter(|dim| dim.needed) {
        let value = if dim.key == "retracted_height" { 20_000_000 } else { 30_000_001 };
        part.set(dim.key, Some(Entry::new(value, None)));
    }
    part
}
