//! A CSV file's text as records of cells, and back.
//!
//! The `csv` crate does both. It forgives a quote that is never closed, which would swallow the
//! rest of the file without a word, and text behind a closing quote; here both are errors. Nor does
//! it tell which cells were quoted, and those keep the spaces around them.

use csv::{QuoteStyle, ReaderBuilder, StringRecord, WriterBuilder};

use crate::error::{Error, Result};

/// One record and the line on which it begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Record {
    /// The line, from 1.
    pub(super) line: usize,
    /// The cells: as they were quoted, or without surrounding spaces where they were not.
    pub(super) cells: StringRecord,
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

/// Splits a whole file, whose byte order mark is taken off already.
pub(super) fn split(text: &str, separator: u8) -> Split {
    let mut reader = ReaderBuilder::new()
        .delimiter(separator)
        .has_headers(false)
        .flexible(true)
        .from_reader(text.as_bytes());
    let mut split = Split::default();
    let (mut start, mut line) = (0, 1);
    for read in reader.records() {
        let cells = match read {
            Ok(cells) => cells,
            Err(error) => {
                split.errors.push((line, Error::input(error.to_string())));
                break;
            }
        };
        let byte = cells.position().and_then(|position| usize::try_from(position.byte()).ok());
        // The crate's position is where the record before ended, and its line counts no `\r`:
        // the record itself begins behind the line ends that follow.
        let raw = text[byte.unwrap_or(start)..].trim_start_matches(['\r', '\n']);
        let begins = text.len() - raw.len();
        line += line_ends(&text[start..begins]);
        start = begins;
        match strict(&cells, raw, line) {
            Ok(cells) => split.records.push(Record { line, cells }),
            Err(error) => split.errors.push((line, error)),
        }
    }
    split.records.retain(|record| !record.is_blank());
    split
}

fn line_ends(text: &str) -> usize {
    text.matches(['\r', '\n']).count() - text.matches("\r\n").count()
}

/// The cells of the record with which `raw` begins, on this line, as [`Record`] has them.
fn strict(cells: &StringRecord, raw: &str, line: usize) -> Result<StringRecord> {
    const HINT: &str = "inside a quoted cell a quote is written twice";
    let mut strict = StringRecord::new();
    let mut wrong = None;
    let mut at = 0;
    for cell in cells {
        if let Some(body) = raw[at..].strip_prefix('"') {
            let Some(length) = closing_quote(body) else {
                let opened = line + line_ends(&raw[..at]);
                let message = format!("a quote opened on line {opened} is never closed");
                return Err(Error::input(message).hint(HINT));
            };
            let doubled = body[..length].matches("\"\"").count();
            let (cell, stray) = cell.split_at(length - doubled);
            if !stray.trim().is_empty() && wrong.is_none() {
                let message = format!("`{}` stands behind a closing quote", stray.trim());
                wrong = Some(Error::input(message).hint(HINT));
            }
            strict.push_field(cell);
            at += 1 + length + 1 + stray.len();
        } else {
            strict.push_field(cell.trim());
            at += cell.len();
        }
        at += 1;
    }
    wrong.map_or(Ok(strict), Err)
}

/// Where the first quote stands that is not doubled.
fn closing_quote(body: &str) -> Option<usize> {
    let mut quotes = body.match_indices('"').map(|(at, _)| at).peekable();
    while let Some(at) = quotes.next() {
        if quotes.next_if_eq(&(at + 1)).is_none() {
            return Some(at);
        }
    }
    None
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
        let row = |record: &Record| record.cells.iter().map(String::from).collect();
        split.records.iter().map(row).collect()
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
        let split = split("a,b\n\n\"x\ny\",1\n2,3\n", b',');
        let lines: Vec<usize> = split.records.iter().map(|record| record.line).collect();
        assert_eq!(lines, [1, 3, 5]);
        let split = super::split("a,b\r\n\r\n\"x\r\ny\",1\r\n2,3\r4,5\r,\r6,7", b',');
        let lines: Vec<usize> = split.records.iter().map(|record| record.line).collect();
        assert_eq!(lines, [1, 3, 5, 6, 8]);
    }

    #[test]
    fn a_quote_that_is_never_closed_and_text_behind_one_are_errors() {
        let open = split("a,b\n1,\"x\n2,y\n", b',');
        assert!(open.errors[0].1.to_string().contains("line 2 is never closed"));
        let later = split("a,b\n\"1\n2\",\"x\"\"\n2,y\n", b',');
        assert_eq!((later.errors[0].0, later.records.len()), (2, 1));
        assert!(later.errors[0].1.to_string().contains("line 3 is never closed"));
        let stray = split("a,b\n\"1/4\" in,x\n2,y\n", b',');
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
