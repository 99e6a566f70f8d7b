//! The sheet: what stands on it, and what it must never hold.

use crate::program::{Program, Ran};

/// The text of a page, without its markup and its style.
fn text(html: &str) -> String {
    let body = html.split_once("<body").unwrap().1;
    let body = body.split_once('>').unwrap().1;
    let mut text = String::new();
    let mut inside = false;
    for c in body.chars() {
        match c {
            '<' => inside = true,
            '>' => {
                inside = false;
                text.push(' ');
            }
            c if !inside => text.push(c),
            _ => {}
        }
    }
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn assert_alone(html: &str) {
    for word in ["<script", "http://", "https://", "<link", "<img", "@import", "<iframe", "onload="]
    {
        let without_names = html.replace("http://www.w3.org/2000/svg", "");
        assert!(!without_names.contains(word), "a sheet holds no {word}");
    }
    for id in html.split(" id=\"").skip(1).filter_map(|rest| rest.split('"').next()) {
        assert_eq!(html.matches(&format!(" id=\"{id}\"")).count(), 1, "{id} is there once");
    }
}

fn sheet(program: &Program, line: &str, status: u8) -> String {
    let Ran { status: found, out, err } = program.run(&format!("sheet {line}"));
    assert_eq!((found, err.as_str()), (status, ""), "`sheet {line}`");
    assert_alone(&out);
    text(&out)
}

#[test]
fn the_sheet_says_what_fit_says() {
    let program = Program::demo();
    let shown = sheet(&program, "tight-slate", 1);
    let fit = program.run("fit tight-slate").out;
    let verdict = "the wear reserve is 0.061 in short of the least 0.170 in, set by the clutch&#39;s own data";
    assert!(fit.contains("the wear reserve is 0.061 in short of the least 0.170 in"), "{fit}");
    for words in [
        "Out of its window:",
        "Preload 0.835 in, wear reserve 0.115 in, travel 0.950 in",
        "job.clutch_height job 2.9050 0.0020 +2.9050 -2.9050",
        "sum +0.8350 +0.1150",
        "least wear reserve 0.1700 clutch -0.0610",
        "clutch: release travel 0.450 + margin 0.100",
        "To buy Nothing.",
        "Measured again after assembly",
        "signature",
        "customer",
        "Support vehicle and gearbox",
    ] {
        assert!(shown.contains(words), "{words} in {shown}");
    }
    assert!(shown.contains(verdict) || shown.contains(&verdict.replace("&#39;", "'")), "{shown}");
}

#[test]
fn a_cure_is_a_sheet_with_what_to_buy_and_the_limits_to_accept_it_in() {
    let program = Program::demo();
    let cures = program.json("cure tight-slate --top 10000 --format json");
    let stacks = cures["stacks"].as_array().unwrap();
    let thinner = |stack: &serde_json::Value| {
        let changes = stack["change"].as_array().unwrap();
        changes.len() == 1 && changes[0]["to"] == "FW-S0900"
    };
    let at = stacks.iter().position(thinner).unwrap() + 1;
    let row = sheet(&program, &format!("tight-slate --cure {at}"), 0);
    assert_eq!(row, sheet(&program, "tight-slate --with flywheel=FW-S0900", 0));
    for words in [
        "In its window: sure",
        "in place of FW-S1000, 0.100 in thinner",
        "1 x FW-S0900 (flywheel), 395.00 USD each, 9 days",
        "In all 395.00 USD.",
        "Accept on arrival",
    ] {
        assert!(row.contains(words), "{words} in {row}");
    }
    let beyond = stacks.len() + 1;
    let ran = program.run(&format!("sheet tight-slate --cure {beyond}"));
    let told = format!("error: `--cure {beyond}`: `cure tight-slate` has {} rows\n", stacks.len());
    assert!(ran.status == 2 && ran.err.starts_with(&told), "{}", ran.err);
}

#[test]
fn cautions_of_the_answer_come_before_the_drawing() {
    let program = Program::demo();
    let out = program.run("sheet tight-slate --with bell_spacer=BS-S100").out;
    let (caution, drawing) = (out.find("plate or spacer comes in"), out.find("<svg"));
    assert!(caution.is_some_and(|at| at < drawing.unwrap()), "{}", text(&out));
}

#[test]
fn ways_that_disagree_are_told_on_the_sheet() {
    let shown = sheet(&Program::demo(), "unsure-amber --units mm", 0);
    assert!(
        shown.contains("Cross-check, finger tips: by finger depth as measured 73.70 mm"),
        "{shown}"
    );
    assert!(shown.contains("they cannot both be right. It would be explained by"), "{shown}");
}

#[test]
fn the_blank_sheet_asks_for_every_reading() {
    let program = Program::demo();
    let shown = sheet(&program, "short-slate --blank", 0);
    let order = [
        "1. finger depth",
        "2. crank protrusion",
        "3. clutch height",
        "4. fitted disc thickness",
        "5. bearing depth extended",
        "6. bearing depth retracted",
    ];
    let places: Vec<usize> = order.iter().map(|name| shown.find(name).unwrap()).collect();
    assert!(places.is_sorted(), "{shown}");
    assert!(shown.contains("over the block plate") && shown.contains("over a bar"), "{shown}");
    // The crank of this engine is recessed, and the drawing is the one for that.
    assert!(shown.contains("crank protrusion, recessed"), "{shown}");
    assert!(sheet(&program, "tight-slate --blank", 0).contains("crank protrusion, proud"));
    program.refuses(
        "sheet tight-slate --blank --cure 1",
        2,
        "error: the argument '--blank' cannot be used with '--cure <N>'\n\nUsage: bellstack sheet \
         --blank <JOB>\n\nFor more information, try '--help'.\n",
    );
}

#[test]
fn a_sheet_is_written_into_a_file_where_one_is_named() {
    let program = Program::demo();
    let path = program.dir().join("fit sheet.html");
    let ran = program.run(&format!("sheet worn-slate --units mm --out '{}'", path.display()));
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    assert!(ran.out.contains("fit sheet.html"), "{}", ran.out);
    let written = std::fs::read_to_string(&path).unwrap();
    assert_eq!(written, program.run("sheet worn-slate --units mm").out);
    assert!(text(&written).contains(" mm"), "lengths are in the reader's unit");
    let nowhere = program.dir().join("no such folder").join("x.html");
    let ran = program.run(&format!("sheet worn-slate --out '{}'", nowhere.display()));
    assert_eq!(ran.status, 3);
    assert!(ran.err.contains("could not be written"), "{}", ran.err);
}

#[test]
fn names_from_outside_stay_text() {
    let program = Program::demo();
    let evil = "<script>alert(1)</script>\u{1b}[2J&\"'";
    let ran = program.run_args(&["job", "edit", "tight-slate", &format!("description={evil}")]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    for line in ["sheet tight-slate", "sheet tight-slate --blank"] {
        let out = program.run(line).out;
        assert!(!out.contains("<script") && !out.contains('\u{1b}'), "{line}");
        assert!(out.contains("&lt;script&gt;"), "{line}");
    }
}
