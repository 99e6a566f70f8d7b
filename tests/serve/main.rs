//! The bench page as browsers ask for it, over real connections.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops where its premise fails")]

#[allow(dead_code, reason = "the tests of answers use more of it")]
#[path = "../it/program.rs"]
mod program;

mod browser;
mod cars;
mod entry;
mod load;
mod parts;
mod process;
mod record;
mod safety;
