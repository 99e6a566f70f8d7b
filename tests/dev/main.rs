#![allow(clippy::unwrap_used, clippy::panic, dead_code, unused_imports)]
#[path = "exact.rs"]
mod exact;
#[path = "numbers.rs"]
mod numbers;
#[path = "../it/random.rs"]
mod random;
