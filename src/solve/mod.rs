//! Candidates, search, ranking, counting and cure. No I/O, no SQL, no printing.

pub mod ask;
pub mod candidates;
pub mod cure;
pub mod lookfor;
pub mod product;
pub mod rank;
pub mod recommend;
