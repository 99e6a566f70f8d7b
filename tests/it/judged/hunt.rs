//! The long hunt: every comparison on as many shops as there is time for, and one shop looked into.
//!
//! `cargo test --release --test it -- --ignored --nocapture long_hunt` takes minutes; SHOPS says how
//! many shops (10,000), FIRST their first number, SHOW how many differences are shown. A difference names its shop: with its number in SEED
//! `every_combination_of_one_shop` prints that shop and compares everything that can be made of it.

use bellstack::solve::ask::Ask;
use bellstack::stack::choice::Setup;
use bellstack::stack::fit::evaluate;

use super::{choice, cures, differences, given, none_differ, ranked, seeds, shown, stacks};
use crate::checker::Task;
use crate::shops::{RealShop, real};

#[test]
#[ignore = "it takes minutes; for whoever changes the sum or the search"]
fn long_hunt() {
    let (mut one, mut all, mut cured) = Default::default();
    let seeds = seeds(10_000_000, 10_000);
    let mut found = stacks::differing(seeds.clone(), &mut one);
    println!("stacks: {} differ, {one:?}", found.len());
    found.extend(ranked::differing(seeds.clone(), 2_000, &mut all));
    println!("with recommendations: {} differ, {all:?}", found.len());
    found.extend(cures::differing(seeds, &mut cured));
    none_differ(&found, &cured);
    assert!(one.is_enough() && all.is_enough() && cured.is_enough());
}

#[test]
#[ignore = "it looks into the one shop that SEED names"]
fn every_combination_of_one_shop() {
    let seed = given("SEED").unwrap_or(0);
    let RealShop { library, job, changed } = &real(seed);
    for part in &library.parts {
        let dims = part.kind.dims.iter().zip(&part.dims);
        let dims =
            dims.filter_map(|(dim, entry)| entry.map(|entry| (dim.key, entry.value, entry.tol)));
        let faces = part.kind.faces.iter().zip(&part.faces);
        let faces: Vec<_> = faces.map(|(face, names)| format!("{}={names}", face.key)).collect();
        println!("{} {:?} {faces:?}", part.id, dims.collect::<Vec<_>>());
    }
    println!("{job:#?}\n{changed:?}");
    let task = Task::new(library, job, changed.clone());
    let setup = Setup::new(library, job).unwrap();
    let ranked = task.recommend(&Ask::default(), &task.cross_checks(), |_| 0);
    let mut found = Vec::new();
    for (stack, verdict) in ranked.stacks.iter().chain(&ranked.others) {
        let differs = match evaluate(&setup, &choice(stack)) {
            Ok(fit) => differences(&fit, verdict),
            Err(lacks) => vec![format!("the program cannot work it out: {lacks:?}")],
        };
        if !differs.is_empty() {
            found.push(format!("[{}]\n  {}", shown(stack), differs.join("\n  ")));
        }
    }
    none_differ(&found, &ranked.considered);
}
