//! What can be typed about parts and jobs by hand.

use clap::{Args as ClapArgs, Subcommand};

use super::{JobList, PartList, Search, Shape, Unusual};

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum Part {
    /// List the parts, or those that are sought
    List(PartList),
    /// Show everything about a part
    Show {
        /// The part's number
        id: String,
        /// How the answer is written
        #[arg(long, value_enum, default_value_t = Shape::Table)]
        format: Shape,
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

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum Job {
    /// List the jobs, or those that are sought, each with where it stands
    List(JobList),
    /// Show everything about a job
    Show {
        /// The job's name
        job: String,
        /// How the answer is written
        #[arg(long, value_enum, default_value_t = Shape::Table)]
        format: Shape,
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
