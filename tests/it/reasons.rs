//! Why nothing is found, and what is left out: each reason is worked out, and each has its case here.

use serde_json::Value;

use crate::program::Program;

/// What is said to stand in the way; the answer has no stack, and says so by its exit status.
fn why(program: &Program, line: &str) -> String {
    let ran = program.run(&format!("{line} --format json"));
    assert_eq!(ran.status, 1, "{line}: {}", ran.err);
    let answer: Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(answer["stacks"].as_array().unwrap().len(), 0, "{line}");
    answer["forbidden_by"].as_str().unwrap_or_default().to_string()
}

/// A shop in which one combination lands, with what a test changes of it.
fn small(lines: &[&str]) -> Program {
    let program = Program::new();
    let parts = [
        "part add engine E crank_protrusion='0 in' crank_protrusion_tol='0.001 in' crank_pattern=six",
        "part add flywheel F thickness='1 in' thickness_tol='0.001 in' price=100 crank_pattern=six",
        "part add disc D thickness='0.33 in' thickness_tol='0.001 in' price=50",
        "part add pressure_plate P finger_height='1.9 in' finger_height_tol='0.001 in' \
         set_gap='0.33 in' set_gap_tol='0.001 in' finger_ratio=4 wear_allowance='0.03 in' \
         release_travel='0.4 in' price=150",
        "part add bell_housing H depth='6.7 in' depth_tol='0.001 in'",
        "part add gearbox G seat_height='1 in' seat_height_tol='0.001 in'",
        "part add bearing B extended_height='3.5 in' extended_height_tol='0.001 in' \
         retracted_height='2.55 in' retracted_height_tol='0.001 in' max_shim='0.1 in'",
    ];
    for line in parts.iter().chain(&["job add car engine=E bell_housing=H gearbox=G"]).chain(lines)
    {
        let ran = program.run(line);
        assert_eq!(ran.status, 0, "{line}: {}", ran.err);
    }
    program
}

#[test]
fn the_small_shop_has_an_answer() {
    // Fingers at 2.900 in; the bearing stands at 5.700 less 3.500 and 2.550: preload 0.700, reserve 0.250.
    let answer = small(&[]).answer("recommend car");
    assert!(answer.starts_with("1 of 1 combination"), "{answer}");
}

#[test]
fn a_kind_without_a_part_is_named() {
    let program = small(&["part remove D"]);
    let said = why(&program, "recommend car");
    assert_eq!(said, "the catalog has no part for the slot disc.");
}

#[test]
fn what_became_of_the_parts_of_a_slot_that_nothing_can_take_is_told() {
    let program = small(&["part add disc X", "part add disc Y thickness='0.33 in'"]);
    let said = why(&program, "recommend car --on-hand --only disc=X,Y");
    assert!(said.starts_with("nothing can take the slot "), "{said}");
    assert!(said.contains("not on hand"), "{said}");
    let said = why(&program, "recommend car --only disc=X");
    assert!(said.contains("slot disc, of 3 parts"), "{said}");
    assert!(said.contains("1: lack a dimension") && said.contains("2: --only"), "{said}");
}

#[test]
fn faces_that_clash_are_named_as_the_reason_only_where_all_clash() {
    let program = small(&["part edit F crank_pattern=eight"]);
    assert_eq!(why(&program, "recommend car"), "every combination clashes at some mating face.");
}

#[test]
fn too_much_shim_is_named_as_the_reason() {
    let program = small(&["part add bearing_shim S thickness='0.2 in'"]);
    let said = why(&program, "recommend car --only bearing_shims=S");
    assert_eq!(said, "every combination that mates takes more shim than its bearing.");
}

#[test]
fn a_dimension_that_every_combination_lacks_is_named_with_its_part() {
    // The clutch was read on the car, so that today's flywheel stands in the sum of all others; of it
    // nobody knows how thick it is, nor how far the crank stands out.
    let program = small(&[
        "part add flywheel OLD crank_pattern=six",
        "part edit E crank_protrusion= crank_protrusion_tol=",
        "job edit car flywheel=OLD disc=D pressure_plate=P fitted_disc_state=new \
         finger_depth='2.94 in' finger_depth_tol='0.002 in'",
    ]);
    let said = why(&program, "recommend car --only flywheel=F");
    assert!(said.starts_with("what mates cannot be summed up: it lacks "), "{said}");
    assert!(said.contains("thickness of flywheel OLD"), "{said}");
    // With today's flywheel the reading stands, and nothing of it need be known.
    assert_eq!(program.run("recommend car --keep flywheel").status, 0);
    let answer = program.json("recommend car --format json");
    let left_out = answer["left_out"].as_array().unwrap();
    assert_eq!(left_out.len(), 1, "{left_out:?}");
    assert_eq!(
        (&left_out[0]["id"], &left_out[0]["needs"][0]),
        (&"OLD".into(), &"thickness".into())
    );
}

#[test]
fn a_budget_that_takes_everything_out_is_the_reason_with_what_would_do() {
    let program = small(&[]);
    let said = why(&program, "recommend car --budget 120");
    let pieces = "the cheapest stack in its window costs 300.00 USD and 1 piece without a price.";
    assert_eq!(said, format!("the budget of 120.00 USD: {pieces}"));
    let priced = small(&["part edit B price=200"]);
    let said = why(&priced, "recommend car --budget 120");
    assert_eq!(
        said,
        "the budget of 120.00 USD: the cheapest stack in its window costs 500.00 USD."
    );
    assert_eq!(priced.run("recommend car --budget 500").status, 0);
}

#[test]
fn a_grade_that_nothing_has_is_the_reason_with_the_best_that_there_is() {
    let program = small(&["part edit H depth_tol='0.08 in'", "part edit B price=200"]);
    let said = why(&program, "recommend car --at-least sure");
    assert_eq!(said, "`--at-least sure`: the best stack in its window is likely.");
    let said = why(&program, "recommend car --at-least sure --budget 120");
    assert!(said.starts_with("the budget of 120.00 USD and `--at-least sure` together"), "{said}");
}

#[test]
fn an_edge_and_a_check_are_named_where_nothing_else_stands_in_the_way() {
    let program = small(&["job edit car preload_min='0.8 in'"]);
    let said = why(&program, "recommend car");
    assert!(said.contains("the preload is 0.100 in"), "{said}");
    let program = small(&["part edit P torque_rating=300", "job edit car torque=400"]);
    let said = why(&program, "recommend car");
    assert_eq!(said, "what lands in the window fails a check beside it, first of all torque.");
}

#[test]
fn parts_that_clash_with_what_stays_are_counted_where_each_part_is_explained() {
    let program = small(&[
        "part add flywheel F8 thickness='1 in' crank_pattern=eight",
        "part add flywheel F9 thickness='1 in' crank_pattern=nine",
        "part edit H block_pattern=slate",
        "part edit E block_pattern=amber",
    ]);
    let said = program.run("recommend car --explain").out;
    let row = said.lines().find(|line| line.starts_with("flywheel")).unwrap();
    let words: Vec<&str> = row.split_whitespace().collect();
    assert_eq!(words.join(" "), "flywheel 3 2 clash with what stays 1 1", "{said}");
    // A spacer that adapts may come between bell and block: then nothing is said to clash for good.
    let adapter = "part add bell_spacer A thickness='0.1 in' block_pattern=amber \
                   block_pattern_rear=slate";
    assert_eq!(program.run(adapter).status, 0);
    program.answer("recommend car");
}

/// Three readings and no part number: fingers 3.195 less 0.250 in, the bearing at 2.200 and 3.150 in, so that
/// the preload is 0.745 in and the reserve 0.205 in. With a least reserve of 0.250 in the fingers have to
/// come forward by 0.045 in at least, and by 0.145 in at most, where the preload is at its least of 0.600 in
/// (common practice, no source).
#[test]
fn where_todays_dimension_is_unknown_the_difference_is_told() {
    let program = Program::new();
    let readings = "finger_depth='3.195 in' finger_depth_bar='1/4 in' finger_depth_tol='0.001 in' \
                    bearing_depth_extended='2.2 in' bearing_depth_extended_tol='0.001 in' \
                    bearing_depth_retracted='3.15 in' bearing_depth_retracted_tol='0.001 in' \
                    fitted_disc_state=new crank_pushed=front";
    for line in ["part add disc D-1", "part remove D-1"] {
        assert_eq!(program.run(line).status, 0, "{line}");
    }
    let line = format!("job add car {readings} preload_min='0.6 in' reserve_min='0.25 in'");
    assert_eq!(program.run(&line).status, 0);
    let ran = program.run("cure car --format json");
    assert_eq!(ran.status, 1, "{}", ran.err);
    let answer: Value = serde_json::from_str(&ran.out).unwrap();
    let rows = answer["look_for"].as_array().unwrap();
    let row = |slot: &str| rows.iter().find(|row| row["slot"] == slot).unwrap();
    let flywheel = row("flywheel");
    for key in ["from", "to", "fitted", "in_catalog"] {
        assert_eq!(flywheel[key], Value::Null, "{flywheel}");
    }
    let ends = (&flywheel["by"]["from"]["in"], &flywheel["by"]["to"]["in"]);
    assert_eq!(ends, (&(-0.145).into(), &(-0.045).into()));
    // A block plate there is none today: its range is one of thicknesses.
    let plate = row("block_plate");
    assert_eq!((&plate["from"]["in"], &plate["to"]["in"]), (&0.045.into(), &0.145.into()));
    assert_eq!(plate["by"]["from"]["in"], 0.045);
    let said = program.run("cure car").out;
    let line = "flywheel thickness: thinner by 0.045 to 0.145 in than today's, whatever that is";
    assert!(said.contains(line), "{said}");
}
