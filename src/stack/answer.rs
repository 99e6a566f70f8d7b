//! What the search finds out: plain results, which the reports turn into words.

use crate::model::edge::Edge;
use crate::model::length::Length;
use crate::model::money::Cents;
use crate::stack::cost::ToBuy;
use crate::stack::grade::Grade;
use crate::stack::lengths::Missing;
use crate::stack::window::{Empty, SetBy};

/// A part that could not take its place in a stack.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct LeftOut {
    /// Its kind.
    pub kind: &'static str,
    /// Its number; none of what is as on the bench.
    pub id: Option<String>,
    /// The dimensions it lacks.
    pub needs: Vec<&'static str>,
    /// Dimensions of which any one would do.
    pub needs_any: Vec<&'static str>,
}

impl LeftOut {
    /// Gathers what each way to a length lacks: a part that lacks one dimension alone on every way needs
    /// any one of them.
    pub fn gather_any(ways: Vec<Vec<Missing>>) -> Vec<Self> {
        let mut each: Vec<Vec<Self>> = ways.into_iter().map(Self::gather).collect();
        let alone = |way: &Vec<Self>| matches!(&way[..], [one] if one.needs.len() == 1);
        let same = |way: &Vec<Self>| (way[0].kind, &way[0].id) == (each[0][0].kind, &each[0][0].id);
        if each.len() > 1 && each.iter().all(alone) && each.iter().all(same) {
            let mut any: Vec<&'static str> = each.iter().map(|way| way[0].needs[0]).collect();
            any.sort_unstable();
            any.dedup();
            if let [first, ..] = &mut each[..]
                && any.len() > 1
            {
                let mut one = first.remove(0);
                (one.needs, one.needs_any) = (Vec::new(), any);
                return vec![one];
            }
        }
        // Else the shortest way is told.
        each.sort_by_key(|way| way.iter().map(|part| part.needs.len()).sum::<usize>());
        each.into_iter().next().unwrap_or_default()
    }

    /// Gathers what single sums lacked, part by part.
    pub fn gather(missing: impl IntoIterator<Item = Missing>) -> Vec<Self> {
        let mut all: Vec<Self> = Vec::new();
        for Missing { kind, id, dim } in missing {
            match all.iter_mut().find(|known| known.kind == kind && known.id == id) {
                Some(known) if known.needs.contains(&dim) => {}
                Some(known) => known.needs.push(dim),
                None => all.push(Self { kind, id, needs: vec![dim], needs_any: Vec::new() }),
            }
        }
        all.sort();
        all
    }
}

/// The number that stands in the way where nothing lands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Forbidden {
    /// No candidate at all for a slot, and what became of its parts.
    NoCandidate(Sieve),
    /// Every combination clashes at some mating face.
    NothingMates,
    /// Every combination that mates takes more shim than its bearing.
    TooMuchShim,
    /// What mates cannot be summed up: what one such combination lacks, for each length the parts of
    /// every way to it.
    NothingAdds(Vec<Vec<LeftOut>>),
    /// No combination mates and can be summed up; there are too many to tell which of both it is.
    NothingWorks,
    /// Something is in its window and passes its checks, and is not wanted.
    Asked {
        /// The most that may be spent, where that takes it out, with the currency.
        budget: Option<(Cents, String)>,
        /// The lowest grade wanted, where that takes it out.
        at_least: Option<Grade>,
        /// The best that there is without them: its grade, and what is to be bought of it.
        best: (Grade, ToBuy),
    },
    /// The window is empty for the bearing's travel.
    Travel {
        /// The bearing.
        bearing: String,
        /// Its travel.
        travel: Length,
        /// By how much, and which way.
        empty: Empty,
        /// Who set the two edges that leave no room.
        set_by: (SetBy, SetBy),
    },
    /// An edge that the nearest stack misses.
    Edge {
        /// Which edge.
        edge: Edge,
        /// Who set it.
        set_by: SetBy,
        /// Its limit.
        limit: Length,
        /// By how much it is missed.
        by: Length,
    },
    /// Stacks land in the window and each fails a check.
    Checks {
        /// The check that the best of them fails.
        check: &'static str,
    },
}

/// Why a part of the library is no candidate in its slot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Removed {
    /// The job fixes the slot, or it was asked to stay as fitted.
    Stays,
    /// It was asked to stay empty.
    Without,
    /// Retired.
    Retired,
    /// Not among those that were asked for.
    Only,
    /// Not wanted.
    Skipped,
    /// It lacks a dimension that the sum needs.
    Lacks,
    /// Neither fitted nor on the shelf.
    NotOnHand,
    /// Its faces clash with what stays in the other slots.
    Clashes,
}

impl Removed {
    /// As it is written for programs.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Stays => "stays",
            Self::Without => "without",
            Self::Retired => "retired",
            Self::Only => "only",
            Self::Skipped => "skipped",
            Self::Lacks => "lacks_dimension",
            Self::NotOnHand => "not_on_hand",
            Self::Clashes => "clashes",
        }
    }

    /// As it is said.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Stays => "the slot stays",
            Self::Without => "--without",
            Self::Retired => "retired",
            Self::Only => "--only",
            Self::Skipped => "--skip",
            Self::Lacks => "lack a dimension",
            Self::NotOnHand => "not on hand",
            Self::Clashes => "clash with what stays",
        }
    }
}

/// What became of the parts of one slot's kind.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sieve {
    /// The slot.
    pub slot: usize,
    /// Parts of its kind in the library.
    pub parts: usize,
    /// How many were removed for which reason, in the order in which it is asked.
    pub removed: Vec<(Removed, usize)>,
    /// Fills that are left: parts, pairs of shims, and the empty slot where it may be.
    pub fills: usize,
}

impl Sieve {
    /// Counts parts as removed.
    pub fn remove(&mut self, reason: Removed, parts: usize) {
        match self.removed.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, known)) => *known += parts,
            None if parts > 0 => self.removed.push((reason, parts)),
            None => {}
        }
    }

    /// Parts that are left.
    pub fn left(&self) -> usize {
        self.parts - self.removed.iter().map(|(_, parts)| parts).sum::<usize>()
    }
}

/// The combinations of a job, ranked.
#[derive(Debug, Clone)]
pub struct Answer<S> {
    /// Combinations of the candidates whose known faces mate, where they were counted.
    pub considered: Option<u128>,
    /// Those of them that are in the window and fail no check; none beside a number of combinations
    /// where it would take too long to count them.
    pub in_window: Option<u128>,
    /// What became of each slot's parts, where that was asked for.
    pub sieves: Vec<Sieve>,
    /// Parts left out for want of a dimension.
    pub left_out: Vec<LeftOut>,
    /// The best stacks, best first.
    pub stacks: Vec<S>,
    /// Where there are none: the closest few.
    pub nearest: Vec<S>,
    /// Where there are none: what stands in the way.
    pub forbidden: Option<Forbidden>,
}

impl<S> Answer<S> {
    /// What was found and how much there is of it (combinations, and those in their windows), without the
    /// reasons for what was not.
    pub fn found(
        (considered, in_window): (Option<u128>, Option<u128>),
        stacks: Vec<S>,
        nearest: Vec<S>,
    ) -> Self {
        Self {
            considered,
            in_window,
            stacks,
            nearest,
            sieves: Vec::new(),
            left_out: Vec::new(),
            forbidden: None,
        }
    }
}

/// A range of a dimension; an open end is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Range {
    /// At least.
    pub from: Option<Length>,
    /// At most.
    pub to: Option<Length>,
}

impl Range {
    /// What both ranges allow; none where they exclude each other.
    pub fn and(self, other: Self) -> Option<Self> {
        let from = self.from.max(other.from);
        let to = match (self.to, other.to) {
            (Some(a), Some(b)) => Some(a.min(b)),
            (a, b) => a.or(b),
        };
        let possible = from.zip(to).is_none_or(|(from, to)| from <= to);
        possible.then_some(Self { from, to })
    }

    /// The range of the differences from a dimension.
    #[must_use]
    pub fn less(self, today: Length) -> Self {
        let less = |end: Option<Length>| end.map(|end| end - today);
        Self { from: less(self.from), to: less(self.to) }
    }

    /// Whether a dimension lies in it.
    pub fn holds(self, length: Length) -> bool {
        self.from.is_none_or(|from| length >= from) && self.to.is_none_or(|to| length <= to)
    }
}

/// A dimension to look for in one slot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LookFor {
    /// The slot's index.
    pub slot: usize,
    /// The dimension.
    pub dimension: &'static str,
    /// What it is today, zero in an empty slot, and the range that puts the job in its window if only
    /// this changes; none where nobody knows what it is today.
    pub found: Option<(Length, Range)>,
    /// The same as differences, new less today's.
    pub by: Range,
    /// The parts of the library that lie in the range and mate with what stays, by their numbers; none
    /// where the range is not known or has no ends.
    pub parts: Option<Vec<String>>,
}

impl LookFor {
    /// Its range.
    pub fn range(&self) -> Option<Range> {
        self.found.map(|(_, range)| range)
    }

    /// The parts of the library, as far as they can be told.
    pub fn known_parts(&self) -> &[String] {
        self.parts.as_deref().unwrap_or_default()
    }
}

/// What is wrong with a job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Trouble {
    /// It is in its window, and better than marginal.
    Nothing,
    /// The fingers push the bearing too far back: too little reserve (or too much preload).
    TooTight {
        /// The edge that is missed.
        edge: Edge,
        /// By how much.
        by: Length,
        /// What that is in facing wear, where the finger ratio is known.
        wear: Option<Length>,
    },
    /// The fingers hardly reach: too little preload (or too much reserve).
    TooLoose {
        /// The edge that is missed.
        edge: Edge,
        /// By how much.
        by: Length,
        /// What that is in facing wear, where the finger ratio is known.
        wear: Option<Length>,
    },
    /// The bearing's travel cannot hold both minimums.
    EmptyWindow(Forbidden),
    /// In its window as computed, but not certain.
    NotCertain,
    /// In its window, but a check beside it fails.
    FailsCheck(&'static str),
}

/// One slot's change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The slot's index.
    pub slot: usize,
    /// What is fitted today.
    pub from: Vec<String>,
    /// What takes its place; none where the slot is emptied.
    pub to: Vec<String>,
    /// The thickness to which the fitted part is machined instead.
    pub machine_to: Option<Length>,
}

/// A set of changes and the stack that they make.
#[derive(Debug, Clone)]
pub struct Remedy<S> {
    /// The changes.
    pub changes: Vec<Change>,
    /// The stack.
    pub fit: S,
}

/// The answer for one job.
#[derive(Debug, Clone)]
pub struct Cure<S> {
    /// The job as fitted, with a new disc where the fitted one is worn.
    pub now: S,
    /// The job with its disc as it is, where that differs.
    pub as_it_stands: Option<S>,
    /// What is wrong.
    pub trouble: Trouble,
    /// Changes, and pairs of changes where those were looked at, that mate and can be worked out; none
    /// where they were not counted.
    pub considered: Option<u128>,
    /// Those of them that put the job right: as many as an endless list would have; none where they were
    /// not counted.
    pub in_window: Option<u128>,
    /// Parts that could not be looked at.
    pub left_out: Vec<LeftOut>,
    /// The remedies, the smallest change first.
    pub remedies: Vec<Remedy<S>>,
    /// The dimensions to look for, slot by slot.
    pub look_for: Vec<LookFor>,
    /// What forbids a cure, where no range of any single dimension works.
    pub forbidden: Option<Forbidden>,
}
