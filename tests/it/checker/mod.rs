//! A second look at what the search found, straight from the parts' entries: every length by every
//! route, its errors, the window, room, grade, cost and faces, by code that shares nothing with
//! the search nor with the program's own sum.
//!
//! A length is a sum of dimensions by piece and key. A measured one is the reading plus the sum of
//! the chosen parts less the sum of the fitted ones, so that what stays cancels, known or not.
//!
//! It leaves out stacks in which some route's finger height is not corrected for want of a gap or a
//! ratio, the checks beside the window, chance, and machined flywheels. Margins, fallbacks and
//! assumed tolerances are the defaults; a shop's or job's own window counts.

mod lengths;
mod sum;

use bellstack::model::entry::Entry;
use bellstack::model::faces::Names;
use bellstack::model::job::{CrankPushed, DiscState, Reading};
use bellstack::model::length::Length;
use bellstack::model::money::Cents;
use bellstack::model::part::Part;
use bellstack::solve::ask::{Ask, Watch};
use bellstack::solve::recommend::recommend;
use bellstack::stack::choice::{Fill, Setup};
use bellstack::stack::fit::Fit;
use bellstack::stack::grade::Grade;

use crate::random::shop;
use lengths::Look;
use sum::{MICRO, Total};

/// Nanometres in 0.001 in.
const THOU: i128 = 25_400;

/// What a look finds of a stack. Lengths in nanometres, money in cents.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Found {
    preload: i128,
    reserve: i128,
    room: i128,
    grade: Grade,
    to_buy: (i128, i128),
    /// Whether all known faces mate, and at how many of the eight some part is blank.
    mates: bool,
    not_verified: u32,
}

impl Found {
    /// What the program says of the same stack.
    pub(crate) fn said(fit: &Fit<'_>) -> Self {
        Self {
            preload: fit.preload.nm().into(),
            reserve: fit.reserve.nm().into(),
            room: fit.room.nm().into(),
            grade: fit.grade,
            to_buy: (fit.to_buy.unpriced.into(), fit.to_buy.amount.get().into()),
            mates: fit.joints.clashes.is_empty(),
            not_verified: fit.joints.not_verified_count(),
        }
    }
}

/// The stack is one that the checker does not cover.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct LeftOut;

/// Looks at a stack once more.
pub(crate) fn look_again(setup: &Setup<'_>, chosen: &[Fill<'_>]) -> Result<Found, LeftOut> {
    let look = Look { setup, chosen };
    let (fingers, doubt) = look.fingers()?;
    let extended = look.contact("extended_height")?;
    let retracted = look.contact("retracted_height")?;
    let preload = fingers.clone().plus(&extended, -1).total().ok_or(LeftOut)?;
    let reserve = retracted.plus(&fingers, -1).total().ok_or(LeftOut)?;
    let edges = look.rooms(preload.value, reserve.value);
    let grades = edges
        .iter()
        .map(|(is_preload, room)| grade(*room, if *is_preload { &preload } else { &reserve }));
    let caps = [doubt, if look.strains_the_diaphragm() { Grade::Marginal } else { Grade::Sure }];
    let (mates, not_verified) = look.faces();
    Ok(Found {
        preload: preload.value,
        reserve: reserve.value,
        room: edges.iter().map(|(_, room)| *room).min().unwrap(),
        grade: grades.chain(caps).max().unwrap(),
        to_buy: look.to_buy(),
        mates,
        not_verified,
    })
}

/// JCGM 106:2012 and ISO 14253-1 guard bands, in integers: `room` in nanometres.
fn grade(room: i128, sum: &Total) -> Grade {
    let micro = room * MICRO;
    let two_u = 3 * micro * micro - 4 * sum.three_u_squared;
    match room {
        ..0 if two_u > 0 => Grade::Out,
        ..0 => Grade::Undecided,
        _ if micro >= sum.worst_case && !sum.assumed => Grade::Sure,
        _ if two_u >= 0 => Grade::Likely,
        _ => Grade::Marginal,
    }
}

fn length(part: Option<&Part>, key: &str) -> Option<i128> {
    part.and_then(|part| part.entry(key)).map(|entry| entry.value.into())
}

impl Look<'_, '_> {
    fn clamped(&self) -> Option<i128> {
        let disc = self.part("disc");
        let by_parts = || Some(length(disc, "free_thickness")? - length(disc, "cushion")?);
        length(disc, "thickness").or_else(by_parts)
    }

    /// The room at each edge, and whether the edge is one of the preload.
    fn rooms(&self, preload: i128, reserve: i128) -> Vec<(bool, i128)> {
        let plate = self.part("pressure_plate");
        let own_wear = self.clamped().zip(length(self.part("disc"), "min_thickness"));
        let wear = length(plate, "wear_allowance").max(own_wear.map(|(new, worn)| new - worn));
        let moved = length(plate, "finger_ratio").zip(wear).map(|(ratio, wear)| ratio * wear);
        let by_clutch = [
            length(plate, "release_travel").map(|travel| travel + 100 * THOU),
            moved.map(|moved| (2 * moved + MICRO).div_euclid(2 * MICRO) + 30 * THOU),
        ];
        let (job, shop) = (&self.setup.job.window, &self.setup.library.house.window);
        let nm = |limit: Option<Length>| limit.map(|limit| i128::from(limit.nm()));
        let least = |set: Option<i128>, clutch: Option<i128>, fallback: i128| match set {
            Some(set) => clutch.map_or(set, |clutch| clutch.max(set)),
            None => clutch.unwrap_or(fallback * THOU),
        };
        let preload_min = least(nm(job.preload_min.or(shop.preload_min)), by_clutch[0], 600);
        let reserve_min = least(nm(job.reserve_min.or(shop.reserve_min)), by_clutch[1], 150);
        // A crank that was pushed to the front comes back to the rear, toward the gearbox.
        let float = length(self.part("engine"), "crank_end_float").unwrap_or(0);
        let (loses_preload, loses_reserve) = match self.setup.job.crank_pushed {
            CrankPushed::Front => (0, float),
            CrankPushed::Rear => (float, 0),
            CrankPushed::Unknown => (float, float),
        };
        let mut rooms = vec![
            (true, preload - preload_min - loses_preload),
            (false, reserve - reserve_min - loses_reserve),
        ];
        if let Some(most) = nm(job.preload_max.or(shop.preload_max)) {
            rooms.push((true, most - preload - loses_reserve));
        }
        if let Some(most) = nm(job.reserve_max.or(shop.reserve_max)) {
            rooms.push((false, most - reserve - loses_preload));
        }
        rooms
    }

    /// The gap is known to lie outside the diaphragm's working range.
    fn strains_the_diaphragm(&self) -> bool {
        let plate = self.part("pressure_plate");
        let step = length(self.part("flywheel"), "cover_step").unwrap_or(0);
        let Some(pack) = length(plate, "pack_thickness").or(self.clamped()) else { return false };
        let set_gap = length(plate, "set_gap");
        let least = length(plate, "set_gap_min").or(set_gap.map(|gap| gap - 20 * THOU));
        let most = length(plate, "set_gap_max").or(set_gap.map(|gap| gap + 20 * THOU));
        least.is_some_and(|least| pack - step < least)
            || most.is_some_and(|most| pack - step > most)
    }

    /// Unpriced pieces and cents: pieces needed less fitted less on hand. A worn disc is no spare.
    fn to_buy(&self) -> (i128, i128) {
        let (mut unpriced, mut cents) = (0, 0);
        for (slot, fill) in self.chosen.iter().enumerate() {
            for (index, part) in fill.parts.iter().enumerate() {
                let is_this = |other: &&&Part| other.id == part.id;
                let fitted = self.setup.fitted[slot].parts.iter().filter(is_this).count();
                let worn = part.kind.key == "disc" && self.disc_is_replaced();
                let there = if worn { 0 } else { fitted } + part.on_hand as usize;
                // This piece is the nth of its number: it is bought where fewer are there.
                if fill.parts[..index].iter().filter(is_this).count() >= there {
                    unpriced += i128::from(part.price.is_none());
                    cents += part.price.map_or(0, |price| i128::from(price.get()));
                }
            }
        }
        (unpriced, cents)
    }

    fn disc_is_replaced(&self) -> bool {
        let told = self.setup.job.reading(Reading::FittedDiscThickness).is_some();
        match self.setup.job.disc_state {
            DiscState::Worn => true,
            DiscState::Unknown => told,
            DiscState::New => false,
        }
    }

    /// Whether all known faces mate, and at how many joints some part is blank.
    fn faces(&self) -> (bool, u32) {
        let set = self.part("pressure_plate").is_some_and(Part::is_matched_set);
        let joints: [(&str, &[&str]); 7] = [
            ("crank_pattern", &["engine", "flywheel"]),
            ("cover_pattern", &["flywheel", "pressure_plate"]),
            ("spline", &[if set { "pressure_plate" } else { "disc" }, "gearbox"]),
            ("block_pattern", &["engine", "block_plate", "bell_spacer", "bell_housing"]),
            ("gearbox_pattern", &["bell_housing", "gearbox_spacer", "gearbox"]),
            ("seat_pattern", &["gearbox", "bearing", "bearing_shim"]),
            ("contact_face", &["pressure_plate", "bearing"]),
        ];
        let (mut mates, mut blank) = (true, 0);
        for (key, kinds) in joints {
            let shown: Vec<_> = kinds.iter().flat_map(|kind| self.shown(kind, key)).collect();
            blank += u32::from(shown.iter().any(|(front, _)| front.is_empty()));
            for (index, (front, rear)) in shown.iter().enumerate() {
                // Behind a part that adapts, what stands before it no longer shows.
                let behind = &shown[index + 1..];
                let adapter = behind.iter().position(|(_, rear)| !rear.is_empty());
                let facing = if rear.is_empty() { front } else { rear };
                let met = adapter.map_or(behind.len(), |adapter| adapter + 1);
                mates &= behind[..met].iter().all(|(other, _)| share(facing, other));
            }
        }
        if !set {
            let disc = length(self.part("disc"), "diameter");
            match disc.zip(length(self.part("pressure_plate"), "disc_diameter")) {
                Some((disc, plate)) => mates &= (disc - plate).abs() <= 1_000_000,
                None => blank += 1,
            }
        }
        (mates, blank)
    }

    /// Front and rear patterns of the parts of a kind, blank where unknown.
    fn shown(&self, kind: &str, key: &str) -> Vec<(String, String)> {
        let fill = &self.chosen[self.slot(kind)];
        if fill.on_bench {
            return vec![(String::new(), String::new())];
        }
        let face = |part: &Part, key: &str| {
            part.kind.face_index(key).map_or_else(String::new, |face| part.faces[face].to_string())
        };
        let both = |part: &&Part| (face(part, key), face(part, &format!("{key}_rear")));
        fill.parts.iter().map(both).collect()
    }
}

/// Whether two written faces may meet: blank and `*` meet all.
fn share(a: &str, b: &str) -> bool {
    let free = |face: &str| face.is_empty() || face == "*";
    free(a) || free(b) || a.split('|').any(|name| b.split('|').any(|other| other == name))
}

/// A change to a part, and the kind of part that it is made to.
type Slip = (&'static str, fn(&mut Part));

#[test]
fn the_second_look_notices_a_nanometre_a_cent_and_a_face() {
    let slips: [Slip; 3] = [
        ("bearing", |part| {
            let longer = part
                .entry("extended_height")
                .map(|entry| Entry { value: entry.value + 1, ..entry });
            part.set("extended_height", longer);
        }),
        ("flywheel", |part| {
            part.on_hand = 0;
            part.price = Some(Cents::new(part.price.map_or(1, |price| price.get() + 1)));
        }),
        ("gearbox", |part| part.faces.fill(Names::parse("odd"))),
    ];
    let (mut agreed, mut noticed) = (0, [0; 3]);
    for seed in 0..300 {
        let plain = shop(seed, 2);
        let setup = Setup::new(&plain.library, &plain.job).unwrap();
        let ask = Ask { top: 1, ..Ask::default() };
        let answer = recommend(&setup, &ask, &Watch::default()).unwrap();
        let Some(fit) = answer.stacks.first() else { continue };
        let Ok(found) = look_again(&setup, &fit.choice.fills) else { continue };
        assert_eq!(found, Found::said(fit), "seed {seed}");
        agreed += 1;
        for ((kind, slip), noticed) in slips.iter().zip(&mut noticed) {
            let mut other = shop(seed, 2);
            other.library.parts.iter_mut().filter(|part| part.kind.key == *kind).for_each(slip);
            let setup = Setup::new(&other.library, &other.job).unwrap();
            let again = |fill: &Fill<'_>| {
                let parts = fill.ids().into_iter().map(|id| other.library.find(id).unwrap());
                Fill { setup: fill.on_bench, ..Fill::several(parts) }
            };
            let fills: Vec<_> = fit.choice.fills.iter().map(again).collect();
            *noticed += usize::from(look_again(&setup, &fills) != Ok(found.clone()));
        }
    }
    assert!(noticed.iter().all(|count| *count > 5), "{noticed:?} of {agreed}");
}
