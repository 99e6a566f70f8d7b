//! `answer compare`: the stacks of an answer that was kept, worked out once more.

use super::args::{Common, Shape};
use super::env::Env;
use super::{Reply, place, progress};
use crate::catalog::Access;
use crate::desk::{Since, compare};
use crate::error::Result;
use crate::report;

pub(super) fn run(common: &Common, name: &str, shape: Shape, env: &mut Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let Since { kept, bench, events } = catalog.read(|reader| Since::read(reader, name))?;
    let setup = bench.setup()?;
    let told = progress::watched(env, |watch| compare(&setup, &kept, events, watch))?;
    let text = match shape {
        Shape::Table => report::compare_table(&setup, &told, env.view(common)),
        Shape::Json => report::compare_json(&setup, &told),
    };
    Ok(Reply::good(text).holding(told.holds()))
}
