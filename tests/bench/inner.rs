//! The parts of an answer, each by itself and in one process, on plain shops of growing size. Divan
//! measures: one attribute a bench, sizes as arguments, and no engine of plots to build.

#![allow(clippy::unwrap_used, missing_docs, reason = "a measurement stops at the first surprise")]

mod cars;
mod shop;

use bellstack::catalog::csv::{CsvFile, Options, Source, export, import};
use bellstack::catalog::{Access, Catalog};
use bellstack::model::history::Stamp;
use bellstack::model::job::Job;
use bellstack::model::kinds::Kinds;
use bellstack::model::length::Unit;
use bellstack::model::library::Library;
use bellstack::solve::ask::{Ask, Order, Watch};
use bellstack::solve::candidates::{Candidates, candidates};
use bellstack::solve::count::{How, count};
use bellstack::solve::cure::cure;
use bellstack::solve::numbers::Numbers;
use bellstack::solve::recommend::recommend;
use bellstack::stack::choice::{Choice, Setup};
use bellstack::stack::fit::evaluate;
use bellstack::stack::grade::Grade;
use bellstack::stack::odds::chance_of;
use cars::{Trouble, car};
use divan::{Bencher, black_box};
use shop::{Plan, Variant, library, paper};

const SIZES: [usize; 4] = [30, 100, 300, 1000];

fn main() {
    divan::main();
}

/// A shop that stays for the rest of the run, so that what is measured may borrow from it.
fn shop(n: usize) -> &'static Library {
    Box::leak(Box::new(library(Plan::tapered(n, Variant::Plain))))
}

fn bench(library: &'static Library, job: Job) -> &'static Setup<'static> {
    Box::leak(Box::new(Setup::new(library, Box::leak(Box::new(job))).unwrap()))
}

fn on_paper(n: usize) -> &'static Setup<'static> {
    let library = shop(n);
    bench(library, paper(library))
}

fn fitted(n: usize, trouble: Trouble) -> &'static Setup<'static> {
    let library = shop(n);
    bench(library, car(library, 1, 1, trouble))
}

fn laid_out(n: usize) -> Numbers<'static, 'static> {
    let bench = on_paper(n);
    let found: &Candidates<'_> = Box::leak(Box::new(candidates(bench, &Ask::default()).unwrap()));
    Numbers::new(bench, found).unwrap()
}

#[divan::bench(args = SIZES)]
fn what_may_stand_in_each_slot(bencher: Bencher<'_, '_>, n: usize) {
    let bench = on_paper(n);
    bencher.bench_local(|| candidates(bench, black_box(&Ask::default())).unwrap());
}

#[divan::bench(args = SIZES)]
fn laying_it_out_as_numbers(bencher: Bencher<'_, '_>, n: usize) {
    let bench = on_paper(n);
    let found = candidates(bench, &Ask::default()).unwrap();
    bencher.bench_local(|| Numbers::new(bench, black_box(&found)).unwrap());
}

#[divan::bench(args = SIZES, consts = [1, 20, 200])]
fn search_for_the_best<const TOP: usize>(bencher: Bencher<'_, '_>, n: usize) {
    let setup = on_paper(n);
    let ask = Ask { top: TOP, counts: false, ..Ask::default() };
    bencher.bench_local(|| recommend(setup, &ask, &Watch::default()).unwrap());
}

#[divan::bench(args = SIZES)]
fn both_counts(bencher: Bencher<'_, '_>, n: usize) {
    let numbers = laid_out(n);
    bencher.bench_local(|| count(black_box(&numbers), How::default(), &Watch::default()).unwrap());
}

#[divan::bench(args = SIZES)]
fn cure_by_single_changes(bencher: Bencher<'_, '_>, n: usize) {
    let bench = fitted(n, Trouble::Tight);
    let ask = Ask { order: Order::Changes, ..Ask::default() };
    bencher.bench_local(|| cure(bench, &ask, &Watch::default()).unwrap());
}

#[divan::bench(args = SIZES)]
fn cure_by_pairs(bencher: Bencher<'_, '_>, n: usize) {
    let bench = fitted(n, Trouble::Far);
    let ask = Ask { order: Order::Changes, ..Ask::default() };
    bencher.bench_local(|| cure(bench, &ask, &Watch::default()).unwrap());
}

/// Jobs of a desk's day, with as many parts of every kind.
#[divan::bench(args = [30, 100])]
fn ten_jobs_cured(bencher: Bencher<'_, '_>, n: usize) {
    let library: &Library = Box::leak(Box::new(library(Plan::even(n, Variant::Plain))));
    let cars: Vec<_> =
        (0..10).map(|number| bench(library, car(library, 1, number, Trouble::Any))).collect();
    let ask = Ask { order: Order::Changes, ..Ask::default() };
    bencher.bench_local(|| {
        cars.iter().map(|car| cure(car, &ask, &Watch::default()).unwrap()).collect::<Vec<_>>()
    });
}

/// A stack that is no better than marginal, so that its chance has to be worked out.
fn one_stack(bench: &'static Setup<'static>) -> Choice<'static> {
    let ask = Ask { top: 200, order: Order::Price, ..Ask::default() };
    let stacks = recommend(bench, &ask, &Watch::default()).unwrap().stacks;
    stacks.into_iter().find(|fit| fit.grade == Grade::Marginal).unwrap().choice
}

#[divan::bench]
fn one_stack_in_full(bencher: Bencher<'_, '_>) {
    let bench = on_paper(100);
    let choice = one_stack(bench);
    bencher.bench_local(|| evaluate(bench, black_box(&choice)).unwrap());
}

#[divan::bench]
fn one_chance(bencher: Bencher<'_, '_>) {
    let bench = on_paper(100);
    let fit = evaluate(bench, &one_stack(bench)).unwrap();
    bencher.bench_local(|| chance_of(black_box(&fit)));
}

/// A catalog of its own in a directory that goes away.
fn blank() -> (tempfile::TempDir, Catalog) {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("shop.db");
    (dir, Catalog::open(&file, Kinds::standard(), Access::Create).unwrap())
}

fn take(catalog: &mut Catalog, files: &[CsvFile], dry_run: bool) {
    let sources: Vec<Source> =
        files.iter().map(|file| Source::embedded(&file.name, &file.text)).collect();
    let stamp = Stamp { at: String::new(), by: String::new(), command: "bench".into() };
    import(catalog, &stamp, &sources, &Options { dry_run, ..Options::default() }).unwrap();
}

#[divan::bench(args = SIZES)]
fn csv_read_and_checked(bencher: Bencher<'_, '_>, n: usize) {
    let files = export(shop(n), &[], None, Unit::In).unwrap();
    bencher.with_inputs(blank).bench_local_refs(|(_, catalog)| take(catalog, &files, true));
}

#[divan::bench(args = SIZES)]
fn csv_read_and_stored(bencher: Bencher<'_, '_>, n: usize) {
    let files = export(shop(n), &[], None, Unit::In).unwrap();
    bencher.with_inputs(blank).bench_local_refs(|(_, catalog)| take(catalog, &files, false));
}

#[divan::bench(args = SIZES)]
fn catalog_read(bencher: Bencher<'_, '_>, n: usize) {
    let (_dir, mut catalog) = blank();
    take(&mut catalog, &export(shop(n), &[], None, Unit::In).unwrap(), false);
    bencher.bench_local(|| catalog.load_library().unwrap());
}
