//! What is to be bought over the plans of jobs.

use calamine::{Data, DataType as _, Reader as _, Xlsx, open_workbook};
use serde_json::{Value, json};

use crate::program::Program;
use crate::support::Dice;

/// The demo shop with a second car like the one that is too tight; a plate, of which one lies on the
/// shelf, cures each.
fn two_cars() -> Program {
    let program = Program::demo();
    program.answer("job copy tight-slate next-slate");
    for job in ["tight-slate", "next-slate"] {
        program
            .answer(&format!("answer keep {job} --cure --only block_plate=BP-S125 --as of-{job}"));
    }
    program
}

fn buy(program: &Program, line: &str) -> Value {
    let ran = program.run(&format!("buy {line} --format json"));
    assert!(ran.status <= 1, "{}", ran.err);
    serde_json::from_str(&ran.out).unwrap()
}

/// Each part that is to be bought, with the jobs that it is for.
fn parts(bought: &Value) -> Vec<(String, u64, Vec<String>)> {
    let suppliers = bought["suppliers"].as_array().unwrap().iter();
    let parts = suppliers.flat_map(|one| one["parts"].as_array().unwrap());
    let part = |part: &Value| {
        let jobs = part["for"].as_array().unwrap().iter();
        let jobs = jobs.map(|of| of["job"].as_str().unwrap().to_string()).collect();
        (part["part"].as_str().unwrap_or("-").to_string(), part["pieces"].as_u64().unwrap(), jobs)
    };
    parts.map(part).collect()
}

fn one(part: &str, pieces: u64, job: &str) -> Vec<(String, u64, Vec<String>)> {
    vec![(part.into(), pieces, vec![job.into()])]
}

#[test]
fn cars_share_the_shelf_in_their_order_and_what_is_set_aside_is_its_jobs_own() {
    let program = two_cars();
    assert!(parts(&buy(&program, "tight-slate")).is_empty(), "one lies on the shelf");
    assert!(parts(&buy(&program, "next-slate")).is_empty());
    let both = "tight-slate next-slate";
    assert_eq!(parts(&buy(&program, both)), one("BP-S125", 1, "next-slate"));
    let turned = "next-slate tight-slate";
    assert_eq!(parts(&buy(&program, turned)), one("BP-S125", 1, "tight-slate"));
    program.answer("part set-aside BP-S125 --for next-slate");
    assert_eq!(parts(&buy(&program, both)), one("BP-S125", 1, "tight-slate"));
    assert!(parts(&buy(&program, "next-slate")).is_empty());
    assert_eq!(parts(&buy(&program, "tight-slate")), one("BP-S125", 1, "tight-slate"));
    program.answer("part receive BP-S125 --for tight-slate");
    assert!(parts(&buy(&program, both)).is_empty());
    program.answer("part take-out BP-S125 --for tight-slate");
    program.answer("part take-out BP-S125 --for next-slate");
    let all = buy(&program, both);
    assert_eq!(all["amount"], "96.00");
    assert_eq!(
        parts(&all),
        [("BP-S125".into(), 2, vec!["tight-slate".into(), "next-slate".into()])]
    );
    // What became of the plan: it is on the car.
    program.answer("job edit tight-slate block_plate=BP-S125");
    assert_eq!(parts(&buy(&program, both)), one("BP-S125", 1, "next-slate"));
}

#[test]
fn without_names_every_job_that_is_not_done_is_asked_first_come_first_served() {
    let program = two_cars();
    program.answer("job edit next-slate date=2026-02-01");
    let ran = program.run("buy --format json");
    assert!(
        ran.err.contains(
            "note: 3 builds on paper without a kept answer are left out, as their parts are not chosen \
             yet: paper-amber, paper-slate and paper-swap; `answer keep JOB` keeps a plan\n"
        ),
        "{}",
        ran.err
    );
    let all: Value = serde_json::from_str(&ran.out).unwrap();
    let jobs: Vec<&str> =
        all["jobs"].as_array().unwrap().iter().map(|job| job["job"].as_str().unwrap()).collect();
    assert_eq!(
        jobs,
        ["next-slate", "loose-amber", "short-slate", "tight-slate", "unsure-amber", "worn-slate"]
    );
    assert!(
        parts(&all).iter().any(|(part, _, jobs)| part == "BP-S125" && jobs == &["tight-slate"])
    );
    assert_eq!(ran.status, 0, "the loose car is out as it is fitted, which is no plan");
    program.answer("job edit loose-amber state=done");
    let ran = program.run("buy --format json");
    assert!(!ran.out.contains("loose-amber"), "{}", ran.out);
    // One that is named is told of, whatever it is.
    let ran = program.run("buy paper-slate");
    assert_eq!(ran.status, 1);
    assert!(
        ran.out.contains("cannot be told: job `paper-slate` has nothing in `flywheel`"),
        "{}",
        ran.out
    );
    assert_eq!(program.run("buy paper-slat").status, 2);
}

#[test]
fn parts_stand_by_supplier_with_days_and_unknown_prices_named() {
    let program = two_cars();
    program.answer("part take-out BP-S125");
    program.answer("part edit BP-S125 own_supplier='Plate Works' lead_days=12");
    program.answer("answer keep worn-slate --fit --as new-disc");
    program.answer("part edit DS-S330 on_hand=0 price=");
    let all = buy(&program, "tight-slate next-slate worn-slate");
    let suppliers = all["suppliers"].as_array().unwrap();
    let of = |supplier: &Value| {
        (
            supplier["supplier"].clone(),
            supplier["amount"].clone(),
            supplier["unpriced"].clone(),
            supplier["lead_days"].clone(),
        )
    };
    assert_eq!(of(&suppliers[0]), (json!("Plate Works"), json!("96.00"), json!(0), json!(12)));
    assert_eq!((&suppliers[1]["supplier"], &suppliers[1]["unpriced"]), (&json!(null), &json!(1)));
    assert_eq!(suppliers.len(), 2);
    let disc = &suppliers[1]["parts"][0];
    assert_eq!(
        (&disc["part"], &disc["price"], &disc["amount"]),
        (&json!("DS-S330"), &json!(null), &json!(null))
    );
    assert_eq!((&all["amount"], &all["unpriced"]), (&json!("96.00"), &json!(1)));
    let table = program.answer("buy tight-slate next-slate worn-slate");
    for line in [
        "To buy for 3 jobs: 3 pieces of 2 part numbers, 96.00 USD and 1 piece whose price is unknown.",
        "From Plate Works:",
        "In all 96.00 USD; all of it is there in 12 days.",
        "No supplier told (`own_supplier` of the part):",
        "In all 0.00 USD and 1 piece whose price is unknown",
        "the answer of-tight-slate  sure, 0.064 in of room",
        "For tight-slate accept on arrival what measures so, everything else as it stands:",
        "Each range holds while all other parts are as they are listed",
    ] {
        assert!(table.contains(line), "{line}\n{table}");
    }
    let csv = program.answer("buy tight-slate next-slate worn-slate --format csv");
    let rows: Vec<&str> = csv.lines().collect();
    assert_eq!(rows.len(), 3, "{csv}");
    assert!(rows[1].starts_with("Plate Works,BP-S125,block_plate,Demo Plate,Invented thick block plate,2,48.00,96.00,USD,12,\"tight-slate, next-slate\","), "{csv}");
    assert!(rows[2].starts_with(",DS-S330,disc,"), "{csv}");
    let empty = Program::demo();
    assert!(empty.run("buy tight-slate").out.starts_with("Nothing is to be bought for 1 job.\n"));
}

#[test]
fn a_workbook_of_what_is_to_be_bought_has_numbers_as_numbers() {
    let program = two_cars();
    program.answer("part take-out BP-S125");
    let path = program.dir().join("order.xlsx").display().to_string();
    let line = ["buy", "tight-slate", "next-slate", "--format", "xlsx", "--out", &path];
    let ran = program.run_args(&line);
    assert_eq!((ran.status, ran.out), (0, format!("{path}\n")), "{}", ran.err);
    assert_eq!(program.run_args(&line).status, 2, "a file that is there is asked about");
    let mut book: Xlsx<_> = open_workbook(&path).unwrap();
    assert_eq!(book.sheet_names(), ["to buy", "plans", "accept"]);
    let bought = book.worksheet_range("to buy").unwrap();
    let cell = |head: &str| {
        let heads = bought.rows().next().unwrap();
        let at = heads.iter().position(|cell| cell.as_string().as_deref() == Some(head)).unwrap();
        bought.rows().nth(1).unwrap()[at].clone()
    };
    assert_eq!(cell("pieces"), Data::Float(2.0));
    assert_eq!((cell("price"), cell("amount")), (Data::Float(48.0), Data::Float(96.0)));
    let limits = book.worksheet_range("accept").unwrap();
    let rows: Vec<Vec<String>> =
        limits.rows().map(|row| row.iter().map(ToString::to_string).collect()).collect();
    assert_eq!(rows[1][..3], ["tight-slate", "BP-S125", "thickness"], "{rows:?}");
    assert_eq!(rows[0][5], "likely_from_in");
    let told = buy(&program, "tight-slate");
    let from = told["jobs"][0]["accept"][0]["likely"]["from"]["in"].as_f64().unwrap();
    let read: f64 = rows[1][5].parse().unwrap();
    assert!(read >= from && read - from < 0.000_101, "{read} is {from}, rounded inward");
    for (line, wrong) in [
        ("buy --format xlsx", "a workbook needs a file of its own"),
        ("buy --format xlsx --out order.csv", "`order.csv` is no name of a workbook"),
        ("buy --out order.xlsx", "`--out` is for a workbook alone"),
    ] {
        let ran = program.run(line);
        assert!(ran.status == 2 && ran.err.contains(wrong), "{line}: {}", ran.err);
    }
}

#[test]
fn a_plan_that_names_a_piece_says_where_that_cannot_be_had() {
    let program = Program::demo();
    let read = "reading add BP-S125#A thickness 0.1251 0.1250 in --condition new";
    program.answer(&format!("{read} --instrument caliper-0.02"));
    program.answer("answer keep tight-slate --cure --only block_plate=BP-S125#A --as piece");
    let plan = buy(&program, "tight-slate");
    assert!(parts(&plan).is_empty() && plan["jobs"][0]["holds"] == true, "{plan}");
    program.answer("part set-aside BP-S125#A --for paper-slate");
    let plan = buy(&program, "tight-slate");
    assert!(parts(&plan).is_empty(), "a piece cannot be bought");
    assert_eq!(
        plan["jobs"][0]["lacking"],
        json!([{"piece": "BP-S125#A", "why": "it is kept for another job"}])
    );
    assert_eq!(plan["jobs"][0]["holds"], false);
    program.answer("part take-out BP-S125#A --for paper-slate");
    let ran = program.run("buy tight-slate");
    assert_eq!(ran.status, 1);
    assert!(ran.out.contains("BP-S125#A cannot be had: it is not in hand"), "{}", ran.out);
    // A plan that holds no longer is told too.
    let program = two_cars();
    assert_eq!(program.run("buy tight-slate").status, 0);
    program.answer("window set reserve_margin='0.200 in'");
    let ran = program.run("buy tight-slate");
    assert!(ran.status == 1 && ran.out.contains("the answer of-tight-slate  out"), "{}", ran.out);
}

/// One car at a time it is what the stack itself says is to be bought, with the limits that `fit
/// --measure` tells; and whatever is on the shelf, all jobs together buy at least as much as each alone.
#[test]
fn what_is_bought_is_what_the_stacks_say() {
    let mut dice = Dice::new(77);
    for round in 0..4 {
        let program = Program::demo();
        let all = program.json("part list --format json");
        for part in all["parts"].as_array().unwrap() {
            let (id, on_hand) = (part["id"].as_str().unwrap(), dice.roll(3));
            program.answer(&format!("part edit {id} on_hand={on_hand}"));
        }
        let jobs = ["paper-slate", "paper-swap", "paper-amber"];
        let mut sums = Vec::new();
        for job in jobs {
            program.answer(&format!("answer keep {job} --top 1 --as {job}"));
            let kept = program.json(&format!("answer show {job} --format json"));
            let stack = &kept["answer"]["stacks"][0];
            assert!(stack.is_object(), "{kept}");
            let bought = buy(&program, job);
            assert_eq!(bought["amount"], stack["to_buy"]["amount"], "round {round}: {job}");
            assert_eq!(bought["unpriced"], stack["to_buy"]["unpriced"], "round {round}: {job}");
            let mut line = format!("fit {job} --measure --format json");
            for (slot, part) in stack["parts"].as_object().unwrap() {
                let ids: Vec<&str> = match part {
                    Value::Array(shims) => shims.iter().map(|one| one.as_str().unwrap()).collect(),
                    one => one.as_str().into_iter().collect(),
                };
                let ids = if ids.is_empty() { "none".into() } else { ids.join("|") };
                line += &format!(" --with '{slot}={ids}'");
            }
            let fit = program.json(&line);
            assert_eq!(bought["jobs"][0]["accept"], fit["accept"], "round {round}: {job}");
            let cents =
                |value: &Value| value.as_str().unwrap().replace('.', "").parse::<u64>().unwrap();
            sums.push(cents(&bought["amount"]));
            assert!(bought["jobs"][0]["holds"] == true);
        }
        let together = buy(&program, &jobs.join(" "));
        let together: u64 = together["amount"].as_str().unwrap().replace('.', "").parse().unwrap();
        assert!(together >= sums.iter().sum(), "round {round}: {together} {sums:?}");
    }
}

#[test]
fn what_a_job_takes_and_nobody_has_yet_is_named_before_it_counts_as_fitted() {
    let program = Program::demo();
    let taken = program.answer("job take tight-slate --cure 4");
    assert!(taken.contains("Still to be bought: 395.00 USD. "), "{taken}");
    assert_eq!(parts(&buy(&program, "tight-slate")), []);
    // What lies on the shelf is not to be bought.
    let free = program.answer("job take loose-amber --cure 1 --dry-run");
    assert!(!free.contains("to be bought"), "{free}");
}
