//! A file's bytes as text, in whichever encoding a shop's programs wrote them.

use chardetng::{EncodingDetector, Iso2022JpDetection, Utf8Detection};
use encoding_rs::{Encoding, UTF_16BE, UTF_16LE};

use crate::error::{Error, Result};

/// A file's text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Decoded {
    /// The text without a byte order mark, however often a tool has put one before it.
    pub(super) text: String,
    /// The encoding that was found out rather than known: a wrong one garbles letters, so it is told.
    pub(super) guessed: Option<&'static str>,
}

/// Reads UTF-8, UTF-16 (with its mark or without) and the old encodings of one byte a letter.
///
/// # Errors
///
/// The line of the first byte that is no text, and the refusal.
pub(super) fn decode(bytes: &[u8]) -> Result<Decoded, (usize, Error)> {
    if let Some((encoding, mark)) = Encoding::for_bom(bytes) {
        return known(encoding, &bytes[mark..]);
    }
    if !bytes.contains(&0)
        && let Ok(text) = std::str::from_utf8(bytes)
    {
        return Ok(Decoded { text: unmarked(text), guessed: None });
    }
    if let Some(encoding) = halves(bytes) {
        return known(encoding, bytes);
    }
    let mut detector = EncodingDetector::new(Iso2022JpDetection::Deny);
    detector.feed(bytes, true);
    let encoding = detector.guess(None, Utf8Detection::Deny);
    let (text, had_errors) = encoding.decode_without_bom_handling(bytes);
    let is_strange = |c: char| c.is_control() && !matches!(c, '\t' | '\r' | '\n' | '\u{c}');
    match text.find(is_strange) {
        None if !had_errors => {
            Ok(Decoded { text: unmarked(&text), guessed: Some(encoding.name()) })
        }
        found => Err(no_text(line_of(&text, found.unwrap_or(0)))),
    }
}

fn known(encoding: &'static Encoding, bytes: &[u8]) -> Result<Decoded, (usize, Error)> {
    let (text, had_errors) = encoding.decode_without_bom_handling(bytes);
    if !had_errors {
        return Ok(Decoded { text: unmarked(&text), guessed: None });
    }
    let line = line_of(&text, text.find('\u{fffd}').unwrap_or(0));
    let error = Error::input(format!("the file says that it is {}, and is not", encoding.name()));
    Err((line, error.hint("save it once more, as CSV UTF-8")))
}

/// UTF-16 without a mark: of nearly every letter one half is zero, and always the same one.
fn halves(bytes: &[u8]) -> Option<&'static Encoding> {
    let pairs = bytes.len() / 2;
    let zeros = |half: usize| bytes.iter().skip(half).step_by(2).filter(|byte| **byte == 0).count();
    let (first, second) = (zeros(0), zeros(1));
    let most = |zeros: usize, others: usize| zeros * 2 > pairs && others * 20 < pairs;
    if !bytes.len().is_multiple_of(2) || pairs == 0 {
        None
    } else if most(second, first) {
        Some(UTF_16LE)
    } else if most(first, second) {
        Some(UTF_16BE)
    } else {
        None
    }
}

fn unmarked(text: &str) -> String {
    text.trim_start_matches('\u{feff}').to_string()
}

fn line_of(text: &str, at: usize) -> usize {
    text[..at].matches('\n').count() + 1
}

fn no_text(line: usize) -> (usize, Error) {
    let error = Error::input("this is neither text nor a workbook that can be read")
        .hint("save it as a workbook (xlsx or ods) or as CSV UTF-8");
    (line, error)
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "id,maker\r\nA,Caf\u{e9} \u{2013} M\u{fc}ller\r\n";

    fn wide(text: &str, bytes: fn(u16) -> [u8; 2]) -> Vec<u8> {
        text.encode_utf16().flat_map(bytes).collect()
    }

    #[test]
    fn the_same_text_is_read_in_every_encoding() {
        let (little, big) = (u16::to_le_bytes, u16::to_be_bytes);
        let marked = format!("\u{feff}{TEXT}");
        let all = [
            TEXT.as_bytes().to_vec(),
            format!("\u{feff}\u{feff}{TEXT}").into_bytes(),
            wide(&marked, little),
            wide(&marked, big),
            wide(TEXT, little),
            wide(TEXT, big),
        ];
        for bytes in all {
            let decoded = decode(&bytes).unwrap();
            assert_eq!((decoded.text.as_str(), decoded.guessed), (TEXT, None), "{bytes:?}");
        }
        let (old, _, _) = encoding_rs::WINDOWS_1252.encode(TEXT);
        let decoded = decode(&old).unwrap();
        assert_eq!((decoded.text.as_str(), decoded.guessed), (TEXT, Some("windows-1252")));
    }

    #[test]
    fn what_is_no_text_is_refused_with_its_line() {
        assert_eq!(decode(b"id\nA,\x00\x01\n").unwrap_err().0, 2);
        let broken = b"\xEF\xBB\xBFid\nA\n\xE9\n";
        let (line, error) = decode(broken).unwrap_err();
        assert_eq!(line, 3);
        assert!(error.to_string().contains("says that it is UTF-8, and is not"), "{error}");
    }
}
