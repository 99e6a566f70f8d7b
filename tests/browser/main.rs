//! What a real browser makes of sheets, drawings and pages: printed, looked at, measured.
//!
//! It needs Chromium, its driver and pdftoppm. Where one of them is missing every test is skipped, and
//! the output says so; with `BELLSTACK_BROWSER=required` that is a failure. Prints and screenshots are
//! kept under `target/tmp/seen`.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stderr,
    reason = "a test stops where its premise fails"
)]

#[allow(dead_code, reason = "the tests of answers use more of it")]
#[path = "../it/program.rs"]
mod program;
#[allow(dead_code, reason = "the tests of the search use more of it")]
#[path = "../it/random.rs"]
mod random;

mod browser;
mod drawings;
mod sheets;

use std::process::ExitCode;

use libtest_mimic::{Arguments, Trial};

/// A test, and what it does.
type Test = (&'static str, fn());

const TESTS: &[&[Test]] = &[drawings::TESTS, sheets::TESTS];

fn main() -> ExitCode {
    let mut arguments = Arguments::from_args();
    // One browser at a time: its start is the dearest part, and machines are small.
    arguments.test_threads = Some(1);
    let missing = browser::missing();
    let required = std::env::var_os("BELLSTACK_BROWSER").is_some();
    if !missing.is_empty() {
        let missing = missing.join(", ");
        eprintln!("browser tests are skipped: {missing} not found");
        if required {
            return ExitCode::FAILURE;
        }
    }
    let trial = |(name, run): &Test| {
        let run = *run;
        let runs = move || {
            run();
            Ok(())
        };
        Trial::test(*name, runs).with_ignored_flag(!missing.is_empty())
    };
    let trials = TESTS.iter().flat_map(|tests| tests.iter()).map(trial).collect();
    libtest_mimic::run(&arguments, trials).exit_code()
}
