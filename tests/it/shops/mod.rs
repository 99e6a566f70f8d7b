//! Small random shops as real ones are, each with a job, by their numbers.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_possible_wrap,
    clippy::cast_sign_loss,
    reason = "only small numbers are drawn, and none below zero is cast"
)]

mod car;
mod parts;
mod seen;

pub(crate) use crate::random::Dice;
pub(crate) use parts::{RealShop, real};
