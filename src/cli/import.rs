//! `import`: parts and jobs from sheets, all or nothing.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::io::Read as _;
use std::path::Path;

use super::args::{Common, Import};
use super::env::Env;
use super::learn::{learn, learn_kinds, name};
use super::names::meant;
use super::{Reply, headings, place};
use crate::catalog::csv::{FileCount, Imported, Options, Source, Tally, import, strange};
use crate::catalog::{Access, Catalog};
use crate::error::{Error, Result};
use crate::model::agreed::{Agreed, AskedTopic};
use crate::model::headings::Headings;
use crate::model::words::count;
use crate::report;

/// How many things are shown before they are stored, and how many questions of one topic.
const SHOWN: usize = 20;

pub(super) fn run(common: &Common, args: &Import, env: &mut Env<'_>) -> Result<Reply> {
    let sources = args.files.iter().map(|path| read(path, env)).collect::<Result<Vec<_>>>()?;
    let mut catalog = place::open(common, env, Access::Create)?;
    let given = args.headings.as_deref().map(|text| headings::asked(&catalog, text)).transpose()?;
    let mut options = Options {
        kind: args.kind.as_deref(),
        replace: args.replace,
        dry_run: args.dry_run,
        meant: meant(env.kinds, &args.unusual)?,
        problems: args.problems.as_deref(),
        agreed: Agreed::read(&args.agree)?,
        prices: args.prices,
        good_rows: args.good_rows.as_deref(),
        headings: given.as_ref(),
        learn: false,
    };
    // Whoever sends the sheet over the input cannot answer there.
    let asks = env.input_is_terminal && !args.files.iter().any(|path| path == Path::new("-"));
    let learned: Headings;
    if asks && given.is_none() {
        let tables = strange(&catalog, &sources, &options)?;
        if let [only] = tables.as_slice() {
            let mut answers = learn(only, env)?;
            let tried = Options { headings: Some(&answers), ..options.clone() };
            let strange = strange(&catalog, &sources, &tried)?;
            learn_kinds(&strange, &mut answers, env)?;
            name(&mut answers, env)?;
            learned = answers;
            options.learn = !learned.name.is_empty();
            options.headings = Some(&learned);
        } else if tables.len() > 1 {
            let message = format!("the headings of {} tables are not known", tables.len());
            return Err(Error::input(message).hint("import them one at a time, to be asked"));
        }
    }
    let stamp = place::stamp(common, env);
    if args.dry_run {
        let would = import(&mut catalog, &stamp, &sources, &options)?;
        let holds = would.questions.is_empty();
        let text = told(&would, usize::MAX, common, env);
        let doubts = doubts(&would);
        let left = would.others.iter().map(|file| file.rows).sum::<usize>();
        let left = match left {
            0 => String::new(),
            left => format!("not taken: {}\n", count(left as u128, "row")),
        };
        let text = format!("{text}{left}{doubts}Nothing was stored: that was a dry run.\n");
        return Ok(Reply::good(text).holding(holds));
    }
    if asks && !args.yes {
        agree(&mut catalog, common, &sources, &mut options, env)?;
    }
    let imported = import(&mut catalog, &stamp, &sources, &options)?;
    place::tell_of_new(&catalog, env);
    let mut text = told(&imported, SHOWN, common, env);
    if let (Some(headings), true) = (options.headings, options.learn) {
        // Writing to a string cannot fail.
        let _ = writeln!(text, "The headings are kept as {}.", headings.name);
    }
    if let Some(directory) = options.good_rows {
        for FileCount { name, rows } in &imported.others {
            let (path, rows) = (directory.join(name), count(*rows as u128, "row"));
            let _ = writeln!(text, "not taken: {rows}, in {}", path.display());
        }
    }
    Ok(Reply { changed: true, ..Reply::good(text) })
}

fn read(path: &Path, env: &mut Env<'_>) -> Result<Source> {
    if path != Path::new("-") {
        return Source::read(path);
    }
    let mut bytes = Vec::new();
    if let Some(input) = env.input.as_mut() {
        input.read_to_end(&mut bytes).map_err(|error| {
            Error::storage(format!("standard input could not be read: {error}"))
        })?;
    }
    Ok(Source::standard_input(bytes))
}

/// Shows a person what would be stored, asks about what may be meant otherwise, and then whether it is
/// to be stored.
fn agree(
    catalog: &mut Catalog,
    common: &Common,
    sources: &[Source],
    options: &mut Options<'_>,
    env: &mut Env<'_>,
) -> Result<()> {
    let stamp = place::stamp(common, env);
    // Each answer may change what the others are about.
    loop {
        let tried = Options { dry_run: true, ..options.clone() };
        let would = import(catalog, &stamp, sources, &tried)?;
        let topics: BTreeSet<AskedTopic> =
            would.questions.iter().map(|question| question.topic).collect();
        let Some(topic) = topics.first().copied() else {
            let text = report::becomes(&would.becomes, env.kinds, SHOWN, env.view(common));
            env.tell_as_is(text.trim_end());
            if would.becomes.is_empty() {
                return Ok(());
            }
            return match env.agreed("Store this, yes or no? ")? {
                Some(false) => Err(Error::input("nothing was stored")),
                _ => Ok(()),
            };
        };
        let of_topic: Vec<_> =
            would.questions.iter().filter(|question| question.topic == topic).collect();
        for question in of_topic.iter().take(SHOWN) {
            env.tell(&format!("{}: {}", question.place(), question.text));
        }
        if let Some(more @ 1..) = of_topic.len().checked_sub(SHOWN) {
            env.tell(&format!("and {more} more like these"));
        }
        let does = topic.does();
        match env.agreed(&format!("Yes {does}. Yes or no? "))? {
            Some(true) => options.agreed.add(topic),
            _ if topic == AskedTopic::Faces
                && env.agreed("Take such names apart, yes or no? ")? == Some(true) =>
            {
                options.agreed.add(AskedTopic::SplitFaces);
            }
            _ => {
                return Err(Error::input("nothing was stored")
                    .hint("put the sheet right, and import it again"));
            }
        }
    }
}

/// What was not agreed to, a line each.
fn doubts(would: &Imported) -> String {
    let line = |question: &crate::model::agreed::Doubt| {
        let (place, topic, text) = (question.place(), question.topic.word(), &question.text);
        format!("  {place}: {text} (--agree {topic})\n")
    };
    if would.questions.is_empty() {
        return String::new();
    }
    let lines: String = would.questions.iter().map(line).collect();
    format!("To be agreed to:\n{lines}")
}

/// What was stored, or would be.
fn told(imported: &Imported, most: usize, common: &Common, env: &mut Env<'_>) -> String {
    for note in &imported.notes {
        env.tell(&format!("note: {note}"));
    }
    env.warn(&imported.warnings);
    let rows = |file: &FileCount| format!("{}: {}\n", file.name, count(file.rows as u128, "row"));
    let files: String = imported.files.iter().map(rows).collect();
    let (parts, jobs) = (tally(&imported.parts), tally(&imported.jobs));
    let measured = measured(imported);
    let view = env.view(common);
    let entered = report::entered_of(&imported.entered, view);
    let becomes = report::becomes(&imported.becomes, env.kinds, most, view);
    let unpriced = match imported.unpriced {
        0 => String::new(),
        unpriced => {
            let rows = count(unpriced as u128, "row");
            format!("passed over: {rows} of parts that are not in the catalog\n")
        }
    };
    format!("{files}parts: {parts}\njobs: {jobs}\n{measured}{unpriced}{entered}{becomes}")
}

/// What became of pieces, readings and instruments, where the files held any.
fn measured(imported: &Imported) -> String {
    let Tally { added, updated, unchanged } = imported.readings;
    let lines = [
        (imported.pieces, format!("pieces: {}\n", tally(&imported.pieces))),
        (
            imported.readings,
            format!(
                "sets of readings: {added} added, {updated} struck out, {unchanged} there already\n"
            ),
        ),
        (imported.instruments, format!("instruments: {}\n", tally(&imported.instruments))),
        (imported.house, format!("house numbers: {}\n", tally(&imported.house))),
    ];
    lines.into_iter().filter(|(told, _)| *told != Tally::default()).map(|(_, line)| line).collect()
}

fn tally(tally: &Tally) -> String {
    format!("{} added, {} updated, {} unchanged", tally.added, tally.updated, tally.unchanged)
}
