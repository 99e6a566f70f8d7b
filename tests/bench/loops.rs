//! The plainest way there is: nested loops over every combination of a plain shop's paper job, in
//! whole nanometres, for the side by side. It knows what `side_by_side.py` asks and nothing else.

use std::collections::BinaryHeap;
use std::path::Path;

use bellstack::catalog::{Access, Catalog};
use bellstack::model::kinds::Kinds;
use bellstack::model::library::Library;
use bellstack::model::part::Part;

fn nm(part: &Part, key: &str) -> i64 {
    part.entry(key).map_or(0, |entry| entry.value)
}

fn cents(part: &Part) -> i64 {
    part.price.map_or(0, bellstack::model::money::Cents::get)
}

/// Price and thickness of every choice of an optional slot, the empty one first.
fn optional(library: &Library, kind: &str) -> Vec<(i64, i64)> {
    let parts = library.of_kind(kind).map(|part| (cents(part), nm(part, "thickness")));
    [(0, 0)].into_iter().chain(parts).collect()
}

/// None, one or two shims.
fn shims(library: &Library) -> Vec<(i64, i64)> {
    let single = optional(library, "bearing_shim");
    let mut picks = single.clone();
    for (index, first) in single.iter().enumerate().skip(1) {
        picks.extend(single[index..].iter().map(|two| (first.0 + two.0, first.1 + two.1)));
    }
    picks
}

/// Half away from zero, in millionths.
fn rounded(product: i64) -> i64 {
    product.signum() * ((product.abs() + 500_000) / 1_000_000)
}

/// Goes through all of it: how many stacks are in the window, and the least prices in cents.
pub(crate) fn loops(file: &Path, top: usize) {
    let catalog = Catalog::open(file, Kinds::standard(), Access::Read).unwrap();
    let library = catalog.load_library().unwrap();
    let all = |kind: &'static str| library.of_kind(kind).collect::<Vec<_>>();
    let first = |kind: &'static str, key: &str| nm(all(kind)[0], key);
    let crank = first("engine", "crank_protrusion");
    let rear = first("bell_housing", "depth") - first("gearbox", "seat_height");
    let [block_plates, bell_spacers, gearbox_spacers] =
        ["block_plate", "bell_spacer", "gearbox_spacer"].map(|kind| optional(&library, kind));
    let (shims, bearings) = (shims(&library), all("bearing"));
    let (mut count, mut best) = (0_u64, BinaryHeap::new());
    for plate in all("pressure_plate") {
        let ratio = nm(plate, "finger_ratio");
        let preload_min = nm(plate, "release_travel") + 100 * 25_400;
        let reserve_min = rounded(ratio * nm(plate, "wear_allowance")) + 30 * 25_400;
        for disc in all("disc") {
            let moved = rounded(ratio * (nm(disc, "thickness") - nm(plate, "set_gap")));
            let tips = crank + nm(plate, "finger_height") - moved;
            for flywheel in all("flywheel") {
                let finger = tips + nm(flywheel, "thickness");
                let clutch = cents(plate) + cents(disc) + cents(flywheel);
                for bearing in &bearings {
                    let (long, short) =
                        (nm(bearing, "extended_height"), nm(bearing, "retracted_height"));
                    let (most, price) = (nm(bearing, "max_shim"), clutch + cents(bearing));
                    for (shim_price, shim) in shims.iter().filter(|(_, shim)| *shim <= most) {
                        for (block_price, block) in &block_plates {
                            for (bell_price, bell) in &bell_spacers {
                                let so_far = price + shim_price + block_price + bell_price;
                                let behind = rear - shim + block + bell;
                                for (gearbox_price, gearbox) in &gearbox_spacers {
                                    let preload = finger - (behind + gearbox - long);
                                    let reserve = behind + gearbox - short - finger;
                                    if preload >= preload_min && reserve >= reserve_min {
                                        count += 1;
                                        keep(&mut best, so_far + gearbox_price, top);
                                    }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
    println!("{}", serde_json::json!({ "count": count, "cents": best.into_sorted_vec() }));
}

fn keep(best: &mut BinaryHeap<i64>, price: i64, top: usize) {
    if best.len() < top {
        best.push(price);
    } else if best.peek().is_some_and(|worst| price < *worst) {
        best.pop();
        best.push(price);
    }
}
