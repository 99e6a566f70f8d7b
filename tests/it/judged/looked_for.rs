//! The dimensions to look for: each end of each range is tried as a part of its own, and one nanometre
//! beyond it.

use bellstack::model::edge::Edge;
use bellstack::model::entry::Entry;
use bellstack::model::part::Part;
use bellstack::solve::ask::{Ask, Order, Watch};
use bellstack::solve::cure::cure;
use bellstack::stack::answer::LookFor;
use bellstack::stack::choice::Setup;

use super::{none_differ, seeds};
use crate::checker::{CrossCheck, Fill, Task, Why, judge};
use crate::shops::{RealShop, real};

#[derive(Debug, Default)]
struct Seen {
    shops: usize,
    ranges: usize,
    ends: usize,
    open: usize,
    slots: [usize; 11],
}

/// The fitted part as it would be with another dimension: another piece, known no better and no worse.
fn like(task: &Task<'_>, slot: usize, dimension: &str, value: i64) -> Part {
    let (kind, _) = task.library.kinds.slots().nth(slot).unwrap();
    let fitted = task.fitted[slot].part().cloned();
    let mut part = fitted.unwrap_or_else(|| Part::new("", kind));
    part.id = "looked for".into();
    part.piece_of = None;
    // How far another disc may wear is its own affair.
    part.set("min_thickness", None);
    let tol = part.entry(dimension).and_then(|entry| entry.tol);
    part.set(dimension, Some(Entry::new(value, tol)));
    part
}

/// Whether the job with that part is in its plain window, and in the diaphragm's working range where
/// the part is a disc.
fn does<'a>(
    task: &Task<'a>,
    checks: &[CrossCheck],
    (slot, dimension): (usize, &str),
    part: &'a Part,
) -> Option<bool> {
    let mut stack = task.fitted.clone();
    stack[slot] = Fill { parts: vec![(u32::MAX, part)], ..Fill::default() };
    let verdict = judge(task, &stack, checks).ok()?;
    // How thick the facings are is held to the diaphragm's working range too.
    let facings = part.kind.key == "disc" || dimension == "pack_thickness";
    let strained = facings && verdict.caps.contains(&Why::OutsideRange);
    // A bearing has two limits, one for each height: together they put the job in its window.
    let counts = |edge: Edge| match dimension {
        "extended_height" => edge.is_preload(),
        "retracted_height" => !edge.is_preload(),
        _ => true,
    };
    let mut rooms = verdict.room.set().filter(|(edge, _)| counts(*edge));
    Some(rooms.all(|(_, room)| *room >= 0) && !strained)
}

fn ends(seed: u64, seen: &mut Seen) -> Vec<String> {
    let RealShop { library, job, changed } = &real(seed);
    let setup = Setup::new(library, job).unwrap();
    let ask = Ask { order: Order::Changes, top: 1, ..Ask::default() };
    let Ok(said) = cure(&setup, &ask, &Watch::default()) else { return Vec::new() };
    let plain = Task::new(library, job, changed.clone());
    let mut tried: Vec<(&LookFor, &str, i64, bool, Part)> = Vec::new();
    for row in &said.look_for {
        seen.ranges += 1;
        seen.slots[row.slot] += 1;
        let Some(range) = row.range() else { continue };
        let ends = [("from", range.from, -1), ("to", range.to, 1)];
        for (end, at, beyond) in ends {
            let Some(at) = at else {
                seen.open += 1;
                continue;
            };
            seen.ends += 1;
            let part = |value| like(&plain, row.slot, row.dimension, value);
            tried.push((row, end, at.nm(), true, part(at.nm())));
            // Nothing is thinner than nothing.
            if at.nm() > 0 {
                tried.push((row, end, at.nm() + beyond, false, part(at.nm() + beyond)));
            }
        }
    }
    seen.shops += 1;
    let task = Task::new(library, job, changed.clone());
    let checks = task.cross_checks();
    let wrong = tried.iter().filter_map(|(row, end, value, expected, part)| {
        let found = does(&task, &checks, (row.slot, row.dimension), part);
        (found != Some(*expected)).then(|| {
            let (slot, dim) = (part.kind.key, row.dimension);
            format!("seed {seed} {slot} {dim} {end} {value}: {found:?}, not {expected} ({row:?})")
        })
    });
    wrong.collect()
}

#[test]
fn every_end_of_a_dimension_to_look_for_is_tried_to_the_nanometre() {
    let mut seen = Seen::default();
    let found: Vec<String> = seeds(3_000_000, 500).flat_map(|seed| ends(seed, &mut seen)).collect();
    none_differ(&found, &seen);
    assert!(seen.ends > seen.shops && seen.open > 0, "{seen:?}");
}
