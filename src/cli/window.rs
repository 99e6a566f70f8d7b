//! `window`: the target window and the other house numbers.

use super::args::{As, Common, Shape, Window as Args};
use super::env::Env;
use super::names::pair;
use super::{Reply, place};
use crate::catalog::Access;
use crate::catalog::csv::{edit_job, quoted};
use crate::desk::Bench;
use crate::error::{Error, Result};
use crate::model::edge::Edge;
use crate::model::house::House;
use crate::model::usual::Meant;
use crate::report;
use crate::stack::window::{clutch_sums, window};

pub(super) fn run(common: &Common, args: Args, env: &mut Env<'_>) -> Result<Reply> {
    match args {
        Args::Show { job: None, written: As { format } } => {
            let house = place::open(common, env, Access::Read)?.load_library()?.house;
            Ok(Reply::good(match format {
                Shape::Table => report::settings(env.kinds, &house, env.view(common)),
                Shape::Json => report::settings_json(env.kinds, &house),
            }))
        }
        Args::Show { job: Some(job), written: As { format } } => {
            let catalog = place::open(common, env, Access::Read)?;
            of_job(common, &Bench::of(&catalog, &job)?, format, env)
        }
        Args::Set { job: None, pairs } => set(common, &pairs, env),
        Args::Set { job: Some(job), pairs } => set_of_job(common, &job, &pairs, env),
    }
}

fn set(common: &Common, pairs: &[String], env: &mut Env<'_>) -> Result<Reply> {
    let kinds = env.kinds;
    quoted(pairs)?;
    let house = place::change(common, env, Access::Write, |writer| {
        let mut house: House = writer.reader().load_house()?;
        for text in pairs {
            let (key, value) = pair(text)?;
            house.set(kinds, key, value).map_err(|error| error.at(format!("`{key}`")))?;
        }
        house.validate()?;
        writer.save_house(&house)?;
        Ok(house)
    })?;
    let settings = house.settings(kinds, common.unit());
    let named = |key: &str| {
        pairs.iter().any(|text| text.split_once('=').is_some_and(|(named, _)| named.trim() == key))
    };
    let lines = settings.iter().filter(|setting| named(&setting.key)).map(|setting| {
        let value = if setting.value.is_empty() { "not set" } else { &setting.value };
        let default = if setting.changed { "" } else { " (the default)" };
        format!("{} is {value}{default}\n", setting.key)
    });
    Ok(Reply::stored(lines.collect::<String>()))
}

fn set_of_job(common: &Common, id: &str, pairs: &[String], env: &mut Env<'_>) -> Result<Reply> {
    quoted(pairs)?;
    for text in pairs {
        let (key, _) = pair(text)?;
        if Edge::named(key).is_none() {
            let keys = Edge::ALL.map(Edge::key);
            let error = Error::input(format!("`{key}` is no edge of a job's window"));
            let all = format!("a job sets {}", keys.join(", "));
            return Err(error.near(key, keys, all));
        }
    }
    let bench = place::change(common, env, Access::Write, |writer| {
        edit_job(writer, id, (pairs, &Meant::default()))?;
        Bench::read(writer.reader(), id)
    })?;
    let told = of_job(common, &bench, Shape::Table, env)?;
    Ok(Reply { changed: true, ..told })
}

/// The window of a job with the clutch that it names.
fn of_job(common: &Common, bench: &Bench, format: Shape, env: &Env<'_>) -> Result<Reply> {
    let (setup, Bench { library, job }) = (bench.setup()?, bench);
    let (plate, disc) = (setup.fitted_part("pressure_plate"), setup.fitted_part("disc"));
    let in_force = window(&library.house, &job.window, plate, disc);
    if format == Shape::Json {
        return Ok(Reply::good(report::window_json(job, &in_force)));
    }
    let clutch = clutch_sums(&library.house, plate, disc);
    Ok(Reply::good(report::window(job, &in_force, &clutch, env.view(common))))
}
