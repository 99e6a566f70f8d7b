//! `demo`: a shop that does not exist, and the answers to its main jobs.

use super::args::Common;
use super::env::Env;
use super::{Reply, place, progress};
use crate::catalog::csv::{Options, Source, import};
use crate::catalog::{Access, Catalog, plain};
use crate::desk::applied_library;
use crate::error::{Error, Result};
use crate::report;
use crate::solve::ask::{Ask, Order};
use crate::solve::cure::cure;
use crate::solve::recommend::recommend;
use crate::stack::choice::Setup;

/// Puts files of the demo shop into the program, by name.
macro_rules! files {
    ($($name:literal),* $(,)?) => {
        &[$(($name, include_str!(concat!("../../demo-data/", $name)))),*]
    };
}

/// The demo shop's files, the jobs last.
const FILES: &[(&str, &str)] = files![
    "engines.csv",
    "flywheels.csv",
    "discs.csv",
    "pressure_plates.csv",
    "block_plates.csv",
    "bell_spacers.csv",
    "bell_housings.csv",
    "gearbox_spacers.csv",
    "gearboxes.csv",
    "bearings.csv",
    "bearing_shims.csv",
    "master_cylinders.csv",
    "jobs.csv",
];

/// How many rows of the ranking are shown.
const TOP: usize = 5;

pub(super) fn run(common: &Common, env: &mut Env<'_>) -> Result<Reply> {
    // A catalog that the environment names is a shop's own, unless there is none yet.
    let own = place::named(common, env).filter(|path| common.catalog.is_some() || !path.exists());
    let Some(path) = own else {
        let file = tempfile::NamedTempFile::with_suffix(".db").map_err(|error| {
            Error::storage(format!("a temporary file could not be made: {}", plain(&error)))
        })?;
        let catalog = Catalog::open(file.path(), env.kinds, Access::Create)?;
        return shop(catalog, common, env, None);
    };
    let catalog = Catalog::open(&path, env.kinds, Access::Create)?;
    let taken = !catalog.load_library()?.parts.is_empty() || !catalog.load_jobs()?.is_empty();
    if taken {
        let name = path.display();
        return Err(Error::input(format!("the catalog `{name}` has parts or jobs already"))
            .hint("the demo wants a file of its own, such as `--catalog demo.db`"));
    }
    let kept = path.display().to_string();
    shop(catalog, common, env, Some(&kept))
}

fn shop(
    mut catalog: Catalog,
    common: &Common,
    env: &mut Env<'_>,
    kept: Option<&str>,
) -> Result<Reply> {
    let sources: Vec<Source> =
        FILES.iter().map(|(name, text)| Source::embedded(name, text)).collect();
    import(&mut catalog, &place::stamp(common, env), &sources, &Options::default())?;
    if kept.is_some() {
        place::tell_of_new(&catalog, env);
    }
    let library = catalog.read(applied_library)?;
    let view = env.view(common);
    let (parts, jobs) = (library.parts.len(), catalog.load_jobs()?.len());
    let mut text = format!(
        "The demo shop: {parts} parts and {jobs} jobs, all of them invented. Never build by them.\n\n"
    );
    let mut tight = None;
    if let Some(id) = job_named("tight-") {
        let job = catalog.load_job(id)?;
        let setup = Setup::new(&library, &job)?;
        let ask = Ask { top: TOP, order: Order::Changes, ..Ask::default() };
        let cured = progress::watched(env, |watch| cure(&setup, &ask, watch))?;
        text.push_str(&heading(&format!("bellstack cure {id} --top {TOP}")));
        text.push_str(&report::cure_table(&setup, &cured.shown(&setup), view));
        tight = Some(id);
    }
    if let Some(id) = job_named("paper-") {
        let job = catalog.load_job(id)?;
        let setup = Setup::new(&library, &job)?;
        let ask = Ask { top: TOP, ..Ask::default() };
        let answer = progress::watched(env, |watch| recommend(&setup, &ask, watch))?;
        text.push('\n');
        text.push_str(&heading(&format!("bellstack recommend {id} --top {TOP}")));
        text.push_str(&report::recommend_table(&setup, &answer.shown(&setup), view));
    }
    text.push_str(&next(kept, tight));
    Ok(Reply { changed: kept.is_some(), ..Reply::good(text) })
}

/// The first job of the demo's file whose name begins like this.
fn job_named(prefix: &str) -> Option<&'static str> {
    let (_, jobs) = FILES.iter().find(|(name, _)| *name == "jobs.csv")?;
    let ids = jobs.lines().skip(1).filter_map(|line| line.split(',').next());
    ids.map(str::trim).find(|id| id.starts_with(prefix))
}

fn heading(command: &str) -> String {
    format!("$ {command}\n\n")
}

fn next(kept: Option<&str>, job: Option<&str>) -> String {
    let job = job.unwrap_or("JOB");
    let (lead, file) = match kept {
        Some(file) => (format!("The demo catalog is in {file}."), file),
        None => (
            "That catalog is gone again; `bellstack --catalog demo.db demo` keeps it.".to_string(),
            "demo.db",
        ),
    };
    format!(
        "\n{lead} Next, try:\n  bellstack --catalog {file} fit {job}\n  bellstack --catalog {file} \
         cure --all\n  bellstack --catalog {file} part list\n  bellstack --catalog {file} export \
         --templates --out my-shop\n"
    )
}
