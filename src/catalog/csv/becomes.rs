//! What an import would make of each thing, field by field.

use super::planned::{Action, Before, ImportPlan, Planned};
use crate::catalog::Stored;
use crate::model::history::{Becomes, Deed, FieldChange, Held, Subject};
use crate::model::kinds::Kinds;

/// What becomes of everything in a plan, in the order of its rows.
pub(super) fn all(plan: &ImportPlan, before: &Before<'_>, kinds: Kinds) -> Vec<Becomes> {
    let mut all = Vec::new();
    add(&mut all, &plan.parts, kinds, |part| before.parts.get(part.id.as_str()).copied());
    add(&mut all, &plan.pieces, kinds, |piece| {
        before.pieces.get(&(piece.part.as_str(), piece.label.as_str())).copied()
    });
    add(&mut all, &plan.instruments, kinds, |instrument| {
        before.measured.and_then(|measured| measured.instrument(&instrument.name))
    });
    for planned in plan.readings.iter().filter(|planned| planned.action != Action::Leave) {
        let set = &planned.item;
        let name = format!("{}#{} {}", set.part, set.piece, set.dimension);
        let deed = if planned.action == Action::Add { Deed::Added } else { Deed::Changed };
        let struck = set.struck.clone().map(|why| FieldChange {
            field: "struck".into(),
            from: Held::Blank,
            to: Held::Text(why),
        });
        let changes = struck.into_iter().collect();
        all.push(Becomes { subject: Subject::Reading, name, deed, changes });
    }
    add(&mut all, &plan.jobs, kinds, |job| before.jobs.get(job.id.as_str()).copied());
    all
}

fn add<'s, T: Stored + 's>(
    all: &mut Vec<Becomes>,
    planned: &[Planned<T>],
    kinds: Kinds,
    old: impl Fn(&T) -> Option<&'s T>,
) {
    for Planned { item, action, .. } in planned {
        let (deed, changes) = match (action, old(item)) {
            (Action::Leave, _) => continue,
            (Action::Update, Some(old)) => (Deed::Changed, old.differences(kinds, Some(item))),
            _ => (Deed::Added, added(item.differences(kinds, None))),
        };
        let (name, _) = item.called();
        all.push(Becomes { subject: T::SUBJECT, name, deed, changes });
    }
}

/// What a thing holds, turned into what it will hold.
fn added(held: Vec<FieldChange>) -> Vec<FieldChange> {
    held.into_iter()
        .map(|FieldChange { field, from, to }| FieldChange { field, from: to, to: from })
        .collect()
}
