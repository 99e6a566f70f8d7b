//! An independent judge of one stack: everything that is said of it, worked out anew from the parts'
//! entries and the job's readings. It shares no code with the program's own sum nor with its search,
//! and is written to be read beside a page that says what is computed, section by section.
//!
//! | file | section |
//! |---|---|
//! | `sum` | terms collected by piece and dimension, worst case and u in whole numbers |
//! | `house` | house numbers and assumed tolerances |
//! | `task` | the job: slots as on the bench, what stays, what becomes of the fitted facings |
//! | `clutch` | finger height, gap and ratio, with what stands for those that nobody knows |
//! | `routes` | the finger tips and the bearing, by every route, and which one serves |
//! | `window` | the window with who set what, room, end float, working range |
//! | `cross` | cross-checks and which stacks they cap |
//! | `grade` | grades and caps |
//! | `faces`, `checks`, `cost` | what is beside the window, and the order |
//!
//! All is exact: whole nanometres, millionths of them, and their squares. Slow on purpose.

mod chance;
mod checks;
mod clutch;
pub(crate) mod cost;
mod cross;
pub(crate) mod cure;
mod faces;
mod grade;
mod house;
pub(crate) mod product;
mod routes;
mod sum;
pub(crate) mod task;
mod window;

use bellstack::model::edge::{Edge, PerEdge};
use bellstack::stack::grade::Grade;

pub(crate) use checks::{Checks, Said};
pub(crate) use cross::{Agreement, Compared, CrossCheck};
pub(crate) use grade::Why;
pub(crate) use house::Changed;
pub(crate) use routes::{End, Fingers, Missing, Rear};
pub(crate) use sum::{Dim, Total, Who};
pub(crate) use task::{Fill, Task};
pub(crate) use window::{By, Window};

use cost::ToBuy;
use grade::edge_grade;

/// Everything that the judge finds of one stack. Lengths in nanometres, money in cents.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Verdict {
    pub(crate) fingers: Fingers,
    pub(crate) rear: Rear,
    pub(crate) preload: Total,
    pub(crate) reserve: Total,
    pub(crate) window: Window,
    pub(crate) room: PerEdge<Option<i128>>,
    pub(crate) least_room: i128,
    pub(crate) caps: Vec<Why>,
    pub(crate) grade: Grade,
    pub(crate) clash: bool,
    pub(crate) not_verified: u8,
    pub(crate) checks: Checks,
    pub(crate) to_buy: ToBuy,
    pub(crate) changes: Vec<usize>,
    pub(crate) parts: usize,
    pub(crate) wear_bought: Option<(i128, bool)>,
    pub(crate) gearbox_moves: Option<i128>,
    /// Preload and reserve as sums, for whoever asks for the chance.
    sums: [sum::Sum; 2],
}

impl Verdict {
    pub(crate) fn fails(&self) -> bool {
        self.checks.iter().any(|(_, said)| *said == Said::Fail)
    }

    /// How likely both numbers are in their window; nothing where a route is contradicted or the
    /// diaphragm beyond its range. One exactly where every limit is covered and nothing is assumed, no
    /// error being one that may pass its limit; with something assumed at most 0.999.
    pub(crate) fn chance(&self) -> Option<f64> {
        if self.caps.iter().any(|why| matches!(why, Why::Contradiction | Why::OutsideRange)) {
            return None;
        }
        let room = |edge: Edge| self.room[edge].map_or(f64::INFINITY, |room| room as f64);
        let preload = (room(Edge::PreloadMin), room(Edge::PreloadMax));
        let reserve = (room(Edge::ReserveMin), room(Edge::ReserveMax));
        let value = chance::chance(&self.sums[0], &self.sums[1], preload, reserve);
        let assumed = self.preload.assumed || self.reserve.assumed;
        Some(if assumed { value.min(0.999) } else { value })
    }

    /// What a chance rests on: the fitted disc is new; a set gap that nobody stated; a doubtful reading.
    pub(crate) fn conditions(&self) -> [bool; 3] {
        let gaps = self.sums[0].products.iter().flat_map(|product| &product.gap.0);
        let assumed = gaps.into_iter().any(|term| term.dim.key == clutch::ASSUMED_GAP);
        let capped = |why| self.caps.contains(&why);
        [capped(Why::StateUnknown), assumed, capped(Why::Doubt)]
    }

    /// In its window, and no check fails.
    pub(crate) fn holds(&self) -> bool {
        self.grade <= Grade::Marginal && !self.fails()
    }
}

/// Preload and reserve of what is fitted with its facings as worn as they are, where both can be had.
pub(crate) fn as_it_stands(task: &Task<'_>) -> Option<[i128; 2]> {
    let (tips, contact) = (task.fingers_as_they_stand()?, task.contact(&task.fitted).ok()?);
    let preload = tips.clone().plus(&contact.extended, -1).total()?;
    let reserve = contact.retracted.clone().plus(&tips, -1).total()?;
    Some([preload.value, reserve.value])
}

/// Judges one stack.
pub(crate) fn judge<'a>(
    task: &Task<'a>,
    stack: &[Fill<'a>],
    cross_checks: &[CrossCheck],
) -> Result<Verdict, Missing> {
    let (fingers, contact) = match (task.fingers(stack), task.contact(stack)) {
        (Ok(fingers), Ok(contact)) => (fingers, contact),
        (fingers, contact) => {
            let fingers = fingers.err().unwrap_or_default();
            return Err(Missing { fingers, bearing: contact.err().unwrap_or_default() });
        }
    };
    let (route, tips) = fingers;
    let sums =
        [tips.clone().plus(&contact.extended, -1), contact.retracted.clone().plus(&tips, -1)];
    let [preload, reserve] = [0, 1].map(|side| sums[side].total().unwrap());
    let window = task.window(stack);
    let float = |edge| task.end_float(stack, route.reads_crank(), edge);
    let room = PerEdge::from_fn(|edge| {
        let (limit, _) = window.edges[edge]?;
        let value = if edge.is_preload() { preload.value } else { reserve.value };
        let inside = if edge.is_least() { value - limit } else { limit - value };
        Some(inside - float(edge))
    });
    let computed = room
        .set()
        .map(|(edge, room)| edge_grade(*room, if edge.is_preload() { &preload } else { &reserve }));
    let computed = computed.max().unwrap();
    let mut caps = task.cross_caps(stack, route, contact.from, cross_checks);
    caps.extend(task.state_caps(stack, route, |edge| room[edge]));
    if task.outside_range(stack) {
        caps.push(Why::OutsideRange);
    }
    caps.sort();
    caps.dedup();
    let grade = caps.iter().map(|why| why.cap()).chain([computed]).max().unwrap();
    let faces = task.faces(stack);
    let spent = reserve.value - float(Edge::ReserveMin);
    Ok(Verdict {
        fingers: route,
        rear: contact.from,
        least_room: room.set().map(|(_, room)| *room).min().unwrap(),
        window,
        room,
        caps,
        grade,
        clash: faces.clash,
        not_verified: faces.not_verified,
        checks: task.checks(stack, preload.value, faces),
        to_buy: task.to_buy(stack),
        changes: task.changes(stack),
        parts: cost::parts(stack),
        wear_bought: task.wear_bought(stack, spent),
        gearbox_moves: task.gearbox_moves(stack),
        preload,
        reserve,
        sums,
    })
}
