//! One error type for the whole program: what was found, what to write instead, and how to exit.

use std::fmt;

/// Which of the contract's exit statuses an error leads to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Class {
    /// Wrong use or bad input; nothing was changed (exit status 2).
    Input,
    /// The catalog or a file could not be read or written; nothing was changed (exit status 3).
    Storage,
    /// The user stopped the work; no complete answer exists (exit status 130).
    Interrupted,
}

/// A refusal: one lower-case line, and where it helps a hint on its own line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Error {
    class: Class,
    message: String,
    hint: Option<String>,
}

/// The program's result type.
pub type Result<T, E = Error> = std::result::Result<T, E>;

impl Error {
    /// Wrong use or bad input.
    pub fn input(message: impl Into<String>) -> Self {
        Self { class: Class::Input, message: message.into(), hint: None }
    }

    /// A file or the catalog could not be read or written.
    pub fn storage(message: impl Into<String>) -> Self {
        Self { class: Class::Storage, message: message.into(), hint: None }
    }

    /// The user stopped the work.
    pub fn interrupted() -> Self {
        Self {
            class: Class::Interrupted,
            message: "interrupted: the search was not finished, so no answer is shown".into(),
            hint: None,
        }
    }

    /// The user stopped the work, and something was kept of it.
    pub fn stopped(message: impl Into<String>) -> Self {
        Self { class: Class::Interrupted, message: message.into(), hint: None }
    }

    /// Adds what to do about it.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }

    /// Puts `place` before the message, for an error that arose deeper down.
    #[must_use]
    pub fn at(mut self, place: impl fmt::Display) -> Self {
        self.message = format!("{place}: {}", self.message);
        self
    }

    /// The same refusal with its texts changed.
    #[must_use]
    pub fn map(self, change: impl Fn(String) -> String) -> Self {
        let hint = self.hint.map(&change);
        Self { class: self.class, message: change(self.message), hint }
    }

    /// What was found and expected, without the hint.
    pub fn message(&self) -> &str {
        &self.message
    }

    /// What to do about it, where that helps.
    pub fn advice(&self) -> Option<&str> {
        self.hint.as_deref()
    }

    /// Message and hint in one line, for a list or a cell.
    pub fn one_line(&self) -> String {
        match &self.hint {
            Some(hint) => format!("{}; {hint}", self.message),
            None => self.message.clone(),
        }
    }

    /// What kind of refusal this is.
    pub fn class(&self) -> Class {
        self.class
    }

    /// The process exit status that the contract gives this class.
    pub fn exit_status(&self) -> u8 {
        match self.class {
            Class::Input => 2,
            Class::Storage => 3,
            Class::Interrupted => 130,
        }
    }
}

/// A text of at most so many characters: of a longer one its beginning and its end, with what was left
/// out between them.
pub fn cut(text: &str, most: usize) -> String {
    let count = text.chars().count();
    if count <= most {
        return text.into();
    }
    let (head, tail) = (most / 3 * 2, most / 3);
    let left_out = count - head - tail;
    let head: String = text.chars().take(head).collect();
    let tail: String = text.chars().skip(count - tail).collect();
    format!("{head}... ({left_out} characters) ...{tail}")
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        if let Some(hint) = &self.hint {
            write!(f, "\n  hint: {hint}")?;
        }
        Ok(())
    }
}

impl std::error::Error for Error {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_long_text_is_cut_in_its_middle() {
        assert_eq!(cut("abc", 3), "abc");
        let text = "\u{e9}".repeat(600) + "end";
        let short = cut(&text, 60);
        assert!(short.starts_with("\u{e9}\u{e9}") && short.ends_with("end"), "{short}");
        assert!(short.contains("... (543 characters) ..."), "{short}");
    }

    #[test]
    fn a_refusal_is_a_line_with_its_hint_behind_or_below() {
        let error = Error::input("`x` is wrong").hint("write `y`").at("line 3");
        assert_eq!(error.message(), "line 3: `x` is wrong");
        assert_eq!(error.advice(), Some("write `y`"));
        assert_eq!(error.one_line(), "line 3: `x` is wrong; write `y`");
        assert_eq!(error.to_string(), "line 3: `x` is wrong\n  hint: write `y`");
        assert_eq!(Error::input("plain").one_line(), "plain");
    }
}
