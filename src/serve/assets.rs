//! The style and the script of every page, built into the program.

use std::hash::{DefaultHasher, Hash as _, Hasher as _};
use std::sync::LazyLock;

const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("script.js");

/// The name of the sign that a browser shows beside a page's title.
pub(super) const MARK_NAME: &str = "mark.svg";

/// A travel bar with its mark.
const MARK: &str = "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 32 32\"><path \
    d=\"M2 9h28v14H2z\" fill=\"#fff\" stroke=\"#15495c\" stroke-width=\"3\"/><path d=\"M3 10h7v12H3zM24 \
    10h5v12h-5z\" fill=\"#9bb8c3\"/><path d=\"M18 4v24\" stroke=\"#97251b\" stroke-width=\"4\"/></svg>";

/// The file's name with a mark of what it holds, so that a browser may keep it for ever.
fn marked(text: &str, ending: &str) -> String {
    let mut hasher = DefaultHasher::new();
    text.hash(&mut hasher);
    format!("{:016x}.{ending}", hasher.finish())
}

static STYLE_NAME: LazyLock<String> = LazyLock::new(|| marked(STYLE, "css"));
static SCRIPT_NAME: LazyLock<String> = LazyLock::new(|| marked(SCRIPT, "js"));

/// The address of the style.
pub(super) fn style() -> String {
    format!("/fixed/{}", *STYLE_NAME)
}

/// The address of the script.
pub(super) fn script() -> String {
    format!("/fixed/{}", *SCRIPT_NAME)
}

/// The file of this name, with what kind it is.
pub(super) fn named(name: &str) -> Option<(&'static str, &'static str)> {
    if name == *STYLE_NAME {
        Some(("text/css; charset=utf-8", STYLE))
    } else if name == *SCRIPT_NAME {
        Some(("text/javascript; charset=utf-8", SCRIPT))
    } else if name == MARK_NAME {
        Some(("image/svg+xml", MARK))
    } else {
        None
    }
}
