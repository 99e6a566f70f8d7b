//! Candidates, search, ranking, counting and cure. No I/O, no SQL, no printing.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    reason = "candidates are counted in 32 bits, lengths are bounded on entry to 100 in, and floats \
              serve only bounds and chance"
)]

pub mod ask;
pub mod candidates;
pub(crate) mod change;
pub mod count;
pub mod cure;
pub mod in_hand;
pub mod lookfor;
pub mod numbers;
pub mod product;
pub mod rank;
pub(crate) mod ranked;
pub(crate) mod reasons;
pub mod recommend;
pub(crate) mod search;
