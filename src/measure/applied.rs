//! The library that answers are computed with: readings in the place of what makers state.

use std::collections::{BTreeSet, HashMap};

use crate::measure::findings::{Family, Finding, Findings};
use crate::model::aside::Aside;
use crate::model::entry::Entry;
use crate::model::job::Job;
use crate::model::kinds::{DimSpec, Enters};
use crate::model::library::Library;
use crate::model::part::Part;
use crate::model::pieces::{Condition, Specimen, part_and_label};

/// Puts what was measured into a library.
///
/// A part number becomes what its next piece is likely to be. Every piece becomes a part of its
/// own, with what was measured on it. Pieces in hand that were measured are candidates; a piece that
/// one of `jobs` has fitted is not on the shelf, and pieces that are gone or were never measured can
/// only be named.
///
/// What is set aside for jobs is noted beside it: by the piece where it is a candidate, else by the
/// part number.
pub fn applied(library: Library, jobs: &[Job]) -> Library {
    let mut used = with_pieces(library, jobs);
    used.aside = aside(&used, jobs);
    used
}

/// What is set aside, by what stands for it in the library as it is used. A piece that is gone, or fitted
/// in a car, lies on no shelf, whatever a job says.
fn aside(used: &Library, jobs: &[Job]) -> Aside {
    let mut aside = Aside::default();
    if jobs.iter().all(|job| job.set_aside.is_empty()) {
        return aside;
    }
    let pieces = used.parts.iter().filter(|part| part.piece_of.is_some());
    let pieces: HashMap<&str, &Part> = pieces.map(|part| (part.id.as_str(), part)).collect();
    let fitted: BTreeSet<&str> = fitted(jobs);
    for job in jobs {
        for name in &job.set_aside {
            let number = match pieces.get(name.as_str()) {
                Some(piece) if piece.on_hand > 0 => name,
                Some(piece) => {
                    let named = part_and_label(name);
                    let known = named.and_then(|(part, label)| used.measured.piece(part, label));
                    if fitted.contains(name.as_str()) || known.is_none_or(|known| !known.in_hand) {
                        continue;
                    }
                    piece.piece_of.as_ref().unwrap_or(name)
                }
                None => name,
            };
            aside.add(number, &job.id);
        }
    }
    aside
}

/// Every part and piece that is fitted in some car.
fn fitted(jobs: &[Job]) -> BTreeSet<&str> {
    jobs.iter().flat_map(|job| job.fitted.iter().flatten()).map(String::as_str).collect()
}

fn with_pieces(library: Library, jobs: &[Job]) -> Library {
    if library.measured.specimens.is_empty() {
        return library;
    }
    let fitted = fitted(jobs);
    let findings = Findings::of(&library);
    let mut families = findings.families.iter().peekable();
    let mut parts = Vec::with_capacity(library.parts.len() + library.measured.specimens.len());
    for part in &library.parts {
        let Some(family) = families.next_if(|family| family.part.id == part.id) else {
            parts.push(part.clone());
            continue;
        };
        let next = next_piece(&findings, family);
        let pieces = family.pieces.iter().map(|finding| piece(&next, finding, &fitted));
        let pieces: Vec<Part> = pieces.collect();
        let apart: u32 = pieces.iter().map(|piece| piece.on_hand).sum();
        parts.push(Part { on_hand: part.on_hand.saturating_sub(apart), ..next });
        parts.extend(pieces);
    }
    let mut used = Library::new(library.kinds, parts, library.house.clone());
    used.measured = library.measured;
    used
}

/// A part number as its next piece is likely to be.
fn next_piece(findings: &Findings<'_>, family: &Family<'_>) -> Part {
    let mut next = family.part.clone();
    for (index, dim) in next.dims.iter_mut().enumerate() {
        if let Some(entry) = findings.next_entry(family, index) {
            *dim = Some(entry);
        }
    }
    next
}

/// One piece as a part of its own.
fn piece(next: &Part, finding: &Finding<'_>, fitted: &BTreeSet<&str>) -> Part {
    let Specimen { condition, in_hand, ref notes, .. } = *finding.specimen;
    let id = finding.specimen.id();
    let values = next.kind.dims.iter().zip(&next.dims).zip(&finding.dims);
    let dims: Vec<Option<Entry>> = values
        .map(|((dim, entry), measured)| match measured {
            Some(measured) => Some(measured.entry()),
            None if condition == Condition::New => *entry,
            None => left(next, condition, dim, *entry),
        })
        .collect();
    let mut facings = next.kind.dims.iter().zip(&finding.dims).filter(|(dim, _)| is_facing(dim));
    let worn = condition != Condition::New && facings.all(|(_, measured)| measured.is_none());
    let unknown_pack = worn && next.is_matched_set();
    let measured = finding.is_measured() && !unknown_pack;
    let on_shelf = in_hand && measured && !fitted.contains(id.as_str());
    Part {
        id,
        piece_of: Some(next.id.clone()),
        price: None,
        lead_days: None,
        on_hand: u32::from(on_shelf),
        retired: next.retired || !on_shelf,
        notes: notes.clone(),
        dims,
        ..next.clone()
    }
}

/// A clamped disc, or a matched set's pack.
fn is_facing(dim: &DimSpec) -> bool {
    dim.enters.iter().any(|enters| matches!(enters, Enters::Gap(1)))
}

/// What is left of a number's own value on a used or machined piece on which it was not measured.
/// Use wears facings down, and machining may have changed any length of the sum: a length that a
/// stack needs is then not known, and another one is not known as closely as its maker states it.
fn left(part: &Part, condition: Condition, dim: &DimSpec, entry: Option<Entry>) -> Option<Entry> {
    let stands_in = |other: &&DimSpec| other.stand_in.iter().any(|(key, _)| *key == dim.key);
    let worn = is_facing(dim) || part.kind.dims.iter().filter(stands_in).any(is_facing);
    let is_length = dim.enters.iter().any(|enters| !matches!(enters, Enters::FingerRatio));
    let machined = condition == Condition::Machined && is_length;
    match entry.map(|entry| entry.value).or(dim.blank) {
        Some(value) if worn || machined => {
            // A pack's value is kept: it is what makes its plate a matched set.
            let is_known = !dim.needed && (machined || is_facing(dim));
            is_known.then_some(Entry::new(value, None))
        }
        _ => entry,
    }
}
