//! Taking a command back: a command of its own, on record like any other.
//!
//! What the history says is enough for it: of a thing that was removed all that it held, of one that
//! changed what its fields held before. Nobody is asked about anything: what was stored once is meant.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet, HashMap};

use rusqlite::params;

use super::csv::{Cells, check_job, written};
use super::fault::Fault;
use super::renamed::{FormerNames, moved};
use super::{Reader, Stored, Writer, history};
use crate::error::{Error, Result};
use crate::model::headings::Headings;
use crate::model::history::{Deed, Event, FieldChange, Held, Subject, TakenBack};
use crate::model::job::Job;
use crate::model::length::Unit;
use crate::model::part::Part;
use crate::model::pieces::{Instrument, ReadingSet, Specimen, part_and_label};
use crate::model::words::{list, plural};

impl Reader<'_> {
    /// The last command that was not taken back and took none back itself.
    fn last_command(&self) -> Result<i64> {
        let find = || -> Result<Option<i64>, Fault> {
            let pairs = history::pairs(self.conn)?;
            let mut query =
                self.conn.prepare_cached("SELECT number FROM command ORDER BY number DESC")?;
            let mut rows = query.query([])?;
            while let Some(row) = rows.next()? {
                let number = row.get(0)?;
                if !pairs.contains_key(&number) {
                    return Ok(Some(number));
                }
            }
            Ok(None)
        };
        self.told(find())?.ok_or_else(|| Error::input("there is no command to take back"))
    }

    fn events_of(&self, command: i64) -> Result<Vec<Event>> {
        let wanted = "WHERE event.command = ?1 ORDER BY event.number";
        self.told(history::events(self.conn, wanted, params![command]))
    }
}

impl Writer<'_> {
    /// Takes a command back, the last one where none is named: as if it had never been given, but for
    /// the record.
    ///
    /// # Errors
    ///
    /// Refuses a number of no command, one that is taken back already, and one on which later changes
    /// stand, naming them.
    pub fn take_back(&self, asked: Option<i64>) -> Result<TakenBack> {
        let reader = self.reader();
        let command = asked.map_or_else(|| reader.last_command(), Ok)?;
        let events = reader.events_of(command)?;
        let Some(first) = events.first() else {
            return Err(Error::input(format!("there is no command {command} on record"))
                .hint("`history` shows their numbers"));
        };
        if let Some(by) = first.taken_back_by {
            return Err(Error::input(format!("command {command} was taken back by command {by}"))
                .hint(format!("`undo {by}` does it again")));
        }
        self.refuse_where_others_stand(command, &events)?;
        let at = |error: Error| error.at(format!("command {command} cannot be taken back"));
        let mut sets = None;
        for event in events.iter().rev() {
            self.take_back_event(event, &mut sets).map_err(at)?;
        }
        self.check_jobs_of(&events).map_err(at)?;
        let by = self.told(self.command())?;
        self.execute("INSERT INTO undone (command, undoes) VALUES (?1, ?2)", [by, command])?;
        let stamp = first.stamp.clone();
        Ok(TakenBack { command, stamp, by, events: reader.events_of(by)? })
    }

    /// Refuses to take a command back on which later ones stand.
    fn refuse_where_others_stand(&self, command: i64, events: &[Event]) -> Result<()> {
        let reader = self.reader();
        let wanted = "WHERE event.command > ?1 ORDER BY event.number";
        let mut later = self.told(history::events(self.conn(), wanted, params![command]))?;
        let pairs = self.told(history::pairs(self.conn()))?;
        later.retain(|event| !pairs.contains_key(&event.command));
        if later.is_empty() {
            return Ok(());
        }
        // What has another number today is looked for by that.
        let names = self.told(FormerNames::load(self.conn()))?;
        let part_of =
            |event: &'_ Event| names.now(event.part.as_deref().unwrap_or_default()).into_owned();
        let mut of_thing: HashMap<(&str, Cow<'_, str>), Vec<&Event>> = HashMap::new();
        let mut of_part: HashMap<String, Vec<&Event>> = HashMap::new();
        for event in &later {
            of_thing.entry((event.subject.word(), names.of(event))).or_default().push(event);
            of_part.entry(part_of(event)).or_default().push(event);
        }
        let mut standing: BTreeMap<i64, &Event> = BTreeMap::new();
        for event in events {
            let own = of_thing.get(&(event.subject.word(), names.of(event)));
            let is_moved = moved(event).is_some();
            let own = own.into_iter().flatten().filter(|later| is_moved || meets(event, later));
            standing.extend(own.map(|later| (later.command, *later)));
            // What came later speaks of a thing by the name that it got.
            if event.deed != Deed::Added && !is_moved {
                continue;
            }
            let mut rests_on: Vec<&Event> = Vec::new();
            if matches!(event.subject, Subject::Part | Subject::Piece) && event.part.is_some() {
                // What was done to the pieces of a part, and read on a piece.
                let (part, name) = (part_of(event), names.of(event));
                let of_part = of_part.get(&part).into_iter().flatten();
                rests_on.extend(of_part.filter(|later| match event.subject {
                    Subject::Part => later.subject != Subject::Part,
                    _ => {
                        later.subject == Subject::Reading
                            && names.piece_read(&later.name).is_some_and(|piece| piece == name)
                    }
                }));
                for id in reader.jobs_naming(&part)? {
                    let job = reader.load_job(&id)?;
                    let of_job = of_thing.get(&(Subject::Job.word(), Cow::Borrowed(id.as_str())));
                    let mut named = job.named();
                    if event.subject == Subject::Part || named.any(|named| *named == name) {
                        rests_on.extend(of_job.into_iter().flatten());
                    }
                }
            }
            if event.subject == Subject::Instrument {
                let sets = self.sets()?;
                let with_it = |later: &&Event| {
                    let set = reading_number(&later.name).and_then(|number| sets.get(&number));
                    set.is_some_and(|set| set.instrument.as_ref() == Some(&event.name))
                };
                let readings = later.iter().filter(|later| later.subject == Subject::Reading);
                rests_on.extend(readings.filter(with_it));
            }
            standing.extend(rests_on.into_iter().map(|later| (later.command, later)));
        }
        if standing.is_empty() {
            return Ok(());
        }
        let named: Vec<String> = standing
            .values()
            .rev()
            .map(|event| format!("command {} (`{}`)", event.command, event.stamp.command))
            .collect();
        let last = standing.keys().next_back().copied().unwrap_or_default();
        let noun = plural(named.len() as u128, "later command");
        let stand = if named.len() == 1 { "stands" } else { "stand" };
        let message = format!(
            "command {command} cannot be taken back: {} {noun} {stand} on it: {}",
            named.len(),
            list(&named, 5)
        );
        Err(Error::input(message).hint(format!("take the last of them back first: `undo {last}`")))
    }

    fn take_back_event(
        &self,
        event: &Event,
        sets: &mut Option<HashMap<i64, ReadingSet>>,
    ) -> Result<()> {
        if let Some((from, to)) = moved(event) {
            return self.take_back_move(event, from, to);
        }
        match event.subject {
            Subject::Part => self.take_back_thing::<Part>(event),
            Subject::Job => self.take_back_thing::<Job>(event),
            Subject::Piece => self.take_back_thing::<Specimen>(event),
            Subject::Instrument => self.take_back_thing::<Instrument>(event),
            Subject::Headings => self.take_back_thing::<Headings>(event),
            Subject::House => self.take_back_numbers(event),
            Subject::Catalog => Err(Error::input("it changed the catalog as a whole")
                .hint("`restore` it from the copy that was kept beside it")),
            Subject::Reading => match event.deed {
                Deed::Removed => self.put_reading_back(event),
                Deed::Changed => self.restrike_reading(event),
                Deed::Added => {
                    let sets = match sets {
                        Some(sets) => sets,
                        None => sets.insert(self.sets()?),
                    };
                    let number = reading_number(&event.name);
                    let set = number.and_then(|number| sets.remove(&number));
                    let gone = || Error::input(format!("the reading {} is gone", event.name));
                    self.take_reading_out(&set.ok_or_else(gone)?)
                }
            },
        }
    }

    /// Every set of readings by its number.
    fn sets(&self) -> Result<HashMap<i64, ReadingSet>> {
        let readings = self.reader().load_measured()?.readings;
        Ok(readings.into_iter().map(|set| (set.number, set)).collect())
    }

    /// Gives a part the number that it had, or a piece back to its part.
    fn take_back_move(&self, event: &Event, from: &str, to: &str) -> Result<()> {
        let reader = self.reader();
        if event.subject == Subject::Piece {
            let label = part_and_label(&event.name).map_or("", |(_, label)| label);
            return self.move_piece(&reader.load_piece(to, label)?, from);
        }
        let (kinds, stored) = (reader.kinds(), reader.load_part(to)?);
        let again =
            |name: &str, side| Part::again(kinds, name, &with(stored.cells(kinds), event, side));
        if again(to, |change| &change.to)? != stored {
            return Err(Error::input(format!("the part `{to}` is not as it was left")));
        }
        self.renumber(&stored, &again(from, |change| &change.from)?)
    }

    fn take_back_thing<T: Stored>(&self, event: &Event) -> Result<()> {
        let reader = self.reader();
        let kinds = reader.kinds();
        let named = |name: &str, cells: &Cells| T::again(kinds, name, cells)?.called_as_now(reader);
        if event.deed == Deed::Removed {
            let cells = with(Cells::new(), event, |change| &change.from);
            return self.insert(&named(&event.name, &cells)?);
        }
        let stored = T::named(reader, &event.name)?;
        let again = |cells: &Cells| named(&stored.called().0, cells);
        if event.deed == Deed::Added {
            return self.remove(&stored);
        }
        let cells = stored.cells(kinds);
        if again(&with(cells.clone(), event, |change| &change.to))? != stored {
            let (thing, name) = (T::SUBJECT.word(), &event.name);
            return Err(Error::input(format!("the {thing} `{name}` is not as it was left")));
        }
        self.replace(&stored, &again(&with(cells, event, |change| &change.from))?)
    }

    fn take_back_numbers(&self, event: &Event) -> Result<()> {
        let kinds = self.reader().kinds();
        let mut house = self.reader().load_house()?;
        let settings = house.settings(kinds, Unit::In);
        for change in &event.changes {
            let now = settings.iter().find(|setting| setting.key == change.field);
            if now.is_none_or(|now| Held::of(now.value.clone(), true) != change.to) {
                let key = &change.field;
                return Err(Error::input(format!(
                    "the house number `{key}` is not as it was left"
                )));
            }
            house.set(kinds, &change.field, &written(&change.from))?;
        }
        house.validate()?;
        self.save_house(&house)
    }

    /// Checks the jobs that changed, and those that name a part that did.
    pub(super) fn check_jobs_of(&self, events: &[Event]) -> Result<()> {
        let reader = self.reader();
        let mut jobs: BTreeSet<String> = BTreeSet::new();
        for event in events {
            match event.subject {
                Subject::Job => jobs.extend([event.name.clone()]),
                Subject::Part => jobs.extend(reader.jobs_naming(&reader.current(&event.name)?)?),
                _ => {}
            }
        }
        for job in jobs {
            if let Some(job) = reader.find_job(&job)? {
                check_job(self, &job).map_err(|error| error.at(format!("job `{}`", job.id)))?;
            }
        }
        Ok(())
    }
}

/// The number of a set of readings as the history calls it.
fn reading_number(name: &str) -> Option<i64> {
    name.split(' ').next().and_then(|number| number.parse().ok())
}

/// Whether a later change of the same thing stands on an earlier one: any does, but one of other
/// fields.
fn meets(event: &Event, later: &Event) -> bool {
    if event.deed != Deed::Changed || later.deed != Deed::Changed {
        return true;
    }
    let fields: BTreeSet<&str> = event.changes.iter().map(|change| change.field.as_str()).collect();
    later.changes.iter().any(|change| fields.contains(change.field.as_str()))
}

/// Cells with what an event says of their fields.
fn with(mut cells: Cells, event: &Event, side: fn(&FieldChange) -> &Held) -> Cells {
    for change in &event.changes {
        cells.retain(|(column, _)| *column != change.field);
        let text = written(side(change));
        if !text.is_empty() {
            cells.push((change.field.clone(), text));
        }
    }
    cells
}
