//! Two copies of a catalog that went apart, brought together: what only the other one changed since is
//! taken, what both changed is told, and readings of both are kept.
//!
//! The common past is what both histories say alike, from the first command on. What was done since is
//! looked up in both; nothing is believed of a thing that neither history speaks of.

use std::collections::{BTreeSet, HashMap, HashSet};
use std::path::Path;

use rusqlite::Connection;

use self::plan::{BothCopies, Steps, Touched, refuse_renamed, refuse_superseded};
use super::renamed::FormerNames;
use super::{Catalog, NamedAnswer, Reader, Stored, Writer, copies, open};
use crate::error::{Error, Result};
use crate::model::headings::Headings;
use crate::model::history::{Becomes, Deed, Event, FieldChange, Held, Stamp, Subject};
use crate::model::house::House;
use crate::model::job::Job;
use crate::model::kept::KeptAnswer;
use crate::model::kinds::Kinds;
use crate::model::length::Unit;
use crate::model::library::Library;
use crate::model::merge::{Decided, Merged, Whose};
use crate::model::part::Part;
use crate::model::pieces::{Instrument, ReadingSet, Specimen};

mod plan;

/// Everything that a copy of a catalog holds.
struct CopyState {
    library: Library,
    jobs: Vec<Job>,
    headings: Vec<Headings>,
    events: Vec<Event>,
    answers: Vec<NamedAnswer>,
}

impl CopyState {
    fn read(reader: &Reader<'_>) -> Result<Self> {
        Ok(Self {
            library: reader.load_library()?,
            jobs: reader.load_jobs()?,
            headings: reader.load_headings()?,
            events: reader.history_since(0)?,
            answers: reader.load_answers()?,
        })
    }
}

/// All that is to be done.
struct MergePlan {
    told: Merged,
    instruments: Steps<Instrument>,
    parts: Steps<Part>,
    pieces: Steps<Specimen>,
    jobs: Steps<Job>,
    headings: Steps<Headings>,
    house: Option<House>,
    new_readings: Vec<ReadingSet>,
    gone_readings: Vec<ReadingSet>,
    struck: Vec<(ReadingSet, Option<String>)>,
    answers: Vec<KeptAnswer>,
}

impl Catalog {
    /// Merges what another copy of this catalog holds into it, in one transaction; a copy of what this one
    /// held is kept beside it. Nothing is written to the other file. With conflicts that are not decided,
    /// or in a `dry` run, nothing is stored.
    ///
    /// # Errors
    ///
    /// Refuses a file that is no catalog or is this one, one without a common past, what the other one
    /// renamed and this one did not, and what cannot be stored, such as a part that is taken out there and
    /// that a job names here.
    pub fn merge(
        &mut self,
        stamp: &Stamp,
        other: &Path,
        (decided, dry): (&Decided, bool),
    ) -> Result<Merged> {
        let kinds = self.kinds;
        let theirs = other_state(&self.path, other, kinds)?;
        let work = |reader: &Reader<'_>| plan(reader, &CopyState::read(reader)?, &theirs, decided);
        let told = self.read(|reader| work(reader).map(|plan| plan.told))?;
        if dry || !told.conflicts.is_empty() || told.is_nothing() {
            return Ok(told);
        }
        self.write(stamp, |writer| {
            // Somebody may have stored something since.
            let plan = work(writer.reader())?;
            if !plan.told.conflicts.is_empty() {
                return Err(Error::input("the catalog was changed meanwhile")
                    .hint("nothing was stored: merge again"));
            }
            writer.keep_copy("merge")?;
            writer.store_merge(&plan)?;
            Ok(plan.told)
        })
    }
}

/// What another copy holds. It is read in memory, so that not even a newer version is written to it.
fn other_state(own: &Path, other: &Path, kinds: Kinds) -> Result<CopyState> {
    copies::refuse_as_other(own, other, "name the copy that went apart from it")?;
    let conn: Connection = open::copied(other)?;
    let reader = Reader::new(&conn, other, kinds);
    reader.look_through()?;
    CopyState::read(&reader)
}

/// How many events both histories begin with alike, whole commands only.
fn common(ours: &[Event], theirs: &[Event]) -> usize {
    let plain = |event: &Event| Event { taken_back_by: None, ..event.clone() };
    let alike = ours.iter().zip(theirs).take_while(|(own, other)| plain(own) == plain(other));
    let mut common = alike.count();
    let command = |events: &[Event], at: usize| events.get(at).map(|event| event.command);
    while common > 0 {
        let last = command(ours, common - 1);
        if command(ours, common) != last && command(theirs, common) != last {
            break;
        }
        common -= 1;
    }
    common
}

/// How many commands there are among events.
fn commands(events: &[Event]) -> usize {
    events.iter().map(|event| event.command).collect::<BTreeSet<_>>().len()
}

fn plan(
    reader: &Reader<'_>,
    ours: &CopyState,
    theirs: &CopyState,
    decided: &Decided,
) -> Result<MergePlan> {
    let past = common(&ours.events, &theirs.events);
    let Some(last) = past.checked_sub(1).map(|at| ours.events[at].clone()) else {
        return Err(Error::input("the two catalogs have no past in common").hint(
            "they are no copies of one: `export` what the other one holds, and `import` it here",
        ));
    };
    let (own, other) = (&ours.events[past..], &theirs.events[past..]);
    let names = reader.told(FormerNames::load(reader.conn))?;
    refuse_renamed(other, &names)?;
    let numbers: HashSet<&str> = theirs.library.parts.iter().map(|part| part.id.as_str()).collect();
    refuse_superseded(other, &names, &numbers)?;
    let (touched, touched_there) = (Touched::by(own, &names), Touched::by(other, &names));
    let mut sides = BothCopies {
        reader,
        ours: &touched,
        theirs: &touched_there,
        decided,
        open: Vec::new(),
        becomes: Vec::new(),
    };
    let now = |name: &str| names.now(name).into_owned();
    let (here, there) = (&ours.library, &theirs.library);
    let mut parts_there = there.parts.clone();
    // What has given its place to another part here is no part of its own any more.
    parts_there
        .retain(|part| *names.now(&part.id) == part.id || !numbers.contains(&*names.now(&part.id)));
    for part in &mut parts_there {
        let called = now(&part.id);
        if called != part.id {
            // It has another number here, which is no difference of the part.
            part.formerly.push(std::mem::replace(&mut part.id, called));
            part.formerly.sort_unstable();
            part.formerly.dedup();
        }
    }
    let mut pieces_there = there.measured.specimens.clone();
    for piece in &mut pieces_there {
        piece.part = now(&piece.part);
    }
    let mut jobs_there = theirs.jobs.clone();
    for job in &mut jobs_there {
        job.call_parts(|id| Some(now(id)));
    }
    let instruments =
        sides.steps(here.measured.instruments.clone(), there.measured.instruments.clone())?;
    let parts = sides.steps(here.parts.clone(), parts_there)?;
    let pieces = sides.steps(here.measured.specimens.clone(), pieces_there)?;
    let jobs = sides.steps(ours.jobs.clone(), jobs_there)?;
    let headings = sides.steps(ours.headings.clone(), theirs.headings.clone())?;
    let house = house(&mut sides, &here.house, &there.house)?;
    let (new_readings, gone_readings, struck) =
        readings(&mut sides, ours, theirs, (&ours.events[..past], other), &now);
    let answers = answers(ours, theirs, last.number);
    let told = Merged {
        common: last.command,
        since: (commands(own), commands(other)),
        becomes: sides.becomes,
        readings: (new_readings.len(), gone_readings.len(), struck.len()),
        answers: answers.iter().map(|kept| kept.name.clone()).collect(),
        conflicts: sides.open,
    };
    Ok(MergePlan {
        told,
        instruments,
        parts,
        pieces,
        jobs,
        headings,
        house,
        new_readings,
        gone_readings,
        struck,
        answers,
    })
}

/// The house numbers with those that the other copy alone changed.
fn house(sides: &mut BothCopies<'_>, ours: &House, theirs: &House) -> Result<Option<House>> {
    let kinds = sides.reader.kinds();
    let mut house = ours.clone();
    let mut changes = Vec::new();
    let own = ours.settings(kinds, Unit::In);
    for (own, other) in own.into_iter().zip(theirs.settings(kinds, Unit::In)) {
        if own.value == other.value {
            continue;
        }
        let held = |text: &str| Held::of(text.into(), true);
        let (from, to) = (held(&own.value), held(&other.value));
        let change = FieldChange { field: own.key.clone(), from, to };
        let whose = sides.whose(Subject::House, "", std::slice::from_ref(&change));
        if whose == Some(Whose::Theirs) {
            // A default is none that the shop set.
            house.set(kinds, &own.key, if other.changed { &other.value } else { "" })?;
            changes.push(change);
        }
    }
    if changes.is_empty() {
        return Ok(None);
    }
    house.validate()?;
    let (subject, name) = (Subject::House, String::new());
    sides.becomes.push(Becomes { subject, name, deed: Deed::Changed, changes });
    Ok(Some(house))
}

type ReadingSteps = (Vec<ReadingSet>, Vec<ReadingSet>, Vec<(ReadingSet, Option<String>)>);

/// The number of a set of readings in the name that an event has of it.
fn number(event: &Event) -> Option<i64> {
    event.name.split(' ').next().and_then(|number| number.parse().ok())
}

/// The sets of readings that come, those that were taken out there, and those that were struck out there
/// or count again. A set that both have, and one that was written down in both, stays as it is.
fn readings(
    sides: &mut BothCopies<'_>,
    ours: &CopyState,
    theirs: &CopyState,
    (past, other): (&[Event], &[Event]),
    now: &impl Fn(&str) -> String,
) -> ReadingSteps {
    let of = |events: &[Event], deed: Deed| -> HashSet<i64> {
        let own = events.iter().filter(|event| event.subject == Subject::Reading);
        own.filter(|event| event.deed == deed).filter_map(number).collect()
    };
    // A number that both know from before is one set; the same number since may be two.
    let (known, gone) = (of(past, Deed::Added), of(other, Deed::Removed));
    let here = &ours.library.measured.readings;
    let renamed = |set: &ReadingSet| ReadingSet { part: now(&set.part), ..set.clone() };
    let there = &theirs.library.measured.readings;
    let by_number: HashMap<i64, &ReadingSet> = here.iter().map(|set| (set.number, set)).collect();
    let by_words: HashMap<_, &ReadingSet> =
        here.iter().map(|set| ((set.as_read(), set.bar), set)).collect();
    let new = there.iter().filter(|set| !known.contains(&set.number)).map(renamed);
    let new = new.filter(|set| !by_words.contains_key(&(set.as_read(), set.bar))).collect();
    let out = here.iter().filter(|set| known.contains(&set.number) && gone.contains(&set.number));
    let mut struck = Vec::new();
    for other in there {
        let set = if known.contains(&other.number) {
            by_number.get(&other.number)
        } else {
            let other = renamed(other);
            by_words.get(&(other.as_read(), other.bar))
        };
        let Some(set) = set.filter(|set| set.struck != other.struck) else { continue };
        let held = |struck: &Option<String>| Held::of(struck.clone().unwrap_or_default(), false);
        let change = FieldChange {
            field: "struck".into(),
            from: held(&set.struck),
            to: held(&other.struck),
        };
        let names = (set.number.to_string(), other.number.to_string());
        if sides.whose_struck((&names.0, &names.1), change) == Some(Whose::Theirs) {
            struck.push(((*set).clone(), other.struck.clone()));
        }
    }
    (new, out.cloned().collect(), struck)
}

/// Kept answers that ours does not have; one whose name is another one's here gets a number behind it.
fn answers(ours: &CopyState, theirs: &CopyState, last_event: i64) -> Vec<KeptAnswer> {
    let whole = |state: &CopyState| -> Vec<KeptAnswer> {
        state.answers.iter().filter_map(|(_, kept)| kept.as_ref().ok().cloned()).collect()
    };
    let here = whole(ours);
    let mut names: HashSet<String> = ours.answers.iter().map(|(name, _)| name.clone()).collect();
    let mut new = Vec::new();
    for kept in whole(theirs) {
        let same = |own: &KeptAnswer| own.stamp == kept.stamp && own.given == kept.given;
        if here.iter().any(same) {
            continue;
        }
        let mut name = kept.name.clone();
        let mut next = 2_u64;
        while !names.insert(name.clone()) {
            name = format!("{}-{next}", kept.name);
            next += 1;
        }
        // Of what came since nothing is told apart here: all of it has changed since.
        new.push(KeptAnswer { name, last_event: kept.last_event.min(last_event), ..kept });
    }
    new
}

impl Writer<'_> {
    /// Stores a plan: what others rest on comes first and goes last.
    fn store_merge(&self, plan: &MergePlan) -> Result<()> {
        self.store_steps(&plan.instruments)?;
        self.store_steps(&plan.parts)?;
        self.store_steps(&plan.pieces)?;
        for set in &plan.gone_readings {
            self.take_reading_out(set)?;
        }
        for (set, struck) in &plan.struck {
            self.set_struck(set, struck.as_deref())?;
        }
        for set in &plan.new_readings {
            self.insert_reading(set)?;
        }
        self.store_steps(&plan.jobs)?;
        self.store_steps(&plan.headings)?;
        if let Some(house) = &plan.house {
            self.save_house(house)?;
        }
        self.remove_steps(&plan.headings)?;
        self.remove_steps(&plan.jobs)?;
        self.remove_steps(&plan.pieces)?;
        self.remove_steps(&plan.parts)?;
        self.remove_steps(&plan.instruments)?;
        for kept in &plan.answers {
            self.keep_answer(kept)?;
        }
        // Kept answers alone are no change on record.
        let Some(command) = self.command.get() else { return Ok(()) };
        let events = self.reader().history_since(0)?;
        let own: Vec<Event> = events.into_iter().filter(|one| one.command == command).collect();
        self.check_jobs_of(&own)
    }

    /// Adds and changes.
    fn store_steps<T: Stored>(&self, steps: &Steps<T>) -> Result<()> {
        for step in &steps.0 {
            match step {
                (None, Some(new)) => self.insert(new)?,
                (Some(old), Some(new)) => self.replace(old, new)?,
                (_, None) => {}
            }
        }
        Ok(())
    }

    /// Takes out what is to go.
    fn remove_steps<T: Stored>(&self, steps: &Steps<T>) -> Result<()> {
        for step in &steps.0 {
            if let (Some(old), None) = step {
                self.remove(old)?;
            }
        }
        Ok(())
    }
}
