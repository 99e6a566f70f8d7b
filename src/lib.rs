#![doc = include_str!("../README.md")]
pub mod catalog;
pub mod error;
pub mod model;
pub mod solve;
pub mod stack;
