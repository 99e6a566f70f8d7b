//! The fields of a question about a length, and what was typed into them as pairs of a row.

use maud::{Markup, html};

use super::form::Fields;
use super::visit::Visit;
use crate::desk::with_unit;
use crate::model::length::Unit;
use crate::model::sides::Sides;

/// The name of the field that says in which unit bare numbers are.
const UNIT: &str = "in_unit";

/// A question about a length.
#[derive(Debug, Clone, Copy)]
pub(super) struct LengthField<'t> {
    /// The column that it fills.
    pub(super) key: &'static str,
    /// The words for its sides, where a sign alone would be misread.
    pub(super) sides: Option<&'static Sides>,
    /// What is known already, with its unit; blank where nothing is.
    pub(super) known: &'t str,
    /// The bar that it was read over, where there was one.
    pub(super) bar: &'t str,
    /// Its tolerance, where one is known.
    pub(super) tolerance: &'t str,
}

/// The unit of the form: as it was sent, else that of the device.
pub(super) fn unit(visit: &Visit) -> Unit {
    match visit.form.text(UNIT) {
        "mm" => Unit::Mm,
        "in" => Unit::In,
        _ => visit.unit(),
    }
}

/// The choice of the unit in which bare numbers are.
pub(super) fn units(visit: &Visit) -> Markup {
    let chosen = unit(visit);
    html! {
        fieldset.units {
            legend { "Numbers are in" }
            div.choices {
                @for (unit, name) in [(Unit::In, "inches"), (Unit::Mm, "millimetres")] {
                    label.choice {
                        input type="radio" name=(UNIT) value=(unit.name()) checked[chosen == unit];
                        span { (name) }
                    }
                }
            }
        }
    }
}

impl LengthField<'_> {
    /// A big field for the reading, and small ones for what it was taken over and how close it is.
    pub(super) fn fields(&self, visit: &Visit, has_bar: bool) -> Markup {
        let key = self.key;
        let typed = |name: &str, known: &str| {
            let shown = if visit.form.has(name) { visit.form.text(name) } else { known };
            shown.to_string()
        };
        let (bar, tol, side) = (format!("{key}_bar"), format!("{key}_tol"), format!("{key}_side"));
        let named = self.side_of_known();
        html! {
            label.field.big {
                span { "Reading" }
                input type="text" inputmode="decimal" autocomplete="off" name=(key)
                    value=(typed(key, named.map_or(self.known, |(number, _)| number))) autofocus;
            }
            @if let Some(sides) = self.sides {
                @let words = [sides.plus[0], sides.minus[0]];
                @let chosen = visit.form.one(&side).or(named.map(|(_, word)| word)).unwrap_or(words[0]);
                div.choices role="radiogroup" aria-label="To which side" {
                    @for word in words {
                        label.choice {
                            input type="radio" name=(side) value=(word) checked[word == chosen];
                            span { (word) }
                        }
                    }
                }
            }
            div.row.small {
                @if has_bar {
                    label.field {
                        span { "Over a bar, thick" }
                        input type="text" inputmode="decimal" autocomplete="off" name=(bar) value=(typed(&bar, self.bar));
                        small { "taken off; blank where there was none" }
                    }
                }
                label.field {
                    span { "Give or take" }
                    input type="text" inputmode="decimal" autocomplete="off" name=(tol) value=(typed(&tol, self.tolerance));
                    small { "blank: the shop's usual" }
                }
            }
        }
    }

    /// What is known without the word for its side, and that word.
    fn side_of_known(&self) -> Option<(&str, &'static str)> {
        let sides = self.sides?;
        let words = [sides.plus[0], sides.minus[0]];
        words.into_iter().find_map(|word| {
            let number = self.known.strip_suffix(word)?;
            Some((number.trim_end(), word))
        })
    }

    /// What was typed as pairs of a row; blank values blank.
    pub(super) fn pairs(&self, form: &Fields, unit: Unit) -> Vec<String> {
        let key = self.key;
        let side = self.sides.and(form.one(&format!("{key}_side"))).unwrap_or_default();
        let reading = with_unit(form.text(key), unit);
        let sided = match reading.as_str() {
            "" => String::new(),
            // A word or a sign that was typed says it already.
            told if side.is_empty() || self.says_side(told) => told.into(),
            told => format!("{told} {side}"),
        };
        let mut pairs = vec![format!("{key}={sided}")];
        for ending in ["bar", "tol"] {
            let name = format!("{key}_{ending}");
            if form.has(&name) {
                pairs.push(format!("{name}={}", with_unit(form.text(&name), unit)));
            }
        }
        pairs
    }

    fn says_side(&self, told: &str) -> bool {
        let Some(sides) = self.sides else { return true };
        let words = sides.plus.iter().chain(sides.minus).chain(&sides.zero);
        told.starts_with(['-', '\u{2212}']) || words.into_iter().any(|word| told.ends_with(word))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::sides::CRANK;

    #[test]
    fn the_side_of_a_crank_is_a_word_and_is_said_once() {
        let question = LengthField {
            key: "x",
            sides: Some(&CRANK),
            known: "0.020 in recessed",
            bar: "",
            tolerance: "",
        };
        assert_eq!(question.side_of_known(), Some(("0.020 in", "recessed")));
        for (typed, meant) in [
            ("x=0.04&x_side=recessed&x_tol=0.002", vec!["x=0.04 in recessed", "x_tol=0.002 in"]),
            ("x=0.04+in+proud&x_side=recessed", vec!["x=0.04 in proud"]),
            ("x=-0.04&x_side=proud", vec!["x=-0.04 in"]),
            ("x=&x_side=proud&x_bar=1/4", vec!["x=", "x_bar=1/4 in"]),
        ] {
            assert_eq!(question.pairs(&Fields::read(typed), Unit::In), meant);
        }
    }
}
