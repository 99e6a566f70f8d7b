//! What can be typed to find parts and jobs.

use clap::Args as ClapArgs;
use clap::builder::PossibleValuesParser;

use super::{As, Format};
use crate::desk::Stand;
use crate::model::job::{JobState, Word as _};

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct PartList {
    /// Words that stand in a part's number, maker, description or notes, and ranges of its numbers such
    /// as `thickness=0.850..0.900`, `thickness="..22.9 mm"`, `price=100..` or `on_hand=1..`; a bare
    /// length is in the unit of --units. `own_shelf=B3` finds words in a column of the shop's own
    #[arg(value_name = "WORD|KEY=FROM..TO")]
    pub(in crate::cli) sought: Vec<String>,
    /// Only this kind
    #[arg(long)]
    pub(in crate::cli) kind: Option<String>,
    /// Only parts that mate with this one, as far as their faces are known
    #[arg(long, value_name = "ID")]
    pub(in crate::cli) mates: Option<String>,
    /// Only parts of which some lie on the shelf
    #[arg(long)]
    pub(in crate::cli) on_hand: bool,
    /// Only retired parts
    #[arg(long)]
    pub(in crate::cli) retired: bool,
    /// Sort by this key: `id`, `kind`, `maker`, `description`, `price`, `on_hand`, `lead_days` or a
    /// dimension; what is unknown comes last
    #[arg(long, value_name = "KEY")]
    pub(in crate::cli) sort: Option<String>,
    /// The other way round
    #[arg(long)]
    pub(in crate::cli) reverse: bool,
    /// Show these dimensions or columns of the shop's own beside those that are asked for or sorted by
    #[arg(long, value_name = "KEY", value_delimiter = ',')]
    pub(in crate::cli) show: Vec<String>,
    #[command(flatten)]
    pub(in crate::cli) written: As<Format>,
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct JobList {
    /// Words that stand in a job's name or columns, and columns with what stands in them, such as
    /// `gearbox=GB-C1`; `KEY=` finds the jobs where nothing does
    #[arg(value_name = "WORD|KEY=TEXT")]
    pub(in crate::cli) sought: Vec<String>,
    /// Only jobs in this state
    #[arg(long, value_name = "STATE", value_delimiter = ',',
        value_parser = PossibleValuesParser::new(JobState::WORDS.iter().map(|(word, _)| *word)))]
    pub(in crate::cli) state: Vec<String>,
    /// Only jobs of customers in whose name these words stand
    #[arg(long, value_name = "WORDS")]
    pub(in crate::cli) customer: Option<String>,
    /// Only jobs that stand so
    #[arg(long, value_name = "VERDICT", value_delimiter = ',',
        value_parser = PossibleValuesParser::new(Stand::VERDICTS))]
    pub(in crate::cli) verdict: Vec<String>,
    /// Sort by this column, or by `verdict` or `room` [default: the job's name]
    #[arg(long, value_name = "KEY")]
    pub(in crate::cli) sort: Option<String>,
    /// The other way round
    #[arg(long)]
    pub(in crate::cli) reverse: bool,
    #[command(flatten)]
    pub(in crate::cli) written: As<Format>,
}
