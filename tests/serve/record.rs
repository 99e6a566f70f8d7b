//! Looking through, the record, kept answers, sheets.

use crate::browser::Served;

#[test]
fn looking_through_says_what_check_says_with_the_way_to_mend_it() {
    let served = Served::demo();
    let device = served.device();
    let page = device.page("/look").body;
    let told = served.says("check");
    let number = told.split(' ').next().unwrap();
    assert!(page.contains(&format!("{number} things to look at")), "{told}");
    for word in ["Cannot both be right", "Lacks a dimension", "No tolerance", "0.067 in apart"] {
        assert!(page.contains(word), "{word}");
    }
    for way in [
        "/car/enter?job=unsure-amber",
        "/measure?part=PP-SNF",
        "/part/edit?id=BP-A1#field-thickness",
    ] {
        assert!(page.contains(&format!("href=\"{way}\"")), "{way}");
        assert_eq!(device.get(way.split('#').next().unwrap()).status, 200, "{way}");
    }
}

#[test]
fn the_record_has_the_newest_change_first_with_who_and_what() {
    let served = Served::demo();
    let device = served.device();
    device.form("/new", &[("job", "coupe"), ("description", "slips")]);
    let page = device.page("/record").body;
    let (newest, oldest) = (page.find("job add coupe").unwrap(), page.find("import ").unwrap());
    assert!(newest < oldest);
    assert!(page.contains("<strong>Kim</strong>"));
    let of_job = device.page("/record?job=coupe").body;
    assert!(of_job.contains("job coupe added") && !of_job.contains("FW-S1000"));
}

#[test]
fn a_kept_answer_says_whether_it_still_holds() {
    let served = Served::demo();
    let device = served.device();
    let kept = device.form("/answer/keep", &[("job", "worn-slate")]);
    assert_eq!(
        kept.header("location"),
        Some("/answer?name=worn-slate-2026-03-31"),
        "{}",
        kept.body
    );
    assert!(device.page("/record").body.contains("Still holds: sure with 0.040 in of room then"));
    served.says("job edit worn-slate bearing_depth_retracted='3.05 in'");
    let record = device.page("/record").body;
    assert!(record.contains("Holds no longer: sure with 0.040 in of room then, out"), "{record}");
    let compared = device.page("/answer?name=worn-slate-2026-03-31").body;
    let told = served.says("answer compare worn-slate-2026-03-31");
    assert!(compared.contains("The fitted stack then was sure with 0.040 in of room"), "{told}");
    assert!(compared.contains("bearing_depth_retracted"));
}

#[test]
fn the_sheets_are_those_of_the_command_line() {
    let served = Served::demo();
    let device = served.device();
    let said = device.page("/car/sheet?job=tight-slate&block_plate=BP-S125");
    assert!(said.body.contains("In its window: sure") && said.body.contains("signature"));
    assert!(!said.body.contains("<script"));
    let policy = said.header("content-security-policy").unwrap();
    assert!(policy.starts_with("default-src 'none'") && !policy.contains("script"), "{policy}");
    assert!(device.page("/car/sheet?job=tight-slate&blank=1").body.contains("Measuring sheet"));
}

#[test]
fn no_page_weighs_more_than_it_may() {
    let served = Served::demo();
    let device = served.device();
    let style = include_str!("../../src/serve/style.css").len();
    let script = include_str!("../../src/serve/script.js").len();
    let mut heaviest = (0, "");
    for path in [
        "/",
        "/new",
        "/parts",
        "/parts?kind=pressure_plate",
        "/part?id=PP-S190",
        "/part/edit?id=PP-S190",
        "/measure",
        "/measure?part=PP-S190",
        "/look?all=1",
        "/record",
        "/devices",
        "/car?job=tight-slate",
        "/car?job=unsure-amber",
        "/car?job=short-slate",
        "/car/cures?job=tight-slate",
        "/car/cures?job=paper-slate",
        "/car/enter?job=tight-slate",
        "/car/edit?job=tight-slate",
        "/car/sheet?job=tight-slate",
    ] {
        let weight = device.page(path).body.len() + style + script;
        assert!(weight <= 150_000, "{path} weighs {weight}");
        heaviest = heaviest.max((weight, path));
    }
    println!("the heaviest page: {heaviest:?}");
}
