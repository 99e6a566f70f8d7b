//! Cars on the bench page.

use crate::browser::{Served, coded};

#[test]
fn today_shows_every_job_with_what_is_too_tight_or_too_loose_first() {
    let served = Served::demo();
    let body = served.device().page("/").body;
    let at = |job: &str| body.find(&format!(">{job}</a>")).unwrap_or_else(|| panic!("{job}"));
    for early in ["tight-slate", "loose-amber"] {
        for late in ["worn-slate", "paper-slate", "short-slate"] {
            assert!(at(early) < at(late), "{early} before {late}");
        }
    }
    for word in ["Too tight", "Too loose", "too tight by 0.061 in", "On paper"] {
        assert!(body.contains(word), "{word}");
    }
}

#[test]
fn today_finds_a_car_by_its_words() {
    let served = Served::demo();
    let body = served.device().page("/?words=reserve+small").body;
    assert!(body.contains(">tight-slate</a>") && !body.contains(">loose-amber</a>"));
    assert!(body.contains("1 car found"));
}

#[test]
fn a_car_says_what_the_command_line_says() {
    let served = Served::demo();
    let page = served.device().page("/car?job=tight-slate").body;
    let told = served.program.run("fit tight-slate").out;
    let sentence = told.lines().next().unwrap();
    let sentence = sentence.trim_end_matches("in").trim();
    assert!(page.contains(&sentence[..60]), "{sentence}");
    for number in ["2.9050", "+2.9050", "-2.1100", "0.0400", "0.8350", "0.1150"] {
        assert!(page.contains(number), "{number}");
    }
}

#[test]
fn a_what_if_is_answered_and_nothing_is_stored() {
    let served = Served::demo();
    let device = served.device();
    let page = device.page("/car?job=tight-slate&block_plate=BP-S125").body;
    assert!(page.contains("Tried, not stored") && page.contains("In its window: sure"), "{page}");
    let piece = device.page("/car?job=tight-slate&block_plate=BP-S125&piece=1").body;
    assert!(piece.contains("In its window: sure") && !piece.contains("<html"));
    let machined = device.page("/car?job=tight-slate&machine_to=0.9").body;
    assert!(machined.contains("flywheel machined to 0.9"), "{machined}");
    assert!(
        served
            .program
            .run("job show tight-slate")
            .out
            .contains("block_plate                 (blank)")
    );
}

#[test]
fn what_cannot_be_tried_says_why() {
    let served = Served::demo();
    let device = served.device();
    let none = device.page("/car?job=tight-slate&block_plate=NO-SUCH").body;
    assert!(none.contains("there is no block_plate"), "{none}");
    let empty = device.page("/car?job=tight-slate&flywheel=none").body;
    assert!(empty.contains("has nothing in"));
}

#[test]
fn the_cures_are_those_of_the_command_line_each_with_a_way_to_try_it() {
    let served = Served::demo();
    let page = served.device().page("/car/cures?job=tight-slate").body;
    assert!(page.contains("block_plate: none -&gt; BP-S125"), "{page}");
    assert!(page.contains("/car?job=tight-slate&amp;block_plate=BP-S125"), "{page}");
    assert!(page.contains("The smallest change that puts it right"));
}

#[test]
fn what_was_tried_is_kept_after_it_was_shown_and_signed() {
    let served = Served::demo();
    let device = served.device();
    let before = device.page("/car/keep?job=tight-slate&block_plate=BP-S125");
    assert!(before.body.contains("block plate: none \u{2192} BP-S125"), "{}", before.body);
    let seen = before.field("seen");
    let fields = [("job", "tight-slate"), ("seen", seen.as_str()), ("block_plate", "BP-S125")];
    let unsigned =
        device.send("/car/keep", &[&[("token", device.token.as_str())], &fields[..]].concat());
    assert_eq!(unsigned.status, 422);
    assert!(unsigned.body.contains("nobody said who writes"));
    assert_eq!(device.form("/car/keep", &fields).status, 303);
    assert!(
        served
            .program
            .run("job show tight-slate")
            .out
            .contains("block_plate                 BP-S125")
    );
    let record = served.program.run("history --job tight-slate").out;
    assert!(record.contains("Kim: job edit tight-slate block_plate=BP-S125"), "{record}");
}

#[test]
fn readings_that_hold_a_part_which_leaves_are_blanked_unless_they_are_of_the_new_one() {
    for (readings, depth) in [("old", "not measured"), ("new", "2.905 in")] {
        let served = Served::demo();
        let device = served.device();
        let before = device.page("/car/keep?job=tight-slate&flywheel=FW-S0900");
        assert!(before.body.contains("clutch height"), "{}", before.body);
        let seen = before.field("seen");
        let fields = [
            ("job", "tight-slate"),
            ("seen", seen.as_str()),
            ("flywheel", "FW-S0900"),
            ("readings", readings),
        ];
        assert_eq!(device.form("/car/keep", &fields).status, 303);
        let shown = served.program.run("job show tight-slate").out;
        let line = shown.lines().find(|line| line.starts_with("clutch_height ")).unwrap();
        assert!(line.contains(depth), "{readings}: {line}");
    }
}

#[test]
fn two_tablets_on_one_car_overwrite_nothing_unseen() {
    let served = Served::demo();
    let first = served.device();
    let second = served.second();
    let looked = first.page("/car/keep?job=tight-slate&block_plate=BP-S125").field("seen");
    let also = second.page("/car/keep?job=tight-slate&bearing_shims=none").field("seen");
    assert_eq!(looked, also);
    let theirs = [("job", "tight-slate"), ("seen", also.as_str()), ("bearing_shims", "none")];
    let kept = second.form("/car/keep", &theirs);
    assert_eq!(kept.status, 303, "{}", kept.body);
    let mine = [("job", "tight-slate"), ("seen", looked.as_str()), ("block_plate", "BP-S125")];
    let refused = first.form("/car/keep", &mine);
    assert_eq!(refused.status, 409);
    for both in ["bearing_shims", "SH-S090", "Kim", "BP-S125"] {
        assert!(refused.body.contains(both), "{both}: {}", refused.body);
    }
    let shown = served.program.run("job show tight-slate").out;
    assert!(shown.contains("block_plate                 (blank)"), "nothing of mine is stored");
    assert!(shown.contains("bearing_shims               (blank)"), "nothing of theirs is lost");
    let again = first.page("/car/keep?job=tight-slate&block_plate=BP-S125").field("seen");
    assert_ne!(again, looked);
    let mine = [("job", "tight-slate"), ("seen", again.as_str()), ("block_plate", "BP-S125")];
    assert_eq!(first.form("/car/keep", &mine).status, 303);
}

#[test]
fn a_build_on_paper_is_ranked() {
    let served = Served::demo();
    let device = served.device();
    let page = device.page("/car?job=paper-slate").body;
    assert!(page.contains("On paper") && page.contains("Rank the combinations"));
    let tried = device.page(
        "/car?job=paper-slate&flywheel=FW-S1000&disc=DS-S330&pressure_plate=PP-S190&bearing=BR-S95\
         &block_plate=BP-S060",
    );
    assert!(tried.body.contains("In its window: sure"), "{}", tried.body);
}

#[test]
fn a_car_that_is_not_there_names_the_nearest() {
    let served = Served::demo();
    let said = served.device().get(&format!("/car?job={}", coded("tight-slat")));
    assert_eq!(said.status, 404);
    assert!(said.body.contains("did you mean <code>tight-slate</code>"), "{}", said.body);
}

#[test]
fn a_cars_words_are_shown_and_found_and_a_car_that_is_done_leaves_the_day() {
    let served = Served::demo();
    served
        .program
        .run("job edit tight-slate customer='Kim Invented' vehicle='grey saloon' state=waiting");
    served.program.run("job edit loose-amber state=done");
    let device = served.device();
    let today = device.page("/").body;
    assert!(today.contains("waiting; customer: Kim Invented; vehicle: grey saloon"), "{today}");
    assert!(!today.contains(">loose-amber</a>"), "{today}");
    assert!(today.contains("1 more is done: it is found by its words."), "{today}");
    assert!(device.page("/?words=loose").body.contains(">loose-amber</a>"));
    let found = device.page("/?words=saloon").body;
    assert!(found.contains(">tight-slate</a>") && found.contains("1 car found"), "{found}");
    let car = device.page("/car?job=tight-slate").body;
    assert!(car.contains("customer: Kim Invented"), "{car}");
    let edit = device.page("/car/edit?job=tight-slate").body;
    for word in ["planned", "waiting", "open", "done"] {
        assert!(edit.contains(&format!("<option value=\"{word}\"")), "{word}");
    }
}

#[test]
fn a_part_is_shown_by_the_number_that_it_had() {
    let served = Served::demo();
    served.program.run("part rename FW-S1000 DF-1000");
    served.program.run("part edit DF-1000 own_shelf=B3");
    let page = served.device().page("/part?id=FW-S1000").body;
    assert!(page.contains("<h1>DF-1000</h1>") && page.contains("own_shelf"), "{page}");
}
