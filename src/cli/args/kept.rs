//! What can be typed about what the catalog remembers: history and kept answers.

use clap::{Args as ClapArgs, Subcommand};

use super::{As, Format, Search, Shape};

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct History {
    /// Only of this part, with its pieces and readings
    #[arg(long, value_name = "ID", conflicts_with = "job")]
    pub(in crate::cli) part: Option<String>,
    /// Only of this job
    #[arg(long, value_name = "JOB")]
    pub(in crate::cli) job: Option<String>,
    /// How many changes are shown, the last ones
    #[arg(long, value_name = "N", default_value_t = 50, value_parser = clap::value_parser!(u32).range(1..))]
    pub(in crate::cli) limit: u32,
    #[command(flatten)]
    pub(in crate::cli) written: As<Format>,
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Undo {
    /// The command's number [default: the last one that was not taken back]
    #[arg(value_name = "N", value_parser = clap::value_parser!(i64).range(1..))]
    pub(in crate::cli) number: Option<i64>,
}

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum Answer {
    /// Work out the recommendation for a job and keep it, with the job and the house numbers as they
    /// are today
    Keep(Keep),
    /// List the answers that were kept
    List {
        /// Only to this job
        #[arg(long, value_name = "JOB")]
        job: Option<String>,
        #[command(flatten)]
        written: As<Shape>,
    },
    /// Show an answer as it was given, and what it was an answer to
    Show {
        /// The answer's name
        name: String,
        #[command(flatten)]
        written: As<Shape>,
    },
    /// Work out the stacks of an answer once more, and tell what has changed since
    Compare {
        /// The answer's name
        name: String,
        #[command(flatten)]
        written: As<Shape>,
    },
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Keep {
    /// The job's name
    pub(in crate::cli) job: String,
    /// What the answer is called [default: the job's name and the day]
    #[arg(long = "as", value_name = "NAME")]
    pub(in crate::cli) name: Option<String>,
    /// Keep the stack that is fitted instead of a ranking
    #[arg(long, conflicts_with_all = [
        "top", "keep", "only", "without", "skip", "open", "on_hand", "budget", "at_least", "order",
        "show_failed",
    ])]
    pub(in crate::cli) fit: bool,
    /// Keep the changes that `cure` finds instead of a ranking
    #[arg(long, conflicts_with = "fit")]
    pub(in crate::cli) cure: bool,
    #[command(flatten)]
    pub(in crate::cli) search: Search,
}
