//! Parts and jobs that are sought: by what they are, in the order that is asked for, for programs too.

use crate::program::Program;

/// The ids of a list, in its order.
fn ids(program: &Program, line: &str) -> Vec<String> {
    let json = program.json(&format!("{line} --format json"));
    assert_eq!(json["format"], 1);
    let (things, key) =
        if line.starts_with("job") { (&json["jobs"], "job") } else { (&json["parts"], "id") };
    things.as_array().unwrap().iter().map(|thing| thing[key].as_str().unwrap().into()).collect()
}

fn shop() -> Program {
    let program = Program::new();
    for line in [
        "part add engine E-1 crank_pattern=six",
        "part add engine E-2 crank_pattern=eight",
        "part add flywheel F-1 thickness='1.000 in' price=310 crank_pattern=six maker=Invented",
        "part add flywheel F-2 thickness='0.875 in' on_hand=2 crank_pattern='six|eight'",
        "part add flywheel F-3 thickness='22 mm' price=95 crank_pattern=eight notes='long lead'",
        "part add flywheel F-4 price=120",
        "part add flywheel F-5 thickness='0.870 in'",
        "part add block_plate P-1 thickness='0.880 in'",
        "part retire F-5",
    ] {
        program.answer(line);
    }
    program
}

#[test]
fn parts_are_found_by_what_they_measure_and_both_ends_belong_to_the_range() {
    let program = shop();
    // 22 mm is 0.8661 in.
    for (range, found) in [
        ("thickness=0.850..0.900", &["F-3", "F-2", "P-1"][..]),
        ("thickness=0.875..0.880", &["F-2", "P-1"]),
        ("thickness=0.875", &["F-2"]),
        ("thickness=..0.875", &["F-3", "F-2"]),
        ("thickness='22 mm..'", &["F-3", "F-2", "F-1", "P-1"]),
        ("thickness='21..22.3 mm'", &["F-3", "F-2"]),
        ("thickness='874..876 thou'", &["F-2"]),
        ("price=100..200", &["F-4"]),
        ("on_hand=1..", &["F-2"]),
        ("thickness=0.850..0.900 price=1..", &["F-3"]),
    ] {
        assert_eq!(ids(&program, &format!("part list {range}")), found, "{range}");
    }
    assert_eq!(
        ids(&program, "part list --kind flywheel thickness=22..23 --units mm"),
        ["F-3", "F-2"]
    );
    assert_eq!(ids(&program, "part list --retired thickness=0.8.."), ["F-5"]);
}

#[test]
fn parts_are_found_by_what_they_mate_with_by_the_shelf_and_by_words() {
    let program = shop();
    assert_eq!(ids(&program, "part list --kind flywheel --mates E-1"), ["F-1", "F-2", "F-4"]);
    assert_eq!(ids(&program, "part list --mates F-1 --kind engine"), ["E-1"]);
    assert_eq!(ids(&program, "part list --on-hand"), ["F-2"]);
    assert_eq!(ids(&program, "part list invented"), ["F-1"]);
    assert_eq!(ids(&program, "part list long LEAD"), ["F-3"]);
    assert_eq!(ids(&program, "part list long short"), Vec::<String>::new());
    program.refuses(
        "part list --mates E-3",
        2,
        "error: there is no part `E-3` in the catalog\n  hint: did you mean `E-1`?\n",
    );
}

#[test]
fn parts_are_sorted_as_asked_and_what_is_unknown_comes_last_either_way() {
    let program = shop();
    let of = |flags: &str| ids(&program, &format!("part list --kind flywheel {flags}"));
    assert_eq!(of("--sort thickness"), ["F-3", "F-2", "F-1", "F-4"]);
    assert_eq!(of("--sort thickness --reverse"), ["F-1", "F-2", "F-3", "F-4"]);
    assert_eq!(of("--sort price"), ["F-3", "F-4", "F-1", "F-2"]);
    assert_eq!(of("--sort maker"), ["F-1", "F-2", "F-3", "F-4"]);
    assert_eq!(of("--sort id --reverse"), ["F-4", "F-3", "F-2", "F-1"]);
}

#[test]
fn a_list_shows_the_dimensions_that_are_asked_for() {
    let program = shop();
    let out = "\
kind      id   description  thickness    price    on
                                   in      USD  hand
--------- ---- ------------ ---------- -------- -----
flywheel  F-3                   0.866    95.00     0
flywheel  F-2                   0.875  unknown     2
flywheel  F-1                   1.000   310.00     0
flywheel  F-4                 unknown   120.00     0

4 parts.
1 retired part not shown: `bellstack part list --retired`.
";
    let found = program.answer("part list --kind flywheel --sort thickness");
    assert_eq!(found, out);
    let csv = "\
id,kind,maker,description,price,on_hand,lead_days,status,notes,thickness
F-2,flywheel,,,,2,,in use,,0.875 in
F-1,flywheel,Invented,,310.00,0,,in use,,1.000 in
";
    let line = "part list --kind flywheel thickness=0.87.. --format csv";
    assert_eq!(program.answer(line), csv);
    let json = program.json("part list F-3 --format json");
    let part = &json["parts"][0];
    assert_eq!(part["dimensions"]["thickness"]["value"]["nm"], 22_000_000);
    assert!(part["dimensions"]["thickness"]["tol"].is_null());
    assert_eq!(
        (&part["price"], &part["faces"]["crank_pattern"]),
        (&"95.00".into(), &"eight".into())
    );
}

#[test]
fn a_list_refuses_a_key_or_a_range_that_cannot_be() {
    let program = shop();
    for (line, told) in [
        (
            "part list thicknes=1..",
            "`thicknes` is no number that a part has\n  hint: did you mean `thickness`?",
        ),
        (
            "part list --kind engine thickness=1..",
            "`thickness` is no number that the kind `engine` has",
        ),
        ("part list thickness=..", "`thickness`: `..` is no range"),
        ("part list thickness=2..1", "`thickness`: `2..1` runs from the larger to the smaller"),
        ("part list --sort thicknes", "`thicknes` is no key to sort by"),
        ("part list --show wieght", "`wieght` is no number that a part has"),
        ("job list flywhel=F", "`flywhel` is no column of a job\n  hint: did you mean `flywheel`?"),
        ("job list --sort rooms", "`rooms` is no column of a job\n  hint: did you mean `room`?"),
    ] {
        let ran = program.run(line);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{line}");
        assert!(ran.err.contains(told), "{line}: {}", ran.err);
    }
    assert_eq!(program.run("job list --verdict good").status, 2);
}

#[test]
fn jobs_are_found_and_sorted_by_where_they_stand() {
    let program = Program::demo();
    let all = program.json("job list --format json");
    for job in all["jobs"].as_array().unwrap() {
        let (name, verdict) = (job["job"].as_str().unwrap(), job["verdict"].as_str().unwrap());
        let fit = program.run(&format!("fit {name} --format json"));
        if verdict == "paper" || verdict == "unknown" {
            assert!(job["room"].is_null() && !job["why"].is_null(), "{name}");
            continue;
        }
        let fit: serde_json::Value = serde_json::from_str(&fit.out).unwrap();
        assert_eq!(job["room"], fit["room"], "{name}");
        assert_eq!(job["reserve"], fit["reserve"], "{name}");
        assert!(fit["grade"] == verdict || verdict == "fails", "{name}");
    }
    let tight = ids(&program, "job list --verdict out");
    assert!(tight.contains(&"tight-slate".to_string()), "{tight:?}");
    let sorted = ids(&program, "job list --sort room");
    let room = |name: &String| {
        let job = all["jobs"].as_array().unwrap().iter().find(|job| job["job"] == name.as_str());
        job.unwrap()["room"]["nm"].as_i64()
    };
    let rooms: Vec<Option<i64>> = sorted.iter().map(room).collect();
    let known: Vec<i64> = rooms.iter().copied().flatten().collect();
    assert!(known.is_sorted() && known.len() > 3, "{rooms:?}");
    assert!(rooms[known.len()..].iter().all(Option::is_none), "what is unknown comes last");
    assert_eq!(ids(&program, "job list paper"), ["paper-amber", "paper-slate", "paper-swap"]);
    let with_plate = ids(&program, "job list pressure_plate=pp-s190");
    assert_eq!(with_plate, ["tight-slate", "worn-slate"]);
    assert!(ids(&program, "job list pressure_plate=").contains(&"paper-slate".to_string()));
    let csv = program.answer("job list tight-slate --format csv");
    assert!(
        csv.starts_with("job,description,verdict,preload_in,reserve_in,room_in,fails,why,engine,")
    );
    assert!(csv.contains("\ntight-slate,Too tight: reserve too small,out,0.8350,0.1150,"), "{csv}");
    assert_eq!(program.answer("job list nowhere"), "No job is listed.\n");
}

#[test]
fn a_cure_names_the_parts_that_lie_in_the_range_to_look_for() {
    let program = Program::demo();
    let cure = program.json("cure tight-slate --format json");
    for row in cure["look_for"].as_array().unwrap() {
        let parts = row["parts"].as_array().unwrap();
        assert_eq!(row["in_catalog"], parts.len(), "{row}");
        for id in parts {
            let list = program.json(&format!("part list {} --format json", id.as_str().unwrap()));
            let part = list["parts"].as_array().unwrap().iter().find(|part| part["id"] == *id);
            let key = row["dimension"].as_str().unwrap();
            let Some(value) = part.unwrap()["dimensions"][key]["value"]["nm"].as_i64() else {
                continue;
            };
            assert!(row["from"]["nm"].as_i64().is_none_or(|from| value >= from), "{row}");
            assert!(row["to"]["nm"].as_i64().is_none_or(|to| value <= to), "{row}");
        }
    }
    let table = program.answer("cure tight-slate");
    assert!(table.contains("\n  flywheel in the catalog: FW-S0900\n"), "{table}");
}
