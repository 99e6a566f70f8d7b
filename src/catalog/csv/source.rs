//! A file to be imported, read whole before anything is locked.

use std::fs;
use std::path::{Path, PathBuf};

use crate::catalog::disk::plain;
use crate::error::{Error, Result};

/// A CSV file's name and bytes.
#[derive(Debug, Clone)]
pub struct Source {
    /// The file's name, which may tell what it holds.
    pub name: PathBuf,
    /// What is in it.
    pub bytes: Vec<u8>,
}

impl Source {
    /// Reads a file.
    ///
    /// # Errors
    ///
    /// A storage error where it is missing or cannot be read, an input error for a directory.
    pub fn read(path: &Path) -> Result<Self> {
        let name = path.display();
        if path.is_dir() {
            return Err(Error::input(format!("`{name}` is a directory, not a CSV file"))
                .hint("name the files in it"));
        }
        let bytes = fs::read(path).map_err(|error| {
            Error::storage(format!("`{name}` cannot be read: {}", plain(&error)))
        })?;
        Ok(Self { name: path.into(), bytes })
    }

    /// A file that is in the program itself.
    pub fn embedded(name: &str, text: &str) -> Self {
        Self { name: name.into(), bytes: text.as_bytes().to_vec() }
    }

    /// The file's name without directory and ending.
    pub(super) fn stem(&self) -> String {
        self.name.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default()
    }

    /// The text without a byte order mark, however often a tool has put one before it.
    ///
    /// # Errors
    ///
    /// The line of the first byte that is not UTF-8, and the error.
    pub(super) fn text(&self) -> Result<&str, (usize, Error)> {
        let bytes = &self.bytes;
        let text = std::str::from_utf8(bytes).map_err(|error| {
            let line = bytes[..error.valid_up_to()].split(|byte| *byte == b'\n').count();
            let byte = bytes.get(error.valid_up_to()).copied().unwrap_or_default();
            let error = Error::input(format!("the byte 0x{byte:02X} is not UTF-8"))
                .hint("save the file as CSV UTF-8");
            (line, error)
        })?;
        Ok(text.trim_start_matches('\u{feff}'))
    }
}
