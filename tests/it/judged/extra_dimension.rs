//! A dimension that a kind may have one day: every kind in turn gets one that enters the sum, and every
//! answer counts it. It is worked out, or the program falls back to what is slow; it is never left out.

use bellstack::model::entry::Entry;
use bellstack::model::kinds::{DimSpec, Enters, KindSpec, Kinds, STANDARD};
use bellstack::model::library::Library;
use bellstack::model::part::Part;
use bellstack::solve::ask::{Ask, Watch};
use bellstack::solve::recommend::recommend;
use bellstack::stack::choice::Setup;

use super::ranked::{first_apart, row, said};
use crate::checker::Task;
use crate::checker::product::size;
use crate::shops::{Dice, RealShop, real};

const KEY: &str = "washer";

/// Each kind with a slot, and where one more dimension of it enters the sum.
const EXTRAS: [(&str, &[Enters]); 13] = [
    ("engine", &[Enters::Finger(1)]),
    ("flywheel", &[Enters::Finger(1)]),
    ("flywheel", &[Enters::Finger(1), Enters::Gap(-1)]),
    ("disc", &[Enters::Gap(1)]),
    ("pressure_plate", &[Enters::Finger(-1)]),
    ("block_plate", &[Enters::Rear(1)]),
    ("bell_spacer", &[Enters::Rear(1)]),
    ("bell_housing", &[Enters::Rear(1)]),
    ("gearbox_spacer", &[Enters::Rear(1)]),
    ("gearbox", &[Enters::Rear(-1)]),
    ("bearing", &[Enters::Rear(-1)]),
    ("bearing", &[Enters::Extended(-1)]),
    ("bearing_shim", &[Enters::Rear(-1)]),
];

/// The standard table with one dimension more. It lives as long as the tests do.
fn table(kind: &str, enters: &'static [Enters]) -> Kinds {
    // As the table has the step of a flywheel: signed, and nothing where it is blank.
    let flywheel = STANDARD.iter().find(|spec| spec.key == "flywheel").unwrap();
    let step = flywheel.dims.iter().find(|dim| dim.key == "cover_step").unwrap();
    let more = DimSpec { key: KEY, enters, about: "how far a washer stands out", ..*step };
    let grown = |spec: &KindSpec| {
        if spec.key != kind {
            return *spec;
        }
        let dims: Vec<DimSpec> = spec.dims.iter().copied().chain([more]).collect();
        KindSpec { dims: dims.leak(), ..*spec }
    };
    Kinds::new(STANDARD.iter().map(grown).collect::<Vec<_>>().leak())
}

/// The same library under another table; parts of the grown kind have a washer, most of them.
fn under(kinds: Kinds, library: &Library, dice: &mut Dice) -> Library {
    let parts = library.parts.iter().map(|part| {
        let kind = kinds.get(part.kind.key).unwrap();
        let mut part = Part { kind, ..part.clone() };
        // What stands for a gap that nobody stated knows of the flywheel's step alone.
        let gap = part.entry("set_gap").unwrap_or(Entry::new(330 * 25_400, Some(0)));
        part.set("set_gap", Some(gap));
        if part.dims.len() < kind.dims.len() {
            let washer =
                Entry::new(dice.range(-3, 6) * 10 * 25_400, Some(dice.range(0, 2) * 12_700));
            part.dims.push((!dice.chance(6)).then_some(washer));
        }
        part
    });
    Library::new(kinds, parts.collect(), library.house.clone())
}

#[test]
fn a_dimension_more_of_any_kind_counts_in_every_answer() {
    let mut compared = [0; EXTRAS.len()];
    for (index, (kind, enters)) in EXTRAS.iter().enumerate() {
        let kinds = table(kind, enters);
        for seed in 0..40 {
            let RealShop { library, job, changed } = &real(4_000_000 + seed);
            let mut dice = Dice::new(seed);
            let library = &under(kinds, library, &mut dice);
            let task = Task::new(library, job, changed.clone());
            let setup = Setup::new(library, job).unwrap();
            let ask = Ask { show_failed: true, ..Ask::default() };
            if size(&task.candidates(&ask)) > 300 {
                continue;
            }
            let answer = recommend(&setup, &ask, &Watch::default()).unwrap();
            let ranked = task.recommend(&ask, &task.cross_checks(), |_| 0);
            let rows = ranked.stacks.iter().take(ask.top).map(|(stack, verdict)| {
                row(stack, verdict.grade, verdict.least_room, verdict.to_buy)
            });
            let listed: Vec<String> = answer.stacks.iter().map(said).collect();
            let apart = first_apart(&listed, &rows.collect::<Vec<_>>());
            assert!(apart.is_none(), "{kind} {enters:?}, seed {seed}: {}", apart.unwrap());
            assert_eq!(answer.considered, Some(ranked.considered), "{kind} {enters:?} {seed}");
            assert_eq!(answer.in_window, Some(ranked.in_window), "{kind} {enters:?} {seed}");
            compared[index] += usize::from(!listed.is_empty());
        }
    }
    assert!(compared.iter().all(|shops| *shops >= 3), "{compared:?}");
}
