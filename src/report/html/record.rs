//! What is on record.

use maud::Markup;

use super::blocks::blocks;
use crate::model::history::Event;
use crate::report::page::Page;
use crate::report::{View, history};

/// Events under the commands that they came with.
pub fn events(events: &[Event], view: View) -> Markup {
    let mut page = Page::new(view.width);
    history::list(&mut page, events, view.unit);
    blocks(&page.into_blocks(), "What was changed")
}
