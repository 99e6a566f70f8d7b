//! A stack put on a job: what of the job changes with it.

use crate::error::{Error, Result};
use crate::model::job::{READINGS, Reading};
use crate::model::length::Length;
use crate::stack::choice::Setup;
use crate::stack::fit::Fit;

/// What changes on a job that takes a stack.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Taken {
    /// The slots that change, as pairs of a row: `flywheel=FW-1`.
    pub pairs: Vec<String>,
    /// Readings that hold a part which leaves: they are of the car as it was.
    pub stale: Vec<Reading>,
    /// The pairs that blank them, and what was told of the facings that leave.
    pub blanks: Vec<String>,
}

/// What changes on a job that takes this stack.
///
/// # Errors
///
/// Refuses a flywheel that is still to be machined: what comes of it is a piece of its own.
pub fn taken(setup: &Setup<'_>, fit: &Fit<'_>) -> Result<Taken> {
    let kinds = setup.library.kinds;
    let mut taken = Taken::default();
    for slot in &fit.changed {
        let fill = &fit.choice.fills[*slot];
        if fill.cut != Length::ZERO {
            let id = fill.ids().join("|");
            return Err(Error::input(format!("`{id}` is not machined yet")).hint(format!(
                "machine it, measure it as a piece such as `{id}#A`, and name that piece on the job"
            )));
        }
        taken.pairs.push(format!("{}={}", kinds.slot_key(*slot), fill.ids().join("|")));
    }
    // The disc's thickness is in no sum: it is of the facings, which leave with their slot.
    let facings = setup.facing_slot().filter(|slot| fit.changed.contains(slot));
    for spec in READINGS {
        let inside = setup.slots_inside(spec.reading.inside());
        let held = match over_plate(setup, spec.reading) {
            Some(_) => inside.into_iter().chain(setup.slot("block_plate")).collect(),
            None if spec.reading == Reading::FittedDiscThickness => Vec::from_iter(facings),
            None => inside,
        };
        if setup.job.reading(spec.reading).is_none() {
            continue;
        }
        if held.iter().any(|slot| fit.changed.contains(slot)) {
            taken.stale.push(spec.reading);
            taken.blanks.push(format!("{}=", spec.key));
            taken.blanks.extend(over_plate(setup, spec.reading).map(|key| format!("{key}=no")));
        }
    }
    if facings.is_some() {
        taken.blanks.push("fitted_disc_state=new".into());
    }
    Ok(taken)
}

/// The column that says that a reading was taken over the fitted block plate, where it was.
fn over_plate(setup: &Setup<'_>, reading: Reading) -> Option<&'static str> {
    match reading {
        Reading::CrankProtrusion if setup.job.crank_over_plate => {
            Some("crank_protrusion_over_plate")
        }
        Reading::FingerDepth if setup.job.depth_over_plate => Some("finger_depth_over_plate"),
        _ => None,
    }
}
