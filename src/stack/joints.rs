//! The mating faces of a stack: which clash, and which are not verified.

use crate::model::faces::Names;
use crate::model::kinds::{FaceEnd, Joint, KindSpec};
use crate::model::length::Length;
use crate::model::part::Part;
use crate::stack::choice::{Choice, Fill, Setup};

/// Discs and plates are made for one diameter when they differ by no more than this: 1 mm.
pub const DIAMETER_WITHIN: Length = Length::from_nm(1_000_000);

/// What is known about the eight joints of a stack.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Joints {
    /// At how many joints two parts meet.
    pub met: u32,
    /// The bits of joints at which some part present is blank.
    pub not_verified: u8,
    /// What clashes, in words: joint, part and part.
    pub clashes: Vec<(Joint, String, String)>,
}

impl Joints {
    /// How many joints are not verified.
    pub fn not_verified_count(&self) -> u32 {
        self.not_verified.count_ones()
    }

    /// The names of the joints that are not verified.
    pub fn not_verified_names(&self) -> Vec<&'static str> {
        let open = |joint: &&Joint| self.not_verified & joint.bit() != 0;
        Joint::ALL.iter().filter(open).map(|joint| joint.name()).collect()
    }
}

/// What one part shows at a joint: toward the engine and toward the gearbox.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AtJoint<'a> {
    /// The part's number, or its kind where it is "as on the bench".
    pub who: &'a str,
    /// What parts before it have to mate with.
    pub front: Pattern<'a>,
    /// What parts behind it have to mate with, where the part adapts.
    pub rear: Option<Pattern<'a>>,
}

/// A pattern's names, or for the disc joint a diameter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Pattern<'a> {
    /// The user's own names.
    Names(&'a Names),
    /// A diameter, where known.
    Diameter(Option<Length>),
}

impl Pattern<'_> {
    /// Whether nothing is known.
    pub fn is_unknown(&self) -> bool {
        match self {
            Self::Names(names) => names.is_unknown(),
            Self::Diameter(diameter) => diameter.is_none(),
        }
    }

    /// Whether the two fit, as far as is known.
    pub fn mates(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Names(a), Self::Names(b)) => a.mates(b),
            (Self::Diameter(Some(a)), Self::Diameter(Some(b))) => {
                (*a - *b).abs() <= DIAMETER_WITHIN
            }
            _ => true,
        }
    }
}

/// What a part shows at a joint, if it takes part in it.
pub fn shown(part: &Part, joint: Joint) -> Option<AtJoint<'_>> {
    if joint == Joint::Diameter {
        let key = match part.kind.key {
            "disc" => "diameter",
            "pressure_plate" if !part.is_matched_set() => "disc_diameter",
            _ => return None,
        };
        let front = Pattern::Diameter(part.length(key));
        return Some(AtJoint { who: &part.id, front, rear: None });
    }
    let set = part.is_matched_set();
    let face = |end: FaceEnd| {
        let found = part.kind.faces.iter().position(|face| {
            face.joint == joint && face.end == end && (set || !face.matched_set_only)
        });
        found.map(|index| &part.faces[index])
    };
    let front = Pattern::Names(face(FaceEnd::Front)?);
    let rear = face(FaceEnd::Rear).filter(|names| !names.is_unknown()).map(Pattern::Names);
    Some(AtJoint { who: &part.id, front, rear })
}

/// Whether a part shows another face toward the gearbox than toward the engine at a joint.
pub(crate) fn adapts(part: &Part, joint: Joint) -> bool {
    shown(part, joint).is_some_and(|shown| shown.rear.is_some())
}

/// Whether a kind takes part in a joint at all (a plate's spline only as a matched set).
pub fn takes_part(kind: &KindSpec, joint: Joint) -> bool {
    match joint {
        Joint::Diameter => kind.key == "disc" || kind.key == "pressure_plate",
        _ => kind.faces.iter().any(|face| face.joint == joint && !face.matched_set_only),
    }
}

/// What stands in a slot shows at a joint, part by part.
pub(crate) fn shown_by<'a>(
    kind: &'static KindSpec,
    fill: &Fill<'a>,
    joint: Joint,
) -> impl Iterator<Item = AtJoint<'a>> {
    let on_bench = fill.on_bench && takes_part(kind, joint);
    let unknown = AtJoint { who: kind.name, front: Pattern::Names(&Names::Unknown), rear: None };
    let parts: Vec<_> = fill.parts.iter().filter_map(|part| shown(part, joint)).collect();
    on_bench.then_some(unknown).into_iter().chain(parts)
}

/// Checks all eight joints of a choice.
pub fn joints<'a>(setup: &Setup<'a>, choice: &Choice<'a>) -> Joints {
    let mut result = Joints::default();
    for joint in Joint::ALL {
        let mut present: Vec<AtJoint<'_>> = Vec::new();
        for ((kind, _), fill) in setup.library.kinds.slots().zip(&choice.fills) {
            present.extend(shown_by(kind, fill, joint));
        }
        check_joint(joint, &present, &mut result);
    }
    result
}

/// Whether two parts meet at some joint and fit each other at each where they do, as far as is known;
/// `front` stands nearer the engine.
pub fn mate(front: &Part, rear: &Part) -> bool {
    let meet = |joint: &Joint| Some((shown(front, *joint)?, shown(rear, *joint)?));
    let mut met = Joint::ALL.iter().filter_map(meet).peekable();
    met.peek().is_some()
        && met.all(|(front, rear)| front.rear.as_ref().unwrap_or(&front.front).mates(&rear.front))
}

/// Every two parts present have to agree, but for those that an adapting part stands between.
fn check_joint(joint: Joint, present: &[AtJoint<'_>], result: &mut Joints) {
    if present.len() < 2 {
        return;
    }
    result.met += 1;
    if present.iter().any(|shown| shown.front.is_unknown()) {
        result.not_verified |= joint.bit();
    }
    for (index, first) in present.iter().enumerate() {
        let facing = first.rear.as_ref().unwrap_or(&first.front);
        for second in &present[index + 1..] {
            if !facing.mates(&second.front) {
                result.clashes.push((joint, first.who.into(), second.who.into()));
            }
            if second.rear.is_some() {
                break;
            }
        }
    }
}
