//! Files made whole: written apart, brought to the disk, and only then put in their place.
//!
//! What is being made lies in a directory of its own beside its place, which its maker holds by a
//! lock. A maker that was killed leaves the directory without the lock; the next one finds it, carries
//! out what was complete and takes the rest away.

use std::ffi::OsString;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Write as _};
use std::path::{Path, PathBuf};

use tempfile::TempDir;

use crate::error::{Error, Result};

/// How the directories begin in which files are made.
const PREFIX: &str = ".bellstack-";

/// Held by its maker as long as it works.
const LOCK: &str = "lock";

/// What is to be put in place, once [`WHOLE`] stands beside it.
const NEW: &str = "new";

/// Says that everything under [`NEW`] is complete and on the disk.
const WHOLE: &str = "whole";

/// What stood in the places before.
const OLD: &str = "old";

/// A directory in which files are made for the directory that it lies in. It goes away with what is
/// still in it.
#[derive(Debug)]
pub(super) struct Workshop {
    target: PathBuf,
    /// Let go first: some systems delete no file that is open.
    _lock: File,
    dir: TempDir,
}

impl Workshop {
    /// Opens a workshop in a directory, after the ones whose makers were killed have been cleared.
    pub(super) fn in_directory(target: &Path) -> io::Result<Self> {
        clear(target);
        // Between making the directory and locking it another maker may take it for a leftover.
        for _ in 0..10 {
            let dir = tempfile::Builder::new().prefix(PREFIX).tempdir_in(target)?;
            let path = dir.path().join(LOCK);
            let Ok(lock) = File::create_new(&path) else { continue };
            // Where locks are not to be had, nobody clears either.
            let _ = lock.try_lock();
            if path.exists() {
                fs::create_dir(dir.path().join(NEW))?;
                return Ok(Self { target: target.into(), _lock: lock, dir });
            }
        }
        Err(io::Error::other("other programs make files there at the same time"))
    }

    /// Where a file of this name is made.
    pub(super) fn place(&self, name: impl AsRef<Path>) -> PathBuf {
        self.dir.path().join(NEW).join(name)
    }

    /// Makes a file with these bytes.
    pub(super) fn write(&self, name: impl AsRef<Path>, bytes: &[u8]) -> io::Result<()> {
        let mut file = File::create_new(self.place(name))?;
        file.write_all(bytes)?;
        file.sync_all()
    }

    /// Puts one file in its place unless something stands there: true where it was put.
    pub(super) fn place_if_free(&self, name: &Path, to: &Path) -> io::Result<bool> {
        File::open(self.place(name))?.sync_all()?;
        let made = tempfile::TempPath::try_from_path(self.place(name))?;
        match made.persist_noclobber(to) {
            Ok(()) => sync_directory(&self.target).map(|()| true),
            Err(error) if error.error.kind() == ErrorKind::AlreadyExists => Ok(false),
            Err(error) => Err(error.error),
        }
    }

    /// Puts all files in their places, in the place of what stood there: all of them or none.
    pub(super) fn place_all(self) -> io::Result<()> {
        let root = self.dir.path();
        sync_directory(&root.join(NEW))?;
        File::create_new(root.join(WHOLE))?.sync_all()?;
        sync_directory(root)?;
        fs::create_dir(root.join(OLD))?;
        let placed = swap_all(root, &self.target, &names(&root.join(NEW))?);
        if placed.is_err() {
            // From here on nobody is to finish it.
            let _ = fs::remove_file(root.join(WHOLE));
        }
        placed.and_then(|()| sync_directory(&self.target))
    }
}

fn swap_all(root: &Path, target: &Path, names: &[OsString]) -> io::Result<()> {
    for (index, name) in names.iter().enumerate() {
        if let Err(error) = swap(root, target, name) {
            for name in names[..index].iter().rev() {
                let _ = unswap(root, target, name);
            }
            return Err(error);
        }
    }
    Ok(())
}

/// Puts the new file of a name in its place, which is never empty in between, and keeps the old one.
fn swap(root: &Path, target: &Path, name: &OsString) -> io::Result<()> {
    let (old, to) = (root.join(OLD).join(name), target.join(name));
    match fs::hard_link(&to, &old) {
        Ok(()) => {}
        Err(error) if error.kind() == ErrorKind::NotFound => {}
        // There are file systems without links.
        Err(_) => fs::copy(&to, &old).map(|_| ())?,
    }
    fs::rename(root.join(NEW).join(name), to)
}

/// Puts the old file of a name back, or takes the new one away where there was none.
fn unswap(root: &Path, target: &Path, name: &OsString) -> io::Result<()> {
    let (old, to) = (root.join(OLD).join(name), target.join(name));
    if old.exists() { fs::rename(old, to) } else { fs::remove_file(to) }
}

/// The names in a directory, in order.
fn names(directory: &Path) -> io::Result<Vec<OsString>> {
    let entries = fs::read_dir(directory)?.map(|entry| entry.map(|entry| entry.file_name()));
    let mut names = entries.collect::<io::Result<Vec<_>>>()?;
    names.sort_unstable();
    Ok(names)
}

/// Clears what killed makers left in a directory: what was complete is put in its place, the rest
/// goes. What cannot be cleared is left to the next one.
pub(super) fn clear(directory: &Path) {
    let Ok(names) = names(directory) else { return };
    for name in names.iter().filter(|name| name.to_string_lossy().starts_with(PREFIX)) {
        let root = directory.join(name);
        if !is_own(&root, directory) {
            continue;
        }
        let Ok(lock) = File::open(root.join(LOCK)) else {
            // Its maker is just beginning, or was killed just then: an empty one goes.
            if fs::remove_dir(&root).is_err() && is_being_taken_away(&root) {
                let _ = fs::remove_dir_all(&root);
            }
            continue;
        };
        if lock.try_lock().is_err() {
            continue;
        }
        let done = if root.join(WHOLE).exists() { finish(&root, directory) } else { Ok(()) };
        drop(lock);
        if done.is_ok() {
            let _ = fs::remove_dir_all(&root);
        }
    }
}

/// Whether somebody was killed while he took a workshop away: the lock comes first in one and goes at any
/// time, so that what is still there without it is nobody's.
fn is_being_taken_away(root: &Path) -> bool {
    // In this order: whatever is seen here was made after the lock.
    let holds_something = names(root).is_ok_and(|names| names.iter().any(|name| name != LOCK));
    holds_something && !root.join(LOCK).exists()
}

/// Whether a workshop is this user's: in a directory that all may write to anybody could lay one out.
#[cfg(unix)]
fn is_own(root: &Path, directory: &Path) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    let own = tempfile::tempfile_in(directory).and_then(|file| file.metadata());
    let found = fs::symlink_metadata(root);
    own.is_ok_and(|own| found.is_ok_and(|found| found.is_dir() && found.uid() == own.uid()))
}

#[cfg(not(unix))]
fn is_own(root: &Path, _: &Path) -> bool {
    fs::symlink_metadata(root).is_ok_and(|found| found.is_dir())
}

fn finish(root: &Path, target: &Path) -> io::Result<()> {
    for name in names(&root.join(NEW))? {
        fs::rename(root.join(NEW).join(&name), target.join(&name))?;
    }
    sync_directory(target)
}

/// Brings the names in a directory to the disk, as a rename or a new file needs.
pub(super) fn sync_directory(directory: &Path) -> io::Result<()> {
    if cfg!(not(unix)) {
        return Ok(());
    }
    match File::open(directory)?.sync_all() {
        // There are file systems that cannot, and need not.
        Err(error) if matches!(error.kind(), ErrorKind::InvalidInput | ErrorKind::Unsupported) => {
            Ok(())
        }
        done => done,
    }
}

/// Directories that were made for a file. They go again where the file was not made.
#[derive(Debug)]
pub(super) struct Directories {
    made: Vec<PathBuf>,
}

impl Directories {
    /// Makes a directory with all that it lies in, as far as they are missing.
    pub(super) fn make(directory: &Path) -> io::Result<Self> {
        let mut missing: Vec<&Path> = Vec::new();
        let mut at = Some(directory);
        while let Some(path) = at.filter(|path| !path.as_os_str().is_empty() && !path.exists()) {
            missing.push(path);
            at = path.parent();
        }
        let mut made = Self { made: Vec::new() };
        for path in missing.into_iter().rev() {
            match fs::create_dir(path) {
                Ok(()) => made.made.push(path.into()),
                // Another one made it just now.
                Err(error) if error.kind() == ErrorKind::AlreadyExists && path.is_dir() => {}
                Err(error) => return Err(error),
            }
            sync_directory(around(path))?;
        }
        Ok(made)
    }

    /// Lets them stay.
    pub(super) fn keep(mut self) {
        self.made.clear();
    }
}

impl Drop for Directories {
    fn drop(&mut self) {
        for path in self.made.iter().rev() {
            // One that is not empty has another use by now.
            let _ = fs::remove_dir(path);
        }
    }
}

/// Writes files by their names into a directory, which is made where it is missing: all of them, in
/// the place of what stood there, or none.
///
/// # Errors
///
/// A storage error where one cannot be written; then everything is as it was.
pub fn write_files(files: &[(&str, &[u8])], directory: &Path) -> Result<()> {
    let refuse = |path: &Path, error: &io::Error| {
        let name = path.display();
        Error::storage(format!("`{name}` cannot be written: {}", plain(error)))
            .hint("no file was written")
    };
    for (name, _) in files {
        let path = directory.join(name);
        if path.is_dir() {
            return Err(refuse(&path, &ErrorKind::IsADirectory.into()));
        }
    }
    let of_all = |error: io::Error| refuse(directory, &error);
    let directories = Directories::make(directory).map_err(of_all)?;
    let workshop = Workshop::in_directory(directory).map_err(of_all)?;
    for (name, bytes) in files {
        let written = workshop.write(name, bytes);
        written.map_err(|error| refuse(&directory.join(name), &error))?;
    }
    workshop.place_all().map_err(of_all)?;
    directories.keep();
    Ok(())
}

/// The directory in which a file lies.
pub(super) fn around(path: &Path) -> &Path {
    match path.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    }
}

/// Why nothing can be written in a directory just now, in the operating system's own words; none where
/// something can.
pub(super) fn refusal(directory: &Path) -> Option<String> {
    /// More than a disk may have left in a file's last block.
    const PROBE: usize = 65_536;
    let probe = || -> io::Result<()> {
        let mut file = tempfile::tempfile_in(directory)?;
        file.write_all(&vec![0; PROBE])?;
        file.sync_all()
    };
    probe().err().map(|error| plain(&error))
}

/// An operating system's error without its number.
pub fn plain(error: &io::Error) -> String {
    match error.kind() {
        ErrorKind::NotFound => "there is no such file".into(),
        ErrorKind::PermissionDenied => "permission denied".into(),
        ErrorKind::NotADirectory => "part of its path is not a directory".into(),
        ErrorKind::IsADirectory => "it is a directory".into(),
        ErrorKind::ReadOnlyFilesystem => "the disk is read-only".into(),
        ErrorKind::StorageFull => "the disk is full".into(),
        ErrorKind::QuotaExceeded => "the disk is full for this user".into(),
        ErrorKind::FileTooLarge => "no file may grow that large here".into(),
        _ => error.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(directory: &Path) -> Vec<String> {
        names(directory).unwrap().iter().map(|name| name.to_string_lossy().into()).collect()
    }

    /// A workshop as a maker leaves it that is killed: without its lock.
    fn killed(workshop: Workshop) {
        let Workshop { dir, _lock, .. } = workshop;
        let _ = dir.keep();
    }

    #[test]
    fn files_are_put_in_place_together_or_not_at_all() {
        let dir = tempfile::tempdir().unwrap();
        let target = dir.path();
        fs::write(target.join("a"), "old").unwrap();
        let workshop = Workshop::in_directory(target).unwrap();
        workshop.write("a", b"new").unwrap();
        workshop.write("b", b"new").unwrap();
        workshop.place_all().unwrap();
        assert_eq!(shown(target), ["a", "b"]);
        assert_eq!(fs::read(target.join("a")).unwrap(), b"new");

        let workshop = Workshop::in_directory(target).unwrap();
        for name in ["a", "c"] {
            workshop.write(name, b"newer").unwrap();
        }
        let root = workshop.dir.path();
        fs::create_dir(root.join(OLD)).unwrap();
        let missing = ["a", "c", "missing"].map(OsString::from);
        assert!(swap_all(root, target, &missing).is_err());
        assert_eq!(fs::read(target.join("a")).unwrap(), b"new");
        drop(workshop);
        assert_eq!(shown(target), ["a", "b"]);
    }

    #[test]
    fn what_a_killed_maker_left_is_finished_where_it_was_whole_and_taken_away_where_not() {
        let dir = tempfile::tempdir().unwrap();
        let target = dir.path();
        let torn = Workshop::in_directory(target).unwrap();
        torn.write("torn", b"half").unwrap();
        killed(torn);
        let whole = Workshop::in_directory(target).unwrap();
        assert_eq!(shown(target).len(), 1, "the next one clears");
        whole.write("a", b"new").unwrap();
        whole.write("b", b"new").unwrap();
        File::create_new(whole.dir.path().join(WHOLE)).unwrap();
        fs::rename(whole.place("a"), target.join("a")).unwrap();
        killed(whole);
        fs::create_dir(target.join(".bellstack-empty")).unwrap();
        clear(target);
        assert_eq!(shown(target), ["a", "b"]);
    }

    #[test]
    fn what_somebody_was_killed_over_while_he_took_it_away_goes_too() {
        let dir = tempfile::tempdir().unwrap();
        let target = dir.path();
        let torn = Workshop::in_directory(target).unwrap();
        torn.write("torn", b"half").unwrap();
        let root = torn.dir.path().to_path_buf();
        // A directory's entries go in any order: the lock went first.
        fs::remove_file(root.join(LOCK)).unwrap();
        killed(torn);
        clear(target);
        assert!(shown(target).is_empty());
        // With nothing but its lock, which nobody holds, one goes; with nothing at all as well.
        let bare = Workshop::in_directory(target).unwrap();
        fs::remove_dir(bare.dir.path().join(NEW)).unwrap();
        killed(bare);
        clear(target);
        assert!(shown(target).is_empty());
    }

    #[test]
    fn what_a_living_maker_works_on_is_left_alone() {
        let dir = tempfile::tempdir().unwrap();
        let workshop = Workshop::in_directory(dir.path()).unwrap();
        workshop.write("a", b"new").unwrap();
        let other = Workshop::in_directory(dir.path()).unwrap();
        assert!(workshop.place("a").exists());
        drop(other);
        assert!(workshop.place_if_free(Path::new("a"), &dir.path().join("a")).unwrap());
        drop(workshop);
        assert_eq!(shown(dir.path()), ["a"]);
    }

    #[test]
    fn directories_that_were_made_for_nothing_go_again() {
        let dir = tempfile::tempdir().unwrap();
        drop(Directories::make(&dir.path().join("a/b")).unwrap());
        assert!(shown(dir.path()).is_empty());
        Directories::make(&dir.path().join("a/b")).unwrap().keep();
        drop(Directories::make(&dir.path().join("a/b/c")).unwrap());
        assert!(dir.path().join("a/b").exists() && !dir.path().join("a/b/c").exists());
    }
}
