//! The integration tests, one crate.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::format_push_string,
    reason = "a test stops where its premise fails"
)]

mod always_answers;
mod answers;
mod bars;
mod believed;
mod catalog;
mod catalog_file;
mod checker;
mod csv;
mod csv_out;
mod durable;
mod escapes;
// mod exact;
mod extra_kind;
mod flags;
mod history;
mod judged;
mod kept;
mod kills;
// mod outside_optimum;
// mod outside_solver;
mod pieces;
mod problems;
mod program;
// mod properties;
mod random;
mod readings;
mod readme;
// mod search;
mod sheets;
mod shop;
mod shops;
mod statuses;
mod stopped;
mod support;
mod trade;
mod trusted;
mod typed;
mod unusual;
mod walls;
mod workbooks;
