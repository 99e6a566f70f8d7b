//! Names that were typed, looked up: kinds and `KEY=VALUE` pairs.

use crate::error::{Error, Result};
use crate::model::kinds::{KindSpec, Kinds, nearest};

/// The kind of part of this name, however it is written.
pub(super) fn kind(kinds: Kinds, name: &str) -> Result<&'static KindSpec> {
    let folded = name.trim().to_lowercase().replace([' ', '-'], "_");
    kinds.find(&folded).ok_or_else(|| {
        let keys = || kinds.iter().map(|kind| kind.key);
        let error = Error::input(format!("`{}` is no kind of part", name.trim()));
        if let Some(near) = nearest(&folded, keys()) {
            return error.hint(format!("did you mean `{near}`?"));
        }
        error.hint(format!("kinds are {}", keys().collect::<Vec<_>>().join(", ")))
    })
}

/// A pair of key and value.
pub(super) fn pair(text: &str) -> Result<(&str, &str)> {
    let pair = text.split_once('=').map(|(key, value)| (key.trim(), value.trim()));
    pair.ok_or_else(|| Error::input(format!("`{text}` has no value")).hint("write `KEY=VALUE`"))
}
