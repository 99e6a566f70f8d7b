//! What the random shops hold: every awkward thing that a real one has, in its share.

use bellstack::model::faces::Names;
use bellstack::model::job::{CrankPushed, DiscState, Job, Reading, StarterOn};
use bellstack::model::part::Part;

use super::{RealShop, real};

/// Something that a shop may hold, and in how many of a thousand shops it has to be at least.
type Feature = (&'static str, usize, fn(&RealShop) -> bool);

fn any(shop: &RealShop, holds: impl Fn(&Part) -> bool) -> bool {
    shop.library.parts.iter().any(holds)
}

fn lacks(part: &Part, kind: &str, key: &str) -> bool {
    part.kind.key == kind && part.entry(key).is_none()
}

fn fitted<'s>(shop: &'s RealShop, kind: &str) -> Option<&'s Part> {
    let slot = shop.library.kinds.slot_of(kind)?;
    shop.library.find(shop.job.fitted[slot].first()?)
}

fn read(job: &Job, readings: &[Reading]) -> bool {
    readings.iter().all(|reading| job.reading(*reading).is_some())
}

const ENDS: [Reading; 2] = [Reading::BearingDepthExtended, Reading::BearingDepthRetracted];

const FEATURES: &[Feature] = &[
    ("a build on paper", 150, |s| s.job.readings[..5].iter().all(Option::is_none)),
    ("finger depth", 250, |s| read(&s.job, &[Reading::FingerDepth])),
    ("crank and clutch apart", 200, |s| {
        read(&s.job, &[Reading::CrankProtrusion, Reading::ClutchHeight])
    }),
    ("finger depth beside both", 40, |s| {
        read(&s.job, &[Reading::FingerDepth, Reading::CrankProtrusion, Reading::ClutchHeight])
    }),
    ("both bearing depths", 250, |s| read(&s.job, &ENDS)),
    ("one bearing depth", 100, |s| {
        ENDS.iter().filter(|end| s.job.reading(**end).is_some()).count() == 1
    }),
    ("a reading over the block plate", 100, |s| s.job.crank_over_plate || s.job.depth_over_plate),
    ("a block plate of unknown thickness that is fitted", 4, |s| {
        fitted(s, "block_plate").is_some_and(|plate| plate.entry("thickness").is_none())
    }),
    ("a worn disc that was measured", 40, |s| {
        s.job.disc_state == DiscState::Worn && read(&s.job, &[Reading::FittedDiscThickness])
    }),
    ("a worn disc that was not", 40, |s| {
        s.job.disc_state == DiscState::Worn && !read(&s.job, &[Reading::FittedDiscThickness])
    }),
    ("a disc of unknown state", 150, |s| s.job.disc_state == DiscState::Unknown),
    ("a crank pushed to the rear", 150, |s| s.job.crank_pushed == CrankPushed::Rear),
    ("a starter that nobody told", 150, |s| s.job.starter_on == StarterOn::Unknown),
    ("a slot that nobody named on a measured car", 60, |s| {
        s.job.readings.iter().any(Option::is_some) && fitted(s, "flywheel").is_none()
    }),
    ("a matched set", 100, |s| any(s, Part::is_matched_set)),
    ("a set that is fitted", 50, |s| fitted(s, "pressure_plate").is_some_and(Part::is_matched_set)),
    ("a stepped flywheel", 100, |s| {
        any(s, |part| part.entry("cover_step").is_some_and(|step| step.value != 0))
    }),
    ("a plate without a ratio", 200, |s| any(s, |p| lacks(p, "pressure_plate", "finger_ratio"))),
    ("a plate without a set gap", 200, |s| any(s, |p| lacks(p, "pressure_plate", "set_gap"))),
    ("a plate with a working range and no set gap", 20, |s| {
        let range = |part: &Part| part.entry("set_gap_min").is_some();
        any(s, |part| lacks(part, "pressure_plate", "set_gap") && range(part))
    }),
    ("a disc known free and by its cushion", 150, |s| {
        any(s, |part| part.entry("free_thickness").is_some())
    }),
    ("an adapter", 50, |s| {
        any(s, |part| {
            let faces = part.kind.faces.iter().zip(&part.faces);
            faces
                .filter(|(face, _)| face.key.ends_with("_rear"))
                .any(|(_, names)| !names.is_unknown())
        })
    }),
    ("a piece in hand", 250, |s| any(s, |part| part.piece_of.is_some() && part.on_hand > 0)),
    ("a piece that is fitted", 60, |s| s.job.fitted.iter().flatten().any(|id| id.contains('#'))),
    ("a retired part that is fitted", 40, |s| {
        let named = s.job.fitted.iter().flatten().filter_map(|id| s.library.find(id));
        named.into_iter().any(|part| part.retired)
    }),
    ("a part that lacks what a stack needs", 150, |s| any(s, |p| !p.missing().is_empty())),
    ("a blank face", 400, |s| any(s, |part| part.faces.contains(&Names::Unknown))),
    ("no price at all", 130, |s| !any(s, |part| part.price.is_some())),
    ("no tolerance missing", 100, |s| {
        let engine = |part: &&Part| part.kind.key == "bearing";
        let dims = s.library.parts.iter().filter(engine).flat_map(|part| &part.dims[..2]);
        dims.flatten().all(|entry| entry.tol.is_some())
    }),
    ("millimetres and inches", 200, |s| {
        let heights = || s.library.parts.iter().filter_map(|part| part.entry("finger_height"));
        let is_metric = |value: i64| value % 10_000 == 0;
        heights().any(|e| is_metric(e.value)) && heights().any(|e| !is_metric(e.value))
    }),
    ("several engines, bell housings or gearboxes", 150, |s| {
        let count = |kind| s.library.of_kind(kind).count();
        count("engine") > 1 || count("bell_housing") > 1 || count("gearbox") > 1
    }),
    ("a window of the job's own", 250, |s| s.job.window.set().next().is_some()),
    ("a window of the shop's", 250, |s| s.library.house.window.set().next().is_some()),
    ("house numbers that were changed", 150, |s| !s.changed.is_empty()),
];

#[test]
fn random_shops_hold_whatever_is_awkward_in_real_ones() {
    let shops: Vec<RealShop> = (0..1_000).map(real).collect();
    let count = |holds: fn(&RealShop) -> bool| shops.iter().filter(|shop| holds(shop)).count();
    let counts = FEATURES.iter().map(|(name, least, holds)| (*name, *least, count(*holds)));
    let rare: Vec<_> = counts.clone().filter(|(_, least, count)| count < least).collect();
    println!("{:#?}", counts.collect::<Vec<_>>());
    assert!(rare.is_empty(), "{rare:?}");
}

#[test]
fn every_random_shop_is_one_that_the_catalog_would_take() {
    for seed in 0..1_000 {
        let RealShop { library, job, .. } = real(seed);
        assert!(library.check_job(&job).is_ok(), "seed {seed}: {:?}", library.check_job(&job));
        for part in &library.parts {
            assert!(part.validate().is_ok(), "seed {seed} {}: {:?}", part.id, part.validate());
        }
    }
}
