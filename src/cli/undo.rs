//! `undo`: a command taken back.

use super::args::{Common, Undo};
use super::env::Env;
use super::{Reply, place};
use crate::catalog::{Access, Writer};
use crate::error::Result;
use crate::report;

pub(super) fn run(common: &Common, args: &Undo, env: &mut Env<'_>) -> Result<Reply> {
    let take_back = |writer: &Writer<'_>| writer.take_back(args.number);
    let back = place::change(common, env, Access::Write, take_back)?;
    Ok(Reply::stored(report::taken_back(env.kinds, &back, env.view(common))))
}
