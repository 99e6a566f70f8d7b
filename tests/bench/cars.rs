//! Measured cars of a generated shop: parts are fitted, clutch and bearing were measured, and
//! engine, bell housing and gearbox are as on the bench.

use bellstack::model::entry::Entry;
use bellstack::model::job::{CrankPushed, DiscState, Job, Reading, StarterOn};
use bellstack::model::kinds::Takes;
use bellstack::model::length::Length;
use bellstack::model::library::Library;
use bellstack::model::part::Part;

use crate::shop::{Dice, thou};

/// How a car stands today.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Trouble {
    /// Too tight, too loose or right, whatever the car's number says.
    Any,
    /// Too tight by less than a spacer.
    Tight,
    /// So tight that no single change can cure it. Nobody has such a car: it is there to make the
    /// search go through pairs.
    Far,
}

/// A car whose readings agree with the parts that are fitted, to a few thousandths of an inch.
pub(crate) fn car(library: &Library, groups: usize, number: usize, trouble: Trouble) -> Job {
    let mut dice = Dice::new(7_000_000 + u64::try_from(number).unwrap());
    let name = match trouble {
        Trouble::Any => format!("car-{number:04}"),
        Trouble::Tight => "tight".into(),
        Trouble::Far => "far".into(),
    };
    let mut job = Job::new(name, library.kinds);
    let fitted = fit(library, groups, &mut job, &mut dice);
    let has = |kind: &str| fitted.iter().copied().find(|part| part.kind.key == kind);
    let nm =
        |kind: &str, key: &str| has(kind).and_then(|part| part.length(key)).map_or(0, Length::nm);
    let crank = dice.range(10, 40) * 25_400;
    let ratio = has("pressure_plate").and_then(|plate| plate.entry("finger_ratio")).unwrap().value;
    let gap = nm("disc", "thickness") - nm("pressure_plate", "set_gap");
    let clutch = nm("flywheel", "thickness") + nm("pressure_plate", "finger_height")
        - gap * ratio / 1_000_000;
    let travel = nm("bearing", "extended_height") - nm("bearing", "retracted_height");
    let reserve = match trouble {
        Trouble::Far => -900,
        Trouble::Tight => dice.range(-60, 60),
        Trouble::Any => match number % 10 {
            0..=4 => dice.range(-200, 100),
            5..=8 => travel / 25_400 - dice.range(150, 400),
            _ => travel / 25_400 / 4,
        },
    };
    let plates = nm("block_plate", "thickness") + nm("bell_spacer", "thickness");
    let retracted = crank + clutch + thou(reserve) - plates;
    let mut read = |job: &mut Job, reading: Reading, value: i64| {
        let error = dice.range(-2, 2) * 12_700;
        job.readings[reading as usize] = Some(Entry::new(value + error, Some(thou(3))));
    };
    if number.is_multiple_of(3) {
        read(&mut job, Reading::CrankProtrusion, crank);
        read(&mut job, Reading::ClutchHeight, clutch);
    } else {
        read(&mut job, Reading::FingerDepth, crank + clutch);
    }
    read(&mut job, Reading::BearingDepthExtended, retracted - travel);
    read(&mut job, Reading::BearingDepthRetracted, retracted);
    job.disc_state = match number % 10 {
        7 => DiscState::Unknown,
        8 | 9 => DiscState::Worn,
        _ => DiscState::New,
    };
    if job.disc_state == DiscState::Worn {
        let worn = nm("disc", "thickness") - thou(10);
        job.readings[Reading::FittedDiscThickness as usize] = Some(Entry::new(worn, Some(thou(2))));
    }
    job.crank_pushed = CrankPushed::Front;
    job.starter_on = if number.is_multiple_of(2) { StarterOn::Bell } else { StarterOn::Block };
    job
}

/// Fits parts of one group that mate, and now and then a plate, a spacer or a shim.
fn fit<'a>(library: &'a Library, groups: usize, job: &mut Job, dice: &mut Dice) -> Vec<&'a Part> {
    let group = dice.index(groups);
    let mut fitted = Vec::new();
    for (index, (kind, slot)) in library.kinds.slots().enumerate() {
        let parts: Vec<&Part> = library.of_kind(kind.key).collect();
        let wanted = match slot.takes {
            _ if slot.fixed => false,
            Takes::One | Takes::OneUnlessMatchedSet => true,
            Takes::Optional | Takes::UpToTwo => dice.chance(30),
        };
        let mates = (group..parts.len()).step_by(groups).collect::<Vec<_>>();
        if wanted && !mates.is_empty() {
            let part = parts[mates[dice.index(mates.len())]];
            job.fitted[index].push(part.id.clone());
            fitted.push(part);
        }
    }
    fitted
}
