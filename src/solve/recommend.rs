//! Every combination, ranked: which parts land the bearing in its window.

use crate::error::Result;
use crate::solve::ask::{Answer, Ask, Watch};
use crate::solve::candidates::{Candidates, candidates};
use crate::solve::ranked::ranked;
use crate::solve::reasons;
use crate::stack::choice::Setup;
use crate::stack::fit::Fit;

/// Ranks every combination of the candidates.
///
/// # Errors
///
/// Refuses an ask that contradicts itself, and says when the work was interrupted.
pub fn recommend<'a>(setup: &Setup<'a>, ask: &Ask, watch: &Watch) -> Result<Answer<Fit<'a>>> {
    let candidates = candidates(setup, ask)?;
    recommend_among(setup, ask, &candidates, watch)
}

/// Ranks every combination of these candidates.
///
/// # Errors
///
/// Says when the work was interrupted.
pub fn recommend_among<'a>(
    setup: &Setup<'a>,
    ask: &Ask,
    candidates: &Candidates<'a>,
    watch: &Watch,
) -> Result<Answer<Fit<'a>>> {
    let mut answer = ranked(setup, ask, candidates, watch)?;
    if ask.explain {
        answer.sieves = reasons::with_clashes(setup, candidates);
    }
    answer.left_out = reasons::left_out(setup, candidates, &answer, watch)?;
    if answer.stacks.is_empty() {
        answer.forbidden = reasons::forbidden(setup, ask, candidates, &answer, watch)?;
    }
    Ok(answer)
}
