//! A file to be imported, read whole before anything is locked.

use std::fs;
use std::path::{Path, PathBuf};

use crate::catalog::disk::plain;
use crate::error::{Error, Result};

/// A file's name and bytes.
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
            return Err(Error::input(format!("`{name}` is a directory, not a file of rows"))
                .hint("name the files in it"));
        }
        let bytes = fs::read(path).map_err(|error| {
            Error::storage(format!("`{name}` cannot be read: {}", plain(&error)))
        })?;
        Ok(Self { name: path.into(), bytes })
    }

    /// What came over standard input.
    pub fn standard_input(bytes: Vec<u8>) -> Self {
        Self { name: "standard input".into(), bytes }
    }

    /// A file that is in the program itself.
    pub fn embedded(name: &str, text: &str) -> Self {
        Self { name: name.into(), bytes: text.as_bytes().to_vec() }
    }
}
