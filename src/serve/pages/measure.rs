//! Measure: a piece at the bench, big fields, mean and scatter as they come, slips questioned before
//! anything is kept.

use maud::{Markup, html};

use crate::catalog::csv::{condition_named, day_named};
use crate::desk::{AtBench, Read, Sought, sought, with_unit};
use crate::error::{Error, Result};
use crate::measure::findings::Findings;
use crate::model::kinds::{DimSpec, Quantity};
use crate::model::length::Length;
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::pieces::{Condition, ReadingSet, Specimen};
use crate::model::usual::Meant;
use crate::report::html::{text, words};
use crate::report::set_line;
use crate::serve::form::{Fields, asked};
use crate::serve::question;
use crate::serve::shell::{signed, wrong};
use crate::serve::visit::{Reply, Visit};

/// How many parts are offered to be measured.
const OFFERED: usize = 40;

/// What is to be measured: a part is found, or a piece of it is measured.
pub(super) fn page(visit: &Visit) -> Result<Reply> {
    match visit.query.one("part") {
        Some(id) => Reply::page(format!("Measure {id}"), bench(visit, id, &Remarks::default())?),
        None => find(visit),
    }
}

fn find(visit: &Visit) -> Result<Reply> {
    let library = visit.catalog()?.load_library()?;
    let found = sought(&library, &Sought { words: visit.query.text("words"), ..Sought::default() });
    Reply::page(
        "Measure",
        html! {
            h1 { "Measure" }
            p { "Which part lies on the bench?" }
            form.search method="get" action="/measure" role="search" {
                label.field { span { "Number or words" } input type="search" name="words" autofocus value=(visit.query.text("words")); }
                button.main { "Find" }
            }
            @if library.parts.is_empty() { p { "There is no part in the library yet. " a href="/parts" { "Add one first" } "." } }
            @else if found.is_empty() { p role="status" { "No part is found by these words." } }
            ul.pick {
                @for part in found.iter().take(OFFERED) {
                    li {
                        a href=(asked("/measure", [("part", part.id.as_str())])) {
                            strong { (text(&part.id)) } " " span.note { (part.kind.name) @if !part.description.is_empty() { ", " (text(&part.description)) } }
                        }
                    }
                }
            }
            @if found.len() > OFFERED { p.note { (found.len() - OFFERED) " more: narrow the words." } }
        },
    )
}

/// What is to be said of a form that was sent: what is wrong with it, and what is in question.
#[derive(Default)]
struct Remarks {
    wrong: Vec<(&'static str, Error)>,
    whole: Option<Error>,
    doubts: Vec<(&'static str, String)>,
    told: Vec<(&'static str, String)>,
}

impl Remarks {
    fn is_clear(&self) -> bool {
        self.wrong.is_empty() && self.whole.is_none() && self.doubts.is_empty()
    }
}

/// The dimensions to ask for: what a stack needs first. A torque is nobody's to read at the bench.
fn dims(part: &Part) -> Vec<&'static DimSpec> {
    let read = part.kind.dims.iter().filter(|spec| spec.quantity != Quantity::Torque);
    let (mut needed, others): (Vec<_>, Vec<_>) = read.partition(|spec| spec.needed);
    needed.extend(others);
    needed
}

fn loaded(visit: &Visit, id: &str) -> Result<(Library, Part)> {
    visit.catalog()?.read(|reader| Ok((reader.load_library()?, reader.load_part(id)?)))
}

/// The form for one piece.
fn bench(visit: &Visit, id: &str, said: &Remarks) -> Result<Markup> {
    let (library, part) = loaded(visit, id)?;
    let findings = Findings::of(&library);
    let known: Vec<&Specimen> = library.measured.pieces_of(&part).collect();
    let form = &visit.form;
    let chosen = form.one("instrument").unwrap_or_default();
    let specimen = Specimen::new(&part.id, "", Condition::New);
    let at = AtBench { findings: &findings, part: &part, piece: &specimen };
    let date = form.one("date").map_or_else(|| visit.shop.today(), String::from);
    Ok(html! {
        div.head {
            div {
                h1 { "Measure " (text(&part.id)) }
                p.about { (part.kind.name) @if !part.description.is_empty() { ": " (text(&part.description)) } }
            }
            a.button href=(asked("/part", [("id", part.id.as_str())])) { "The part" }
        }
        @if let Some(error) = &said.whole { (wrong(error)) }
        @if !said.doubts.is_empty() || !said.wrong.is_empty() {
            div.refused role="alert" { p { strong { "Nothing is stored yet." } " Look at what is marked below." } }
        }
        form.bench method="post" action="/measure" id="bench" data-keep {
            (signed(visit))
            fieldset.piece data-common {
                legend { "The piece" }
                input type="hidden" name="part" value=(part.id);
                label.field {
                    span { "Its label" }
                    input type="text" name="piece" required autocomplete="off" list="labels" value=(form.text("piece"));
                    datalist id="labels" { @for piece in &known { option value=(piece.label) {} } }
                    small {
                        @if known.is_empty() { "the shop's own mark on it, such as A" }
                        @else { "known: " @for (index, piece) in known.iter().enumerate().take(12) { @if index > 0 { ", " } (text(&piece.label)) " (" (piece.condition.word()) @if !piece.in_hand { ", gone" } ")" } }
                    }
                }
                div.choices role="radiogroup" aria-label="Condition of a piece that is not known yet" {
                    @for condition in Condition::ALL {
                        label.choice {
                            input type="radio" name="condition" value=(condition.word()) checked[form.one("condition").unwrap_or("new") == condition.word()];
                            span { (condition.word()) }
                        }
                    }
                }
                label.field {
                    span { "Instrument" }
                    select name="instrument" {
                        option value="" { "not written down" }
                        @for one in &library.measured.instruments {
                            option value=(one.name) selected[one.name == chosen] { (text(&one.name)) @if !one.description.is_empty() { ": " (text(&one.description)) } }
                        }
                    }
                }
                label.field.short { span { "Day" } input type="date" name="date" value=(date); }
                (question::units(visit))
            }
            p.note { "Several readings go into one field, with a blank between them. Leave blank what was not read." }
            @for spec in dims(&part) { (dimension(visit, spec, &at, said)) }
            button.main.large { "Store" }
        }
    })
}

/// The fields of one dimension.
fn dimension(visit: &Visit, spec: &'static DimSpec, at: &AtBench<'_>, said: &Remarks) -> Markup {
    let key = spec.key;
    let bar = format!("{key}_bar");
    let of = |list: &[(&'static str, String)]| {
        list.iter().find(|(known, _)| *known == key).map(|(_, told)| told.clone())
    };
    let (doubt, told) = (of(&said.doubts), of(&said.told));
    let error = said.wrong.iter().find(|(known, _)| *known == key).map(|(_, error)| error);
    let typed = visit.form.text(key);
    html! {
        fieldset.reading data-told="/measure/told" {
            legend { (key.replace('_', " ")) @if spec.needed { " (needed in a stack)" } }
            p.note { (words(spec.about)) @for one in at.expected(spec) { "; " (text(&one.from)) " " (one.length.show(visit.unit())) } }
            input type="hidden" name="dimension" value=(key) disabled;
            div.row {
                label.field.big { span { "Readings" } input type="text" inputmode="decimal" autocomplete="off" name=(key) value=(typed); }
                @if spec.quantity == Quantity::Length {
                    label.field.short { span { "Over a bar, thick" } input type="text" inputmode="decimal" autocomplete="off" name=(bar) value=(visit.form.text(&bar)); }
                }
            }
            output role="status" { @if let Some(told) = told { (text(&told)) } }
            @if let Some(error) = error { (wrong(error)) }
            @if let Some(doubt) = doubt {
                div.refused role="alert" {
                    p { (words(&doubt)) "." }
                    label.choice { input type="checkbox" name=(meant_name(key)) value="yes"; span { "It is what was read: keep it" } }
                }
            }
        }
    }
}

/// The name of the box that says that a doubtful reading is meant.
fn meant_name(key: &str) -> String {
    format!("{key}_meant")
}

/// How something was read, as the pairs of a row.
fn taken(visit: &Visit, fields: &Fields, by: &str) -> Result<Vec<String>> {
    let date = fields.one("date").map_or_else(|| Ok(visit.shop.today()), day_named)?;
    let mut pairs = vec![format!("by={by}"), format!("date={date}")];
    pairs.extend(fields.one("instrument").map(|name| format!("instrument={name}")));
    Ok(pairs)
}

/// The piece of a form: one that is known, or a new one in the condition that is told.
fn piece(library: &Library, part: &Part, fields: &Fields) -> Result<Specimen> {
    let label = fields.one("piece").ok_or_else(|| {
        Error::input("the piece has no label").hint("give it the mark that is on it, such as A")
    })?;
    if let Some(known) = library.measured.piece(&part.id, label) {
        return Ok(known.clone());
    }
    Ok(Specimen::new(&part.id, label, condition_named(fields.text("condition"))?))
}

/// Stores what was read, all of it at once, unless something is in question.
pub(super) fn store(visit: &Visit) -> Result<Reply> {
    let id = visit.needed("part")?;
    let again = |said: &Remarks| -> Result<Reply> {
        Ok(Reply::Again(format!("Measure {id}"), bench(visit, id, said)?))
    };
    match read(visit, id) {
        Err(error) => again(&Remarks { whole: Some(error), ..Remarks::default() }),
        Ok((said, piece, sets)) if said.is_clear() => {
            let command = format!("measure {}", piece.id());
            let stored = visit.write(command, |writer| {
                let known = writer.reader().load_measured()?;
                if known.piece(&piece.part, &piece.label).is_none() {
                    writer.insert(&piece)?;
                }
                sets.iter().try_for_each(|set| writer.insert_reading(set).map(|_| ()))
            });
            match stored {
                Ok(()) => Ok(Reply::Go(asked("/part", [("id", id)]))),
                Err(error) => again(&Remarks { whole: Some(error), ..said }),
            }
        }
        Ok((said, ..)) => again(&said),
    }
}

/// What was read of every dimension, and what is wrong or in question.
fn read(visit: &Visit, id: &str) -> Result<(Remarks, Specimen, Vec<ReadingSet>)> {
    let (library, part) = loaded(visit, id)?;
    let findings = Findings::of(&library);
    let form = &visit.form;
    let piece = piece(&library, &part, form)?;
    let pairs = taken(visit, form, &visit.by()?)?;
    let at = AtBench { findings: &findings, part: &part, piece: &piece };
    let mut said = Remarks::default();
    let mut sets = Vec::new();
    let bars = bars(visit, &part);
    for spec in dims(&part) {
        if form.one(spec.key).is_none() {
            continue;
        }
        match one(visit, form, &at, spec, (&pairs, &bars)) {
            Ok(Read { set, doubt, .. }) => {
                said.told.push((spec.key, set_line(&library, &set, visit.view())));
                if let Some(doubt) = doubt.filter(|_| !form.has(&meant_name(spec.key))) {
                    said.doubts.push((spec.key, doubt));
                }
                sets.push(set);
            }
            Err(error) => said.wrong.push((spec.key, error)),
        }
    }
    if sets.is_empty() && said.wrong.is_empty() {
        return Err(Error::input("nothing was read").hint("type at least one reading"));
    }
    Ok((said, piece, sets))
}

/// Every bar that the form names.
fn bars(visit: &Visit, part: &Part) -> Vec<Length> {
    let unit = question::unit(visit);
    let bar = |spec: &&DimSpec| {
        let typed = visit.form.one(&format!("{}_bar", spec.key))?;
        Length::parse(&with_unit(typed, unit)).ok()
    };
    part.kind.dims.iter().collect::<Vec<_>>().iter().filter_map(bar).collect()
}

/// What was read of one dimension.
fn one(
    visit: &Visit,
    fields: &Fields,
    at: &AtBench<'_>,
    spec: &'static DimSpec,
    (taken, bars): (&[String], &[Length]),
) -> Result<Read> {
    let unit = match fields.text("in_unit") {
        "mm" => crate::model::length::Unit::Mm,
        "in" => crate::model::length::Unit::In,
        _ => visit.unit(),
    };
    let typed = fields.text(spec.key);
    let value = match spec.quantity {
        Quantity::Length => with_unit(typed, unit),
        _ => typed.into(),
    };
    let mut pairs = taken.to_vec();
    pairs.push(format!("value={value}"));
    let bar = fields.one(&format!("{}_bar", spec.key));
    pairs.extend(bar.map(|bar| format!("bar={}", with_unit(bar, unit))));
    at.read(spec, &pairs, (bars, &Meant::default(), visit.unit()))
}

/// What is told of readings while they are typed: mean, scatter, what looks like a slip.
pub(super) fn told(visit: &Visit) -> Result<Reply> {
    let (library, part) = loaded(visit, visit.needed("part")?)?;
    let findings = Findings::of(&library);
    let fields = &visit.query;
    let spec = dims(&part).into_iter().find(|spec| fields.one(spec.key).is_some());
    let Some(spec) = spec else { return Ok(Reply::Piece(html! {})) };
    // A label that is not typed yet keeps nobody from reading.
    let unlabelled = Specimen::new(&part.id, "?", Condition::New);
    let piece = piece(&library, &part, fields).unwrap_or(unlabelled);
    let at = AtBench { findings: &findings, part: &part, piece: &piece };
    let pairs = taken(visit, fields, "")?;
    Ok(Reply::Piece(match one(visit, fields, &at, spec, (&pairs, &[])) {
        Ok(Read { set, doubt, .. }) => html! {
            (text(&set_line(&library, &set, visit.view())))
            @if let Some(doubt) = doubt { p.doubt { (words(&doubt)) "." } }
        },
        Err(error) => html! { p.doubt { (words(error.message())) } },
    }))
}
