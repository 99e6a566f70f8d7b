//! The shop's own things: parts, jobs and house numbers.

use super::View;
use super::page::{Grid, Page};
use crate::model::house::{EDGE_KEYS, House, Limits};
use crate::model::job::{Job, READINGS, Word};
use crate::model::kinds::{Kinds, Quantity};
use crate::model::length::{Length, Unit};
use crate::model::part::{Entry, Part, show_value};
use crate::model::words::count;

/// A list of parts.
pub fn part_list(parts: &[&Part], house: &House, retired_hidden: usize, view: View) -> String {
    let mut page = Page::new(view.width);
    if parts.is_empty() {
        page.line("No part is listed.");
    } else {
        let price = format!(">price\n{}", house.currency);
        let mut grid =
            Grid::new(["kind", "id", "maker", "description", &price, ">on\nhand", "lacks"]);
        for part in parts {
            grid.row([
                part.kind.key.to_string(),
                part.id.clone(),
                part.maker.clone(),
                part.description.clone(),
                part.price.map_or_else(|| "unknown".into(), |price| price.to_string()),
                part.on_hand.to_string(),
                part.missing().join(", "),
            ]);
        }
        page.grid(grid);
        page.gap();
        page.line(format!("{}.", count(parts.len() as u128, "part")));
    }
    if retired_hidden > 0 {
        let number = count(retired_hidden as u128, "retired part");
        page.line(format!("{number} not shown: `bellstack part list --retired`."));
    }
    page.finish()
}

pub(super) fn pair(page: &mut Page, key: &str, value: &str) {
    page.hanging(&format!("{key:<28}"), value);
}

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

fn entry(quantity: Quantity, entry: Entry, unit: Unit) -> String {
    let value = value_shown(quantity, entry.value, unit);
    match entry.tol {
        Some(tol) => format!("{value} +- {}", value_shown(quantity, tol, unit)),
        None => value,
    }
}

/// Everything about one part.
pub fn part_show(part: &Part, house: &House, jobs: &[String], view: View) -> String {
    let mut page = Page::new(view.width);
    let title = format!("{} {}", part.kind.name, part.id);
    page.line(described(title, &part.description));
    page.gap();
    pair(&mut page, "maker", or_unknown(&part.maker));
    let price = part.price.map(|price| format!("{price} {}", house.currency));
    pair(&mut page, "price", price.as_deref().unwrap_or("unknown"));
    pair(&mut page, "on_hand", &part.on_hand.to_string());
    let lead = part.lead_days.map(|days| days.to_string());
    pair(&mut page, "lead_days", lead.as_deref().unwrap_or("unknown"));
    pair(&mut page, "status", if part.retired { "retired" } else { "in use" });
    if !part.notes.is_empty() {
        pair(&mut page, "notes", &part.notes);
    }
    page.gap();
    for (spec, value) in part.kind.dims.iter().zip(&part.dims) {
        let known = value.map(|value| entry(spec.quantity, value, view.unit));
        let blank = match spec.blank {
            Some(blank) => format!("{} (blank)", show_value(spec.quantity, blank, view.unit)),
            None if spec.needed && !part.knows(spec) => "unknown: needed in a stack".into(),
            None if spec.needed => "unknown: taken from the dimensions below".into(),
            None => "unknown".into(),
        };
        pair(&mut page, spec.key, known.as_ref().unwrap_or(&blank));
    }
    for (spec, names) in part.kind.faces.iter().zip(&part.faces) {
        pair(&mut page, spec.key, or_unknown(&names.to_string()));
    }
    for (spec, word) in part.kind.facts.iter().zip(&part.facts) {
        pair(&mut page, spec.key, word.as_deref().unwrap_or("unknown"));
    }
    if !jobs.is_empty() {
        page.gap();
        let by = if jobs.len() == 1 { "named by the job" } else { "named by the jobs" };
        pair(&mut page, by, &jobs.join(", "));
    }
    page.finish()
}

/// A list of jobs.
pub fn job_list(jobs: &[Job], view: View) -> String {
    let mut page = Page::new(view.width);
    if jobs.is_empty() {
        page.line("There is no job in the catalog.");
        return page.finish();
    }
    let mut grid = Grid::new(["job", "description", ">parts named", ">readings"]);
    for job in jobs {
        let named: usize = job.fitted.iter().map(Vec::len).sum();
        grid.row([
            job.id.clone(),
            job.description.clone(),
            named.to_string(),
            job.readings.iter().flatten().count().to_string(),
        ]);
    }
    page.grid(grid);
    page.gap();
    page.line(format!("{}.", count(jobs.len() as u128, "job")));
    page.finish()
}

/// Everything about one job.
pub fn job_show(kinds: Kinds, job: &Job, view: View) -> String {
    let mut page = Page::new(view.width);
    page.line(described(format!("job {}", job.id), &job.description));
    page.gap();
    for ((_, slot), ids) in kinds.slots().zip(&job.fitted) {
        let ids = ids.join("|");
        pair(&mut page, slot.key, if ids.is_empty() { "(blank)" } else { &ids });
    }
    pair(&mut page, "master_cylinder", job.master_cylinder.as_deref().unwrap_or("unknown"));
    let torque = job.torque.map(|torque| value_shown(Quantity::Torque, torque, view.unit));
    pair(&mut page, "torque", torque.as_deref().unwrap_or("unknown"));
    page.gap();
    for (spec, value) in READINGS.iter().zip(&job.readings) {
        let value = value.map(|value| entry(Quantity::Length, value, view.unit));
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

fn limits(page: &mut Page, window: &Limits, unit: Unit) {
    for (index, key) in EDGE_KEYS.iter().enumerate() {
        let edge = window.get(index).map(|edge: Length| edge.exact(unit));
        pair(page, key, edge.as_deref().unwrap_or("not set by the job"));
    }
}

/// A job's own window.
pub fn window(job: &Job, view: View) -> String {
    let mut page = Page::new(view.width);
    page.line(format!("The window of job {}:", job.id));
    page.gap();
    limits(&mut page, &job.window, view.unit);
    page.gap();
    page.line("What the job does not set is set by the shop, the clutch's own data or the house fallback.");
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

/// The columns of a kind or of something else that a file may hold, with what they mean.
pub fn columns(name: &str, columns: &[(&str, &str)], view: View) -> String {
    let mut page = Page::new(view.width);
    page.line(format!("The columns of {name}:"));
    page.gap();
    for (key, about) in columns {
        pair(&mut page, key, about);
    }
    page.finish()
}
