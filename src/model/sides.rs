//! The words for the sides to which a signed length lies, so that nobody has to know its sign.

use std::cmp::Ordering;

use crate::error::{Error, Result};
use crate::model::length::{Length, Unit};
use crate::model::number::is_minus;

/// The words for the sides of one dimension. The first of each list is the one that is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sides {
    /// For a positive length.
    pub plus: &'static [&'static str],
    /// For a negative length.
    pub minus: &'static [&'static str],
    /// For no length at all, where there is a word for it.
    pub zero: Option<&'static str>,
}

/// The crank's flange beside the block's housing face.
pub const CRANK: Sides =
    Sides { plus: &["proud", "above"], minus: &["recessed", "sunk", "below"], zero: Some("flush") };

/// The flywheel's friction face beside its cover's mounting face.
pub const FRICTION_FACE: Sides = Sides {
    plus: &["friction face recessed", "recessed"],
    minus: &["friction face raised", "raised"],
    zero: Some("flat"),
};

/// The bearing's seat beside the gearbox's face.
pub const SEAT: Sides = Sides {
    plus: &["toward the engine", "towards the engine"],
    minus: &["toward the gearbox", "towards the gearbox"],
    zero: None,
};

/// What a text says of the side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Nothing: the sign says it.
    Unsaid,
    /// That the length is positive.
    Plus,
    /// That it is negative.
    Minus,
    /// That there is none.
    Zero,
}

impl Sides {
    /// The text without the word behind it, and what the word says.
    ///
    /// # Errors
    ///
    /// Refuses a sign beside a word.
    pub fn split<'t>(&self, text: &'t str) -> Result<(&'t str, Side)> {
        let text = text.trim();
        let bare = text.strip_suffix(')').unwrap_or(text);
        let zero: &[&str] = self.zero.as_slice();
        let words = [(self.plus, Side::Plus), (self.minus, Side::Minus), (zero, Side::Zero)];
        let all = words.iter().flat_map(|(words, side)| words.iter().map(|word| (*word, *side)));
        let ends = |word: &str| {
            let cut = bare.len().checked_sub(word.len())?;
            let end = bare.get(cut..)?.eq_ignore_ascii_case(word).then_some(cut)?;
            let before = bare[..end].trim_end();
            let before = before.strip_suffix('(').unwrap_or(before).trim_end();
            Some(before.strip_suffix(',').unwrap_or(before))
        };
        // `recessed` ends `friction face recessed` too: the word that leaves least is meant.
        let found = all.filter_map(|(word, side)| Some((ends(word)?, word, side)));
        let Some((number, word, side)) = found.min_by_key(|(number, ..)| number.len()) else {
            return Ok((text, Side::Unsaid));
        };
        if side != Side::Zero && number.starts_with(|c| c == '+' || is_minus(c)) {
            return Err(Error::input(format!("`{text}` has a sign and the word `{word}`"))
                .hint(format!("write one of them: `0.020 in {}` is `-0.020 in`", self.minus[0])));
        }
        Ok((number, side))
    }

    /// Reads a length with the word for its side, or without. `parse` reads the length itself.
    ///
    /// # Errors
    ///
    /// Refuses what `parse` refuses, a sign beside a word, and a word for no length beside a length.
    pub fn read(
        &self,
        text: &str,
        parse: impl FnOnce(&str) -> Result<Length>,
    ) -> Result<(Length, Side)> {
        let (number, side) = self.split(text)?;
        let nothing = || Error::input(format!("`{}` has no length", text.trim()));
        let length = match side {
            Side::Zero if number.is_empty() => Length::ZERO,
            _ if number.is_empty() => return Err(nothing().hint("write it before the word")),
            _ => parse(number)?,
        };
        match side {
            Side::Unsaid | Side::Plus => Ok((length, side)),
            Side::Minus => Ok((-length, side)),
            Side::Zero if length == Length::ZERO => Ok((length, side)),
            Side::Zero => Err(Error::input(format!("`{}` is two things at once", text.trim()))
                .hint("write the word alone, or the length with its side")),
        }
    }

    /// A length as it is shown: its size, and the word for its side.
    pub fn show(&self, length: Length, unit: Unit) -> String {
        self.with_word(length.abs().exact(unit), length)
    }

    /// One word for a length's side, to stand beside a number that has its sign; none where it takes
    /// several.
    pub fn word(&self, length: Length) -> Option<&'static str> {
        let words = match length.cmp(&Length::ZERO) {
            Ordering::Less => self.minus,
            Ordering::Greater => self.plus,
            Ordering::Equal => return self.zero,
        };
        words.iter().find(|word| !word.contains(' ')).copied()
    }

    /// The size of a length as it is written, with the word for its side.
    pub fn with_word(&self, size: String, length: Length) -> String {
        let word = match length.cmp(&Length::ZERO) {
            Ordering::Less => self.minus[0],
            Ordering::Greater => self.plus[0],
            Ordering::Equal => return self.zero.map_or(size, String::from),
        };
        if word.contains(' ') { format!("{size} ({word})") } else { format!("{size} {word}") }
    }
}

/// What is left of a reading once the bar that it was taken over is taken off: off its size where a
/// word says the side. `sides` are the words of the dimension, if it has any.
///
/// # Errors
///
/// Refuses a bar that is thicker than what was read, where that would change the side without a
/// word, and a bar beside a minus sign.
pub fn less_bar(read: Length, side: Side, bar: Length, sides: Option<&Sides>) -> Result<Length> {
    let (shown, over) = (read.abs().exact(Unit::In), bar.exact(Unit::In));
    let rest = read.abs() - bar;
    let over_side = |side: &str| {
        let rest = rest.abs().exact(Unit::In);
        Err(Error::input(format!("`{shown}` was read over a bar of {over}, which is thicker"))
            .hint(format!("that is {rest} {side}, if it was read from a bridge")))
    };
    match (side, sides) {
        (Side::Unsaid, _) if read < Length::ZERO => {
            Err(Error::input(format!("`-{shown}` has a sign, and was taken over a bar of {over}"))
                .hint("write what was read without a sign, and the side in a word"))
        }
        (Side::Zero, _) => Err(Error::input(format!("a bar of {over} has nothing to come off"))
            .hint("write what was read over the bar")),
        (Side::Plus, Some(sides)) if rest < Length::ZERO => over_side(sides.minus[0]),
        (Side::Minus, Some(sides)) if rest < Length::ZERO => over_side(sides.plus[0]),
        (Side::Unsaid, Some(sides)) if rest < Length::ZERO => {
            let words = format!("`{shown} {}` or `{shown} {}`", sides.plus[0], sides.minus[0]);
            Err(Error::input(format!("`{shown}` was read over a bar of {over}, which is thicker"))
                .hint(format!("write the side behind it, {words}")))
        }
        (Side::Minus, _) => Ok(-rest),
        (Side::Unsaid | Side::Plus, _) => Ok(rest),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(sides: &Sides, text: &str) -> Result<i64> {
        sides.read(text, Length::parse).map(|(length, _)| length.nm() / 25_400)
    }

    #[test]
    fn a_word_says_the_side_in_small_letters_and_large_ones_with_brackets_and_without() {
        for (text, thou) in [
            ("0.020 in proud", 20),
            ("0.020 in above", 20),
            ("0.020 in", 20),
            ("-0.020 in", -20),
            ("0.020 in recessed", -20),
            ("0.020 in Sunk", -20),
            ("0.020 in (below)", -20),
            ("0.508 mm, RECESSED", -20),
            ("flush", 0),
            ("0 in flush", 0),
        ] {
            assert_eq!(read(&CRANK, text).unwrap(), thou, "{text}");
        }
        assert_eq!(read(&FRICTION_FACE, "0.250 in (friction face recessed)").unwrap(), 250);
        assert_eq!(read(&FRICTION_FACE, "0.250 in recessed").unwrap(), 250);
        assert_eq!(read(&FRICTION_FACE, "1/4 in friction face raised").unwrap(), -250);
        assert_eq!(read(&FRICTION_FACE, "flat").unwrap(), 0);
        assert_eq!(read(&SEAT, "0.250 in toward the gearbox").unwrap(), -250);
    }

    #[test]
    fn a_sign_beside_a_word_and_a_length_beside_flush_are_refused() {
        for text in [
            "-0.020 in proud",
            "\u{2212}0.020 in recessed",
            "+0.020 in sunk",
            "0.020 in flush",
            "proud",
            "\u{e9} in",
        ] {
            assert!(read(&CRANK, text).is_err(), "{text}");
        }
    }

    #[test]
    fn what_is_shown_is_read_again() {
        for sides in [CRANK, FRICTION_FACE, SEAT] {
            for thou in [-250, 0, 20] {
                for unit in [Unit::In, Unit::Mm] {
                    let shown = sides.show(Length::from_thou(thou), unit);
                    assert_eq!(read(&sides, &shown).unwrap(), thou, "{shown}");
                }
            }
        }
        assert_eq!(CRANK.show(Length::from_thou(-20), Unit::In), "0.020 in recessed");
        assert_eq!(CRANK.show(Length::ZERO, Unit::In), "flush");
        let step = FRICTION_FACE.show(Length::from_thou(250), Unit::In);
        assert_eq!(step, "0.250 in (friction face recessed)");
    }

    #[test]
    fn a_bar_comes_off_the_size_that_a_word_gives() {
        let less = |thou, side, bar| {
            let rest =
                less_bar(Length::from_thou(thou), side, Length::from_thou(bar), Some(&CRANK));
            rest.map(|rest| rest.nm() / 25_400).map_err(|error| error.to_string())
        };
        assert_eq!(less(270, Side::Minus, 250), Ok(-20));
        assert_eq!(less(270, Side::Plus, 250), Ok(20));
        assert_eq!(less(270, Side::Unsaid, 250), Ok(20));
        assert_eq!(less(250, Side::Minus, 250), Ok(0));
        let told = less(230, Side::Minus, 250).unwrap_err();
        assert!(told.contains("that is 0.020 in proud, if it was read from a bridge"), "{told}");
        assert!(less(-270, Side::Unsaid, 250).unwrap_err().contains("has a sign"));
        assert!(less(230, Side::Unsaid, 250).unwrap_err().contains("`0.230 in recessed`"));
        assert!(less(0, Side::Zero, 250).unwrap_err().contains("nothing to come off"));
        let plain = less_bar(Length::from_thou(230), Side::Unsaid, Length::from_thou(250), None);
        assert_eq!(plain.unwrap(), Length::from_thou(-20));
    }
}
