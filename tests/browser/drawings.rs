//! Drawings as a browser lays them out, with the typefaces of this machine.

use bellstack::model::length::Unit;
use bellstack::report::{View, fit_svg};
use bellstack::stack::choice::{Choice, Setup};
use bellstack::stack::fit::evaluate;
use bellstack::stack::shown::OneStack;
use fantoccini::Client;

use crate::Test;
use crate::browser::{kept, with_browser, written};
use crate::program::Program;
use crate::random::shop;

pub(crate) const TESTS: &[Test] = &[
    ("no_text_of_a_drawing_touches_another_as_it_is_rendered", no_text_touches),
    ("random_drawings_are_rendered_with_no_text_on_another", random_drawings),
];

/// Pairs of texts whose real boxes overlap, texts outside of the view, and how many texts there are.
const MEASURE: &str = r"
    const svg = document.querySelector('svg');
    const view = svg.viewBox.baseVal;
    const texts = [...svg.querySelectorAll('text')].map(text => [text.textContent, text.getBBox()]);
    const wrong = [];
    texts.forEach(([words, box], index) => {
        // Line boxes are taller than letters: what is left and right of them counts in full.
        const inside = box.x >= -0.5 && box.x + box.width <= view.width + 0.5
            && box.y >= -3 && box.y + box.height <= view.height + 3;
        if (!inside) wrong.push('outside: ' + words);
        for (const [other, next] of texts.slice(index + 1)) {
            const apart = box.x + box.width <= next.x + 0.2 || next.x + next.width <= box.x + 0.2
                || box.y + box.height * 0.8 <= next.y + next.height * 0.2
                || next.y + next.height * 0.8 <= box.y + box.height * 0.2;
            if (!apart) wrong.push(words + ' on ' + other);
        }
    });
    return [texts.length, wrong];
";

async fn assert_clear(client: &Client, address: &str) {
    client.goto(address).await.unwrap();
    let found = client.execute(MEASURE, Vec::new()).await.unwrap();
    assert!(found[0].as_u64().unwrap() > 10, "{address} has texts: {found}");
    assert!(found[1].as_array().unwrap().is_empty(), "{address}: {}", found[1]);
}

/// Stacks that are hard to draw.
const LINES: &[(&str, &str)] = &[
    ("tight", "fit tight-slate"),
    ("loose", "fit loose-amber --units mm"),
    ("worn", "fit worn-slate"),
    ("short", "fit short-slate"),
    ("bench", "fit unsure-amber --units mm"),
    (
        "many",
        "fit tight-slate --with bearing_shims=SH-S030|SH-U050 --with flywheel=FW-S0900 \
         --with block_plate=BP-S060 --with bell_spacer=BS-S250 --with gearbox_spacer=GS-C6",
    ),
    ("set", "fit tight-slate --with pressure_plate=MS-S199 --with bearing_shims=none"),
];

fn no_text_touches() {
    let program = Program::demo();
    with_browser(async |client| {
        client.set_window_size(1000, 900).await.unwrap();
        for (name, line) in LINES {
            let ran = program.run(&format!("{line} --format svg"));
            assert!(ran.status <= 1, "{}", ran.err);
            let address = written(&format!("stack-{name}.svg"), &ran.out);
            assert_clear(&client, &address).await;
            let picture = client.screenshot().await.unwrap();
            std::fs::write(kept(&format!("stack-{name}.png")), picture).unwrap();
        }
    });
}

fn random_drawings() {
    with_browser(async |client| {
        let mut drawn = 0;
        for seed in 0..80 {
            let shop = shop(seed, 3);
            let Ok(setup) = Setup::new(&shop.library, &shop.job) else { continue };
            let choice = Choice { fills: setup.fitted.clone() };
            if setup.complete(&choice).is_err() {
                continue;
            }
            let Ok(fit) = evaluate(&setup, &choice) else { continue };
            let report = OneStack::of(&setup, fit, None, false);
            let svg = fit_svg(&setup, &report, View::new(Unit::Mm, 100));
            assert_clear(&client, &written("stack-random.svg", &svg)).await;
            drawn += 1;
        }
        assert!(drawn >= 20, "{drawn} stacks were drawn");
    });
}
