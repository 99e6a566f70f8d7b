//! The slots of a car, each with what may be tried in it.

use maud::{Markup, html};

use super::what_if::{MACHINE_TO, WhatIf};
use crate::desk::{Filling, fillings, may_be_empty, swapped};
use crate::model::kinds::{SlotSpec, Takes};
use crate::model::length::Unit;
use crate::model::part::Part;
use crate::report::html::text;
use crate::serve::form::asked;
use crate::serve::visit::Visit;
use crate::stack::choice::{Choice, Setup};

/// How many parts one list offers; the rest is a tap away.
const OFFERED: usize = 24;

/// Every slot with a list of what may be tried.
pub(super) fn form(visit: &Visit, setup: &Setup<'_>, what_if: &WhatIf) -> Markup {
    let fitted = Choice { fills: setup.fitted.clone() };
    let choice = swapped(setup, &what_if.swaps, None).unwrap_or(fitted);
    let machine_to = what_if.machine_to.map(|to| to.exact(visit.unit())).unwrap_or_default();
    html! {
        form.slots id="try" method="get" action="/car" data-answer="answer" {
            h2 { "What if" }
            p.note { "Nothing is stored until you keep it." }
            input type="hidden" name="job" value=(setup.job.id);
            @for (slot, (_, spec)) in setup.library.kinds.slots().enumerate() {
                (lists(visit, setup, &choice, slot, spec))
            }
            label.field {
                span { "machine the flywheel to, " (visit.unit().name()) }
                input type="text" inputmode="decimal" name=(MACHINE_TO) value=(machine_to);
            }
            button.main { "Try" }
            // Where the answer is out of sight, the page's script says here what it is.
            a.button.said href="#answer" hidden {}
        }
    }
}

/// The lists of one slot: as many as it takes parts.
fn lists(
    visit: &Visit,
    setup: &Setup<'_>,
    choice: &Choice<'_>,
    slot: usize,
    spec: &SlotSpec,
) -> Markup {
    let all = fillings(setup, choice, slot);
    let chosen = &choice.fills[slot].parts;
    let most = if spec.takes == Takes::UpToTwo { 2 } else { 1 };
    let name = spec.key.replace('_', " ");
    let job = setup.job.id.as_str();
    html! {
        div.slot {
            @for at in 0..most {
                label.field {
                    span { (name) @if at > 0 { ", second" } }
                    (list(visit, setup, slot, spec, chosen.get(at).copied(), &all))
                }
            }
            @if all.len() > OFFERED {
                a.more href=(asked("/parts", [("kind", kind_of(setup, slot)), ("job", job)])) {
                    "all " (all.len())
                }
            }
        }
    }
}

fn kind_of(setup: &Setup<'_>, slot: usize) -> &'static str {
    setup.library.kinds.slots().nth(slot).map_or("", |(kind, _)| kind.key)
}

fn list(
    visit: &Visit,
    setup: &Setup<'_>,
    slot: usize,
    spec: &SlotSpec,
    chosen: Option<&Part>,
    all: &[Filling<'_>],
) -> Markup {
    let fitted = &setup.fitted[slot];
    let is_fitted = |part: &Part| fitted.parts.iter().any(|fitted| fitted.id == part.id);
    let (mates, clash): (Vec<&Filling<'_>>, Vec<&Filling<'_>>) =
        all.iter().take(OFFERED).partition(|filling| filling.mates);
    let beyond = chosen.filter(|part| !all.iter().take(OFFERED).any(|one| one.part.id == part.id));
    html! {
        select name=(spec.key) {
            @if fitted.on_bench { option value="" selected[chosen.is_none()] { "as on the bench" } }
            @else if may_be_empty(setup, slot) {
                option value="none" selected[chosen.is_none()] { "none" @if fitted.is_empty() { ", as fitted" } }
            } @else if chosen.is_none() { option value="" selected { "not chosen yet" } }
            @if let Some(part) = beyond { option value=(part.id) selected { (label(part, visit.unit())) } }
            @for filling in mates { (entry(setup, filling.part, chosen, is_fitted(filling.part), visit.unit())) }
            @if !clash.is_empty() {
                optgroup label="does not mate" {
                    @for filling in clash { (entry(setup, filling.part, chosen, is_fitted(filling.part), visit.unit())) }
                }
            }
        }
    }
}

fn entry(
    setup: &Setup<'_>,
    part: &Part,
    chosen: Option<&Part>,
    is_fitted: bool,
    unit: Unit,
) -> Markup {
    let is_chosen = chosen.is_some_and(|chosen| chosen.id == part.id);
    let shelf = match setup.on_hand(part) {
        _ if is_fitted => ", fitted".into(),
        0 => String::new(),
        on_hand => format!(", {on_hand} on hand"),
    };
    html! {
        option value=(part.id) selected[is_chosen] { (text(&label(part, unit))) (shelf) }
    }
}

/// A part with what its place in the stack depends on.
fn label(part: &Part, unit: Unit) -> String {
    let needed = part.kind.dims.iter().filter(|dim| dim.needed);
    let known = needed
        .filter_map(|dim| Some(part.length(dim.key)?.show(unit)))
        .collect::<Vec<_>>()
        .join(" / ");
    let known = if known.is_empty() { "unknown".into() } else { known };
    format!("{}: {known}", part.id)
}
