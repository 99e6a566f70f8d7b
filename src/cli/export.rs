//! `export`: the same CSV back.

use super::args::{Common, Export, Format};
use super::env::Env;
use super::{Reply, place};
use crate::catalog::Access;
use crate::catalog::csv::{CsvFile, export, export_one, templates, write_files};
use crate::error::{Error, Result};
use crate::model::house::House;
use crate::model::library::Library;

pub(super) fn run(common: &Common, args: &Export, env: &mut Env<'_>) -> Result<Reply> {
    let unit = common.units.unit();
    let kind = args.kind.as_deref();
    let (library, jobs) = if args.templates {
        (Library::new(env.kinds, Vec::new(), House::default()), Vec::new())
    } else {
        let catalog = place::open(common, env, Access::Read)?;
        catalog.read(|reader| Ok((reader.load_library()?, reader.load_jobs()?)))?
    };
    let Some(directory) = &args.out else {
        if args.templates && kind.is_none() {
            return Err(Error::input("templates are one file for each kind")
                .hint("choose one with `--kind K`, or a directory for all with `--out DIR`"));
        }
        let text = export_one(&library, &jobs, kind, unit)?.text;
        return Ok(Reply::in_format(text, Format::Csv));
    };
    let mut files = if args.templates && kind.is_none() {
        templates(env.kinds)
    } else {
        export(&library, &jobs, kind, unit)?
    };
    if args.templates {
        refuse_overwriting(&files, directory)?;
        // A file without rows is written only over an older one; a template is nothing but that.
        return Ok(Reply::good(template_files(&mut files, directory)?));
    }
    let written = write_files(&files, directory)?;
    let lines = written.iter().map(|file| {
        let rows = if file.rows == 1 { "row" } else { "rows" };
        format!("{}: {} {rows}\n", directory.join(&file.name).display(), file.rows)
    });
    Ok(Reply::good(lines.collect::<String>()))
}

fn refuse_overwriting(files: &[CsvFile], directory: &std::path::Path) -> Result<()> {
    let there = files.iter().map(|file| directory.join(&file.name)).find(|path| path.exists());
    there.map_or(Ok(()), |path| {
        Err(Error::input(format!("`{}` is there already", path.display()))
            .hint("templates overwrite nothing: give another directory"))
    })
}

fn template_files(files: &mut [CsvFile], directory: &std::path::Path) -> Result<String> {
    let names: Vec<String> =
        files.iter().map(|file| format!("{}\n", directory.join(&file.name).display())).collect();
    // One row counted, so that the file is written although it holds its header only.
    for file in files.iter_mut() {
        file.rows = 1;
    }
    write_files(files, directory)?;
    Ok(names.concat())
}
