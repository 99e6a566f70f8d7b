//! Times of whole answers in one run, printed and never asserted: machines are shared and noisy.

#![allow(clippy::unwrap_used, missing_docs, reason = "a measurement stops at the first surprise")]

mod shop;

use std::time::Instant;

use bellstack::solve::ask::{Ask, Watch};
use bellstack::solve::cure::cure;
use bellstack::solve::recommend::recommend;
use bellstack::stack::choice::Bench;
use shop::{Plan, measured, shop as make};

fn main() {
    let sizes: Vec<usize> = std::env::args().filter_map(|arg| arg.parse().ok()).collect();
    let sizes = if sizes.is_empty() { vec![30, 100, 300] } else { sizes };
    let told = |word: &str| std::env::args().any(|arg| arg == word);
    for n in sizes {
        let base = if told("large") { Plan::large(n) } else { Plan::even(n) };
        let plan = Plan {
            priced: !told("unpriced"),
            tolerances: !told("untoleranced"),
            mixed: !told("inches"),
            adversarial: told("adversarial"),
            groups: if told("groups") { 20 } else { 1 },
            ..base
        };
        let (library, job) = make(plan);
        let bench = Bench::new(&library, &job).unwrap();
        let start = Instant::now();
        let answer = recommend(&bench, &Ask::default(), &Watch::default()).unwrap();
        let first = answer.stacks.first().map(|fit| (fit.grade, fit.to_buy.amount));
        println!(
            "recommend, {n} parts a kind: {:.3} s, considered {}, in window {}, best {first:?}",
            start.elapsed().as_secs_f64(),
            answer.considered.unwrap_or_default(),
            answer.in_window.unwrap_or_default(),
        );
        let car = measured(&library, 1);
        let bench = Bench::new(&library, &car).unwrap();
        let start = Instant::now();
        let ask = Ask { order: bellstack::solve::ask::Order::Changes, ..Ask::default() };
        let answer = cure(&bench, &ask, &Watch::default()).unwrap();
        println!(
            "cure, {n} parts a kind: {:.3} s, {:?} {:?}, remedies {}",
            start.elapsed().as_secs_f64(),
            answer.now.preload,
            answer.trouble,
            answer.remedies.len(),
        );
    }
}
