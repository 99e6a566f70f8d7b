//! What a real browser makes of sheets, drawings and pages: printed, looked at, measured.
//!
//! It needs Chromium, its driver, pdftoppm and axe-core. Where one is missing the tests that need it are
//! skipped, and the output says so; with `BELLSTACK_BROWSER=required` that is a failure. A sample of the
//! screens and papers is gone through: the narrowest page by day and the widest by night, each journey with
//! scripts and without on two screens, each sheet on one paper in one unit. With `BELLSTACK_BROWSER=whole`
//! all of them are, and what is missing is a failure too. Prints and screenshots are kept under
//! `target/tmp/seen`.

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

#[allow(dead_code, reason = "the tests of pages over plain connections use more of it")]
#[path = "../serve/browser.rs"]
mod served;

mod browser;
mod drawings;
mod eyes;
mod journeys;
mod pages;
mod sheets;

use std::process::ExitCode;

use libtest_mimic::{Arguments, Trial};

/// A test, and what it does.
type Test = (&'static str, fn());

/// Every list of tests with the programs that it needs.
const TESTS: &[(&[Test], &[&str])] = &[
    (drawings::TESTS, &["chromium", "chromedriver"]),
    (sheets::TESTS, &["chromium", "chromedriver", "pdftoppm"]),
    (journeys::TESTS, &["chromium", "chromedriver", "pdftoppm", browser::AXE]),
    (pages::TESTS, &["chromium", "chromedriver", browser::AXE]),
];

fn main() -> ExitCode {
    let mut arguments = Arguments::from_args();
    // One browser at a time: its start is the dearest part, and machines are small.
    arguments.test_threads = Some(1);
    let required = std::env::var_os("BELLSTACK_BROWSER").is_some();
    let mut trials = Vec::new();
    for (tests, needs) in TESTS {
        let missing = browser::missing(needs);
        if !missing.is_empty() {
            let (number, missing) = (tests.len(), missing.join(", "));
            eprintln!("{number} browser tests are skipped: {missing} not found");
            if required {
                return ExitCode::FAILURE;
            }
        }
        trials.extend(tests.iter().map(|(name, run)| {
            let run = *run;
            let runs = move || {
                run();
                Ok(())
            };
            Trial::test(*name, runs).with_ignored_flag(!missing.is_empty())
        }));
    }
    libtest_mimic::run(&arguments, trials).exit_code()
}
