//! The process around [`bellstack::cli::run`].

use std::io::{IsTerminal as _, stderr, stdin, stdout};
use std::process::ExitCode;
use std::sync::Arc;

use bellstack::cli::{Env, run};
use bellstack::error::Error;

/// How many columns the terminal says it has.
fn terminal_columns() -> Option<u16> {
    terminal_size::terminal_size().map(|(width, _)| width.0)
}

/// Randomness from the system.
fn random(bytes: &mut [u8]) -> Result<(), Error> {
    let told = |error| Error::storage(format!("the system gives no randomness: {error}"));
    getrandom::fill(bytes).map_err(told)
}

fn main() -> ExitCode {
    let (mut out, mut err) = (stdout(), stderr());
    let mut input = stdin().lock();
    let (out_is_terminal, err_is_terminal) = (out.is_terminal(), err.is_terminal());
    let var = |name: &str| std::env::var_os(name);
    let columns = var("COLUMNS").and_then(|columns| columns.to_str()?.parse().ok());
    let data_dir = directories::ProjectDirs::from("", "", "bellstack");
    let env = Env::new(&mut out, &mut err, &var);
    let mut env = Env {
        input: Some(&mut input),
        clock: Arc::new(jiff::ZonedDateTime::now),
        random: Arc::new(random),
        show: &|address| open::that_detached(address),
        data_dir: data_dir.map(|dirs| dirs.data_dir().to_path_buf()),
        out_is_terminal,
        err_is_terminal,
        width: columns.or_else(terminal_columns).filter(|_| out_is_terminal),
        on_search: &|watch| {
            let watch = watch.clone();
            // Only the first search of a run can set it, and the watch is the same for all.
            let _ = ctrlc::set_handler(move || watch.stop());
        },
        ..env
    };
    ExitCode::from(run(std::env::args_os(), &mut env))
}
