//! What the measuring scripts drive, each as a whole process: it makes shops, reads a catalog as
//! plainly as can be, counts, and goes through a small shop in nested loops.

#![allow(clippy::unwrap_used, missing_docs, reason = "a measurement stops at the first surprise")]

mod cars;
mod loops;
mod real;
mod shop;

use std::path::{Path, PathBuf};
use std::time::Instant;

use bellstack::catalog::{Access, Catalog};
use bellstack::model::history::Stamp;
use bellstack::model::kinds::Kinds;
use bellstack::solve::ask::{Ask, Watch};
use bellstack::solve::candidates::candidates;
use bellstack::solve::count::{How, count};
use bellstack::solve::numbers::Numbers;
use bellstack::stack::choice::Setup;
use cars::{Trouble, car};
use clap::Parser;
use real::Shares;
use rusqlite::{Connection, OpenFlags};
use shop::{Plan, Variant, library, paper};

#[derive(Parser)]
enum Command {
    /// Makes a catalog with a build on paper, `tight` and `far`.
    Make {
        file: PathBuf,
        /// How many flywheels and plates; of the rest there are fewer.
        parts: usize,
        #[arg(value_enum)]
        variant: Variant,
        /// As many of every other kind.
        #[arg(long)]
        even: bool,
        /// Measured cars instead of the three jobs.
        #[arg(long, default_value_t = 0)]
        cars: usize,
    },
    /// Makes a catalog as real ones are, with a build on paper and measured cars.
    Real {
        file: PathBuf,
        /// How many flywheels and plates; of the rest there are fewer.
        parts: usize,
        #[arg(long, default_value_t = 1)]
        seed: u64,
        #[arg(long, default_value_t = 10)]
        jobs: usize,
        /// Shares drawn far and wide instead of the usual ones.
        #[arg(long)]
        wide: bool,
        /// Lengths in whole nanometres that have no common grid.
        #[arg(long)]
        off_grid: bool,
    },
    /// Reads all that a catalog says of its parts into vectors, and nothing more.
    Read {
        file: PathBuf,
        /// So often, and tells the seconds of the quickest, without those of starting a process.
        #[arg(long)]
        times: Option<u32>,
    },
    /// Counts the combinations of a job and those of them that hold.
    Count { file: PathBuf, job: String },
    /// Goes through every combination of a plain shop in nested loops.
    Loops { file: PathBuf, top: usize },
}

fn main() {
    match Command::parse() {
        Command::Make { file, parts, variant, even, cars } => {
            let plan = if even { Plan::even } else { Plan::tapered }(parts, variant);
            make(&file, plan, cars);
        }
        Command::Real { file, parts, seed, jobs, wide, off_grid } => {
            let mut shares = if wide { Shares::drawn(seed) } else { Shares::USUAL };
            shares.off_grid |= off_grid;
            make_real(&file, &real::shop(parts, jobs, seed, shares));
        }
        Command::Read { file, times: None } => read(&file).unwrap(),
        Command::Read { file, times: Some(times) } => quickest(&file, times),
        Command::Count { file, job } => tally(&file, &job),
        Command::Loops { file, top } => loops::loops(&file, top),
    }
}

/// Writes a new catalog.
fn make(file: &Path, plan: Plan, cars: usize) {
    let library = library(plan);
    let made = |number, trouble| car(&library, plan.groups(), number, trouble);
    let jobs = match cars {
        0 => vec![paper(&library), made(1, Trouble::Tight), made(1, Trouble::Far)],
        _ => (0..cars).map(|number| made(number, Trouble::Any)).collect(),
    };
    let mut catalog = Catalog::open(file, library.kinds, Access::Create).unwrap();
    catalog
        .write(&stamp(), |writer| {
            library.parts.iter().try_for_each(|part| writer.insert(part))?;
            jobs.iter().try_for_each(|job| writer.insert(job))
        })
        .unwrap();
    println!("{} parts, {} jobs", library.parts.len(), jobs.len());
}

fn stamp() -> Stamp {
    Stamp { at: "1970-01-01T00:00:00Z".into(), by: String::new(), command: "make".into() }
}

/// Writes a new catalog with pieces and readings.
fn make_real(file: &Path, shop: &real::Shop) {
    let mut catalog = Catalog::open(file, shop.library.kinds, Access::Create).unwrap();
    catalog
        .write(&stamp(), |writer| {
            shop.library.parts.iter().try_for_each(|part| writer.insert(part))?;
            shop.pieces.iter().try_for_each(|piece| writer.insert(piece))?;
            shop.readings.iter().try_for_each(|set| writer.insert_reading(set).map(|_| ()))?;
            shop.jobs.iter().try_for_each(|job| writer.insert(job))
        })
        .unwrap();
    let (parts, jobs) = (shop.library.parts.len(), shop.jobs.len());
    println!("{parts} parts, {} pieces, {jobs} jobs", shop.pieces.len());
}

/// The seconds of the quickest of several readings.
fn quickest(file: &Path, times: u32) {
    let took = (0..times).map(|_| {
        let begun = Instant::now();
        read(file).unwrap();
        begun.elapsed()
    });
    println!("best {:.6} s", took.min().unwrap().as_secs_f64());
}

/// The measure of reading: every row of the parts' tables, as it lies there, in a vector.
fn read(file: &Path) -> rusqlite::Result<()> {
    let catalog = Connection::open_with_flags(file, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    let mut query = catalog.prepare("SELECT number, id, kind, price_cents, on_hand FROM part")?;
    let rows = query.query_map([], |row| {
        let text = (row.get::<_, String>(1)?, row.get::<_, String>(2)?);
        Ok((row.get::<_, i64>(0)?, text, row.get::<_, Option<i64>>(3)?, row.get::<_, i64>(4)?))
    })?;
    let parts = rows.collect::<rusqlite::Result<Vec<_>>>()?;
    let mut query = catalog.prepare("SELECT part, key, value, tol FROM dimension")?;
    let rows = query.query_map([], |row| {
        let value = (row.get::<_, i64>(2)?, row.get::<_, Option<i64>>(3)?);
        Ok((row.get::<_, i64>(0)?, row.get::<_, String>(1)?, value))
    })?;
    let dimensions = rows.collect::<rusqlite::Result<Vec<_>>>()?;
    let mut query = catalog.prepare("SELECT part, key, names FROM face")?;
    let rows = query.query_map([], |row| {
        Ok((row.get::<_, i64>(0)?, row.get::<_, String>(1)?, row.get::<_, String>(2)?))
    })?;
    let faces = rows.collect::<rusqlite::Result<Vec<_>>>()?;
    let mut query = catalog.prepare("SELECT number, part, label FROM piece")?;
    let rows = query.query_map([], |row| {
        Ok((row.get::<_, i64>(0)?, row.get::<_, i64>(1)?, row.get::<_, String>(2)?))
    })?;
    let pieces = rows.collect::<rusqlite::Result<Vec<_>>>()?;
    let mut query = catalog.prepare("SELECT number, piece, dimension, instrument FROM reading")?;
    let rows = query.query_map([], |row| {
        let key = (row.get::<_, String>(2)?, row.get::<_, Option<i64>>(3)?);
        Ok((row.get::<_, i64>(0)?, row.get::<_, i64>(1)?, key))
    })?;
    let readings = rows.collect::<rusqlite::Result<Vec<_>>>()?;
    let mut query = catalog.prepare("SELECT reading, value FROM reading_value")?;
    let rows = query.query_map([], |row| Ok((row.get::<_, i64>(0)?, row.get::<_, i64>(1)?)))?;
    let values = rows.collect::<rusqlite::Result<Vec<_>>>()?;
    println!("{} parts, {} dimensions, {} faces", parts.len(), dimensions.len(), faces.len());
    println!("{} pieces, {} readings of {} values", pieces.len(), readings.len(), values.len());
    Ok(())
}

/// Both counts, without a search.
fn tally(file: &Path, job: &str) {
    let catalog = Catalog::open(file, Kinds::standard(), Access::Read).unwrap();
    let (library, job) = (catalog.load_library().unwrap(), catalog.load_job(job).unwrap());
    let setup = Setup::new(&library, &job).unwrap();
    let candidates = candidates(&setup, &Ask::default()).unwrap();
    let numbers = Numbers::new(&setup, &candidates).unwrap();
    let tally = count(&numbers, How::default(), &Watch::default()).unwrap().unwrap();
    // What would take too long is not counted.
    let in_window = tally.in_window.map_or("-".to_owned(), |found| found.to_string());
    println!("{} {in_window}", tally.considered);
}
