//! What can be typed.

use std::cell::Cell;
use std::ffi::OsString;
use std::path::PathBuf;

use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap::{
    ArgMatches, Args as ClapArgs, CommandFactory as _, FromArgMatches as _, Parser, Subcommand,
    ValueEnum,
};
use clap_complete::Shell;

use crate::catalog::Catalog;
use crate::model::length::Unit;
use crate::report;
use crate::solve::ask::Order;
use crate::stack::grade::Grade;

mod examples;
mod files;
mod kept;
mod lists;
mod measured;
mod shop;

pub(in crate::cli) use examples::of as examples_of;
pub(in crate::cli) use files::{Backup, Export, Files, Headings, Import, Merge, Restore};
pub(in crate::cli) use kept::{Answer, History, Keep, Undo};
pub(in crate::cli) use lists::{JobList, PartList};
pub(in crate::cli) use measured::{AddReading, Instrument, Measure, Piece, Reading, Taken};
pub(in crate::cli) use shop::{
    Aside, Buy, BuyFormat, Job, Low, Moved, Part, Received, Shelf, Take,
};

/// Finds the combinations of driveline parts that land a concentric hydraulic release bearing in
/// its window of preload and wear reserve.
#[derive(Debug, Parser)]
#[command(name = "bellstack", version, max_term_width = 100)]
pub(in crate::cli) struct Args {
    #[command(flatten)]
    pub(in crate::cli) common: Common,
    #[command(subcommand)]
    pub(in crate::cli) command: Command,
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Common {
    /// The catalog's file [default: `BELLSTACK_CATALOG`, else in the platform's data directory]
    #[arg(long, global = true, value_name = "FILE", display_order = 100)]
    pub(in crate::cli) catalog: Option<PathBuf>,
    /// The unit that people read; what is stored does not change [default: the catalog's own, as
    /// `window set units=mm` keeps it, else in]
    #[arg(
        long, global = true, value_parser = word(&[Unit::In, Unit::Mm], Unit::name),
        display_order = 101
    )]
    pub(in crate::cli) units: Option<Unit>,
    /// How many columns wide answers are [default: COLUMNS, else the terminal's own width up to 100,
    /// else 80]
    #[arg(long, global = true, value_name = "N", display_order = 102,
        value_parser = clap::value_parser!(u16).range(40..=1000))]
    pub(in crate::cli) width: Option<u16>,
    /// The unit that the catalog keeps, once it is open.
    #[arg(skip)]
    pub(in crate::cli) kept_unit: Cell<Option<Unit>>,
    /// What was typed, without the program's name.
    #[arg(skip)]
    pub(in crate::cli) words: Vec<String>,
}

impl Common {
    /// The unit that people read; the catalog's own is known once it is open.
    pub(in crate::cli) fn unit(&self) -> Unit {
        self.units.or(self.kept_unit.get()).unwrap_or(Unit::In)
    }

    /// Takes over the unit that a catalog keeps. What is wrong with the catalog is told by whoever reads
    /// it.
    pub(in crate::cli) fn remember(&self, catalog: &Catalog) {
        if self.units.is_none() && catalog.exists() {
            #[allow(
                clippy::redundant_closure_for_method_calls,
                reason = "the method itself is not general enough over the reader's lifetime"
            )]
            let house = catalog.read(|reader| reader.load_house());
            self.kept_unit.set(house.ok().map(|house| house.unit));
        }
    }
}

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum Command {
    /// Build the demo shop's catalog and run its main jobs
    Demo,
    /// Take parts, jobs, pieces, readings and instruments from sheets, all or nothing
    Import(Import),
    /// What the headings of the shop's own sheets mean, as it was learned by `import`
    #[command(subcommand)]
    Headings(Headings),
    /// Give them back as CSV, or as one workbook
    Export(Export),
    /// Write everything that the catalog holds into a file of its own, while others go on working
    Backup(Backup),
    /// Put what a copy holds in the place of what the catalog holds
    Restore(Restore),
    /// Take what another copy of this catalog changed since both went apart; what both changed is asked
    Merge(Merge),
    /// The library of parts by hand
    #[command(subcommand)]
    Part(Part),
    /// The jobs by hand
    #[command(subcommand)]
    Job(Job),
    /// What is to be bought over the plans of jobs: the best stack of the newest answer that was kept for
    /// each (`answer keep`), else what it has fitted, less what is on the shelf for it
    Buy(Buy),
    /// What is set aside for jobs
    Shelf(Shelf),
    /// Parts of which fewer lie on the shelf than are to
    Low(Low),
    /// The target window and the other house numbers
    #[command(subcommand)]
    Window(Window),
    /// The pieces of a part number, each with its label
    #[command(subcommand)]
    Piece(Piece),
    /// What was read on the pieces
    #[command(subcommand)]
    Reading(Reading),
    /// The instruments, with their limits of error
    #[command(subcommand)]
    Instrument(Instrument),
    /// Measure a piece, asked for one dimension after another
    Measure(Measure),
    /// Who changed what and when
    History(History),
    /// Take a command back, the last one where none is named; `history` numbers them
    Undo(Undo),
    /// Answers that are kept, to be compared with today's
    #[command(subcommand)]
    Answer(Answer),
    /// Work out one stack, with every term of its sum
    Fit(Fit),
    /// Write one stack, or blanks to measure it, as a sheet that prints on one side of paper
    Sheet(Sheet),
    /// Rank every combination of parts for a job
    Recommend(Recommend),
    /// Find the smallest changes that bring jobs into their windows
    Cure(Cure),
    /// Open the catalog to a browser: on this machine, or with `--lan` on the shop's tablet too
    Serve(Serve),
    /// Look through the library and its jobs for what cannot be, what is doubtful and what is missing
    Check(Check),
    /// What the grades mean
    #[command(long_about = report::GRADES)]
    Grades,
    /// Print what completes command lines in a shell: commands, flags and their words, but not the
    /// catalog's own part numbers and jobs
    Completions {
        /// The shell
        shell: Shell,
    },
    /// Write a manual page for each command
    Man(Man),
}

/// Everything that can be typed, with worked examples behind the help of each command.
pub(in crate::cli) fn command() -> clap::Command {
    examples::with_examples(Args::command(), "bellstack")
}

/// What was typed.
pub(in crate::cli) fn read(typed: &[OsString]) -> Result<Args, clap::Error> {
    let matches: ArgMatches = command().try_get_matches_from(typed)?;
    Args::from_arg_matches(&matches).map_err(|error| error.format(&mut command()))
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Man {
    /// The directory, which is made where it is missing
    #[arg(value_name = "DIR")]
    pub(in crate::cli) directory: PathBuf,
    /// Replace pages that are there already without asking
    #[arg(long)]
    pub(in crate::cli) force: bool,
}

/// What is meant though it is unusual.
#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Unusual {
    /// Keep the values of these keys though they are unusual; `all` keeps every value
    #[arg(long = "unusual", value_name = "KEY", value_delimiter = ',')]
    pub(in crate::cli) keys: Vec<String>,
}

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum Window {
    /// Show every house number, or a job's own window
    Show {
        /// The job whose own window is meant
        #[arg(long)]
        job: Option<String>,
        #[command(flatten)]
        written: As<Shape>,
    },
    /// Set house numbers, or a job's own window
    Set {
        /// The job whose own window is meant
        #[arg(long)]
        job: Option<String>,
        /// What changes, such as `preload_min="0.550 in"`; a blank value takes it back
        #[arg(required = true, value_name = "KEY=VALUE")]
        pairs: Vec<String>,
    },
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Fit {
    /// The job's name
    pub(in crate::cli) job: String,
    /// Another part in a slot; `SLOT=none` empties it, `A|B` stands for two shims
    #[arg(long, value_name = "SLOT=ID")]
    pub(in crate::cli) with: Vec<String>,
    /// A reading or an edge of the window tried and not stored, such as `finger_depth="2.94 in"`
    #[arg(long, value_name = "KEY=VALUE")]
    pub(in crate::cli) set: Vec<String>,
    #[command(flatten)]
    pub(in crate::cli) unusual: Unusual,
    /// The flywheel machined to this thickness over friction and cover face
    #[arg(long, value_name = "LENGTH")]
    pub(in crate::cli) machine_to: Option<String>,
    /// Show what to measure next, and within which limits parts may be accepted when they arrive
    #[arg(long)]
    pub(in crate::cli) measure: bool,
    #[command(flatten)]
    pub(in crate::cli) written: As<FitFormat>,
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Sheet {
    /// The job's name
    pub(in crate::cli) job: String,
    /// Another part in a slot; `SLOT=none` empties it, `A|B` stands for two shims
    #[arg(long, value_name = "SLOT=ID")]
    pub(in crate::cli) with: Vec<String>,
    /// The flywheel machined to this thickness over friction and cover face
    #[arg(long, value_name = "LENGTH")]
    pub(in crate::cli) machine_to: Option<String>,
    /// The stack of this row of `cure`
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=10_000),
        conflicts_with_all = ["with", "machine_to"])]
    pub(in crate::cli) cure: Option<u32>,
    /// Every reading with its drawing and a blank, to carry to the car
    #[arg(long, conflicts_with_all = ["with", "machine_to", "cure"])]
    pub(in crate::cli) blank: bool,
    /// Write it into this file instead of to standard output
    #[arg(long, value_name = "FILE.html")]
    pub(in crate::cli) out: Option<PathBuf>,
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Recommend {
    /// The job's name
    pub(in crate::cli) job: String,
    #[command(flatten)]
    pub(in crate::cli) search: Search,
    #[command(flatten)]
    pub(in crate::cli) written: As<Format>,
    /// Leave out how many combinations there are and how many land: quicker in a large library
    #[arg(long)]
    pub(in crate::cli) no_counts: bool,
    /// Show what became of each slot's parts
    #[arg(long)]
    pub(in crate::cli) explain: bool,
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Cure {
    /// The jobs' names
    #[arg(required_unless_present = "all", value_name = "JOB")]
    pub(in crate::cli) jobs: Vec<String>,
    /// Every job of the catalog that is not done
    #[arg(long, conflicts_with = "jobs")]
    pub(in crate::cli) all: bool,
    #[command(flatten)]
    pub(in crate::cli) search: Search,
    #[command(flatten)]
    pub(in crate::cli) written: As<Format>,
    /// Leave out how many changes there are and how many put the job right: quicker in a large library
    #[arg(long)]
    pub(in crate::cli) no_counts: bool,
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Serve {
    /// Let devices of the shop's own network in, each with a code; at this machine's address there
    /// [default: the one that it is reached at]. Nothing that goes over the network is encrypted
    #[arg(long, value_name = "ADDRESS", num_args = 0..=1, default_missing_value = "")]
    pub(in crate::cli) lan: Option<String>,
    /// The port; 0 takes any that is free
    #[arg(long, value_name = "N", default_value_t = 8417)]
    pub(in crate::cli) port: u16,
    /// Show the page in this machine's browser
    #[arg(long)]
    pub(in crate::cli) browser: bool,
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Check {
    /// Show every line of a table; JSON and CSV hold all of them anyway
    #[arg(long)]
    pub(in crate::cli) all: bool,
    /// How many lines a table shows of each group
    #[arg(long, value_name = "N", default_value_t = 5, conflicts_with = "all")]
    pub(in crate::cli) top: usize,
    #[command(flatten)]
    pub(in crate::cli) written: As<Format>,
}

/// What narrows a search.
#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Search {
    /// How many answers are shown
    #[arg(long, value_name = "N", default_value_t = 10, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub(in crate::cli) top: u32,
    /// A slot that stays as fitted
    #[arg(long, value_name = "SLOT", value_delimiter = ',')]
    pub(in crate::cli) keep: Vec<String>,
    /// A slot that takes only these parts
    #[arg(long, value_name = "SLOT=ID,ID")]
    pub(in crate::cli) only: Vec<String>,
    /// A slot that stays empty
    #[arg(long, value_name = "SLOT", value_delimiter = ',')]
    pub(in crate::cli) without: Vec<String>,
    /// A part that is not wanted
    #[arg(long, value_name = "ID", value_delimiter = ',')]
    pub(in crate::cli) skip: Vec<String>,
    /// A slot that the job fixes and that is searched all the same
    #[arg(long, value_name = "SLOT", value_delimiter = ',')]
    pub(in crate::cli) open: Vec<String>,
    /// Only parts that are fitted or on the shelf
    #[arg(long)]
    pub(in crate::cli) on_hand: bool,
    /// The most that may still be spent
    #[arg(long, value_name = "AMOUNT")]
    pub(in crate::cli) budget: Option<String>,
    /// The lowest grade that is wanted
    #[arg(
        long, value_name = "GRADE", value_parser = word(WANTED, Grade::word),
        default_value = "marginal"
    )]
    pub(in crate::cli) at_least: Grade,
    /// By what answers are ranked first [default: grade, and for cure: changes]
    #[arg(long, value_parser = word(&Order::ALL, Order::word))]
    pub(in crate::cli) order: Option<Order>,
    /// Show stacks that fail a check beside the window too
    #[arg(long)]
    pub(in crate::cli) show_failed: bool,
}

/// How an answer is written.
#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct As<F: ValueEnum + Default + Send + Sync + 'static> {
    /// How the answer is written
    #[arg(long, value_enum, default_value_t)]
    pub(in crate::cli) format: F,
}

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(in crate::cli) enum Shape {
    #[default]
    Table,
    Json,
}

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(in crate::cli) enum Format {
    #[default]
    Table,
    Json,
    Csv,
}

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(in crate::cli) enum FitFormat {
    #[default]
    Table,
    Json,
    Csv,
    /// A drawing to scale along the crank's axis
    Svg,
}

/// Reads one of these values by its word.
fn word<V: Copy + Send + Sync + 'static>(
    values: &'static [V],
    word: fn(V) -> &'static str,
) -> impl TypedValueParser<Value = V> {
    let words = PossibleValuesParser::new(values.iter().map(|value| word(*value)));
    words.try_map(move |found| {
        let found = values.iter().find(|value| word(**value) == found);
        found.copied().ok_or("it is none of the words")
    })
}

/// The grades that may be wanted: those of a stack in its window.
const WANTED: &[Grade] = &[Grade::Sure, Grade::Likely, Grade::Marginal];
