//! What must not change an answer, and which way others may change it.

use bellstack::catalog::csv::export;
use bellstack::model::job::Job;
use bellstack::model::length::Unit;
use bellstack::model::library::Library;
use bellstack::model::money::Cents;
use bellstack::model::part::Part;
use bellstack::solve::ask::{Ask, Order, Watch};
use bellstack::solve::recommend::recommend;
use bellstack::stack::answer::Answer;
use bellstack::stack::choice::Setup;
use bellstack::stack::fit::Fit;
use bellstack::stack::grade::Grade;

use crate::random::{Dice, Shop, landing};
use crate::support;

/// The part numbers of each stack, slot by slot.
fn picked(fits: &[Fit<'_>]) -> Vec<Vec<Vec<String>>> {
    let own = |fit: &Fit<'_>| {
        let fills = fit.choice.fills.iter();
        fills.map(|fill| fill.ids().into_iter().map(String::from).collect()).collect()
    };
    fits.iter().map(own).collect()
}

/// One stack in a line, for a failing test to show.
fn row(fit: &Fit<'_>) -> String {
    let ids: Vec<_> = fit.choice.fills.iter().map(|fill| fill.ids().join("|")).collect();
    let (grade, room, to_buy) = (fit.grade, fit.room.nm(), fit.to_buy);
    let blank = fit.joints.not_verified;
    format!("{grade:?} blank {blank} {to_buy:?} room {room} parts {} {ids:?}", fit.part_count)
}

/// A shop without single pieces, which no file holds as parts.
fn of_numbers(seed: u64) -> Option<Shop> {
    let Shop { library, job } = landing(seed, 3);
    let fitted = job.fitted.iter().flatten().any(|id| id.contains('#'));
    let parts = library.parts.into_iter().filter(|part| part.piece_of.is_none()).map(plain);
    let library = Library::new(library.kinds, parts.collect(), library.house);
    (!fitted).then_some(Shop { library, job })
}

/// A part as it is stated: what a value rests on is no part of a file's row.
fn plain(mut part: Part) -> Part {
    for entry in part.dims.iter_mut().flatten() {
        entry.evidence = None;
    }
    part
}

/// Everything that is answered, in words that compare.
fn answered(library: &Library, job: &Job) -> (String, usize) {
    let setup = Setup::new(library, job).unwrap();
    let answer = recommend(&setup, &Ask::default(), &Watch::default()).unwrap();
    let rows = answer.stacks.iter().chain(&answer.nearest).map(row);
    let said = rows.collect::<Vec<_>>().join("\n");
    let counts = (answer.considered, answer.in_window);
    (format!("{counts:?} {:?}\n{said}", answer.left_out), answer.stacks.len())
}

#[test]
fn the_order_in_which_parts_were_entered_changes_nothing() {
    let mut found = 0;
    for shop in (700_000..700_060).filter_map(of_numbers) {
        let (first, stacks) = answered(&shop.library, &shop.job);
        found += stacks;
        let mut parts = shop.library.parts.clone();
        let mut dice = Dice::new(7);
        parts.sort_by_cached_key(|_| dice.next());
        let dir = support::TestDir::new();
        let mut catalog = dir.catalog();
        let stored = catalog.write(&support::stamp(), |writer| {
            parts.iter().try_for_each(|part| writer.insert(part))?;
            writer.save_house(&shop.library.house)?;
            writer.insert(&shop.job)
        });
        stored.unwrap();
        let (library, job) = (catalog.load_library().unwrap(), catalog.load_job("job").unwrap());
        assert_eq!(answered(&library, &job).0, first);
    }
    assert!(found > 30, "{found}");
}

#[test]
fn the_unit_in_which_a_shop_is_written_changes_nothing() {
    let mut found = 0;
    for shop in (710_000..710_060).filter_map(of_numbers) {
        let (first, stacks) = answered(&shop.library, &shop.job);
        found += stacks;
        for unit in [Unit::In, Unit::Mm] {
            let files = export(&shop.library, std::slice::from_ref(&shop.job), None, unit).unwrap();
            let dir = support::TestDir::new();
            let mut catalog = dir.catalog();
            let texts: Vec<_> =
                files.iter().map(|file| (file.name.as_str(), file.text.as_str())).collect();
            support::take(&mut catalog, &texts).unwrap();
            catalog
                .write(&support::stamp(), |writer| writer.save_house(&shop.library.house))
                .unwrap();
            let (library, job) =
                (catalog.load_library().unwrap(), catalog.load_job("job").unwrap());
            assert_eq!(answered(&library, &job).0, first, "{unit:?}");
        }
    }
    assert!(found > 30, "{found}");
}

/// One more wish than before, in words and as an ask.
fn narrower(dice: &mut Dice, shop: &Shop, ask: &Ask) -> Ask {
    let mut ask = ask.clone();
    let kinds = shop.library.kinds;
    // A slot that the job fixes is opened by `only`: that is no constraint.
    let free =
        |part: &&Part| kinds.slots().any(|(kind, slot)| kind.key == part.kind.key && !slot.fixed);
    let parts: Vec<&Part> = shop.library.parts.iter().filter(free).collect();
    let part = *dice.pick(&parts);
    let slot = kinds.slot_of(part.kind.key).unwrap();
    match dice.range(0, 5) {
        0 => ask.skip.push(part.id.clone()),
        1 => ask.only.push((slot, vec![part.id.clone()])),
        2 => ask.without.push(kinds.slot_of("bell_spacer").unwrap()),
        3 => ask.budget = Some(Cents::new(dice.range(0, 8) * 5000)),
        4 => ask.on_hand = true,
        _ => ask.at_least = Grade::Likely,
    }
    ask
}

#[test]
fn one_more_constraint_never_adds_a_stack_and_keeps_the_order_of_the_others() {
    let (mut compared, mut fewer, mut left) = (0, 0, 0);
    for seed in 720_000..720_400 {
        let shop = landing(seed, 2);
        let setup = Setup::new(&shop.library, &shop.job).unwrap();
        let mut dice = Dice::new(seed);
        let order = *dice.pick(&[Order::Grade, Order::Price, Order::Room, Order::Changes]);
        let wide = Ask { top: 100_000, order, ..Ask::default() };
        let narrow = narrower(&mut dice, &shop, &wide);
        let find = |ask: &Ask| recommend(&setup, ask, &Watch::default()).unwrap();
        let (all, some) = (find(&wide), find(&narrow));
        let counts = |answer: &Answer<Fit<'_>>| (answer.considered, answer.in_window);
        assert!(counts(&some).0 <= counts(&all).0, "seed {seed} {narrow:?}");
        assert!(counts(&some).1 <= counts(&all).1, "seed {seed} {narrow:?}");
        let (all, some) = (picked(&all.stacks), picked(&some.stacks));
        let mut rest = all.iter();
        for stack in &some {
            assert!(rest.any(|other| other == stack), "seed {seed} {narrow:?} {stack:?}");
        }
        compared += usize::from(!all.is_empty());
        fewer += usize::from(some.len() < all.len());
        left += usize::from(!some.is_empty() && some.len() < all.len());
    }
    assert!(compared > 60 && fewer > 30 && left > 15, "{compared} {fewer} {left}");
}
