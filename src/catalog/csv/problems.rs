//! Everything that is wrong in the files of one import, worded once at the end.

use std::fmt::Write as _;

use crate::error::Error;

/// How many bad rows are reported in full.
const IN_FULL: usize = 20;

/// One thing that is wrong.
#[derive(Debug, Clone)]
struct Problem {
    file: usize,
    line: usize,
    column: Option<String>,
    error: Error,
}

/// What is wrong, by file and line.
#[derive(Debug, Default)]
pub(super) struct Problems(Vec<Problem>);

impl Problems {
    /// Notes something wrong in a row.
    pub(super) fn add(&mut self, file: usize, line: usize, column: Option<&str>, error: Error) {
        self.0.push(Problem { file, line, column: column.map(String::from), error });
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// One error for all of it: the first rows in full, then how many more there are.
    pub(super) fn into_error(mut self, files: &[String]) -> Error {
        self.0.sort_by_key(|problem| (problem.file, problem.line));
        let mut rows: Vec<(usize, usize)> = self.0.iter().map(|p| (p.file, p.line)).collect();
        rows.dedup();
        let count = rows.len();
        let noun = if count == 1 { "bad row" } else { "bad rows" };
        // A lone mistake is said in one line.
        let alone = self.0.len() == 1;
        let mut message = if alone {
            "nothing was stored:".to_string()
        } else {
            format!("nothing was stored: {count} {noun}")
        };
        let before = if alone { " " } else { "\n  " };
        let last = rows.get(IN_FULL - 1).or(rows.last()).copied().unwrap_or_default();
        for problem in self.0.iter().take_while(|problem| (problem.file, problem.line) <= last) {
            let name = files.get(problem.file).map_or("", String::as_str);
            let column =
                problem.column.as_ref().map(|name| format!(" column `{name}`")).unwrap_or_default();
            let error = one_line(&problem.error);
            // Writing to a string cannot fail.
            let _ = write!(message, "{before}{name} line {}{column}: {error}", problem.line);
        }
        if count > IN_FULL {
            let more = count - IN_FULL;
            let noun = if more == 1 { "bad row" } else { "bad rows" };
            let _ = write!(message, "\n  and {more} more {noun}");
        }
        Error::input(message)
    }
}

/// An error with its hint behind it.
pub(super) fn one_line(error: &Error) -> String {
    error.to_string().replace("\n  hint: ", "; ")
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
        let text = problems.into_error(&["x.csv".into()]).to_string();
        assert!(text.starts_with("nothing was stored: 23 bad rows\n"), "{text}");
        assert!(text.contains("x.csv line 2 column `price`: is wrong; write it right\n"), "{text}");
        assert!(text.contains("line 21: is wrong too") && !text.contains("line 22"), "{text}");
        assert!(text.ends_with("and 3 more bad rows"), "{text}");
    }
}
