//! The columns of a piece.

use super::cells::{Cell, Row};
use super::field::{Field, Member, member};
use super::form::{Columns as _, RecordForm};
use super::mark::Mark;
use crate::error::{Error, Result};
use crate::model::job::Word as _;
use crate::model::pieces::{Condition, Specimen};

/// What a column of conditions means.
const CONDITION: &str = "new, used (run in) or machined; pieces of different condition are never \
                         averaged";

/// The form of a piece.
pub(in crate::catalog) fn form() -> RecordForm<Specimen> {
    RecordForm {
        fields: vec![
            Field::name("part", "the part number that it is a piece of", |piece: &Specimen| {
                piece.part.clone()
            }),
            Field::name(
                "piece",
                "the shop's own mark on it, such as A or 3",
                |piece: &Specimen| piece.label.clone(),
            ),
            Field::or(
                "condition",
                CONDITION,
                member!(Specimen, condition),
                None,
                |cell, _| condition(cell.text),
                |condition, _| condition.word().into(),
            ),
            Field::or(
                "in_hand",
                "yes, or no where it is sold or scrapped; blank is yes",
                member!(Specimen, in_hand),
                Some(true),
                yes_or_no,
                |in_hand, _| in_hand.word().into(),
            ),
            Field::text("notes", "anything else", member!(Specimen, notes)),
        ],
    }
}

/// Reads a row onto a piece. Of one that is not `known` yet the condition has to be told, since nothing
/// can stand in for it.
pub(super) fn read(
    form: &RecordForm<Specimen>,
    row: &mut Row<'_>,
    piece: &mut Specimen,
    known: bool,
) {
    form.read(row, piece);
    let told = form.column("condition").is_some_and(|column| row.fills(column.field));
    if !known && !told {
        row.wrong(
            "condition",
            Error::input("the condition of a new piece is not given")
                .hint("write `new`, `used` or `machined`"),
        );
    }
}

/// A condition in a cell.
pub(super) fn condition(text: &str) -> Result<Condition> {
    Condition::from_word(&text.trim().to_ascii_lowercase()).ok_or_else(|| {
        Error::input(format!("`{}` is no condition of a piece", text.trim()))
            .hint("write `new`, `used` or `machined`")
    })
}

fn yes_or_no(cell: &Cell<'_>, _: Mark) -> Result<bool> {
    let text = cell.text.trim();
    bool::from_word(&text.to_ascii_lowercase()).ok_or_else(|| {
        Error::input(format!("`{text}` is neither yes nor no"))
            .hint("write `yes`, or `no` where the piece is gone")
    })
}
