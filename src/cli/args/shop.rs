//! What can be typed about parts and jobs by hand.

use std::path::PathBuf;

use clap::{Args as ClapArgs, Subcommand, ValueEnum};

use super::{As, Format, JobList, PartList, Search, Shape, Unusual};

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum Part {
    /// List the parts, or those that are sought
    List(PartList),
    /// Show everything about a part
    Show {
        /// The part's number
        id: String,
        #[command(flatten)]
        written: As<Shape>,
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
        #[command(flatten)]
        unusual: Unusual,
    },
    /// Change a part
    Edit {
        /// The part's number
        id: String,
        /// What changes; a blank value blanks it
        #[arg(required = true, value_name = "KEY=VALUE")]
        pairs: Vec<String>,
        #[command(flatten)]
        unusual: Unusual,
    },
    /// Add a part like another one, with none on the shelf
    Copy {
        /// The number of the part that is there
        id: String,
        /// The new part's number
        new: String,
        /// What differs; a blank value blanks it
        #[arg(value_name = "KEY=VALUE")]
        pairs: Vec<String>,
        #[command(flatten)]
        unusual: Unusual,
    },
    /// Give a part another number: jobs, pieces, readings and kept answers follow, and it is still found
    /// by the old one
    Rename {
        /// The part's number
        #[arg(value_name = "OLD")]
        id: String,
        /// The number that it is to have
        new: String,
    },
    /// Let a part take the place of another one: jobs, pieces, readings, kept answers and what lies on
    /// the shelf are the new one's, and the old number leads to it
    Supersede {
        /// The number of the part that goes
        old: String,
        /// The number of the part that takes its place
        new: String,
    },
    /// Set pieces that lie on the shelf aside for a job: for all others they are gone
    SetAside(Aside),
    /// Give pieces back to the shelf that were set aside for a job
    PutBack(Aside),
    /// Take pieces out of the shop, such as for a car: there are fewer on hand
    TakeOut(Moved),
    /// Count pieces that have come, and ask at a terminal what they measure
    Receive(Received),
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
    /// List the columns of a kind with what they mean; without a kind, list the kinds
    Keys {
        /// The kind of part
        kind: Option<String>,
    },
}

/// Pieces of a part, and a job.
#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Aside {
    /// The part's number, or a piece of it such as `FW-1#A`
    #[arg(value_name = "ID[#LABEL]")]
    pub(in crate::cli) id: String,
    /// How many pieces
    #[arg(value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..))]
    pub(in crate::cli) pieces: u32,
    /// The job
    #[arg(long = "for", value_name = "JOB")]
    pub(in crate::cli) job: String,
}

/// Pieces of a part, perhaps for a job.
#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Moved {
    /// The part's number, or a piece of it such as `FW-1#A`
    #[arg(value_name = "ID[#LABEL]")]
    pub(in crate::cli) id: String,
    /// How many pieces
    #[arg(value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..))]
    pub(in crate::cli) pieces: u32,
    /// The job for which they are: what is set aside for it goes first
    #[arg(long = "for", value_name = "JOB")]
    pub(in crate::cli) job: Option<String>,
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Received {
    #[command(flatten)]
    pub(in crate::cli) moved: Moved,
    /// What a piece that is named with a label is, where it is new to the catalog: new, used or machined
    #[arg(long, value_name = "WORD", default_value = "new")]
    pub(in crate::cli) condition: String,
}

/// What is set aside.
#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Shelf {
    /// Only what is set aside for this job
    #[arg(long = "for", value_name = "JOB")]
    pub(in crate::cli) job: Option<String>,
    #[command(flatten)]
    pub(in crate::cli) written: As<Format>,
}

/// What is to be bought.
#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Buy {
    /// The jobs, in the order in which they take from the shelf [default: all that are not done, by the
    /// day on which they came in]
    #[arg(value_name = "JOB")]
    pub(in crate::cli) jobs: Vec<String>,
    #[command(flatten)]
    pub(in crate::cli) written: As<BuyFormat>,
    /// Write the workbook into this file
    #[arg(long, value_name = "FILE.xlsx")]
    pub(in crate::cli) out: Option<PathBuf>,
    /// Replace a file that is there already without asking
    #[arg(long, requires = "out")]
    pub(in crate::cli) force: bool,
}

#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(in crate::cli) enum BuyFormat {
    #[default]
    Table,
    Json,
    Csv,
    /// A workbook with the limits on arrival on a worksheet of its own
    Xlsx,
}

/// What is running out.
#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Low {
    /// Only this kind
    #[arg(long)]
    pub(in crate::cli) kind: Option<String>,
    #[command(flatten)]
    pub(in crate::cli) written: As<Format>,
}

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum Job {
    /// List the jobs, or those that are sought, each with where it stands
    List(JobList),
    /// Show everything about a job
    Show {
        /// The job's name
        job: String,
        #[command(flatten)]
        written: As<Shape>,
    },
    /// Enter a car at the terminal, one question after another; three readings lead to a verdict. Each
    /// answer is stored as it is given, and a car that was begun is gone on with
    New {
        /// The job's name [default: asked for]
        job: Option<String>,
    },
    /// Add a job
    Add {
        /// The job's name
        job: String,
        /// What is known of it, such as `engine=E-1` or `finger_depth="3.260 in"`
        #[arg(value_name = "KEY=VALUE")]
        pairs: Vec<String>,
        #[command(flatten)]
        unusual: Unusual,
    },
    /// Change a job
    Edit {
        /// The job's name
        job: String,
        /// What changes; a blank value blanks it
        #[arg(required = true, value_name = "KEY=VALUE")]
        pairs: Vec<String>,
        #[command(flatten)]
        unusual: Unusual,
    },
    /// Add a job like another one; it is open, and has come in on no day yet
    Copy {
        /// The name of the job that is there
        job: String,
        /// The new job's name
        new: String,
        /// What differs; a blank value blanks it
        #[arg(value_name = "KEY=VALUE")]
        pairs: Vec<String>,
        #[command(flatten)]
        unusual: Unusual,
    },
    /// Put a row of an answer on a job: its parts become the fitted ones
    Take(Take),
    /// Take jobs out of the catalog; their parts stay
    Remove {
        /// The jobs' names
        #[arg(required = true, value_name = "JOB")]
        jobs: Vec<String>,
    },
    /// List the columns of a job with what they mean
    Keys,
}

#[derive(Debug, ClapArgs)]
#[group(id = "of", required = true, args = ["row", "cure"])]
pub(in crate::cli) struct Take {
    /// The job's name
    pub(in crate::cli) job: String,
    /// The row of `recommend`, asked with the same flags
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub(in crate::cli) row: Option<u32>,
    /// The row of `cure`, asked with the same flags
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=10_000))]
    pub(in crate::cli) cure: Option<u32>,
    /// The job's readings were taken with the new parts already: none of them is blanked
    #[arg(long)]
    pub(in crate::cli) built: bool,
    /// Show what would change, and store nothing
    #[arg(long)]
    pub(in crate::cli) dry_run: bool,
    #[command(flatten)]
    pub(in crate::cli) search: Search,
}
