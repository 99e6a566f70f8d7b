//! What answers show of a stack, worked out once: tables, JSON, CSV and pages only write it.

use crate::stack::answer::{Answer, Cure, Remedy};
use crate::stack::caution::{Caution, cautions};
use crate::stack::choice::{Facings, Setup};
use crate::stack::fit::{Fit, evaluate_as_it_stands};
use crate::stack::grade::Grade;
use crate::stack::measuring::{Next, ToMeasure, next, to_measure};
use crate::stack::odds::{Chance, chance_of};
use crate::stack::picture::{Picture, Travel};
use crate::stack::terms::{Term, terms};
use crate::stack::unused::{Unused, unused_readings};
use crate::stack::window::{ClutchSums, clutch_sums};

/// Of how many stacks of a ranking the details are worked out and shown.
pub const DETAILED: usize = 3;

/// A stack as answers show it.
#[derive(Debug, Clone)]
pub struct Shown<'a> {
    /// The stack.
    pub fit: Fit<'a>,
    /// How likely it is in its window.
    pub chance: Chance,
    /// What a builder has to know before trusting the numbers, the gravest first.
    pub cautions: Vec<Caution>,
    /// What is shown beside its row; none of a stack that is a row alone.
    pub details: Option<Details>,
}

/// What is shown of a stack beside its row.
#[derive(Debug, Clone, PartialEq)]
pub struct Details {
    /// What would do most for a stack that is marginal or undecided.
    pub next: Option<Next>,
    /// How the clutch's own minimums come about.
    pub clutch: ClutchSums,
    /// Readings of the job that are in no sum of the stack.
    pub unused: Vec<Unused>,
    /// The bearing's travel, with the window and the finger tips on it.
    pub travel: Travel,
}

impl<'a> Shown<'a> {
    /// A stack that is a row alone.
    pub fn row(setup: &Setup<'a>, fit: Fit<'a>) -> Self {
        Self { chance: chance_of(&fit), cautions: cautions(setup, &fit), fit, details: None }
    }

    /// A stack with its details.
    pub fn detailed(setup: &Setup<'a>, fit: Fit<'a>) -> Self {
        let part = |kind| setup.part(&fit.choice, kind);
        let details = Details {
            next: next(setup, &fit),
            clutch: clutch_sums(&setup.library.house, part("pressure_plate"), part("disc")),
            unused: unused_readings(setup, &fit),
            travel: Travel::of(&fit),
        };
        Self { details: Some(details), ..Self::row(setup, fit) }
    }

    /// Stacks in the order of a ranking, the first few with their details.
    fn ranked(setup: &Setup<'a>, fits: Vec<Fit<'a>>) -> Vec<Self> {
        let show = |(index, fit)| {
            if index < DETAILED { Self::detailed(setup, fit) } else { Self::row(setup, fit) }
        };
        fits.into_iter().enumerate().map(show).collect()
    }
}

/// One stack with everything that is shown of it.
#[derive(Debug, Clone)]
pub struct OneStack<'a> {
    /// The stack that is judged.
    pub judged: Shown<'a>,
    /// The terms of its sum.
    pub terms: Vec<Term>,
    /// Where every face of it stands.
    pub picture: Picture<'a>,
    /// The same with the fitted disc as it is now, where a new one takes its place.
    pub as_it_stands: Option<Shown<'a>>,
    /// What was asked for names a part number of which measured pieces are in hand: the stack with
    /// another one of that number, while the one that is judged has a piece.
    pub another: Option<Shown<'a>>,
    /// What is to be measured on it, where that was asked for or the grade asks for it.
    pub to_measure: Option<ToMeasure>,
}

impl<'a> OneStack<'a> {
    /// The stack of what was asked for, `fit`, or in its place the one with pieces in hand,
    /// `in_hand`. `measure` asks for what is to be measured, whatever the grade.
    pub fn of(setup: &Setup<'a>, fit: Fit<'a>, in_hand: Option<Fit<'a>>, measure: bool) -> Self {
        let (judged, another) = match in_hand {
            Some(judged) => (judged, Some(Shown::row(setup, fit))),
            None => (fit, None),
        };
        let facings_stay = setup
            .facing_slot()
            .is_some_and(|slot| judged.choice.fills[slot].same(&setup.fitted[slot]));
        let replaced = facings_stay && setup.facings() == Facings::Replaced;
        let as_it_stands = if replaced && setup.job.measures_clutch() {
            evaluate_as_it_stands(setup, &judged.choice).ok().map(|fit| Shown::row(setup, fit))
        } else {
            None
        };
        let open = matches!(judged.grade, Grade::Marginal | Grade::Undecided);
        let to_measure = if measure || open { to_measure(setup, &judged) } else { None };
        let terms = terms(&judged);
        let picture = Picture::of(setup, &judged);
        let judged = Shown::detailed(setup, judged);
        Self { judged, terms, picture, as_it_stands, another, to_measure }
    }
}

impl<'a> Answer<Fit<'a>> {
    /// The answer as it is shown.
    pub fn shown(self, setup: &Setup<'a>) -> Answer<Shown<'a>> {
        Answer {
            considered: self.considered,
            in_window: self.in_window,
            sieves: self.sieves,
            left_out: self.left_out,
            stacks: Shown::ranked(setup, self.stacks),
            nearest: Shown::ranked(setup, self.nearest),
            forbidden: self.forbidden,
        }
    }
}

impl<'a> Cure<Fit<'a>> {
    /// The cure as one row of a table shows it: no stack with its details.
    pub fn shown_in_brief(self, setup: &Setup<'a>) -> Cure<Shown<'a>> {
        self.shown_by(setup, Shown::row, |setup, fits| {
            fits.into_iter().map(|fit| Shown::row(setup, fit)).collect()
        })
    }

    /// The cure as it is shown.
    pub fn shown(self, setup: &Setup<'a>) -> Cure<Shown<'a>> {
        self.shown_by(setup, Shown::detailed, Shown::ranked)
    }

    fn shown_by(
        self,
        setup: &Setup<'a>,
        today: fn(&Setup<'a>, Fit<'a>) -> Shown<'a>,
        ranked: fn(&Setup<'a>, Vec<Fit<'a>>) -> Vec<Shown<'a>>,
    ) -> Cure<Shown<'a>> {
        let (changes, fits): (Vec<_>, Vec<_>) =
            self.remedies.into_iter().map(|remedy| (remedy.changes, remedy.fit)).unzip();
        let shown = ranked(setup, fits);
        let remedies = changes.into_iter().zip(shown);
        Cure {
            now: today(setup, self.now),
            as_it_stands: self.as_it_stands.map(|fit| Shown::row(setup, fit)),
            trouble: self.trouble,
            considered: self.considered,
            in_window: self.in_window,
            left_out: self.left_out,
            remedies: remedies.map(|(changes, fit)| Remedy { changes, fit }).collect(),
            look_for: self.look_for,
            forbidden: self.forbidden,
        }
    }
}
