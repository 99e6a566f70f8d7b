//! `part list` and `job list`: parts and jobs that are sought.

use std::cmp::Ordering;

use super::args::{Common, Format, JobList, PartList as Args};
use super::env::Env;
use super::{Reply, place};
use crate::catalog::Access;
use crate::catalog::csv::{ShownCell, job_cells};
use crate::desk::{By, Sought, Stand, library_and_jobs, sought};
use crate::error::{Error, Result};
use crate::model::figure::{Figure, FigureRange};
use crate::model::job::{Job, Word as _};
use crate::model::kinds::folded;
use crate::model::length::Unit;
use crate::model::part::own_name;
use crate::report::{self, PartList, Standing};
use crate::stack::choice::Setup;

/// The parts that are sought.
pub(super) fn parts(common: &Common, args: &Args, env: &Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let (kinds, unit) = (env.kinds, common.unit());
    let kind = args.kind.as_deref().map(|name| kinds.named(name)).transpose()?;
    let (pairs, words) = split(&args.sought);
    let own = |key: &str| own_name(&folded(key)).map(String::from);
    let (of_own, pairs): (Vec<_>, Vec<_>) =
        pairs.into_iter().partition(|(key, _)| own(key).is_some());
    let of_own: Vec<(String, &str)> =
        of_own.into_iter().filter_map(|(key, wanted)| Some((own(key)?, wanted))).collect();
    let (shown_own, shown): (Vec<&String>, Vec<&String>) =
        args.show.iter().partition(|key| own(key).is_some());
    let mut own_columns: Vec<String> = of_own.iter().map(|(name, _)| name.clone()).collect();
    own_columns.extend(shown_own.into_iter().filter_map(|key| own(key)));
    own_columns.sort_unstable();
    own_columns.dedup();
    let range = |(key, text): &(&str, &str)| {
        let figure = Figure::named(kinds, kind, key)?;
        FigureRange::read(figure, text, unit).map_err(|error| error.at(format!("`{key}`")))
    };
    let ranges = pairs.iter().map(range).collect::<Result<Vec<FigureRange>>>()?;
    let sort = args.sort.as_deref().map(|key| By::named(kinds, kind, key)).transpose()?;
    let mut figures: Vec<Figure> = Vec::new();
    let asked = shown.iter().map(|key| Figure::named(kinds, kind, key));
    let sorted = if let Some(By::Number(figure)) = sort { Some(figure) } else { None };
    let told = ranges.iter().map(|range| range.figure).chain(sorted).map(Ok);
    for figure in told.chain(asked) {
        let figure = figure?;
        if !figures.contains(&figure) {
            figures.push(figure);
        }
    }
    let (library, mates) = catalog.read(|reader| {
        let mates = args.mates.as_deref().map(|id| reader.load_part(id)).transpose()?;
        Ok((reader.load_library()?, mates))
    })?;
    let asked = Sought {
        kind,
        ranges,
        mates: mates.as_ref(),
        on_hand: args.on_hand,
        retired: true,
        words: &words,
        own: of_own.iter().map(|(name, wanted)| (name.as_str(), *wanted)).collect(),
        sort,
        reverse: args.reverse,
    };
    let (parts, hidden): (Vec<_>, Vec<_>) =
        sought(&library, &asked).into_iter().partition(|part| part.retired == args.retired);
    let list = PartList {
        kinds,
        house: &library.house,
        parts: &parts,
        figures: &figures,
        own: &own_columns,
        retired_hidden: if args.retired { 0 } else { hidden.len() },
    };
    let view = env.view(common);
    let text = match args.written.format {
        Format::Table => report::part_list(&list, view),
        Format::Json => report::part_list_json(&list),
        Format::Csv => report::part_list_csv(&list, view),
    };
    Ok(Reply::in_format(text, args.written.format))
}

/// What was typed: pairs of key and value, and words.
fn split(sought: &[String]) -> (Vec<(&str, &str)>, String) {
    let (mut pairs, mut words) = (Vec::new(), Vec::new());
    for text in sought {
        match text.split_once('=') {
            Some((key, value)) => pairs.push((key.trim(), value.trim())),
            None => words.push(text.as_str()),
        }
    }
    (pairs, words.join(" "))
}

/// The jobs that are sought.
pub(super) fn jobs(common: &Common, args: &JobList, env: &Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let (kinds, unit) = (env.kinds, common.unit());
    let (pairs, words) = split(&args.sought);
    let columns = job_cells(kinds, &Job::new("", kinds), unit);
    for (key, _) in &pairs {
        known(&columns, key, &["job"])?;
    }
    let sort = match args.sort.as_deref() {
        Some(key) => Some(known(&columns, key, &["job", "verdict", "room"])?),
        None => None,
    };
    let (library, jobs) = catalog.read(library_and_jobs)?;
    let words = words.to_lowercase();
    let customer = args.customer.as_deref().unwrap_or_default().to_lowercase();
    let is_sought = |job: &&Job| {
        let in_state =
            args.state.is_empty() || args.state.iter().any(|word| *word == job.state.word());
        let told = job.customer.to_lowercase();
        in_state
            && customer.split_whitespace().all(|word| told.contains(word))
            && is_sought(job, &cells(job, env, unit), &pairs, &words)
    };
    let found: Vec<&Job> = jobs.iter().filter(is_sought).collect();
    let stands: Vec<(&Job, Stand<'_>)> = found
        .into_iter()
        .map(|job| {
            let setup = Setup::new(&library, job);
            (job, setup.map_or_else(Stand::Untold, |setup| Stand::of(&setup)))
        })
        .collect();
    let is_wanted = |standing: &Standing<'_>| {
        args.verdict.is_empty() || args.verdict.iter().any(|word| *word == standing.verdict)
    };
    let standings = stands.iter().map(|(job, stand)| standing(job, stand));
    let mut standings: Vec<Standing<'_>> = standings.filter(is_wanted).collect();
    if let Some(key) = sort {
        standings.sort_by_cached_key(|standing| place(standing, &key, args.reverse, env));
    } else if args.reverse {
        standings.reverse();
    }
    let view = env.view(common);
    let is_filtered = jobs.len() > standings.len();
    let text = match args.written.format {
        Format::Table => report::job_list(&standings, is_filtered, view),
        Format::Json => report::job_list_json(kinds, &standings),
        Format::Csv => report::job_list_csv(kinds, &standings, view),
    };
    Ok(Reply::in_format(text, args.written.format))
}

fn standing<'a>(job: &'a Job, stand: &'a Stand<'a>) -> Standing<'a> {
    let (fit, why) = match stand {
        Stand::Judged(fit, trouble) => (Some((&**fit, trouble)), None),
        Stand::Paper(empty) => (None, Some(format!("nothing is fitted: {}", empty.join(", ")))),
        Stand::Untold(error) => (None, Some(error.message().to_string())),
    };
    Standing { job, verdict: stand.verdict(), fit, why }
}

/// The filled cells of a job.
fn cells(job: &Job, env: &Env<'_>, unit: Unit) -> Vec<ShownCell> {
    let mut cells = job_cells(env.kinds, job, unit);
    cells.retain(|cell| !cell.text.is_empty());
    cells
}

/// A column that was named, or one of some more words.
fn known(columns: &[ShownCell], key: &str, more: &[&str]) -> Result<String> {
    let wanted = folded(key);
    let names = || columns.iter().map(|cell| cell.column.as_str()).chain(more.iter().copied());
    if names().any(|name| name == wanted) {
        return Ok(wanted);
    }
    let error = Error::input(format!("`{}` is no column of a job", key.trim()));
    Err(error.near(&wanted, names(), "`job keys` lists them"))
}

fn is_sought(job: &Job, cells: &[ShownCell], pairs: &[(&str, &str)], words: &str) -> bool {
    let has = |text: &str, wanted: &str| text.to_lowercase().contains(&wanted.to_lowercase());
    let pair = |(key, wanted): &(&str, &str)| {
        let key = folded(key);
        let text = cells.iter().find(|cell| cell.column == key).map_or("", |cell| &cell.text);
        let text = if key == "job" { &job.id } else { text };
        if wanted.is_empty() { text.is_empty() } else { has(text, wanted) }
    };
    let told = || cells.iter().map(|cell| cell.text.as_str()).chain([job.id.as_str()]);
    pairs.iter().all(pair)
        && words.split_whitespace().all(|word| told().any(|text| has(text, word)))
}

/// Where a job comes in a sorted list: what is unknown last, whichever way the list runs.
fn place(standing: &Standing<'_>, key: &str, reverse: bool, env: &Env<'_>) -> SortKey {
    let number = match key {
        "verdict" => {
            let at = Stand::VERDICTS.iter().position(|word| *word == standing.verdict);
            at.and_then(|at| i64::try_from(at).ok())
        }
        "room" => standing.fit.map(|(fit, _)| fit.room.nm()),
        _ => None,
    };
    let text = match key {
        "verdict" | "room" => None,
        "job" => Some(standing.job.id.to_lowercase()),
        _ => {
            let cells = cells(standing.job, env, Unit::In);
            let cell = cells.into_iter().find(|cell| cell.column == key);
            cell.map(|cell| cell.text.to_lowercase())
        }
    };
    SortKey { reverse, number, text }
}

#[derive(PartialEq, Eq)]
struct SortKey {
    reverse: bool,
    number: Option<i64>,
    text: Option<String>,
}

impl Ord for SortKey {
    fn cmp(&self, other: &Self) -> Ordering {
        let unknown = |place: &Self| place.number.is_none() && place.text.is_none();
        let known = (&self.number, &self.text).cmp(&(&other.number, &other.text));
        let known = if self.reverse { known.reverse() } else { known };
        unknown(self).cmp(&unknown(other)).then(known)
    }
}

impl PartialOrd for SortKey {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
