//! Columns of the shop's own: kept, shown, searched and carried, and never computed with.

use crate::program::Program;

#[test]
fn a_column_of_the_shops_own_is_kept_shown_searched_and_taken_back() {
    let program = Program::demo();
    let fit = program.run("fit tight-slate").out;
    program.check(
        "part edit FW-S1000 own_shelf=B3 Own_Supplier='Demo Foundry' own_cost=12.50",
        0,
        "changed the part FW-S1000\n",
        "",
    );
    assert_eq!(program.run("fit tight-slate").out, fit, "nothing is computed with it");
    let shown = program.answer("part show FW-S1000");
    for line in ["own_cost                    12.50", "own_supplier                Demo Foundry"] {
        assert!(shown.lines().any(|found| found == line), "{line}\n{shown}");
    }
    let ids = |line: &str| {
        let json = program.json(&format!("part list {line} --format json"));
        let parts = json["parts"].as_array().unwrap().iter();
        parts.map(|part| part["id"].as_str().unwrap().to_string()).collect::<Vec<_>>()
    };
    assert_eq!(ids("own_shelf=b3"), ["FW-S1000"]);
    assert_eq!(ids("own_shelf=B4"), Vec::<String>::new());
    assert_eq!(ids("own_supplier=foundry own_shelf=B"), ["FW-S1000"]);
    assert_eq!(ids("12.50"), ["FW-S1000"], "by words too");
    assert!(!ids("--kind flywheel own_shelf=").contains(&"FW-S1000".into()));
    assert_eq!(
        program.json("part show FW-S1000 --format json")["own"],
        serde_json::json!({"cost": "12.50", "shelf": "B3", "supplier": "Demo Foundry"})
    );
    let list = program.answer("part list --kind flywheel --show own_shelf,thickness");
    let row = list.lines().find(|line| line.contains("FW-S1000")).unwrap();
    assert!(list.contains("shelf") && row.trim_end().ends_with("B3"), "{list}");
    let csv = program.answer("part list own_shelf=B3 --format csv");
    assert!(csv.lines().next().unwrap().ends_with("own_cost,own_shelf,own_supplier"), "{csv}");
    assert!(csv.ends_with("12.50,B3,Demo Foundry\n"), "{csv}");

    program.answer("part edit FW-S1000 own_shelf= own_cost=13");
    let history = program.answer("history --part FW-S1000");
    assert!(history.contains("own_cost: 12.50 -> 13, own_shelf: B3 -> (blank)"), "{history}");
    program.answer("undo");
    assert_eq!(program.answer("part show FW-S1000"), shown);
    program.answer("undo");
    assert!(!program.answer("part show FW-S1000").contains("own_"));
}

#[test]
fn own_columns_are_carried_by_csv_and_workbooks() {
    let program = Program::demo();
    program.answer("part edit FW-S1000 own_shelf='B3, above'");
    program.answer("part edit FW-S0900 own_photo='pictures/a.png'");
    program.answer("part edit DS-S330 own_shelf=C1");
    let flywheels = program.answer("export --kind flywheels");
    assert!(flywheels.lines().next().unwrap().ends_with(",own_photo,own_shelf"), "{flywheels}");
    assert!(flywheels.contains(",\"B3, above\"\n"), "{flywheels}");
    assert!(!program.answer("export --kind discs").contains("own_photo"));
    assert!(!program.answer("export --kind bearings").contains("own_"));
    let all = program.answer("export");
    let file = program.file("parts.csv", &all);
    let other = Program::new();
    other.answer(&format!("import '{file}'"));
    assert_eq!(other.answer("export"), all);
    let book = program.dir().join("shop.xlsx").display().to_string();
    program.run(&format!("export --format xlsx --out '{book}'"));
    let third = Program::new();
    third.run(&format!("import '{book}' --agree all"));
    assert_eq!(
        third.answer("export --kind flywheels --units mm"),
        program.answer("export --kind flywheels --units mm")
    );
}

#[test]
fn a_sheets_own_headings_may_be_kept_as_columns_of_the_shops_own() {
    let program = Program::new();
    let sheet =
        program.file("flywheels.csv", "id,thickness,Whereabouts\nF-1,1.000 in,B3\nF-2,1.100 in,\n");
    let ran = program.run(&format!("import '{sheet}'"));
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("`own_NAME` keeps one of the shop's own"), "{}", ran.err);
    let headings = program.file(
        "headings.toml",
        "[columns]\n\"id\" = \"id\"\n\"thickness\" = \"thickness\"\n\"Whereabouts\" = \"own_shelf\"\n",
    );
    program.answer(&format!("import '{sheet}' --headings '{headings}'"));
    assert!(program.answer("part show F-1").contains("own_shelf                   B3\n"));
    assert!(!program.answer("part show F-2").contains("own_"));
    // What a sheet has no column for stays, unless a row is all there is to know.
    let sheet = program.file("flywheels.csv", "id,price\nF-1,10\n");
    program.answer(&format!("import '{sheet}'"));
    assert!(program.answer("part show F-1").contains("own_shelf"));
    program.answer(&format!("import '{sheet}' --replace"));
    assert!(!program.answer("part show F-1").contains("own_shelf"));
}

#[test]
fn a_column_of_the_shops_own_needs_a_name_and_parts_alone_have_them() {
    let program = Program::demo();
    for line in [
        "part edit FW-S1000 own_=x",
        "part edit FW-S1000 own_a.b=x",
        "job edit tight-slate own_shelf=B3",
        "part edit FW-S1000 own_shelf=1 own_shelf=2",
    ] {
        assert_eq!(program.run(line).status, 2, "{line}");
    }
    assert!(!program.answer("part show FW-S1000").contains("own_"));
    assert!(program.answer("part keys flywheel").contains("own_NAME"));
}
