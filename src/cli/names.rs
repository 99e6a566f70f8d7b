//! Names that were typed, looked up: slots and `KEY=VALUE` pairs.

use crate::error::{Error, Result};
use crate::model::kinds::{KindSpec, Kinds, nearest};

/// The index of the slot of this name.
pub(super) fn slot(kinds: Kinds, name: &str) -> Result<usize> {
    let name = name.trim();
    kinds.slot_named(name).ok_or_else(|| {
        let keys = || kinds.slots().map(|(_, slot)| slot.key);
        let error = Error::input(format!("`{name}` is no slot of a stack"));
        if let Some(near) = nearest(name, keys()) {
            return error.hint(format!("did you mean `{near}`?"));
        }
        error.hint(format!("slots are {}", keys().collect::<Vec<_>>().join(", ")))
    })
}

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

/// `SLOT=REST`, split and looked up.
pub(super) fn slot_pair<'t>(kinds: Kinds, text: &'t str, form: &str) -> Result<(usize, &'t str)> {
    let Some((name, rest)) = text.split_once('=') else {
        return Err(Error::input(format!("`{text}` names no part")).hint(format!("write `{form}`")));
    };
    Ok((slot(kinds, name)?, rest.trim()))
}

/// A pair of key and value.
pub(super) fn pair(text: &str) -> Result<(&str, &str)> {
    let pair = text.split_once('=').map(|(key, value)| (key.trim(), value.trim()));
    pair.ok_or_else(|| Error::input(format!("`{text}` has no value")).hint("write `KEY=VALUE`"))
}
