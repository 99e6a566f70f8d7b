//! A command taken back: as if it had never been given, but for the record.

use std::fs;
use std::path::Path;

use crate::program::Program;

/// Everything that the catalog holds but its history, as exported files.
fn state(program: &Program) -> Vec<(String, String)> {
    let out = program.dir().join("state");
    let _ = fs::remove_dir_all(&out);
    program.answer(&format!("export --units mm --out '{}'", out.display()));
    let read = |path: &Path| fs::read_to_string(path).unwrap();
    let entries = fs::read_dir(&out).unwrap().map(|entry| entry.unwrap().path());
    let mut files: Vec<(String, String)> = entries
        .map(|path| (path.file_name().unwrap().to_str().unwrap().into(), read(&path)))
        .collect();
    files.sort();
    files.push(("house".into(), program.answer("window show --units mm")));
    files
}

fn sheets(program: &Program) -> String {
    let parts = program.file(
        "flywheels.csv",
        "id,kind,price,thickness,thickness_tol_in,cover_step,crank_pattern,on_hand\n\
         FW-S1000,flywheel,99.50,0.990 in,0.001,0.250 in recessed,six|eight,4\n\
         NEW-1,flywheel,,25.400001 mm,,,,0\n",
    );
    let pieces = program.file(
        "pieces.csv",
        "part,piece,condition,in_hand,notes\nNEW-1,A,new,yes,\nFW-S1000,B,used,no,\"sold, to Kim\"\n",
    );
    let readings = program.file(
        "readings.csv",
        "part,piece,dimension,value,bar,instrument,by,date,struck\n\
         NEW-1,A,thickness,1.251 1.2505 1.252 in,1/4 in,caliper-0.02,Kim,2026-02-03,\n\
         NEW-1,A,cover_step,0.020 in recessed,,,Lou,,over burrs\n\
         FW-S1000,B,thickness,25.400001 mm,,,,,\n",
    );
    let jobs = program.file(
        "jobs.csv",
        "job,flywheel,torque,finger_depth,finger_depth_bar,crank_protrusion,preload_min,starter_on\n\
         tight-slate,NEW-1#A,450.5,3.260 in,1/4 in,0.020 in recessed,0.6 in,bell\n\
         new-job,NEW-1,,,,,,\n",
    );
    format!("import --agree prices '{parts}' '{pieces}' '{readings}' '{jobs}'")
}

#[test]
fn every_kind_of_command_is_taken_back_and_done_again_to_the_nanometre() {
    let program = Program::demo();
    program.answer("piece add BP-S060#X condition=new");
    program.answer("reading add BP-S060#X thickness 0.0601 0.0602 in --by Kim --date 2026-02-03");
    program.answer("part add flywheel OLD thickness='1.1 in' thickness_tol='0.001 in'");
    program.answer("piece add OLD#1 condition=machined notes=spare");
    let import = sheets(&program);
    for line in [
        import.as_str(),
        "part add flywheel F-1 thickness='1.2 in' thickness_bar='1/4 in' cover_step='0.1 in recessed'",
        "part edit FW-S1000 thickness='1.3 in' thickness_bar='1/4 in' notes='a, \"b\"' price=",
        "part edit FW-S1000 cover_step='0.1 in recessed' cover_step_tol='0.01 in'",
        "part retire FW-S1000 DS-S330",
        "part remove OLD",
        "job add another engine=ENG-S1 finger_depth='3.2 in' finger_depth_bar='1/4 in'",
        "job edit tight-slate clutch_height= torque=300 flywheel=FW-S0900",
        "job remove tight-slate worn-slate",
        "window set reserve_margin='0.06 in' currency=EUR preload_min='0.55 in'",
        "window set --job tight-slate preload_min='0.6 in'",
        "piece add BP-S060#Y condition=used notes=thin",
        "piece edit BP-S060#X condition=machined",
        "piece gone BP-S060#X",
        "reading add BP-S060#X thickness 0.3101 0.3102 in --bar '1/4 in' --instrument caliper-0.02",
        "reading strike 1 --because 'over burrs'",
        "instrument add probe resolution='0.001 mm' limits='0.002 mm to 25 mm | 0.004 mm to 100 mm'",
        "instrument set caliper-0.02 resolution='0.01 mm'",
        "instrument remove caliper-0.05",
    ] {
        let before = state(&program);
        let ran = program.run(line);
        assert_eq!(ran.status, 0, "{line}: {}", ran.err);
        let after = state(&program);
        assert_ne!(before, after, "{line}");
        let told = program.answer("undo");
        assert!(told.starts_with("Took back command "), "{told}");
        assert_eq!(state(&program), before, "{line}");
        program.json("check --format json");
        let again = told.rsplit("`bellstack undo ").next().unwrap().split('`').next().unwrap();
        program.answer(&format!("undo {again}"));
        assert_eq!(state(&program), after, "{line}, done again");
        let again: i64 = again.parse().unwrap();
        program.answer(&format!("undo {}", again - 1));
        assert_eq!(state(&program), before, "{line}, taken back once more");
    }
}

#[test]
fn undo_goes_back_one_command_after_another_and_everything_is_on_record() {
    let program = Program::new();
    program.answer("part add flywheel F-1 thickness='1.000 in'");
    program.answer("part edit F-1 price=100");
    program.answer("part edit F-1 thickness='0.995 in'");
    let told = "\
Took back command 3 (1970-01-01T00:00:00Z, unknown: part edit F-1 'thickness=0.995 in'):
  part F-1, thickness: 0.995 in -> 1.000 in
`bellstack undo 4` does it again.
";
    program.check("undo", 0, told, "");
    assert!(program.answer("undo").contains("Took back command 2 "));
    assert!(program.answer("undo").contains("part F-1 removed; it had kind flywheel"));
    assert_eq!(program.answer("part list"), "No part is listed.\n");
    program.refuses("undo", 2, "error: there is no command to take back\n");
    program.refuses(
        "undo 3",
        2,
        "error: command 3 was taken back by command 4\n  hint: `undo 4` does it again\n",
    );
    program.refuses(
        "undo 70",
        2,
        "error: there is no command 70 on record\n  hint: `history` shows their numbers\n",
    );
    let history = program.answer("history");
    assert!(history.contains("part edit F-1 price=100 (taken back by 5)\n"), "{history}");
    assert!(history.contains("6. 1970-01-01T00:00:00Z, unknown: undo\n"), "{history}");
    let json = program.json("history --format json");
    assert_eq!(
        (&json["changes"][2]["number"], &json["changes"][2]["taken_back_by"]),
        (&3.into(), &4.into())
    );
    // Done again in the order in which it was done.
    for (again, told) in
        [(6, "part F-1 added"), (5, "price: (blank) -> 100.00"), (4, "1.000 in -> 0.995 in")]
    {
        assert!(program.answer(&format!("undo {again}")).contains(told), "{again}");
    }
    assert!(program.answer("part show F-1").contains("0.995 in"));
}

#[test]
fn a_command_on_which_later_changes_stand_is_not_taken_back_and_they_are_named() {
    let program = Program::new();
    for line in [
        "part add flywheel F-1 thickness='1.000 in'",
        "part edit F-1 thickness='0.995 in' price=100",
        "part edit F-1 thickness='0.990 in'",
        "piece add F-1#A condition=new",
        "reading add F-1#A thickness 1.001 in",
        "job add car flywheel='F-1#A'",
        "part edit F-1 notes=seen",
        "instrument add probe resolution='0.01 mm'",
        "reading add F-1#A thickness 1.002 in --instrument probe",
        "job edit car torque=300",
        "part retire F-1",
        "part restore F-1",
    ] {
        program.answer(line);
    }
    let refused = |line: &str, told: &[&str]| {
        let history = program.answer("history");
        let ran = program.run(line);
        assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{line}");
        for told in told {
            assert!(ran.err.contains(told), "{line}: {}", ran.err);
        }
        assert_eq!(program.answer("history"), history, "{line} changed nothing");
    };
    let stands = "cannot be taken back: 1 later command stands on it: command";
    refused(
        "undo 2",
        &[&format!("command 2 {stands} 3 (`part edit F-1 'thickness=0.990 in'`)"), "`undo 3`"],
    );
    refused(
        "undo 4",
        &["command 4 cannot", "`reading add F-1#A thickness 1.001 in`", "job add car"],
    );
    refused("undo 6", &[&format!("command 6 {stands} 10 (`job edit car torque=300`)")]);
    refused(
        "undo 8",
        &[&format!(
            "command 8 {stands} 9 (`reading add F-1#A thickness 1.002 in --instrument probe`)"
        )],
    );
    refused("undo 11", &[&format!("command 11 {stands} 12")]);
    let all = program.run("undo 1");
    assert!(
        all.err.contains("command 1 cannot be taken back: 10 later commands stand on it"),
        "{}",
        all.err
    );
    // What touches another field, or was itself taken back, is no hindrance.
    program.answer("undo 7");
    program.answer("undo 3");
    assert!(program.answer("undo 2").contains("thickness: 0.995 in -> 1.000 in"));
    for command in [12, 11, 10, 9, 8, 6, 5, 4, 1] {
        program.answer(&format!("undo {command}"));
    }
    assert_eq!(program.answer("part list"), "No part is listed.\n");
    assert_eq!(program.answer("reading list"), "No reading is listed.\n");
}

#[test]
fn the_number_of_a_reading_that_was_taken_back_is_not_given_to_another_one() {
    let program = Program::new();
    program.answer("part add flywheel F-1 thickness='1.000 in'");
    program.answer("piece add F-1#A condition=new");
    program.answer("reading add F-1#A thickness 1.001 in");
    program.answer("undo");
    let told = program.answer("reading add F-1#A thickness 1.002 in");
    assert!(told.starts_with("added reading 2: "), "{told}");
    program.answer("undo 4");
    let list = program.answer("reading list");
    assert!(list.contains("1.001") && list.contains("1.002"), "{list}");
}

#[test]
fn what_is_unusual_is_taken_back_and_done_again_without_a_question() {
    let program = Program::new();
    program.answer("part add flywheel F-1 thickness='28 in' --unusual all");
    program.answer("part edit F-1 thickness='1 in'");
    program.answer("undo");
    assert!(program.answer("part show F-1").contains("28.000 in"));
    program.answer("part remove F-1");
    program.answer("undo");
    assert!(program.answer("part show F-1").contains("28.000 in"));
}
