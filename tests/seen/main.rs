//! What people look at: travel bars, drawings and sheets.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::format_push_string,
    reason = "a test stops where its premise fails"
)]

mod drawing;
#[allow(dead_code, reason = "the tests of answers use more of it")]
#[path = "../it/program.rs"]
mod program;
#[allow(dead_code, reason = "the tests of the search use more of it")]
#[path = "../it/random.rs"]
mod random;
mod sheet;
mod travel;
