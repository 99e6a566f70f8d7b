//! Everything that is wrong in the files of one import, worded once at the end.

use std::collections::{BTreeMap, HashSet};
use std::fmt::Write as _;
use std::iter::once;
use std::path::Path;

use super::text::join;
use crate::catalog::disk::{Workshop, around, plain};
use crate::error::{Error, Result, cut};
use crate::model::agreed::Doubt;
use crate::model::words::{count, plural};

/// How many bad rows are told in full, and how much of each.
const ROWS: usize = 20;
const IN_A_ROW: usize = 5;

/// How many characters of a problem are told, and of a column's name.
const LONGEST: usize = 300;
const LONGEST_NAME: usize = 60;

/// How many problems are worked out, such as which name was meant. Whoever has more of them has
/// another question.
const WORKED_OUT: usize = 1000;

/// How many problems are held; the rows beyond are counted.
const HELD: usize = 100_000;

/// One thing that is wrong.
#[derive(Debug, Clone)]
struct Problem {
    file: usize,
    line: usize,
    column: Option<String>,
    error: Error,
}

/// What is wrong, by file and line.
#[derive(Debug, Clone, Default)]
pub(super) struct Problems {
    held: Vec<Problem>,
    rows: HashSet<(usize, usize)>,
    more: usize,
    /// Nothing is wrong but for what was not agreed to.
    only_asked: bool,
}

impl Problems {
    /// Notes something wrong in a row.
    pub(super) fn add(&mut self, file: usize, line: usize, column: Option<&str>, error: Error) {
        self.rows.insert((file, line));
        if self.held.len() == HELD {
            self.more += 1;
            return;
        }
        let column = column.map(|name| cut(name, LONGEST_NAME));
        let error = error.map(|text| cut(&text, LONGEST));
        self.held.push(Problem { file, line, column, error });
    }

    pub(super) fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Whether there are so many that what else is wrong is told without working out what was meant.
    pub(super) fn are_many(&self) -> bool {
        self.held.len() >= WORKED_OUT
    }

    /// Adds what is wrong elsewhere.
    pub(super) fn extend(&mut self, others: Self) {
        self.rows.extend(others.rows);
        self.more += others.more;
        self.held.extend(others.held);
        self.more += self.held.len().saturating_sub(HELD);
        self.held.truncate(HELD);
    }

    /// Adds what may be meant in two ways, each with what agrees to it.
    pub(super) fn ask(&mut self, questions: &[Doubt]) {
        self.only_asked = self.is_empty();
        for question in questions {
            let (word, does) = (question.topic.word(), question.topic.does());
            let error = Error::input(&question.text).hint(format!("`--agree {word}` {does}"));
            self.add(question.file, question.line, question.column.as_deref(), error);
        }
    }

    /// What is wrong, by table and line, in words.
    pub(super) fn reasons(&self) -> BTreeMap<(usize, usize), Vec<String>> {
        let mut reasons: BTreeMap<_, Vec<String>> = BTreeMap::new();
        for problem in &self.held {
            let column = problem.column.as_ref().map(|name| format!("{name}: "));
            let text = format!("{}{}", column.unwrap_or_default(), problem.error.one_line());
            reasons.entry((problem.file, problem.line)).or_default().push(text);
        }
        reasons
    }

    /// One error for all of it: the first rows in full, then how many more there are. With `list` every
    /// one that is held is written into that file.
    pub(super) fn into_error(mut self, files: &[String], list: Option<&Path>) -> Error {
        self.held.sort_by_key(|problem| (problem.file, problem.line));
        let rows = self.rows.len();
        let noun = if self.only_asked { "doubtful row" } else { "bad row" };
        // A lone mistake is said in one line.
        let alone = self.held.len() == 1;
        let mut message = if alone {
            "nothing was stored:".to_string()
        } else {
            format!("nothing was stored: {}", count(rows as u128, noun))
        };
        let before = if alone { " " } else { "\n  " };
        let of_rows = self.held.chunk_by(|a, b| (a.file, a.line) == (b.file, b.line));
        for of_row in of_rows.take(ROWS) {
            for problem in &of_row[..of_row.len().min(IN_A_ROW)] {
                let name = problem.file(files);
                let column = problem.column.as_ref().map(|name| format!(" column `{name}`"));
                let (line, error) = (problem.line, problem.error.one_line());
                let column = column.unwrap_or_default();
                // Writing to a string cannot fail.
                let _ = write!(message, "{before}{name} line {line}{column}: {error}");
            }
            if let Some(more @ 1..) = of_row.len().checked_sub(IN_A_ROW) {
                let (name, line) = (of_row[0].file(files), of_row[0].line);
                let _ = write!(message, "{before}{name} line {line}: and {more} more in this row");
            }
        }
        if let Some(more @ 1..) = rows.checked_sub(ROWS) {
            let _ = write!(message, "\n  and {more} more {}", plural(more as u128, noun));
        }
        let Some(list) = list else {
            let error = Error::input(message);
            let all = "`--problems FILE` writes all of them into a file";
            return if rows > ROWS { error.hint(all) } else { error };
        };
        match self.write(files, list) {
            Ok(()) => Error::input(message).hint(format!("all are listed in `{}`", list.display())),
            Err(error) => {
                let _ = write!(message, "\n  {}", error.one_line());
                Error::input(message)
            }
        }
    }

    /// Writes a list of all that is held, as CSV.
    fn write(&self, files: &[String], list: &Path) -> Result<()> {
        let header = ["file", "line", "column", "problem", "hint"].map(String::from).to_vec();
        let row = |problem: &Problem| {
            vec![
                problem.file(files).to_string(),
                problem.line.to_string(),
                problem.column.clone().unwrap_or_default(),
                problem.error.message().to_string(),
                problem.error.advice().unwrap_or_default().to_string(),
            ]
        };
        let more = (self.more > 0).then(|| {
            let more = format!("and {} more that are not listed", self.more);
            vec![String::new(), String::new(), String::new(), more, String::new()]
        });
        let text = join(once(header).chain(self.held.iter().map(row)).chain(more));
        let name = list.file_name().unwrap_or_default();
        let put = || -> std::io::Result<bool> {
            let workshop = Workshop::in_directory(around(list))?;
            workshop.write(name, text.as_bytes())?;
            workshop.place_if_free(Path::new(name), list)
        };
        let shown = list.display();
        match put() {
            Ok(true) => Ok(()),
            Ok(false) => Err(Error::input(format!("`{shown}` is there already"))
                .hint("no list was written: give another file")),
            Err(error) => {
                let why = plain(&error);
                Err(Error::storage(format!("the list `{shown}` cannot be written: {why}")))
            }
        }
    }
}

impl Problem {
    fn file<'f>(&self, files: &'f [String]) -> &'f str {
        files.get(self.file).map_or("", String::as_str)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn twenty_rows_are_told_in_full_and_the_rest_counted() {
        let mut problems = Problems::default();
        for line in (2..25).rev() {
            problems.add(0, line, Some("price"), Error::input("is wrong").hint("write it right"));
            problems.add(0, line, None, Error::input("is wrong too"));
        }
        let text = problems.into_error(&["x.csv".into()], None).to_string();
        assert!(text.starts_with("nothing was stored: 23 bad rows\n"), "{text}");
        assert!(text.contains("x.csv line 2 column `price`: is wrong; write it right\n"), "{text}");
        assert!(text.contains("line 21: is wrong too") && !text.contains("line 22"), "{text}");
        assert!(text.contains("\n  and 3 more bad rows\n  hint: `--problems FILE`"), "{text}");
    }

    #[test]
    fn what_is_told_of_a_row_and_of_a_cell_has_an_end() {
        let mut problems = Problems::default();
        let long = "x".repeat(1000);
        for _ in 0..100_001 {
            problems.add(0, 2, Some(&long), Error::input(&long).hint(&long));
        }
        assert_eq!((problems.held.len(), problems.more), (HELD, 1));
        let text = problems.into_error(&["x.csv".into()], None).to_string();
        assert!(text.len() < 5000, "{}", text.len());
        assert!(text.ends_with("line 2: and 99995 more in this row"), "{text}");
    }

    #[test]
    fn all_problems_are_listed_in_a_file_where_asked() {
        let dir = tempfile::tempdir().unwrap();
        let list = dir.path().join("problems.csv");
        let mut problems = Problems::default();
        for line in 2..40 {
            problems.add(
                0,
                line,
                Some("price"),
                Error::input("is \"wrong\"").hint("write it right"),
            );
        }
        let error = problems.into_error(&["x.csv".into()], Some(&list));
        assert!(error.advice().is_some_and(|hint| hint.contains("problems.csv")), "{error}");
        let text = std::fs::read_to_string(&list).unwrap();
        assert_eq!(text.lines().count(), 39);
        assert!(text.contains("\nx.csv,39,price,\"is \"\"wrong\"\"\",write it right\n"), "{text}");
        let mut problems = Problems::default();
        problems.add(0, 2, None, Error::input("is wrong"));
        let error = problems.into_error(&["x.csv".into()], Some(&list)).to_string();
        assert!(error.contains("problems.csv` is there already"), "{error}");
        assert_eq!(std::fs::read_to_string(&list).unwrap(), text);
    }
}
