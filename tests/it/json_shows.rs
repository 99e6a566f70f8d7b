//! JSON for everything that is listed or shown.

use serde_json::{Value, json};

use crate::help::all;
use crate::program::Program;

fn shop() -> Program {
    let program = Program::demo();
    for line in [
        "piece add FW-S1000#A condition=new notes=spare",
        "piece add FW-S1000#B condition=used",
        "piece gone FW-S1000#B",
        "reading add FW-S1000#A thickness 1.251 1.2505 1.252 in --bar '1/4 in' --instrument \
         caliper-0.02 --by Kim --date 2026-02-03",
        "reading add FW-S1000#A thickness 1.001 in",
        "reading strike 2 --because burrs",
        "answer keep worn-slate --fit --as now",
    ] {
        program.answer(line);
    }
    program
}

#[test]
fn every_command_that_lists_or_shows_speaks_json_with_the_number_of_its_format() {
    let program = shop();
    let mut found = 0;
    for help in all() {
        let name = help.path.rsplit(' ').next().unwrap_or_default();
        if !["list", "show", "history", "check", "compare"].contains(&name) {
            continue;
        }
        let of = match help.path.split(' ').next().unwrap() {
            "part" if name == "show" => "FW-S1000",
            "job" if name == "show" => "tight-slate",
            "instrument" if name == "show" => "caliper-0.02",
            "answer" if name != "list" => "now",
            "headings" if name == "show" => continue,
            _ => "",
        };
        let json = program.json(&format!("{} {of} --format json", help.path));
        assert_eq!(json["format"], 1, "{}", help.path);
        assert!(json.as_object().unwrap().len() > 1, "{}", help.path);
        found += 1;
    }
    assert!(found >= 15, "{found}");
}

#[test]
fn a_part_is_shown_with_what_its_pieces_measured() {
    let program = shop();
    let part = program.json("part show FW-S1000 --format json");
    assert_eq!((&part["id"], &part["kind"]), (&json!("FW-S1000"), &json!("flywheel")));
    assert_eq!((&part["price"], &part["currency"]), (&json!("310.00"), &json!("USD")));
    assert_eq!(part["dimensions"]["thickness"]["value"]["nm"], 25_400_000);
    assert_eq!(part["faces"]["crank_pattern"], "slate-6");
    assert!(part["jobs"].as_array().unwrap().contains(&json!("tight-slate")));
    // 1.001, 1.0005 and 1.002 in.
    let measured = &part["measured"]["thickness"];
    assert_eq!((&measured["pieces"], &measured["mean"]["nm"]), (&json!(1), &json!(25_429_633)));
    assert_eq!(program.json("part show FW-S0900 --format json")["measured"], json!({}));
}

#[test]
fn a_job_is_shown_as_it_was_entered() {
    let program = shop();
    program.answer(
        "job edit tight-slate customer=Kim finger_depth='3.190 in' finger_depth_bar='1/4 in'",
    );
    let job = program.json("job show tight-slate --format json");
    assert_eq!((&job["job"], &job["state"]), (&json!("tight-slate"), &json!("open")));
    assert_eq!((&job["customer"], &job["vehicle"]), (&json!("Kim"), &json!("")));
    assert_eq!(job["parts"]["flywheel"], json!(["FW-S1000"]));
    assert_eq!(job["torque"], 550.0);
    let reading = &job["readings"]["finger_depth"];
    assert_eq!((&reading["value"]["in"], &reading["bar"]["in"]), (&json!(2.94), &json!(0.25)));
    assert_eq!(job["fitted_disc_state"], "new");
    assert_eq!(job["window"]["preload_min"], Value::Null);
    let window = program.json("window show --job tight-slate --format json");
    assert_eq!(window["own"]["reserve_min"], Value::Null);
    assert_eq!(window["in_force"]["reserve_min"]["set_by"], "clutch");
    assert_eq!(window["in_force"]["reserve_min"]["limit"]["in"], 0.17);
    let numbers = program.json("window show --format json");
    let number = |key: &str| {
        let numbers = numbers["numbers"].as_array().unwrap();
        numbers.iter().find(|number| number["key"] == key).unwrap().clone()
    };
    assert_eq!(number("reserve_margin")["length"]["nm"], 762_000);
    assert_eq!(number("currency")["value"], "USD");
    assert_eq!(number("currency")["length"], Value::Null);
}

#[test]
fn pieces_readings_and_instruments_are_listed() {
    let program = shop();
    let pieces = program.json("piece list --format json");
    assert_eq!(pieces["gone_hidden"], 1);
    let piece = &pieces["pieces"][0];
    assert_eq!(piece["piece"], "FW-S1000#A");
    assert_eq!((&piece["kind"], &piece["condition"]), (&json!("flywheel"), &json!("new")));
    assert_eq!((&piece["sets_read"], &piece["notes"]), (&json!(2), &json!("spare")));
    let all = program.json("piece list --all --format json");
    assert_eq!(all["pieces"][1]["in_hand"], false);
    let readings = program.json("reading list FW-S1000 --format json");
    let set = &readings["readings"][0];
    assert_eq!((&set["number"], &set["piece"]), (&json!(1), &json!("FW-S1000#A")));
    assert_eq!(set["values"][0]["nm"], 25_425_400);
    assert_eq!((&set["bar"]["in"], &set["by"]), (&json!(0.25), &json!("Kim")));
    assert_eq!((&set["date"], &set["instrument"]), (&json!("2026-02-03"), &json!("caliper-0.02")));
    // The sample's scatter of 1.001, 1.0005 and 1.002 in is 0.00076376 in, 19,399.6 nm.
    assert_eq!(set["scatter"]["nm"], 19_400);
    assert_eq!(set["struck"], Value::Null);
    let set = &readings["readings"][1];
    assert_eq!((&set["struck"], &set["scatter"]), (&json!("burrs"), &Value::Null));
    let tools = program.json("instrument list --format json");
    let tools = tools["instruments"].as_array().unwrap();
    let tool = tools.iter().find(|tool| tool["instrument"] == "caliper-0.02").unwrap();
    assert_eq!((&tool["sets_read"], &tool["resolution"]["mm"]), (&json!(1), &json!(0.02)));
    let shown = program.json("instrument show caliper-0.02 --format json");
    assert_eq!(shown["limits"], tool["limits"]);
    assert!(shown["limits"][0]["error"]["nm"].as_i64().unwrap() > 0, "{shown}");
}

#[test]
fn headings_are_shown_with_what_each_means() {
    let program = Program::demo();
    crate::help::furnish(&program);
    let all = program.json("headings list --format json");
    assert_eq!(all["headings"][0]["name"], "rings");
    let one = program.json("headings show rings --format json");
    assert_eq!((&one["columns"], &one["holds"]), (&json!({"part_no.": "id"}), &Value::Null));
    assert_eq!(one["kinds"], json!({}));
}
