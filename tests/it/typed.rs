//! Numbers, signs and prices as people type and paste them.

use crate::program::Program;

fn shown(program: &Program, id: &str, key: &str) -> String {
    let shown = program.answer(&format!("part show {id}"));
    let line = shown.lines().find(|line| line.split_whitespace().next() == Some(key));
    line.unwrap().split_once(key).unwrap().1.trim().to_string()
}

#[test]
fn a_fraction_a_tolerance_and_a_price_are_taken_as_they_are_written() {
    let program = Program::demo();
    let edit = |pair: &str| {
        let ran = program.run_args(&["part", "edit", "FW-S1000", pair]);
        assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{pair}");
    };
    for one in [
        "thickness=1 1/8''",
        "thickness=1\u{215b} in",
        "thickness=1-1/8\u{201d}",
        "thickness=1 1\u{2044}8 in",
    ] {
        edit("thickness=1.000 in");
        edit(one);
        assert_eq!(shown(&program, "FW-S1000", "thickness"), "1.125 in +- 0.002 in", "{one}");
    }
    edit("thickness_tol=\u{b1}0.003 in");
    assert_eq!(shown(&program, "FW-S1000", "thickness"), "1.125 in +- 0.003 in");
    edit("price=$180");
    edit("price=180.50 USD");
    assert_eq!(shown(&program, "FW-S1000", "price"), "180.50 USD");
}

#[test]
fn a_price_in_another_currency_is_refused_by_name() {
    let program = Program::demo();
    let hint = "  hint: write what it is in USD; `window set currency=` names another one for the whole \
                catalog\n";
    program.refuses(
        "part edit FW-S1000 price='180 EUR'",
        2,
        &format!("error: `price`: `180 EUR` is in another currency than the catalog's USD\n{hint}"),
    );
    program.refuses(
        "recommend paper-slate --budget 500\u{20ac}",
        2,
        &format!(
            "error: `--budget`: `500\u{20ac}` is in another currency than the catalog's USD\n{hint}"
        ),
    );
    let file = program.file("flywheels.csv", "id,price\nFW-S1000,180 EUR\n");
    let told = program.run_args(&["import", &file]);
    assert_eq!(told.status, 2);
    assert!(told.err.contains("`180 EUR` is in another currency"), "{}", told.err);
    program.answer("window set currency=EUR");
    program.answer("part edit FW-S1000 price='180 EUR'");
}

#[test]
fn a_value_with_a_blank_that_nobody_quoted_is_told_how() {
    let program = Program::demo();
    program.refuses(
        "part edit FW-S1000 thickness=1 in",
        2,
        "error: `in` is no `KEY=VALUE`\n  hint: a value with a blank is quoted: `thickness=\"1 in\"`\n",
    );
    program.refuses(
        "job edit tight-slate finger_depth=3 1/4 in crank_pushed=front",
        2,
        "error: `1/4` is no `KEY=VALUE`\n  hint: a value with a blank is quoted: \
         `finger_depth=\"3 1/4 in\"`\n",
    );
    program.refuses(
        "window set preload_min=0.5 in",
        2,
        "error: `in` is no `KEY=VALUE`\n  hint: a value with a blank is quoted: \
         `preload_min=\"0.5 in\"`\n",
    );
}

#[test]
fn the_side_of_a_signed_length_is_a_word() {
    let program = Program::demo();
    for (key, text, stored) in [
        ("crank_protrusion", "0.020 in sunk", "-0.020 in"),
        ("crank_protrusion", "0.020 in below", "-0.020 in"),
        ("crank_protrusion", "flush", "0.000 in"),
    ] {
        program.answer(&format!("part edit ENG-S1 {key}='{text}'"));
        let exported = program.answer("export --kind engine");
        assert!(exported.contains(&format!(",{stored},")), "{text}: {exported}");
    }
    program.answer("part edit FW-S1000 cover_step='1/4 in recessed'");
    assert!(program.answer("export --kind flywheel").contains(",0.250 in,"));
}
