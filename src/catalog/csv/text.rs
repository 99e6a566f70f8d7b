//! Splitting text into cells and writing it again.
//!
//! Reading follows RFC 4180 and forgives less than most readers do: a quote that is never closed would
//! swallow the rest of the file without a word, and text behind a closing quote is a slip. A quoted cell
//! is kept as it was quoted; around one without quotes, spaces mean nothing.

use csv::{QuoteStyle, WriterBuilder};

use crate::error::{Error, Result};

/// One record and the line on which it begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Record {
    /// The line, from 1.
    pub(super) line: usize,
    /// The cells: as they were quoted, or without surrounding spaces where they were not.
    pub(super) cells: Vec<String>,
}

impl Record {
    /// Whether nothing is written in it: separators only.
    fn is_blank(&self) -> bool {
        self.cells.iter().all(|cell| cell.trim().is_empty())
    }
}

/// A file split into records that are not blank, and the lines that could not be split.
#[derive(Debug, Default)]
pub(super) struct Split {
    pub(super) records: Vec<Record>,
    pub(super) errors: Vec<(usize, Error)>,
}

/// The separator of a file: that of comma and semicolon which its first line has more of.
pub(super) fn separator(text: &str) -> char {
    let (mut commas, mut semicolons, mut quoted) = (0_usize, 0_usize, false);
    for byte in text.trim_start().bytes() {
        match byte {
            b'"' => quoted = !quoted,
            b'\n' | b'\r' if !quoted => break,
            b',' if !quoted => commas += 1,
            b';' if !quoted => semicolons += 1,
            _ => {}
        }
    }
    if semicolons > commas { ';' } else { ',' }
}

/// Splits a whole file, whose byte order mark is taken off already.
pub(super) fn split(text: &str, separator: char) -> Split {
    let mut rest = Rest { text, line: 1, separator };
    let mut split = Split::default();
    while !rest.text.is_empty() {
        let line = rest.line;
        match rest.record() {
            Ok(cells) => split.records.push(Record { line, cells }),
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
    let mut bytes = Vec::new();
    for cells in records {
        // Only quotes keep the spaces around a cell, and the crate quotes all of a record or what
        // has to be.
        let spaced = cells.iter().any(|cell| cell.trim() != cell);
        let style = if spaced { QuoteStyle::Always } else { QuoteStyle::Necessary };
        let mut writer = WriterBuilder::new().quote_style(style).from_writer(&mut bytes);
        // Writing one record to memory cannot fail.
        let _ = writer.write_record(cells);
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(text: &str) -> Vec<Vec<String>> {
        let split = split(text, separator(text));
        assert!(split.errors.is_empty(), "{:?}", split.errors);
        split.records.into_iter().map(|record| record.cells).collect()
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
        let split = split("a,b\n\n\"x\ny\",1\n2,3\n", ',');
        let lines: Vec<usize> = split.records.iter().map(|record| record.line).collect();
        assert_eq!(lines, [1, 3, 5]);
        let split = super::split("a,b\r\n\r\n\"x\r\ny\",1\r\n2,3\r4,5\r,\r6,7", ',');
        let lines: Vec<usize> = split.records.iter().map(|record| record.line).collect();
        assert_eq!(lines, [1, 3, 5, 6, 8]);
    }

    #[test]
    fn a_quote_that_is_never_closed_and_text_behind_one_are_errors() {
        let open = split("a,b\n1,\"x\n2,y\n", ',');
        assert!(open.errors[0].1.to_string().contains("line 2 is never closed"));
        let later = split("a,b\n\"1\n2\",\"x\"\"\n2,y\n", ',');
        assert_eq!((later.errors[0].0, later.records.len()), (2, 1));
        assert!(later.errors[0].1.to_string().contains("line 3 is never closed"));
        let stray = split("a,b\n\"1/4\" in,x\n2,y\n", ',');
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
