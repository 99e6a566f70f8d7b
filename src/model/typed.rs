//! Names that differ only by how somebody typed them.

/// A name without what is typed in one way or another: case, blanks, hyphens and the like, and the zeros
/// before a number. Two names for which it is the same are easily the same thing twice.
pub fn as_typed(name: &str) -> String {
    let plain: String = name
        .chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '-' | '_' | '.' | '\u{2010}'..='\u{2015}'))
        .flat_map(char::to_lowercase)
        .collect();
    // A point between digits is part of a number, as in two patterns `8x4.5` and `8x45`.
    let has_decimals = name
        .as_bytes()
        .windows(3)
        .any(|three| three[0].is_ascii_digit() && three[1] == b'.' && three[2].is_ascii_digit());
    if has_decimals {
        return name.trim().to_lowercase();
    }
    let zeros = plain.trim_start_matches('0');
    let is_number = !zeros.is_empty() && plain.bytes().all(|byte| byte.is_ascii_digit());
    if is_number { zeros.into() } else { plain }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_the_same_however_it_is_typed() {
        for name in ["hw-1", "HW-1", "HW 1", "Hw_1", "hw\u{2013}1"] {
            assert_eq!(as_typed(name), "hw1", "{name}");
        }
        assert_eq!(as_typed("00123"), as_typed("123"));
        for (one, other) in [("HW-1", "HW-2"), ("8x4.5", "8x45"), ("A01", "A1"), ("0", "00")] {
            assert_ne!(as_typed(one), as_typed(other), "{one} {other}");
        }
    }
}
