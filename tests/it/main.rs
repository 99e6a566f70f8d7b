//! The integration tests, one crate.

mod random;
mod search;
