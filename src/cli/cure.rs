//! `cure`: the smallest changes that bring jobs into their windows.

use itertools::Itertools as _;
use rayon::iter::{IntoParallelRefIterator as _, ParallelIterator as _};

use super::args::{Common, Cure as Args, Format};
use super::env::Env;
use super::{Reply, ask, place, progress};
use crate::catalog::Access;
use crate::desk::{applied_library, library_and_jobs};
use crate::error::{Class, Error, Result};
use crate::model::words::{count, plural};
use crate::report;
use crate::solve::ask::{Ask, Order};
use crate::solve::cure::{cure, cure_in_brief};
use crate::stack::answer::{Cure, Trouble};
use crate::stack::choice::{Choice, Setup};
use crate::stack::shown::Shown;

pub(super) fn run(common: &Common, args: &Args, env: &mut Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Read)?;
    let (library, mut jobs) = catalog.read(|reader| {
        if args.all {
            return library_and_jobs(reader);
        }
        let jobs = args.jobs.iter().map(|job| reader.load_job(job)).collect::<Result<_>>()?;
        Ok((applied_library(reader)?, jobs))
    })?;
    let mut ask = ask::ask(&args.search, &library, Order::Changes)?;
    // Only JSON has a place for the counts.
    ask.counts = !args.no_counts && args.written.format == Format::Json;
    if let [job] = jobs.as_slice()
        && !args.all
    {
        let setup = Setup::new(&library, job)?;
        let cured = progress::watched(env, |watch| cure(&setup, &ask, watch))?.shown(&setup);
        let view = env.view(common);
        let holds = is_good(&cured);
        let text = match args.written.format {
            Format::Table => report::cure_table(&setup, &cured, view),
            Format::Json => report::cure_json(&setup, &cured),
            Format::Csv => report::cure_csv(&[(setup, cured)], view),
        };
        return Ok(Reply::in_format(text, args.written.format).holding(holds));
    }
    let of_all = jobs.len();
    if args.all {
        jobs.retain(|job| !job.is_done());
    }
    if let Some(done @ 1..) = of_all.checked_sub(jobs.len()) {
        let (all, are) = (count(of_all as u128, "job"), if done == 1 { "is" } else { "are" });
        env.tell(&format!("{done} of {all} {are} done: not looked at"));
    }
    let mut benches = Vec::new();
    let (mut failed, mut skipped) = (0_usize, 0_usize);
    for job in &jobs {
        match Setup::new(&library, job) {
            // Among all jobs there may be builds on paper: they are for `recommend`.
            Ok(setup) if args.all && !blank(&setup).is_empty() => {
                let slots = blank(&setup).iter().map(|slot| format!("`{slot}`")).join(", ");
                env.tell(&format!("skipped: job `{}`: nothing fitted in {slots}", job.id));
                skipped += 1;
            }
            Ok(setup) => benches.push(setup),
            Err(error) => report_failure(env, &mut failed, &error),
        }
    }
    // A desk's table has one row a job.
    let brief = args.all && args.written.format == Format::Table;
    let cures = every(env, &benches, &ask, brief, &mut failed)?;
    if skipped > 0 {
        let (all, verb) =
            (count(jobs.len() as u128, "job"), if skipped == 1 { "was" } else { "were" });
        env.tell(&format!(
            "{skipped} of {all} {verb} skipped: `bellstack recommend JOB` plans what is not fitted yet"
        ));
    }
    if failed > 0 {
        let (all, jobs) = (jobs.len(), plural(failed as u128, "job"));
        env.tell(&format!("{failed} {jobs} of {all} could not be answered"));
    }
    if cures.is_empty() && failed > 0 {
        return Err(Error::input("no job could be answered"));
    }
    let view = env.view(common);
    let text = match args.written.format {
        Format::Json => report::cures_json(&cures),
        Format::Csv => report::cure_csv(&cures, view),
        Format::Table if args.all => report::cure_brief(&cures, view),
        Format::Table => {
            let blocks = cures.iter().map(|(setup, cured)| report::cure_table(setup, cured, view));
            let rule = "=".repeat(usize::from(view.width));
            blocks.collect::<Vec<_>>().join(&format!("\n{rule}\n\n"))
        }
    };
    Ok(Reply::in_format(text, args.written.format)
        .holding(cures.iter().any(|(_, cured)| is_good(cured))))
}

/// The slots that a stack needs and the job leaves blank.
fn blank(setup: &Setup<'_>) -> Vec<&'static str> {
    setup.empty_slots(&Choice { fills: setup.fitted.clone() })
}

/// Something was found, or nothing is wrong.
fn is_good(cured: &Cure<Shown<'_>>) -> bool {
    cured.trouble == Trouble::Nothing || cured.remedies.iter().any(|remedy| remedy.fit.fit.holds())
}

/// Cures job by job: what is wrong with one does not keep the others from their answer.
fn every<'a>(
    env: &mut Env<'_>,
    benches: &[Setup<'a>],
    ask: &Ask,
    brief: bool,
    failed: &mut usize,
) -> Result<Vec<(Setup<'a>, Cure<Shown<'a>>)>> {
    let answers = progress::watched(env, |watch| {
        // Jobs have nothing to do with each other; their answers stay in the order of the jobs.
        let one = |setup: &Setup<'a>| {
            let answer = if brief {
                cure_in_brief(setup, ask, watch).map(|cured| cured.shown_in_brief(setup))
            } else {
                cure(setup, ask, watch).map(|cured| cured.shown(setup))
            };
            match answer {
                Err(error) if error.class() == Class::Interrupted => Err(error),
                answer => Ok(answer),
            }
        };
        benches.par_iter().map(one).collect::<Result<Vec<_>>>()
    })?;
    let mut cures = Vec::new();
    for (setup, answer) in benches.iter().zip(answers) {
        match answer {
            Ok(answer) => cures.push((setup.clone(), answer)),
            Err(error) => report_failure(env, failed, &error),
        }
    }
    Ok(cures)
}

fn report_failure(env: &mut Env<'_>, failed: &mut usize, error: &Error) {
    *failed += 1;
    // One line a job: a hint would come once for each of many jobs.
    env.tell(&format!("error: {}", error.message()));
}
