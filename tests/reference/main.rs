//! Checks against published values, each with its source.
//!
//! Beside every number stands where it comes from and how it was had: *seen* in the source (or a
//! stored copy of it), from a *secondary copy*, *computed* from numbers that were seen, or from
//! *memory*.

#![allow(
    clippy::unwrap_used,
    clippy::cast_precision_loss,
    reason = "a test stops where its premise fails, and the numbers here are small"
)]

mod chance;
mod hydraulics;
mod measuring;
mod stacks;
mod sums;
mod uncertainty;
mod units;
