//! A desk's day: every job, and where it stands.

use crate::error::Error;
use crate::solve::cure::{lacks, trouble};
use crate::stack::answer::Trouble;
use crate::stack::choice::{Choice, Setup};
use crate::stack::fit::{Fit, evaluate};

/// Where a job stands as it is fitted.
#[derive(Debug)]
pub enum Stand<'a> {
    /// It could be worked out.
    Judged(Box<Fit<'a>>, Trouble),
    /// Nothing is fitted yet in these slots: it is a build on paper.
    Paper(Vec<&'static str>),
    /// It cannot be told, and why.
    Untold(Error),
}

impl<'a> Stand<'a> {
    /// That of a job.
    pub fn of(setup: &Setup<'a>) -> Self {
        let choice = Choice { fills: setup.fitted.clone() };
        let empty = setup.empty_slots(&choice);
        if !empty.is_empty() {
            return Self::Paper(empty);
        }
        match setup.complete(&choice) {
            Ok(()) => match evaluate(setup, &choice) {
                Ok(fit) => {
                    let trouble = trouble(setup, &fit);
                    Self::Judged(Box::new(fit), trouble)
                }
                Err(lack) => Self::Untold(lacks(setup, &lack)),
            },
            Err(error) => Self::Untold(error),
        }
    }

    /// Where it stands in one word: its grade, or what stands in the way of one.
    pub fn verdict(&self) -> &'static str {
        match self {
            Self::Judged(_, Trouble::FailsCheck(_)) => "fails",
            Self::Judged(fit, _) => fit.grade.word(),
            Self::Paper(_) => "paper",
            Self::Untold(_) => "unknown",
        }
    }

    /// Every word that it may be, the best first.
    pub const VERDICTS: &'static [&'static str] =
        &["sure", "likely", "marginal", "undecided", "out", "fails", "paper", "unknown"];

    /// How early a desk wants to see it: what is too tight or too loose first, what is well last.
    pub fn urgency(&self) -> u8 {
        match self {
            Self::Judged(_, trouble) => match trouble {
                Trouble::TooTight { .. } | Trouble::TooLoose { .. } => 0,
                Trouble::EmptyWindow(_) => 1,
                Trouble::FailsCheck(_) => 2,
                Trouble::NotCertain => 3,
                Trouble::Nothing => 6,
            },
            Self::Untold(_) => 4,
            Self::Paper(_) => 5,
        }
    }
}
