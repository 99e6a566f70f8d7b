//! However much is wrong with a file, what is told of it has an end, and comes.

use crate::program::Program;

#[test]
fn a_million_columns_are_one_mistake() {
    let program = Program::new();
    let header: Vec<String> = (0..1_000_000).map(|column| format!("column {column}")).collect();
    let file = program.file("flywheels.csv", &(header.join(",") + "\n"));
    let ran = program.run_args(&["import", &file]);
    assert_eq!(ran.status, 2);
    let told = format!(
        "error: nothing was stored: {file} line 1: the header has 1000000 columns; a file may have \
         5000; is the separator another one?\n"
    );
    assert_eq!(ran.err, told);
}

#[test]
fn thousands_of_unknown_columns_are_told_in_a_few_lines() {
    let program = Program::new();
    let header: Vec<String> = (0..4000).map(|column| format!("thicknes {column}")).collect();
    let file = program.file("flywheels.csv", &format!("id,{}\n", header.join(",")));
    let ran = program.run_args(&["import", &file]);
    assert_eq!((ran.status, ran.err.lines().count()), (2, 8), "{}", ran.err);
    assert!(
        ran.err.contains("column `thicknes 0`: this column is not known; did you mean `thickness")
    );
    assert!(
        ran.err.contains("line 1: and 3995 more in this row\n  hint: at a terminal"),
        "{}",
        ran.err
    );
}

#[test]
fn a_cell_of_a_megabyte_is_quoted_by_its_ends() {
    let program = Program::new();
    let cell = format!("begin{}end", "x".repeat(1_000_000));
    let file = program.file("flywheels.csv", &format!("id,thickness\nF-1,{cell}\n"));
    let ran = program.run_args(&["import", &file]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.len() < 1500, "{}", ran.err.len());
    assert!(ran.err.contains("`begin") && ran.err.contains(" characters) ..."), "{}", ran.err);
    // The same where nobody wrote a file: a command line says it too.
    let ran = program.run_args(&["part", "add", "flywheel", "F-1", &format!("thickness={cell}")]);
    assert!(ran.status == 2 && ran.err.len() < 2500, "{}", ran.err.len());
    let ran = program.run_args(&["part", "show", &cell]);
    assert!(ran.status == 3 && ran.err.len() < 1500, "{}", ran.err.len());
    program.answer("part add flywheel F-1");
    let ran = program.run_args(&["part", "show", &cell]);
    assert!(ran.status == 2 && ran.err.len() < 1500, "{}", ran.err.len());
}

#[test]
fn every_bad_row_is_counted_and_listed_where_asked() {
    let parts: Vec<String> = (0..300).map(|number| format!("F-{number}\n")).collect();
    let program = Program::holding("flywheels.csv", &format!("id\n{}", parts.concat()));
    let jobs: Vec<String> = (0..300).map(|number| format!("J-{number},G-{number}\n")).collect();
    let jobs = program.file("jobs.csv", &("job,flywheel\n".to_string() + &jobs.concat()));
    let list = program.dir().join("wrong.csv").display().to_string();
    let ran = program.run_args(&["import", &jobs, "--problems", &list]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.starts_with("error: nothing was stored: 300 bad rows\n"), "{}", ran.err);
    assert!(ran.err.contains("there is no flywheel `G-0` in the catalog; did you mean `F-0`?"));
    let told = format!("  and 280 more bad rows\n  hint: all are listed in `{list}`\n");
    assert!(ran.err.ends_with(&told), "{}", ran.err);
    let text = std::fs::read_to_string(&list).unwrap();
    assert_eq!(text.lines().count(), 301);
    assert!(text.starts_with("file,line,column,problem,hint\n"), "{text}");
    let ending = format!(
        "{jobs},301,flywheel,there is no flywheel `G-299` in the catalog,did you mean `F-299`?\n"
    );
    assert!(text.ends_with(&ending), "{}", &text[text.len() - 200..]);
    assert!(program.answer("job list").contains("no job"));

    let ran = program.run_args(&["import", &jobs, "--problems", &list]);
    assert!(ran.err.contains("wrong.csv` is there already"), "{}", ran.err);
    assert_eq!(std::fs::read_to_string(&list).unwrap(), text);
}

#[test]
fn what_the_same_import_adds_is_found_and_asked_after() {
    let program = Program::new();
    program.answer("part add flywheel A-1");
    program.answer("instrument add height-gauge");
    let parts = program.file("flywheels.csv", "id\nNEW-1\nNEW-2\n");
    let pieces =
        "part,piece,condition\nXEW-1,1,new\nNEW-1,1,new\nA-2,1,new\nXEW-2,1,new\nNEW-2,1,new\n";
    let pieces = program.file("pieces.csv", pieces);
    let instruments = program.file("instruments.csv", "instrument\nknife-edge\n");
    let readings = "part,piece,dimension,value,instrument\n\
                    XEW-1,1,thickness,1 in,\nNEW-1,1,thickness,1 in,knife-edg\n\
                    NEW-2,1,thickness,1 in,knife-edge\n";
    let readings = program.file("readings.csv", readings);
    let jobs = "job,flywheel,set_aside\nJ-1,A-2,\nJ-2,XEW-2,NEW-1#1\nJ-3,NEW-1#1,NEW-1#2\n";
    let jobs = program.file("jobs.csv", jobs);
    let ran = program.run_args(&[
        "import",
        &jobs,
        &readings,
        &instruments,
        &pieces,
        &parts,
        "--agree",
        "all",
    ]);
    assert_eq!(ran.status, 2);
    for (file, line, told) in [
        (
            &pieces,
            2,
            "column `part`: there is no part `XEW-1` in the catalog; did you mean `NEW-1`?",
        ),
        (&pieces, 4, "column `part`: there is no part `A-2` in the catalog; did you mean `A-1`?"),
        (
            &pieces,
            5,
            "column `part`: there is no part `XEW-2` in the catalog; did you mean `NEW-2`?",
        ),
        (
            &readings,
            2,
            "column `part`: there is no part `XEW-1` in the catalog; did you mean `NEW-1`?",
        ),
        (
            &readings,
            3,
            "column `instrument`: there is no instrument `knife-edg` in the catalog; did \
                        you mean `knife-edge`?",
        ),
        (
            &jobs,
            2,
            "column `flywheel`: there is no flywheel `A-2` in the catalog; did you mean `A-1`?",
        ),
        (
            &jobs,
            3,
            "column `flywheel`: there is no flywheel `XEW-2` in the catalog; did you mean \
                    `NEW-2`?",
        ),
        (
            &jobs,
            4,
            "column `set_aside`: there is no piece `NEW-1#2` in the catalog; did you mean \
                    `NEW-1#1`?",
        ),
    ] {
        assert!(ran.err.contains(&format!("{file} line {line} {told}\n")), "{line} {}", ran.err);
    }
    assert!(ran.err.starts_with("error: nothing was stored: 8 bad rows\n"), "{}", ran.err);
}
