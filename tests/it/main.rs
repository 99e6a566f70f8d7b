//! The integration tests, one crate.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::format_push_string,
    clippy::needless_pass_by_value,
    clippy::option_option,
    clippy::unused_self,
    clippy::wrong_self_convention,
    reason = "a test stops where its premise fails"
)]

mod always_answers;
mod answers;
mod bars;
mod believed;
mod buying;
mod catalog;
mod catalog_file;
#[allow(
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::many_single_char_names,
    clippy::manual_midpoint,
    reason = "the judge works chances out in floats, by the letters of its formulas"
)]
mod checker;
mod copies;
mod cross_join;
mod csv;
mod csv_out;
mod durable;
mod escapes;
mod extra_kind;
mod flags;
mod found;
mod guided;
mod help;
mod history;
mod job_words;
mod json_shows;
mod judged;
mod kept;
mod kills;
mod merged;
mod own_columns;
mod pieces;
mod problems;
mod program;
mod properties;
mod random;
mod readings;
mod readme;
mod reasons;
mod renumbered;
mod sheets;
mod shelf;
mod shop;
mod shops;
mod statuses;
mod stopped;
mod support;
mod trade;
mod trusted;
mod typed;
mod undo;
mod unusual;
mod walls;
mod workbooks;
