//! Pieces, readings and instruments in their tables.

mod load;
mod store;

pub(super) use load::load;
pub(super) use store::{piece_number, seed};
