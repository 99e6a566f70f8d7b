//! Every flag of `recommend`, `cure` and `fit`, by what it does to the answer.

use serde_json::Value;

use crate::program::Program;

fn stacks(answer: &Value) -> Vec<&Value> {
    answer["stacks"].as_array().unwrap().iter().collect()
}

fn ranked(program: &Program, flags: &str) -> Value {
    // Few enough combinations that each flag is quick to look at.
    let base = "recommend paper-slate --without gearbox_spacer --without bell_spacer";
    program.json(&format!("{base} {flags} --format json"))
}

fn number(text: &Value) -> u64 {
    text.as_str().unwrap().parse().unwrap()
}

#[test]
fn top_cuts_the_list_and_not_the_counts() {
    let program = Program::demo();
    let (few, more) =
        (ranked(&program, "--on-hand --top 2"), ranked(&program, "--on-hand --top 3"));
    assert_eq!((stacks(&few).len(), stacks(&more).len()), (2, 3));
    assert_eq!(few["considered"], more["considered"]);
    assert_eq!(few["in_window"], more["in_window"]);
    assert_eq!(stacks(&few)[..2], stacks(&more)[..2]);
}

#[test]
fn only_without_and_skip_narrow_a_slot() {
    let program = Program::demo();
    let answer =
        ranked(&program, "--only flywheel=FW-S0900,FW-S1000 --only bearing=BR-S95 --top 50");
    assert!(!stacks(&answer).is_empty());
    for stack in stacks(&answer) {
        let flywheel = stack["parts"]["flywheel"].as_str().unwrap();
        assert!(["FW-S0900", "FW-S1000"].contains(&flywheel), "{flywheel}");
        assert_eq!(stack["parts"]["bearing"], "BR-S95");
        assert_eq!(stack["parts"]["bell_spacer"], Value::Null);
    }
    let answer = ranked(&program, "--on-hand --skip PP-S190 --top 50");
    assert!(stacks(&answer).iter().all(|stack| stack["parts"]["pressure_plate"] != "PP-S190"));
    let answer = ranked(&program, "--on-hand --only bearing_shims=none,SH-S030 --top 50");
    for stack in stacks(&answer) {
        let shims = stack["parts"]["bearing_shims"].as_array().unwrap();
        assert!(shims.iter().all(|shim| shim == "SH-S030"), "{shims:?}");
    }
}

#[test]
fn keep_and_open_move_a_slot_between_fixed_and_free() {
    let program = Program::demo();
    let line = "recommend tight-slate --keep flywheel,disc,pressure_plate,bearing --format json";
    let kept = program.json(&format!("{line} --top 100"));
    for stack in stacks(&kept) {
        assert_eq!(stack["parts"]["flywheel"], "FW-S1000");
        assert_eq!(stack["parts"]["bell_housing"], "BH-S1");
    }
    let open = program.json(&format!("{line} --open bell_housing --top 100"));
    assert!(number(&open["considered"]) > number(&kept["considered"]));
}

#[test]
fn on_hand_budget_and_at_least_hold_for_every_stack() {
    let program = Program::demo();
    for stack in stacks(&ranked(&program, "--on-hand --top 50")) {
        assert_eq!(stack["to_buy"]["amount"], "0.00");
    }
    let narrow = "--only pressure_plate=PP-S190,PP-S180 --only disc=DS-S330 --top 100";
    let answer = ranked(&program, &format!("{narrow} --budget 200"));
    assert!(!stacks(&answer).is_empty());
    for stack in stacks(&answer) {
        let amount: f64 = stack["to_buy"]["amount"].as_str().unwrap().parse().unwrap();
        assert!(amount <= 200.0 && stack["to_buy"]["unpriced"] == 0, "{}", stack["to_buy"]);
    }
    for stack in stacks(&ranked(&program, &format!("{narrow} --at-least sure"))) {
        assert_eq!(stack["grade"], "sure");
    }
}

#[test]
fn orders_sort_by_what_they_say() {
    let program = Program::demo();
    let narrow = "--only pressure_plate=PP-S190,PP-S180 --only disc=DS-S330,DS-S345 --top 40";
    let by = |order: &str, key: fn(&Value) -> f64| {
        let answer = ranked(&program, &format!("{narrow} --order {order}"));
        let keys: Vec<f64> = stacks(&answer).iter().map(|stack| key(stack)).collect();
        assert!(keys.len() > 3 && keys.is_sorted(), "{order}: {keys:?}");
    };
    by("price", |stack| stack["to_buy"]["amount"].as_str().unwrap().parse().unwrap());
    by("room", |stack| -stack["room"]["nm"].as_f64().unwrap());
    by("chance", |stack| -stack["chance"].as_f64().unwrap());
    by("changes", |stack| stack["changes"].as_f64().unwrap());
    by("grade", |stack| {
        let grade = stack["grade"].as_str().unwrap();
        [("sure", 0.0), ("likely", 1.0), ("marginal", 2.0)].iter().find(|g| g.0 == grade).unwrap().1
    });
}

#[test]
fn show_failed_shows_what_a_check_took_out() {
    let program = Program::demo();
    let line =
        "cure tight-slate --keep flywheel,disc,block_plate,gearbox_spacer,bearing,bearing_shims";
    let fails = |stack: &&Value| {
        let checks = stack["checks"].as_array().unwrap();
        checks.iter().any(|check| check["result"] == "fail")
    };
    let without = program.json(&format!("{line} --format json"));
    assert!(!stacks(&without).iter().any(fails));
    let with = program.json(&format!("{line} --show-failed --format json"));
    assert!(stacks(&with).iter().any(fails));
    let text = program.answer(&format!("{line} --show-failed"));
    assert!(text.contains("fails "), "{text}");
}

#[test]
fn several_jobs_are_an_array_and_one_is_an_object() {
    let program = Program::demo();
    assert!(program.json("cure tight-slate --format json").is_object());
    let both = program.json("cure tight-slate loose-amber --format json");
    let names: Vec<&str> =
        both.as_array().unwrap().iter().map(|cure| cure["job"].as_str().unwrap()).collect();
    assert_eq!(names, ["tight-slate", "loose-amber"]);
    let text = program.answer("cure tight-slate loose-amber");
    assert!(text.contains("Too tight: ") && text.contains("Too loose: "), "{text}");
    let all = program.run("cure --all --format json");
    let all: Value = serde_json::from_str(&all.out).unwrap();
    assert_eq!(all.as_array().unwrap().len(), 5);
}

#[test]
fn a_cures_change_can_be_fitted_as_it_is_written() {
    let program = Program::demo();
    for job in ["tight-slate", "loose-amber", "short-slate", "unsure-amber"] {
        let cure = program.json(&format!("cure {job} --top 20 --format json"));
        for stack in stacks(&cure) {
            let mut line = format!("fit {job} --format json");
            for change in stack["change"].as_array().unwrap() {
                let slot = change["slot"].as_str().unwrap();
                line.push_str(&if let Some(length) = change["machine_to"]["mm"].as_f64() {
                    assert_eq!(change["to"], Value::Null);
                    format!(" --machine-to '{length} mm'")
                } else {
                    let to = change["to"].as_str().unwrap_or("none");
                    format!(" --with '{slot}={to}'")
                });
            }
            let fit = program.json(&line);
            for key in [
                "grade", "parts", "preload", "reserve", "room", "edges", "chance", "to_buy",
                "checks",
            ] {
                assert_eq!(fit[key], stack[key], "{line}: {key}");
            }
        }
    }
}

#[test]
fn fit_takes_a_matched_set_in_place_of_plate_and_disc() {
    let program = Program::demo();
    let fit = program.json("fit tight-slate --with pressure_plate=MS-S199 --format json");
    assert_eq!(fit["parts"]["pressure_plate"], "MS-S199");
    assert_eq!(fit["parts"]["disc"], Value::Null);
    let fit = program.json("fit tight-slate --with 'bearing_shims=SH-S060|SH-S030' --format json");
    assert_eq!(fit["parts"]["bearing_shims"], serde_json::json!(["SH-S030", "SH-S060"]));
    let fit = program.json("fit tight-slate --with bearing_shims=none --format json");
    assert_eq!(fit["parts"]["bearing_shims"], serde_json::json!([]));
}

#[test]
fn json_holds_what_the_contract_promises() {
    let program = Program::demo();
    let answer = ranked(&program, "--on-hand --top 1");
    for key in ["job", "considered", "in_window", "left_out", "stacks"] {
        assert!(!answer[key].is_null(), "{key}");
    }
    assert!(answer.get("nearest").is_none());
    let stack = &answer["stacks"][0];
    for key in [
        "rank",
        "grade",
        "parts",
        "window",
        "preload",
        "reserve",
        "travel",
        "room",
        "edges",
        "chance",
        "not_verified",
        "to_buy",
        "changes",
        "checks",
        "cautions",
    ] {
        assert!(!stack[key].is_null(), "{key}");
    }
    let nm = |length: &Value| length["nm"].as_i64().unwrap();
    assert_eq!(nm(&stack["preload"]) + nm(&stack["reserve"]), nm(&stack["travel"]));
    assert_eq!(stack["window"]["preload_max"], Value::Null);
    assert!(stack["edges"]["preload_min"]["u"]["nm"].is_f64());
    assert!(stack["edges"].get("preload_max").is_none());
    assert_eq!(answer["left_out"][0]["needs"], serde_json::json!(["finger_height"]));
    let cure = program.json("cure tight-slate --format json");
    assert_eq!(cure["trouble"]["is"], "too_tight");
    assert_eq!(cure["trouble"]["edge"], "reserve_min");
    assert_eq!(cure["forbidden_by"], Value::Null);
    let row = &cure["look_for"][0];
    for key in ["slot", "dimension", "from", "to", "fitted", "in_catalog"] {
        assert!(row.get(key).is_some(), "{key}");
    }
}

#[test]
fn a_reading_or_an_edge_is_tried_with_set_and_not_stored() {
    let program = Program::demo();
    let room = |line: &str| program.json(&format!("{line} --format json"))["room"]["nm"].clone();
    let stored = room("fit tight-slate");
    // The least reserve of the clutch is 0.170 in; the job's own cannot lower it, and can raise it.
    assert_eq!(room("fit tight-slate --set reserve_min=0.100in"), stored);
    let raised = stored.as_i64().unwrap() - 762_000;
    assert_eq!(room("fit tight-slate --set reserve_min=0.200in"), raised);
    // A bell that reads 0.100 in deeper at both ends.
    let deeper = "fit tight-slate --set bearing_depth_extended=2.210in --set \
                  bearing_depth_retracted=3.160in";
    assert_eq!(room(deeper), stored.as_i64().unwrap() + 2_540_000);
    assert_eq!(room("fit tight-slate"), stored);
    program.refuses(
        "fit tight-slate --set finger_dept=1in",
        2,
        "error: `--set`: `finger_dept`: this key is not known\n  hint: did you mean `finger_depth`?\n",
    );
}

#[test]
fn the_unit_that_the_catalog_keeps_is_read_where_none_is_asked_for() {
    let program = Program::demo();
    assert_eq!(program.answer("window set units=mm"), "units is mm\n");
    let kept = program.answer("fit tight-slate --with bearing_shims=none");
    let asked = program.answer("fit tight-slate --with bearing_shims=none --units mm");
    assert_eq!(kept, asked);
    let other = program.answer("fit tight-slate --with bearing_shims=none --units in");
    assert_ne!(kept, other);
    // A bare number of a search is in it too.
    let found = program.answer("part list --kind flywheel thickness=22..23");
    assert!(found.contains("FW-A22") && !found.contains("FW-A25"), "{found}");
    assert!(program.answer("export --kind window").contains("units,mm"));
    program.refuses(
        "window set units=cm",
        2,
        "error: `units`: `cm` is no unit\n  hint: write in or mm\n",
    );
    assert_eq!(program.answer("window set units="), "units is in (the default)\n");
}

#[test]
fn a_window_and_a_ratio_are_judged_once_all_that_is_set_is_set() {
    let program = Program::demo();
    program.answer("window set preload_min='0.6 in' preload_max='0.8 in'");
    // Each step between would contradict the other edge.
    program.answer("window set preload_min='1.0 in' preload_max='1.2 in'");
    program.answer("window set preload_max='0.8 in' preload_min='0.6 in'");
    assert_eq!(program.run("window set preload_min='0.9 in'").status, 2);
    let ran = program.run("window set blank.finger_ratio=1.5");
    assert_eq!(ran.status, 2, "{}", ran.err);
    assert!(
        ran.err.contains("`blank.finger_ratio` 1.50 less `blank.finger_ratio_tol` 0.75"),
        "{}",
        ran.err
    );
    program.answer("window set blank.finger_ratio=1.5 blank.finger_ratio_tol=0.3");
    assert!(program.answer("window show").contains("blank.finger_ratio"));
}

#[test]
fn a_cure_counts_what_it_would_list_and_pairs_only_where_it_looks_at_them() {
    let program = Program::demo();
    let cure = |flags: &str| program.json(&format!("cure tight-slate --format json {flags}"));
    let (few, all) = (cure("--top 2"), cure("--top 1000"));
    assert_eq!(number(&all["in_window"]), stacks(&all).len() as u64);
    let singles =
        |answer: &Value| stacks(answer).iter().filter(|stack| stack["changes"] == 1).count() as u64;
    // Two single changes fill the list: pairs are not looked at, and not counted.
    assert_eq!(number(&few["in_window"]), singles(&all));
    assert!(singles(&all) < stacks(&all).len() as u64);
    assert!(number(&few["considered"]) < number(&all["considered"]));
    assert!(number(&all["in_window"]) < number(&all["considered"]));
    let uncounted = cure("--top 1000 --no-counts");
    assert_eq!((&uncounted["considered"], &uncounted["in_window"]), (&Value::Null, &Value::Null));
    assert_eq!(uncounted["stacks"], all["stacks"]);
}
