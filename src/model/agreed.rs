//! What is asked before a sheet's rows are taken, since it may be meant in two ways.

use std::collections::BTreeSet;

use crate::error::{Error, Result};

/// What a question is about. Nothing is taken until each of them is agreed to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AskedTopic {
    /// Titles, totals, footnotes and whole worksheets that are no rows of the list.
    Rows,
    /// Words such as `call` or `n/a` where a value is expected.
    Blanks,
    /// A pattern's name in which there may be two, or that differs from another by how it is typed.
    Faces,
    /// The same, taken apart.
    SplitFaces,
    /// A price that is far from the one before.
    Prices,
    /// A number that differs from another one only by how it is typed.
    Ids,
}

impl AskedTopic {
    /// Every topic.
    pub const ALL: [Self; 6] =
        [Self::Rows, Self::Blanks, Self::Faces, Self::SplitFaces, Self::Prices, Self::Ids];

    /// As it is written behind `--agree`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Rows => "rows",
            Self::Blanks => "blanks",
            Self::Faces => "faces",
            Self::SplitFaces => "split-faces",
            Self::Prices => "prices",
            Self::Ids => "ids",
        }
    }

    /// What agreeing to it does.
    pub const fn does(self) -> &'static str {
        match self {
            Self::Rows => "passes over what is no row of the list",
            Self::Blanks => "takes such words as blank cells",
            Self::Faces => "takes each name of a pattern as it is typed",
            Self::SplitFaces => "takes such names apart, as `A|B`",
            Self::Prices => "takes the new prices",
            Self::Ids => "takes each number as it is typed",
        }
    }
}

/// What was agreed to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Agreed(BTreeSet<AskedTopic>);

impl Agreed {
    /// Nothing.
    pub const fn none() -> Self {
        Self(BTreeSet::new())
    }

    /// Reads the words behind `--agree`; `all` is every topic but that of taking names apart.
    ///
    /// # Errors
    ///
    /// Names the nearest word.
    pub fn read(words: &[String]) -> Result<Self> {
        let mut agreed = Self::default();
        for word in words.iter().map(|word| word.trim()).filter(|word| !word.is_empty()) {
            if word == "all" {
                agreed.0.extend(
                    AskedTopic::ALL.into_iter().filter(|topic| *topic != AskedTopic::SplitFaces),
                );
                continue;
            }
            let topic = AskedTopic::ALL.into_iter().find(|topic| topic.word() == word);
            let topic = topic.ok_or_else(|| {
                let words = AskedTopic::ALL.iter().map(|topic| topic.word());
                Error::input(format!("`{word}` is nothing that `--agree` knows")).near(
                    word,
                    words,
                    "it knows rows, blanks, faces, split-faces, prices, ids and all",
                )
            })?;
            agreed.add(topic);
        }
        Ok(agreed)
    }

    /// Whether a topic was agreed to.
    pub fn has(&self, topic: AskedTopic) -> bool {
        let split = topic == AskedTopic::Faces && self.0.contains(&AskedTopic::SplitFaces);
        split || self.0.contains(&topic)
    }

    /// Agrees to a topic.
    pub fn add(&mut self, topic: AskedTopic) {
        self.0.insert(topic);
    }
}

/// Something that may be meant in two ways.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Doubt {
    /// What it is about.
    pub topic: AskedTopic,
    /// The table, by its position among those of the run.
    pub file: usize,
    /// The line, from 1.
    pub line: usize,
    /// The column, where it is about one.
    pub column: Option<String>,
    /// What was found, and how it is taken once it is agreed to.
    pub text: String,
}

impl Doubt {
    /// The line, and the column where it is about one.
    pub fn place(&self) -> String {
        let column = self.column.as_ref().map(|name| format!(" column `{name}`"));
        format!("line {}{}", self.line, column.unwrap_or_default())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_agrees_to_everything_but_taking_names_apart() {
        let read = |words: &[&str]| {
            Agreed::read(&words.iter().map(ToString::to_string).collect::<Vec<_>>())
        };
        let all = read(&["all"]).unwrap();
        let held: Vec<bool> = AskedTopic::ALL.iter().map(|topic| all.has(*topic)).collect();
        assert_eq!(held, [true, true, true, false, true, true]);
        assert!(read(&["split-faces"]).unwrap().has(AskedTopic::Faces));
        assert!(!read(&["rows", " "]).unwrap().has(AskedTopic::Blanks));
        let error = read(&["row"]).unwrap_err();
        assert_eq!(error.advice(), Some("did you mean `rows`?"));
    }
}
