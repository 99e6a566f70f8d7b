//! Times of whole answers in one run, printed and never asserted: machines are shared and noisy.

#![allow(clippy::unwrap_used, missing_docs, reason = "a measurement stops at the first surprise")]

mod cars;
mod shop;

use std::time::Instant;

use bellstack::solve::ask::{Ask, Watch};
use bellstack::solve::cure::cure;
use bellstack::solve::recommend::recommend;
use bellstack::stack::choice::Bench;
use cars::{Trouble, car};
use clap::ValueEnum;
use shop::{Plan, Variant, library, paper};

fn main() {
    let sizes: Vec<usize> = std::env::args().filter_map(|arg| arg.parse().ok()).collect();
    let sizes = if sizes.is_empty() { vec![30, 100, 300] } else { sizes };
    let told = |word: &str| std::env::args().any(|arg| arg == word);
    let named = std::env::args().find_map(|arg| Variant::from_str(&arg, true).ok());
    let variant = named.unwrap_or(Variant::Plain);
    for n in sizes {
        let plan = if told("even") { Plan::even } else { Plan::tapered }(n, variant);
        let library = library(plan);
        let job = paper(&library);
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
        for trouble in [Trouble::Any, Trouble::Tight, Trouble::Far] {
            let car = car(&library, plan.groups(), 1, trouble);
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
}
