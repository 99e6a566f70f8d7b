//! `job`: the jobs by hand.

use super::args::{As, Common, Job as Args, Shape};
use super::env::Env;
use super::names::meant;
use super::{Reply, list, new_job, place, take};
use crate::catalog::csv::{add_job, column_help, copy_job, edit_job};
use crate::catalog::{Access, Writer, aside_words};
use crate::error::Result;
use crate::model::words::list as list_words;
use crate::report;

pub(super) fn run(common: &Common, args: Args, env: &mut Env<'_>) -> Result<Reply> {
    let view = env.view(common);
    match args {
        Args::List(args) => list::jobs(common, &args, env),
        Args::Show { job, written: As { format } } => {
            let job = place::open(common, env, Access::Read)?.load_job(&job)?;
            Ok(Reply::good(match format {
                Shape::Table => report::job_show(env.kinds, &job, view),
                Shape::Json => report::job_show_json(env.kinds, &job),
            }))
        }
        Args::New { job } => new_job::run(common, job.as_deref(), env),
        Args::Add { job, pairs, unusual } => {
            let meant = meant(env.kinds, &unusual)?;
            let add = |writer: &Writer<'_>| add_job(writer, &job, (&pairs, &meant));
            let taken = place::change(common, env, Access::Create, add)?;
            let entered = report::entered(&taken.entered, view);
            Ok(Reply::stored(format!("added the job {job}\n{entered}")))
        }
        Args::Edit { job, pairs, unusual } => {
            let meant = meant(env.kinds, &unusual)?;
            let (taken, now) = place::change(common, env, Access::Write, |writer| {
                let taken = edit_job(writer, &job, (&pairs, &meant))?;
                Ok((taken, writer.reader().load_job(job.trim())?))
            })?;
            let entered = report::entered(&taken.entered, view);
            let aside = list_words(&aside_words(&now), usize::MAX);
            if now.is_done() && !aside.is_empty() {
                env.tell(&format!(
                    "note: still set aside for it: {aside}; `part take-out ID --for {job}` where it went \
                     into the car, `part put-back ID --for {job}` where it did not"
                ));
            }
            Ok(Reply::stored(format!("changed the job {job}\n{entered}")))
        }
        Args::Copy { job, new, pairs, unusual } => {
            let meant = meant(env.kinds, &unusual)?;
            let copy = |writer: &Writer<'_>| copy_job(writer, &job, &new, (&pairs, &meant));
            let taken = place::change(common, env, Access::Write, copy)?;
            let entered = report::entered(&taken.entered, view);
            Ok(Reply::stored(format!("added the job {new} like {job}\n{entered}")))
        }
        Args::Take(args) => take::run(common, &args, env),
        Args::Remove { jobs } => place::change_each(common, env, &jobs, |writer, job| {
            let old = writer.reader().load_job(job)?;
            writer.remove(&old)?;
            let aside = list_words(&aside_words(&old), usize::MAX);
            let free = if aside.is_empty() {
                String::new()
            } else {
                format!("; set aside for it was {aside}, which lies there for everybody now")
            };
            Ok(format!("removed the job {job}{free}\n"))
        }),
        Args::Keys => {
            let columns = column_help(env.kinds, "jobs")?;
            Ok(Reply::good(report::key_list("a job", &columns, view)))
        }
    }
}
