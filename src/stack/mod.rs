//! The sum along the crank axis: preload, wear reserve, their uncertainty, grades and checks.
//!
//! Zero is the bare block's housing face; positive runs toward the gearbox. Everything here is
//! pure: a job, the library and a choice of parts go in, a [`fit::Fit`] comes out.

pub mod agreement;
mod along;
pub mod answer;
pub mod buying;
pub mod cap;
pub mod caution;
pub mod chance;
pub mod checks;
pub mod choice;
pub mod cost;
pub mod crosscheck;
pub mod fit;
pub mod form;
pub mod grade;
pub mod hydraulics;
pub mod in_hand;
pub mod inspection;
pub mod joints;
pub mod lengths;
pub mod measuring;
pub mod note;
pub mod odds;
pub mod picture;
pub mod route;
pub mod shown;
pub mod slip;
pub mod terms;
pub mod trial;
pub mod unused;
pub mod window;
