//! Catalogs whose rows somebody has changed by other means.

use rusqlite::Connection;

use crate::dice::Dice;
use crate::shop::{Shop, questions};
use crate::{Target, hunt};

/// Tables with what tells their rows from each other, and their columns.
const TABLES: &[(&str, &str, &[&str])] = &[
    ("part", "number", &["id", "kind", "maker", "price_cents", "on_hand", "lead_days", "retired"]),
    ("dimension", "part", &["value", "tol", "value", "key"]),
    ("face", "part", &["key", "names"]),
    ("fact", "part", &["key", "word"]),
    (
        "job",
        "number",
        &["id", "torque", "preload_min", "preload_max", "reserve_min", "reserve_max"],
    ),
    ("job", "number", &["disc_state", "crank_pushed", "starter_on", "crank_over_plate"]),
    ("job_part", "job", &["slot", "position", "part", "piece"]),
    ("job_reading", "job", &["value", "tol", "key"]),
    ("piece", "number", &["part", "label", "condition", "in_hand", "notes"]),
    ("reading", "number", &["piece", "dimension", "instrument", "taken_by", "taken_on", "struck"]),
    ("reading_value", "reading", &["value", "position"]),
    ("instrument", "number", &["name", "resolution", "source"]),
    ("instrument_limit", "instrument", &["up_to", "error"]),
    ("setting", "length(key)", &["key", "value"]),
];

/// What nobody would enter.
const VALUES: &[&str] = &[
    "0",
    "1",
    "-1",
    "9223372036854775807",
    "-9223372036854775808",
    "NULL",
    "2540000001",
    "254000000",
    "-2540000000",
    "1000000000000",
    "4294967296",
    "1.5",
    "'x'",
    "'1'",
    "x'00'",
    "''",
    "'thickness'",
];

struct Catalogs(Shop);

impl Target for Catalogs {
    const NAME: &'static str = "catalogs";

    fn input(dice: &mut Dice) -> String {
        let statements = (0..=dice.roll(3)).map(|_| {
            let (table, key, columns) = TABLES[dice.roll(TABLES.len())];
            let column = dice.pick(columns);
            let value = match dice.roll(4) {
                0 => format!(
                    "'{}'",
                    dice.scraps(3).replace('\'', "''").replace(['\0', '\n', '\r'], "")
                ),
                1 => format!("{column} * -1"),
                _ => dice.pick(VALUES).into(),
            };
            let (every, row) = (1 + dice.roll(40), dice.roll(40));
            format!(
                "UPDATE {table} SET {column} = {value} WHERE {key} % {every} = {row} % {every};"
            )
        });
        let statements: Vec<String> = statements.collect();
        format!("{}\n\n{}", questions(dice).join("\n"), statements.join("\n"))
    }

    fn run(&mut self, input: &str) -> bool {
        let (lines, statements) = input.split_once("\n\n").unwrap();
        self.0.anew();
        let file = Connection::open(self.0.catalog()).unwrap();
        file.execute_batch("PRAGMA ignore_check_constraints = ON; PRAGMA foreign_keys = OFF;")
            .unwrap();
        for statement in statements.lines() {
            if let Err(error) = file.execute_batch(statement) {
                // What the file itself refuses is no input; a slip in a statement would be one for ever.
                assert!(!error.to_string().contains("no such"), "{statement}: {error}");
            }
        }
        drop(file);
        let lines: Vec<String> = lines.lines().map(String::from).collect();
        self.0.ask(&lines, true)
    }
}

#[test]
fn catalogs() {
    hunt(Catalogs(Shop::new()));
}
