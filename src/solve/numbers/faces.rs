//! Mating faces by number: what two candidates show is compared by a table look-up.

use rustc_hash::FxHashMap;

use crate::model::kinds::{Joint, Kinds};
use crate::solve::candidates::Candidates;
use crate::stack::joints::{Pattern, shown_by};

/// What one part shows at one joint: numbers of patterns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct Face {
    joint: Joint,
    /// Toward the engine.
    front: u32,
    /// Toward the gearbox, where the part adapts.
    rear: Option<u32>,
    blank: bool,
}

/// The patterns of one joint, each once.
#[derive(Debug, Default)]
struct Patterns<'a> {
    list: Vec<Pattern<'a>>,
    number: FxHashMap<Pattern<'a>, u32>,
    /// Row after row: whether two patterns mate. Left empty where there are very many.
    table: Vec<bool>,
}

/// The largest number of patterns of a joint for which the whole table is laid out.
const LARGEST_TABLE: usize = 1024;

impl<'a> Patterns<'a> {
    fn number(&mut self, pattern: Pattern<'a>) -> u32 {
        *self.number.entry(pattern).or_insert_with(|| {
            self.list.push(pattern);
            self.list.len() as u32 - 1
        })
    }

    fn mate(&self, a: u32, b: u32) -> bool {
        let (a, b) = (a as usize, b as usize);
        match self.table.get(a * self.list.len() + b) {
            Some(mates) => *mates,
            None => self.list[a].mates(&self.list[b]),
        }
    }
}

/// What every candidate shows. Candidates of a slot that show the same have one number, their look.
#[derive(Debug)]
pub(crate) struct Faces<'a> {
    joints: [Patterns<'a>; 8],
    /// By slot and look.
    shown: Vec<Vec<Vec<Face>>>,
    /// By slot and candidate.
    looks: Vec<Vec<u32>>,
}

impl<'a> Faces<'a> {
    pub(crate) fn new(kinds: Kinds, candidates: &Candidates<'a>) -> Self {
        let mut joints: [Patterns<'a>; 8] = Default::default();
        let (mut shown, mut looks) = (Vec::new(), Vec::new());
        for ((kind, _), fills) in kinds.slots().zip(&candidates.slots) {
            let mut known: FxHashMap<Vec<Face>, u32> = FxHashMap::default();
            let mut list = Vec::new();
            let look = |fill| {
                let mut faces = Vec::new();
                for joint in Joint::ALL {
                    let patterns = &mut joints[joint as usize];
                    faces.extend(shown_by(kind, fill, joint).map(|shown| Face {
                        joint,
                        front: patterns.number(shown.front),
                        rear: shown.rear.map(|rear| patterns.number(rear)),
                        blank: shown.front.is_unknown(),
                    }));
                }
                *known.entry(faces).or_insert_with_key(|faces| {
                    list.push(faces.clone());
                    list.len() as u32 - 1
                })
            };
            looks.push(fills.iter().map(look).collect());
            shown.push(list);
        }
        for joint in &mut joints {
            let list = &joint.list;
            if list.len() <= LARGEST_TABLE {
                let row = |a: &Pattern<'a>| list.iter().map(|b| a.mates(b)).collect::<Vec<_>>();
                joint.table = list.iter().flat_map(row).collect();
            }
        }
        Self { joints, shown, looks }
    }

    /// The look of a candidate.
    pub(crate) fn look(&self, slot: usize, pick: u32) -> u32 {
        self.looks[slot][pick as usize]
    }

    /// Whether some candidate of a slot shows something at a joint.
    pub(crate) fn takes_part(&self, slot: usize, joint: Joint) -> bool {
        self.shown[slot].iter().flatten().any(|face| face.joint == joint)
    }

    /// Looks of all slots that take part in a joint, in slot order: how many of the joints clash and
    /// how many are blank. Every two parts present have to agree, but for those that an adapting part
    /// stands between.
    pub(crate) fn meet(&self, looks: &[(usize, u32)], joint: Joint) -> Meeting {
        let present: Vec<Face> = looks
            .iter()
            .flat_map(|(slot, look)| &self.shown[*slot][*look as usize])
            .filter(|face| face.joint == joint)
            .copied()
            .collect();
        let patterns = &self.joints[joint as usize];
        for (index, first) in present.iter().enumerate() {
            let facing = first.rear.unwrap_or(first.front);
            for second in &present[index + 1..] {
                if !patterns.mate(facing, second.front) {
                    return Meeting::Clashes;
                }
                if second.rear.is_some() {
                    break;
                }
            }
        }
        let blank = present.len() > 1 && present.iter().any(|face| face.blank);
        if blank { Meeting::Unverified } else { Meeting::Mates }
    }

    /// The same for several joints: none where they clash at one, else at how many a face is blank.
    pub(crate) fn meet_all(&self, looks: &[(usize, u32)], joints: &[Joint]) -> Option<u32> {
        unverified(joints.iter().map(|joint| self.meet(looks, *joint)))
    }
}

/// At how many joints a face is blank; none where known ones clash at one.
pub(crate) fn unverified(meetings: impl IntoIterator<Item = Meeting>) -> Option<u32> {
    meetings.into_iter().try_fold(0, |unverified, meeting| match meeting {
        Meeting::Clashes => None,
        Meeting::Unverified => Some(unverified + 1),
        Meeting::Mates => Some(unverified),
    })
}

/// How the parts at a joint go together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Meeting {
    /// All known faces mate.
    Mates,
    /// All known faces mate, and one is blank.
    Unverified,
    /// Two known faces do not mate.
    Clashes,
}
