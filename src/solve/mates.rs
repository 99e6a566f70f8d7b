//! Mating faces by number: patterns are interned, so that two parts are compared by a table look-up.

use std::collections::HashMap;

use crate::model::kinds::{Joint, Kinds};
use crate::stack::choice::Fill;
use crate::stack::joints::{Pattern, shown, takes_part};

/// A pattern's number within its joint.
pub type Sig = u32;

/// What one candidate shows at one joint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Face {
    /// The joint.
    pub joint: Joint,
    /// The pattern toward the engine.
    pub front: Sig,
    /// The pattern toward the gearbox, where the part adapts.
    pub rear: Option<Sig>,
}

/// The patterns of every joint.
#[derive(Debug, Default)]
pub struct Patterns<'a> {
    joints: [Interned<'a>; 8],
}

#[derive(Debug, Default)]
struct Interned<'a> {
    list: Vec<Pattern<'a>>,
    index: HashMap<Pattern<'a>, Sig>,
    /// Row after row: whether pattern a mates with pattern b. Built once all are known.
    mates: Vec<bool>,
}

/// The largest number of patterns at one joint for which the whole table is laid out.
const TABLE: usize = 2048;

impl<'a> Patterns<'a> {
    fn intern(&mut self, joint: Joint, pattern: Pattern<'a>) -> Sig {
        let known = &mut self.joints[joint as usize];
        *known.index.entry(pattern).or_insert_with(|| {
            known.list.push(pattern);
            known.list.len() as Sig - 1
        })
    }

    /// The faces of a fill, and the bits of joints at which it is blank.
    pub fn faces(&mut self, kinds: Kinds, slot: usize, fill: &Fill<'a>) -> (Vec<Face>, u8) {
        let (mut faces, mut blank) = (Vec::new(), 0);
        let kind = kinds.slots().nth(slot).map(|(kind, _)| kind);
        for joint in Joint::ALL {
            if fill.bench && kind.is_some_and(|kind| takes_part(kind, joint)) {
                blank |= joint.bit();
            }
            for part in &fill.parts {
                let Some(shown) = shown(part, joint) else { continue };
                if shown.front.is_unknown() {
                    blank |= joint.bit();
                }
                let front = self.intern(joint, shown.front);
                let rear = shown.rear.map(|rear| self.intern(joint, rear));
                faces.push(Face { joint, front, rear });
            }
        }
        (faces, blank)
    }

    /// Lays out the tables.
    pub fn finish(&mut self) {
        for joint in &mut self.joints {
            let list = &joint.list;
            if list.len() <= TABLE {
                joint.mates =
                    list.iter().flat_map(|a| list.iter().map(move |b| a.mates(b))).collect();
            }
        }
    }

    /// Whether two patterns of a joint mate.
    pub fn mate(&self, joint: Joint, a: Sig, b: Sig) -> bool {
        let joint = &self.joints[joint as usize];
        let (a, b) = (a as usize, b as usize);
        match joint.mates.get(a * joint.list.len() + b) {
            Some(mates) => *mates,
            None => joint.list[a].mates(&joint.list[b]),
        }
    }
}
