//! `window`: the target window and the other house numbers.

use super::args::{Common, Window as Args};
use super::env::Env;
use super::names::pair;
use super::{Reply, place};
use crate::catalog::Access;
use crate::catalog::csv::edit_job;
use crate::error::{Error, Result};
use crate::model::house::{EDGE_KEYS, House};
use crate::report;

pub(super) fn run(common: &Common, args: Args, env: &mut Env<'_>) -> Result<Reply> {
    match args {
        Args::Show { job: None } => {
            let house = place::open(common, env, Access::Read)?.load_library()?.house;
            Ok(Reply::good(report::settings(env.kinds, &house, env.view(common))))
        }
        Args::Show { job: Some(job) } => {
            let job = place::open(common, env, Access::Read)?.load_job(&job)?;
            Ok(Reply::good(report::window(&job, env.view(common))))
        }
        Args::Set { job: None, pairs } => set(common, &pairs, env),
        Args::Set { job: Some(job), pairs } => set_of_job(common, &job, &pairs, env),
    }
}

fn set(common: &Common, pairs: &[String], env: &mut Env<'_>) -> Result<Reply> {
    let kinds = env.kinds;
    let house = place::change(common, env, Access::Write, |writer| {
        let mut house: House = writer.reader().load_house()?;
        for text in pairs {
            let (key, value) = pair(text)?;
            house.set(kinds, key, value).map_err(|error| error.at(format!("`{key}`")))?;
        }
        writer.save_house(&house)?;
        Ok(house)
    })?;
    let settings = house.settings(kinds, common.units);
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
    for text in pairs {
        let (key, _) = pair(text)?;
        if !EDGE_KEYS.contains(&key) {
            let error = Error::input(format!("`{key}` is no edge of a job's window"));
            let all = format!("a job sets {}", EDGE_KEYS.join(", "));
            return Err(error.near(key, EDGE_KEYS, all));
        }
    }
    let job = place::change(common, env, Access::Write, |writer| {
        edit_job(writer, id, pairs)?;
        writer.reader().load_job(id)
    })?;
    Ok(Reply::stored(report::window(&job, env.view(common))))
}
