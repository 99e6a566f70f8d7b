//! What is to be built on a job: the best stack of the newest answer that was kept for it, else what it
//! has fitted.

use super::kept::today;
use crate::catalog::NamedAnswer;
use crate::error::Result;
use crate::model::kept::KeptAnswer;
use crate::solve::ask::Watch;
use crate::solve::cure::lacks;
use crate::solve::in_hand::with_pieces;
use crate::stack::choice::Setup;
use crate::stack::fit::{Fit, evaluate};

/// The newest answer that was kept for a job and held a stack in its window. One that is damaged is none.
pub fn newest<'k>(answers: &'k [NamedAnswer], job: &str) -> Option<&'k KeptAnswer> {
    let whole = answers.iter().rev().filter_map(|(_, kept)| kept.as_ref().ok());
    let mut own = whole.filter(|kept| kept.job == job);
    own.find(|kept| kept.stacks.landed && !kept.stacks.stacks.is_empty())
}

/// The stack that is to be built, with what the catalog says today: of a part number of which measured
/// pieces are in hand for the job, one of those.
///
/// # Errors
///
/// Says why it cannot be had or worked out today.
pub fn planned<'a>(setup: &Setup<'a>, kept: Option<&KeptAnswer>, watch: &Watch) -> Result<Fit<'a>> {
    if let Some(then) = kept.and_then(|kept| kept.stacks.stacks.first()) {
        return today(setup, then, watch);
    }
    let choice = setup.fitted_choice()?;
    if let Some(fit) = with_pieces(setup, &choice, watch)? {
        return Ok(fit);
    }
    evaluate(setup, &choice).map_err(|lack| lacks(setup, &lack))
}
