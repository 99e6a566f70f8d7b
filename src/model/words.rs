//! Words about things: how many they are, which, and which was perhaps meant.

use crate::error::Error;
use crate::model::kinds::nearest;

/// A number of things: `1 part`, `2 parts`.
pub fn count(number: u128, thing: &str) -> String {
    format!("{number} {}", plural(number, thing))
}

/// The word for so many things: `part`, `parts`.
pub fn plural(number: u128, thing: &str) -> String {
    let plural = if number == 1 { "" } else { "s" };
    format!("{thing}{plural}")
}

/// A large number in groups of three digits: `1,234,567`.
pub fn grouped(number: u128) -> String {
    let digits = number.to_string();
    let groups: Vec<&str> = digits
        .as_bytes()
        .rchunks(3)
        .rev()
        .filter_map(|group| std::str::from_utf8(group).ok())
        .collect();
    groups.join(",")
}

/// `a`, `a and b`, `a, b and c`; beyond `most` the rest is only counted.
pub fn list(items: &[String], most: usize) -> String {
    let more = items.len().saturating_sub(most);
    let shown = &items[..items.len().min(most)];
    match shown {
        [] => String::new(),
        _ if more > 0 => format!("{} and {more} more", shown.join(", ")),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

/// Names as a refusal quotes them, the first five of them: `a`, `b` and 3 more, each in back-ticks.
pub fn quoted(names: &[String]) -> String {
    let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    list(&names, 5)
}

impl Error {
    /// Asks whether the known name that is nearest to what was `found` was meant; where none is near,
    /// says what to do `otherwise`.
    #[must_use]
    pub fn near<'a>(
        self,
        found: &str,
        known: impl IntoIterator<Item = &'a str>,
        otherwise: impl Into<String>,
    ) -> Self {
        let otherwise: String = otherwise.into();
        match nearest(found, known) {
            Some(near) => self.hint(format!("did you mean `{near}`?")),
            None if otherwise.is_empty() => self,
            None => self.hint(otherwise),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_and_lists_read_like_speech() {
        assert_eq!([7, 999, 1000, 1_234_567].map(grouped), ["7", "999", "1,000", "1,234,567"]);
        assert_eq!(count(1, "part"), "1 part");
        assert_eq!(count(0, "part"), "0 parts");
        let items: Vec<String> = ["a", "b", "c"].map(String::from).into();
        assert_eq!(list(&items, 5), "a, b and c");
        assert_eq!(list(&items, 2), "a, b and 1 more");
        assert_eq!(list(&items[..1], 2), "a");
        assert_eq!(quoted(&items), "`a`, `b` and `c`");
        let many: Vec<String> = (1..=7).map(|n| n.to_string()).collect();
        assert_eq!(quoted(&many), "`1`, `2`, `3`, `4`, `5` and 2 more");
    }

    #[test]
    fn the_nearest_name_is_asked_for_and_else_what_to_do_is_said() {
        let refusal = || Error::input("there is no `spur`");
        let known = ["spud", "bearing"];
        assert_eq!(refusal().near("spur", known, "").advice(), Some("did you mean `spud`?"));
        assert_eq!(refusal().near("x", ["bearing"], "look").advice(), Some("look"));
        assert_eq!(refusal().near("x", ["bearing"], "").advice(), None);
    }
}
