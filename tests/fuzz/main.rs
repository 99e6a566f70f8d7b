//! Inputs that nobody would think of, made by a seeded generator: the program answers each of them,
//! or refuses it, in time.
//!
//! ```console
//! $ cargo test --test fuzz                                    # two seconds for each target
//! $ BELLSTACK_FUZZ=3600 cargo test --release --test fuzz      # an hour for each
//! $ BELLSTACK_FUZZ_SEED=7 cargo test --release --test fuzz    # other inputs
//! $ BELLSTACK_FUZZ=60 cargo test --release --test fuzz csv    # one target
//! ```
//!
//! An input that panics, or is not answered within a minute, is written to `target/fuzz`. Once it is
//! understood it is kept in `cases/TARGET/`, whose files are run first every time.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops where its premise fails")]

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::process;
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

mod catalogs;
mod dice;
mod numbers;
mod shop;
mod tables;

use dice::Dice;

/// Longer than any answer to the demo shop takes on a busy machine.
const PATIENCE: Duration = Duration::from_mins(1);

/// One kind of input.
trait Target {
    /// Its name, and that of the directory of its cases.
    const NAME: &'static str;

    /// The next input.
    fn input(dice: &mut Dice) -> String;

    /// Takes it in, and panics where what comes of it cannot be right. Whether it was taken, rather
    /// than refused.
    fn run(&mut self, input: &str) -> bool;
}

/// Runs the cases that were kept, and new inputs until the time is over.
fn hunt<T: Target>(mut target: T) {
    let (seconds, seed) = (number("BELLSTACK_FUZZ").unwrap_or(2), number("BELLSTACK_FUZZ_SEED"));
    let running: Arc<Mutex<Option<(Instant, String)>>> = Arc::default();
    let watch = Arc::clone(&running);
    thread::spawn(move || {
        loop {
            thread::sleep(Duration::from_secs(1));
            let late = |(since, _): &&(Instant, String)| since.elapsed() > PATIENCE;
            if let Some((_, input)) = watch.lock().unwrap().as_ref().filter(late) {
                let place = kept(T::NAME, input);
                eprintln!("{}: no answer to {}", T::NAME, place.display());
                process::exit(101);
            }
        }
    });
    let mut run = |input: &str| {
        *running.lock().unwrap() = Some((Instant::now(), input.to_string()));
        let ran = catch_unwind(AssertUnwindSafe(|| target.run(input)));
        *running.lock().unwrap() = None;
        ran.unwrap_or_else(|_| panic!("the input is in {}", kept(T::NAME, input).display()))
    };
    let cases = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/cases").join(T::NAME);
    let entries = fs::read_dir(cases).into_iter().flatten();
    let mut files: Vec<PathBuf> = entries.map(|entry| entry.unwrap().path()).collect();
    files.sort();
    for file in &files {
        println!("{}", file.display());
        run(&fs::read_to_string(file).unwrap());
    }
    let (begun, first) = (Instant::now(), seed.unwrap_or(1) << 40);
    let (mut count, mut taken) = (0, 0);
    while begun.elapsed() < Duration::from_secs(seconds) {
        taken += u64::from(run(&T::input(&mut Dice::new(first + count))));
        count += 1;
    }
    let (cases, time) = (files.len(), begun.elapsed());
    println!(
        "{}: {cases} cases and {count} inputs in {time:?}, of which {taken} were taken",
        T::NAME
    );
    // Inputs that are all refused at the door test nothing behind it.
    assert!(taken * 20 > count, "{taken} of {count} inputs were taken");
}

/// Writes an input down where it can be found.
fn kept(target: &str, input: &str) -> PathBuf {
    let directory = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/fuzz");
    fs::create_dir_all(&directory).unwrap();
    let place = directory.join(format!("{target}-{:016x}.txt", dice::hash(input)));
    fs::write(&place, input).unwrap();
    place
}

fn number(variable: &str) -> Option<u64> {
    std::env::var(variable).ok()?.parse().ok()
}
