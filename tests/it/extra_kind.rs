//! One entry more in the table of kinds, through the whole program: nothing else has to know it.

use bellstack::model::kinds::{
    Assumed, DimSpec, Enters, FaceEnd, FaceSpec, Joint, KindSpec, Kinds, Quantity, STANDARD, Sign,
    SlotSpec, Takes,
};
use serde_json::Value;

use crate::program::{Program, demo_files};

const HEAT_SHIELD: KindSpec = KindSpec {
    key: "heat_shield",
    plural: "heat_shields",
    name: "heat shield",
    slot: Some(SlotSpec { key: "heat_shield", takes: Takes::Optional, inside: None, fixed: false }),
    dims: &[DimSpec {
        key: "thickness",
        quantity: Quantity::Length,
        needed: true,
        sign: Sign::Positive,
        enters: &[Enters::Rear(1)],
        assumed: Assumed::Thou(3),
        stand_in: &[],
        blank: None,
        usual: None,
        usual_less: None,
        sides: None,
        about: "face to face",
    }],
    faces: &[FaceSpec {
        key: "block_pattern",
        joint: Joint::Block,
        end: FaceEnd::Front,
        matched_set_only: false,
    }],
    facts: &[],
};

fn program() -> Program {
    let table: Vec<KindSpec> = STANDARD.iter().copied().chain([HEAT_SHIELD]).collect();
    let program = Program::with_kinds(Kinds::new(Box::leak(table.into_boxed_slice())));
    let shields = program.file(
        "heat_shields.csv",
        "id,thickness,thickness_tol,block_pattern,price\nHS-1,0.050 in,0.002 in,slate,20\n\
         HS-2,0.125 in,,slate,30\n",
    );
    let files = demo_files();
    let files: Vec<String> = files.iter().map(|path| format!("'{}'", path.display())).collect();
    program.answer(&format!("import '{shields}' {}", files.join(" ")));
    program
}

#[test]
fn the_new_kind_has_its_template_and_its_column_in_jobs() {
    let program = program();
    let header = program.answer("export --templates --kind heat_shield");
    assert!(header.contains(",thickness,thickness_tol,thickness_bar,block_pattern"), "{header}");
    let header = program.answer("export --templates --kind jobs");
    assert!(header.contains("heat_shield"), "{header}");
    assert!(program.answer("part list --kind heat_shields").contains("HS-2"));
    assert!(program.answer("window show").contains("assumed.heat_shield.thickness"));
    assert!(program.answer("part keys heat_shield").contains("face to face"));
}

#[test]
fn a_job_names_it_and_the_sum_has_its_term() {
    let program = program();
    program.answer("job edit tight-slate heat_shield=HS-1");
    assert!(program.answer("job show tight-slate").contains("heat_shield                 HS-1\n"));
    let fit = program.json("fit tight-slate --format json");
    let bare = program.json("fit tight-slate --with heat_shield=none --format json");
    assert_eq!(fit["parts"]["heat_shield"], "HS-1");
    let nm = |fit: &Value, key: &str| fit[key]["nm"].as_i64().unwrap();
    assert_eq!(nm(&bare, "preload") - nm(&fit, "preload"), 1_270_000);
    assert_eq!(nm(&fit, "reserve") - nm(&bare, "reserve"), 1_270_000);
    let terms = fit["terms"].as_array().unwrap();
    let term = terms.iter().find(|term| term["dimension"] == "heat_shield.thickness").unwrap();
    assert_eq!((&term["part"], term["to_preload"].as_f64()), (&Value::from("HS-1"), Some(-1.0)));
}

#[test]
fn recommend_and_cure_search_it() {
    let program = program();
    let narrow = "recommend paper-slate --on-hand --without gearbox_spacer --without bell_spacer \
                  --without block_plate --top 100 --format json";
    let without = program.json(&format!("{narrow} --without heat_shield"));
    let with = program.json(&format!("{narrow} --only heat_shield=none"));
    assert_eq!(without["considered"], with["considered"]);
    // Nothing of it lies on the shelf, so the slot is free but only empty.
    assert_eq!(program.json(narrow)["considered"], without["considered"]);
    program.answer("part edit HS-1 on_hand=1");
    let free = program.json(narrow);
    let number = |answer: &Value| answer["considered"].as_str().unwrap().parse::<u64>().unwrap();
    assert_eq!(number(&free), 2 * number(&without));
    let stacks = free["stacks"].as_array().unwrap();
    assert!(stacks.iter().any(|stack| stack["parts"]["heat_shield"] == "HS-1"));
    let cure = program.json("cure tight-slate --top 50 --format json");
    let change = |stack: &Value| stack["change"][0]["slot"] == "heat_shield";
    assert!(cure["stacks"].as_array().unwrap().iter().any(change), "{cure}");
    let rows = cure["look_for"].as_array().unwrap();
    assert!(rows.iter().any(|row| row["slot"] == "heat_shield" && row["in_catalog"] == 1));
}
