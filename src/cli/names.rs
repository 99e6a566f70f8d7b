//! Names that were typed, looked up: kinds and `KEY=VALUE` pairs.

use super::args::Unusual;
use crate::error::{Error, Result};
use crate::model::job::READINGS;
use crate::model::kinds::Kinds;
use crate::model::usual::Meant;

/// The keys of values that are meant though they are unusual.
pub(super) fn meant(kinds: Kinds, unusual: &Unusual) -> Result<Meant> {
    let meant = Meant::new(&unusual.keys);
    let dims = kinds.iter().flat_map(|kind| kind.dims).map(|dim| dim.key);
    let known: Vec<&str> = dims.chain(READINGS.iter().map(|spec| spec.key)).collect();
    for key in meant.keys() {
        if !known.contains(&key.strip_suffix("_tol").unwrap_or(key)) {
            let error = Error::input(format!("`--unusual`: `{key}` is no length"));
            let all = "`part keys KIND` and `job keys` list them; `all` keeps all";
            return Err(error.near(key, known, all));
        }
    }
    Ok(meant)
}

/// A pair of key and value.
pub(super) fn pair(text: &str) -> Result<(&str, &str)> {
    let pair = text.split_once('=').map(|(key, value)| (key.trim(), value.trim()));
    pair.ok_or_else(|| Error::input(format!("`{text}` has no value")).hint("write `KEY=VALUE`"))
}
