//! What of the shelf is set aside, and what of it is running out.

use std::collections::{BTreeMap, HashMap};

use crate::measure::remark::{Found, Remark, Topic};
use crate::model::job::Job;
use crate::model::kinds::KindSpec;
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::pieces::part_and_label;
use crate::model::words::count;

/// Pieces of a part that are set aside for a job.
#[derive(Debug, Clone, Copy)]
pub struct SetAside<'a> {
    /// The job.
    pub job: &'a Job,
    /// The part number, or a piece of it.
    pub name: &'a str,
    /// The part.
    pub part: &'a Part,
    /// How many pieces.
    pub pieces: u32,
}

/// A part of which fewer lie on the shelf than are to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LowPart<'a> {
    /// The part.
    pub part: &'a Part,
    /// How many are to lie there.
    pub least: u32,
    /// How many of those on hand are set aside for jobs.
    pub set_aside: u32,
    /// How many are left for everybody.
    pub free: u32,
}

/// What is set aside for these jobs, job by job.
pub fn set_aside<'a>(library: &'a Library, jobs: &'a [Job]) -> Vec<SetAside<'a>> {
    let mut all: Vec<SetAside<'a>> = Vec::new();
    let parts = by_number(library);
    for job in jobs {
        for name in &job.set_aside {
            match all.last_mut().filter(|last| last.name == name && last.job.id == job.id) {
                Some(last) => last.pieces = last.pieces.saturating_add(1),
                None => all.extend(of_number(&parts, name).map(|part| SetAside {
                    job,
                    name,
                    part,
                    pieces: 1,
                })),
            }
        }
    }
    all
}

fn by_number(library: &Library) -> HashMap<&str, &Part> {
    library.parts.iter().map(|part| (part.id.as_str(), part)).collect()
}

/// The part of a part number or of a piece.
fn of_number<'a>(parts: &HashMap<&str, &'a Part>, name: &str) -> Option<&'a Part> {
    let piece = || part_and_label(name).and_then(|(part, _)| parts.get(part));
    parts.get(name).or_else(piece).copied()
}

/// How many pieces of each part number are set aside, named pieces among them.
fn counted<'a>(library: &'a Library, jobs: &'a [Job]) -> BTreeMap<&'a str, u32> {
    let mut counted = BTreeMap::new();
    for one in set_aside(library, jobs) {
        let sum: &mut u32 = counted.entry(one.part.id.as_str()).or_default();
        *sum = sum.saturating_add(one.pieces);
    }
    counted
}

/// The parts in use of which fewer lie on the shelf for everybody than are to, in the library's order.
pub fn low<'a>(
    library: &'a Library,
    jobs: &[Job],
    kind: Option<&'static KindSpec>,
) -> Vec<LowPart<'a>> {
    let aside = counted(library, jobs);
    let wanted = |part: &&Part| !part.retired && kind.is_none_or(|kind| kind == part.kind);
    let parts = library.parts.iter().filter(wanted);
    let low = parts.filter_map(|part| {
        let set_aside = aside.get(part.id.as_str()).copied().unwrap_or_default();
        let (least, free) = (part.least_on_hand?, part.on_hand.saturating_sub(set_aside));
        (free < least).then_some(LowPart { part, least, set_aside, free })
    });
    low.collect()
}

/// What is set aside and cannot be as it is: for a job that is done, more than there is, a piece that is
/// gone or that two jobs have.
pub fn odd_set_aside(library: &Library, jobs: &[Job]) -> Vec<Remark> {
    let mut remarks = Vec::new();
    let mut say = |kind, id: &str, words: String| {
        remarks.push(Remark {
            topic: Topic::SetAside,
            kind,
            id: id.into(),
            columns: vec!["set_aside"],
            found: Found::Words(words),
        });
    };
    let mut holders: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    let all = set_aside(library, jobs);
    for one in &all {
        if let Some((part, label)) = part_and_label(one.name)
            && let Some(piece) = library.measured.piece(part, label)
        {
            if !piece.in_hand {
                say("job", &one.job.id, format!("{}, which is gone", one.name));
            }
            holders.entry(one.name).or_default().push(&one.job.id);
        }
        if one.job.is_done() {
            let what = count(one.pieces.into(), "piece");
            say("job", &one.job.id, format!("{what} of {}, and the job is done", one.name));
        }
    }
    for (piece, jobs) in holders.iter().filter(|(_, jobs)| jobs.len() > 1) {
        say("piece", piece, format!("one piece is set aside for {}", jobs.join(" and ")));
    }
    for (id, aside) in counted(library, jobs) {
        let on_hand = library.find(id).map_or(0, |part| part.on_hand);
        if aside > on_hand {
            say("part", id, format!("{aside} are set aside, and {on_hand} on hand"));
        }
    }
    remarks
}
