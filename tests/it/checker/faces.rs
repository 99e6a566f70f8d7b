//! The eight mating faces.

use bellstack::model::kinds::Joint;
use bellstack::model::part::Part;

use super::clutch::length;
use super::task::{Fill, Task};

/// Two diameters that differ by no more mate, nanometres.
const ONE_MM: i128 = 1_000_000;

/// Each face with the parts that meet there, from the engine to the gearbox, and the name of theirs.
const FACES: [(Joint, &str, &[&str]); 7] = [
    (Joint::Crank, "crank_pattern", &["engine", "flywheel"]),
    (Joint::Cover, "cover_pattern", &["flywheel", "pressure_plate"]),
    (Joint::Spline, "spline", &["disc", "pressure_plate", "gearbox"]),
    (Joint::Block, "block_pattern", &["engine", "block_plate", "bell_spacer", "bell_housing"]),
    (Joint::Gearbox, "gearbox_pattern", &["bell_housing", "gearbox_spacer", "gearbox"]),
    (Joint::Seat, "seat_pattern", &["gearbox", "bearing", "bearing_shim"]),
    (Joint::Contact, "contact_face", &["pressure_plate", "bearing"]),
];

/// A part's names as they are written at a face, front and rear; blank where unknown.
type Names = (String, String);

#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Faces {
    /// Some two known faces share no name.
    pub(crate) clash: bool,
    /// The bits of faces at which some part present is blank.
    pub(crate) not_verified: u8,
}

impl<'a> Task<'a> {
    pub(crate) fn faces(&self, stack: &[Fill<'a>]) -> Faces {
        let mut found = Faces::default();
        for (joint, key, kinds) in FACES {
            let shown: Vec<Names> =
                kinds.iter().flat_map(|kind| self.shown(stack, joint, key, kind)).collect();
            if shown.iter().any(|(front, _)| front.is_empty()) {
                found.not_verified |= joint.bit();
            }
            for (index, (front, rear)) in shown.iter().enumerate() {
                // What is behind a part that names its rear apart meets that, and nothing before it.
                let facing = if rear.is_empty() { front } else { rear };
                for (other, adapts) in &shown[index + 1..] {
                    found.clash |= !share(facing, other);
                    if !adapts.is_empty() {
                        break;
                    }
                }
            }
        }
        self.diameters(stack, &mut found);
        found
    }

    pub(crate) fn faces_clash(&self, stack: &[Fill<'a>]) -> bool {
        self.faces(stack).clash
    }

    /// Disc and plate. A matched set brings discs of its own: there is nothing to compare.
    fn diameters(&self, stack: &[Fill<'a>], found: &mut Faces) {
        let (plate, disc) = self.plate_and_disc(stack);
        if plate.is_some_and(Part::is_matched_set) {
            return;
        }
        match length(disc, "diameter").zip(length(plate, "disc_diameter")) {
            Some((disc, plate)) => found.clash |= (disc - plate).abs() > ONE_MM,
            None => found.not_verified |= Joint::Diameter.bit(),
        }
    }

    fn shown(&self, stack: &[Fill<'a>], joint: Joint, key: &str, kind: &str) -> Vec<Names> {
        let fill = &stack[self.slot(kind)];
        if fill.bench {
            // A plate as on the bench shows no spline: its disc does.
            let splined_elsewhere = joint == Joint::Spline && kind == "pressure_plate";
            return if splined_elsewhere { Vec::new() } else { vec![Names::default()] };
        }
        let names = |part: &Part, key: &str| {
            let face = part.kind.face_index(key);
            face.map_or_else(String::new, |face| part.faces[face].to_string())
        };
        let both = |part: &Part| (names(part, key), names(part, &format!("{key}_rear")));
        let parts = fill.parts.iter().map(|(_, part)| *part);
        // Only a matched set has a spline of its own.
        let parts = parts.filter(|part| {
            joint != Joint::Spline || kind != "pressure_plate" || part.is_matched_set()
        });
        parts.map(both).collect()
    }
}

/// Whether two faces as they are written may meet: blank and `*` meet all.
fn share(a: &str, b: &str) -> bool {
    let open = |face: &str| face.is_empty() || face == "*";
    open(a) || open(b) || a.split('|').any(|name| b.split('|').any(|other| other == name))
}
