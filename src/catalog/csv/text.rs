//! Splitting text into cells and writing it again.
//!
//! Reading follows RFC 4180 and forgives less than most readers do: a quote that is never closed would
//! swallow the rest of the file without a word, and text behind a closing quote is a slip. A quoted cell
//! is kept as it was quoted; around one without quotes, spaces mean nothing.

use csv::{QuoteStyle, WriterBuilder};

use super::record::{Record, Typed};
use crate::error::{Error, Result};

/// A file split into records that are not blank, and the lines that could not be split.
#[derive(Debug, Default)]
pub(super) struct Split {
    pub(super) records: Vec<Record>,
    pub(super) errors: Vec<(usize, Error)>,
}

/// How a text is laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Layout {
    /// What stands between two cells.
    pub(super) separator: char,
    /// How many bytes at the beginning say only that.
    told: usize,
}

/// What may separate cells; of two that would do as well the first is meant.
const SEPARATORS: [char; 3] = [',', ';', '\t'];

/// How many records are looked at to find out what separates their cells.
const LOOKED_AT: usize = 40;

impl Layout {
    /// The layout that a first line `sep=;` says, or that most of the first rows agree on.
    pub(super) fn of(text: &str) -> Self {
        let line = text.split(['\r', '\n']).next().unwrap_or_default();
        let bare = line.trim_end_matches([',', ';', '\t']).trim().trim_matches('"');
        let head: Option<&str> = line.trim_start_matches('"').get(..4);
        if head.is_some_and(|head| head.eq_ignore_ascii_case("sep=")) && bare.len() <= 5 {
            let said = line.trim_start_matches('"').chars().nth(4);
            if let Some(separator) = said.filter(|said| SEPARATORS.contains(said)) {
                let rest = &text[line.len()..];
                let end = if rest.starts_with("\r\n") { 2 } else { usize::from(!rest.is_empty()) };
                return Self { separator, told: line.len() + end };
            }
        }
        Self { separator: separator(text), told: 0 }
    }

    /// What of a text is its rows.
    pub(super) fn rest(self, text: &str) -> &str {
        &text[self.told..]
    }
}

/// The separator that the most of the first rows have equally often; where rows do not tell, the one
/// that the first row with any has more of.
fn separator(text: &str) -> char {
    let mut rows: Vec<[usize; 3]> = Vec::new();
    let (mut row, mut quoted, mut opens) = ([0; 3], false, true);
    for c in text.chars() {
        let at = SEPARATORS.iter().position(|separator| *separator == c);
        match (c, at) {
            ('"', _) => quoted = quoted != (quoted || opens),
            ('\n' | '\r', _) if !quoted => {
                if row != [0; 3] {
                    rows.push(row);
                }
                if rows.len() == LOOKED_AT {
                    break;
                }
                row = [0; 3];
            }
            (_, Some(at)) if !quoted => row[at] += 1,
            _ => {}
        }
        // A quote behind a closing one is a quote in the cell: it is open again.
        opens = at.is_some() || matches!(c, '\n' | '\r') || c == '"' && !quoted;
    }
    if row != [0; 3] {
        rows.push(row);
    }
    let agreeing = |at: usize| {
        let counts = || rows.iter().map(|row| row[at]).filter(|count| *count > 0);
        let alike = counts().map(|count| counts().filter(|other| *other == count).count());
        alike.max().unwrap_or(0)
    };
    let first = rows.first().copied().unwrap_or_default();
    let best = (0..SEPARATORS.len()).max_by_key(|at| (agreeing(*at), first[*at], 3 - *at));
    best.map_or(',', |at| SEPARATORS[at])
}

/// Splits a whole file, whose byte order mark is taken off already.
pub(super) fn split(text: &str, layout: Layout) -> Split {
    let line = if layout.told == 0 { 1 } else { 2 };
    let mut rest = Rest { text, line, separator: layout.separator };
    let mut split = Split::default();
    while !rest.text.is_empty() {
        let line = rest.line;
        match rest.record() {
            Ok(cells) => {
                let cells = cells.into_iter().map(Typed::text).collect();
                split.records.push(Record { line, cells });
            }
            Err(error) => split.errors.push((line, error)),
        }
    }
    split.records.retain(|record| !record.is_blank());
    split
}

/// What is inside a quoted cell.
const HINT: &str = "inside a quoted cell a quote is written twice";

/// What of a file is not read yet.
struct Rest<'t> {
    text: &'t str,
    /// The line on which it begins.
    line: usize,
    separator: char,
}

impl<'t> Rest<'t> {
    /// Reads one record and the end of its line.
    fn record(&mut self) -> Result<Vec<String>> {
        let mut cells = Vec::new();
        let mut wrong = None;
        loop {
            if self.text.starts_with('"') {
                cells.push(self.quoted()?);
                let stray = self.plain();
                if !stray.is_empty() && wrong.is_none() {
                    let message = format!("`{stray}` stands behind a closing quote");
                    wrong = Some(Error::input(message).hint(HINT));
                }
            } else {
                cells.push(self.plain().to_string());
            }
            if let Some(rest) = self.text.strip_prefix(self.separator) {
                self.text = rest;
                continue;
            }
            let end = ["\r\n", "\r", "\n"].iter().find_map(|end| self.text.strip_prefix(*end));
            if let Some(rest) = end {
                self.text = rest;
                self.line += 1;
            }
            return wrong.map_or(Ok(cells), Err);
        }
    }

    /// Takes what stands before the next separator or line end.
    fn plain(&mut self) -> &'t str {
        let end = self.text.find([self.separator, '\r', '\n']).unwrap_or(self.text.len());
        let (cell, rest) = self.text.split_at(end);
        self.text = rest;
        cell.trim()
    }

    /// Takes a quoted cell. One that is never closed takes the rest of the file.
    fn quoted(&mut self) -> Result<String> {
        let opened = self.line;
        let mut cell = String::new();
        let mut rest = &self.text[1..];
        while let Some((part, behind)) = rest.split_once('"') {
            cell.push_str(part);
            self.line += line_ends(part);
            let Some(doubled) = behind.strip_prefix('"') else {
                self.text = behind;
                return Ok(cell);
            };
            cell.push('"');
            rest = doubled;
        }
        self.text = "";
        Err(Error::input(format!("a quote opened on line {opened} is never closed")).hint(HINT))
    }
}

fn line_ends(text: &str) -> usize {
    text.matches(['\r', '\n']).count() - text.matches("\r\n").count()
}

/// A file's text, whose cells come back from [`split`] as they are.
pub(super) fn join(records: impl IntoIterator<Item = Vec<String>>) -> String {
    join_with(b',', records)
}

/// The same with this byte between two cells.
pub(super) fn join_with(separator: u8, records: impl IntoIterator<Item = Vec<String>>) -> String {
    let mut bytes = Vec::new();
    for cells in records {
        // Only quotes keep the spaces around a cell, and the crate quotes all of a record or what
        // has to be.
        let spaced = cells.iter().any(|cell| cell.trim() != cell);
        let style = if spaced { QuoteStyle::Always } else { QuoteStyle::Necessary };
        let mut writer =
            WriterBuilder::new().delimiter(separator).quote_style(style).from_writer(&mut bytes);
        // Writing one record to memory cannot fail.
        let _ = writer.write_record(cells);
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(text: &str) -> Vec<Vec<String>> {
        let layout = Layout::of(text);
        let split = split(layout.rest(text), layout);
        assert!(split.errors.is_empty(), "{:?}", split.errors);
        let texts = |record: Record| record.cells.into_iter().map(|cell| cell.text).collect();
        split.records.into_iter().map(texts).collect()
    }

    const COMMAS: Layout = Layout { separator: ',', told: 0 };

    #[test]
    fn what_separates_the_cells_is_found_out() {
        for (text, separator) in [
            ("a,b\n1,2\n", ','),
            ("a;b;c\n1,5;2,5;3\n2,5;1,5;4\n", ';'),
            ("a\tb\n1,249.00\tx, y, z\n", '\t'),
            ("Our list, as of May\n\na;b;c\n1;2;3\n4;5;6\n", ';'),
            ("a,b\n1,\"x;y;z\"\n2,\"1-1/8\"\" w;v\"\n", ','),
            ("a\nx\n", ','),
            ("", ','),
            ("sep=;\na,b;c\n", ';'),
            ("SEP=\t\r\na,b\r\n", '\t'),
            ("\"sep=;\"\na,b\n", ';'),
        ] {
            assert_eq!(Layout::of(text).separator, separator, "{text:?}");
        }
        assert_eq!(cells("sep=;\r\na;b\r\n1,5;2\r\n"), [["a", "b"], ["1,5", "2"]]);
        let layout = Layout::of("sep=;\na;b\n");
        assert_eq!(split(layout.rest("sep=;\na;b\n"), layout).records[0].line, 2);
    }

    #[test]
    fn quotes_line_ends_and_blanks_follow_the_standard() {
        assert_eq!(cells("a,b\r\n\"1,\n2\",\"\"\"x\"\"\"\r\n"), [["a", "b"], ["1,\n2", "\"x\""]]);
        assert_eq!(cells("a;b;c\n1,5;; 2 \n"), [["a", "b", "c"], ["1,5", "", "2"]]);
        assert_eq!(cells("a,b\n,\n\n1,\" 2 \""), [["a", "b"], ["1", " 2 "]]);
        assert_eq!(cells("a,b\r1,2\r"), [["a", "b"], ["1", "2"]]);
        assert_eq!(cells("a,b\n1-1/8\",2"), [["a", "b"], ["1-1/8\"", "2"]]);
        assert_eq!(cells("a,b\n1,"), [["a", "b"], ["1", ""]]);
        assert_eq!(cells("a,b\n\" \"\"x\"\" \" , \"y\""), [["a", "b"], [" \"x\" ", "\"y\""]]);
    }

    #[test]
    fn a_record_keeps_the_line_on_which_it_begins() {
        let split = split("a,b\n\n\"x\ny\",1\n2,3\n", COMMAS);
        let lines: Vec<usize> = split.records.iter().map(|record| record.line).collect();
        assert_eq!(lines, [1, 3, 5]);
        let split = super::split("a,b\r\n\r\n\"x\r\ny\",1\r\n2,3\r4,5\r,\r6,7", COMMAS);
        let lines: Vec<usize> = split.records.iter().map(|record| record.line).collect();
        assert_eq!(lines, [1, 3, 5, 6, 8]);
    }

    #[test]
    fn a_quote_that_is_never_closed_and_text_behind_one_are_errors() {
        let open = split("a,b\n1,\"x\n2,y\n", COMMAS);
        assert!(open.errors[0].1.to_string().contains("line 2 is never closed"));
        let later = split("a,b\n\"1\n2\",\"x\"\"\n2,y\n", COMMAS);
        assert_eq!((later.errors[0].0, later.records.len()), (2, 1));
        assert!(later.errors[0].1.to_string().contains("line 3 is never closed"));
        let stray = split("a,b\n\"1/4\" in,x\n2,y\n", COMMAS);
        assert_eq!(stray.errors[0].0, 2);
        assert!(stray.errors[0].1.to_string().contains("`in` stands behind"));
        assert_eq!(stray.records.len(), 2);
    }

    #[test]
    fn a_written_record_reads_back() {
        let head = ["a", "b", "c", "d", "e", "f", "g"].map(String::from).to_vec();
        let plain = ["=1+1", "a,b", "say \"x\"", "two\nlines", "\r", "", "\u{e9};"];
        let spaced = ["=1+1", "a,b", "say \"x\"", "two\nlines", " space", "", "tab\t"];
        let records = [head, plain.map(String::from).to_vec(), spaced.map(String::from).to_vec()];
        assert_eq!(cells(&join(records.clone())), records);
    }
}
