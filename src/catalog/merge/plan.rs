//! What a merge would do, worked out in full before anything is stored.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use crate::catalog::csv::{Cells, written};
use crate::catalog::renamed::{FormerNames, moved};
use crate::catalog::{Reader, Stored};
use crate::error::{Error, Result};
use crate::model::history::{Becomes, Deed, Event, FieldChange, Held, Subject};
use crate::model::kinds::Kinds;
use crate::model::merge::{Conflict, Decided, Whose};

/// What one copy did since both went apart, by subject and by the name that the thing has in ours.
#[derive(Debug, Default)]
pub(super) struct Touched(HashMap<(&'static str, String), TouchedFields>);

/// What was done to a thing.
#[derive(Debug, Default)]
struct TouchedFields {
    /// It was added or taken out.
    whole: bool,
    /// The groups of its fields that were changed.
    groups: BTreeSet<String>,
    /// What each field has held, as far as the history tells.
    seen: HashMap<String, Vec<Held>>,
}

/// A field with its tolerance and its bar: they are entered together.
fn group(field: &str) -> &str {
    field.strip_suffix("_tol").or_else(|| field.strip_suffix("_bar")).unwrap_or(field)
}

impl Touched {
    pub(super) fn by(events: &[Event], names: &FormerNames) -> Self {
        let mut touched = Self::default();
        for event in events {
            let key = (event.subject.word(), names.of(event).into_owned());
            let fields = touched.0.entry(key).or_default();
            fields.whole |= event.deed != Deed::Changed;
            let groups = event.changes.iter().map(|change| group(&change.field).to_string());
            fields.groups.extend(groups);
            for FieldChange { field, from, to } in &event.changes {
                fields.seen.entry(field.clone()).or_default().extend([from.clone(), to.clone()]);
            }
        }
        touched
    }

    fn of(&self, subject: Subject, name: &str) -> Option<&TouchedFields> {
        self.0.get(&(subject.word(), name.to_string()))
    }

    /// Whether a field of a thing was changed.
    pub(super) fn changed(&self, subject: Subject, name: &str, field: &str) -> bool {
        self.of(subject, name)
            .is_some_and(|fields| fields.whole || fields.groups.contains(group(field)))
    }

    /// Whether a field of a thing was changed behind its being added.
    fn edited(&self, subject: Subject, name: &str, field: &str) -> bool {
        self.of(subject, name).is_some_and(|fields| fields.groups.contains(group(field)))
    }

    /// Whether all these fields have held such values here.
    fn has_held<'c>(
        &self,
        subject: Subject,
        name: &str,
        mut values: impl Iterator<Item = (&'c String, &'c Held)>,
    ) -> bool {
        let Some(fields) = self.of(subject, name) else { return false };
        values.all(|(field, value)| fields.seen.get(field).is_some_and(|seen| seen.contains(value)))
    }

    /// Whether anything was done to a thing.
    pub(super) fn any(&self, subject: Subject, name: &str) -> bool {
        self.of(subject, name).is_some()
    }
}

/// Refuses what the other copy renamed and ours does not know: its names would not be found.
pub(super) fn refuse_renamed(events: &[Event], ours: &FormerNames) -> Result<()> {
    for event in events {
        let Some((from, to)) = moved(event) else { continue };
        if event.subject == Subject::Part && ours.now(from) == to {
            continue;
        }
        let (what, hint) = match event.subject {
            Subject::Part => (
                format!("the other catalog calls the part `{from}` `{to}`"),
                format!("do the same here first, `part rename {from} {to}`, and merge then"),
            ),
            _ => (
                format!("the other catalog made `{}` a piece of `{to}`", event.name),
                format!("do the same here first, `part supersede {from} {to}`, and merge then"),
            ),
        };
        if event.subject == Subject::Piece && ours.now(from) == to {
            continue;
        }
        return Err(Error::input(what).hint(hint));
    }
    Ok(())
}

/// Refuses what the other copy changed of a part that has given its place to another one here: it would
/// be lost. `there` are the numbers of the other copy.
pub(super) fn refuse_superseded(
    events: &[Event],
    ours: &FormerNames,
    there: &HashSet<&str>,
) -> Result<()> {
    let of_parts = events.iter().filter(|event| event.subject == Subject::Part);
    for event in of_parts {
        let (from, to) = (&event.name, ours.now(&event.name));
        if *to != *from && there.contains(&*to) && there.contains(from.as_str()) {
            return Err(Error::input(format!(
                "here `{to}` has taken the place of `{from}`, which the other catalog changed"
            ))
            .hint(format!(
                "do the same there first, `part supersede {from} {to}`, and merge then"
            )));
        }
    }
    Ok(())
}

/// What becomes of things of one sort: each as it is and as it is to be.
#[derive(Debug)]
pub(super) struct Steps<T>(pub(super) Vec<(Option<T>, Option<T>)>);

/// What both copies know, and what is decided of it.
pub(super) struct BothCopies<'a> {
    pub(super) reader: &'a Reader<'a>,
    pub(super) ours: &'a Touched,
    pub(super) theirs: &'a Touched,
    pub(super) decided: &'a Decided,
    /// What is not decided yet.
    pub(super) open: Vec<Conflict>,
    /// What would become of each thing.
    pub(super) becomes: Vec<Becomes>,
}

impl BothCopies<'_> {
    /// Works out what becomes of the things of one sort. Those of the other copy are called as ours
    /// calls them.
    pub(super) fn steps<T: Stored + Clone>(
        &mut self,
        ours: Vec<T>,
        theirs: Vec<T>,
    ) -> Result<Steps<T>> {
        let named = |things: Vec<T>| -> BTreeMap<String, T> {
            things.into_iter().map(|thing| (thing.called().0, thing)).collect()
        };
        let (ours, mut theirs) = (named(ours), named(theirs));
        let mut steps = Vec::new();
        for (name, own) in ours {
            let other = theirs.remove(&name);
            if let Some(step) = self.step(&name, Some(own), other)? {
                steps.push(step);
            }
        }
        for (name, other) in theirs {
            if let Some(step) = self.step(&name, None, Some(other))? {
                steps.push(step);
            }
        }
        Ok(Steps(steps))
    }

    fn step<T: Stored + Clone>(
        &mut self,
        name: &str,
        own: Option<T>,
        other: Option<T>,
    ) -> Result<Option<(Option<T>, Option<T>)>> {
        if !self.theirs.any(T::SUBJECT, name) || own == other {
            return Ok(None);
        }
        let kinds = self.reader.kinds();
        let new = match (&own, &other) {
            (Some(own), Some(other)) => Some(self.fields(kinds, name, own, other)?),
            _ if !self.ours.any(T::SUBJECT, name) => other,
            _ => {
                let held = |thing: &Option<T>| match thing {
                    Some(_) => Held::Text("it is there".into()),
                    None => Held::Text("it was taken out".into()),
                };
                let change =
                    FieldChange { field: String::new(), from: held(&own), to: held(&other) };
                match self.side(T::SUBJECT, name, change) {
                    Some(Whose::Theirs) => other,
                    _ => own.clone(),
                }
            }
        };
        if new == own {
            return Ok(None);
        }
        self.becomes.push(becomes(kinds, name, own.as_ref(), new.as_ref()));
        Ok(Some((own, new)))
    }

    /// Ours with the fields that the other copy alone changed, and with those that are decided so.
    fn fields<T: Stored>(&mut self, kinds: Kinds, name: &str, own: &T, other: &T) -> Result<T> {
        let mut cells = own.cells(kinds);
        let differences = own.differences(kinds, Some(other));
        // Fields of one group stand behind each other, and are of one side.
        for group in differences.chunk_by(|a, b| group(&a.field) == group(&b.field)) {
            if self.whose(T::SUBJECT, name, group) == Some(Whose::Theirs) {
                for change in group {
                    put(&mut cells, change);
                }
            }
        }
        T::again(kinds, name, &cells)
            .and_then(|thing| thing.called_as_now(self.reader))
            .map_err(|error| error.at(format!("the {} `{name}`", T::SUBJECT.word())))
    }

    /// Whose fields that differ are to be: of the side that changed them, or where both did, of the one
    /// that has gone on from what the other one has, as after an earlier merge.
    pub(super) fn whose(
        &mut self,
        subject: Subject,
        name: &str,
        group: &[FieldChange],
    ) -> Option<Whose> {
        let first = group.first()?;
        if !self.theirs.changed(subject, name, &first.field) {
            return Some(Whose::Ours);
        }
        if !self.ours.changed(subject, name, &first.field) {
            return Some(Whose::Theirs);
        }
        let (ours, theirs) = (self.ours, self.theirs);
        let own = group.iter().map(|change| (&change.field, &change.from));
        let other = group.iter().map(|change| (&change.field, &change.to));
        match (theirs.has_held(subject, name, own), ours.has_held(subject, name, other)) {
            (true, false) => Some(Whose::Theirs),
            (false, true) => Some(Whose::Ours),
            _ => self.side(subject, name, first.clone()),
        }
    }

    /// Whose it is to be whether a set of readings is struck out: `name` is its number here, `there` the
    /// one that it has in the other copy.
    pub(super) fn whose_struck(
        &mut self,
        (name, there): (&str, &str),
        change: FieldChange,
    ) -> Option<Whose> {
        let subject = Subject::Reading;
        match (
            self.ours.edited(subject, name, &change.field),
            self.theirs.edited(subject, there, &change.field),
        ) {
            (_, false) => Some(Whose::Ours),
            (false, true) => Some(Whose::Theirs),
            (true, true) => self.side(subject, name, change),
        }
    }

    /// Whose a conflict is to be; where nobody has told, it is kept to be asked.
    pub(super) fn side(
        &mut self,
        subject: Subject,
        name: &str,
        change: FieldChange,
    ) -> Option<Whose> {
        let conflict = Conflict { subject, name: name.into(), change };
        let side = self.decided.of(&conflict);
        if side.is_none() {
            self.open.push(conflict);
        }
        side
    }
}

/// Cells with what a field is to hold.
fn put(cells: &mut Cells, change: &FieldChange) {
    cells.retain(|(column, _)| *column != change.field);
    let text = written(&change.to);
    if !text.is_empty() {
        cells.push((change.field.clone(), text));
    }
}

fn becomes<T: Stored>(kinds: Kinds, name: &str, own: Option<&T>, new: Option<&T>) -> Becomes {
    let turned = |change: FieldChange| FieldChange { from: change.to, to: change.from, ..change };
    let (deed, changes) = match (own, new) {
        (Some(own), Some(new)) => (Deed::Changed, own.differences(kinds, Some(new))),
        (None, Some(new)) => {
            (Deed::Added, new.differences(kinds, None).into_iter().map(turned).collect())
        }
        (own, None) => {
            (Deed::Removed, own.map(|own| own.differences(kinds, None)).unwrap_or_default())
        }
    };
    Becomes { subject: T::SUBJECT, name: name.into(), deed, changes }
}
