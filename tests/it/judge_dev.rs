#![allow(clippy::unwrap_used, clippy::panic, clippy::format_push_string, dead_code, unused_imports)]
mod checker;
mod judged;
mod shops;
