//! Answers that a measured piece in hand changes: what was told of its part number is not what is
//! fitted in the end.

use super::kept::today;
use crate::error::{Class, Result};
use crate::measure::remark::{Found, Remark, Topic};
use crate::model::job::Job;
use crate::model::kept::KeptAnswer;
use crate::model::library::Library;
use crate::solve::ask::Watch;
use crate::solve::in_hand::with_pieces;
use crate::stack::choice::Setup;
use crate::stack::fit::{Fit, evaluate};

/// The jobs whose worn disc is replaced by a piece in hand of another grade than its number, and the
/// kept answers whose best stack has another grade with the pieces that are in hand today. The
/// library is the one that answers are computed with.
///
/// # Errors
///
/// Only that the work was interrupted: what cannot be told of a job or an answer changes nothing.
pub fn changed_in_hand(
    used: &Library,
    jobs: &[Job],
    kept: &[KeptAnswer],
    watch: &Watch,
) -> Result<Vec<Remark>> {
    let mut remarks = Vec::new();
    if used.measured.specimens.is_empty() {
        return Ok(remarks);
    }
    for job in jobs {
        let Ok(setup) = Setup::new(used, job) else { continue };
        let Ok(choice) = setup.fitted_choice() else { continue };
        // Few jobs have such a piece, and to see that is quick.
        let Some(piece) = with_pieces(&setup, &choice, watch)? else { continue };
        let Ok(bare) = evaluate(&setup, &choice) else { continue };
        if bare.grade != piece.grade {
            let (bare, now) = (bare.grade.word(), piece.grade.word());
            let words = format!("{now} with {}, {bare} with another one", pieces(&piece));
            remarks.push(remark("job", &job.id, words));
        }
    }
    for kept in kept {
        let Some((then, job)) =
            kept.stacks.stacks.first().zip(jobs.iter().find(|job| job.id == kept.job))
        else {
            continue;
        };
        let Ok(setup) = Setup::new(used, job) else { continue };
        let now = match today(&setup, then, watch) {
            Ok(now) => now,
            Err(error) if error.class() == Class::Interrupted => return Err(error),
            Err(_) => continue,
        };
        let pieces = pieces(&now);
        if now.grade.word() != then.grade && !pieces.is_empty() {
            let words =
                format!("{} with {pieces}, {} when it was kept", now.grade.word(), then.grade);
            remarks.push(remark("answer", &kept.name, words));
        }
    }
    Ok(remarks)
}

fn remark(kind: &'static str, id: &str, words: String) -> Remark {
    let found = Found::Words(words);
    Remark { topic: Topic::InHand, kind, id: id.into(), columns: Vec::new(), found }
}

/// The pieces that a stack has and that are not fitted.
fn pieces(fit: &Fit<'_>) -> String {
    let slots = fit.changed.iter().map(|slot| &fit.choice.fills[*slot]);
    let pieces = slots.flat_map(|fill| &fill.parts).filter(|part| part.piece_of.is_some());
    pieces.map(|part| part.id.as_str()).collect::<Vec<_>>().join(", ")
}
