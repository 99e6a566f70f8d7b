//! The library, the jobs and the house numbers by hand, and CSV in and out.

use crate::program::{Program, demo_files};

#[test]
fn a_part_is_added_shown_changed_retired_and_removed() {
    let program = Program::new();
    program.check(
        "part add flywheel FW-1 thickness='1.000 in' thickness_tol='0.002 in' price=310 on_hand=1 \
         crank_pattern=six",
        0,
        "added the part FW-1\n",
        "",
    );
    let shown = program.answer("part show FW-1");
    for line in [
        "flywheel FW-1",
        "price                       310.00 USD",
        "on_hand                     1",
        "lead_days                   unknown",
        "status                      in use",
        "thickness                   1.000 in +- 0.002 in",
        "cover_step                  flat (blank)",
        "min_thickness               unknown",
        "crank_pattern               six",
        "cover_pattern               unknown",
    ] {
        assert!(shown.lines().any(|found| found == line), "{line}\n{shown}");
    }
    let shown = program.answer("part show FW-1 --units mm");
    assert!(shown.contains("thickness                   25.40 mm +- 0.0508 mm\n"), "{shown}");
    program.check(
        "part edit FW-1 price= notes='on the top shelf'",
        0,
        "changed the part FW-1\n",
        "",
    );
    let shown = program.answer("part show FW-1");
    assert!(shown.contains("price                       unknown\n"), "{shown}");
    assert!(shown.contains("notes                       on the top shelf\n"), "{shown}");
    program.check("part retire FW-1", 0, "retired FW-1\n", "");
    program.check("part retire FW-1", 0, "FW-1 was retired already\n", "");
    let list = program.answer("part list");
    assert_eq!(
        list,
        "No part is listed.\n1 retired part not shown: `bellstack part list --retired`.\n"
    );
    assert!(program.answer("part list --retired").contains("FW-1"));
    program.check("part restore FW-1", 0, "FW-1 is in use again\n", "");
    program.check("part remove FW-1", 0, "removed FW-1\n", "");
    assert_eq!(program.run("part show FW-1").status, 2);
}

#[test]
fn a_part_that_lacks_what_a_stack_needs_says_so() {
    let program = Program::new();
    let ran = program.run("part add pressure_plate PP-1 finger_ratio=5.6");
    assert_eq!(ran.status, 0);
    assert!(ran.err.contains("\nwarning: "), "{}", ran.err);
    assert!(program.answer("part show PP-1").contains("unknown: needed in a stack"));
    program.answer("part add disc DS-1 free_thickness='0.37 in' cushion='0.04 in'");
    assert!(program.answer("part show DS-1").contains("unknown: taken from the dimensions below"));
    let list = program.answer("part list --kind pressure_plates");
    assert!(list.contains("finger_height") && !list.contains("DS-1"), "{list}");
}

#[test]
fn several_parts_are_retired_together_or_not_at_all() {
    let program = Program::new();
    program.answer("part add engine E-1");
    program.answer("part add engine E-2");
    assert_eq!(program.run("part retire E-1 E-3").status, 2);
    assert!(program.answer("part show E-1").contains("in use"));
    program.check("part retire E-1 E-2", 0, "retired E-1\nretired E-2\n", "");
}

#[test]
fn a_part_names_the_jobs_that_name_it() {
    let program = Program::demo();
    let shown = program.answer("part show PP-S190");
    assert!(shown.contains("named by the jobs           tight-slate, worn-slate\n"), "{shown}");
}

#[test]
fn a_job_is_added_shown_changed_and_removed() {
    let program = Program::demo();
    program.check(
        "job add mine engine=ENG-S1 flywheel=FW-S1000 bearing_shims='SH-S030|SH-S060' \
         clutch_height='2.905 in' clutch_height_tol='0.002 in' fitted_disc_state=new",
        0,
        "added the job mine\n",
        "",
    );
    let shown = program.answer("job show mine");
    for line in [
        "bearing_shims               SH-S030|SH-S060",
        "disc                        (blank)",
        "clutch_height               2.905 in +- 0.002 in",
        "finger_depth                not measured",
        "fitted_disc_state           new",
        "torque                      unknown",
        "preload_min                 not set by the job",
    ] {
        assert!(shown.lines().any(|found| found == line), "{line}\n{shown}");
    }
    program.check("job edit mine torque=500 flywheel=", 0, "changed the job mine\n", "");
    assert!(program.answer("job show mine").contains("torque                      500 N m\n"));
    assert!(program.answer("job list").contains("9 jobs."));
    program.check("job remove mine", 0, "removed the job mine\n", "");
    assert!(program.answer("job list").contains("8 jobs."));
}

#[test]
fn house_numbers_are_shown_changed_and_taken_back() {
    let program = Program::demo();
    let all = program.answer("window show");
    for key in [
        "preload_min",
        "stroke_margin",
        "lost_motion",
        "assumed.job",
        "assumed.flywheel.thickness",
        "currency",
    ] {
        assert!(all.contains(&format!(" {key} ")), "{key}\n{all}");
    }
    assert!(all.contains("0 numbers changed by the shop"), "{all}");
    program.check(
        "window set stroke_margin='0.12 in' currency=EUR preload_min='0.65 in'",
        0,
        "preload_min is 0.650 in\nstroke_margin is 0.120 in\ncurrency is EUR\n",
        "",
    );
    let all = program.answer("window show");
    assert!(all.contains("3 numbers changed by the shop"), "{all}");
    let line = all.lines().find(|line| line.contains(" stroke_margin ")).unwrap();
    assert!(line.starts_with('*') && line.contains("0.120 in"), "{line}");
    let fit = program.json("fit tight-slate --format json");
    assert_eq!(fit["window"]["set_by"]["preload_min"], "shop");
    assert_eq!(fit["window"]["preload_min"]["in"], 0.65);
    assert_eq!(fit["to_buy"]["currency"], "EUR");
    program.check("window set stroke_margin=", 0, "stroke_margin is 0.100 in (the default)\n", "");
}

#[test]
fn a_jobs_own_window_overrides_the_shops() {
    let program = Program::demo();
    program.answer("window set preload_min='0.65 in'");
    let shown =
        program.answer("window set --job tight-slate preload_min='0.66 in' reserve_max='0.5 in'");
    assert_eq!(shown, program.answer("window show --job tight-slate"));
    assert!(shown.contains("preload_min                 0.660 in\n"), "{shown}");
    let fit = program.json("fit tight-slate --format json");
    assert_eq!(fit["window"]["set_by"]["preload_min"], "job");
    assert_eq!(fit["window"]["reserve_max"]["in"], 0.5);
    assert!(fit["edges"]["reserve_max"]["room"]["nm"].is_i64());
    program.answer("window set --job tight-slate preload_min=");
    let fit = program.json("fit tight-slate --format json");
    assert_eq!(fit["window"]["set_by"]["preload_min"], "shop");
}

#[test]
fn export_gives_back_what_import_took() {
    let program = Program::demo();
    let directory = program.dir().join("out");
    let told = program.answer(&format!("export --out '{}'", directory.display()));
    // The demo's own files, the instruments with which every catalog begins and the house numbers; and
    // what does not travel.
    assert_eq!(told.lines().count(), demo_files().len() + 3, "{told}");
    let other = Program::new();
    let files: Vec<String> = std::fs::read_dir(&directory)
        .unwrap()
        .map(|entry| format!("'{}'", entry.unwrap().path().display()))
        .collect();
    other.answer(&format!("import {}", files.join(" ")));
    for kind in ["flywheel", "pressure_plates", "bearing_shim", "jobs"] {
        let line = format!("export --kind {kind}");
        assert_eq!(program.answer(&line), other.answer(&line));
    }
    assert_eq!(program.answer("export"), other.answer("export"));
    let again = other.answer(&format!("import {}", files.join(" ")));
    assert!(again.contains("parts: 0 added, 0 updated, 68 unchanged"), "{again}");
}

#[test]
fn a_dry_run_stores_nothing_and_replace_blanks() {
    let program = Program::new();
    let file = program.file("engines.csv", "id,crank_protrusion_in,notes\nE-1,0.040,first\n");
    let told = program.answer(&format!("import --dry-run '{file}'"));
    assert!(told.contains("1 added") && told.contains("Nothing was stored"), "{told}");
    assert!(!program.catalog().exists());
    program.answer(&format!("import '{file}'"));
    let file = program.file("engines.csv", "id,crank_protrusion_in\nE-1,0.050\n");
    program.answer(&format!("import '{file}'"));
    assert!(program.answer("part show E-1").contains("first"));
    program.answer(&format!("import --replace '{file}'"));
    assert!(!program.answer("part show E-1").contains("first"));
    let file = program.file("more.csv", "id,crank_protrusion_in\nE-2,0.050\n");
    assert_eq!(program.run(&format!("import '{file}'")).status, 2);
    program.answer(&format!("import --kind engine '{file}'"));
}

#[test]
fn templates_have_every_column_and_overwrite_nothing() {
    let program = Program::new();
    let directory = program.dir().join("mine");
    let line = format!("export --templates --out '{}'", directory.display());
    let told = program.answer(&line);
    assert_eq!(told.lines().count(), 16, "{told}");
    let header = std::fs::read_to_string(directory.join("bearings.csv")).unwrap();
    assert!(header.contains("extended_height") && header.lines().count() == 1, "{header}");
    assert_eq!(program.run(&line).status, 2);
    let one = program.answer("export --templates --kind bearing");
    assert_eq!(one, header);
}

#[test]
fn keys_lists_columns_with_their_meaning() {
    let program = Program::new();
    let keys = program.answer("part keys bearing");
    assert!(keys.contains("extended_height"), "{keys}");
    let keys = program.answer("job keys");
    assert!(keys.contains("bearing_depth_extended"), "{keys}");
}

#[test]
fn the_demo_wants_a_catalog_of_its_own() {
    let program = Program::new();
    let file = program.dir().join("demo.db").display().to_string();
    let ran = program.run(&format!("--catalog '{file}' demo"));
    assert_eq!(ran.err, format!("a new catalog was made: {file}\n"));
    assert!(ran.out.contains(&format!("The demo catalog is in {file}.")), "{}", ran.out);
    assert!(!program.catalog().exists(), "--catalog says where the demo goes");
    let ran = program.run(&format!("--catalog '{file}' demo"));
    assert_eq!((ran.status, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("has parts or jobs already"), "{}", ran.err);
    assert!(program.answer(&format!("--catalog '{file}' job list")).contains("tight-"));
}

#[test]
fn the_demo_stays_where_the_environment_names_a_catalog_that_is_not_there_yet() {
    let program = Program::new();
    let told = program.answer("demo");
    let file = program.catalog().display().to_string();
    assert!(told.contains(&format!("The demo catalog is in {file}.")), "{told}");
    program.answer("part retire FW-S1000");
    // A catalog that is there is a shop's own: the demo leaves it alone.
    let before = std::fs::read(program.catalog()).unwrap();
    let told = program.answer("demo");
    assert!(told.contains("That catalog is gone again"), "{told}");
    assert!(before == std::fs::read(program.catalog()).unwrap());
}
