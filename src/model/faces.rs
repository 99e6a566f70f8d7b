//! Mating faces: the user's own names for patterns, and when two of them fit.

use std::fmt;
use std::sync::Arc;

/// What is known of a face's pattern.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Names {
    /// Blank: it mates with everything, and the stack says "not verified".
    #[default]
    Unknown,
    /// `*`: fits all.
    Any,
    /// One or several names as they are written: sorted, each once, `|` between two. Most parts of
    /// a shop share a few patterns, so they share the text, too.
    Of(Arc<str>),
}

impl Names {
    /// Reads `A|B`, `*` or a blank.
    pub fn parse(text: &str) -> Self {
        let mut names: Vec<&str> =
            text.split('|').map(str::trim).filter(|name| !name.is_empty()).collect();
        if names.contains(&"*") {
            return Self::Any;
        }
        names.sort_unstable();
        names.dedup();
        if names.is_empty() { Self::Unknown } else { Self::Of(names.join("|").into()) }
    }

    /// Whether nothing is known.
    pub fn is_unknown(&self) -> bool {
        matches!(self, Self::Unknown)
    }

    /// Whether two faces can be bolted together, as far as is known: they share a name, or one of
    /// them fits all or is unknown.
    pub fn mates(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Of(a), Self::Of(b)) => {
                a == b || a.split('|').any(|name| b.split('|').any(|other| other == name))
            }
            _ => true,
        }
    }
}

impl fmt::Display for Names {
    /// As it is written in CSV.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unknown => Ok(()),
            Self::Any => f.write_str("*"),
            Self::Of(names) => f.write_str(names),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faces_mate_when_they_share_a_name_or_one_is_open() {
        let face = Names::parse;
        assert!(face("a|b").mates(&face("b | c")));
        assert!(!face("a").mates(&face("b")));
        assert!(face("*").mates(&face("b")));
        assert!(face("").mates(&face("b")));
        assert!(face(" ").is_unknown());
        assert_eq!(face("b|a|b").to_string(), "a|b");
    }
}
