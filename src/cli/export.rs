//! `export`: the same CSV back, or a workbook.

use super::args::{Common, Export, Files, Format};
use super::env::Env;
use super::{Reply, place};
use crate::catalog::Access;
use crate::catalog::csv::{
    export, export_one, templates, to_write, workbook, write_files, write_workbook,
};
use crate::error::{Error, Result};
use crate::model::history::About;
use crate::model::house::House;
use crate::model::job::Job;
use crate::model::length::Unit;
use crate::model::library::Library;
use crate::model::words::count;
use std::path::PathBuf;

pub(super) fn run(common: &Common, args: &Export, env: &mut Env<'_>) -> Result<Reply> {
    let kind = args.kind.as_deref();
    let (library, jobs, stays) = if args.templates {
        (Library::new(env.kinds, Vec::new(), House::default()), Vec::new(), None)
    } else {
        let catalog = place::open(common, env, Access::Read)?;
        catalog.read(|reader| {
            let (_, changes) = reader.history(About::Everything, 0)?;
            let stays = (changes, reader.load_answers()?.len());
            Ok((reader.load_library()?, reader.load_jobs()?, Some(stays)))
        })?
    };
    let unit = common.unit();
    if args.format == Files::Xlsx {
        if args.templates {
            return Err(Error::input("templates are CSV files").hint("drop `--format xlsx`"));
        }
        return as_workbook(&library, &jobs, args, unit, env);
    }
    let Some(directory) = &args.out else {
        if args.templates && kind.is_none() {
            return Err(Error::input("templates are one file for each kind")
                .hint("choose one with `--kind K`, or a directory for all with `--out DIR`"));
        }
        let text = export_one(&library, &jobs, kind, unit)?.text;
        return Ok(Reply::in_format(text, Format::Csv));
    };
    let files = if args.templates && kind.is_none() {
        templates(env.kinds)
    } else {
        export(&library, &jobs, kind, unit)?
    };
    // A template is nothing but a header.
    let files = to_write(&files, directory, args.templates);
    if !args.force {
        ask_about(files.iter().map(|file| directory.join(&file.name)), env)?;
    }
    write_files(&files, directory)?;
    let lines = files.iter().map(|file| {
        let path = directory.join(&file.name);
        match file.rows {
            0 if args.templates => format!("{}\n", path.display()),
            rows => format!("{}: {}\n", path.display(), count(rows as u128, "row")),
        }
    });
    let stays = stays.filter(|_| kind.is_none()).map(stays_behind).unwrap_or_default();
    Ok(Reply::stored(lines.collect::<String>() + &stays))
}

/// What CSV does not carry.
fn stays_behind((changes, answers): (usize, usize)) -> String {
    let (changes, answers) =
        (count(changes as u128, "change"), count(answers as u128, "kept answer"));
    format!(
        "not in these files: {changes} on record and {answers}; `bellstack backup FILE` carries all\n"
    )
}

/// One workbook with a worksheet for each kind.
fn as_workbook(
    library: &Library,
    jobs: &[Job],
    args: &Export,
    unit: Unit,
    env: &mut Env<'_>,
) -> Result<Reply> {
    let Some(path) = &args.out else {
        return Err(Error::input("a workbook needs a file of its own")
            .hint("give one, such as `--out shop.xlsx`"));
    };
    if path.is_dir() || path.extension().is_none_or(|ending| ending != "xlsx") {
        let shown = path.display();
        return Err(Error::input(format!("`{shown}` is no name of a workbook"))
            .hint("give a file, such as `--out shop.xlsx`"));
    }
    let (bytes, sheets) = workbook(library, jobs, args.kind.as_deref(), unit)?;
    if !args.force {
        ask_about(std::iter::once(path.clone()), env)?;
    }
    write_workbook(&bytes, path)?;
    let lines = sheets.iter().map(|(name, rows)| {
        format!("{} worksheet `{name}`: {}\n", path.display(), count(*rows as u128, "row"))
    });
    let bars = library.parts.iter().any(|part| part.bars.all().next().is_some())
        || jobs.iter().any(|job| job.bars.all().next().is_some());
    if bars {
        env.tell("note: the bars that lengths were read over are in CSV files alone");
    }
    Ok(Reply::stored(lines.collect::<String>()))
}

/// Asks before anything is overwritten, and refuses where nobody can be asked.
pub(super) fn ask_about(paths: impl Iterator<Item = PathBuf>, env: &mut Env<'_>) -> Result<()> {
    let there: Vec<PathBuf> = paths.filter(|path| path.exists()).collect();
    let Some((first, more)) = there.split_first() else { return Ok(()) };
    let what = match more.len() {
        0 => format!("`{}` is there already", first.display()),
        more => format!("`{}` and {more} more are there already", first.display()),
    };
    match env.agreed(&format!("{what}. Replace what is there, yes or no? "))? {
        Some(true) => Ok(()),
        Some(false) => Err(Error::input("nothing was written")),
        None => {
            Err(Error::input(what)
                .hint("`--force` replaces what is there; or give another directory"))
        }
    }
}
