//! Look through: what the library and the jobs hold that cannot be, is doubtful or is missing, each with
//! the way to mend it.

use maud::html;

use crate::error::Result;
use crate::measure::applied::applied;
use crate::measure::remark::{Remark, Topic};
use crate::model::pieces::part_and_label;
use crate::report::html::inspected;
use crate::serve::form::asked;
use crate::serve::visit::{Reply, Visit};
use crate::stack::inspection::inspect;

/// How many remarks of one topic are shown at first, and at most.
const SHOWN: usize = 8;
const MOST: usize = 300;

pub(super) fn page(visit: &Visit) -> Result<Reply> {
    let catalog = visit.catalog()?;
    let (library, jobs) = catalog.read(|reader| {
        reader.look_through()?;
        Ok((reader.load_library()?, reader.load_jobs()?))
    })?;
    let found = inspect(&library, &applied(library.clone(), &jobs), &jobs);
    let all = visit.query.has("all");
    let most = if all { MOST } else { SHOWN };
    let total = found.remarks.len();
    Reply::page(
        "Look through",
        html! {
            h1 { "Look through" }
            p.count role="status" {
                @match total {
                    0 => { "Nothing to look at in " }
                    1 => { "1 thing to look at in " }
                    _ => { (total) " things to look at, the gravest first, in " }
                }
                (found.parts) " parts, " (found.pieces) " pieces and " (found.jobs) " cars."
            }
            @if total > 0 && !all { p { a.button href="/look?all=1" { "Show more of each" } } }
            (inspected(&found, most, visit.view(), mend))
        },
    )
}

/// Where a remark can be mended.
fn mend(remark: &Remark) -> Option<(String, &'static str)> {
    let id = remark.id.as_str();
    let at = |address: String| match remark.columns.first() {
        Some(column) => format!("{address}#field-{column}"),
        None => address,
    };
    Some(match (remark.kind, remark.topic) {
        ("job", Topic::Contradiction) => (asked("/car/enter", [("job", id)]), "Read again"),
        ("job", _) => (at(asked("/car/edit", [("job", id)])), "Mend"),
        // An instrument is set on the command line.
        ("instrument", _) => return None,
        (_, Topic::StandsApart | Topic::BeyondTolerance) => {
            let part = part_and_label(id).map_or(id, |(part, _)| part);
            (asked("/part", [("id", part)]), "Look at it")
        }
        (_, Topic::Lacks) => (asked("/measure", [("part", id)]), "Measure it"),
        _ => {
            let part = part_and_label(id).map_or(id, |(part, _)| part);
            (at(asked("/part/edit", [("id", part)])), "Mend")
        }
    })
}
