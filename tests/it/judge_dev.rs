#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::format_push_string,
    dead_code,
    unused_imports,
    missing_docs
)]
mod checker;
mod judged;
mod shops;
