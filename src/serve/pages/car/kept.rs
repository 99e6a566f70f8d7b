//! Answers that are kept, and what has become of them.

use maud::html;

use crate::desk::{Asked, Since, compare, keep as keep_answer};
use crate::error::Result;
use crate::report::html::{compared, text};
use crate::serve::form::asked;
use crate::serve::visit::{Reply, Visit};

/// Keeps the answer to a car as it is fitted.
pub(in crate::serve::pages) fn keep(visit: &Visit) -> Result<Reply> {
    let id = visit.needed("job")?;
    let stamp = visit.stamp(format!("answer keep {id} --fit"))?;
    let mut catalog = visit.open_to_write()?;
    let (name, _) = keep_answer(
        &mut catalog,
        (id, visit.form.one("name")),
        (&stamp, &visit.shop.today()),
        |_| Ok(Asked::Fitted),
        &visit.watch,
    )?;
    Ok(Reply::Go(asked("/answer", [("name", name.as_str())])))
}

/// A kept answer beside today's.
pub(in crate::serve::pages) fn page(visit: &Visit) -> Result<Reply> {
    let name = visit.needed("name")?;
    let Since { kept, bench, events } =
        visit.catalog()?.read(|reader| Since::read(reader, name))?;
    let setup = bench.setup()?;
    let told = compare(&setup, &kept, events, &visit.watch)?;
    Reply::page(
        format!("Answer {name}"),
        html! {
            h1 { "Answer " (text(name)) }
            p.row {
                a.button href=(asked("/car", [("job", kept.job.as_str())])) { (text(&kept.job)) }
                a.button href="/record" { "On record" }
            }
            (compared(&setup, &told, visit.view()))
        },
    )
}
