//! One row of a table: its line, and its cells as they were typed.

/// What a cell is, beside its text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Sort {
    /// Text, as it was typed.
    #[default]
    Text,
    /// A number of a workbook, written with a decimal point.
    Number,
    /// A date of a workbook, written as year, month and day.
    Date,
    /// What a workbook shows where its own formula failed.
    Fault,
}

/// One cell.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Typed {
    pub(super) text: String,
    pub(super) sort: Sort,
    /// As it was typed, where it is taken for something else.
    pub(super) was: Option<String>,
}

impl Typed {
    pub(super) fn text(text: impl Into<String>) -> Self {
        Self { text: text.into(), ..Self::default() }
    }

    /// The text as it was typed.
    pub(super) fn typed(&self) -> &str {
        self.was.as_deref().unwrap_or(&self.text)
    }

    /// Takes it for another text.
    pub(super) fn take(&mut self, text: String) {
        let typed = std::mem::replace(&mut self.text, text);
        self.was.get_or_insert(typed);
    }

    pub(super) fn is_text(&self) -> bool {
        self.sort == Sort::Text
    }

    pub(super) fn is_blank(&self) -> bool {
        self.text.trim().is_empty()
    }
}

/// One row and the line on which it begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Record {
    /// The line, from 1.
    pub(super) line: usize,
    /// The cells: as they were quoted, or without surrounding spaces where they were not.
    pub(super) cells: Vec<Typed>,
}

impl Record {
    /// Whether nothing is written in it.
    pub(super) fn is_blank(&self) -> bool {
        self.cells.iter().all(Typed::is_blank)
    }

    /// The cells in which something is written.
    pub(super) fn filled(&self) -> impl Iterator<Item = &Typed> {
        self.cells.iter().filter(|cell| !cell.is_blank())
    }

    #[cfg(test)]
    pub(super) fn of_text(line: usize, cells: &[&str]) -> Self {
        Self { line, cells: cells.iter().map(|cell| Typed::text(*cell)).collect() }
    }
}
