//! The gauge bars that lengths were read over.
//!
//! What is stored and computed with is the length without its bar; the bar is kept so that a reading
//! can be shown, and exported, as it was taken.

use crate::model::length::{Length, Unit};
use crate::model::sides::Sides;

/// The bars of one part or job, by the index of the dimension or reading; most have none.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Bars(Vec<(usize, Length)>);

impl Bars {
    /// The bar under a length, if it was read over one.
    pub fn get(&self, index: usize) -> Option<Length> {
        self.0.iter().find(|(own, _)| *own == index).map(|(_, bar)| *bar)
    }

    /// Sets or takes away a bar.
    pub fn set(&mut self, index: usize, bar: Option<Length>) {
        self.0.retain(|(own, _)| *own != index);
        self.0.extend(bar.map(|bar| (index, bar)));
        self.0.sort_unstable();
    }

    /// Every bar.
    pub fn all(&self) -> impl Iterator<Item = Length> {
        self.0.iter().map(|(_, bar)| *bar)
    }

    /// Whether nothing was read over a bar.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// A length that was entered over a bar or with a side, to be told back to who entered it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Entered {
    /// The key of the dimension or reading.
    pub key: &'static str,
    /// The length without its bar.
    pub length: Length,
    /// The bar.
    pub bar: Option<Length>,
    /// The words for the sides, if it has any.
    pub sides: Option<&'static Sides>,
}

/// A length as it was read over its bar, exactly: what can be typed again beside the bar.
pub fn as_read(rest: Length, bar: Option<Length>, sides: Option<&Sides>, unit: Unit) -> String {
    match (bar, sides) {
        (None, _) => rest.exact(unit),
        // A bar comes off the size, and only a word can say the other side.
        (Some(bar), Some(sides)) if rest < Length::ZERO => {
            format!("{} {}", (rest.abs() + bar).exact(unit), sides.minus[0])
        }
        (Some(bar), _) => (rest + bar).exact(unit),
    }
}

/// A length as people read it: its side in a word, and what was read over which bar.
pub fn shown(rest: Length, bar: Option<Length>, sides: Option<&Sides>, unit: Unit) -> String {
    let length = sides.map_or_else(|| rest.exact(unit), |sides| sides.show(rest, unit));
    let Some(bar) = bar else { return length };
    let size = if sides.is_some() { rest.abs() } else { rest };
    let (read, bar) = ((size + bar).exact(unit), bar.exact(unit));
    // The unit stands once where it is the same for all three.
    let name = format!(" {}", unit.name());
    match (length.contains(&name), read.strip_suffix(&name), bar.strip_suffix(&name)) {
        (true, Some(read), Some(bar)) => format!("{length} ({read} less the bar's {bar})"),
        _ => format!("{length} ({read} less the bar's {bar})"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::sides::CRANK;

    #[test]
    fn what_was_read_over_a_bar_is_shown_with_it() {
        let thou = Length::from_thou;
        let read = |rest, sides| shown(thou(rest), Some(thou(250)), sides, Unit::In);
        assert_eq!(read(2945, None), "2.945 in (3.195 less the bar's 0.250)");
        assert_eq!(read(-20, Some(&CRANK)), "0.020 in recessed (0.270 less the bar's 0.250)");
        assert_eq!(read(0, Some(&CRANK)), "flush (0.250 in less the bar's 0.250 in)");
        assert_eq!(shown(thou(2945), None, None, Unit::In), "2.945 in");
        let odd = shown(Length::from_nm(1), Some(thou(250)), None, Unit::In);
        assert_eq!(odd, "0.000001 mm (6.350001 mm less the bar's 0.250 in)");
    }

    #[test]
    fn what_was_read_can_be_typed_again() {
        let thou = Length::from_thou;
        assert_eq!(
            as_read(thou(-20), Some(thou(250)), Some(&CRANK), Unit::In),
            "0.270 in recessed"
        );
        assert_eq!(as_read(thou(20), Some(thou(250)), Some(&CRANK), Unit::In), "0.270 in");
        assert_eq!(as_read(thou(-20), Some(thou(250)), None, Unit::In), "0.230 in");
        assert_eq!(as_read(thou(-20), None, Some(&CRANK), Unit::In), "-0.020 in");
    }

    #[test]
    fn a_bar_is_set_and_taken_away_by_its_index() {
        let mut bars = Bars::default();
        bars.set(3, Some(Length::from_thou(250)));
        bars.set(1, Some(Length::from_thou(500)));
        bars.set(3, None);
        assert_eq!((bars.get(1), bars.get(3)), (Some(Length::from_thou(500)), None));
        bars.set(1, None);
        assert!(bars.is_empty());
    }
}
