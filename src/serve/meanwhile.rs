//! What others changed while somebody filled in a form: both versions are shown, and nothing is
//! stored until one of them is chosen.

use maud::{Markup, html};

use super::visit::{Reply, Visit};
use crate::model::history::Event;
use crate::report::html::{events as told, text};

/// The page that shows both. `again` is the page on which what was meant is looked at anew, with what
/// the others changed in it.
pub(super) fn page(
    visit: &Visit,
    name: &str,
    events: &[Event],
    yours: &Markup,
    again: &str,
) -> Reply {
    let body = html! {
        h1 { "Changed in the meantime: " (text(name)) }
        p { "Nothing of yours is stored yet, and nothing of theirs is lost." }
        div.both {
            section {
                h2 { "What was changed since you looked" }
                (told(visit.shop.kinds, events, visit.view()))
            }
            section {
                h2 { "What you meant to store" }
                (yours)
            }
        }
        p.row {
            a.button.main href=(again) { "Look at yours again, with theirs in it" }
        }
    };
    Reply::Refused("Changed in the meantime".into(), body)
}
