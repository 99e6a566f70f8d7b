//! The drawing of a stack: to scale, readable, nothing on top of anything else.

use bellstack::cli::Env;
use bellstack::model::job::READINGS;
use bellstack::model::length::{Length, Unit};
use bellstack::report::{Sketch, View, fit_svg, reading_sketch, small_bar};
use bellstack::solve::ask::Ask;
use bellstack::solve::candidates::candidates;
use bellstack::stack::choice::{Choice, Setup};
use bellstack::stack::fit::{Fit, evaluate};
use bellstack::stack::picture::{Picture, SlotChange, Travel};
use bellstack::stack::shown::OneStack;
use roxmltree::{Document, Node};

use crate::program::{Program, golden};
use crate::random::{Dice, landing, shop};

/// A rectangle: left, right, top, foot.
type Place = [f64; 4];

fn number(node: Node<'_, '_>, name: &str) -> f64 {
    let text = node.attribute(name).unwrap_or_else(|| panic!("{node:?} has {name}"));
    text.parse().unwrap_or_else(|_| panic!("{name} of {node:?} is a number"))
}

fn elements<'d>(document: &'d Document<'_>, name: &str) -> Vec<Node<'d, 'd>> {
    document.descendants().filter(|node| node.tag_name().name() == name).collect()
}

/// Where a text stands, by the width that it says it has.
fn place(text: Node<'_, '_>) -> Place {
    let (x, y) = (number(text, "x"), number(text, "y"));
    let (size, width) = (number(text, "font-size"), number(text, "textLength"));
    let left = match text.attribute("text-anchor") {
        Some("middle") => x - width / 2.0,
        Some("end") => x - width,
        _ => x,
    };
    // Capitals and descenders of the typeface that the widths are of.
    [left, left + width, y - 0.73 * size, y + 0.21 * size]
}

fn overlap(a: Place, b: Place) -> bool {
    a[0] < b[1] && b[0] < a[1] && a[2] < b[3] && b[2] < a[3]
}

/// Every point that a shape goes through.
fn points(document: &Document<'_>) -> Vec<(f64, f64)> {
    let mut all = Vec::new();
    let outside_defs =
        |node: &Node<'_, '_>| !node.ancestors().any(|one| one.tag_name().name() == "defs");
    for node in document.descendants().filter(outside_defs) {
        match node.tag_name().name() {
            "path" => {
                let d = node.attribute("d").unwrap();
                for point in d.trim_end_matches('Z').split(['M', 'L']).filter(|p| !p.is_empty()) {
                    let (x, y) = point.split_once(' ').unwrap();
                    all.push((x.parse().unwrap(), y.parse().unwrap()));
                }
            }
            "line" => all.extend([
                (number(node, "x1"), number(node, "y1")),
                (number(node, "x2"), number(node, "y2")),
            ]),
            "circle" => all.push((number(node, "cx"), number(node, "cy"))),
            _ => {}
        }
    }
    all
}

/// Holds a drawing to everything that every drawing has to be.
fn assert_drawn(svg: &str, fit: &Fit<'_>, picture: &Picture<'_>, what: &str) {
    let document = Document::parse(svg).unwrap_or_else(|error| panic!("{what}: {error}"));
    let root = document.root_element();
    for name in ["title", "desc"] {
        let texts = elements(&document, name);
        assert!(texts.iter().all(|one| one.text().is_some_and(|text| text.len() > 4)), "{what}");
    }
    let view: Vec<f64> =
        root.attribute("viewBox").unwrap().split(' ').map(|n| n.parse().unwrap()).collect();
    let (width, height) = (view[2], view[3]);
    // Nothing lies outside.
    for (x, y) in points(&document) {
        let inside = (-0.01..=width + 0.01).contains(&x) && (-0.01..=height + 0.01).contains(&y);
        assert!(inside, "{what}: {x} {y} is outside of {width} x {height}");
    }
    // No text touches another one.
    let texts: Vec<(Place, &str)> = elements(&document, "text")
        .into_iter()
        .map(|text| (place(text), text.text().unwrap_or_default()))
        .collect();
    assert!(texts.len() > 10, "{what} has texts");
    for (index, (one, first)) in texts.iter().enumerate() {
        let inside = one[0] >= 0.0 && one[1] <= width && one[2] >= 0.0 && one[3] <= height;
        assert!(inside, "{what}: `{first}` is outside");
        for (other, second) in &texts[index + 1..] {
            assert!(!overlap(*one, *other), "{what}: `{first}` lies on `{second}`");
        }
    }
    // It is to scale: what the stack says is where the drawing has it.
    let (zero, per_mm) = (number(root, "data-zero"), number(root, "data-units-per-mm"));
    let mut seen = Vec::new();
    for line in elements(&document, "line") {
        let Some(face) = line.attribute("data-face") else { continue };
        let nm: i64 = line.attribute("data-nm").unwrap().parse().unwrap();
        let expected = match face {
            "fingers" => fit.lengths.finger.form.value(),
            "extended" => fit.lengths.bearing.extended.value(),
            "retracted" => fit.lengths.bearing.retracted.value(),
            "flange" => fit.lengths.crank.unwrap_or(picture.front.flange.at),
            "zero" => picture.chain.zero,
            _ => Length::from_nm(nm),
        };
        assert_eq!(nm, expected.nm(), "{what}: {face}");
        for x in ["x1", "x2"] {
            let scaled = zero + expected.millimetres() * per_mm;
            assert!((number(line, x) - scaled).abs() < 0.01, "{what}: {face} to scale");
        }
        seen.push(face.to_string());
    }
    for face in ["fingers", "extended", "retracted", "flange", "zero"] {
        assert!(seen.iter().any(|one| one == face), "{what} shows {face}");
    }
    // What a change does is written, and so is what nobody knows.
    let all = texts.iter().map(|(_, text)| *text).collect::<Vec<_>>().join(" ");
    for piece in &picture.pieces {
        let words = match piece.change {
            SlotChange::Stays => "",
            SlotChange::Added => "comes in",
            SlotChange::InPlaceOf { .. } => "in place of",
            SlotChange::Machined { .. } => "machined",
            SlotChange::Renewed => "a new one",
            SlotChange::TakenOut { .. } => "taken out",
        };
        let has = |words: &str| {
            // A label is wrapped where it is narrow.
            words.split(' ').all(|word| all.contains(word))
        };
        assert!(has(words), "{what}: {words} in {all}");
        assert!(!piece.broken || has("not known"), "{what}: {all}");
    }
}

/// The chain of a picture ends where the stack's own lengths are, and no step of it is lost.
fn assert_chained(fit: &Fit<'_>, picture: &Picture<'_>, what: &str) {
    let chain = &picture.chain;
    let end = |arrows: &[bellstack::stack::picture::Arrow], from: Length| {
        let mut at = from;
        for arrow in arrows {
            assert_eq!(arrow.from, at, "{what}: each arrow begins where the last one ended");
            at = arrow.to;
        }
        at
    };
    let fork = end(&chain.bearing, chain.zero);
    assert_eq!(end(&chain.fingers, chain.zero), fit.lengths.finger.form.value(), "{what}");
    assert_eq!(end(&chain.extended, fork), fit.lengths.bearing.extended.value(), "{what}");
    assert_eq!(end(&chain.retracted, fork), fit.lengths.bearing.retracted.value(), "{what}");
    let (front, rear) = (&picture.front, &picture.rear);
    assert_eq!(front.fingers - rear.extended, fit.preload, "{what}");
    assert_eq!(rear.retracted - front.fingers, fit.reserve, "{what}");
    let stands = front.fingers.max(rear.extended).min(rear.retracted.max(rear.extended));
    assert_eq!(rear.stands, stands, "{what}: the bearing stands at the fingers, within its travel");
}

/// Where a face is known, its part's own dimension puts it there.
fn assert_placed(setup: &Setup<'_>, fit: &Fit<'_>, picture: &Picture<'_>, what: &str) {
    let (front, rear) = (&picture.front, &picture.rear);
    let part = |kind: &str| setup.part(&fit.choice, kind);
    let length = |kind: &str, key: &str| part(kind).and_then(|part| part.length(key));
    let stands = |kind: &str, from: Length, to: Length, by: Option<Length>| {
        if let Some(by) = by {
            assert_eq!(to - from, by, "{what}: the {kind} is as long as it is");
        }
    };
    let cut = fit.choice.fills[setup.slot("flywheel").unwrap()].cut;
    let flywheel = length("flywheel", "thickness").map(|thickness| thickness - cut);
    stands("flywheel", front.flange.at, front.friction.at, flywheel);
    stands("step", front.friction.at, front.cover.at, length("flywheel", "cover_step"));
    stands("block plate", picture.block.at, Length::ZERO, length("block_plate", "thickness"));
    stands("bell spacer", Length::ZERO, rear.bell.at, length("bell_spacer", "thickness"));
    stands("bell", rear.bell.at, rear.bell_rear.at, length("bell_housing", "depth"));
    stands("bearing", rear.extended, rear.base.at, length("bearing", "extended_height"));
    for face in [front.flange, front.friction, front.cover, rear.gearbox, rear.seat, rear.base] {
        assert!(face.known || picture.pieces.iter().any(|piece| piece.broken), "{what}");
    }
    for piece in &picture.pieces {
        let ghost = piece.change.ghost();
        let (Some(ghost), SlotChange::InPlaceOf { longer: Some(longer), .. }) =
            (ghost, piece.change)
        else {
            continue;
        };
        let long = |(from, to): (Length, Length)| to - from;
        // A shim that is laid between faces of readings may be drawn otherwise than it is.
        if matches!(piece.kind, "flywheel" | "bell_spacer" | "block_plate" | "bell_housing") {
            assert_eq!(long(piece.span) - long(ghost.span), longer, "{what}: {}", piece.kind);
        }
    }
}

/// Draws a stack in both units and holds it to everything.
fn assert_stack<'a>(setup: &Setup<'a>, fit: Fit<'a>, what: &str) {
    let report = OneStack::of(setup, fit, None, false);
    assert_chained(&report.judged.fit, &report.picture, what);
    assert_placed(setup, &report.judged.fit, &report.picture, what);
    for unit in [Unit::In, Unit::Mm] {
        let svg = fit_svg(setup, &report, View::new(unit, 100));
        assert_drawn(&svg, &report.judged.fit, &report.picture, what);
    }
}

/// Draws some stacks of a random shop; returns how many there were.
fn draw_random(seed: u64, most: usize) -> usize {
    let shop = if seed.is_multiple_of(2) { shop(seed, 3) } else { landing(seed, 3) };
    let Ok(setup) = Setup::new(&shop.library, &shop.job) else { return 0 };
    let mut dice = Dice::new(seed ^ 0x0d2a_3141);
    let mut drawn = 0;
    let fitted = Choice { fills: setup.fitted.clone() };
    if setup.complete(&fitted).is_ok()
        && let Ok(fit) = evaluate(&setup, &fitted)
    {
        assert_stack(&setup, fit, &format!("seed {seed} as fitted"));
        drawn += 1;
    }
    let Ok(all) = candidates(&setup, &Ask::default()) else { return drawn };
    if all.slots.iter().any(Vec::is_empty) {
        return drawn;
    }
    for round in 0..most * 6 {
        let fills = all.slots.iter().map(|fills| dice.pick(fills).clone()).collect();
        let choice = Choice { fills };
        if setup.complete(&choice).is_err() {
            continue;
        }
        if let Ok(fit) = evaluate(&setup, &choice) {
            assert_stack(&setup, fit, &format!("seed {seed} round {round}"));
            drawn += 1;
        }
        if drawn > most {
            break;
        }
    }
    drawn
}

#[test]
fn random_stacks_are_drawn_to_scale_with_no_text_on_another() {
    let drawn: usize = (0..60).map(|seed| draw_random(seed, 3)).sum();
    assert!(drawn > 100, "{drawn} stacks were drawn");
}

#[test]
#[ignore = "a long hunt"]
fn a_thousand_random_shops_are_drawn() {
    let drawn: usize = (0..1_000).map(|seed| draw_random(seed, 8)).sum();
    println!("{drawn} stacks were drawn in both units");
    assert!(drawn > 3_000, "{drawn} stacks were drawn");
}

/// Runs `fit` in the demo shop, with what was put into it before, and checks the file as a file.
fn drawn(program: &Program, line: &str) -> String {
    let ran = program.run(&format!("fit {line} --format svg"));
    assert!(ran.status <= 1 && ran.err.is_empty(), "`{line}`: {}", ran.err);
    let document = Document::parse(&ran.out).unwrap();
    let texts = elements(&document, "text");
    let places: Vec<Place> = texts.iter().map(|text| place(*text)).collect();
    for (index, one) in places.iter().enumerate() {
        for (other, text) in places[index + 1..].iter().zip(&texts[index + 1..]) {
            assert!(!overlap(*one, *other), "`{line}`: {:?}", text.text());
        }
    }
    let all: Vec<&str> = texts.iter().filter_map(Node::text).collect();
    all.join("\n")
}

#[test]
fn the_demo_jobs_are_drawn_in_both_units() {
    let program = Program::demo();
    for job in ["tight-slate", "loose-amber", "worn-slate", "short-slate", "unsure-amber"] {
        for units in ["in", "mm"] {
            let texts = drawn(&program, &format!("{job} --units {units}"));
            assert!(texts.contains("preload") && texts.contains("reserve"), "{texts}");
            let measured = texts.contains(", measured");
            assert!(measured, "{texts}");
        }
    }
}

#[test]
fn thin_shims_spacers_sets_and_what_is_on_the_bench_have_labels_of_their_own() {
    let program = Program::demo();
    program.answer("part add bearing_shim SH-T015 thickness=\"0.015 in\" seat_pattern=seat-46");
    let texts = drawn(
        &program,
        "tight-slate --with 'bearing_shims=SH-T015|SH-S030' --with flywheel=FW-S0900 \
         --with block_plate=BP-S060 --with bell_spacer=BS-S250 --with gearbox_spacer=GS-C6",
    );
    for words in ["SH-T015, 0.015 in", "SH-S030, 0.030 in", "comes in", "0.100 in thinner"] {
        assert!(texts.contains(words), "{words} in {texts}");
    }
    let texts =
        drawn(&program, "tight-slate --with pressure_plate=MS-S199 --with bearing_shims=none");
    assert!(texts.contains("matched set") && texts.contains("taken out"), "{texts}");
    let texts = drawn(&program, "tight-slate --machine-to \"0.950 in\"");
    assert!(texts.contains("machined to 0.950 in") && texts.contains("0.050 in off"), "{texts}");
    // A reading before another, so that only the bench knows the parts.
    let readings = "finger_depth=\"3.26 in\" bearing_depth_extended=\"2.2 in\" \
                    bearing_depth_retracted=\"3.15 in\"";
    program.answer(&format!("job add bench {readings}"));
    let texts = drawn(&program, "bench");
    assert!(texts.contains("as on the bench") && texts.contains("not known"), "{texts}");
    program.answer("job edit tight-slate \"clutch_height=2.000 in\"");
    let texts = drawn(&program, "tight-slate");
    assert!(texts.contains("preload -0.070 in") && texts.contains("out of reach"), "{texts}");
}

#[test]
fn how_each_reading_is_taken_is_drawn_with_no_text_on_another() {
    for spec in READINGS {
        for (over_plate, recessed) in [(false, false), (true, false), (false, true), (true, true)] {
            let sketch = Sketch { reading: spec.reading, over_plate, recessed };
            let svg = reading_sketch(sketch, "one").into_string();
            let document = Document::parse(&svg).unwrap();
            let view = document.root_element().attribute("viewBox").unwrap().to_string();
            let view: Vec<f64> = view.split(' ').map(|n| n.parse().unwrap()).collect();
            let texts = elements(&document, "text");
            let places: Vec<Place> = texts.iter().map(|text| place(*text)).collect();
            let words: Vec<&str> = texts.iter().filter_map(Node::text).collect();
            for (index, one) in places.iter().enumerate() {
                let inside =
                    one[0] >= 0.0 && one[1] <= view[2] && one[2] >= 0.0 && one[3] <= view[3];
                assert!(inside, "{}: `{}` is outside", spec.key, words[index]);
                for (other, text) in places[index + 1..].iter().zip(&words[index + 1..]) {
                    assert!(!overlap(*one, *other), "{}: `{text}`", spec.key);
                }
            }
            for (x, y) in points(&document) {
                assert!(
                    (0.0..=view[2]).contains(&x) && (0.0..=view[3]).contains(&y),
                    "{}",
                    spec.key
                );
            }
            // The two faces are named, and the bar where one may lie between.
            let faces = words.iter().filter(|word| word.contains("fac") || word.contains("tips"));
            assert!(faces.count() >= 1 && words.len() >= 4, "{words:?}");
            let has_bar = spec.key != "fitted_disc_thickness";
            assert_eq!(words.contains(&"bar"), has_bar, "{words:?}");
            let on_block = ["crank_protrusion", "finger_depth"].contains(&spec.key);
            let plate = words.iter().any(|word| word.contains("block plate"));
            assert_eq!(plate, on_block && over_plate, "{words:?}");
        }
    }
}

#[test]
fn a_small_bar_has_a_name_and_no_text() {
    let first = (0..100).find_map(|seed| {
        let shop = shop(seed, 2);
        let setup = Setup::new(&shop.library, &shop.job).ok()?;
        let choice = Choice { fills: setup.fitted.clone() };
        let fit = evaluate(&setup, &choice).ok()?;
        Some(Travel::of(&fit))
    });
    let bar = small_bar(&first.unwrap(), Unit::In, "row7").into_string();
    let document = Document::parse(&bar).unwrap();
    assert!(elements(&document, "text").is_empty());
    assert!(elements(&document, "title")[0].text().is_some_and(|text| text.contains(" in")));
    assert!(document.root_element().attribute("aria-labelledby").unwrap().contains("row7"));
}

#[test]
fn a_name_that_holds_markup_or_a_control_character_stays_a_name() {
    let program = Program::demo();
    let name =
        "job edit tight-slate \"description=<script>alert(1)</script> & \u{1b}[31m \u{202e}x\"";
    let ran = program.run(name);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let texts = drawn(&program, "tight-slate");
    assert!(texts.contains("<script>alert(1)</script> &"), "{texts}");
    assert!(!texts.contains('\u{1b}') && !texts.contains('\u{202e}'), "{texts:?}");
    let ran = program.run_in(&["fit", "tight-slate", "--format", "svg"], |_: &mut Env<'_>| {});
    assert!(!ran.out.contains("<script>"), "markup is escaped");
}

#[test]
fn the_same_stack_makes_the_same_drawing() {
    let program = Program::demo();
    let line = "fit tight-slate --format svg --with block_plate=BP-S125";
    assert_eq!(program.run(line), program.run(line));
}

#[test]
fn the_picture_of_the_readme_is_what_the_program_draws() {
    let program = Program::demo();
    let line = "fit tight-slate --with block_plate=BP-S125 --format svg";
    golden("fit-plate.svg", &program.answer(line));
    let readme = concat!(env!("CARGO_MANIFEST_DIR"), "/README.md");
    let readme = std::fs::read_to_string(readme).unwrap();
    assert!(readme.contains("](tests/data/fit-plate.svg)") && readme.contains(line));
}
