//! What somebody looked at before changing it, so that what others changed in between is never
//! overwritten unseen.

use crate::catalog::{Reader, Writer};
use crate::error::Result;
use crate::model::history::{About, Event, Subject};

/// A job or a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Thing<'a> {
    /// The job of this name.
    Job(&'a str),
    /// The part of this number.
    Part(&'a str),
}

/// Which state of a thing somebody looked at: the number of the last change to it that is on record,
/// zero where there is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Version(pub i64);

impl Version {
    /// That of a thing as this snapshot has it.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be read.
    pub fn of(reader: &Reader<'_>, thing: Thing<'_>) -> Result<Self> {
        // A piece's reading is on record with its part, and is no change to the part's own entry.
        let last = Self::events(reader, thing)?.last().map_or(0, |event| event.number);
        Ok(Self(last))
    }

    /// What others changed since; nothing where the thing is as it was looked at.
    ///
    /// # Errors
    ///
    /// A storage error where the file cannot be read.
    pub fn changed_since(self, reader: &Reader<'_>, thing: Thing<'_>) -> Result<Vec<Event>> {
        let mut events = Self::events(reader, thing)?;
        events.retain(|event| event.number > self.0);
        Ok(events)
    }

    fn events(reader: &Reader<'_>, thing: Thing<'_>) -> Result<Vec<Event>> {
        let (of, subject) = match thing {
            Thing::Job(id) => (About::Job(id), Subject::Job),
            Thing::Part(id) => (About::Part(id), Subject::Part),
        };
        let (mut events, _) = reader.history(of, usize::MAX)?;
        events.retain(|event| event.subject == subject);
        Ok(events)
    }
}

/// What became of a change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Written<T> {
    /// It is stored.
    Done(T),
    /// Nothing is stored: others changed the thing since it was looked at.
    Meanwhile(Vec<Event>),
}

/// Changes a thing, unless others did since `seen`.
///
/// # Errors
///
/// Those of `change`, and a storage error where the file cannot be read.
pub fn unless_changed<T>(
    writer: &Writer<'_>,
    thing: Thing<'_>,
    seen: Version,
    change: impl FnOnce() -> Result<T>,
) -> Result<Written<T>> {
    let since = seen.changed_since(writer.reader(), thing)?;
    if since.is_empty() { change().map(Written::Done) } else { Ok(Written::Meanwhile(since)) }
}
