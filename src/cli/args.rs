//! What can be typed.

use std::path::PathBuf;

use clap::{Args as ClapArgs, Parser, Subcommand, ValueEnum};

use crate::model::length::Unit;
use crate::solve::ask::Order;
use crate::stack::grade::Grade;

/// Finds the combinations of driveline parts that land a concentric hydraulic release bearing in
/// its window of preload and wear reserve.
#[derive(Debug, Parser)]
#[command(name = "bellstack", version, max_term_width = 100)]
pub(super) struct Args {
    #[command(flatten)]
    pub(super) common: Common,
    #[command(subcommand)]
    pub(super) command: Command,
}

#[derive(Debug, ClapArgs)]
pub(super) struct Common {
    /// The catalog's file [default: `BELLSTACK_CATALOG`, else in the platform's data directory]
    #[arg(long, global = true, value_name = "FILE", display_order = 100)]
    pub(super) catalog: Option<PathBuf>,
    /// The unit that people read; what is stored does not change
    #[arg(long, global = true, value_enum, default_value_t = Units::In, display_order = 101)]
    pub(super) units: Units,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum Units {
    In,
    Mm,
}

impl Units {
    pub(super) fn unit(self) -> Unit {
        match self {
            Self::In => Unit::In,
            Self::Mm => Unit::Mm,
        }
    }
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Build the demo shop's catalog and run its main jobs
    Demo,
    /// Take parts and jobs from CSV files, all or nothing
    Import(Import),
    /// Give parts and jobs back as CSV
    Export(Export),
    /// The library of parts by hand
    #[command(subcommand)]
    Part(Part),
    /// The jobs by hand
    #[command(subcommand)]
    Job(Job),
    /// The target window and the other house numbers
    #[command(subcommand)]
    Window(Window),
    /// Work out one stack, with every term of its sum
    Fit(Fit),
    /// Rank every combination of parts for a job
    Recommend(Recommend),
    /// Find the smallest changes that bring jobs into their windows
    Cure(Cure),
    /// Look through the library and its jobs for what cannot be, what is doubtful and what is missing
    Check(Check),
}

#[derive(Debug, ClapArgs)]
pub(super) struct Import {
    /// CSV files, in UTF-8 with a header row
    #[arg(required = true, value_name = "FILE")]
    pub(super) files: Vec<PathBuf>,
    /// What every file holds: a kind of part, or `jobs`
    #[arg(long)]
    pub(super) kind: Option<String>,
    /// Read and check everything, and store nothing
    #[arg(long)]
    pub(super) dry_run: bool,
    /// A row is all there is to know: what it has no column for is blanked
    #[arg(long)]
    pub(super) replace: bool,
}

#[derive(Debug, ClapArgs)]
pub(super) struct Export {
    /// Only this kind of part, or `jobs`
    #[arg(long)]
    pub(super) kind: Option<String>,
    /// Write one file for each kind into this directory, instead of all parts to standard output
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// Header rows only: templates to fill in
    #[arg(long)]
    pub(super) templates: bool,
}

#[derive(Debug, Subcommand)]
pub(super) enum Part {
    /// List the parts
    List {
        /// Only this kind
        #[arg(long)]
        kind: Option<String>,
        /// Only retired parts
        #[arg(long)]
        retired: bool,
    },
    /// Show everything about a part
    Show {
        /// The part's number
        id: String,
    },
    /// Add a part
    Add {
        /// The kind of part
        kind: String,
        /// The part's number
        id: String,
        /// What is known of it, such as `thickness="1.000 in"`; a blank value blanks it
        #[arg(value_name = "KEY=VALUE")]
        pairs: Vec<String>,
    },
    /// Change a part
    Edit {
        /// The part's number
        id: String,
        /// What changes; a blank value blanks it
        #[arg(required = true, value_name = "KEY=VALUE")]
        pairs: Vec<String>,
    },
    /// Retire parts: they stay in the library and leave the search
    Retire {
        /// The parts' numbers
        #[arg(required = true, value_name = "ID")]
        ids: Vec<String>,
    },
    /// Take retired parts back into use
    Restore {
        /// The parts' numbers
        #[arg(required = true, value_name = "ID")]
        ids: Vec<String>,
    },
    /// Take parts out of the catalog for good
    Remove {
        /// The parts' numbers
        #[arg(required = true, value_name = "ID")]
        ids: Vec<String>,
    },
    /// List the columns of a kind with what they mean
    Keys {
        /// The kind of part
        kind: String,
    },
}

#[derive(Debug, Subcommand)]
pub(super) enum Job {
    /// List the jobs
    List,
    /// Show everything about a job
    Show {
        /// The job's name
        job: String,
    },
    /// Add a job
    Add {
        /// The job's name
        job: String,
        /// What is known of it, such as `engine=E-1` or `finger_depth="3.260 in"`
        #[arg(value_name = "KEY=VALUE")]
        pairs: Vec<String>,
    },
    /// Change a job
    Edit {
        /// The job's name
        job: String,
        /// What changes; a blank value blanks it
        #[arg(required = true, value_name = "KEY=VALUE")]
        pairs: Vec<String>,
    },
    /// Take jobs out of the catalog; their parts stay
    Remove {
        /// The jobs' names
        #[arg(required = true, value_name = "JOB")]
        jobs: Vec<String>,
    },
    /// List the columns of a job with what they mean
    Keys,
}

#[derive(Debug, Subcommand)]
pub(super) enum Window {
    /// Show every house number, or a job's own window
    Show {
        /// The job whose own window is meant
        #[arg(long)]
        job: Option<String>,
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
pub(super) struct Fit {
    /// The job's name
    pub(super) job: String,
    /// Another part in a slot; `SLOT=none` empties it, `A|B` stands for two shims
    #[arg(long, value_name = "SLOT=ID")]
    pub(super) with: Vec<String>,
    /// The flywheel machined to this thickness over friction and cover face
    #[arg(long, value_name = "LENGTH")]
    pub(super) machine_to: Option<String>,
    /// Show what to measure next, and within which limits parts may be accepted when they arrive
    #[arg(long)]
    pub(super) measure: bool,
    /// How the answer is written
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub(super) format: Format,
}

#[derive(Debug, ClapArgs)]
pub(super) struct Recommend {
    /// The job's name
    pub(super) job: String,
    #[command(flatten)]
    pub(super) search: Search,
    /// Leave out how many combinations there are and how many land: quicker in a large library
    #[arg(long)]
    pub(super) no_counts: bool,
    /// Show what became of each slot's parts
    #[arg(long)]
    pub(super) explain: bool,
}

#[derive(Debug, ClapArgs)]
pub(super) struct Cure {
    /// The jobs' names
    #[arg(required_unless_present = "all", value_name = "JOB")]
    pub(super) jobs: Vec<String>,
    /// Every job of the catalog
    #[arg(long, conflicts_with = "jobs")]
    pub(super) all: bool,
    #[command(flatten)]
    pub(super) search: Search,
}

#[derive(Debug, ClapArgs)]
pub(super) struct Check {
    /// Show every line of a table; JSON and CSV hold all of them anyway
    #[arg(long)]
    pub(super) all: bool,
    /// How many lines a table shows of each group
    #[arg(long, value_name = "N", default_value_t = 5, conflicts_with = "all")]
    pub(super) top: usize,
    /// How the answer is written
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub(super) format: Format,
}

/// What narrows a search.
#[derive(Debug, ClapArgs)]
pub(super) struct Search {
    /// How many answers are shown
    #[arg(long, value_name = "N", default_value_t = 10, value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub(super) top: u32,
    /// A slot that stays as fitted
    #[arg(long, value_name = "SLOT", value_delimiter = ',')]
    pub(super) keep: Vec<String>,
    /// A slot that takes only these parts
    #[arg(long, value_name = "SLOT=ID,ID")]
    pub(super) only: Vec<String>,
    /// A slot that stays empty
    #[arg(long, value_name = "SLOT", value_delimiter = ',')]
    pub(super) without: Vec<String>,
    /// A part that is not wanted
    #[arg(long, value_name = "ID", value_delimiter = ',')]
    pub(super) skip: Vec<String>,
    /// A slot that the job fixes and that is searched all the same
    #[arg(long, value_name = "SLOT", value_delimiter = ',')]
    pub(super) open: Vec<String>,
    /// Only parts that are fitted or on the shelf
    #[arg(long)]
    pub(super) on_hand: bool,
    /// The most that may still be spent
    #[arg(long, value_name = "AMOUNT")]
    pub(super) budget: Option<String>,
    /// The lowest grade that is wanted
    #[arg(long, value_enum, value_name = "GRADE", default_value_t = AtLeast::Marginal)]
    pub(super) at_least: AtLeast,
    /// By what answers are ranked first [default: grade, and for cure: changes]
    #[arg(long, value_enum)]
    pub(super) order: Option<By>,
    /// Show stacks that fail a check beside the window too
    #[arg(long)]
    pub(super) show_failed: bool,
    /// How the answer is written
    #[arg(long, value_enum, default_value_t = Format::Table)]
    pub(super) format: Format,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    Table,
    Json,
    Csv,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum AtLeast {
    Sure,
    Likely,
    Marginal,
}

impl AtLeast {
    pub(super) fn grade(self) -> Grade {
        match self {
            Self::Sure => Grade::Sure,
            Self::Likely => Grade::Likely,
            Self::Marginal => Grade::Marginal,
        }
    }
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum By {
    Grade,
    Price,
    Room,
    Chance,
    Changes,
}

impl By {
    pub(super) fn order(self) -> Order {
        match self {
            Self::Grade => Order::Grade,
            Self::Price => Order::Price,
            Self::Room => Order::Room,
            Self::Chance => Order::Chance,
            Self::Changes => Order::Changes,
        }
    }
}
