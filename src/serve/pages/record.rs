//! On record: who changed what, and the answers that were kept.

use maud::{Markup, html};

use crate::catalog::Reader;
use crate::desk::{Bench, today};
use crate::error::Result;
use crate::model::history::About;
use crate::model::kept::KeptAnswer;
use crate::report::html::{events, text};
use crate::serve::form::asked;
use crate::serve::visit::{Reply, Visit};

/// How many changes one page shows, and of how many answers it is said whether they still hold.
const CHANGES: usize = 60;
const ANSWERS: usize = 30;

pub(super) fn page(visit: &Visit) -> Result<Reply> {
    let (job, part) = (visit.query.one("job"), visit.query.one("part"));
    let of = match (job, part) {
        (Some(job), _) => About::Job(job),
        (None, Some(part)) => About::Part(part),
        (None, None) => About::Everything,
    };
    let limit = visit.query.number("limit").unwrap_or(CHANGES).clamp(1, 2000);
    let catalog = visit.catalog()?;
    let (changes, earlier, kept) = catalog.read(|reader| {
        let (changes, earlier) = reader.history(of, limit)?;
        let kept = if part.is_some() { Vec::new() } else { answers(visit, reader, job)? };
        Ok((changes, earlier, kept))
    })?;
    let title = match job.or(part) {
        Some(name) => format!("On record: {name}"),
        None => "On record".into(),
    };
    let filter = [("job", job.unwrap_or_default()), ("part", part.unwrap_or_default())];
    let more = (limit + CHANGES).to_string();
    Reply::page(
        title.clone(),
        html! {
            h1 { (text(&title)) }
            @if let Some(job) = job { p { a.button href=(asked("/car", [("job", job)])) { (text(job)) } } }
            @if let Some(part) = part { p { a.button href=(asked("/part", [("id", part)])) { (text(part)) } } }
            @if part.is_none() {
                section {
                    h2 { "Kept answers" }
                    @if kept.is_empty() { p { "No answer is kept." } }
                    ul.remarks { @for one in &kept { (one) } }
                }
            }
            section.record {
                h2 { "Changes, the newest first" }
                @if changes.is_empty() { p { "No change is on record." } }
                (events(visit.shop.kinds, &changes, visit.view()))
                @if earlier > 0 {
                    p {
                        (earlier) " earlier. "
                        a href=(asked("/record", filter.into_iter().chain([("limit", more.as_str())]))) { "Show more" }
                    }
                }
            }
        },
    )
}

/// The kept answers, the newest first, each with whether its best stack still holds.
fn answers(visit: &Visit, reader: &Reader<'_>, job: Option<&str>) -> Result<Vec<Markup>> {
    let kept = reader.load_answers()?;
    let wanted = kept.iter().rev().filter(|(_, kept)| match (job, kept) {
        (Some(job), Ok(kept)) => kept.job == job,
        _ => true,
    });
    let row = |(index, (name, kept)): (usize, &(String, Result<KeptAnswer>))| match kept {
        Ok(kept) if index < ANSWERS => {
            let (holds, now) = still_holds(visit, reader, kept);
            html! {
                li class=(if holds { "is-in" } else { "is-out" }) {
                    div {
                        strong { (text(name)) } " " span.note { (text(&kept.job)) ", " (text(&kept.stamp.at)) ", " (text(by(kept))) }
                        p { (now) }
                    }
                    a.button href=(asked("/answer", [("name", name.as_str())])) { "Then and now" span.unseen { ": " (text(name)) } }
                }
            }
        }
        Ok(kept) => html! {
            li {
                div { strong { (text(name)) } " " span.note { (text(&kept.job)) ", " (text(&kept.stamp.at)) } }
                a.button href=(asked("/answer", [("name", name.as_str())])) { "Then and now" span.unseen { ": " (text(name)) } }
            }
        },
        Err(error) => {
            html! { li { div { strong { (text(name)) } p { (text(error.message())) } } } }
        }
    };
    Ok(wanted.enumerate().map(row).collect())
}

fn by(kept: &KeptAnswer) -> &str {
    if kept.stamp.by.is_empty() { "unknown" } else { &kept.stamp.by }
}

/// Whether the best stack of an answer is still in its window and fails no check, and what it is now.
fn still_holds(visit: &Visit, reader: &Reader<'_>, kept: &KeptAnswer) -> (bool, String) {
    let Some(then) = kept.stacks.stacks.first() else {
        return (false, "It named no stack.".into());
    };
    let now = Bench::read(reader, &kept.job).and_then(|bench| {
        let setup = bench.setup()?;
        let fit = today(&setup, then, &visit.watch)?;
        Ok((fit.holds(), fit.grade.word(), fit.room))
    });
    let unit = visit.unit();
    match now {
        Ok((holds, grade, room)) => {
            let word = if holds { "Still holds" } else { "Holds no longer" };
            let then = format!("{} with {} of room then", then.grade, then.room.show(unit));
            (holds, format!("{word}: {then}, {grade} with {} today.", room.show(unit)))
        }
        Err(error) => (false, format!("Cannot be told today: {}", error.message())),
    }
}
