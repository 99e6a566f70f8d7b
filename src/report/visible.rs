//! Text from outside as it may be shown: nothing in it moves a cursor, colours, rings or hides.

use std::borrow::Cow;
use std::fmt::Write as _;

/// The text with every character that a terminal would obey, or that nobody would see, written
/// out as `\u001b`. Line breaks and tabs stay.
///
/// It is the form that JSON has for them, so that it is right inside JSON too, where the value
/// stays what it was. A text that went through once is not changed again.
pub fn visible(text: &str) -> Cow<'_, str> {
    if !text.chars().any(is_hidden) {
        return text.into();
    }
    let mut shown = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        if is_hidden(c) {
            // Writing into a string does not fail.
            let _ = write!(shown, "\\u{:04x}", u32::from(c));
        } else {
            shown.push(c);
        }
    }
    shown.into()
}

/// The same for a text that is laid out in lines: breaks and tabs are blanks.
pub(super) fn in_line(text: &str) -> Cow<'_, str> {
    if text.contains(['\n', '\t']) {
        let blank = text.replace("\r\n", " ").replace(['\n', '\t'], " ");
        return visible(&blank).into_owned().into();
    }
    visible(text)
}

/// The same for a cell of a table, which may have several lines.
pub(super) fn in_cell(text: &str) -> Cow<'_, str> {
    if text.contains(['\r', '\t']) {
        let lines = text.replace("\r\n", "\n").replace('\t', " ");
        return visible(&lines).into_owned().into();
    }
    visible(text)
}

/// Control characters (C0, DEL, C1) but for line break and tab, the marks that turn the direction of
/// what follows, the separators of lines that are none, and what takes no room at all.
const fn is_hidden(c: char) -> bool {
    let turns = matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let unseen = matches!(c, '\u{200b}' | '\u{2028}' | '\u{2029}' | '\u{feff}');
    let obeyed = matches!(c, '\0'..='\u{1f}' | '\u{7f}'..='\u{9f}') && !matches!(c, '\n' | '\t');
    turns || unseen || obeyed
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_terminal_obeys_is_written_out() {
        for (hidden, shown) in [
            ("\u{1b}[31m", "\\u001b[31m"),
            ("\u{7}\0\u{7f}", "\\u0007\\u0000\\u007f"),
            ("\u{9b}2J", "\\u009b2J"),
            ("a\u{202e}b\u{2066}c\u{2069}", "a\\u202eb\\u2066c\\u2069"),
            ("over\rwritten\n", "over\\u000dwritten\n"),
        ] {
            assert_eq!(visible(hidden), shown);
            assert_eq!(visible(shown), shown);
        }
        assert_eq!(
            visible("Kupplung, 1\u{bd} Zoll \u{1f527}\t\n"),
            "Kupplung, 1\u{bd} Zoll \u{1f527}\t\n"
        );
    }

    #[test]
    fn what_json_holds_stays_what_it_was() {
        let text = "a\u{9b}\u{202e}\u{7f}\u{1b}\"b\\";
        let json = serde_json::to_string(text).unwrap();
        let shown = visible(&json);
        assert!(!shown.contains(is_hidden));
        assert_eq!(serde_json::from_str::<String>(&shown).unwrap(), text);
    }

    #[test]
    fn a_line_has_no_breaks_and_a_cell_may_have_some() {
        assert_eq!(in_line("one\r\ntwo\tthree\rfour"), "one two three\\u000dfour");
        assert_eq!(in_cell("one\r\ntwo\tthree\rfour"), "one\ntwo three\\u000dfour");
    }
}
