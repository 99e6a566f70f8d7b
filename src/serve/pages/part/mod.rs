//! Parts: found, looked at, changed.

mod edit;
mod list;

pub(super) use edit::{add, new, page as edit, store};
pub(super) use list::page as list;

use maud::{Markup, html};

use crate::error::{Error, Result};
use crate::measure::findings::Findings;
use crate::model::library::Library;
use crate::model::pieces::{ReadingSet, part_and_label};
use crate::report::html::{lessons, part as known, readings, text};
use crate::serve::form::asked;
use crate::serve::visit::{Reply, Visit};

/// One part: what is known of it, and what its pieces measured.
pub(super) fn page(visit: &Visit) -> Result<Reply> {
    let asked_for = visit.needed("id")?;
    let catalog = visit.catalog()?;
    let (library, id, jobs) = catalog.read(|reader| {
        let library = reader.load_library()?;
        // A piece is shown with its part number.
        let id = match part_and_label(asked_for) {
            Some((part, _)) if library.find(asked_for).is_none() => part,
            _ => asked_for,
        };
        let id = reader.load_part(id)?.id;
        let jobs = reader.jobs_naming(&id)?;
        Ok((library, id, jobs))
    })?;
    let part = library.find(&id).ok_or_else(|| Error::input(format!("there is no part `{id}`")))?;
    let findings = Findings::of(&library);
    let view = visit.view();
    let key = [("id", id.as_str())];
    Reply::page(
        id.clone(),
        html! {
            div.head {
                div {
                    h1 { (text(&part.id)) }
                    p.about { (part.kind.name) @if !part.description.is_empty() { ": " (text(&part.description)) } }
                }
                nav.ways aria-label="This part" {
                    a.button.main href=(asked("/measure", [("part", id.as_str())])) { "Measure a piece" }
                    a.button href=(asked("/part/edit", key)) { "Edit" }
                    a.button href=(asked("/record", [("part", id.as_str())])) { "On record" }
                    a.button href=(asked("/parts", [("mates", id.as_str())])) { "What mates with it" }
                }
            }
            div.both.uneven {
                section {
                    h2 { "As it is listed" }
                    (known(part, &library.house, view))
                    @if !jobs.is_empty() {
                        p { "Named by " @for (index, job) in jobs.iter().enumerate() { @if index > 0 { ", " } a href=(asked("/car", [("job", job.as_str())])) { (text(job)) } } }
                    }
                }
                section {
                    h2 { "As it measured" }
                    @match findings.family(&part.id) {
                        Some(family) => { (lessons(&findings, family, view)) }
                        None => { p { "No piece of it was measured yet." } }
                    }
                    (sets(&library, &part.id, visit))
                }
            }
        },
    )
}

/// Every set of readings as it was taken.
fn sets(library: &Library, id: &str, visit: &Visit) -> Markup {
    let of_part = |set: &&ReadingSet| set.part == id;
    let sets: Vec<_> = library.measured.readings.iter().filter(of_part).collect();
    html! {
        @if !sets.is_empty() {
            details { summary { h3 { "Every set of readings" } } (readings(library, &sets, visit.view())) }
        }
    }
}
