//! Splitting a CSV file into records of cells, and quoting a cell.
//!
//! This is RFC 4180 read strictly: a quote that is never closed would otherwise swallow the rest of
//! the file without a word. Each record keeps its line.

use std::borrow::Cow;
use std::fmt::Write as _;

use crate::error::Error;

/// One cell: as it was quoted, or without surrounding spaces where it was not.
type Cell<'a> = Cow<'a, str>;

/// One record and the line on which it begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Record<'a> {
    /// The line, from 1.
    pub(super) line: usize,
    /// The cells.
    pub(super) cells: Vec<Cow<'a, str>>,
}

impl Record<'_> {
    /// Whether nothing is written in it: an empty line, or one of separators only.
    pub(super) fn is_blank(&self) -> bool {
        self.cells.iter().all(|cell| cell.trim().is_empty())
    }
}

/// A file split into records that are not blank, and the lines that could not be split.
#[derive(Debug, Default)]
pub(super) struct Split<'a> {
    pub(super) records: Vec<Record<'a>>,
    pub(super) errors: Vec<(usize, Error)>,
}

/// The separator of a file: that of comma and semicolon which its first line has more of.
pub(super) fn separator(text: &str) -> u8 {
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
    if semicolons > commas { b';' } else { b',' }
}

/// Splits a whole file.
pub(super) fn split(text: &str, separator: u8) -> Split<'_> {
    let mut scan = Scan { text, separator, at: 0, line: 1 };
    let mut split = Split::default();
    while scan.at < text.len() {
        let line = scan.line;
        match scan.record() {
            Ok(cells) => {
                let record = Record { line, cells };
                if !record.is_blank() {
                    split.records.push(record);
                }
            }
            Err(error) => split.errors.push((line, error)),
        }
    }
    split
}

struct Scan<'a> {
    text: &'a str,
    separator: u8,
    at: usize,
    line: usize,
}

impl<'a> Scan<'a> {
    fn peek(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    fn record(&mut self) -> Result<Vec<Cell<'a>>, Error> {
        let mut cells = Vec::new();
        let mut wrong = None;
        loop {
            let cell = if self.peek() == Some(b'"') { self.quoted()? } else { self.bare() };
            let stray = self.bare();
            if !stray.is_empty() && wrong.is_none() {
                wrong = Some(
                    Error::input(format!("`{stray}` stands behind a closing quote"))
                        .hint("inside a quoted cell a quote is written twice"),
                );
            }
            cells.push(cell);
            if self.peek() != Some(self.separator) {
                break;
            }
            self.at += 1;
        }
        self.line_end();
        wrong.map_or(Ok(cells), Err)
    }

    /// What stands before the next separator or line end.
    fn bare(&mut self) -> Cell<'a> {
        let rest = &self.text[self.at..];
        let ends = |byte: &u8| *byte == self.separator || matches!(byte, b'\n' | b'\r');
        let length = rest.as_bytes().iter().position(ends).unwrap_or(rest.len());
        self.at += length;
        Cow::Borrowed(rest[..length].trim())
    }

    fn quoted(&mut self) -> Result<Cell<'a>, Error> {
        self.at += 1;
        let start = self.at;
        let opened = self.line;
        let mut doubled = false;
        loop {
            match self.peek() {
                None => {
                    return Err(Error::input(format!(
                        "a quote opened on line {opened} is never closed"
                    ))
                    .hint("inside a quoted cell a quote is written twice"));
                }
                Some(b'"') if self.text.as_bytes().get(self.at + 1) == Some(&b'"') => {
                    doubled = true;
                    self.at += 2;
                }
                Some(b'"') => break,
                Some(b'\n') => {
                    self.line += 1;
                    self.at += 1;
                }
                Some(_) => self.at += 1,
            }
        }
        let body = &self.text[start..self.at];
        self.at += 1;
        Ok(if doubled { body.replace("\"\"", "\"").into() } else { Cow::Borrowed(body) })
    }

    fn line_end(&mut self) {
        if self.peek() == Some(b'\r') {
            self.at += 1;
            if self.peek() == Some(b'\n') {
                self.at += 1;
            }
        } else if self.peek() == Some(b'\n') {
            self.at += 1;
        }
        self.line += 1;
    }
}

/// Writes one record, each cell quoted where it has to be to come back as it is.
pub(super) fn write_record<'a>(out: &mut String, cells: impl IntoIterator<Item = Cow<'a, str>>) {
    for (index, cell) in cells.into_iter().enumerate() {
        if index > 0 {
            out.push(',');
        }
        let special = cell.contains([',', ';', '"', '\n', '\r']) || cell.trim() != cell;
        if special {
            // Writing to a string cannot fail.
            let _ = write!(out, "\"{}\"", cell.replace('"', "\"\""));
        } else {
            out.push_str(&cell);
        }
    }
    out.push('\n');
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cells(text: &str) -> Vec<Vec<String>> {
        let split = split(text, separator(text));
        assert!(split.errors.is_empty(), "{:?}", split.errors);
        let row = |record: Record<'_>| record.cells.into_iter().map(Cow::into_owned).collect();
        split.records.into_iter().map(row).collect()
    }

    #[test]
    fn quotes_line_ends_and_blanks_follow_the_standard() {
        assert_eq!(cells("a,b\r\n\"1,\n2\",\"\"\"x\"\"\"\r\n"), [["a", "b"], ["1,\n2", "\"x\""]]);
        assert_eq!(cells("a;b;c\n1,5;; 2 \n"), [["a", "b", "c"], ["1,5", "", "2"]]);
        assert_eq!(cells("a,b\n,\n\n1,\" 2 \""), [["a", "b"], ["1", " 2 "]]);
        assert_eq!(cells("a,b\r1,2\r"), [["a", "b"], ["1", "2"]]);
        assert_eq!(cells("a,b\n1-1/8\",2"), [["a", "b"], ["1-1/8\"", "2"]]);
        assert_eq!(cells("a,b\n1,"), [["a", "b"], ["1", ""]]);
    }

    #[test]
    fn a_record_keeps_the_line_on_which_it_begins() {
        let split = split("a,b\n\n\"x\ny\",1\n2,3\n", b',');
        let lines: Vec<usize> = split.records.iter().map(|record| record.line).collect();
        assert_eq!(lines, [1, 3, 5]);
    }

    #[test]
    fn a_quote_that_is_never_closed_and_text_behind_one_are_errors() {
        let open = split("a,b\n1,\"x\n2,y\n", b',');
        assert!(open.errors[0].1.to_string().contains("line 2 is never closed"));
        let stray = split("a,b\n\"1/4\" in,x\n2,y\n", b',');
        assert_eq!(stray.errors[0].0, 2);
        assert_eq!(stray.records.len(), 2);
    }

    #[test]
    fn a_written_record_reads_back() {
        let row = ["=1+1", "a,b", "say \"x\"", "two\nlines", " space", "", "\u{e9};"];
        let mut text = String::new();
        write_record(&mut text, row.map(Cow::Borrowed));
        assert_eq!(cells(&format!("a,b,c,d,e,f,g\n{text}"))[1], row);
    }
}
