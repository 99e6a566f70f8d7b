//! Nothing that was typed, read from a file or kept in a catalog reaches a terminal as a command
//! to it.

use std::collections::BTreeSet;

use crate::program::{Program, words};

/// Escape sequences in one byte and in two, a bell, a backspace, a delete, a carriage return and
/// marks that turn the direction of writing.
const HOSTILE: &str =
    "x\u{1b}[31m\u{1b}]0;t\u{7}\u{8}\u{7f}\u{9b}2J\u{90}\r\u{202e}\u{2066}y\u{2069}";

/// What may stand in a name: its own rule refuses the control characters.
const TURNED: &str = "T\u{202e}1";

fn is_hostile(c: char) -> bool {
    let turns = matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    (c.is_control() && c != '\n' && c != '\t') || turns
}

/// The demo shop, with hostile text wherever a text has its place.
fn hostile_shop() -> Program {
    let program = Program::demo();
    let quoted = format!("\"{HOSTILE}\"");
    let parts: Vec<String> = ["FW-S1125", "FW-S0900", "PP-S200", "DS-S330", "BR-S95", "SP-S250"]
        .iter()
        .filter(|id| program.run(&format!("part show {id}")).status == 0)
        .map(|id| format!("{id},{quoted},{quoted},{quoted}\n"))
        .collect();
    assert!(parts.len() >= 3, "{parts:?}");
    let patterns = format!("id,kind,crank_pattern,thickness\n{TURNED},flywheel,{quoted},25 mm\n");
    let jobs = format!("job,description\ntight-slate,{quoted}\npaper-slate,{quoted}\n");
    let tools = format!("instrument,description,source\n{TURNED},{quoted},{quoted}\n");
    let pieces = format!("part,piece,condition,notes\nFW-S1000,{TURNED},new,{quoted}\n");
    let readings = format!(
        "part,piece,dimension,value,by,instrument\n\
         FW-S1000,{TURNED},thickness,1.001 1.002 in,{quoted},{TURNED}\n\
         FW-S1000,{TURNED},thickness,1.003 1.004 in,{quoted},{TURNED}\n"
    );
    let files = [
        ("parts.csv", format!("id,maker,description,notes\n{}", parts.concat())),
        ("flywheels.csv", patterns),
        ("jobs.csv", jobs),
        ("instruments.csv", tools),
        ("pieces.csv", pieces),
        ("readings.csv", readings),
    ];
    let files: Vec<String> = files.iter().map(|(name, text)| program.file(name, text)).collect();
    let args: Vec<&str> = ["import", "--agree", "faces"]
        .into_iter()
        .chain(files.iter().map(String::as_str))
        .collect();
    let ran = program.run_args(&args);
    assert_eq!(ran.status, 0, "{}", ran.err);
    program
}

/// Command lines; `{H}` stands for hostile text and `{T}` for a hostile name.
const LINES: &[&str] = &[
    "demo",
    "grades",
    "headings list",
    "headings show {T}",
    "headings remove {T}",
    "job take {T} --row 1 --dry-run",
    "job take {T} --cure 1",
    "import {H}.csv",
    "import bad.csv",
    "import bad.csv --kind {H}",
    "export",
    "export --kind flywheel",
    "export --out out",
    "export --kind {H}",
    "part list",
    "part list --kind {H}",
    "part list {H} --mates {T} --sort {H}",
    "part list {H}={H}",
    "part list --format csv --show thickness",
    "job list {H} description={H}",
    "job list --sort {H} --format json",
    "part show FW-S1125",
    "part show {T}",
    "part show {H}",
    "part add flywheel {T}2 notes={H}",
    "part add flywheel {H} notes={H}",
    "part edit {T} maker={H} crank_pattern={H}",
    "part edit {T} {H}={H} thickness={H}",
    "part retire {T}",
    "part restore {T}",
    "part remove {T}2",
    "part keys {H}",
    "part keys flywheel",
    "job list",
    "job show tight-slate",
    "job show {H}",
    "job add {T} description={H}",
    "job edit {T} fitted_disc_state={H} flywheel={H}",
    "job remove {T}",
    "job keys",
    "job edit tight-slate customer={H} contact={H} vehicle={H} notes={H}",
    "job edit tight-slate state={H} date={H}",
    "job list --customer {H}",
    "job list --customer x --format json",
    "job new {T}9",
    "job new tight-slate",
    "job new {H}",
    "job copy tight-slate {T}5 vehicle={H}",
    "part copy {T} {T}6 notes={H}",
    "part copy {H} {H}",
    "part edit {T} own_shelf={H} own_{H}=x",
    "part list own_shelf={H}",
    "part list --show own_shelf --format csv",
    "part rename {T}6 {T}7",
    "part show {T}6",
    "part rename {T} {H}",
    "part supersede {T}7 {T}",
    "part supersede {H} {H}",
    "part show {T} --format json",
    "job show tight-slate --format json",
    "piece list --format json",
    "reading list --format json",
    "instrument list --format json",
    "instrument show {T} --format json",
    "window show --format json",
    "headings list --format json",
    "completions bash",
    "completions {H}",
    "man bad.csv",
    "window show",
    "window show --job {H}",
    "window set {H}={H}",
    "window set currency={H}",
    "piece list",
    "piece add FW-S1000#{T}3 condition=new notes={H}",
    "piece edit FW-S1000#{T}3 notes={H}",
    "piece gone FW-S1000#{T}3",
    "piece back FW-S1000#{T}3",
    "piece remove FW-S1000#{T}3",
    "piece keys",
    "reading list",
    "reading list {H}",
    "reading add FW-S1000#{T} thickness 1.001 in --by {H} --instrument {H}",
    "reading add FW-S1000#{T} thickness {H}",
    "reading strike 1 --because {H}",
    "reading keys",
    "instrument list",
    "instrument show {T}",
    "instrument add {T}4 description={H}",
    "instrument set {T}4 source={H}",
    "instrument remove {T}4",
    "instrument keys",
    "measure FW-S1000#{T}",
    "measure FW-S1000",
    "fit tight-slate",
    "fit tight-slate --format json",
    "fit tight-slate --with flywheel={H}",
    "fit tight-slate --format svg",
    "sheet tight-slate",
    "sheet tight-slate --cure 1",
    "sheet tight-slate --blank",
    "sheet {H}",
    "recommend paper-slate --on-hand",
    "recommend paper-slate --on-hand --format json",
    "recommend paper-slate --on-hand --format csv",
    "recommend paper-slate --skip {H}",
    "cure tight-slate",
    "cure --all",
    "part receive {T} 2 --for tight-slate",
    "part receive {T}#{T}8",
    "part receive {T}#{H} --condition {H}",
    "part set-aside {T} --for {H}",
    "part set-aside {H} --for tight-slate",
    "part put-back {T} --for tight-slate",
    "part put-back {H} --for {H}",
    "part set-aside {T} --for tight-slate",
    "part take-out {T} --for tight-slate",
    "part take-out {H} 3",
    "part edit {T} least_on_hand=9 own_supplier={H}",
    "part edit {T} least_on_hand={H}",
    "job edit tight-slate set_aside={H}",
    "merge {H}",
    "merge bad.csv --dry-run",
    "shelf",
    "shelf --for {H}",
    "shelf --format json",
    "shelf --format csv",
    "low",
    "low --kind {H}",
    "low --format json",
    "low --format csv",
    "buy",
    "buy {H}",
    "buy --format json",
    "buy --format csv",
    "buy --format xlsx --out {H}",
    "answer keep paper-slate --on-hand --as {T}",
    "answer keep tight-slate --fit --as {H}",
    "answer list",
    "answer list --format json",
    "answer show {T}",
    "answer show {T} --format json",
    "answer compare {T}",
    "undo",
    "undo 1",
    "backup bad.csv",
    "restore {H}",
    "history",
    "history --format json",
    "history --format csv",
    "check",
    "check --all",
    "check --format json",
    "check --format csv",
    "{H}",
    "fit --catalog {H} tight-slate",
    "--help",
];

/// Every command that there is, as the help lists them.
fn commands(program: &Program, of: &str, all: &mut BTreeSet<String>) {
    let help = program.run(format!("{of} --help").trim()).out;
    let Some((_, list)) = help.split_once("\nCommands:\n") else {
        all.insert(of.to_string());
        return;
    };
    for line in list.lines().take_while(|line| line.starts_with("  ")) {
        let Some(name) = line.split_whitespace().next().filter(|_| !line.starts_with("   ")) else {
            continue;
        };
        if name != "help" {
            commands(program, format!("{of} {name}").trim(), all);
        }
    }
}

#[test]
fn no_command_passes_on_what_a_terminal_would_obey() {
    let program = hostile_shop();
    program.file(
        "bad.csv",
        &format!("id,kind,thickness,\"{HOSTILE}\"\nA,flywheel,\"{HOSTILE}\",1\n{TURNED}|,{HOSTILE},1 in,2\n"),
    );
    let (mut shown, mut exact) = (BTreeSet::new(), 0);
    for on_terminal in [false, true] {
        for line in LINES {
            let directory = program.dir().display().to_string();
            let in_place = line
                .replace("bad.csv", &format!("{directory}/bad.csv"))
                .replace("--out out", &format!("--out {directory}/out-{on_terminal}"));
            // Filled in behind the split: the text has blanks and quotes of no meaning.
            let args: Vec<String> = words(&in_place)
                .iter()
                .map(|word| word.replace("{H}", HOSTILE).replace("{T}", TURNED))
                .collect();
            let args: Vec<&str> = args.iter().map(String::as_str).collect();
            let answers: &'static [u8] = b"x\x1b[1m\xc2\x9b\nnew\n\x1b[2J\n1.0\x1b in\n\n";
            let mut input = answers;
            let ran = program.run_in(&args, |env| {
                env.err_is_terminal = on_terminal;
                env.out_is_terminal = on_terminal;
                env.input = Some(Box::leak(Box::new(std::mem::take(&mut input))));
            });
            let is_csv = line.starts_with("export") || line.contains("csv");
            if is_csv && !on_terminal && ran.status <= 1 && !line.contains("--out") {
                // Data for a program or a file stays what it is, so that it can be read again.
                exact += usize::from(ran.out.contains(is_hostile));
            } else {
                assert!(!ran.out.contains(is_hostile), "{line}: {:?}", ran.out);
            }
            assert!(!ran.err.contains(is_hostile), "{line}: {:?}", ran.err);
            if [&ran.out, &ran.err]
                .iter()
                .any(|text| text.contains("\\u001b") || text.contains("\\u202e"))
            {
                shown.insert(*line);
            }
        }
    }
    // What was fed in did come out again, where it can be seen.
    assert!(shown.len() >= 50, "{}: {shown:?}", shown.len());
    assert!(exact >= 3, "{exact}");
    let mut all = BTreeSet::new();
    commands(&program, "", &mut all);
    assert!(all.len() > 30, "{all:?}");
    // The page's own tests feed it names that a browser would obey.
    all.remove("serve");
    for command in &all {
        assert!(
            LINES.iter().any(|line| line.starts_with(command.as_str())),
            "{command} is not fed"
        );
    }
}

#[test]
fn json_holds_hostile_text_as_it_is() {
    let program = hostile_shop();
    let history = program.json("history --format json");
    let text = serde_json::to_string(&history).unwrap();
    assert!(text.contains("\u{9b}2J") && text.contains('\u{202e}'), "{text}");
}

#[test]
fn exported_csv_holds_hostile_text_as_it_is_unless_a_terminal_shows_it() {
    let program = hostile_shop();
    let exported = program.answer("export --kind jobs");
    assert!(exported.contains(HOSTILE), "{exported:?}");
    let shown = program.run_in(&["export", "--kind", "jobs"], |env| env.out_is_terminal = true);
    assert!(shown.out.contains("x\\u001b[31m") && !shown.out.contains(is_hostile), "{}", shown.out);
}
