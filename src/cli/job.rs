//! `job`: the jobs by hand.

use super::args::{Common, Job as Args};
use super::env::Env;
use super::names::meant;
use super::{Reply, place};
use crate::catalog::Access;
use crate::catalog::csv::{add_job, column_help, edit_job};
use crate::error::Result;
use crate::report;

pub(super) fn run(common: &Common, args: Args, env: &mut Env<'_>) -> Result<Reply> {
    let view = env.view(common);
    match args {
        Args::List => {
            let jobs = place::open(common, env, Access::Read)?.load_jobs()?;
            Ok(Reply::good(report::job_list(&jobs, view)))
        }
        Args::Show { job } => {
            let job = place::open(common, env, Access::Read)?.load_job(&job)?;
            Ok(Reply::good(report::job_show(env.kinds, &job, view)))
        }
        Args::Add { job, pairs, unusual } => {
            let meant = meant(env.kinds, &unusual)?;
            let mut catalog = place::open(common, env, Access::Create)?;
            let stamp = place::stamp(common, env);
            let taken = catalog.write(&stamp, |writer| add_job(writer, &job, &pairs, &meant))?;
            let entered = report::entered(&taken.entered, view);
            Ok(Reply::good(format!("added the job {job}\n{entered}")))
        }
        Args::Edit { job, pairs, unusual } => {
            let meant = meant(env.kinds, &unusual)?;
            let mut catalog = place::open(common, env, Access::Write)?;
            let stamp = place::stamp(common, env);
            let taken = catalog.write(&stamp, |writer| edit_job(writer, &job, &pairs, &meant))?;
            let entered = report::entered(&taken.entered, view);
            Ok(Reply::good(format!("changed the job {job}\n{entered}")))
        }
        Args::Remove { jobs } => {
            let mut catalog = place::open(common, env, Access::Write)?;
            catalog.write(&place::stamp(common, env), |writer| {
                jobs.iter().try_for_each(|job| writer.remove_job(job))
            })?;
            let lines = jobs.iter().map(|job| format!("removed the job {job}\n"));
            Ok(Reply::good(lines.collect::<String>()))
        }
        Args::Keys => {
            let columns = column_help(env.kinds, "jobs")?;
            Ok(Reply::good(report::key_list("a job", &columns, view)))
        }
    }
}
