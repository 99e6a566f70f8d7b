//! A part: what is known of it, and what its pieces measured.

use maud::{Markup, html};

use super::blocks::{blocks, words};
use super::plot::plot;
use super::text;
use crate::measure::findings::{Family, Findings};
use crate::measure::lessons::lessons as taught;
use crate::model::house::House;
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::pieces::ReadingSet;
use crate::report::page::{Block, Page};
use crate::report::{View, lessons as told, records, shop};

/// What is known of a part, column by column.
pub fn part(part: &Part, house: &House, view: View) -> Markup {
    let mut page = Page::new(view.width);
    shop::part_pairs(&mut page, part, house, view);
    html! {
        dl.known {
            @for block in page.into_blocks() {
                @if let Block::Line(key, value) = block {
                    div { dt { (text(key.trim())) } dd { (words(&value)) } }
                }
            }
        }
    }
}

/// Listed, measured and predicted side by side, and every reading against its tolerance; nothing where
/// nothing was read.
pub fn lessons(findings: &Findings<'_>, family: &Family<'_>, view: View) -> Markup {
    let Some(page) = told::page(findings, family, view) else { return html! {} };
    html! {
        @for (index, lesson) in taught(findings, family).iter().enumerate() {
            (plot(findings, family, lesson, view, &format!("plot{index}")))
        }
        (blocks(&page.into_blocks(), "Listed, measured and predicted"))
    }
}

/// Sets of readings as they were taken.
pub fn readings(library: &Library, sets: &[&ReadingSet], view: View) -> Markup {
    blocks(&records::reading_page(library, sets, view).into_blocks(), "Sets of readings")
}
