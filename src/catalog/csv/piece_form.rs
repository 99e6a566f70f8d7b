//! The columns of a piece: read from a row, and written again.

use super::cells::{Change, Row};
use super::form::{Aspect, Field, Form, Shape};
use crate::error::{Error, Result};
use crate::model::job::Word;
use crate::model::pieces::{Condition, Specimen};

/// What a field of a piece is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Of {
    Part,
    Label,
    Condition,
    InHand,
    Notes,
}

const FIELDS: &[(&str, Of, &str)] = &[
    ("part", Of::Part, "the part number that it is a piece of"),
    ("piece", Of::Label, "the shop's own mark on it, such as A or 3"),
    ("condition", Of::Condition, CONDITION),
    ("in_hand", Of::InHand, "yes, or no where it is sold or scrapped; blank is yes"),
    ("notes", Of::Notes, "anything else"),
];

/// What a column of conditions means.
const CONDITION: &str = "new, used (run in) or machined; pieces of different condition are never \
                         averaged";

/// The form of a piece.
pub(super) fn form() -> Form<Of> {
    let field = |(key, what, about): &(&'static str, Of, &'static str)| Field {
        key,
        what: *what,
        shape: Shape::Plain,
        about,
    };
    Form { fields: FIELDS.iter().map(field).collect() }
}

/// Reads a row onto a piece: columns that are not there leave it as it is. Of a piece that is not
/// `known` yet the condition has to be told, since nothing can stand in for it.
pub(super) fn read(form: &Form<Of>, row: &mut Row<'_>, piece: &mut Specimen, known: bool) {
    for (index, field) in form.fields.iter().enumerate() {
        match field.what {
            // Which piece it is was read before.
            Of::Part | Of::Label => {}
            Of::Condition => {
                let before = row.wrong_count();
                match row.change(index, Aspect::Value, |item, _| condition(item.text)) {
                    Change::Set(Some(condition)) => piece.condition = condition,
                    _ if known || row.wrong_count() > before => {}
                    _ => row.wrong(
                        field.key,
                        Error::input("the condition of a new piece is not given")
                            .hint("write `new`, `used` or `machined`"),
                    ),
                }
            }
            Of::InHand => {
                if let Change::Set(in_hand) =
                    row.change(index, Aspect::Value, |item, _| yes_or_no(item.text))
                {
                    piece.in_hand = in_hand.unwrap_or(true);
                }
            }
            Of::Notes => row.text(index, &mut piece.notes),
        }
    }
}

/// A condition in a cell.
pub(super) fn condition(text: &str) -> Result<Condition> {
    Condition::from_word(&text.trim().to_ascii_lowercase()).ok_or_else(|| {
        Error::input(format!("`{}` is no condition of a piece", text.trim()))
            .hint("write `new`, `used` or `machined`")
    })
}

fn yes_or_no(text: &str) -> Result<bool> {
    <bool as Word>::from_word(&text.trim().to_ascii_lowercase()).ok_or_else(|| {
        Error::input(format!("`{}` is neither yes nor no", text.trim()))
            .hint("write `yes`, or `no` where the piece is gone")
    })
}

/// The cell of a piece under one of the form's columns.
pub(super) fn cell(piece: &Specimen, what: Of) -> String {
    match what {
        Of::Part => piece.part.clone(),
        Of::Label => piece.label.clone(),
        Of::Condition => piece.condition.word().into(),
        Of::InHand => piece.in_hand.word().into(),
        Of::Notes => piece.notes.clone(),
    }
}
