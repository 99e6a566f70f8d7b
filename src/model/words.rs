//! Words about things: how many they are, which, and which was perhaps meant.

use strsim::damerau_levenshtein;

use crate::error::Error;

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

/// The name among `known` that is nearest to `found`, where one is near at all.
pub fn nearest<'a>(found: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    /// No name that anybody means is longer, and comparing takes time with the length.
    const LONGEST_NAME: usize = 100;
    if found.len() > LONGEST_NAME {
        return None;
    }
    let most = 2 + found.len() / 3;
    let is_as_long = |name: &&str| name.len().abs_diff(found.len()) <= 4 * most;
    let own = letters(found);
    let mut near: Option<(usize, &str)> = None;
    for name in known.into_iter().filter(is_as_long) {
        let others = letters(name);
        // An edit brings one letter at most, and takes one away.
        let least = (own & !others).count_ones().max((others & !own).count_ones()) as usize;
        let limit = near.map_or(most + 1, |(distance, _)| distance);
        // Of two that are as near the first one, as they stand.
        if least < limit {
            let distance = damerau_levenshtein(found, name);
            near = if distance < limit { Some((distance, name)) } else { near };
        }
    }
    near.map(|(_, name)| name)
}

/// Which letters a name has; some share a bit.
fn letters(name: &str) -> u128 {
    name.chars().fold(0, |all, letter| all | 1 << (u32::from(letter) % 128))
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
    use crate::model::kinds::Kinds;

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

    #[test]
    fn the_nearest_known_name_is_found_only_when_it_is_near() {
        let known = ["thickness", "cover_step"];
        assert_eq!(nearest("thicknes", known), Some("thickness"));
        assert_eq!(nearest("colour", known), None);
    }

    #[test]
    fn the_nearest_name_is_the_first_of_the_least_distance() {
        let names = ["F-1", "F-10", "F-01", "G-1", "ab", "ba", "a\u{e4}b", "\u{164}-9", "Abe", ""];
        let names = names.into_iter().chain(Kinds::standard().iter().map(|kind| kind.key));
        let names: Vec<&str> = names.collect();
        let mut near = 0;
        for found in &names {
            for skipped in 0..names.len() {
                let known = names.iter().copied().skip(skipped);
                let by_distance = known.clone().min_by_key(|name| damerau_levenshtein(found, name));
                let by_distance = by_distance
                    .filter(|name| damerau_levenshtein(found, name) <= 2 + found.len() / 3);
                assert_eq!(nearest(found, known), by_distance, "{found}");
                near += usize::from(by_distance.is_some_and(|name| name != *found));
            }
        }
        assert!(near > 50, "{near}");
    }
}
