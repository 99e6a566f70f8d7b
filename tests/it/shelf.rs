//! What lies on the shelf: set aside for a job, taken out, received, running out.

use std::io::Cursor;

use serde_json::json;

use crate::program::{Program, Ran, words};
use crate::support::Dice;

/// The same at a terminal, with the lines that are answered.
fn at_terminal(program: &Program, line: &str, answers: &[&str]) -> Ran {
    let answers: String = answers.iter().flat_map(|answer| [*answer, "\n"]).collect();
    let words = words(line);
    program.run_in(&words.iter().map(String::as_str).collect::<Vec<_>>(), |env| {
        env.input = Some(Box::leak(Box::new(Cursor::new(answers.into_bytes()))));
        env.input_is_terminal = true;
    })
}

/// What a plan says is still to be bought, in cents and in pieces without a price.
fn to_buy(program: &Program, line: &str) -> serde_json::Value {
    program.json(&format!("{line} --format json"))["to_buy"].clone()
}

#[test]
fn what_is_set_aside_for_another_job_is_gone_and_the_answers_say_so() {
    let program = Program::demo();
    let fit = "fit tight-slate --with block_plate=BP-S125";
    let free = json!({"amount": "0.00", "currency": "USD", "unpriced": 0});
    let bought = json!({"amount": "48.00", "currency": "USD", "unpriced": 0});
    assert_eq!(to_buy(&program, fit), free);
    let before = program.json("cure tight-slate --on-hand --format json");
    assert_eq!(before["stacks"][0]["parts"]["block_plate"], "BP-S125");
    assert!(before.get("set_aside").is_none(), "nothing is: {before}");

    let line = "part set-aside BP-S125 --for paper-slate";
    program.check(line, 0, "set aside for paper-slate: BP-S125\n", "");
    assert_eq!(to_buy(&program, fit), bought, "another one costs what the part costs");
    let told = "Set aside for other jobs, and counted as gone: BP-S125 for paper-slate.\n";
    assert!(program.answer(fit).contains(told));
    assert!(!program.answer("fit worn-slate").contains("Set aside"), "no part of that stack is");
    let cured = program.json("cure tight-slate --on-hand --top 50 --format json");
    let has = |stack: &serde_json::Value| stack["parts"]["block_plate"] == "BP-S125";
    assert!(!cured["stacks"].as_array().unwrap().iter().any(has), "{cured}");
    let others = json!([{"part": "BP-S125", "pieces": 1, "job": "paper-slate"}]);
    assert_eq!(cured["set_aside"], others);
    assert!(program.answer("cure tight-slate").contains(told));
    // For the job itself it is there.
    let own = program.json("recommend paper-slate --on-hand --top 200 --format json");
    assert!(own["stacks"].as_array().unwrap().iter().any(has), "{own}");
    assert!(own.get("set_aside").is_none(), "{own}");
    let swap = program.answer("recommend paper-swap --top 1");
    assert!(swap.contains(told), "{swap}");

    let line = "part put-back BP-S125 --for paper-slate";
    program.check(line, 0, "no longer set aside for paper-slate: BP-S125\n", "");
    assert_eq!(program.json("cure tight-slate --on-hand --format json"), before);
    assert_eq!(to_buy(&program, fit), free);
}

#[test]
fn no_more_is_set_aside_or_taken_out_than_lies_there_for_everybody() {
    let program = Program::demo();
    program.answer("part set-aside SH-S030 3 --for tight-slate");
    program.refuses(
        "part set-aside SH-S030 2 --for worn-slate",
        2,
        "error: 2 of `SH-S030` cannot be had: 4 lie on the shelf, and 3 are set aside for \
         `tight-slate`\n  hint: `part receive SH-S030` counts what has come, `part put-back` frees \
         what is set aside\n",
    );
    program.answer("part set-aside SH-S030 --for worn-slate");
    assert_eq!(program.run("part take-out SH-S030").status, 2);
    program.refuses(
        "part put-back SH-S030 2 --for worn-slate",
        2,
        "error: 1 of `SH-S030` is set aside for `worn-slate`\n  hint: `shelf --for worn-slate` shows \
         what is set aside for it\n",
    );
    let line = "part take-out SH-S030 2 --for tight-slate";
    let told = "taken out: 2 pieces of SH-S030 for tight-slate, 2 of it set aside before; 2 left on the shelf\n";
    program.check(line, 0, told, "");
    assert_eq!(
        program.json("shelf --format json")["set_aside"],
        json!([
            {"job": "tight-slate", "state": "open", "part": "SH-S030", "piece": null, "pieces": 1,
             "kind": "bearing_shim"},
            {"job": "worn-slate", "state": "open", "part": "SH-S030", "piece": null, "pieces": 1,
             "kind": "bearing_shim"}
        ])
    );
    let csv = program.answer("shelf --for worn-slate --format csv");
    assert_eq!(csv, "job,state,part,piece,pieces,kind\nworn-slate,open,SH-S030,,1,bearing_shim\n");
    let history = program.answer("history --part SH-S030");
    assert!(history.contains("part SH-S030, on_hand: 4 -> 2"), "{history}");
    // One command changed the part and the job: both are taken back.
    program.answer("undo");
    assert!(program.answer("shelf").contains("tight-slate  open        3  SH-S030"));
    assert!(program.answer("part show SH-S030").contains("on_hand                     4\n"));
    for (line, wrong) in [
        ("part set-aside SH-S03 --for tight-slate", "there is no part `SH-S03`"),
        ("part set-aside SH-S060 --for tight", "there is no job `tight`"),
        ("part set-aside SH-S060#Z --for tight-slate", "there is no piece `SH-S060#Z`"),
        ("part set-aside SH-S060 0 --for tight-slate", "invalid value '0'"),
    ] {
        let ran = program.run(line);
        assert!(ran.status == 2 && ran.err.contains(wrong), "{line}: {}", ran.err);
    }
}

#[test]
fn a_measured_piece_is_set_aside_by_its_name() {
    let program = Program::demo();
    let read = "reading add BP-S125#A thickness 0.1251 0.1250 in --condition new";
    program.answer(&format!("{read} --instrument caliper-0.02"));
    let fit = "fit tight-slate --with block_plate=BP-S125";
    let part =
        |line: &str| program.json(&format!("{line} --format json"))["parts"]["block_plate"].clone();
    assert_eq!(part(fit), "BP-S125#A", "the piece in hand is judged");
    program.refuses(
        "part set-aside BP-S125 --for paper-slate",
        2,
        "error: of `BP-S125` measured pieces lie on the shelf: `BP-S125#A`\n  hint: name the piece, \
         such as `BP-S125#A`\n",
    );
    program.answer("part set-aside BP-S125#A --for paper-slate");
    assert_eq!(part(fit), "BP-S125", "it is gone for this job");
    assert_eq!(to_buy(&program, fit)["amount"], "48.00");
    let ran = program.run("part set-aside BP-S125#A --for worn-slate");
    assert!(ran.err.contains("`BP-S125#A` is set aside for `paper-slate`"), "{}", ran.err);
    assert!(!program.run("check --format csv").out.contains("set_aside"), "all of it is well");
    program.answer("part take-out BP-S125#A --for paper-slate");
    assert!(program.answer("piece list --all").contains("BP-S125#A"));
    assert!(!program.answer("piece list").contains("BP-S125#A"), "it has left the shop");
    program.answer("undo");
    assert!(program.answer("piece list").contains("BP-S125#A"));
    // It follows its part number.
    program.answer("part rename BP-S125 DP-125");
    assert!(program.answer("shelf").contains("DP-125#A"));
    assert_eq!(program.run("part remove DP-125").status, 2);
}

#[test]
fn what_has_come_for_a_job_is_counted_measured_and_held_against_its_plan() {
    let program = Program::demo();
    program.answer("answer keep tight-slate --only block_plate=BP-S125 --cure --as spring");
    program.answer("part take-out BP-S125");
    program.check(
        "part receive BP-S125 2 --for tight-slate",
        0,
        "received: 2 pieces of BP-S125, set aside for tight-slate; 2 on hand\n\
         The plan of tight-slate, its kept answer spring, still holds. In its window: sure, with \
         0.064 in of\n  room.\n",
        "",
    );
    assert_eq!(
        program.json("job show tight-slate --format json")["set_aside"],
        json!(["BP-S125", "BP-S125"])
    );
    // At a terminal it is measured: this one is another plate than it says.
    let ran = at_terminal(
        &program,
        "part receive BP-S125 --for tight-slate",
        &["B", "", "0.031 in", "yes", "done"],
    );
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(
        ran.err.contains("Label of BP-S125, to measure it now (blank: not now): "),
        "{}",
        ran.err
    );
    assert!(
        ran.out.starts_with("received: BP-S125#B, set aside for tight-slate; 3 on hand\n"),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("spring, holds no longer. Out of its window"), "{}", ran.out);
    assert_eq!(
        program.json("job show tight-slate --format json")["set_aside"],
        json!(["BP-S125", "BP-S125", "BP-S125#B"])
    );
    // Without a plan nothing is held against it, and without a job nothing is set aside.
    let ran = at_terminal(&program, "part receive SH-S060 2 --for worn-slate", &["", ""]);
    assert_eq!(
        ran.out,
        "received: 2 pieces of SH-S060, set aside for worn-slate; 4 on hand\n\
         no answer is kept for worn-slate that it could be held against\n"
    );
    program.check("part receive FW-S0900#C", 0, "received: FW-S0900#C; 1 on hand\n", "");
    let ran = program.run("part receive FW-S0900#C");
    assert!(ran.status == 2 && ran.err.contains("is in hand already"), "{}", ran.err);
    let ran = program.run("part receive FW-S0900#D 2");
    assert!(ran.status == 2 && ran.err.contains("is one piece, not 2"), "{}", ran.err);
    assert_eq!(program.run("part receive FW-S0900#D --condition shiny").status, 2);
    assert!(!program.answer("piece list").contains("FW-S0900#D"), "nothing is half stored");
}

#[test]
fn a_job_that_is_done_or_removed_says_what_is_set_aside_for_it() {
    let program = Program::demo();
    program.answer("part set-aside SH-S030 2 --for tight-slate");
    program.answer("part set-aside BP-S060 --for tight-slate");
    program.check(
        "job edit tight-slate state=done",
        0,
        "changed the job tight-slate\n",
        "note: still set aside for it: BP-S060 and 2 of SH-S030; `part take-out ID --for tight-slate` \
         where it went into the car, `part put-back ID --for tight-slate` where it did not\n",
    );
    let odd = program.run("check --format csv").out;
    let of: Vec<&str> = odd.lines().filter(|line| line.contains("set_aside")).collect();
    assert_eq!(of.len(), 2, "{odd}");
    assert!(of[0].contains("1 piece of BP-S060, and the job is done"), "{odd}");
    program.check(
        "job remove tight-slate",
        0,
        "removed the job tight-slate; set aside for it was BP-S060 and 2 of SH-S030, which lies there \
         for everybody now\n",
        "",
    );
    assert_eq!(program.answer("shelf"), "Nothing is set aside.\n");
    program.answer("undo");
    assert!(program.answer("shelf").contains("2  SH-S030"));
    // A copy of a job has nothing set aside, and a stock list may say less than is.
    program.answer("job copy tight-slate next-slate");
    assert!(!program.answer("shelf").contains("next-slate"));
    program.answer("part edit SH-S030 on_hand=1");
    let odd = program.run("check").out;
    assert!(odd.contains("2 are set aside, and 1 on hand"), "{odd}");
}

#[test]
fn what_is_set_aside_and_least_numbers_go_through_files_and_undo() {
    let program = Program::demo();
    let header = program.answer("export --kind jobs").lines().next().unwrap().to_string();
    assert!(!header.contains("set_aside"), "{header}");
    program.answer("part receive FW-S0900#C");
    program.answer("part set-aside FW-S0900#C --for tight-slate");
    program.answer("part set-aside SH-S030 2 --for tight-slate");
    program.answer("part edit SH-S060 least_on_hand=4");
    let jobs = program.answer("export --kind jobs");
    assert!(jobs.contains("FW-S0900#C|SH-S030|SH-S030"), "{jobs}");
    let out = program.dir().join("all").display().to_string();
    program.run_args(&["export", "--out", &out]);
    let book = program.dir().join("all.xlsx").display().to_string();
    program.run_args(&["export", "--format", "xlsx", "--out", &book]);
    let all =
        || std::fs::read_dir(&out).unwrap().map(|file| file.unwrap().path().display().to_string());
    let files: Vec<String> = all().collect();
    for sheets in [files, vec![book]] {
        let other = Program::new();
        let sheets: Vec<&str> = sheets.iter().map(String::as_str).collect();
        let ran = other.run_args(&[&["import"], &sheets[..]].concat());
        assert_eq!(ran.status, 0, "{}", ran.err);
        assert_eq!(other.answer("shelf"), program.answer("shelf"));
        assert_eq!(other.answer("low"), program.answer("low"));
    }
    for (cell, wrong) in [
        ("SH-S030|NONE-1", "there is no part `NONE-1`"),
        ("FW-S0900#C|FW-S0900#C", "the piece `FW-S0900#C` is set aside twice"),
    ] {
        let ran = program.run(&format!("job edit tight-slate set_aside='{cell}'"));
        assert!(ran.status == 2 && ran.err.contains(wrong), "{cell}: {}", ran.err);
    }
    let many = vec!["SH-S030"; 201].join("|");
    let ran = program.run(&format!("job edit tight-slate set_aside='{many}'"));
    assert!(ran.status == 2 && ran.err.contains("201 pieces are set aside"), "{}", ran.err);
}

#[test]
fn low_lists_what_is_below_its_least_number_less_what_is_set_aside() {
    let program = Program::demo();
    assert!(program.answer("low").starts_with("Nothing is running out"));
    program.answer("part edit SH-S030 least_on_hand=3 own_supplier='Demo Shims'");
    program.answer("part edit SH-S060 least_on_hand=2");
    assert!(program.answer("low").starts_with("Nothing is running out"));
    program.answer("part set-aside SH-S030 2 --for worn-slate");
    assert_eq!(
        program.json("low --format json")["low"],
        json!([{"id": "SH-S030", "kind": "bearing_shim", "description": "Invented shim",
            "least_on_hand": 3, "on_hand": 4, "set_aside": 2, "lacking": 1, "price": "9.50",
            "lead_days": null, "supplier": "Demo Shims"}])
    );
    assert_eq!(
        program.answer("low --kind bearing_shims --format csv"),
        "id,kind,description,least_on_hand,on_hand,set_aside,lacking,price,currency,lead_days,supplier\n\
         SH-S030,bearing_shim,Invented shim,3,4,2,1,9.50,USD,,Demo Shims\n"
    );
    assert!(program.answer("low --kind flywheel").starts_with("Nothing is running out"));
    program.answer("part retire SH-S030");
    assert!(program.answer("low").starts_with("Nothing is running out"), "it is not bought again");
    let ran = program.run("part edit SH-S060 least_on_hand=0");
    assert!(ran.status == 2 && ran.err.contains("not above zero"), "{}", ran.err);
}

#[test]
fn a_command_on_which_a_set_aside_piece_stands_is_not_taken_back() {
    let program = Program::demo();
    program.answer("part receive FW-S0900#C");
    program.answer("part set-aside FW-S0900#C --for tight-slate");
    let ran = program.run("undo 2");
    assert_eq!(ran.status, 2);
    assert!(
        ran.err.contains("1 later command stands on it: command 3 (`part set-aside FW-S0900#C"),
        "{}",
        ran.err
    );
    program.answer("undo");
    program.answer("undo 2");
    assert!(program.answer("part show FW-S0900").contains("on_hand                     0\n"));
    assert!(!program.answer("piece list --all").contains("FW-S0900#C"));
    // By a number that it had a part is received too, and its pieces are asked for by the new one.
    program.answer("part rename FW-S0900 DF-900");
    let ran = at_terminal(&program, "part receive FW-S0900 2", &["D", "", "", "done"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(ran.out.starts_with("received: DF-900#D, DF-900; 2 on hand\n"), "{}", ran.out);
    assert!(ran.err.contains("flywheel DF-900"), "the labelled one is measured: {}", ran.err);
    assert_eq!(ran.err.matches("Instruments: ").count(), 1, "and no other: {}", ran.err);
}

#[test]
fn a_piece_that_is_set_aside_and_gone_is_told() {
    let program = Program::demo();
    program.answer("part receive FW-S0900#C");
    program.answer("part set-aside FW-S0900#C --for tight-slate");
    program.answer("piece gone FW-S0900#C");
    program.answer("job edit worn-slate set_aside='FW-S0900#C'");
    let odd = program.run("check --format csv").out;
    for told in [
        "job,tight-slate,set_aside,\"FW-S0900#C, which is gone\"",
        "piece,FW-S0900#C,set_aside,one piece is set aside for tight-slate and worn-slate",
    ] {
        assert!(odd.contains(told), "{told}\n{odd}");
    }
}

/// A measured piece that is set aside for another job is as good as one that has left the shop.
#[test]
fn a_measured_piece_set_aside_for_others_is_as_good_as_sold() {
    let (aside, sold) = (Program::demo(), Program::demo());
    for program in [&aside, &sold] {
        for (piece, mean) in
            [("BP-S125#A", "0.1262"), ("BP-S060#B", "0.0611"), ("BR-S95#C", "2.801")]
        {
            let dimension = if piece.starts_with("BR") { "extended_height" } else { "thickness" };
            let line = format!("reading add {piece} {dimension} {mean} in --condition new");
            program.answer(&format!("{line} --instrument caliper-0.02"));
        }
    }
    for piece in ["BP-S125#A", "BP-S060#B", "BR-S95#C"] {
        aside.answer(&format!("part set-aside {piece} --for loose-amber"));
        sold.answer(&format!("part take-out {piece}"));
    }
    for line in [
        "recommend paper-slate --top 5",
        "recommend paper-slate --top 5 --on-hand",
        "cure tight-slate --top 5",
        "cure tight-slate --top 5 --on-hand",
        "fit tight-slate --with block_plate=BP-S125",
    ] {
        let line = format!("{line} --format json");
        let (mut aside, sold) = (aside.json(&line), sold.json(&line));
        aside.as_object_mut().unwrap().remove("set_aside");
        assert_eq!(aside, sold, "{line}");
    }
}

/// Whatever is set aside for others, a search finds just what it finds in a shop that never had it.
#[test]
fn set_aside_for_others_is_as_good_as_never_there() {
    let mut dice = Dice::new(1_113);
    for round in 0..6 {
        let (aside, never) = (Program::demo(), Program::demo());
        let parts = aside.json("part list --on-hand --format json");
        let parts = parts["parts"].as_array().unwrap();
        let mut some = 0;
        for part in parts {
            if dice.roll(3) > 0 {
                continue;
            }
            let (id, on_hand) = (part["id"].as_str().unwrap(), part["on_hand"].as_u64().unwrap());
            let pieces = 1 + dice.roll(on_hand);
            aside.answer(&format!("part set-aside {id} {pieces} --for loose-amber"));
            never.answer(&format!("part take-out {id} {pieces}"));
            some += 1;
        }
        assert!(some > 5, "{some} of {}", parts.len());
        for line in ["recommend paper-slate", "cure tight-slate", "cure short-slate"] {
            for flags in ["", "--on-hand", "--order price"] {
                let line = format!("{line} --top 5 {flags} --format json");
                let (mut aside, never) = (aside.json(&line), never.json(&line));
                let told = aside.as_object_mut().unwrap().remove("set_aside");
                assert!(told.is_some(), "round {round}: {line}");
                assert_eq!(aside, never, "round {round}: {line}");
            }
        }
    }
}
