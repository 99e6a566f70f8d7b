//! What a shop asks of its catalog: what commands and pages both do, so that neither does it twice.
//!
//! Nothing is typed, printed or served here. A question begins with a [`Bench`]: one job, and the
//! library that its answers are computed with.

mod bench;
mod buying;
mod day;
mod fillings;
mod in_hand;
mod kept;
mod measure;
mod plan;
mod question;
mod questions;
mod so_far;
mod sought;
mod stack;
mod take;
mod version;

pub use bench::{Bench, applied_library, library_and_jobs};
pub use buying::buying;
pub use day::Stand;
pub use fillings::{Filling, fillings, may_be_empty};
pub use in_hand::changed_in_hand;
pub use kept::{Asked, Since, compare, fitted, keep, today};
pub use measure::{AtBench, Read};
pub use plan::{newest, planned};
pub use question::{asked, question, slot, slot_pair};
pub use questions::{
    EDGES, OF_THICKNESS, Step, another_plate, doubt, no_plate, of_bare, over_plate, with_unit,
    with_unit_set,
};
pub use so_far::{Half, SoFar, so_far};
pub use sought::{By, Sought, sought};
pub use stack::{Listing, Swap, cured, fill, one_stack, row, swapped};
pub use take::{Taken, taken};
pub use version::{Thing, Version, Written, unless_changed};
