//! The shop's own things: parts, jobs and house numbers.

use std::fmt::Write as _;

use super::View;
use super::page::{Grid, Page};
use super::sentences::edges_summed;
use crate::measure::shelf::SetAside;
use crate::model::bars::{self, Entered};
use crate::model::house::{House, Limits};
use crate::model::job::{Job, READINGS, Word};
use crate::model::kinds::{Kinds, Quantity};
use crate::model::length::{Length, Unit};
use crate::model::part::{Entry, OWN, Part, show_value};
use crate::model::sides::Sides;
use crate::model::words::count;
use crate::stack::window::{ClutchSums, Window};

pub(super) fn pair(page: &mut Page, key: &str, value: &str) {
    page.hanging(&format!("{key:<28}"), value);
}

/// A length's bar, and the words for its sides.
type Sided<'a> = (Option<Length>, Option<&'a Sides>);

fn or_unknown(text: &str) -> &str {
    if text.is_empty() { "unknown" } else { text }
}

/// An id with what it is, where somebody wrote that down.
fn described(title: String, description: &str) -> String {
    if description.is_empty() { title } else { format!("{title}: {description}") }
}

/// A value with its unit.
pub(super) fn value_shown(quantity: Quantity, value: i64, unit: Unit) -> String {
    let value = show_value(quantity, value, unit);
    if quantity == Quantity::Torque { format!("{value} N m") } else { value }
}

/// A value with its tolerance, a signed length with the word for its side, and what was read over
/// which bar.
fn entry(quantity: Quantity, entry: Entry, (bar, sides): Sided<'_>, unit: Unit) -> String {
    let value = match quantity {
        Quantity::Length => bars::shown(entry.as_length(), bar, sides, unit),
        _ => value_shown(quantity, entry.value, unit),
    };
    match entry.tol {
        Some(tol) => format!("{value} +- {}", value_shown(quantity, tol, unit)),
        None => value,
    }
}

/// Everything about one part.
pub fn part_show(
    part: &Part,
    house: &House,
    (jobs, aside): (&[String], &[SetAside<'_>]),
    view: View,
) -> String {
    let mut page = Page::new(view.width);
    let title = format!("{} {}", part.kind.name, part.id);
    page.line(described(title, &part.description));
    page.gap();
    part_pairs(&mut page, part, house, view);
    if !jobs.is_empty() {
        page.gap();
        let by = if jobs.len() == 1 { "named by the job" } else { "named by the jobs" };
        pair(&mut page, by, &jobs.join(", "));
    }
    for SetAside { job, name, pieces, .. } in aside {
        let of = if *name == part.id { String::new() } else { format!(" ({name})") };
        pair(&mut page, "set aside", &format!("{pieces} for {}{of}", job.id));
    }
    page.finish()
}

/// What is known of a part, column by column.
pub(super) fn part_pairs(page: &mut Page, part: &Part, house: &House, view: View) {
    pair(page, "maker", or_unknown(&part.maker));
    let price = part.price.map(|price| format!("{price} {}", house.currency));
    pair(page, "price", price.as_deref().unwrap_or("unknown"));
    pair(page, "on_hand", &part.on_hand.to_string());
    if let Some(least) = part.least_on_hand {
        pair(page, "least_on_hand", &least.to_string());
    }
    let lead = part.lead_days.map(|days| days.to_string());
    pair(page, "lead_days", lead.as_deref().unwrap_or("unknown"));
    pair(page, "status", if part.retired { "retired" } else { "in use" });
    if !part.notes.is_empty() {
        pair(page, "notes", &part.notes);
    }
    if !part.formerly.is_empty() {
        pair(page, "formerly", &part.formerly.join(", "));
    }
    for (name, text) in &part.own {
        pair(page, &format!("{OWN}{name}"), text);
    }
    page.gap();
    for (index, (spec, value)) in part.kind.dims.iter().zip(&part.dims).enumerate() {
        let sided = (part.bars.get(index), spec.sides);
        let known = value.map(|value| entry(spec.quantity, value, sided, view.unit));
        let blank = match spec.blank {
            Some(blank) => {
                let entry = Entry::new(blank, None);
                format!(
                    "{} (blank)",
                    self::entry(spec.quantity, entry, (None, spec.sides), view.unit)
                )
            }
            None if spec.needed && !part.knows(spec) => "unknown: needed in a stack".into(),
            None if spec.needed => "unknown: taken from the dimensions below".into(),
            None => "unknown".into(),
        };
        pair(page, spec.key, known.as_ref().unwrap_or(&blank));
    }
    for (spec, names) in part.kind.faces.iter().zip(&part.faces) {
        pair(page, spec.key, or_unknown(&names.to_string()));
    }
    for (spec, word) in part.kind.facts.iter().zip(&part.facts) {
        pair(page, spec.key, word.as_deref().unwrap_or("unknown"));
    }
}

/// Everything about one job.
pub fn job_show(kinds: Kinds, job: &Job, view: View) -> String {
    let mut page = Page::new(view.width);
    page.line(described(format!("job {}", job.id), &job.description));
    page.gap();
    pair(&mut page, "state", job.state.word());
    for (key, text) in words(job) {
        if !text.is_empty() {
            pair(&mut page, key, text);
        }
    }
    page.gap();
    for ((_, slot), ids) in kinds.slots().zip(&job.fitted) {
        let ids = ids.join("|");
        pair(&mut page, slot.key, if ids.is_empty() { "(blank)" } else { &ids });
    }
    pair(&mut page, "master_cylinder", job.master_cylinder.as_deref().unwrap_or("unknown"));
    if !job.set_aside.is_empty() {
        pair(&mut page, "set_aside", &job.set_aside.join("|"));
    }
    let torque = job.torque.map(|torque| value_shown(Quantity::Torque, torque, view.unit));
    pair(&mut page, "torque", torque.as_deref().unwrap_or("unknown"));
    page.gap();
    for (index, (spec, value)) in READINGS.iter().zip(&job.readings).enumerate() {
        let sided = (job.bars.get(index), spec.sides);
        let value = value.map(|value| entry(Quantity::Length, value, sided, view.unit));
        pair(&mut page, spec.key, value.as_deref().unwrap_or("not measured"));
    }
    pair(&mut page, "crank_protrusion_over_plate", job.crank_over_plate.word());
    pair(&mut page, "finger_depth_over_plate", job.depth_over_plate.word());
    pair(&mut page, "fitted_disc_state", job.disc_state.word());
    pair(&mut page, "crank_pushed", job.crank_pushed.word());
    pair(&mut page, "starter_on", job.starter_on.word());
    page.gap();
    limits(&mut page, &job.window, view.unit);
    page.finish()
}

/// What is told of a job in words.
pub(super) fn words(job: &Job) -> [(&'static str, &str); 5] {
    [
        ("date", &job.date),
        ("customer", &job.customer),
        ("contact", &job.contact),
        ("vehicle", &job.vehicle),
        ("notes", &job.notes),
    ]
}

fn limits(page: &mut Page, window: &Limits, unit: Unit) {
    for (edge, limit) in window.iter() {
        let limit = limit.map(|limit| limit.exact(unit));
        pair(page, edge.key(), limit.as_deref().unwrap_or("not set by the job"));
    }
}

/// A job's own window, and the edges that are in force with the clutch that it names.
pub fn window(job: &Job, in_force: &Window, clutch: &ClutchSums, view: View) -> String {
    let mut page = Page::new(view.width);
    page.line(format!("The window of job {}, as its own data set it:", job.id));
    page.gap();
    limits(&mut page, &job.window, view.unit);
    page.gap();
    page.line(format!(
        "In force with the clutch that it names: {}.",
        edges_summed(in_force, clutch, view.unit)
    ));
    page.gap();
    page.line(
        "What the job does not set is set by the shop, the clutch's own data or the house fallback; \
         the clutch's data may raise a minimum, never lower it.",
    );
    page.finish()
}

/// All house numbers; what the shop changed is marked.
pub fn settings(kinds: Kinds, house: &House, view: View) -> String {
    let mut page = Page::new(view.width);
    let mut grid = Grid::new(["", "key", ">value", "meaning"]);
    let settings = house.settings(kinds, view.unit);
    for setting in &settings {
        let value = if setting.value.is_empty() { "-" } else { &setting.value };
        let mark = if setting.changed { "*" } else { "" };
        grid.row([mark, &setting.key, value, &setting.about]);
    }
    page.grid(grid);
    page.gap();
    let changed = settings.iter().filter(|setting| setting.changed).count();
    page.line(format!(
        "{} changed by the shop (marked *). `bellstack window set KEY=VALUE` changes one, a blank \
         value goes back to the default.",
        count(changed as u128, "number")
    ));
    page.finish()
}

/// What was entered over a bar or with a side, one line each, to be looked at once more.
pub fn entered(entered: &[Entered], view: View) -> String {
    lines(entered.iter().map(|one| (None, one)), view)
}

/// The same of many parts and jobs: the first few.
pub fn entered_of(entered: &[(String, Entered)], view: View) -> String {
    const MOST: usize = 10;
    let mut text = lines(entered.iter().take(MOST).map(|(id, one)| (Some(id), one)), view);
    if entered.len() > MOST {
        let more = count((entered.len() - MOST) as u128, "more length");
        let _ = writeln!(text, "  and {more} over a bar or with a side");
    }
    text
}

fn lines<'a>(
    entered: impl Iterator<Item = (Option<&'a String>, &'a Entered)>,
    view: View,
) -> String {
    let mut page = Page::new(view.width);
    for (id, Entered { key, length, bar, sides }) in entered {
        let of = id.map(|id| format!("{id} ")).unwrap_or_default();
        let shown = bars::shown(*length, *bar, *sides, view.unit);
        page.wrap("  ", 4, &format!("{of}{key}: {shown}"));
    }
    page.finish()
}

/// The kinds of part.
pub fn kinds(kinds: Kinds, view: View) -> String {
    let mut page = Page::new(view.width);
    page.line("The kinds of part:");
    page.gap();
    for kind in kinds.iter() {
        pair(&mut page, kind.key, kind.name);
    }
    page.gap();
    page.line(
        "`bellstack part keys KIND` lists the columns of one, `bellstack job keys` those of a job.",
    );
    page.finish()
}

/// The columns of a kind or of something else that a file may hold: key, endings that make further
/// columns of it, and meaning.
pub fn columns(name: &str, columns: &[(&str, String, &str)], view: View) -> String {
    let mut page = Page::new(view.width);
    page.line(format!("The columns of {name}:"));
    page.gap();
    let mut grid = Grid::new(["column", "also with", "meaning"]);
    for (key, endings, about) in columns {
        grid.row([*key, endings, about]);
    }
    page.grid(grid);
    if columns.iter().any(|(_, endings, _)| endings.contains("_bar")) {
        page.gap();
        page.line(
            "`_tol` is a tolerance. `_bar` is the thickness of the bar or hub that a length was read \
             over: it is taken off. A length carries its unit; behind `_in` and `_mm`, as in \
             `thickness_tol_mm`, stand bare numbers.",
        );
    }
    page.finish()
}
