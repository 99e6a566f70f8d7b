//! The chance of one stack against the judge's own integral.

use bellstack::stack::choice::Setup;
use bellstack::stack::fit::evaluate;
use bellstack::stack::odds::{Chance, Proviso, chance_of};

use super::stacks::draw;
use super::{choice, none_differ, seeds, shown};
use crate::checker::{Task, judge};
use crate::shops::{Dice, RealShop, real};

/// What a chance is good to, and as much for the judge's own integral.
const WITHIN: f64 = 0.0012;

#[test]
fn the_chance_is_the_judges_integral_to_a_thousandth() {
    let (mut compared, mut between, mut unknown) = (0, 0, 0);
    let mut rests = [0; 3];
    let mut found = Vec::new();
    for seed in seeds(5_000_000, 600) {
        let RealShop { library, job, changed } = &real(seed);
        let task = Task::new(library, job, changed.clone());
        let setup = Setup::new(library, job).unwrap();
        let checks = task.cross_checks();
        let mut dice = Dice::new(seed);
        for _ in 0..3 {
            let stack = draw(&mut dice, &task);
            let Ok(verdict) = judge(&task, &stack, &checks) else { continue };
            let Ok(fit) = evaluate(&setup, &choice(&stack)) else { continue };
            let chance = chance_of(&fit);
            let (said, judged) = (chance.value(), verdict.chance());
            let agree = match (said, judged) {
                (Some(said), Some(judged)) => (said - judged).abs() <= WITHIN,
                (said, judged) => said == judged,
            };
            if !agree {
                found.push(format!("seed {seed} [{}]: {said:?}, judged {judged:?}", shown(&stack)));
            }
            if let Chance::Of(_, conditions) = chance {
                let said = [
                    conditions.contains(&Proviso::DiscIsNew),
                    conditions.iter().any(|one| matches!(one, Proviso::SetGap(_))),
                    conditions.contains(&Proviso::Doubtful),
                ];
                for (tally, rests) in rests.iter_mut().zip(verdict.conditions()) {
                    *tally += usize::from(rests);
                }
                if said != verdict.conditions() {
                    let judged = verdict.conditions();
                    found.push(format!(
                        "seed {seed} [{}] if: {said:?}, judged {judged:?}",
                        shown(&stack)
                    ));
                }
            }
            compared += 1;
            unknown += usize::from(judged.is_none());
            between += usize::from(judged.is_some_and(|chance| chance > 0.02 && chance < 0.98));
        }
    }
    none_differ(&found, &(compared, between, unknown, rests));
    assert!(rests.iter().all(|count| *count > 10), "{rests:?}");
    assert!(compared > 500 && between > 50 && unknown > 50, "{compared} {between} {unknown}");
}
