//! What a look through the library found: grouped, counted, with what to do about it.

use serde::Serialize as Derive;

use super::View;
use super::columns::write;
use super::json;
use super::page::{Grid, Page};
use super::shop::value_shown;
use super::units::Units;
use crate::measure::remark::{Found, Remark, Topic};
use crate::model::kinds::Quantity;
use crate::model::length::Length;
use crate::model::usual::Usual;
use crate::model::words::count;
use crate::stack::inspection::Inspection;

/// What a topic's remarks have in common.
pub(super) const fn title(topic: Topic) -> &'static str {
    match topic {
        Topic::Impossible => "Cannot be",
        Topic::Contradiction => "Cannot both be right",
        Topic::Suspicious => "Can hardly be",
        Topic::Unusual => "Outside what is usual",
        Topic::AlikeIds => "Numbers that differ only by how they are typed",
        Topic::InHand => "A piece in hand changes an answer",
        Topic::SetAside => "Set aside, and cannot be so",
        Topic::BeyondTolerance => "New pieces measure what their maker does not state",
        Topic::StandsApart => "A piece stands apart from its sisters",
        Topic::Lacks => "Lacks a dimension",
        Topic::NoLimit => "No limit of error",
        Topic::NoTolerance => "No tolerance",
        Topic::LoneFace => "A pattern that no other part has",
        Topic::UnknownFace => "Unknown mating face",
        Topic::NoPrice => "No price",
    }
}

/// What to do about it.
pub(super) const fn advice(topic: Topic) -> &'static str {
    match topic {
        Topic::Impossible => "correct the entry; no answer that uses it can be trusted",
        Topic::Contradiction => "take both readings again before anything is built by them",
        Topic::Suspicious => "look at it again: it may be a slip of the pen",
        Topic::Unusual => "look at it once more, if nobody meant it",
        Topic::AlikeIds => "keep one of them, if they are the same part",
        Topic::InHand => {
            "judge by the piece before it is fitted (`bellstack help grades` says what the grades mean)"
        }
        Topic::SetAside => "look on the shelf, then `part put-back` or `part take-out`",
        Topic::BeyondTolerance => "measure again, or list what the pieces measure",
        Topic::StandsApart => {
            "same revision? if not, give it a part number of its own; if misread, strike the reading"
        }
        Topic::Lacks => "measure it; until then the part stands in no stack",
        Topic::NoLimit => {
            "enter its limits of error; until then they are assumed, and nothing is sure"
        }
        Topic::NoTolerance => "state one; until then it is assumed, and no stack is sure",
        Topic::LoneFace => "is it spelled as on what it fits? as it stands it mates with nothing",
        Topic::UnknownFace => {
            "name it, or `*` where it fits all; until then it counts as not verified"
        }
        Topic::NoPrice => "enter it; until then the part ranks behind all that are priced",
    }
}

/// What was found, in words; blank where the columns say it all.
pub(super) fn found(found: &Found, say: Units, view: View) -> String {
    let value = |quantity, value| match quantity {
        Quantity::Length => say.length(Length::from_nm(value)),
        _ => value_shown(quantity, value, view.unit),
    };
    match found {
        Found::Nothing => String::new(),
        Found::Words(words) => words.clone(),
        Found::Mean { quantity, pieces, mean, listed, tol } => format!(
            "{} measure {}, listed {} +- {}",
            count(*pieces as u128, "piece"),
            value(*quantity, *mean),
            value(*quantity, *listed),
            value(*quantity, *tol)
        ),
        Found::Apart(quantity, apart) => format!(
            "measures {}, its sisters {}: {:.1} times their scatter",
            value(*quantity, apart.value),
            value(*quantity, apart.sisters),
            apart.times
        ),
        Found::Travel(travel, least) => format!(
            "travels {}, and the house fallback alone takes {}",
            say.length(*travel),
            say.length(*least)
        ),
        Found::Clamped(clamped, other) => format!(
            "{} clamped, but free thickness less cushion is {}",
            say.length(*clamped),
            say.length(*other)
        ),
        Found::OtherUnit(value, (low, high)) => format!(
            "{}, where others are {} to {}: as if in the other unit",
            say.length(*value),
            say.length(*low),
            say.length(*high)
        ),
        Found::Unusual(length, Usual { low, high }) => format!(
            "{}, and such a length is usually {} to {}",
            say.length(*length),
            say.length(*low),
            say.length(*high)
        ),
        Found::WideTolerance(tol, most) => format!(
            "a tolerance of {}, and they are usually {} at most",
            say.length(*tol),
            say.length(*most)
        ),
        Found::Price(price, (low, high)) => {
            format!("{price}, where half of the prices of its kind are {low} to {high}")
        }
        Found::Beyond(length) => {
            format!("read at {}, beyond the lengths for which it has limits", say.length(*length))
        }
        Found::Routes { length, first, second, apart } => {
            format!("{} apart: {length} by {first}, and by {second}", say.length(*apart))
        }
    }
}

/// The remarks of one topic after the other.
pub(super) fn topics(remarks: &[Remark]) -> impl Iterator<Item = (Topic, &[Remark])> {
    let same = |a: &Remark, b: &Remark| a.topic == b.topic;
    remarks.chunk_by(same).filter_map(|all| Some((all.first()?.topic, all)))
}

/// What was found, topic by topic; of each at most so many lines.
pub fn table(inspection: &Inspection, most: usize, view: View) -> String {
    let mut page = Page::new(view.width);
    let Inspection { parts, pieces, jobs, remarks } = inspection;
    let of = [(*parts, "part"), (*pieces, "piece"), (*jobs, "job")];
    let [parts, pieces, jobs] = of.map(|(number, thing)| count(number as u128, thing));
    if remarks.is_empty() {
        page.line(format!("Nothing to look at in {parts}, {pieces} and {jobs}."));
        return page.finish();
    }
    let things = count(remarks.len() as u128, "thing");
    page.line(format!("{things} to look at in {parts}, {pieces} and {jobs}, the gravest first."));
    for (topic, all) in topics(remarks) {
        page.gap();
        page.line(format!("{} ({}): {}.", title(topic), all.len(), advice(topic)));
        let said = all.iter().take(most).any(|remark| remark.found != Found::Nothing);
        let named = all.iter().take(most).any(|remark| !remark.columns.is_empty());
        let mut columns = vec!["kind", "id"];
        columns.extend(named.then_some("column"));
        columns.extend(said.then_some("what was found"));
        let mut grid = Grid::new(columns);
        for remark in all.iter().take(most) {
            let mut row = vec![remark.kind.to_string(), remark.id.clone()];
            row.extend(named.then(|| remark.columns.join(", ")));
            row.extend(said.then(|| found(&remark.found, Units::One(view.unit), view)));
            grid.row(row);
        }
        if most > 0 {
            page.grid(grid);
        }
        if all.len() > most {
            page.line(format!("and {} more: `bellstack check --all` shows them", all.len() - most));
        }
    }
    page.finish()
}

#[derive(Derive)]
struct Looked<'a> {
    found: usize,
    parts: usize,
    pieces: usize,
    jobs: usize,
    topics: Vec<TopicRow<'a>>,
}

#[derive(Derive)]
struct TopicRow<'a> {
    topic: &'static str,
    count: usize,
    what_to_do: &'static str,
    remarks: Vec<RemarkRow<'a>>,
}

#[derive(Derive)]
struct RemarkRow<'a> {
    kind: &'static str,
    id: &'a str,
    columns: &'a [&'static str],
    found: String,
}

/// Everything that was found as one JSON object; its sentences give lengths in both units.
pub fn json(inspection: &Inspection, view: View) -> String {
    fn row(remark: &Remark, view: View) -> RemarkRow<'_> {
        let found = found(&remark.found, Units::Both, view);
        RemarkRow { kind: remark.kind, id: &remark.id, columns: &remark.columns, found }
    }
    let rows = topics(&inspection.remarks).map(|(topic, all)| TopicRow {
        topic: topic.key(),
        count: all.len(),
        what_to_do: advice(topic),
        remarks: all.iter().map(|remark| row(remark, view)).collect(),
    });
    json::object(Looked {
        found: inspection.remarks.len(),
        parts: inspection.parts,
        pieces: inspection.pieces,
        jobs: inspection.jobs,
        topics: rows.collect(),
    })
}

/// Everything that was found as CSV: one row a remark.
pub fn csv(inspection: &Inspection, view: View) -> String {
    let header = ["topic", "kind", "id", "columns", "found", "what_to_do"];
    let mut rows = vec![header.map(String::from).to_vec()];
    for remark in &inspection.remarks {
        rows.push(vec![
            remark.topic.key().into(),
            remark.kind.into(),
            remark.id.clone(),
            remark.columns.join("|"),
            found(&remark.found, Units::One(view.unit), view),
            advice(remark.topic).into(),
        ]);
    }
    write(rows)
}
