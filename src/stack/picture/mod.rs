//! The geometry of a picture: where every face of a stack stands along the crank's axis.
//!
//! Positions are counted from behind the chosen block plate, as the stack's own lengths are, and
//! positive toward the gearbox. The finger tips and both ends of the bearing stand exactly where the
//! sum has them. Every other face stands where its part's own dimension puts it, where that is known;
//! where it is not, the face is only put somewhere between its neighbours, and its part is broken.
//! Where readings and catalogue differ, what gives is the height of the fingers over their cover, and
//! the seat of the bearing over its gearbox.

mod chain;
mod change;
mod front;
mod rear;
mod travel;

pub use chain::{Arrow, Chain, Rests};
pub use change::{Ghost, SlotChange};
pub use front::Front;
pub use rear::Rear;
pub use travel::{Stands, Travel};

use crate::model::length::Length;
use crate::model::part::Part;
use crate::stack::choice::{Choice, Setup};
use crate::stack::fit::Fit;
use crate::stack::lengths::{BearingFrom, FingerFrom, From};
use crate::stack::window::clamped;

/// A face of a part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Face {
    /// Where it stands, from behind the block plate.
    pub at: Length,
    /// Whether the stack says so; else it is only put somewhere between its neighbours.
    pub known: bool,
}

impl Face {
    const fn known(at: Length) -> Self {
        Self { at, known: true }
    }

    const fn guessed(at: Length) -> Self {
        Self { at, known: false }
    }

    /// A face that stands off another by a length, as far as that is known; by `about` otherwise.
    fn off(self, by: Option<Length>, about: Length) -> Self {
        match by {
            Some(by) => Self { at: self.at + by, known: self.known },
            None => Self::guessed(self.at + about),
        }
    }
}

/// What stands in a slot, as it is drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Piece<'a> {
    /// The slot's index.
    pub slot: usize,
    /// The kind's key.
    pub kind: &'static str,
    /// The part; none of what is as on the bench, and of what is taken out.
    pub part: Option<&'a Part>,
    /// Where it begins and ends along the axis.
    pub span: (Length, Length),
    /// Nobody knows its own length: it is drawn broken.
    pub broken: bool,
    /// The measured sum that a broken piece sits in.
    pub inside: Option<&'static str>,
    /// What becomes of it against what is fitted today.
    pub change: SlotChange<'a>,
}

/// A stack along the crank's axis.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture<'a> {
    /// The bare block's housing face; guessed where nobody knows how thick the block plate is.
    pub block: Face,
    /// From the crank flange to the finger tips.
    pub front: Front,
    /// From the bell housing to the bearing.
    pub rear: Rear,
    /// What stands in the slots, and what leaves them, in slot order.
    pub pieces: Vec<Piece<'a>>,
    /// The dimensions of the sum as arrows along the axis.
    pub chain: Chain,
    /// The bearing's travel with the window on it.
    pub travel: Travel,
}

/// What stands in for lengths that nobody knows, so that there is something to draw: invented round
/// numbers, which enter no sum.
struct StandIn;

impl StandIn {
    const BLOCK_PLATE: Length = Length::from_thou(80);
    const SPACER: Length = Length::from_thou(250);
    const SHIM: Length = Length::from_thou(60);
    const SEAT: Length = Length::from_thou(1000);
    const FLYWHEEL: Length = Length::from_thou(1000);
    const DISC: Length = Length::from_thou(330);
    const BEARING: Length = Length::from_thou(1900);
}

impl<'a> Picture<'a> {
    /// The picture of a stack that was worked out.
    pub fn of(setup: &Setup<'a>, fit: &Fit<'a>) -> Self {
        let stack = Chosen { setup, choice: &fit.choice };
        let plate = stack.thickness("block_plate");
        let block = Face::known(Length::ZERO).off(plate.map(|t| -t), -StandIn::BLOCK_PLATE);
        let front = Front::of(&stack, fit);
        let rear = Rear::of(&stack, fit);
        let mut picture = Self {
            block,
            front,
            rear,
            pieces: Vec::new(),
            chain: Chain::of(setup, fit, block),
            travel: Travel::of(fit),
        };
        picture.pieces = pieces(&stack, fit, &picture);
        picture
    }

    /// What stands in the slot of a kind, or leaves it.
    pub fn piece(&self, kind: &str) -> Option<&Piece<'a>> {
        self.pieces.iter().find(|piece| piece.kind == kind)
    }

    /// The first and the last position of anything that is drawn to scale.
    pub fn ends(&self) -> (Length, Length) {
        let (front, rear) = (&self.front, &self.rear);
        let faces = [self.block, front.flange, front.friction, front.cover, front.pressed];
        let more = [rear.bell, rear.bell_rear, rear.gearbox, rear.seat, rear.base];
        let lines = [front.fingers, rear.extended, rear.retracted, rear.stands].into_iter();
        let extra = front.pilot.into_iter().flat_map(|(from, to)| [from, to]).chain(rear.tip);
        let ghosts = self.pieces.iter().filter_map(|piece| piece.change.ghost());
        let spans = self.pieces.iter().map(|piece| piece.span).chain(ghosts.map(|one| one.span));
        let all = faces.into_iter().chain(more).map(|face| face.at).chain(lines).chain(extra);
        let all = all.chain(spans.flat_map(|(from, to)| [from, to])).chain(self.chain.places());
        let start = (self.block.at, self.block.at);
        all.fold(start, |(low, high), at| (low.min(at), high.max(at)))
    }
}

/// The parts of one stack with their dimensions, as far as they are known.
struct Chosen<'s, 'a> {
    setup: &'s Setup<'a>,
    choice: &'s Choice<'a>,
}

impl<'a> Chosen<'_, 'a> {
    fn part(&self, kind: &str) -> Option<&'a Part> {
        self.setup.part(self.choice, kind)
    }

    fn length(&self, kind: &str, key: &str) -> Option<Length> {
        self.part(kind)?.length(key)
    }

    /// How thick everything in a slot is together, what is machined off counted: nothing where
    /// nothing stands there.
    fn thickness(&self, kind: &str) -> Option<Length> {
        let Some(slot) = self.setup.slot(kind) else { return Some(Length::ZERO) };
        let fill = &self.choice.fills[slot];
        if fill.on_bench {
            return None;
        }
        let each = fill.parts.iter().map(|part| part.length("thickness"));
        each.sum::<Option<Length>>().map(|all| all - fill.cut)
    }
}

/// A part's own length along the axis: the one that its place in the stack depends on.
fn own_length(part: &Part) -> Option<Length> {
    match part.kind.key {
        "disc" => clamped(part),
        kind => part.length(own_key(kind)?),
    }
}

/// The dimension that a kind's place in the stack depends on.
fn own_key(kind: &str) -> Option<&'static str> {
    Some(match kind {
        "engine" => "crank_protrusion",
        "pressure_plate" => "finger_height",
        "bell_housing" => "depth",
        "gearbox" => "seat_height",
        "bearing" => "extended_height",
        "flywheel" | "disc" | "block_plate" | "bell_spacer" | "gearbox_spacer" | "bearing_shim" => {
            "thickness"
        }
        _ => return None,
    })
}

/// Everything that stands in a slot or leaves it, with its place.
fn pieces<'a>(stack: &Chosen<'_, 'a>, fit: &Fit<'a>, picture: &Picture<'a>) -> Vec<Piece<'a>> {
    let (front, rear) = (&picture.front, &picture.rear);
    let mut all = Vec::new();
    for (slot, (kind, _)) in stack.setup.library.kinds.slots().enumerate() {
        let span = match kind.key {
            "engine" => (picture.block.at, front.flange.at),
            "flywheel" => (front.flange.at, front.friction.at),
            "disc" => (front.friction.at, front.pressed.at),
            "pressure_plate" => (front.cover.at, front.fingers),
            "block_plate" => (picture.block.at, Length::ZERO),
            "bell_spacer" => (Length::ZERO, rear.bell.at),
            "bell_housing" => (rear.bell.at, rear.bell_rear.at),
            "gearbox_spacer" => (rear.bell_rear.at, rear.gearbox.at),
            "gearbox" => (rear.seat.at, rear.gearbox.at),
            "bearing" => (rear.stands, rear.base.at),
            "bearing_shim" => (rear.base.at, rear.seat.at),
            // A kind that the table has more than this program draws: it is in the chain alone.
            _ => continue,
        };
        all.extend(in_slot(stack, fit, slot, kind.key, span));
    }
    all
}

fn in_slot<'a>(
    stack: &Chosen<'_, 'a>,
    fit: &Fit<'a>,
    slot: usize,
    kind: &'static str,
    span: (Length, Length),
) -> Vec<Piece<'a>> {
    let fill = &stack.choice.fills[slot];
    let changes = change::of(stack.setup, fit, slot);
    let mut pieces = Vec::new();
    let mut from = span.0;
    let mut changes = changes.into_iter();
    for part in &fill.parts {
        let own = own_length(part);
        let several = fill.parts.len() > 1;
        let to = if several { from + own.unwrap_or(StandIn::SHIM) } else { span.1 };
        let change = changes.next().unwrap_or(SlotChange::Stays).placed((from, to), kind);
        let piece = Piece {
            slot,
            kind,
            part: Some(part),
            span: (from, to),
            broken: own.is_none(),
            inside: own.is_none().then(|| inside(fit, kind)).flatten(),
            change,
        };
        pieces.push(piece);
        from = to;
    }
    if fill.on_bench {
        let inside = inside(fit, kind);
        let change = changes.next().unwrap_or(SlotChange::Stays).placed(span, kind);
        pieces.push(Piece { slot, kind, part: None, span, broken: true, inside, change });
    }
    // What is left of the changes leaves the slot.
    for change in changes {
        let place = if matches!(kind, "bearing_shim" | "gearbox_spacer") { span.1 } else { span.0 };
        let change = change.placed((place, place), kind);
        let span = (place, place);
        pieces.push(Piece { slot, kind, part: None, span, broken: false, inside: None, change });
    }
    pieces
}

/// The measured sum that holds a kind in this stack, in words.
fn inside(fit: &Fit<'_>, kind: &str) -> Option<&'static str> {
    let finger = fit.lengths.finger.from;
    match kind {
        "engine" => match finger {
            FingerFrom::Depth => Some("finger depth"),
            FingerFrom::Apart { crank: From::Reading, .. } => Some("crank protrusion"),
            FingerFrom::Apart { .. } => None,
        },
        "flywheel" | "disc" | "pressure_plate" => match finger {
            FingerFrom::Depth => Some("finger depth"),
            FingerFrom::Apart { clutch: From::Reading, .. } => Some("clutch height"),
            FingerFrom::Apart { .. } => None,
        },
        "bell_housing" | "gearbox_spacer" | "gearbox" | "bearing" | "bearing_shim" => {
            (fit.lengths.bearing.from != BearingFrom::Catalog).then_some("bearing depth")
        }
        _ => None,
    }
}
