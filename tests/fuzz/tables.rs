//! CSV files, rows of readings and rows of jobs.

use std::fs;

use bellstack::catalog::csv::templates;
use bellstack::model::kinds::Kinds;

use crate::dice::Dice;
use crate::shop::{JOBS, PARTS, Shop, demo, questions};
use crate::{Target, hunt};

/// The columns of each kind of file.
fn headers() -> Vec<(String, Vec<String>)> {
    let columns = |text: &str| text.trim_end().split(',').map(String::from).collect();
    let files = templates(Kinds::standard()).into_iter();
    files.map(|file| (file.name, columns(&file.text))).collect()
}

/// A cell under a column: one that is taken, but for `bad` in a thousand and a slip of chance.
fn cell(dice: &mut Dice, column: &str, bad: usize) -> String {
    let word: String = match column {
        "id" | "part" | "engine" | "flywheel" | "disc" | "pressure_plate" | "block_plate"
        | "bell_spacer" | "bell_housing" | "gearbox_spacer" | "gearbox" | "bearing"
        | "bearing_shims" | "master_cylinder" => dice.pick(PARTS).into(),
        "job" => dice.pick(JOBS).into(),
        "piece" => dice.pick(&["A", "B", "C", "9"]).into(),
        "kind" => dice.pick(&["flywheel", "disc", "bearing", "pressure_plate"]).into(),
        "condition" => dice.pick(&["new", "used", "machined"]).into(),
        "status" => dice.pick(&["in use", "retired", ""]).into(),
        "dimension" => dice.pick(&["thickness", "finger_height", "set_gap", "cover_step"]).into(),
        "value" => format!("{} {}", dice.length(), dice.length()),
        "instrument" => dice.pick(&["caliper-0.02", "", "x"]).into(),
        "date" => dice.pick(&["2026-03-31", "", "2026-02-30"]).into(),
        "limits" => format!("{} to {}", dice.length(), dice.length()),
        "crank_protrusion_over_plate" | "finger_depth_over_plate" => {
            dice.pick(&["yes", "no"]).into()
        }
        "fitted_disc_state" => dice.pick(&["new", "worn", "unknown", ""]).into(),
        "crank_pushed" => dice.pick(&["front", "rear", ""]).into(),
        "starter_on" => dice.pick(&["block", "bell", ""]).into(),
        "finger_ratio" => format!("{}.{}", 1 + dice.roll(7), dice.roll(1000)),
        "price" => format!("{}.{:02}", dice.roll(2000), dice.roll(100)),
        "on_hand" | "lead_days" | "ring_teeth" | "torque" | "torque_rating" => {
            dice.pick(&["0", "1", "3", "150", "999999", "4294967295"]).into()
        }
        "maker" | "description" | "notes" | "by" | "source" | "struck" => dice.scraps(3),
        _ if column.ends_with("_pattern") || column.ends_with("_rear") => {
            dice.pick(&["slate-6", "ring-280|ring-300", "*", "", "x"]).into()
        }
        _ => dice.length(),
    };
    if dice.roll(1000) < bad {
        return if dice.once_in(2) { dice.mangled(&word) } else { dice.scraps(4) };
    }
    if dice.once_in(8) { String::new() } else { word }
}

/// A table under some columns of one kind of file.
fn table(dice: &mut Dice, all: &[String], keys: &[&str], bad: usize) -> String {
    let many = if dice.once_in(3) { 3 } else { 12 };
    let mut columns: Vec<String> = keys.iter().map(|key| (*key).into()).collect();
    for column in all {
        if !columns.contains(column) && dice.once_in(many.min(all.len())) {
            columns.push(column.clone());
        }
    }
    let separator = if dice.once_in(8) { ";" } else { "," };
    let quoted = |text: String| {
        let bare = !text.contains([',', ';', '"', '\n', '\r']);
        if bare { text } else { format!("\"{}\"", text.replace('"', "\"\"")) }
    };
    let endings = ["", "", "", "_in", "_mm", "_bar", "_tol_in"];
    let mut head: Vec<String> = Vec::new();
    for column in &columns {
        let ending = if dice.once_in(4) { dice.pick(&endings.map(|e| e)) } else { "" };
        head.push(format!("{column}{ending}"));
    }
    let mut text = head.join(separator) + "\n";
    for _ in 0..=dice.roll(4) {
        let cells: Vec<String> =
            columns.iter().map(|column| quoted(cell(dice, column, bad))).collect();
        text += &(cells.join(separator) + "\n");
    }
    text
}

/// The file's name, and its text behind it.
fn named(name: &str, text: &str) -> String {
    format!("{name}\n{text}")
}

/// Any file at all, read and checked, and never stored.
struct Csv(Shop);

impl Target for Csv {
    const NAME: &'static str = "csv";

    fn input(dice: &mut Dice) -> String {
        let headers = headers();
        let (name, columns) = &headers[dice.roll(headers.len())];
        let keys: &[&str] = match name.as_str() {
            "jobs.csv" => &["job"],
            "pieces.csv" => &["part", "piece"],
            "readings.csv" => &["part", "piece", "dimension", "value"],
            "instruments.csv" => &["instrument"],
            _ => &["id"],
        };
        let text = table(dice, columns, keys, 60);
        let text = if dice.once_in(2) { dice.mangled(&text) } else { text };
        named(if dice.once_in(10) { "any.csv" } else { name }, &text)
    }

    fn run(&mut self, input: &str) -> bool {
        let (name, text) = input.split_once('\n').unwrap();
        let file = self.0.file(name, text);
        let ran = self.0.run(&["import", "--dry-run", &file]);
        // Doubtful rows are a plan that is not carried out unasked.
        assert!(matches!(ran.status, 0..=2), "status {}: {}", ran.status, ran.err);
        assert_eq!(ran.status < 2, !ran.out.is_empty(), "{}", ran.err);
        ran.status == 0
    }
}

/// Rows of the demo shop of which some cells say something else, and questions about what comes of
/// them.
fn asked(dice: &mut Dice, file: &str) -> String {
    let text = fs::read_to_string(demo().join(file)).unwrap();
    let rows: Vec<Vec<String>> =
        text.lines().map(|line| line.split(',').map(String::from).collect()).collect();
    let mut chosen = vec![rows[0].clone()];
    for _ in 0..=dice.roll(3) {
        let mut row = rows[1 + dice.roll(rows.len() - 1)].clone();
        for _ in 0..=dice.roll(3) {
            let at = 1 + dice.roll(row.len() - 1);
            let column = rows[0][at].trim_end_matches("_in").trim_end_matches("_mm");
            let has_unit = rows[0][at] != column;
            let new = cell(dice, column, 3);
            let new = if has_unit {
                new.trim_end_matches(|c: char| !c.is_ascii_digit()).into()
            } else {
                new
            };
            let may_be_negative = ["step", "gap", "height", "protrusion", "front"]
                .iter()
                .any(|word| column.contains(word));
            row[at] = if may_be_negative { new } else { new.trim_start_matches('-').into() };
        }
        // A row that says the same part or job again would be refused.
        if chosen.iter().all(|known| known[0] != row[0]) {
            chosen.push(row);
        }
    }
    let quoted = |cell: &String| {
        let bare = !cell.contains(['"', '\n', '\r', ',', ';']);
        if bare { cell.clone() } else { format!("\"{}\"", cell.replace('"', "\"\"")) }
    };
    let lines: Vec<String> = chosen
        .iter()
        .map(|row| row.iter().map(quoted).collect::<Vec<_>>().join(",") + "\n")
        .collect();
    format!("{}\n\n{}", questions(dice).join("\n"), named(file, &lines.concat()))
}

/// A few sets of readings on pieces of the demo shop.
fn read(dice: &mut Dice) -> String {
    let mut text = String::from("part,piece,condition,dimension,value,instrument\n");
    for _ in 0..=dice.roll(4) {
        let (part, dims) = *dice.one_of(MEASURED);
        let values: Vec<String> = (0..=dice.roll(6))
            .map(|_| match dice.roll(3) {
                0 => dice.length(),
                1 => format!("1.{:05} in", dice.roll(4)),
                _ => format!("25.4{} mm", dice.roll(3)),
            })
            .collect();
        let piece = dice.pick(&["A", "B", "C", "9"]);
        let gauge = dice.pick(&["caliper-0.02", "", "caliper-0.02"]);
        let row = format!(
            "{part},{piece},new,{},{},{gauge}\n",
            dice.pick(dims),
            values.join(" ").replace('"', "in")
        );
        text += &if dice.once_in(40) { dice.mangled(&row) } else { row };
    }
    format!("{}\n\n{}", questions(dice).join("\n"), named("readings.csv", &text))
}

const MEASURED: &[(&str, &[&str])] = &[
    ("FW-S1000", &["thickness", "thickness", "cover_step", "min_thickness"]),
    ("FW-S0900", &["thickness"]),
    ("DS-S330", &["thickness", "thickness", "hub_front"]),
    ("PP-S190", &["finger_height", "set_gap", "finger_height"]),
    ("BR-S95", &["extended_height", "retracted_height"]),
    ("BH-S1", &["depth"]),
];

fn answered(shop: &Shop, input: &str) -> bool {
    let (lines, file) = input.split_once("\n\n").unwrap();
    let (name, text) = file.split_once('\n').unwrap();
    shop.anew();
    let ran = shop.run(&["import", &shop.file(name, text)]);
    assert!(matches!(ran.status, 0 | 2), "status {}: {}", ran.status, ran.err);
    if ran.status == 0 {
        let lines: Vec<String> = lines.lines().map(String::from).collect();
        shop.ask(&lines, false);
    }
    ran.status == 0
}

struct Readings(Shop);

impl Target for Readings {
    const NAME: &'static str = "readings";

    fn input(dice: &mut Dice) -> String {
        read(dice)
    }

    fn run(&mut self, input: &str) -> bool {
        answered(&self.0, input)
    }
}

struct Jobs(Shop);

impl Target for Jobs {
    const NAME: &'static str = "jobs";

    fn input(dice: &mut Dice) -> String {
        asked(dice, "jobs.csv")
    }

    fn run(&mut self, input: &str) -> bool {
        answered(&self.0, input)
    }
}

struct Parts(Shop);

impl Target for Parts {
    const NAME: &'static str = "parts";

    fn input(dice: &mut Dice) -> String {
        let kinds = ["flywheels", "discs", "pressure_plates", "bearings", "engines", "gearboxes"];
        let file = format!("{}.csv", dice.pick(&kinds));
        asked(dice, &file)
    }

    fn run(&mut self, input: &str) -> bool {
        answered(&self.0, input)
    }
}

#[test]
fn csv() {
    hunt(Csv(Shop::new()));
}

#[test]
fn readings() {
    hunt(Readings(Shop::new()));
}

#[test]
fn jobs() {
    hunt(Jobs(Shop::new()));
}

#[test]
fn parts() {
    hunt(Parts(Shop::new()));
}
