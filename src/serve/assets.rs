//! The style and the script of every page, built into the program.

use std::hash::{DefaultHasher, Hash as _, Hasher as _};
use std::sync::LazyLock;

const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("script.js");

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
    } else {
        None
    }
}
