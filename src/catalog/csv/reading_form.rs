//! The columns of a set of readings.

use jiff::civil::Date;

use super::again::{Cells, agree};
use super::cells::{Cell, Row, Wrongs, amount};
use super::field::{Content, Field, Member, member};
use super::form::{Columns as _, RecordForm};
use super::mark::Mark;
use super::values::{read_values, show_values};
use crate::error::{Error, Result};
use crate::model::kinds::{DimSpec, Quantity};
use crate::model::length::Length;
use crate::model::part::{Entry, check_value};
use crate::model::pieces::{Condition, ReadingSet};
use crate::model::sides::{Side, less_bar};

/// A set of readings as a row has it.
#[derive(Debug)]
pub(in crate::catalog) struct ReadingRow {
    pub(in crate::catalog) set: ReadingSet,
    /// The dimension that was read.
    pub(super) spec: &'static DimSpec,
    /// The piece's condition, which stands beside its readings so that the file can be taken into a
    /// catalog that has not seen the piece; none where the row does not say it.
    pub(super) condition: Option<Condition>,
    /// The readings as they were written, nm: over their bar, and what they say of the side.
    written: Option<(Vec<i64>, Side)>,
}

impl ReadingRow {
    pub(in crate::catalog) fn new(
        set: ReadingSet,
        spec: &'static DimSpec,
        condition: Option<Condition>,
    ) -> Self {
        Self { set, spec, condition, written: None }
    }
}

/// The form of a set of readings.
pub(in crate::catalog) fn form() -> RecordForm<ReadingRow> {
    let trimmed = |cell: &Cell<'_>, _: Mark| Ok(cell.text.trim().to_string());
    RecordForm {
        fields: vec![
            Field::name("part", "the part number", |row: &ReadingRow| row.set.part.clone()),
            Field::name("piece", "the piece's label", |row: &ReadingRow| row.set.piece.clone()),
            Field::optional(
                "condition",
                "new, used or machined: of a piece that is not there yet, which it makes",
                member!(ReadingRow, condition),
                |cell, _| super::piece_form::condition(cell.text),
                |condition, _| condition.word().into(),
            ),
            Field::name(
                "dimension",
                "the dimension's key, such as `thickness`",
                |row: &ReadingRow| row.set.dimension.clone(),
            ),
            // A value without a tolerance: what it is worth follows from the instrument and the
            // scatter.
            Field::of_many(
                "value",
                "one reading, or several such as `2.394 2.396 2.395 in`",
                member!(ReadingRow, written),
                |row, cell, mark| read_values(row.spec, cell, mark).map(Some),
                |row, unit| show_values(row.spec, &row.set, unit),
            )
            .edge(),
            Field::optional(
                "bar",
                "thickness of the bar or hub that it was taken over: taken off",
                member!(ReadingRow, set.bar),
                |cell, mark| amount(cell, mark).map(Length::from_nm),
                Length::exact,
            )
            .edge(),
            Field::optional(
                "instrument",
                "the instrument's name",
                member!(ReadingRow, set.instrument),
                trimmed,
                |name, _| name,
            ),
            Field::text("by", "who measured", member!(ReadingRow, set.by)),
            Field::or(
                "date",
                "the day, such as 2026-03-31",
                member!(ReadingRow, set.date),
                Some(String::new()),
                |cell, _| day(cell.text),
                |date, _| date,
            )
            .of(Content::Day),
            Field::optional(
                "struck",
                "why the readings count no more; blank: they count",
                member!(ReadingRow, set.struck),
                trimmed,
                |why, _| why,
            )
            .of(Content::Words),
        ],
    }
}

/// A set made again from the cells that the history has of it.
///
/// # Errors
///
/// Names the columns that this program does not know any more, and values that cannot be.
pub(in crate::catalog) fn read_again(
    set: ReadingSet,
    spec: &'static DimSpec,
    cells: &Cells,
) -> Result<ReadingSet> {
    let form = form();
    let mut again = form.again(ReadingRow::new(set, spec, None), cells)?;
    agree(settle(&mut again))?;
    Ok(again.set)
}

/// Takes the bar off what was written, and checks it. Returns what is wrong.
fn settle(read: &mut ReadingRow) -> Wrongs {
    let mut wrongs = Wrongs::new();
    let ReadingRow { set, spec, written, .. } = read;
    let (values, side) = written.take().unwrap_or((Vec::new(), Side::Unsaid));
    set.values = values;
    if set.values.is_empty() {
        let error = Error::input(format!("there is no reading of `{}`", spec.key))
            .hint("write one, or several such as `2.394 2.396 2.395 in`");
        wrongs.push(("value".into(), error));
    }
    if let Some(bar) = set.bar.take() {
        let less =
            |value: &i64| less_bar(Length::from_nm(*value), side, bar, spec.sides).map(Length::nm);
        if spec.quantity == Quantity::Length {
            match set.values.iter().map(less).collect() {
                Ok(values) => {
                    set.values = values;
                    set.bar = (bar > Length::ZERO).then_some(bar);
                }
                Err(error) => wrongs.push(("bar".into(), error)),
            }
        } else {
            wrongs.push(("bar".into(), Error::input(format!("`{}` is no length", spec.key))));
        }
    }
    wrongs
}

/// Reads a row onto a set that says where it belongs. What is unusual but possible is returned, what is
/// wrong is noted in the row.
pub(super) fn read(
    form: &RecordForm<ReadingRow>,
    row: &mut Row<'_>,
    read: &mut ReadingRow,
) -> Vec<String> {
    let before = row.wrong_count();
    form.read(row, read);
    if row.wrong_count() > before {
        return Vec::new();
    }
    for (column, error) in settle(read) {
        row.wrong(column, error);
    }
    let ReadingRow { set, spec, .. } = read;
    let at = form.column("value").map_or(0, |column| column.field);
    let mut warnings = Vec::new();
    for value in &set.values {
        match check_value(spec, Entry::new(*value, None)) {
            Ok(warning) => warnings.extend(warning),
            Err(error) => row.wrong(row.column_of(at, "value"), error),
        }
    }
    warnings
}

/// A day of the calendar, written the one way in which days sort.
pub(super) fn day(text: &str) -> Result<String> {
    let text = text.trim();
    match text.parse::<Date>() {
        Ok(date) if date.to_string() == text => Ok(date.to_string()),
        _ => Err(Error::input(format!("`{text}` is no day of the calendar"))
            .hint("write year, month and day, such as 2026-03-31")),
    }
}
