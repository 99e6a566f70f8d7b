//! What can be typed about files: sheets in and out, headings, copies of the catalog.

use std::path::PathBuf;

use clap::{Args as ClapArgs, Subcommand, ValueEnum};

use super::{As, Shape, Unusual};

#[allow(clippy::struct_excessive_bools, reason = "each is a flag of the command")]
#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Import {
    /// Workbooks (xlsx, xls, ods) or CSV files, each sheet with a row of headings; `-` is standard
    /// input
    #[arg(required = true, value_name = "FILE")]
    pub(in crate::cli) files: Vec<PathBuf>,
    /// What every file holds: a kind of part, `jobs`, `pieces`, `readings` or `instruments`
    #[arg(long)]
    pub(in crate::cli) kind: Option<String>,
    /// Read and check everything, show what would become of each thing field by field, and store
    /// nothing
    #[arg(long)]
    pub(in crate::cli) dry_run: bool,
    /// A row is all there is to know: what it has no column for is blanked
    #[arg(long)]
    pub(in crate::cli) replace: bool,
    /// Where rows are bad, write all of them with the reasons into this file, as CSV
    #[arg(long, value_name = "FILE")]
    pub(in crate::cli) problems: Option<PathBuf>,
    /// Take the good rows, and write the others with their reasons into sheets in this directory, to be
    /// put right and imported again
    #[arg(long, value_name = "DIR", conflicts_with = "problems")]
    pub(in crate::cli) good_rows: Option<PathBuf>,
    /// The files are lists of prices: the prices and lead days of known parts are taken, and nothing
    /// else
    #[arg(long)]
    pub(in crate::cli) prices: bool,
    /// What the headings mean: a name under which they are kept, or a TOML file
    #[arg(long, value_name = "NAME|FILE")]
    pub(in crate::cli) headings: Option<String>,
    /// Agree to what is asked about otherwise: rows, blanks, faces, split-faces, prices, ids or all
    #[arg(long, value_name = "TOPIC", value_delimiter = ',')]
    pub(in crate::cli) agree: Vec<String>,
    /// Store without asking at the end, at a terminal too
    #[arg(long)]
    pub(in crate::cli) yes: bool,
    #[command(flatten)]
    pub(in crate::cli) unusual: Unusual,
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Backup {
    /// The copy
    pub(in crate::cli) file: PathBuf,
    /// Replace a file that is there already without asking
    #[arg(long)]
    pub(in crate::cli) force: bool,
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Restore {
    /// The copy, as `backup` makes one, or as it is kept beside the catalog
    pub(in crate::cli) file: PathBuf,
    /// Replace a catalog that is there without asking
    #[arg(long)]
    pub(in crate::cli) force: bool,
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Merge {
    /// The other copy of this catalog
    #[arg(value_name = "OTHER.db")]
    pub(in crate::cli) file: PathBuf,
    /// What both changed stays as it is here
    #[arg(long, conflicts_with = "theirs")]
    pub(in crate::cli) ours: bool,
    /// What both changed becomes what it is there
    #[arg(long)]
    pub(in crate::cli) theirs: bool,
    /// Show what would be taken, and store nothing
    #[arg(long)]
    pub(in crate::cli) dry_run: bool,
    #[command(flatten)]
    pub(in crate::cli) written: As<Shape>,
}

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum Headings {
    /// List the names under which headings are kept
    List {
        #[command(flatten)]
        written: As<Shape>,
    },
    /// Show what each heading means, as a file that `import --headings` takes
    Show {
        /// The name
        name: String,
        #[command(flatten)]
        written: As<Shape>,
    },
    /// Take headings out of the catalog
    Remove {
        /// The names
        #[arg(required = true, value_name = "NAME")]
        names: Vec<String>,
    },
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Export {
    /// Only this kind of part, or `jobs`, `pieces`, `readings` or `instruments`
    #[arg(long)]
    pub(in crate::cli) kind: Option<String>,
    /// One CSV file for each kind, or one workbook with a worksheet for each, in which lengths are
    /// numbers in the unit that its headings name
    #[arg(long, value_enum, default_value_t = Files::Csv)]
    pub(in crate::cli) format: Files,
    /// Write one file for each kind into this directory, instead of all parts to standard output; the
    /// workbook into this file
    #[arg(long, value_name = "DIR|FILE")]
    pub(in crate::cli) out: Option<PathBuf>,
    /// Header rows only: templates to fill in
    #[arg(long)]
    pub(in crate::cli) templates: bool,
    /// Replace files that are there already without asking
    #[arg(long, requires = "out")]
    pub(in crate::cli) force: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(in crate::cli) enum Files {
    /// CSV
    Csv,
    /// A workbook
    Xlsx,
}
