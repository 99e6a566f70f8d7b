//! The integration tests, one crate.

#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

mod catalog;
mod catalog_file;
mod csv;
mod csv_out;
mod random;
mod search;
mod support;
