//! What can be typed about pieces, readings and instruments.

use clap::{Args as ClapArgs, Subcommand};

use super::{As, Shape, Unusual};

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum Piece {
    /// List the pieces in hand
    List {
        /// Only pieces of this part number
        #[arg(long, value_name = "ID")]
        part: Option<String>,
        /// The ones that are gone too
        #[arg(long)]
        all: bool,
        #[command(flatten)]
        written: As<Shape>,
    },
    /// Add a piece
    Add {
        /// Part number and label, such as `FW-1#A`
        #[arg(value_name = "PART#LABEL")]
        piece: String,
        /// What is known of it, such as `condition=used`
        #[arg(value_name = "KEY=VALUE")]
        pairs: Vec<String>,
    },
    /// Change a piece
    Edit {
        /// Part number and label
        #[arg(value_name = "PART#LABEL")]
        piece: String,
        /// What changes
        #[arg(required = true, value_name = "KEY=VALUE")]
        pairs: Vec<String>,
    },
    /// Pieces are sold or scrapped: what was read on them still teaches
    Gone {
        /// Part numbers and labels
        #[arg(required = true, value_name = "PART#LABEL")]
        pieces: Vec<String>,
    },
    /// Pieces are in hand again
    Back {
        /// Part numbers and labels
        #[arg(required = true, value_name = "PART#LABEL")]
        pieces: Vec<String>,
    },
    /// Take pieces out of the catalog that were never measured
    Remove {
        /// Part numbers and labels
        #[arg(required = true, value_name = "PART#LABEL")]
        pieces: Vec<String>,
    },
    /// List the columns of a piece with what they mean
    Keys,
}

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum Reading {
    /// List sets of readings, the struck ones with the reason
    List {
        /// Only of this part number, or of this piece of it
        #[arg(value_name = "PART[#LABEL]")]
        of: Option<String>,
        /// Only of this dimension
        #[arg(long, value_name = "KEY")]
        dimension: Option<String>,
        #[command(flatten)]
        written: As<Shape>,
    },
    /// Add a set of readings
    Add(AddReading),
    /// Strike sets of readings out: they stay in the catalog and count no more
    Strike {
        /// The sets' numbers, as `reading list` shows them
        #[arg(required = true, value_name = "NUMBER")]
        numbers: Vec<i64>,
        /// Why
        #[arg(long, value_name = "REASON")]
        because: String,
    },
    /// List the columns of a set of readings with what they mean
    Keys,
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct AddReading {
    /// Part number and label, such as `FW-1#A`
    #[arg(value_name = "PART#LABEL")]
    pub(in crate::cli) piece: String,
    /// The dimension's key
    pub(in crate::cli) dimension: String,
    /// What was read, such as `2.394 2.396 2.395 in`
    #[arg(required = true, value_name = "VALUE", allow_negative_numbers = true)]
    pub(in crate::cli) values: Vec<String>,
    /// Thickness of the bar or hub that it was taken over: it is taken off
    #[arg(long, value_name = "LENGTH")]
    pub(in crate::cli) bar: Option<String>,
    /// The piece is not in the catalog yet: it is new, used or machined
    #[arg(long, value_name = "WORD")]
    pub(in crate::cli) condition: Option<String>,
    #[command(flatten)]
    pub(in crate::cli) taken: Taken,
    #[command(flatten)]
    pub(in crate::cli) unusual: Unusual,
}

/// How and by whom something was read.
#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Taken {
    /// The instrument's name
    #[arg(long, value_name = "NAME")]
    pub(in crate::cli) instrument: Option<String>,
    /// Who measured [default: `BELLSTACK_BY`, else the user's name]
    #[arg(long, value_name = "NAME")]
    pub(in crate::cli) by: Option<String>,
    /// The day, such as 2026-03-31 [default: today]
    #[arg(long, value_name = "DATE")]
    pub(in crate::cli) date: Option<String>,
}

#[derive(Debug, Subcommand)]
pub(in crate::cli) enum Instrument {
    /// List the instruments
    List {
        #[command(flatten)]
        written: As<Shape>,
    },
    /// Show an instrument with its limits of error
    Show {
        /// The instrument's name
        name: String,
        #[command(flatten)]
        written: As<Shape>,
    },
    /// Add an instrument
    Add {
        /// The instrument's name
        name: String,
        /// What is known of it, such as `limits="0.02 mm to 100 mm | 0.03 mm to 300 mm"`
        #[arg(value_name = "KEY=VALUE")]
        pairs: Vec<String>,
    },
    /// Change an instrument
    Set {
        /// The instrument's name
        name: String,
        /// What changes; a blank value blanks it
        #[arg(required = true, value_name = "KEY=VALUE")]
        pairs: Vec<String>,
    },
    /// Take instruments out of the catalog that nothing was read with
    Remove {
        /// The instruments' names
        #[arg(required = true, value_name = "NAME")]
        names: Vec<String>,
    },
    /// List the columns of an instrument with what they mean
    Keys,
}

#[derive(Debug, ClapArgs)]
pub(in crate::cli) struct Measure {
    /// The part number, or a piece of it such as `FW-1#A`
    #[arg(value_name = "PART[#LABEL]")]
    pub(in crate::cli) part: String,
    /// Only these dimensions
    #[arg(long, value_name = "KEY", value_delimiter = ',')]
    pub(in crate::cli) only: Vec<String>,
    #[command(flatten)]
    pub(in crate::cli) taken: Taken,
    #[command(flatten)]
    pub(in crate::cli) unusual: Unusual,
}
