//! Candidates, search, ranking, counting and cure. No I/O, no SQL, no printing.

pub mod ask;
pub mod candidates;
pub mod compact;
pub mod count;
pub mod cure;
pub mod front;
pub mod histogram;
pub mod lookfor;
pub mod mates;
pub mod product;
pub mod rank;
pub mod recommend;
pub mod search;
pub mod tables;
pub mod verdict;
