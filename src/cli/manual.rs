//! `completions` and `man`: what shells and readers of manual pages are given of the command line.

use clap::Command;
use clap_complete::Shell;
use clap_mangen::Man;
use clap_mangen::roff::{Roff, bold, roman};

use super::Reply;
use super::args::{self, examples_of};
use super::env::Env;
use super::export::ask_about;
use crate::catalog::write_files;
use crate::error::{Error, Result};
use crate::model::words::count;

/// What a shell completes command lines by.
pub(super) fn completions(shell: Shell) -> Reply {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut args::command(), "bellstack", &mut script);
    Reply::exact(String::from_utf8_lossy(&script))
}

/// A manual page for each command, written into a directory.
pub(super) fn pages(args: &args::Man, env: &mut Env<'_>) -> Result<Reply> {
    // Every command has its flags, and none a page of its own help.
    let mut command = args::command().disable_help_subcommand(true);
    command.build();
    let mut pages = Vec::new();
    add(&command, "bellstack", &mut pages).map_err(|error| Error::storage(error.to_string()))?;
    let directory = &args.directory;
    if !args.force {
        ask_about(pages.iter().map(|(name, _)| directory.join(name)), env)?;
    }
    let files: Vec<_> = pages.iter().map(|(name, page)| (name.as_str(), page.as_slice())).collect();
    write_files(&files, directory)?;
    let (number, shown) = (count(files.len() as u128, "manual page"), directory.display());
    let first = directory.join("bellstack.1");
    Ok(Reply::stored(format!("{shown}: {number}; `man {}` shows the first\n", first.display())))
}

/// A page whose sections say only once how an apostrophe is written.
fn once(page: &[u8]) -> Vec<u8> {
    let page = String::from_utf8_lossy(page);
    let is_said = |line: &str| line.contains(".ds Aq ");
    let (said, rest): (Vec<&str>, Vec<&str>) = page.lines().partition(|line| is_said(line));
    let lines = said.into_iter().take(2).chain(rest);
    lines.flat_map(|line| [line, "\n"]).collect::<String>().into_bytes()
}

/// The pages of a command and of those below it, by their files' names.
fn add(command: &Command, path: &str, pages: &mut Vec<(String, Vec<u8>)>) -> std::io::Result<()> {
    let man = Man::new(command.clone()).source(concat!("bellstack ", env!("CARGO_PKG_VERSION")));
    let mut page = Vec::new();
    man.render_title(&mut page)?;
    man.render_name_section(&mut page)?;
    man.render_synopsis_section(&mut page)?;
    man.render_description_section(&mut page)?;
    man.render_options_section(&mut page)?;
    if command.has_subcommands() {
        man.render_subcommands_section(&mut page)?;
    }
    let (title, examples) = examples_of(command, path);
    let mut roff = Roff::new();
    roff.control("SH", [title.to_uppercase().as_str()]);
    for (what, line) in examples {
        roff.control("TP", []).text([roman(what)]).control("nf", []);
        for line in line.lines() {
            roff.text([bold(line)]);
        }
        roff.control("fi", []);
    }
    roff.to_writer(&mut page)?;
    pages.push((man.get_filename(), once(&page)));
    for below in command.get_subcommands() {
        add(below, &format!("{path} {}", below.get_name()), pages)?;
    }
    Ok(())
}
