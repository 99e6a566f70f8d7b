//! What a browser sends: names with their values, and the addresses that it asks for.

use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, percent_decode_str, utf8_percent_encode};

/// The names and values of a form or of a question in an address, in the order in which they came.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Fields(Vec<(String, String)>);

impl Fields {
    /// Reads `name=value&...` as forms send it. What is no UTF-8 is shown as such.
    pub(super) fn read(text: &str) -> Self {
        let decode = |text: &str| {
            let spaced = text.replace('+', " ");
            let value = decoded(&spaced);
            // Browsers send a text's line breaks as two characters.
            value.replace("\r\n", "\n")
        };
        let pairs = text.split('&').filter(|pair| !pair.is_empty()).map(|pair| {
            let (name, value) = pair.split_once('=').unwrap_or((pair, ""));
            (decode(name), decode(value))
        });
        Self(pairs.collect())
    }

    /// Every name with its value.
    pub(super) fn iter(&self) -> impl Iterator<Item = (&str, &str)> {
        self.0.iter().map(|(name, value)| (name.as_str(), value.as_str()))
    }

    /// The first value of a name, without spaces around it; none of one that is blank or not there.
    pub(super) fn one(&self, name: &str) -> Option<&str> {
        let found = self.iter().find(|(known, _)| *known == name);
        found.map(|(_, value)| value.trim()).filter(|value| !value.is_empty())
    }

    /// The same, blank where it is not there.
    pub(super) fn text(&self, name: &str) -> &str {
        self.one(name).unwrap_or_default()
    }

    /// Every value of a name, blank ones too.
    pub(super) fn all(&self, name: &str) -> Vec<&str> {
        let of_name = self.iter().filter(|(known, _)| *known == name);
        of_name.map(|(_, value)| value.trim()).collect()
    }

    /// Whether there is this name at all.
    pub(super) fn has(&self, name: &str) -> bool {
        self.iter().any(|(known, _)| known == name)
    }

    /// A whole number.
    pub(super) fn number<N: std::str::FromStr>(&self, name: &str) -> Option<N> {
        self.one(name)?.parse().ok()
    }
}

/// What stands in an address as it is.
const PLAIN: &AsciiSet = &NON_ALPHANUMERIC.remove(b'-').remove(b'_').remove(b'.').remove(b'~');

/// A text as it stands in an address.
pub(super) fn encoded(text: &str) -> String {
    utf8_percent_encode(text, PLAIN).to_string()
}

/// A text out of an address or a cookie.
pub(super) fn decoded(text: &str) -> String {
    percent_decode_str(text).decode_utf8_lossy().into_owned()
}

/// An address with a question.
pub(super) fn asked<'t>(
    path: &str,
    fields: impl IntoIterator<Item = (&'t str, &'t str)>,
) -> String {
    let pairs = fields.into_iter().filter(|(_, value)| !value.is_empty());
    let pairs: Vec<String> =
        pairs.map(|(name, value)| format!("{}={}", encoded(name), encoded(value))).collect();
    if pairs.is_empty() { path.into() } else { format!("{path}?{}", pairs.join("&")) }
}

/// An address of this server that somebody sent back; the first page where it is none of this server.
pub(super) fn own(back: &str) -> &str {
    let own = back.starts_with('/') && !back.starts_with("//") && !back.contains('\\');
    let clean = back.bytes().all(|byte| byte.is_ascii_graphic());
    if own && clean { back } else { "/" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_form_is_read_as_browsers_send_it() {
        let fields = Fields::read("id=FW-1%231&id=B&note=a+b%0D%0Ac&blank=&%3Cb%3E=%C3%A9&odd=%FF");
        assert_eq!(fields.one("id"), Some("FW-1#1"));
        assert_eq!(fields.all("id"), ["FW-1#1", "B"]);
        assert_eq!(fields.text("note"), "a b\nc");
        assert_eq!((fields.one("blank"), fields.has("blank")), (None, true));
        assert_eq!(fields.one("<b>"), Some("\u{e9}"));
        assert_eq!(fields.one("odd"), Some("\u{fffd}"));
    }

    #[test]
    fn what_was_put_into_an_address_comes_out_of_it() {
        for name in ["a/b?c#d&e=f %2e \u{e9}", "..", "a+b", "\u{202e}"] {
            let address = asked("/car", [("job", name), ("blank", "")]);
            let (path, question) = address.split_once('?').unwrap();
            assert_eq!((path, Fields::read(question).one("job")), ("/car", Some(name)));
            assert!(!question.contains("blank"));
        }
    }

    #[test]
    fn only_an_address_of_this_server_is_gone_back_to() {
        for own_one in ["/", "/car/a%20b?x=1"] {
            assert_eq!(own(own_one), own_one);
        }
        for other in ["//elsewhere", "http://elsewhere", "/\\elsewhere", "", "/a b", "/a\n"] {
            assert_eq!(own(other), "/", "{other:?}");
        }
    }
}
