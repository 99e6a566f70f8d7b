//! What readings say: the uncertainty of a measurement, and the prediction of the next piece.
//!
//! From the inside out: [`statistics`] turns readings into mean and scatter, [`budget`] combines
//! sources of error (JCGM 100:2008), [`gauges`] knows what instruments may be wrong by,
//! [`findings`] works out what every piece of a library measured,
//! [`prediction`] what its next sister is likely to be, and [`applied`] makes of both the library
//! that answers are computed with. What all of that teaches is in [`lessons`], and what is wrong or
//! missing in [`inspection`].

pub mod alike;
pub mod applied;
pub mod budget;
pub mod findings;
pub mod gauges;
pub mod inspection;
pub mod lessons;
pub mod measured;
pub mod prediction;
pub mod remark;
pub mod shelf;
pub mod slips;
pub mod statistics;
mod twice;
