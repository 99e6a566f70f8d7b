//! Every page as it is laid out: nothing wider than its screen, nothing too small for a finger, no
//! finding of the rules of accessibility, light and dark.

use bellstack::serve::AskLimits;
use fantoccini::Client;

use crate::Test;
use crate::browser::{AXE, program, whole, with_scripts, written};
use crate::eyes::{Eyes, WIDTHS};
use crate::program::Program;
use crate::served::Served;

pub(crate) const TESTS: &[Test] = &[
    ("every_page_is_accessible_and_fits_its_screen", with_script),
    ("every_page_fits_its_screen_without_scripts_too", without_script),
    ("the_way_in_is_accessible", way_in),
    ("a_page_framed_from_elsewhere_stays_blank", framed),
];

/// Every page, each with a name for its screenshot and with what it shows.
const PAGES: &[(&str, &str, &str)] = &[
    ("today", "/", "Too tight"),
    ("today-found", "/?words=amber", "car"),
    ("new", "/new", "Three readings answer it"),
    ("enter-plate", "/car/enter?job=tight-slate&step=block_plate", "plate between"),
    ("enter-crank", "/car/enter?job=tight-slate&step=crank_protrusion", "recessed"),
    ("enter-depth", "/car/enter?job=worn-slate&step=finger_depth", "So far"),
    ("enter-disc", "/car/enter?job=worn-slate&step=fitted_disc_state", "worn"),
    ("enter-window", "/car/enter?job=short-slate&step=window", "ask for"),
    ("car-tight", "/car?job=tight-slate", "Too tight"),
    ("car-loose", "/car?job=loose-amber", "Too loose"),
    ("car-worn", "/car?job=worn-slate", "In its window"),
    ("car-short", "/car?job=short-slate", "travel"),
    ("car-unsure", "/car?job=unsure-amber", "Next:"),
    ("car-paper", "/car?job=paper-slate", "On paper"),
    (
        "car-many",
        "/car?job=tight-slate&bearing_shims=SH-S030&bearing_shims=SH-U050&flywheel=FW-S0900\
         &block_plate=BP-S060&bell_spacer=BS-S250&gearbox_spacer=GS-C6",
        "Tried, not stored",
    ),
    ("car-refused", "/car?job=tight-slate&flywheel=NO-SUCH", "there is no flywheel"),
    ("cures", "/car/cures?job=tight-slate", "Dimensions to look for"),
    ("ranking", "/car/cures?job=paper-slate", "combinations land"),
    ("keep", "/car/keep?job=tight-slate&flywheel=FW-S0900", "What changes"),
    ("edit-car", "/car/edit?job=tight-slate", "clutch height"),
    ("parts", "/parts", "parts."),
    ("parts-kind", "/parts?kind=bearing&job=tight-slate", "retracted height"),
    ("part", "/part?id=FW-S1000", "As it measured"),
    ("edit-part", "/part/edit?id=PP-S190", "finger ratio"),
    ("new-part", "/part/new?kind=bearing", "Part number"),
    ("measure", "/measure", "Which part lies"),
    ("measure-part", "/measure?part=FW-S1000", "needed in a stack"),
    ("look", "/look", "things to look at"),
    ("record", "/record", "Still holds"),
    ("answer", "/answer?name=first", "The fitted stack then"),
    ("devices", "/devices", "Another device"),
    ("nowhere", "/nowhere", "no such page"),
];

/// What is wider than the screen and does not move within a place of its own, and what is smaller than
/// a finger. A link within a sentence is as high as its line.
const MEASURE: &str = r"
    const wrong = [];
    const wide = document.documentElement.scrollWidth;
    if (wide > innerWidth) wrong.push(`the page is ${wide} wide on a screen of ${innerWidth}`);
    for (const one of document.querySelectorAll('a, button, input, select, summary')) {
        const box = one.getBoundingClientRect();
        const hidden = box.width < 2 || one.type === 'hidden' || one.matches('.skip')
            || !one.checkVisibility();
        const inline = one.tagName === 'A' && getComputedStyle(one).display === 'inline';
        const chosen = /radio|checkbox/.test(one.type) ? one.closest('label').getBoundingClientRect() : box;
        const large = Math.min(chosen.width, chosen.height) >= 43.5 || chosen.height >= 43.5;
        if (!hidden && !inline && !large) wrong.push(`${one.outerHTML.slice(0, 120)} is ${chosen.height} high`);
        if (!hidden && box.right > innerWidth + 1 && !one.closest('.wide, .drawing')) {
            wrong.push(`${one.outerHTML.slice(0, 120)} is beyond the screen`);
        }
    }
    return wrong;
";

const RULES: &str = r"
    const done = arguments[0];
    axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'] })
        .then(found => done(found.violations.map(rule => `${rule.id}: ${rule.help}: `
            + rule.nodes.slice(0, 4).map(node => node.target.join(' ') + ' ' + (node.any[0]?.message || '')).join('; '))))
        .catch(error => done(['axe failed: ' + error]));
";

/// The rules of accessibility, as a script.
pub(crate) fn rules() -> String {
    std::fs::read_to_string(program(AXE)).unwrap()
}

/// Says everything that is wrong with the page. The rules need a script to look at it.
pub(crate) async fn looked_at(eyes: &Eyes, rules: &str) -> Vec<String> {
    let mut found = vec![eyes.ask(MEASURE).await];
    if eyes.script {
        eyes.ask(rules).await;
        found.push(eyes.client.execute_async(RULES, Vec::new()).await.unwrap());
    }
    let each = found.iter().flat_map(|found| found.as_array().unwrap());
    each.map(|one| one.as_str().unwrap().into()).collect()
}

fn shop() -> Program {
    let program = Program::demo();
    for line in [
        "reading add FW-S1000#A thickness 1.001 1.0005 1.002 in --condition new --instrument caliper-0.02",
        "reading add FW-S1000#B thickness 1.0008 1.0012 in --condition new --instrument caliper-0.02",
        "reading add FW-S1000#C thickness 0.9985 0.999 in --condition used",
        "answer keep worn-slate --fit --as first",
    ] {
        let ran = program.run(line);
        assert!(ran.status <= 1, "`{line}`: {}", ran.err);
    }
    program
}

/// Of all screens the narrowest one by day and the widest one by night.
fn sample(width: u32, scheme: &str) -> bool {
    width == if scheme == "light" { WIDTHS[0] } else { WIDTHS[2] }
}

fn every(script: bool) {
    let rules = rules();
    let served = Served::with(shop(), AskLimits::default());
    let mut wrong = Vec::new();
    with_scripts(script, async |client: Client| {
        let mut eyes = Eyes::let_in(&client, &served, WIDTHS[0], script).await;
        for width in WIDTHS {
            eyes.width = width;
            for scheme in ["light", "dark"] {
                // Without scripts nothing is laid out otherwise in the dark.
                if !script && scheme == "dark" || !whole() && !sample(width, scheme) {
                    continue;
                }
                eyes.screen(scheme).await;
                for (name, path, shows) in PAGES {
                    eyes.open(path).await;
                    eyes.see(shows).await;
                    if script
                        && path.starts_with("/car?")
                        && *name != "car-refused"
                        && *name != "car-paper"
                    {
                        eyes.see("All changes, and what to look for").await;
                    }
                    for one in looked_at(&eyes, &rules).await {
                        wrong.push(format!("{name} at {width}, {scheme}: {one}"));
                    }
                    if script {
                        eyes.shot(&format!("page-{name}-{scheme}")).await;
                    }
                }
            }
        }
    });
    assert!(wrong.is_empty(), "{} findings:\n{}", wrong.len(), wrong.join("\n"));
}

fn with_script() {
    every(true);
}

fn without_script() {
    every(false);
}

fn way_in() {
    let rules = rules();
    let mut wrong = Vec::new();
    with_scripts(true, async |client: Client| {
        let all = WIDTHS.iter().flat_map(|width| [(*width, "light"), (*width, "dark")]);
        for (width, scheme) in all.filter(|(width, scheme)| whole() || sample(*width, scheme)) {
            let served = Served::with(Program::demo(), AskLimits::default());
            let code = served.code();
            let eyes = Eyes::let_in(&client, &served, width, true).await;
            eyes.screen(scheme).await;
            let mut look = async |name: &str| {
                let found = looked_at(&eyes, &rules).await;
                wrong.extend(found.iter().map(|one| format!("{name} at {width}, {scheme}: {one}")));
                eyes.shot(&format!("page-{name}-{scheme}")).await;
            };
            eyes.open("/devices").await;
            eyes.tap_named("Let another device in").await;
            eyes.see("It lets one device in, once.").await;
            look("invited").await;
            client.delete_all_cookies().await.unwrap();
            eyes.open("/").await;
            eyes.see("This device is not let in yet").await;
            look("outside").await;
            eyes.open(&format!("/in/{code}")).await;
            eyes.see("Let this device in").await;
            look("knock").await;
            eyes.tap("button").await;
            eyes.see("used already").await;
            look("void").await;
        }
    });
    assert!(wrong.is_empty(), "{} findings:\n{}", wrong.len(), wrong.join("\n"));
}

/// A page of another origin that frames one of the shop's is shown nothing of it.
fn framed() {
    let served = Served::with(Program::demo(), AskLimits::default());
    with_scripts(true, async |client: Client| {
        let eyes = Eyes::let_in(&client, &served, WIDTHS[1], true).await;
        let outer = |inner: &str| {
            let page = format!("<title>other</title><iframe src=\"{inner}\"></iframe>");
            written("framing.html", &page)
        };
        let inside = async |address: &str| {
            client.goto(&outer(address)).await.unwrap();
            client.clone().enter_frame(0).await.unwrap();
            let text = eyes.text().await;
            client.clone().enter_parent_frame().await.unwrap();
            text
        };
        // A page that may be framed is seen in the frame, so that this test can fail.
        let plain = written("framed.html", "<p>Today</p>");
        assert!(inside(&plain).await.contains("Today"));
        for path in ["/", "/car?job=tight-slate", "/in/abcd"] {
            let seen = inside(&format!("http://{}{path}", served.at)).await;
            for word in ["Today", "tight-slate", "Too tight", "Let this device in"] {
                assert!(!seen.contains(word), "{path}: {seen}");
            }
        }
    });
}
