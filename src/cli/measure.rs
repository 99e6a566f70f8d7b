//! `measure`: one piece, asked for one dimension after another.
//!
//! Questions go to standard error and answers come from standard input, so that the summary on
//! standard output can be kept, and a file can answer in the place of a person. Nothing is stored
//! until the end, and then all of it: an interrupt, a hang-up or a request to end is such an end.

use std::io::Write as _;
use std::path::{Path, PathBuf};

use super::args::{Common, Measure as Args};
use super::env::Env;
use super::names::meant;
use super::reading::taken;
use super::{Reply, place, say};
use crate::catalog::csv::{CsvFile, condition_named, day_named, readings_file};
use crate::catalog::{Access, Catalog, plain};
use crate::desk::{AtBench, Read, of_bare, with_unit_set};
use crate::error::{Error, Result};
use crate::measure::findings::Findings;
use crate::measure::slips::Expected;
use crate::model::history::Stamp;
use crate::model::kinds::{DimSpec, Quantity};
use crate::model::length::{Length, Unit};
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::pieces::{ReadingSet, Specimen, part_and_label};
use crate::model::usual::Meant;
use crate::report::{self, View};

pub(super) fn run(common: &Common, args: &Args, env: &mut Env<'_>) -> Result<Reply> {
    let mut catalog = place::open(common, env, Access::Write)?;
    let library = catalog.load_library()?;
    let (part, label) = match library.find(&args.part) {
        Some(part) => (part.clone(), None),
        None => match part_and_label(&args.part) {
            Some((part, label)) => (catalog.load_part(part)?, Some(label.to_string())),
            None => (catalog.load_part(&args.part)?, None),
        },
    };
    let mut pairs = taken(&args.taken, env);
    let dims = wanted(&part, &args.only)?;
    // What is wrong is said before anybody has measured for nothing.
    args.taken.date.as_deref().map(day_named).transpose()?;
    if let Some(name) = args.taken.instrument.as_deref()
        && library.measured.instrument(name).is_none()
    {
        return catalog.read(|reader| Err(reader.no_instrument(name)));
    }
    let view = env.view(common);
    let findings = Findings::of(&library);
    let mut bench = Dialogue {
        library: &library,
        findings,
        part: &part,
        view,
        meant: meant(env.kinds, &args.unusual)?,
        bars: Vec::new(),
        unit: common.units,
        env,
    };
    bench.open();
    let Some(piece) = bench.piece(label)? else { return Ok(nothing()) };
    if args.taken.instrument.is_none() {
        pairs.extend(bench.instrument()?.map(|name| format!("instrument={name}")));
    }
    let mut sets = Vec::new();
    let ended = bench.dimensions(&piece, &dims, &pairs, &mut sets);
    let stopped = (env.was_stopped)();
    if sets.is_empty() {
        return match ended {
            Ok(()) if stopped => Err(Error::stopped("interrupted: nothing had been read")),
            ended => ended.map(|()| nothing()),
        };
    }
    if let Err(error) = store(&mut catalog, &place::stamp(common, env), &piece, &sets) {
        return Err(rescued(&readings_file(&part, &piece, &sets, view.unit), error, env));
    }
    let reply = Reply::stored(report::measured(&library, &piece, &sets, view));
    match ended {
        Ok(()) if !stopped => return Ok(reply),
        Ok(()) => {}
        Err(error) => env.tell(&format!("warning: {}", error.one_line())),
    }
    // Whoever stopped it may be gone with the terminal: what was read is stored all the same.
    let _ = say(env, &reply.text, false);
    Err(Error::stopped("interrupted: what had been read by then is stored"))
}

/// Keeps readings that could not be stored: nobody is to go back to the bench because a disk was full.
/// They are printed, or where nothing can be printed, written into a file.
fn rescued(file: &CsvFile, error: Error, env: &mut Env<'_>) -> Error {
    let error = error.at("nothing was stored");
    if say(env, &file.text, true).is_ok() && !(env.was_stopped)() {
        return error.hint("what was read is above as CSV: keep it as `readings.csv` to import it");
    }
    match set_aside(file) {
        Ok(path) => error.hint(format!("what was read is kept in `{}`: import it", path.display())),
        Err(why) => error.hint(format!("what was read could not be kept either: {}", plain(&why))),
    }
}

/// Writes a file where one can be written.
fn set_aside(file: &CsvFile) -> std::io::Result<PathBuf> {
    let write = |directory: &Path| -> std::io::Result<PathBuf> {
        let mut builder = tempfile::Builder::new();
        let mut kept = builder.prefix("readings-").suffix(".csv").tempfile_in(directory)?;
        kept.write_all(file.text.as_bytes())?;
        kept.as_file().sync_all()?;
        Ok(kept.keep().map_err(|error| error.error)?.1)
    };
    write(Path::new(".")).or_else(|_| write(&std::env::temp_dir()))
}

fn nothing() -> Reply {
    Reply::good("Nothing was read, so nothing was stored.\n")
}

fn store(
    catalog: &mut Catalog,
    stamp: &Stamp,
    piece: &Specimen,
    sets: &[ReadingSet],
) -> Result<()> {
    catalog.write(stamp, |writer| {
        let known = writer.reader().load_measured()?;
        if known.piece(&piece.part, &piece.label).is_none() {
            writer.insert(piece)?;
        }
        sets.iter().try_for_each(|set| writer.insert_reading(set).map(|_| ()))
    })
}

/// The dimensions to ask for: what a stack needs first. A torque is nobody's to read at the bench.
fn wanted(part: &Part, only: &[String]) -> Result<Vec<&'static DimSpec>> {
    if !only.is_empty() {
        return only.iter().map(|key| part.kind.dim(key.trim())).collect();
    }
    let read = part.kind.dims.iter().filter(|spec| spec.quantity != Quantity::Torque);
    let (mut needed, others): (Vec<_>, Vec<_>) = read.partition(|spec| spec.needed);
    needed.extend(others);
    Ok(needed)
}

/// What somebody says to a question about a dimension.
enum ReadingSaid {
    /// What was read.
    Set(Box<ReadingSet>),
    /// What was read, looked like a slip, and was not confirmed before the end.
    Unsure(Box<ReadingSet>),
    /// A blank line.
    Nothing,
    /// The dimension before is asked for again.
    Back,
    /// There is no more to come.
    End,
    /// Nothing of what was read is wanted.
    Quit,
}

/// The dialogue about one piece.
struct Dialogue<'b, 'e> {
    library: &'b Library,
    findings: Findings<'b>,
    part: &'b Part,
    view: View,
    /// The bars that readings were taken over.
    bars: Vec<Length>,
    /// What is meant though it is unusual.
    meant: Meant,
    /// The unit of bare lengths, once it was set.
    unit: Option<Unit>,
    env: &'b mut Env<'e>,
}

impl Dialogue<'_, '_> {
    fn open(&mut self) {
        let Part { id, kind, description, .. } = self.part;
        let what = if description.is_empty() { String::new() } else { format!(": {description}") };
        self.env.tell(&format!("{} {id}{what}", kind.name));
        self.env.tell(
            "Several readings go into one line, as in `1.001 1.002 in`; `1.251 1.252 in over 1/4 \
             in` takes a bar off.",
        );
        self.env.tell(of_bare(self.unit));
        self.env.tell(
            "A blank line passes over a dimension, and `back` asks for the one before again. `done` or the \
             end of input (Ctrl-D) stores what was read, `quit` stores nothing.",
        );
    }

    /// Which piece it is; none where nobody says.
    fn piece(&mut self, label: Option<String>) -> Result<Option<Specimen>> {
        let id = &self.part.id;
        let known: Vec<&Specimen> = self.library.measured.pieces_of(self.part).collect();
        if label.is_none() && !known.is_empty() {
            let names = known.iter().map(|piece| {
                let gone = if piece.in_hand { "" } else { ", gone" };
                format!("{} ({}{gone})", piece.label, piece.condition.word())
            });
            let names = names.collect::<Vec<_>>().join(", ");
            self.env.tell(&format!("Known pieces: {names}"));
        }
        let label = match label {
            Some(label) => label,
            None => match self.env.ask("Label of the piece: ")? {
                Some(label) if !label.is_empty() => label,
                _ => return Ok(None),
            },
        };
        if let Some(piece) = self.library.measured.piece(id, &label) {
            return Ok(Some(piece.clone()));
        }
        loop {
            let question = format!("{id}#{label} is not known yet. New, used or machined? ");
            let Some(word) = self.env.ask(&question)? else { return Ok(None) };
            match condition_named(&word) {
                Ok(condition) => return Ok(Some(Specimen::new(id, label, condition))),
                Err(error) => self.env.tell(&format!("{error}")),
            }
        }
    }

    /// With what it is measured.
    fn instrument(&mut self) -> Result<Option<String>> {
        let names: Vec<&str> = self
            .library
            .measured
            .instruments
            .iter()
            .map(|instrument| instrument.name.as_str())
            .collect();
        self.env.tell(&format!("Instruments: {}", names.join(", ")));
        loop {
            let asked = self.env.ask("Instrument (blank: not written down): ")?;
            let Some(name) = asked.filter(|name| !name.is_empty()) else { return Ok(None) };
            if names.contains(&name.as_str()) {
                return Ok(Some(name));
            }
            self.env.tell(&format!("there is no instrument `{name}`"));
        }
    }

    /// What is read of one dimension after another, until there is no more to come.
    fn dimensions(
        &mut self,
        piece: &Specimen,
        dims: &[&DimSpec],
        pairs: &[String],
        sets: &mut Vec<ReadingSet>,
    ) -> Result<()> {
        let mut at = 0;
        while let Some(spec) = dims.get(at) {
            at += 1;
            match self.dimension(piece, spec, pairs)? {
                ReadingSaid::Set(set) => sets.push(*set),
                ReadingSaid::Nothing => {}
                ReadingSaid::Back => {
                    at = at.saturating_sub(2);
                    // It is read again.
                    sets.retain(|set| set.dimension != dims[at].key);
                }
                ReadingSaid::Unsure(set) => {
                    sets.push(*set);
                    break;
                }
                ReadingSaid::End => break,
                ReadingSaid::Quit => {
                    sets.clear();
                    break;
                }
            }
        }
        Ok(())
    }

    /// What was read of one dimension.
    fn dimension(
        &mut self,
        piece: &Specimen,
        spec: &DimSpec,
        pairs: &[String],
    ) -> Result<ReadingSaid> {
        let needed = if spec.needed { " (needed in a stack)" } else { "" };
        self.env.tell(&format!("{}{needed}: {}", spec.key, spec.about));
        let expected = Expected::of(&self.findings, self.part, piece.condition, spec);
        for Expected { length, from, .. } in &expected {
            self.env.tell(&format!("  {from} {}", length.exact(self.view.unit)));
        }
        loop {
            let Some(line) = self.env.ask("> ")? else { return Ok(ReadingSaid::End) };
            match line.to_lowercase().as_str() {
                "" => return Ok(ReadingSaid::Nothing),
                "back" => return Ok(ReadingSaid::Back),
                "done" => return Ok(ReadingSaid::End),
                "quit" => return Ok(ReadingSaid::Quit),
                word => {
                    if let Some(unit) = Unit::named(word) {
                        self.unit = Some(unit);
                        self.env.tell(of_bare(self.unit));
                        continue;
                    }
                }
            }
            let (value, bar) = match line.split_once(" over ") {
                Some((value, bar)) => (value.trim(), Some(bar.trim())),
                None => (line.as_str(), None),
            };
            let is_length = spec.quantity == Quantity::Length;
            let meant = |text: &str| {
                if is_length { with_unit_set(text, self.unit) } else { text.to_string() }
            };
            let (value, bar) = (meant(value), bar.map(|bar| with_unit_set(bar, self.unit)));
            let bar = bar.as_deref();
            let mut cells = pairs.to_vec();
            cells.push(format!("value={value}"));
            cells.extend(bar.map(|bar| format!("bar={bar}")));
            // The bar of this reading counts before those of others.
            let bars = bar.and_then(|bar| Length::parse(bar).ok()).into_iter();
            let bars: Vec<Length> = bars.chain(self.bars.iter().copied()).collect();
            let bench = AtBench { findings: &self.findings, part: self.part, piece };
            let read = bench.read(spec, &cells, (&bars, &self.meant, self.view.unit));
            let Read { set, unusual, doubt } = match read {
                Ok(read) => read,
                Err(error) => {
                    self.env.tell(&format!("  {error}"));
                    continue;
                }
            };
            self.bars = bars;
            self.env.warn(&unusual);
            self.env.tell(&format!("  {}", report::set_line(self.library, &set, self.view)));
            let Some(doubt) = doubt else { return Ok(ReadingSaid::Set(Box::new(set))) };
            match self.env.yes_or_no(&format!("  {doubt}. Keep it, yes or no? "))? {
                Some(true) => return Ok(ReadingSaid::Set(Box::new(set))),
                Some(false) => {
                    self.env.tell("  Not kept. Read it again, or pass over with a blank line.");
                }
                None => return Ok(ReadingSaid::Unsure(Box::new(unsure(set, &doubt)))),
            }
        }
    }
}

/// A set that looked like a slip, and nobody said that it is none: it is kept, struck out.
fn unsure(set: ReadingSet, doubt: &str) -> ReadingSet {
    ReadingSet { struck: Some(format!("not confirmed: {doubt}")), ..set }
}
