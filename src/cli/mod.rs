//! The command line: what was typed, what is meant by it, and one file per command.
//!
//! [`run`] is the whole program but for the process itself: output, environment, terminal and the
//! table of kinds are passed in.

use std::ffi::OsString;
use std::io::ErrorKind;

use crate::catalog::plain;
use crate::error::{Error, Result};
use crate::report::{GRADES, visible};

mod answer;
mod args;
mod ask;
mod backup;
mod buy;
mod check;
mod compare;
mod cure;
mod demo;
mod env;
mod export;
mod fit;
mod headings;
mod history;
mod import;
mod instrument;
mod job;
mod learn;
mod list;
mod manual;
mod measure;
mod merge;
mod names;
mod new_job;
mod part;
mod piece;
mod place;
mod progress;
mod reading;
mod recommend;
mod serve;
mod sheet;
mod shelf;
mod take;
mod undo;
mod window;

pub use env::Env;

use args::{Args, Command, Format, read};

/// What a command answers.
#[derive(Debug)]
struct Reply {
    /// For standard output.
    text: String,
    /// Whether the answer holds what was asked for: exit status 0, else 1.
    holds: bool,
    /// For a file or another program, which has to read it as it is.
    is_exact: bool,
    /// Whether something was stored or written, which stays so where the answer cannot be shown.
    changed: bool,
}

impl Reply {
    /// An answer that holds what was asked for.
    fn good(text: impl Into<String>) -> Self {
        Self { text: text.into(), holds: true, is_exact: false, changed: false }
    }

    /// What a command says that stored or wrote something.
    fn stored(text: impl Into<String>) -> Self {
        Self { changed: true, ..Self::good(text) }
    }

    /// An answer that holds what was asked for, in a format.
    fn in_format(text: impl Into<String>, format: Format) -> Self {
        Self { is_exact: format == Format::Csv, ..Self::good(text) }
    }

    /// An answer that another program reads as it is.
    fn exact(text: impl Into<String>) -> Self {
        Self { is_exact: true, ..Self::good(text) }
    }

    /// The same answer, with what it holds.
    fn holding(self, holds: bool) -> Self {
        Self { holds, ..self }
    }
}

/// Runs the program and returns the exit status that the contract gives it.
pub fn run(args: impl IntoIterator<Item = OsString>, env: &mut Env<'_>) -> u8 {
    let typed: Vec<OsString> = args.into_iter().collect();
    let mut args = match read(&typed) {
        Ok(args) => args,
        Err(told) => return usage(&told, env),
    };
    args.common.words = typed.iter().skip(1).map(|word| word.to_string_lossy().into()).collect();
    let answer =
        dispatch(args, env).and_then(|reply| match say(env, &reply.text, reply.is_exact) {
            // What was done is done: it is told where it can be, and the status is its own.
            Err(error) if reply.changed => {
                env.tell(&format!("warning: {error}; this was done:\n{}", reply.text.trim_end()));
                Ok(u8::from(!reply.holds))
            }
            said => said.map(|()| u8::from(!reply.holds)),
        });
    answer.unwrap_or_else(|error| {
        env.tell(&format!("error: {error}"));
        error.exit_status()
    })
}

fn dispatch(args: Args, env: &mut Env<'_>) -> Result<Reply> {
    let common = args.common;
    match args.command {
        Command::Demo => demo::run(&common, env),
        Command::Import(args) => import::run(&common, &args, env),
        Command::Headings(args) => headings::run(&common, args, env),
        Command::Export(args) => export::run(&common, &args, env),
        Command::Backup(args) => backup::backup(&common, &args, env),
        Command::Restore(args) => backup::restore(&common, &args, env),
        Command::Merge(args) => merge::run(&common, &args, env),
        Command::Part(args) => part::run(&common, args, env),
        Command::Job(args) => job::run(&common, args, env),
        Command::Buy(args) => buy::run(&common, &args, env),
        Command::Shelf(args) => shelf::list(&common, &args, env),
        Command::Low(args) => shelf::low(&common, &args, env),
        Command::Window(args) => window::run(&common, args, env),
        Command::Piece(args) => piece::run(&common, args, env),
        Command::Reading(args) => reading::run(&common, args, env),
        Command::Instrument(args) => instrument::run(&common, args, env),
        Command::Measure(args) => measure::run(&common, &args, env),
        Command::History(args) => history::run(&common, &args, env),
        Command::Undo(args) => undo::run(&common, &args, env),
        Command::Answer(args) => answer::run(&common, args, env),
        Command::Fit(args) => fit::run(&common, &args, env),
        Command::Sheet(args) => sheet::run(&common, &args, env),
        Command::Recommend(args) => recommend::run(&common, &args, env),
        Command::Cure(args) => cure::run(&common, &args, env),
        Command::Serve(args) => serve::run(&common, &args, env),
        Command::Check(args) => check::run(&common, &args, env),
        Command::Grades => Ok(Reply::good(crate::report::wrapped(GRADES, env.view(&common).width))),
        Command::Completions { shell } => Ok(manual::completions(shell)),
        Command::Man(args) => manual::pages(&args, env),
    }
}

/// Help and version are answers; everything else that the parser says is a refusal.
fn usage(told: &clap::Error, env: &mut Env<'_>) -> u8 {
    let text = told.render().to_string();
    if told.use_stderr() {
        env.tell_as_is(text.trim_end());
        return 2;
    }
    match say(env, &text, false) {
        Ok(()) => 0,
        Err(error) => {
            env.tell(&format!("error: {error}"));
            error.exit_status()
        }
    }
}

/// Writes an answer. That nobody reads it to its end is no error. What a terminal would obey is made
/// visible, but in what goes to a file or another program as it is.
fn say(env: &mut Env<'_>, text: &str, is_exact: bool) -> Result<()> {
    let text = if is_exact && !env.out_is_terminal { text.into() } else { visible(text) };
    match env.out.write_all(text.as_bytes()).and_then(|()| env.out.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => {
            Err(Error::storage(format!("the answer could not be written: {}", plain(&error))))
        }
        _ => Ok(()),
    }
}
