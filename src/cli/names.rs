//! Names that were typed, looked up: kinds and `KEY=VALUE` pairs.

use super::args::Unusual;
use crate::error::{Error, Result};
use crate::model::job::READINGS;
use crate::model::kinds::{KindSpec, Kinds, nearest};
use crate::model::usual::Meant;

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

/// The keys of values that are meant though they are unusual.
pub(super) fn meant(kinds: Kinds, unusual: &Unusual) -> Result<Meant> {
    let meant = Meant::new(&unusual.keys);
    let dims = kinds.iter().flat_map(|kind| kind.dims).map(|dim| dim.key);
    let known: Vec<&str> = dims.chain(READINGS.iter().map(|spec| spec.key)).collect();
    for key in meant.keys() {
        if !known.contains(&key.strip_suffix("_tol").unwrap_or(key)) {
            let error = Error::input(format!("`--unusual`: `{key}` is no length"));
            return Err(match nearest(key, known) {
                Some(near) => error.hint(format!("did you mean `{near}`?")),
                None => error.hint("`part keys KIND` and `job keys` list them; `all` keeps all"),
            });
        }
    }
    Ok(meant)
}

/// A pair of key and value.
pub(super) fn pair(text: &str) -> Result<(&str, &str)> {
    let pair = text.split_once('=').map(|(key, value)| (key.trim(), value.trim()));
    pair.ok_or_else(|| Error::input(format!("`{text}` has no value")).hint("write `KEY=VALUE`"))
}
