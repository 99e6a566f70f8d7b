//! The columns of a house number.

use super::field::{Field, Member, member};
use super::form::RecordForm;
use crate::model::house::Setting;

/// The form of a house number.
pub(super) fn form() -> RecordForm<Setting> {
    RecordForm {
        fields: vec![
            Field::name("key", "the number's key, such as `reserve_margin`", |row: &Setting| {
                row.key.clone()
            }),
            Field::text(
                "value",
                "the value with its unit; blank goes back to the default",
                member!(Setting, value),
            ),
            Field::fixed("meaning", "what it is, for people", |row: &Setting| row.about.clone()),
        ],
    }
}
