//! Two copies of a catalog that went apart, brought together.

use std::io::Cursor;
use std::path::PathBuf;

use serde_json::{Value, json};

use crate::program::{Program, Ran, words};
use crate::support::Dice;

/// The demo shop, and a copy of it that goes its own way.
struct Two {
    here: Program,
    there: Program,
}

impl Two {
    fn new() -> Self {
        Self::after(&[])
    }

    /// The same after these commands in the common past.
    fn after(past: &[&str]) -> Self {
        let (here, there) = (Program::demo(), Program::new());
        for line in past {
            here.answer(line);
        }
        std::fs::copy(here.catalog(), there.catalog()).unwrap();
        Self { here, there }
    }

    fn merge(&self, flags: &str) -> Ran {
        self.here.run(&format!("merge '{}' {flags}", self.there.catalog().display()))
    }

    /// Merges, and all of it goes.
    fn merged(&self, flags: &str) -> Value {
        let ran = self.merge(&format!("{flags} --format json"));
        assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{}", ran.out);
        serde_json::from_str(&ran.out).unwrap()
    }

    /// The other way round.
    fn turned(self) -> Self {
        Self { here: self.there, there: self.here }
    }
}

/// Everything that CSV carries of a catalog, and its kept answers.
fn all_of(program: &Program) -> Vec<String> {
    let out = program.dir().join("carried");
    let _ = std::fs::remove_dir_all(&out);
    program.run_args(&["export", "--out", &out.display().to_string()]);
    let mut files: Vec<PathBuf> =
        std::fs::read_dir(&out).unwrap().map(|file| file.unwrap().path()).collect();
    files.sort();
    // Rows stand in the order in which they were entered, which differs between the copies.
    let text = |path: &PathBuf| {
        let text = std::fs::read_to_string(path).unwrap();
        let mut rows: Vec<&str> = text.lines().collect();
        rows.sort_unstable();
        format!("{}\n{}", path.file_name().unwrap().display(), rows.join("\n"))
    };
    let answers = program.json("answer list --format json");
    files.iter().map(text).chain([answers["answers"].to_string()]).collect()
}

const READ: &str =
    "reading add BP-S125#A thickness 0.1251 0.1250 in --condition new --date 2026-02-03";

#[test]
fn what_only_the_other_copy_changed_is_taken() {
    let two = Two::new();
    for line in [
        "part edit FW-S1000 price=300 notes='from the laptop'",
        "part add bearing_shim SH-X thickness='20 thou' price=9",
        "part remove FW-STEP",
        "job add new-car engine=ENG-S1 bearing_shims=SH-X",
        "job edit tight-slate customer=Kim",
        "window set reserve_margin='0.040 in'",
        "instrument add depth-1 limits='0.03 mm to 100 mm'",
        READ,
        "part set-aside BP-S125#A --for new-car",
        "answer keep worn-slate --fit --as laptop",
    ] {
        two.there.answer(line);
    }
    two.here.answer("part edit FW-S1000 on_hand=3");
    two.here.answer("job edit tight-slate vehicle='grey saloon'");
    let dry = two.merged("--dry-run");
    assert_eq!(
        (&dry["stored"], &dry["commands_here"], &dry["commands_there"]),
        (&json!(false), &json!(2), &json!(9))
    );
    assert!(!two.here.answer("part show FW-S1000").contains("laptop"), "nothing is stored yet");
    let merged = two.merged("");
    assert_eq!(merged["stored"], true);
    assert_eq!(merged["taken"], dry["taken"]);
    assert_eq!(merged["readings"]["taken_over"], 1);
    assert_eq!(merged["answers"], json!(["laptop"]));
    let shown = two.here.answer("part show FW-S1000");
    for line in [
        "price                       300.00 USD",
        "on_hand                     3",
        "notes                       from the laptop",
    ] {
        assert!(shown.contains(line), "{line}\n{shown}");
    }
    let job = two.here.json("job show tight-slate --format json");
    assert_eq!((&job["customer"], &job["vehicle"]), (&json!("Kim"), &json!("grey saloon")));
    assert_eq!(two.here.json("job show new-car --format json")["set_aside"], json!(["BP-S125#A"]));
    assert_eq!(two.here.run("part show FW-STEP").status, 2);
    assert!(two.here.answer("reading list").contains("BP-S125#A"));
    assert!(two.here.answer("window show").contains("0.040 in"));
    // A second time there is nothing to take, and the other way round all of it goes too.
    assert_eq!(two.merged("")["stored"], false);
    let back = two.turned();
    back.merged("");
    assert_eq!(all_of(&back.here), all_of(&back.there));
    // Before it a copy was kept, and it is one command that can be taken back.
    assert!(
        std::fs::read_dir(back.there.dir().join("shop.db.copies"))
            .is_ok_and(|copies| copies.count() > 0)
    );
    back.there.answer("undo");
    assert!(!back.there.answer("part list").contains("SH-X"));
    assert!(back.there.answer("part show FW-S1000").contains("310.00 USD"));
    assert!(back.there.answer("part show FW-STEP").contains("FW-STEP"));
}

#[test]
fn what_both_changed_is_listed_asked_or_decided_for_all() {
    let two = || {
        let two = Two::new();
        two.there.answer("part edit FW-S1000 price=300 thickness_tol='0.003 in'");
        two.here.answer("part edit FW-S1000 price=320 thickness='1.001 in'");
        two.there.answer("window set reserve_margin='0.040 in'");
        two.here.answer("window set reserve_margin='0.050 in'");
        two.there.answer("part edit BP-S060 price=26");
        two.here.answer("part edit BP-S060 price=26");
        two.there.answer("job edit worn-slate customer=Kim");
        two.here.answer("job remove worn-slate");
        two
    };
    let apart = two();
    let before = all_of(&apart.here);
    let ran = apart.merge("");
    assert_eq!(ran.status, 2);
    assert_eq!(
        ran.err,
        "error: nothing was stored: both changed 4 values\n\
         \x20 part FW-S1000, price: here 320.00, there 300.00\n\
         \x20 part FW-S1000, thickness: here 1.001 in, there 1.000 in\n\
         \x20 job worn-slate: here it was taken out, there it is there\n\
         \x20 house numbers, reserve_margin: here 0.050 in, there 0.040 in\n\
         \x20 hint: `--ours` keeps what is here, `--theirs` takes what is there\n"
    );
    assert_eq!(all_of(&apart.here), before);
    let dry = apart.merge("--dry-run");
    assert_eq!(dry.status, 1);
    assert!(
        dry.out.contains("Both changed:") && dry.out.ends_with("Nothing was stored.\n"),
        "{}",
        dry.out
    );
    let price =
        |program: &Program| program.json("part show FW-S1000 --format json")["price"].clone();
    let ours = two();
    ours.merged("--ours");
    assert_eq!(price(&ours.here), "320.00");
    assert_eq!(ours.here.run("job show worn-slate").status, 2);
    assert!(ours.here.answer("window show").contains("0.050 in"));
    let theirs = two();
    theirs.merged("--theirs");
    let part = theirs.here.json("part show FW-S1000 --format json");
    assert_eq!(part["price"], "300.00");
    let thickness = &part["dimensions"]["thickness"];
    assert_eq!((&thickness["value"]["in"], &thickness["tol"]["in"]), (&json!(1.0), &json!(0.003)));
    assert_eq!(theirs.here.json("job show worn-slate --format json")["customer"], "Kim");
    // At a terminal each is asked.
    let asked = |answers: &[&str]| {
        let two = two();
        let line = words(&format!("merge '{}'", two.there.catalog().display()));
        let answers: String = answers.iter().flat_map(|answer| [*answer, "\n"]).collect();
        let ran = two.here.run_in(&line.iter().map(String::as_str).collect::<Vec<_>>(), |env| {
            env.input = Some(Box::leak(Box::new(Cursor::new(answers.into_bytes()))));
            env.input_is_terminal = true;
        });
        (two, ran)
    };
    let (two, ran) = asked(&["theirs", "what", "ours", "theirs", "ours"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(ran.err.contains("write ours, theirs or quit"), "{}", ran.err);
    assert_eq!(price(&two.here), "300.00");
    assert_eq!(
        two.here.json("part show FW-S1000 --format json")["dimensions"]["thickness"]["value"]["in"],
        1.001
    );
    assert_eq!(two.here.run("job show worn-slate").status, 0);
    assert!(two.here.answer("window show").contains("0.050 in"));
    let (two, ran) = asked(&["theirs", "quit"]);
    assert_eq!((ran.status, price(&two.here)), (2, json!("320.00")), "{}", ran.err);
}

#[test]
fn readings_of_both_are_kept_and_one_set_written_down_twice_is_one() {
    let two = Two::after(&[READ, "reading add BP-S125#A thickness 0.1252 in --date 2026-02-04"]);
    let more = |day: u32, value: &str| {
        format!(
            "reading add BP-S125#A thickness {value} in --date 2026-03-0{day} --instrument caliper-0.02"
        )
    };
    two.here.answer(&more(1, "0.1253"));
    two.there.answer(&more(2, "0.1254"));
    two.there.answer(&more(1, "0.1253"));
    two.there.answer("reading strike 2 --because 'read over burrs'");
    let merged = two.merged("");
    assert_eq!(
        merged["readings"],
        json!({"taken_over": 1, "taken_out": 0, "struck_or_counted": 1})
    );
    let list = two.here.answer("reading list");
    assert_eq!(list.matches("BP-S125#A").count(), 4, "{list}");
    assert!(list.contains("read over burrs"), "{list}");
    let back = two.turned();
    assert_eq!(back.merged("")["readings"]["taken_over"], 0);
    // What was taken back there goes here too, and what counts again there counts again.
    let two = Two::after(&[
        READ,
        "reading add BP-S125#A thickness 0.1252 in --date 2026-02-04",
        "reading strike 1 --because 'burrs'",
    ]);
    two.there.answer("undo");
    two.there.answer("undo");
    let merged = two.merged("");
    assert_eq!(
        merged["readings"],
        json!({"taken_over": 0, "taken_out": 1, "struck_or_counted": 1})
    );
    let list = two.here.answer("reading list");
    assert_eq!((list.matches("BP-S125#A").count(), list.contains("burrs")), (1, false), "{list}");
}

#[test]
fn what_cannot_be_merged_is_refused_and_nothing_is_changed() {
    let two = Two::new();
    let itself = format!("merge '{}'", two.here.catalog().display());
    let ran = two.here.run(&itself);
    assert!(ran.status == 2 && ran.err.contains("is the catalog itself"), "{}", ran.err);
    let missing = two.here.dir().join("missing.db").display().to_string();
    let ran = two.here.run_args(&["merge", &missing]);
    assert!(ran.status == 3 && ran.err.contains("there is no catalog in"), "{}", ran.err);
    let strange = Program::new();
    strange.answer("part add disc D-1");
    let ran = two.here.run(&format!("merge '{}'", strange.catalog().display()));
    assert!(ran.status == 2 && ran.err.contains("have no past in common"), "{}", ran.err);
    two.there.answer("part rename FW-S1000 DF-1000");
    let before = all_of(&two.here);
    let ran = two.merge("");
    assert!(
        ran.status == 2 && ran.err.contains("`part rename FW-S1000 DF-1000`, and merge then"),
        "{}",
        ran.err
    );
    assert_eq!(all_of(&two.here), before);
    two.here.answer("part rename FW-S1000 DF-1000");
    two.there.answer("part edit DF-1000 price=299");
    two.merged("");
    assert!(two.here.answer("part show DF-1000").contains("299.00 USD"));
    // A part that is taken out there and that a job names here: all or nothing.
    let two = Two::new();
    two.there.answer("part remove FW-STEP");
    two.there.answer("part edit FW-A22 price=1");
    two.here.answer("job add step flywheel=FW-STEP");
    let before = all_of(&two.here);
    let ran = two.merge("");
    assert!(
        ran.status == 2 && ran.err.contains("`FW-STEP` is named by the job `step`"),
        "{}",
        ran.err
    );
    assert_eq!(all_of(&two.here), before);
    // Nothing is written to the other one.
    let there = std::fs::read(two.there.catalog()).unwrap();
    two.here.answer("job remove step");
    two.merged("");
    assert_eq!(std::fs::read(two.there.catalog()).unwrap(), there);
}

#[test]
fn what_ours_renamed_gets_what_the_other_copy_changed() {
    let two = Two::new();
    two.here.answer("part rename BP-S125 DP-125");
    two.there.answer("part edit BP-S125 price=50 least_on_hand=2");
    two.there.answer("job edit tight-slate block_plate=BP-S125");
    two.there.answer(READ);
    two.merged("");
    let shown = two.here.answer("part show DP-125");
    assert!(
        shown.contains("50.00 USD") && shown.contains("formerly                    BP-S125"),
        "{shown}"
    );
    assert!(shown.contains("least_on_hand               2"), "{shown}");
    let job = two.here.json("job show tight-slate --format json");
    assert_eq!(job["parts"]["block_plate"], json!(["DP-125"]));
    assert!(two.here.answer("reading list").contains("DP-125#A"));
}

#[test]
fn copies_that_were_merged_before_are_asked_only_about_what_is_new() {
    let two = Two::after(&[READ]);
    two.there.answer("part edit FW-S1000 price=300");
    two.there.answer("part add bearing_shim SH-X thickness='20 thou' price=9");
    two.there.answer("window set reserve_margin='0.040 in'");
    two.there.answer("reading add BP-S125#A thickness 0.1254 in --date 2026-03-02");
    two.here.answer("reading add BP-S125#A thickness 0.1253 in --date 2026-03-01");
    two.merged("");
    // The other one goes on from there, and this one takes it again without a question.
    two.there.answer("part edit FW-S1000 price=301");
    two.there.answer("part edit SH-X price=10");
    two.there.answer("window set reserve_margin='0.041 in'");
    two.there.answer("reading strike 2 --because burrs");
    let merged = two.merged("");
    assert_eq!(
        merged["readings"],
        json!({"taken_over": 0, "taken_out": 0, "struck_or_counted": 1})
    );
    assert!(two.here.answer("part show FW-S1000").contains("301.00 USD"));
    assert!(two.here.answer("part show SH-X").contains("10.00 USD"));
    assert!(two.here.answer("window show").contains("0.041 in"));
    assert!(two.here.answer("reading list").contains("burrs"));
    // This one goes on: the other one takes that, and this one takes nothing back.
    two.here.answer("part edit FW-S1000 price=302");
    assert_eq!(two.merged("")["stored"], false);
    let back = two.turned();
    back.merged("");
    assert!(back.here.answer("part show FW-S1000").contains("302.00 USD"));
    // Both go on.
    back.here.answer("part edit FW-S1000 price=303");
    back.there.answer("part edit FW-S1000 price=304");
    let ran = back.merge("");
    assert!(
        ran.status == 2 && ran.err.contains("part FW-S1000, price: here 303.00, there 304.00"),
        "{}",
        ran.err
    );
}

#[test]
fn a_part_that_gave_its_place_here_is_not_mixed_up_with_the_one_that_took_it() {
    let two = Two::new();
    two.here.answer("part supersede BP-S125 BP-S060");
    two.there.answer("part edit BP-S060 price=27");
    two.there.answer("reading add BP-S125#A thickness 0.1251 in --condition new");
    two.merged("");
    let shown = two.here.answer("part show BP-S060");
    assert!(shown.contains("27.00 USD") && shown.contains("Invented dust plate"), "{shown}");
    assert!(two.here.answer("reading list").contains("BP-S060#A"));
    two.there.answer("part edit BP-S125 price=49");
    let ran = two.merge("");
    assert!(
        ran.status == 2 && ran.err.contains("here `BP-S060` has taken the place of `BP-S125`"),
        "{}",
        ran.err
    );
}

/// Random commands on both sides: what is merged both ways is the same, and whatever only one side
/// touched is as that side has it.
#[test]
fn random_copies_merged_both_ways_are_the_same() {
    let mut dice = Dice::new(2_026);
    for round in 0..6 {
        let two = Two::after(&[READ]);
        let mut next = 0;
        for program in [&two.here, &two.there] {
            for _ in 0..12 {
                next += 1;
                let part =
                    *dice.pick(&["FW-S1000", "BP-S125", "SH-S030", "DS-S330", "PP-S190", "BR-S95"]);
                let job =
                    *dice.pick(&["tight-slate", "loose-amber", "paper-slate", "unsure-amber"]);
                let line = match dice.roll(9) {
                    0 => format!("part edit {part} price={next}"),
                    1 => format!("part edit {part} notes='note {next}' own_shelf=B{next}"),
                    2 => format!("part edit {part} on_hand={}", dice.roll(9)),
                    3 => format!("job edit {job} customer=c{next}"),
                    4 => format!("job edit {job} notes=n{next} date=2026-01-0{}", 1 + dice.roll(9)),
                    5 => format!("part copy {part} NEW-{next} price={next}"),
                    6 => format!(
                        "reading add BP-S125#A thickness 0.12{} in --date 2026-05-01",
                        10 + next
                    ),
                    7 => format!("window set reserve_margin='0.0{} in'", 30 + dice.roll(40)),
                    _ => format!("job copy {job} car-{next}"),
                };
                program.answer(&line);
            }
        }
        let side = *dice.pick(&["--ours", "--theirs"]);
        let before = all_of(&two.here);
        two.merged(side);
        assert_eq!(two.here.run("check --format json").status, 1, "the file is whole");
        let after = all_of(&two.here);
        assert_ne!(before, after, "round {round}");
        // What both changed is decided: the other copy takes all of it.
        let back = two.turned();
        back.merged("--theirs");
        assert_eq!(all_of(&back.here), all_of(&back.there), "round {round} {side}");
    }
}
