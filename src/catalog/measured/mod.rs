//! Pieces, readings and instruments in their tables.

mod instruments;
mod load;
mod store;

pub(super) use instruments::seed;
pub(super) use load::{load, load_instruments, load_pieces};
pub(super) use store::piece_number;
