//! The position of the finger tips and of the bearing's contact face, by every route, and which one
//! serves. Both are counted from behind the stack's block plate.

use bellstack::model::job::Reading;
use bellstack::model::kinds::{Enters, Inside};

use super::sum::{Dim, Sum, Terms};
use super::task::{BEARING_DEPTH, CLUTCH, CRANK, Fill, TO_FINGERS, Task};

/// Where the finger tips' position comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum Fingers {
    /// The finger depth as read.
    Depth,
    /// Crank and clutch apart: each as read, or of the catalogue.
    Apart { crank_read: bool, clutch_read: bool },
}

impl Fingers {
    pub(crate) const ALL: [Self; 5] = [
        Self::Depth,
        Self::Apart { crank_read: true, clutch_read: true },
        Self::Apart { crank_read: true, clutch_read: false },
        Self::Apart { crank_read: false, clutch_read: true },
        Self::Apart { crank_read: false, clutch_read: false },
    ];

    pub(crate) fn reads_crank(self) -> bool {
        !matches!(self, Self::Apart { crank_read: false, .. })
    }

    pub(crate) fn reads_clutch(self) -> bool {
        !matches!(self, Self::Apart { clutch_read: false, .. })
    }
}

/// One end of the bearing's travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum End {
    Extended,
    Retracted,
}

impl End {
    pub(crate) const BOTH: [Self; 2] = [Self::Extended, Self::Retracted];

    pub(crate) const fn reading(self) -> Reading {
        match self {
            Self::Extended => Reading::BearingDepthExtended,
            Self::Retracted => Reading::BearingDepthRetracted,
        }
    }

    pub(crate) const fn height(self) -> &'static str {
        match self {
            Self::Extended => "extended_height",
            Self::Retracted => "retracted_height",
        }
    }

    const fn key(self) -> &'static str {
        match self {
            Self::Extended => "bearing_depth_extended",
            Self::Retracted => "bearing_depth_retracted",
        }
    }
}

/// Where the bearing's position comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(crate) enum Rear {
    /// Each end from its own reading.
    BothDepths,
    /// Both ends from one reading.
    OneDepth(End),
    Catalogue,
}

impl Rear {
    pub(crate) fn starts_from(self, end: End) -> bool {
        self == Self::BothDepths || self == Self::OneDepth(end)
    }
}

/// The bearing's contact face at both ends.
pub(crate) struct Contact {
    pub(crate) from: Rear,
    pub(crate) extended: Sum,
    pub(crate) retracted: Sum,
}

/// What is missing: for each route of a length that has none, the dimensions that it lacks.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Missing {
    pub(crate) fingers: Vec<Vec<Dim>>,
    pub(crate) bearing: Vec<Vec<Dim>>,
}

impl<'a> Task<'a> {
    fn thickness(&self, fills: &[Fill<'a>], kind: &'static str) -> Sum {
        let mut sum = Sum::default();
        self.put(&mut sum.plain, fills, (kind, "thickness"), 1);
        self.put_others(&mut sum.plain, fills, kind, 1, rear);
        sum
    }

    fn read_over(&self, reading: Reading, key: &'static str, over: bool) -> Option<Sum> {
        let read = self.reading(reading)?;
        let sum = Sum { plain: self.read_term(key, read), ..Sum::default() };
        // Taken over the fitted block plate: its thickness reaches the bare block.
        Some(if over { sum.plus(&self.thickness(&self.fitted, "block_plate"), 1) } else { sum })
    }

    /// Block face to crank flange as it was read, moved by new less fitted.
    fn crank_as_read(&self, stack: &[Fill<'a>]) -> Option<Sum> {
        let over = self.job.crank_over_plate;
        let read = self.read_over(Reading::CrankProtrusion, "crank_protrusion", over)?;
        let moved = self.crank(stack).plus(&self.crank(&self.fitted), -1);
        self.something_stays(stack, CRANK).then(|| read.plus(&moved, 1))
    }

    /// The crank flange from behind the stack's block plate, as read and as catalogued.
    pub(crate) fn cranks(&self, stack: &[Fill<'a>]) -> Vec<Sum> {
        let plate = self.thickness(stack, "block_plate");
        let all = self.crank_as_read(stack).into_iter().chain([self.crank(stack)]);
        all.map(|crank| crank.plus(&plate, -1)).collect()
    }

    /// Crank and clutch by a route, where there is one; unknown dimensions may be left in it.
    /// `facings` stands for the stack's facings, `now` for those inside the measured sum.
    fn finger_route(
        &self,
        stack: &[Fill<'a>],
        route: Fingers,
        facings: &Terms,
        now: &Terms,
    ) -> Option<Sum> {
        let same_plate = {
            let slot = self.slot("pressure_plate");
            self.keeps(stack, slot)
        };
        let new = |taken| self.clutch(stack, facings, taken);
        let moved = || {
            let now = self.clutch(&self.fitted, now, !same_plate);
            new(!same_plate).plus(&now, -1)
        };
        let front = match route {
            Fingers::Depth => {
                let over = self.job.depth_over_plate;
                let read = self.read_over(Reading::FingerDepth, "finger_depth", over)?;
                if !self.something_stays(stack, TO_FINGERS) {
                    return None;
                }
                let crank = self.crank(stack).plus(&self.crank(&self.fitted), -1);
                read.plus(&crank, 1).plus(&moved(), 1)
            }
            Fingers::Apart { crank_read, clutch_read } => {
                let crank = if crank_read { self.crank_as_read(stack)? } else { self.crank(stack) };
                let clutch = if clutch_read {
                    let read = self.read_over(Reading::ClutchHeight, "clutch_height", false)?;
                    if !self.something_stays(stack, CLUTCH) {
                        return None;
                    }
                    read.plus(&moved(), 1)
                } else {
                    new(true)
                };
                crank.plus(&clutch, 1)
            }
        };
        Some(front.plus(&self.thickness(stack, "block_plate"), -1))
    }

    /// The finger tips by the route with the smallest u; the first of them on a tie.
    pub(crate) fn fingers(&self, stack: &[Fill<'a>]) -> Result<(Fingers, Sum), Vec<Vec<Dim>>> {
        self.fingers_with(stack, &self.facing_terms(stack), &self.facings_now(stack))
    }

    /// The same of what is fitted, with its facings as worn as they are.
    pub(crate) fn fingers_as_they_stand(&self) -> Option<Sum> {
        let as_they_are = self.facings_as_they_are();
        let found = self.fingers_with(&self.fitted, &as_they_are, &as_they_are);
        found.ok().map(|(_, sum)| sum)
    }

    fn fingers_with(
        &self,
        stack: &[Fill<'a>],
        facings: &Terms,
        now: &Terms,
    ) -> Result<(Fingers, Sum), Vec<Vec<Dim>>> {
        let mut best: Option<(i128, Fingers, Sum)> = None;
        let mut missing = Vec::new();
        for route in Fingers::ALL {
            let Some(sum) = self.finger_route(stack, route, facings, now) else { continue };
            let Some(total) = sum.total() else {
                missing.push(sum.unknown());
                continue;
            };
            if best.as_ref().is_none_or(|(least, ..)| total.three_u2 < *least) {
                best = Some((total.three_u2, route, sum));
            }
        }
        best.map(|(_, route, sum)| (route, sum)).ok_or(missing)
    }

    /// The finger tips on the parts that are fitted today, the facings as they are, by a route.
    pub(crate) fn fingers_today(&self, route: Fingers) -> Option<Sum> {
        let fitted = &self.fitted;
        let now = self.facings_as_they_are();
        let read = |reading, key, over| self.read_over(reading, key, over);
        let front = match route {
            Fingers::Depth => {
                read(Reading::FingerDepth, "finger_depth", self.job.depth_over_plate)?
            }
            Fingers::Apart { crank_read, clutch_read } => {
                let crank = if crank_read {
                    let over = self.job.crank_over_plate;
                    read(Reading::CrankProtrusion, "crank_protrusion", over)?
                } else {
                    self.crank(fitted)
                };
                let clutch = if clutch_read {
                    read(Reading::ClutchHeight, "clutch_height", false)?
                } else {
                    self.clutch(fitted, &now, true)
                };
                crank.plus(&clutch, 1)
            }
        };
        Some(front.plus(&self.thickness(fitted, "block_plate"), -1))
    }

    /// The fitted facings as they are on the bench: as read, else by what is told of them.
    fn facings_as_they_are(&self) -> Terms {
        let read = self.reading(Reading::FittedDiscThickness);
        let piece =
            |slot: usize| self.fitted[slot].part().is_some_and(|part| part.piece_of.is_some());
        match (read, self.facing_slot()) {
            (Some(read), Some(slot)) if !piece(slot) => {
                self.read_term("fitted_disc_thickness", read)
            }
            _ => self.facings_now(&self.fitted),
        }
    }

    /// Bell housing's engine face to the bearing's contact face, by the parts' own dimensions.
    pub(crate) fn behind(&self, fills: &[Fill<'a>], end: End) -> Sum {
        let mut sum = Sum::default();
        for (kind, key, times) in [
            ("bell_housing", "depth", 1),
            ("gearbox_spacer", "thickness", 1),
            ("gearbox", "seat_height", -1),
            ("bearing_shim", "thickness", -1),
            ("bearing", end.height(), -1),
        ] {
            self.put(&mut sum.plain, fills, (kind, key), times);
        }
        for kind in BEARING_DEPTH {
            self.put_others(&mut sum.plain, fills, kind, 1, at_end(end));
        }
        for (_, kind, inside) in self.other_slots() {
            if inside == Some(Inside::BearingDepth) {
                self.put_others(&mut sum.plain, fills, kind, 1, at_end(end));
            }
        }
        sum
    }

    /// What stands between block plate and bell housing.
    fn before_the_bell(&self, fills: &[Fill<'a>]) -> Sum {
        let mut sum = self.thickness(fills, "bell_spacer");
        for (_, kind, inside) in self.other_slots() {
            if inside.is_none() {
                self.put_others(&mut sum.plain, fills, kind, 1, rear);
            }
        }
        sum
    }

    pub(crate) fn depth_read(&self, end: End) -> Option<Sum> {
        self.read_over(end.reading(), end.key(), false)
    }

    /// The fitted bearing's height at one end of its travel.
    pub(crate) fn put_height(&self, terms: &mut Terms, end: End, times: i128) {
        self.put(terms, &self.fitted, ("bearing", end.height()), times);
        // Others enter as they lower the contact face.
        let way = move |enters| match (enters, end) {
            (Enters::Extended(sign), End::Extended) | (Enters::Retracted(sign), End::Retracted) => {
                Some(-sign)
            }
            _ => None,
        };
        self.put_others(terms, &self.fitted, "bearing", times, way);
    }

    /// Both ends from one reading, moved by new less fitted.
    fn from_one_depth(&self, stack: &[Fill<'a>], end: End) -> Option<Contact> {
        let seat = self.depth_read(end)?.plus(&self.behind(&self.fitted, end), -1);
        let at = |end| seat.clone().plus(&self.behind(stack, end), 1);
        let [extended, retracted] = End::BOTH.map(at);
        Some(Contact { from: Rear::OneDepth(end), extended, retracted })
    }

    /// The bearing by what was read: one way, or where none of two works both for what they lack.
    fn measured_contacts(&self, stack: &[Fill<'a>]) -> Vec<Contact> {
        if !self.something_stays(stack, BEARING_DEPTH) {
            return Vec::new();
        }
        let [extended, retracted] = End::BOTH.map(|end| self.from_one_depth(stack, end));
        let (extended, retracted) = match (extended, retracted) {
            (Some(extended), Some(retracted)) => (extended, retracted),
            (one, other) => return one.or(other).into_iter().collect(),
        };
        if self.keeps(stack, self.slot("bearing")) {
            let from = Rear::BothDepths;
            return vec![Contact { from, retracted: retracted.retracted, ..extended }];
        }
        // Another bearing: both ends from the seat that is known better, reading and fitted height.
        let u2 = |end: End| {
            let mut seat = self.depth_read(end)?;
            self.put_height(&mut seat.plain, end, 1);
            Some(seat.total()?.three_u2)
        };
        match (u2(End::Extended), u2(End::Retracted)) {
            (Some(one), Some(other)) if other < one => vec![retracted],
            (Some(_), _) => vec![extended],
            (None, Some(_)) => vec![retracted],
            (None, None) => vec![extended, retracted],
        }
    }

    /// The bearing by the route with the smaller u at both ends together, measured on a tie.
    pub(crate) fn contact(&self, stack: &[Fill<'a>]) -> Result<Contact, Vec<Vec<Dim>>> {
        let catalogued = Contact {
            from: Rear::Catalogue,
            extended: self.behind(stack, End::Extended),
            retracted: self.behind(stack, End::Retracted),
        };
        let before = self.before_the_bell(stack);
        let mut best: Option<(i128, Contact)> = None;
        let mut missing = Vec::new();
        for contact in self.measured_contacts(stack).into_iter().chain([catalogued]) {
            let extended = contact.extended.plus(&before, 1);
            let retracted = contact.retracted.plus(&before, 1);
            let contact = Contact { from: contact.from, extended, retracted };
            let (Some(one), Some(other)) = (contact.extended.total(), contact.retracted.total())
            else {
                let lacks = [contact.extended.unknown(), contact.retracted.unknown()];
                let mut lacks = lacks.concat();
                lacks.sort();
                lacks.dedup();
                missing.push(lacks);
                continue;
            };
            let u2 = one.three_u2 + other.three_u2;
            if best.as_ref().is_none_or(|(least, _)| u2 < *least) {
                best = Some((u2, contact));
            }
        }
        best.map(|(_, contact)| contact).ok_or(missing)
    }
}

fn rear(enters: Enters) -> Option<i64> {
    if let Enters::Rear(sign) = enters { Some(sign) } else { None }
}

fn at_end(end: End) -> impl Fn(Enters) -> Option<i64> + Copy {
    move |enters| match (enters, end) {
        (Enters::Rear(sign), _)
        | (Enters::Extended(sign), End::Extended)
        | (Enters::Retracted(sign), End::Retracted) => Some(sign),
        _ => None,
    }
}
