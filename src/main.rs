//! The process around [`bellstack::cli::run`].

use std::io::{IsTerminal as _, stderr, stdout};
use std::process::ExitCode;

use bellstack::cli::{Env, run};
use bellstack::model::kinds::Kinds;
use bellstack::solve::ask::Watch;

fn main() -> ExitCode {
    let (mut out, mut err) = (stdout(), stderr());
    let columns = std::env::var("COLUMNS").ok().and_then(|columns| columns.parse().ok());
    let data_dir = directories::ProjectDirs::from("", "", "bellstack");
    let mut env = Env {
        err_is_terminal: err.is_terminal(),
        width: columns.filter(|_| out.is_terminal()),
        out: &mut out,
        err: &mut err,
        var: &|name| std::env::var_os(name),
        data_dir: data_dir.map(|dirs| dirs.data_dir().to_path_buf()),
        kinds: Kinds::standard(),
        watch: Watch::default(),
        on_search: &|watch| {
            let watch = watch.clone();
            // Only the first search of a run can set it, and the watch is the same for all.
            let _ = ctrlc::set_handler(move || watch.stop());
        },
    };
    ExitCode::from(run(std::env::args_os(), &mut env))
}
