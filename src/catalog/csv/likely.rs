//! Which column a heading of a shop's own sheet probably means.

use strsim::normalized_damerau_levenshtein;

use super::holds::{Forms, Holds};
use crate::error::{Error, Result};
use crate::model::kinds::{Kinds, folded};

/// What shops write over their columns, and which of the program's it is. Common practice, no source.
#[rustfmt::skip]
const SAYINGS: &[(&str, &[&str])] = &[
    ("id", &["part no", "part number", "part", "p n", "pn", "item", "item no", "number", "no", "sku",
        "code", "ref", "reference", "stock no", "art no"]),
    ("price", &["cost", "list", "list price", "retail", "each", "unit price", "price each", "net"]),
    ("on_hand", &["qty", "quantity", "stock", "in stock", "count", "shelf qty", "pcs", "have"]),
    ("maker", &["make", "brand", "manufacturer", "mfr", "mfg", "made by"]),
    ("description", &["desc", "name", "title", "what"]),
    ("notes", &["note", "remark", "remarks", "comment", "comments"]),
    ("lead_days", &["lead", "lead time", "delivery", "days", "delivery days"]),
    ("kind", &["type", "category", "group", "class", "sort"]),
    ("job", &["car", "vehicle", "order", "order no", "customer"]),
];

/// Short words for long ones.
#[rustfmt::skip]
const SHORT: &[(&str, &str)] = &[
    ("thk", "thickness"), ("thick", "thickness"), ("thck", "thickness"), ("ht", "height"),
    ("hgt", "height"), ("dia", "diameter"), ("diam", "diameter"), ("dpth", "depth"),
    ("len", "length"), ("lg", "length"), ("min", "min"), ("minimum", "min"), ("max", "max"),
    ("maximum", "max"), ("tolerance", "tol"), ("ext", "extended"), ("retr", "retracted"),
    ("patt", "pattern"), ("bolt", "bolt"), ("ratio", "ratio"), ("fw", "flywheel"),
];

/// The nearest columns of a heading, the likeliest first, three at most; with the heading's unit where
/// it names one. `holds` is what the sheet holds, as far as that is known.
pub fn likely(kinds: Kinds, holds: Option<&str>, heading: &str) -> Vec<String> {
    let forms = Forms::new(kinds);
    let lower = heading.to_lowercase();
    let is_inch = lower.contains('"') || lower.contains('\u{2033}');
    let words: Vec<String> = lower
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(|word| {
            let long = SHORT.iter().find(|(short, _)| *short == word);
            long.map_or(word, |(_, long)| long).to_string()
        })
        .collect();
    let unit = |names: &[&str]| words.iter().any(|word| names.contains(&word.as_str()));
    let ending = if is_inch || unit(&["in", "inch", "inches"]) && words.len() > 1 {
        "_in"
    } else if unit(&["mm", "millimetre", "millimetres", "millimeter"]) && words.len() > 1 {
        "_mm"
    } else {
        ""
    };
    let bare: Vec<&str> = words
        .iter()
        .map(String::as_str)
        .filter(|word| {
            let is_unit = ["inch", "inches", "mm"].contains(word);
            !is_unit && (*word != "in" || ending != "_in")
        })
        .collect();
    let said = bare.join(" ");
    let mut scored: Vec<(f64, String)> = Vec::new();
    for name in keys(&forms, holds) {
        if scored.iter().any(|(_, known)| *known == name) {
            continue;
        }
        let is_said = SAYINGS.iter().any(|(key, sayings)| {
            *key == name && (sayings.contains(&said.as_str()) || said == *key)
        });
        let score = if is_said { 2.0 } else { alike(&bare, &name) };
        scored.push((score, name));
    }
    // Of two that are as near the first one, as they stand in the forms.
    scored.sort_by(|one, other| other.0.total_cmp(&one.0));
    scored
        .into_iter()
        .filter(|(score, _)| *score > 0.4)
        .take(3)
        .map(|(_, name)| {
            let with_unit = format!("{name}{ending}");
            if is_column_of(&forms, holds, &with_unit) { with_unit } else { name }
        })
        .collect()
}

/// How much of a column's name a heading has, from 0 to 1.
#[allow(clippy::cast_precision_loss, reason = "a heading has few words")]
fn alike(words: &[&str], name: &str) -> f64 {
    let of_name: Vec<&str> = name.split('_').collect();
    let near = |word: &str, part: &str| normalized_damerau_levenshtein(word, part) > 0.75;
    let shared = of_name.iter().filter(|part| words.iter().any(|word| near(word, part))).count();
    let by_words = 2.0 * shared as f64 / (of_name.len() + words.len()).max(1) as f64;
    by_words.max(normalized_damerau_levenshtein(&words.join("_"), name) * 0.9)
}

/// The names of columns without units.
fn keys(forms: &Forms, holds: Option<&str>) -> Vec<String> {
    let holds = holds.and_then(|name| Holds::named(forms.kinds, name));
    let all = match holds {
        Some(Holds::Parts(Some(kind))) => match forms.of_kind(kind) {
            Some(at) => vec![forms.of(Holds::Parts(None))[at]],
            None => forms.of(Holds::Parts(None)),
        },
        Some(holds) => forms.of(holds),
        None => forms.of(Holds::Parts(None)),
    };
    let names = all.iter().flat_map(|form| form.names());
    names.filter(|name| !name.ends_with("_in") && !name.ends_with("_mm")).collect()
}

fn is_column_of(forms: &Forms, holds: Option<&str>, name: &str) -> bool {
    let holds = holds.and_then(|name| Holds::named(forms.kinds, name));
    match holds {
        Some(Holds::Parts(Some(kind))) => forms
            .of_kind(kind)
            .is_some_and(|at| forms.of(Holds::Parts(None))[at].column(name).is_some()),
        Some(holds) => forms.of(holds).iter().any(|form| form.column(name).is_some()),
        None => forms.all().iter().any(|form| form.column(name).is_some()),
    }
}

/// A column's name as the program has it. `holds` is what the sheet holds, as far as that is known.
///
/// # Errors
///
/// Names the nearest column where there is none of this name.
pub fn column_named(kinds: Kinds, holds: Option<&str>, name: &str) -> Result<String> {
    let forms = Forms::new(kinds);
    let fold = folded(name);
    if is_column_of(&forms, holds, &fold) {
        return Ok(fold);
    }
    let known = keys(&forms, holds);
    let error = Error::input(format!("`{name}` is no column that is known"));
    Err(error.near(&fold, known.iter().map(String::as_str), "the templates list every column"))
}

/// What a sheet holds, by the word for it: a kind's plural or a word such as `jobs`; blank for `parts`,
/// whose kinds the sheet says itself.
///
/// # Errors
///
/// Names the nearest kind.
pub fn holds_named(kinds: Kinds, name: &str) -> Result<String> {
    if folded(name) == "parts" {
        return Ok(String::new());
    }
    Holds::asked(kinds, name).map(|holds| holds.word().to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_likeliest_column_comes_first() {
        let first = |holds: &str, heading: &str| {
            let found = likely(Kinds::standard(), Some(holds), heading);
            found.first().cloned().unwrap_or_default()
        };
        for (holds, heading, column) in [
            ("flywheels", "Thk (in)", "thickness_in"),
            ("flywheels", "Thickness [mm]", "thickness_mm"),
            ("flywheels", "Min. thk \"", "min_thickness_in"),
            ("flywheels", "Part No.", "id"),
            ("flywheels", "P/N", "id"),
            ("flywheels", "Qty", "on_hand"),
            ("flywheels", "List price", "price"),
            ("flywheels", "Mfr", "maker"),
            ("flywheels", "Crank patt.", "crank_pattern"),
            ("flywheels", "Thk tolerance", "thickness_tol"),
            ("pressure_plates", "Finger ht mm", "finger_height_mm"),
            ("bearings", "Ext. height", "extended_height"),
            ("jobs", "Car", "job"),
        ] {
            assert_eq!(first(holds, heading), column, "{heading}");
        }
        assert!(likely(Kinds::standard(), Some("flywheels"), "Zzzz").is_empty());
        assert!(likely(Kinds::standard(), None, "Thk (in)").contains(&"thickness_in".into()));
    }

    #[test]
    fn a_column_is_known_by_its_name_alone() {
        let known = |holds, name| column_named(Kinds::standard(), holds, name);
        assert_eq!(known(Some("flywheels"), "Thickness in").unwrap(), "thickness_in");
        let error = known(Some("flywheels"), "thicknes").unwrap_err();
        assert_eq!(error.advice(), Some("did you mean `thickness`?"));
        assert_eq!(holds_named(Kinds::standard(), "Parts").unwrap(), "");
        assert_eq!(holds_named(Kinds::standard(), "flywheel").unwrap(), "flywheels");
        assert!(holds_named(Kinds::standard(), "spoons").is_err());
    }
}
