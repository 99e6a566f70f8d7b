#![doc = include_str!("../README.md")]
pub mod catalog;
pub mod cli;
pub mod error;
pub mod model;
pub mod report;
pub mod solve;
pub mod stack;
