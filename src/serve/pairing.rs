//! The code that lets one device in, and the addresses that hold it.

use std::net::SocketAddr;

use qrcode::render::unicode::Dense1x2;
use qrcode::{EcLevel, QrCode};

use super::Random;
use crate::error::{Error, Result};

/// An address for a browser.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Address {
    /// The address with its code.
    pub url: String,
    /// Whether other devices of the shop's network reach it too.
    pub lan: bool,
}

/// Letters and digits that nobody takes for each other: no `i`, `l`, `o` or `1`.
const SIGNS: &[u8; 32] = b"abcdefghjkmnpqrstuvwxyz023456789";

/// How many signs a code has: 60 bits at five a sign.
const CODE: usize = 12;

fn fill(random: &Random, bytes: &mut [u8]) -> Result<()> {
    random(bytes).map_err(|why| Error::storage(format!("the system gives no randomness: {why}")))
}

/// A new code, in groups of four so that it can be typed off a screen.
pub(super) fn code(random: &Random) -> Result<String> {
    let mut bytes = [0; CODE];
    fill(random, &mut bytes)?;
    let signs: Vec<char> =
        bytes.iter().map(|byte| char::from(SIGNS[usize::from(byte % 32)])).collect();
    let groups: Vec<String> = signs.chunks(4).map(|group| group.iter().collect()).collect();
    Ok(groups.join("-"))
}

/// A secret that is never typed: a device's cookie, or the token of its forms.
pub(super) fn secret(random: &Random) -> Result<String> {
    use std::fmt::Write as _;
    let mut bytes = [0; 24];
    fill(random, &mut bytes)?;
    let mut text = String::with_capacity(2 * bytes.len());
    for byte in bytes {
        // Writing into a string does not fail.
        let _ = write!(text, "{byte:02x}");
    }
    Ok(text)
}

/// The addresses that let a device in with this code: that of the shop's network first.
pub(super) fn addresses(code: &str, here: SocketAddr, lan: Option<SocketAddr>) -> Vec<Address> {
    let address =
        |at: SocketAddr, lan: bool| Address { url: format!("http://{at}/in/{code}"), lan };
    lan.map(|at| address(at, true)).into_iter().chain([address(here, false)]).collect()
}

/// A text as a QR code of half blocks for a terminal; none of one that is too long.
pub fn qr(text: &str) -> Option<String> {
    let code = QrCode::with_error_correction_level(text, EcLevel::M).ok()?;
    // A camera wants dark signs on light paper, and most terminals write light on dark.
    let mut lines = code.render::<Dense1x2>();
    Some(lines.dark_color(Dense1x2::Light).light_color(Dense1x2::Dark).build())
}

/// The same as the squares of a drawing, row by row: whether each is dark.
pub(super) fn squares(text: &str) -> Option<(usize, Vec<bool>)> {
    let code = QrCode::with_error_correction_level(text, EcLevel::M).ok()?;
    let dark = code.to_colors().into_iter().map(|colour| colour == qrcode::Color::Dark);
    Some((code.width(), dark.collect()))
}

/// Whether two secrets are the same, in a time that says nothing of where they differ.
pub(super) fn same(a: &str, b: &str) -> bool {
    let differ = a.bytes().zip(b.bytes()).fold(0, |differ, (a, b)| differ | (a ^ b));
    a.len() == b.len() && differ == 0
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use super::*;

    #[test]
    fn a_code_is_typed_in_groups_of_signs_that_nobody_mistakes() {
        let random: Random = Arc::new(|bytes: &mut [u8]| {
            for (index, byte) in bytes.iter_mut().enumerate() {
                *byte = u8::try_from(index * 41 % 256).unwrap();
            }
            Ok(())
        });
        let code = code(&random).unwrap();
        assert_eq!(code.len(), 14, "{code}");
        assert!(code.bytes().all(|sign| SIGNS.contains(&sign) || sign == b'-'), "{code}");
        let mut signs = SIGNS.to_vec();
        signs.dedup();
        assert_eq!(signs.len(), 32, "every sign is there once");
    }

    #[test]
    fn a_code_in_a_terminal_is_dark_on_light_with_a_light_margin() {
        let text = qr("http://192.0.2.1:8417/in/abcd-efgh-jkmn").unwrap();
        let rows: Vec<&str> = text.lines().collect();
        assert!(rows[0].chars().all(|sign| sign == '\u{2588}'), "light is written: {}", rows[0]);
        // An odd number of rows ends in half blocks.
        assert!(rows.iter().all(|row| row.starts_with(['\u{2588}', '\u{2580}'])), "{text}");
        assert!(text.contains(' '), "dark is not");
        let (width, squares) = squares("http://192.0.2.1:8417/in/abcd-efgh-jkmn").unwrap();
        assert_eq!(squares.len(), width * width);
    }

    #[test]
    fn secrets_are_compared_whole() {
        assert!(same("abc", "abc"));
        assert!(!same("abc", "abd") && !same("abc", "ab") && !same("", "a"));
    }
}
