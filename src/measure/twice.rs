//! Names that are perhaps one name typed in two ways, and patterns that only one part has.

use std::collections::BTreeMap;

use super::remark::{Found, Remark, Topic};
use crate::model::faces::Names;
use crate::model::kinds::Joint;
use crate::model::library::Library;
use crate::model::typed::as_typed;

/// The remarks about part numbers that differ only by how they are typed, and about names of patterns
/// that no other part has.
pub(super) fn remarks(library: &Library) -> Vec<Remark> {
    let mut remarks = ids(library);
    remarks.extend(faces(library));
    remarks
}

fn ids(library: &Library) -> Vec<Remark> {
    let mut alike: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for part in &library.parts {
        alike.entry(as_typed(&part.id)).or_default().push(&part.id);
    }
    let others = |part: &crate::model::part::Part| {
        let all = alike.get(&as_typed(&part.id))?;
        let others: Vec<String> =
            all.iter().filter(|id| **id != part.id).map(|id| format!("`{id}`")).collect();
        (!others.is_empty()).then(|| Remark {
            topic: Topic::AlikeIds,
            kind: part.kind.key,
            id: part.id.clone(),
            columns: Vec::new(),
            found: Found::Words(format!("there is {} too", others.join(", "))),
        })
    };
    library.parts.iter().filter_map(others).collect()
}

/// The names of a pattern, one by one.
fn each(names: &Names) -> impl Iterator<Item = String> {
    let text = match names {
        Names::Of(text) => text.to_string(),
        Names::Unknown | Names::Any => String::new(),
    };
    text.split('|')
        .filter(|name| !name.is_empty())
        .map(String::from)
        .collect::<Vec<_>>()
        .into_iter()
}

fn faces(library: &Library) -> Vec<Remark> {
    // Of each joint each name with how many parts have it, on whichever of their faces.
    let mut uses: BTreeMap<(Joint, String), usize> = BTreeMap::new();
    // How many parts have any name at a joint: where there is one alone, nothing is spelled otherwise.
    let mut named: BTreeMap<Joint, usize> = BTreeMap::new();
    for part in &library.parts {
        let mut own: Vec<(Joint, String)> = Vec::new();
        for (spec, names) in part.kind.faces.iter().zip(&part.faces) {
            own.extend(each(names).map(|name| (spec.joint, name)));
        }
        own.sort_unstable();
        own.dedup();
        let mut joints: Vec<Joint> = own.iter().map(|(joint, _)| *joint).collect();
        joints.dedup();
        for joint in joints {
            *named.entry(joint).or_default() += 1;
        }
        for key in own {
            *uses.entry(key).or_default() += 1;
        }
    }
    let mut remarks = Vec::new();
    for part in library.parts.iter().filter(|part| !part.retired) {
        for (spec, names) in part.kind.faces.iter().zip(&part.faces) {
            for name in each(names) {
                let is_alone = named.get(&spec.joint) == Some(&1);
                if is_alone || uses.get(&(spec.joint, name.clone())) != Some(&1) {
                    continue;
                }
                let alike = uses.keys().find(|(joint, other)| {
                    *joint == spec.joint && *other != name && as_typed(other) == as_typed(&name)
                });
                let near = alike.map(|(_, other)| format!("; others have `{other}`"));
                let text = format!("no other part has `{name}`{}", near.unwrap_or_default());
                remarks.push(Remark {
                    topic: Topic::LoneFace,
                    kind: part.kind.key,
                    id: part.id.clone(),
                    columns: vec![spec.key],
                    found: Found::Words(text),
                });
            }
        }
    }
    remarks
}
