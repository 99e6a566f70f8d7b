//! What lies on the shelf: set aside for a job, put back, taken out of the shop, received.
//!
//! How many there are of a part number counts its pieces too. What is set aside for a job is told by the
//! job, so that history, files and undo carry it like all else that a job says.

use super::csv::{condition_named, piece_named};
use super::{Reader, Writer};
use crate::error::{Error, Result};
use crate::model::job::{Job, MOST_ASIDE};
use crate::model::part::Part;
use crate::model::pieces::{ReadingSet, Specimen, part_and_label};
use crate::model::words::quoted;

/// A part number or one piece of it, as somebody named it.
#[derive(Debug, Clone)]
pub struct OnShelf {
    /// The part.
    pub part: Part,
    /// The piece, where one was named.
    pub piece: Option<Specimen>,
}

impl OnShelf {
    /// What it is called.
    pub fn name(&self) -> String {
        self.piece.as_ref().map_or_else(|| self.part.id.clone(), Specimen::id)
    }
}

impl Reader<'_> {
    /// The part or the piece of this name.
    ///
    /// # Errors
    ///
    /// Names the nearest one where there is none.
    pub fn on_shelf(&self, name: &str) -> Result<OnShelf> {
        if let Some(part) = self.find_part(name.trim())? {
            return Ok(OnShelf { part, piece: None });
        }
        match part_and_label(name.trim()) {
            Some((part, label)) => {
                let (part, piece) = (self.load_part(part)?, self.load_piece(part, label)?);
                Ok(OnShelf { part, piece: Some(piece) })
            }
            None => self.load_part(name.trim()).map(|part| OnShelf { part, piece: None }),
        }
    }

    /// The jobs for which pieces of a part are set aside, each with what is.
    fn aside_of(&self, part: &str) -> Result<Vec<(String, Vec<String>)>> {
        let mut all = Vec::new();
        for id in self.jobs_naming(part)? {
            let job = self.load_job(&id)?;
            let own = job.set_aside.into_iter().filter(|name| is_of(name, part));
            let own: Vec<String> = own.collect();
            if !own.is_empty() {
                all.push((id, own));
            }
        }
        Ok(all)
    }

    /// Refuses to give more of a part than lie on the shelf for everybody.
    fn refuse_more_than_free(&self, thing: &OnShelf, pieces: u32) -> Result<()> {
        let (name, part) = (thing.name(), &thing.part);
        let aside = self.aside_of(&part.id)?;
        let jobs = |wanted: &dyn Fn(&String) -> bool| {
            let own = aside.iter().filter(|(_, names)| names.iter().any(wanted));
            own.map(|(job, _)| job.clone()).collect::<Vec<_>>()
        };
        if let Some(piece) = &thing.piece {
            let taken = jobs(&|other| *other == name);
            if !taken.is_empty() {
                let for_whom = quoted(&taken);
                return Err(Error::input(format!("`{name}` is set aside for {for_whom}"))
                    .hint("`part put-back` gives it back to the shelf first"));
            }
            for id in self.jobs_naming(&part.id)? {
                if self.load_job(&id)?.fitted.iter().flatten().any(|fitted| *fitted == name) {
                    return Err(Error::input(format!("`{name}` is fitted on the job `{id}`"))
                        .hint("what is fitted lies on no shelf"));
                }
            }
            if !piece.in_hand {
                return Err(Error::input(format!("`{name}` is gone"))
                    .hint(format!("`part receive {name}` where it has come back")));
            }
            return Ok(());
        }
        self.refuse_unnamed(thing, pieces, &aside)?;
        let gone: usize = aside.iter().map(|(_, names)| names.len()).sum();
        let free = part.on_hand.saturating_sub(u32::try_from(gone).unwrap_or(u32::MAX));
        if pieces <= free {
            return Ok(());
        }
        let lie = if part.on_hand == 1 { "lies" } else { "lie" };
        let held = match gone {
            0 => String::new(),
            1 => format!(", and 1 is set aside for {}", quoted(&jobs(&|_| true))),
            _ => format!(", and {gone} are set aside for {}", quoted(&jobs(&|_| true))),
        };
        let there = format!("{} {lie} on the shelf{held}", part.on_hand);
        Err(Error::input(format!("{pieces} of `{name}` cannot be had: {there}")).hint(format!(
            "`part receive {name}` counts what has come, `part put-back` frees what is set aside"
        )))
    }

    /// Refuses to give pieces by their part number where those on the shelf have names of their own: it
    /// would not be known which of them are left.
    fn refuse_unnamed(
        &self,
        thing: &OnShelf,
        pieces: u32,
        aside: &[(String, Vec<String>)],
    ) -> Result<()> {
        let part = &thing.part;
        let mut named = self.load_pieces(&part.id)?;
        named.retain(|piece| piece.in_hand);
        if named.is_empty() {
            return Ok(());
        }
        let measured = self.load_measured()?;
        named.retain(|piece| {
            let of_piece = |set: &&ReadingSet| set.part == part.id && set.piece == piece.label;
            measured.readings.iter().any(|set| of_piece(&set) && set.struck.is_none())
        });
        for id in self.jobs_naming(&part.id)? {
            let job = self.load_job(&id)?;
            named.retain(|piece| !job.fitted.iter().flatten().any(|name| *name == piece.id()));
        }
        let number = |names: &Vec<String>| names.iter().filter(|name| **name == part.id).count();
        let bare: usize = aside.iter().map(|(_, names)| number(names)).sum();
        let loose = (part.on_hand as usize).saturating_sub(named.len() + bare);
        let all = part.on_hand as usize;
        if named.is_empty() || pieces as usize <= loose || all < pieces as usize {
            return Ok(());
        }
        let taken = |piece: &Specimen| aside.iter().any(|(_, names)| names.contains(&piece.id()));
        let free: Vec<String> =
            named.iter().filter(|piece| !taken(piece)).map(Specimen::id).collect();
        if free.is_empty() {
            return Ok(());
        }
        let id = &part.id;
        Err(Error::input(format!("of `{id}` measured pieces lie on the shelf: {}", quoted(&free)))
            .hint(format!("name the piece, such as `{}`", free[0])))
    }
}

/// Whether a name is that of a part or of a piece of it.
fn is_of(name: &str, part: &str) -> bool {
    name == part || part_and_label(name).is_some_and(|(of, _)| of == part)
}

/// One piece can only be one.
fn check_count(thing: &OnShelf, pieces: u32) -> Result<()> {
    if thing.piece.is_some() && pieces != 1 {
        return Err(Error::input(format!("`{}` is one piece, not {pieces}", thing.name()))
            .hint("name the part number for several"));
    }
    Ok(())
}

/// What was taken out of the shop.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenOut {
    /// How many of it had been set aside for the job.
    pub aside: u32,
    /// How many of the part number are left on the shelf.
    pub left: u32,
}

impl Writer<'_> {
    /// Sets pieces that lie on the shelf aside for a job. Returns the name of what was.
    ///
    /// # Errors
    ///
    /// Refuses more than are there and not set aside yet, and a part number of which every piece on
    /// the shelf has a name of its own.
    pub fn set_aside(&self, name: &str, pieces: u32, job: &str) -> Result<String> {
        let reader = self.reader();
        let (thing, job) = (reader.on_shelf(name)?, reader.load_job(job.trim())?);
        check_count(&thing, pieces)?;
        reader.refuse_more_than_free(&thing, pieces)?;
        self.put_aside(&thing, pieces, &job)
    }

    fn put_aside(&self, thing: &OnShelf, pieces: u32, job: &Job) -> Result<String> {
        let name = thing.name();
        let mut new = job.clone();
        new.set_aside.extend((0..pieces).map(|_| name.clone()));
        if new.set_aside.len() > MOST_ASIDE {
            let found = new.set_aside.len();
            let job = &job.id;
            return Err(Error::input(format!(
                "{found} pieces would be set aside for `{job}`, and {MOST_ASIDE} may be"
            ))
            .hint("split the job"));
        }
        new.set_aside.sort_unstable();
        self.replace(job, &new)?;
        Ok(name)
    }

    /// Gives pieces back to the shelf that were set aside for a job. Returns the name of what was.
    ///
    /// # Errors
    ///
    /// Refuses more than are set aside for it.
    pub fn put_back(&self, name: &str, pieces: u32, job: &str) -> Result<String> {
        let reader = self.reader();
        let (thing, job) = (reader.on_shelf(name)?, reader.load_job(job.trim())?);
        let name = thing.name();
        let (new, found) = without(&job, &name, pieces);
        if found < pieces {
            let what = if found == 0 { "nothing".into() } else { found.to_string() };
            let message = format!("{what} of `{name}` is set aside for `{}`", job.id);
            return Err(Error::input(message)
                .hint(format!("`shelf --for {}` shows what is set aside for it", job.id)));
        }
        self.replace(&job, &new)?;
        Ok(name)
    }

    /// Takes pieces out of the shop: what is set aside for the job first, then what lies there for
    /// everybody.
    ///
    /// # Errors
    ///
    /// Refuses more than there are, and what is set aside for other jobs.
    pub fn take_out(
        &self,
        name: &str,
        pieces: u32,
        job: Option<&str>,
    ) -> Result<(String, TakenOut)> {
        let reader = self.reader();
        let thing = reader.on_shelf(name)?;
        check_count(&thing, pieces)?;
        let name = thing.name();
        let mut aside = 0;
        if let Some(job) = job {
            let job = reader.load_job(job.trim())?;
            let (new, found) = without(&job, &name, pieces);
            aside = found;
            self.replace(&job, &new)?;
        }
        reader.refuse_more_than_free(&thing, pieces)?;
        let left = thing.part.on_hand.saturating_sub(pieces);
        self.replace(&thing.part, &Part { on_hand: left, ..thing.part.clone() })?;
        if let Some(piece) = &thing.piece {
            self.replace(piece, &Specimen { in_hand: false, ..piece.clone() })?;
        }
        Ok((name, TakenOut { aside, left }))
    }

    /// Counts pieces that have come, and sets them aside where they came for a job. A piece that is named
    /// with a label is one, in this condition where it is new to the catalog. Returns its name and how
    /// many of the part number lie on the shelf now.
    ///
    /// # Errors
    ///
    /// Refuses a piece that is in hand already.
    pub fn receive(
        &self,
        name: &str,
        pieces: u32,
        (job, condition): (Option<&str>, &str),
    ) -> Result<(String, u32)> {
        let reader = self.reader();
        let part = match reader.find_part(name.trim())? {
            Some(part) => part,
            None => {
                reader.load_part(part_and_label(name.trim()).map_or(name, |(of, _)| of).trim())?
            }
        };
        let mut thing = OnShelf { part, piece: None };
        if !thing.part.is_called(name.trim()) {
            let (_, label) = piece_named(name)?;
            thing.piece = Some(self.piece_received(&thing.part, label, condition)?);
        }
        check_count(&thing, pieces)?;
        let most = || Error::input(format!("`{}` has too many on hand to count", thing.part.id));
        let on_hand = thing.part.on_hand.checked_add(pieces).ok_or_else(most)?;
        let more = Part { on_hand, ..thing.part.clone() };
        self.replace(&thing.part, &more)?;
        if let Some(job) = job {
            self.put_aside(&thing, pieces, &reader.load_job(job.trim())?)?;
        }
        Ok((thing.name(), on_hand))
    }

    /// The piece of this label, in hand from now on.
    fn piece_received(&self, part: &Part, label: &str, condition: &str) -> Result<Specimen> {
        let reader = self.reader();
        let known = reader.load_pieces(&part.id)?.into_iter().find(|piece| piece.label == label);
        let Some(known) = known else {
            let piece = Specimen::new(&part.id, label, condition_named(condition)?);
            self.insert(&piece)?;
            return Ok(piece);
        };
        if known.in_hand {
            return Err(Error::input(format!("`{}` is in hand already", known.id()))
                .hint("give the one that has come another label"));
        }
        let piece = Specimen { in_hand: true, ..known.clone() };
        self.replace(&known, &piece)?;
        Ok(piece)
    }
}

/// The job without so many pieces of this name that are set aside for it, and how many there were to
/// take.
fn without(job: &Job, name: &str, pieces: u32) -> (Job, u32) {
    let mut new = job.clone();
    let mut found = 0;
    new.set_aside.retain(|aside| {
        let goes = aside == name && found < pieces;
        found += u32::from(goes);
        !goes
    });
    (new, found)
}

/// What is set aside for a job, each name once, as in `2 of SH-S030`.
pub fn aside_words(job: &Job) -> Vec<String> {
    let mut words: Vec<(String, usize)> = Vec::new();
    for name in &job.set_aside {
        match words.last_mut().filter(|(last, _)| last == name) {
            Some((_, pieces)) => *pieces += 1,
            None => words.push((name.clone(), 1)),
        }
    }
    let word = |(name, pieces)| if pieces == 1 { name } else { format!("{pieces} of {name}") };
    words.into_iter().map(word).collect()
}
