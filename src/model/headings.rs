//! What the headings of a shop's own sheet mean.

use crate::model::kinds::folded;

/// What one heading means.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Meaning {
    /// A column of the program's, by its name.
    Column(String),
    /// Nothing that is kept: the column is passed over.
    PassedOver,
}

/// The headings of one sheet, learned once, under a name.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Headings {
    /// The name.
    pub name: String,
    /// What the sheet holds: a kind's plural, or a word such as `jobs`; blank where each sheet says it.
    pub holds: String,
    /// Each heading as it is folded, in the order of the alphabet, with what it means.
    pub columns: Vec<(String, Meaning)>,
    /// The shop's own words for kinds of part, folded, each with the kind.
    pub kinds: Vec<(String, String)>,
}

/// The column in which a sheet of bad rows says why they are bad: it is none of the shop's own.
pub const REASONS: &str = "problem";

/// A heading as it is compared: without what only sets it in type.
pub fn heading(text: &str) -> String {
    folded(&text.split_whitespace().collect::<Vec<_>>().join(" "))
}

impl Headings {
    /// Learns what a heading means, in the place of what was known of it.
    pub fn learn(&mut self, text: &str, meaning: Meaning) {
        let heading = heading(text);
        self.columns.retain(|(known, _)| *known != heading);
        self.columns.push((heading, meaning));
        self.columns.sort_by(|one, other| one.0.cmp(&other.0));
    }

    /// Learns a word for a kind of part.
    pub fn learn_kind(&mut self, word: &str, kind: &str) {
        let word = heading(word);
        self.kinds.retain(|(known, _)| *known != word);
        self.kinds.push((word, kind.into()));
        self.kinds.sort_unstable();
    }

    /// What a heading means, if that was learned.
    pub fn means(&self, text: &str) -> Option<&Meaning> {
        let heading = heading(text);
        self.columns.iter().find(|(known, _)| *known == heading).map(|(_, meaning)| meaning)
    }

    /// The kind that a word stands for, if that was learned.
    pub fn kind(&self, word: &str) -> Option<&str> {
        let word = heading(word);
        self.kinds.iter().find(|(known, _)| *known == word).map(|(_, kind)| kind.as_str())
    }

    /// Whether these are exactly the headings of a row.
    pub fn are_those(&self, row: &[String]) -> bool {
        let mut found: Vec<String> = row
            .iter()
            .map(|text| heading(text))
            .filter(|text| !text.is_empty() && text != REASONS)
            .collect();
        found.sort_unstable();
        found.dedup();
        found.len() == self.columns.len()
            && found.iter().zip(&self.columns).all(|(found, (known, _))| found == known)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_are_known_again_in_any_order_and_type() {
        let mut headings = Headings::default();
        headings.learn("Thk (in)", Meaning::Column("thickness_in".into()));
        headings.learn("Part  No.", Meaning::Column("id".into()));
        headings.learn("Bin", Meaning::PassedOver);
        headings.learn_kind("Rings & wheels", "flywheel");
        let row = |cells: &[&str]| cells.iter().map(ToString::to_string).collect::<Vec<_>>();
        assert!(headings.are_those(&row(&["bin", "PART NO.", "thk (in)", ""])));
        assert!(!headings.are_those(&row(&["bin", "part no."])));
        assert!(!headings.are_those(&row(&["bin", "part no.", "thk (in)", "price"])));
        assert_eq!(headings.means("THK (IN)"), Some(&Meaning::Column("thickness_in".into())));
        assert_eq!(headings.kind("rings & Wheels"), Some("flywheel"));
        headings.learn("Bin", Meaning::Column("notes".into()));
        assert_eq!(headings.means("bin"), Some(&Meaning::Column("notes".into())));
        assert_eq!(headings.columns.len(), 3);
    }
}
