//! Names that were typed, looked up: slots and `KEY=VALUE` pairs.

use crate::error::{Error, Result};
use crate::model::kinds::Kinds;

/// The index of the slot of this name.
pub(super) fn slot(kinds: Kinds, name: &str) -> Result<usize> {
    let name = name.trim();
    kinds.slot_named(name).ok_or_else(|| {
        let keys = || kinds.slots().map(|(_, slot)| slot.key);
        let all = format!("slots are {}", keys().collect::<Vec<_>>().join(", "));
        Error::input(format!("`{name}` is no slot of a stack")).near(name, keys(), all)
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
