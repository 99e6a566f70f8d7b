//! Names that can be written in a CSV cell and on a command line.

use crate::error::{Error, Result};
use crate::model::pieces::PIECE_MARK;

/// Refuses a part number or a job's name that could not be written in a CSV cell or on a command
/// line: the bar separates two shims, and `none` empties a slot.
///
/// # Errors
///
/// Says which character or word it was.
pub(super) fn check_id(id: &str) -> Result<()> {
    let refuse =
        |why: &str| Err(Error::input(format!("`{}` cannot be an id: {why}", id.escape_debug())));
    if id.trim().is_empty() {
        return Err(Error::input("the id is blank"));
    }
    if id.trim() != id {
        return refuse("it begins or ends with a space");
    }
    if id.contains('|') {
        return refuse("`|` separates two ids");
    }
    if id.chars().any(char::is_control) {
        return refuse("it has a line break or another control character");
    }
    if id == "none" {
        return refuse("the word stands for an empty slot");
    }
    Ok(())
}

/// The same for a part number, in which the mark before a piece's label has no place either.
///
/// # Errors
///
/// As [`check_id`].
pub(super) fn check_part_id(id: &str) -> Result<()> {
    check_id(id)?;
    without_mark(id, "a part number")
}

/// Refuses a piece's label that could not be written behind its part number.
///
/// # Errors
///
/// As [`check_id`].
pub(super) fn check_label(label: &str) -> Result<()> {
    check_id(label).map_err(|error| error.at("label"))?;
    without_mark(label, "a label")
}

fn without_mark(text: &str, what: &str) -> Result<()> {
    if text.contains(PIECE_MARK) {
        let shown = text.escape_debug();
        let why = format!("`{PIECE_MARK}` stands between a number and the label of a piece of it");
        return Err(Error::input(format!("`{shown}` cannot be {what}: {why}")));
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_that_a_command_could_not_name_is_refused() {
        for bad in ["", " ", "a|b", "a\nb", " a", "none"] {
            assert!(check_id(bad).is_err(), "{bad:?}");
        }
        for good in ["A-1", "17 x 4", "none-1", "\u{e9}\u{df}", "=1"] {
            assert!(check_id(good).is_ok(), "{good:?}");
        }
        assert!(
            check_id("A#1").is_ok()
                && check_part_id("A#1").is_err()
                && check_part_id("A-1").is_ok()
        );
    }
}
