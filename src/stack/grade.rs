//! Grades: published decision rules on how far a stack is inside its window.

use crate::model::length::Length;
use crate::stack::form::Spread;

/// How certain it is that a stack lands in its window (JCGM 106:2012 and ISO 14253-1 guard bands).
/// The order is the order of recommendation: the best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub enum Grade {
    /// Inside even with every stated tolerance at its limit, and nothing assumed.
    #[default]
    Sure,
    /// Inside by at least twice the standard uncertainty.
    Likely,
    /// Inside as computed.
    Marginal,
    /// Outside, by no more than twice the standard uncertainty: measure first.
    Undecided,
    /// Outside.
    Out,
}

impl Grade {
    /// All grades, best first.
    pub const ALL: [Self; 5] =
        [Self::Sure, Self::Likely, Self::Marginal, Self::Undecided, Self::Out];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Sure => "sure",
            Self::Likely => "likely",
            Self::Marginal => "marginal",
            Self::Undecided => "undecided",
            Self::Out => "out",
        }
    }

    /// What it says of every edge of the window.
    pub const fn meaning(self) -> &'static str {
        match self {
            Self::Sure => "inside with every error at its limit",
            Self::Likely => "inside by twice the standard uncertainty",
            Self::Marginal => "inside as computed, no more",
            Self::Undecided => "outside by no more than twice the standard uncertainty",
            Self::Out => "outside",
        }
    }

    /// The grade of this word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|grade| grade.word() == word)
    }

    /// Whether the stack lands in its window as computed.
    pub fn in_window(self) -> bool {
        self <= Self::Marginal
    }
}

/// What one edge allows: its room against its own error limits.
pub fn edge_grade(room: Length, spread: &Spread) -> Grade {
    if room < Length::ZERO {
        return if spread.is_within_two_u(-room) { Grade::Undecided } else { Grade::Out };
    }
    // With very few errors the worst case is below 2u: each rule stands for itself.
    if spread.worst_case_within(room) && !spread.assumed {
        Grade::Sure
    } else if spread.two_u_within(room) {
        Grade::Likely
    } else {
        Grade::Marginal
    }
}

/// The best grade that an edge may have with these error limits and others beside them, however much
/// room there is.
pub(crate) fn best_with(spread: &Spread) -> Grade {
    if spread.assumed { Grade::Likely } else { Grade::Sure }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stack::form::MICRO;

    fn spread(worst: i64, half_width: i64) -> Spread {
        let c = i128::from(half_width) * MICRO;
        let worst_case = i128::from(worst) * MICRO;
        Spread { worst_case, three_u_squared: c * c, assumed: false }
    }

    #[test]
    fn grades_follow_their_rules_at_the_edges() {
        let s = spread(300, 173);
        let grade = |room| edge_grade(Length::from_nm(room), &s);
        assert_eq!(grade(300), Grade::Sure);
        assert_eq!(grade(299), Grade::Likely);
        // 2u = 2 * 173 / sqrt(3) = 199.76.
        assert_eq!(grade(200), Grade::Likely);
        assert_eq!(grade(199), Grade::Marginal);
        assert_eq!(grade(0), Grade::Marginal);
        assert_eq!(grade(-199), Grade::Undecided);
        assert_eq!(grade(-200), Grade::Out);
    }

    #[test]
    fn an_assumed_tolerance_keeps_from_sure() {
        let s = Spread { assumed: true, ..spread(300, 10) };
        assert_eq!(edge_grade(Length::from_nm(1000), &s), Grade::Likely);
    }

    #[test]
    fn without_any_error_the_edge_itself_is_sure_and_one_step_outside_is_out() {
        let s = Spread::default();
        assert_eq!(edge_grade(Length::ZERO, &s), Grade::Sure);
        assert_eq!(edge_grade(Length::from_nm(-1), &s), Grade::Out);
    }
}
