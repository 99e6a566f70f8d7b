//! `buy`: what is to be bought over the plans of jobs.

use super::args::{Buy as Args, BuyFormat, Common};
use super::env::Env;
use super::export::ask_about;
use super::{Reply, place, progress};
use crate::catalog::Access;
use crate::catalog::csv::write_workbook;
use crate::desk::{Stand, buying, newest};
use crate::error::{Error, Result};
use crate::measure::applied::applied;
use crate::model::job::Job;
use crate::report;
use crate::stack::choice::Setup;

pub(super) fn run(common: &Common, args: &Args, env: &mut Env<'_>) -> Result<Reply> {
    let out = workbook_name(args)?;
    let catalog = place::open(common, env, Access::Read)?;
    let (library, jobs, answers) = catalog
        .read(|reader| Ok((reader.load_library()?, reader.load_jobs()?, reader.load_answers()?)))?;
    for (_, kept) in &answers {
        if let Err(error) = kept {
            env.warn(&[error.message().to_string()]);
        }
    }
    let wanted: Vec<Job> = if args.jobs.is_empty() {
        let used = applied(library.clone(), &jobs);
        let mut open: Vec<&Job> = jobs.iter().filter(|job| !job.is_done()).collect();
        // Who came in first is served first; of whom nobody told comes last.
        open.sort_by_key(|job| (job.date.is_empty(), &job.date, &job.id));
        let is_paper = |job: &&&Job| {
            let setup = Setup::new(&used, job);
            newest(&answers, &job.id).is_none()
                && setup.is_ok_and(|setup| matches!(Stand::of(&setup), Stand::Paper(_)))
        };
        let paper: Vec<String> = open.iter().filter(is_paper).map(|job| job.id.clone()).collect();
        if !paper.is_empty() {
            env.tell(&format!("note: {}", report::buying_left_out(&paper)));
        }
        open.into_iter().filter(|job| !paper.contains(&job.id)).cloned().collect()
    } else {
        catalog.read(|reader| {
            let mut wanted: Vec<Job> = Vec::new();
            for job in &args.jobs {
                let job = reader.load_job(job.trim())?;
                if wanted.iter().all(|known| known.id != job.id) {
                    wanted.push(job);
                }
            }
            Ok(wanted)
        })?
    };
    let found =
        progress::watched(env, |watch| buying(&library, (&wanted, &jobs), &answers, watch))?;
    let (house, view) = (&library.house, env.view(common));
    let reply = match args.written.format {
        BuyFormat::Table => Reply::good(report::buying_table(&found, house, view)),
        BuyFormat::Json => Reply::good(report::buying_json(&found, env.kinds, house)),
        BuyFormat::Csv => Reply::exact(report::buying_csv(&found, house, view)),
        BuyFormat::Xlsx => {
            let bytes = report::buying_workbook(&found, house, view)?;
            if !args.force {
                ask_about(std::iter::once(out.clone()), env)?;
            }
            write_workbook(&bytes, &out)?;
            Reply::stored(format!("{}\n", out.display()))
        }
    };
    Ok(reply.holding(found.holds()))
}

/// The workbook's file; blank where none is asked for.
fn workbook_name(args: &Args) -> Result<std::path::PathBuf> {
    let example = "give a file, such as `--format xlsx --out order.xlsx`";
    match (&args.out, args.written.format) {
        (None, BuyFormat::Xlsx) => {
            Err(Error::input("a workbook needs a file of its own").hint(example))
        }
        (Some(_), BuyFormat::Table | BuyFormat::Json | BuyFormat::Csv) => {
            Err(Error::input("`--out` is for a workbook alone").hint(example))
        }
        (Some(path), BuyFormat::Xlsx)
            if path.is_dir() || path.extension().is_none_or(|ending| ending != "xlsx") =>
        {
            let shown = path.display();
            Err(Error::input(format!("`{shown}` is no name of a workbook")).hint(example))
        }
        (out, _) => Ok(out.clone().unwrap_or_default()),
    }
}
