//! What people come to the bench page for, from the first tap to the last, with scripts and without, on
//! a telephone, a tablet and a desk.

use bellstack::serve::AskLimits;
use fantoccini::Client;
use fantoccini::key::Key;
use fantoccini::wd::PrintSize;

use crate::Test;
use crate::browser::{whole, with_scripts};
use crate::eyes::{Eyes, WIDTHS};
use crate::pages::{looked_at, rules};
use crate::program::Program;
use crate::served::Served;
use crate::sheets::sides;

pub(crate) const TESTS: &[Test] = &[
    ("a_car_is_entered_from_an_empty_catalog_to_a_verdict", entry),
    ("a_cure_is_tried_and_kept", cure),
    ("a_slot_is_changed_as_a_what_if_at_once", what_if),
    ("a_part_is_found_by_its_dimension_and_tried", found),
    ("a_piece_is_measured_and_a_slip_is_questioned", measured),
    ("a_sheet_is_printed_from_the_page", sheet),
    ("two_tablets_edit_the_same_job_and_nothing_is_overwritten_unseen", two),
    ("everything_can_be_done_with_the_keyboard_alone", keyboard),
];

/// Goes through a journey at every width, with scripts and without, each time in a shop of its own; of a
/// sample with scripts on the narrowest screen and without them on the middle one.
#[expect(clippy::needless_pass_by_value, reason = "a journey is written where it is gone")]
fn each(shop: fn() -> Program, journey: impl AsyncFn(&Eyes, &Served)) {
    for script in [true, false] {
        with_scripts(script, async |client: Client| {
            let sample = if script { &WIDTHS[..1] } else { &WIDTHS[1..2] };
            for &width in if whole() { &WIDTHS } else { sample } {
                let served = Served::with(shop(), AskLimits::default());
                let eyes = Eyes::let_in(&client, &served, width, script).await;
                journey(&eyes, &served).await;
            }
        });
    }
}

/// A screenshot of where a journey is, and a look at it by all rules for pages.
async fn shot(eyes: &Eyes, what: &str) {
    let name = format!("{what}{}", if eyes.script { "" } else { "-noscript" });
    eyes.shot(&name).await;
    let wrong = looked_at(eyes, &rules()).await;
    assert!(wrong.is_empty(), "{name} at {}:\n{}", eyes.width, wrong.join("\n"));
}

fn entry() {
    each(
        || {
            let program = Program::new();
            for line in ["part add disc D-1", "part remove D-1"] {
                assert_eq!(program.run(line).status, 0, "{line}");
            }
            program
        },
        async |eyes, served| {
            eyes.see("There is no car in the catalog yet").await;
            eyes.tap_named("New car").await;
            eyes.sign().await;
            eyes.type_in("job", "Grey coupe").await;
            eyes.tap_named("Begin").await;
            eyes.at("/car/enter").await;
            eyes.see("Is there a plate between block and bell housing?").await;
            eyes.choose("plate", "none").await;
            eyes.tap_named("Store and go on").await;
            eyes.see("On the car").await;
            eyes.type_in("finger_depth", "3.195").await;
            eyes.type_in("finger_depth_bar", "1/4").await;
            shot(eyes, "entry-reading").await;
            eyes.tap_named("Store and go on").await;
            eyes.see("Is the disc that is fitted worn?").await;
            eyes.choose("fitted_disc_state", "new").await;
            eyes.tap_named("Store and go on").await;
            eyes.see("Bearing depth extended").await;
            // A slip: the depth in millimetres among inches.
            eyes.type_in("bearing_depth_extended", "55.88").await;
            if eyes.script {
                // At once, before it is sent.
                eyes.see("55.88 mm is").await;
            }
            eyes.tap_named("Store and go on").await;
            eyes.see("55.88 mm is").await;
            shot(eyes, "entry-slip").await;
            eyes.type_in("bearing_depth_extended", "2.2").await;
            eyes.tap_named("Store and go on").await;
            eyes.see("Preload 0.745 in: 0.145 in over the least 0.600 in.").await;
            // Away, and back through Today.
            eyes.open("/").await;
            eyes.tap_named("Grey coupe").await;
            eyes.tap_named("Readings").await;
            eyes.at("/car/enter").await;
            eyes.see("Bearing depth retracted").await;
            eyes.type_in("bearing_depth_retracted", "3.15").await;
            if eyes.script {
                eyes.see("With it: Likely, preload 0.745 in, reserve 0.205 in").await;
                // Away without sending it, and back: what was typed is there.
                let here = eyes.client.current_url().await.unwrap();
                eyes.open("/").await;
                eyes.client.goto(here.as_str()).await.unwrap();
                let typed =
                    "return document.querySelector('main [name=bearing_depth_retracted]').value";
                assert_eq!(eyes.ask(typed).await, "3.15");
            }
            eyes.tap_named("Store and go on").await;
            eyes.see("reserve 0.205 in").await;
            eyes.choose("crank_pushed", "front").await;
            eyes.tap_named("Store and go on").await;
            eyes.see("What does the clutch ask for?").await;
            eyes.tap_named("Pass over").await;
            eyes.see("In its window").await;
            shot(eyes, "entry-verdict").await;
            assert!(served.says("fit 'Grey coupe'").contains("Preload 0.745 in"));
        },
    );
}

fn cure() {
    each(Program::demo, async |eyes, served| {
        eyes.tap_named("tight-slate").await;
        eyes.see("Too tight").await;
        if !eyes.script {
            eyes.tap_named("Find the smallest changes").await;
        }
        eyes.see("block_plate: none -> BP-S125").await;
        shot(eyes, "cures").await;
        eyes.tap("ol.offers a.try").await;
        eyes.see("Tried, not stored: block plate BP-S125").await;
        eyes.see("In its window: sure").await;
        shot(eyes, "tried").await;
        assert!(
            served.says("job show tight-slate").contains("block_plate                 (blank)")
        );
        eyes.tap_named("Keep on this job").await;
        eyes.see("What changes").await;
        eyes.sign().await;
        shot(eyes, "keep").await;
        eyes.tap("form.keep button").await;
        eyes.at("/car").await;
        eyes.see("In its window: sure").await;
        let shown = served.says("job show tight-slate");
        assert!(shown.contains("block_plate                 BP-S125"), "{shown}");
        eyes.open("/").await;
        eyes.see("Sure").await;
    });
}

fn what_if() {
    each(Program::demo, async |eyes, served| {
        eyes.open("/car?job=tight-slate").await;
        eyes.pick("flywheel", "FW-S0900").await;
        if !eyes.script {
            eyes.tap("#try button").await;
        }
        eyes.see("Tried, not stored: flywheel FW-S0900").await;
        eyes.see("In its window: sure").await;
        let address = eyes.client.current_url().await.unwrap();
        assert!(
            address.as_str().contains("flywheel=FW-S0900"),
            "it can be come back to: {address}"
        );
        // Both units at a tap, and what is tried stays.
        eyes.tap("button.unit").await;
        eyes.see("preload 18.6").await;
        eyes.see("Tried, not stored: flywheel FW-S0900").await;
        eyes.tap_named("As fitted").await;
        eyes.see("Too tight").await;
        assert!(served.says("job show tight-slate").contains("FW-S1000"));
    });
}

fn found() {
    each(Program::demo, async |eyes, _| {
        eyes.open("/car/cures?job=tight-slate").await;
        eyes.tap_named("find the flywheel").await;
        eyes.see("To be tried on tight-slate").await;
        eyes.see("FW-S0900").await;
        shot(eyes, "found").await;
        eyes.tap_named("Try FW-S0900").await;
        eyes.see("In its window: sure").await;
        // The same by hand, from the list of all parts.
        eyes.open("/parts").await;
        eyes.pick("kind", "block_plate").await;
        eyes.tap("form.parts button").await;
        eyes.see("At least, in").await;
        eyes.pick("dimension", "thickness").await;
        eyes.type_in("least", "0.1").await;
        eyes.type_in("most", "0.13").await;
        eyes.tap("form.parts button").await;
        eyes.see("2 parts.").await;
        eyes.see("BP-S125").await;
        let shown = eyes.text().await;
        assert!(!shown.contains("BP-S060"), "{shown}");
    });
}

fn measured() {
    each(Program::demo, async |eyes, served| {
        eyes.tap_named("Measure").await;
        eyes.at("/measure").await;
        eyes.see("Which part lies on the bench?").await;
        eyes.type_in("words", "FW-S1000").await;
        eyes.tap_named("Find").await;
        eyes.tap_named("FW-S1000").await;
        eyes.see("Measure FW-S1000").await;
        eyes.sign().await;
        eyes.type_in("piece", "A").await;
        eyes.choose("condition", "new").await;
        eyes.pick("instrument", "caliper-0.02").await;
        eyes.type_in("thickness", "1.101 1.1005").await;
        if eyes.script {
            eyes.see("mean 1.1008 in").await;
            eyes.see("a tenth of an inch off").await;
        }
        eyes.tap("form.bench > button").await;
        eyes.see("Nothing is stored yet").await;
        eyes.see("a tenth of an inch off").await;
        shot(eyes, "measure-slip").await;
        assert!(served.says("reading list").contains("No reading is listed."));
        eyes.type_in("thickness", "1.001 1.0005 1.002").await;
        eyes.tap("form.bench > button").await;
        eyes.at("/part").await;
        eyes.see("As it measured").await;
        eyes.see("A (new)").await;
        shot(eyes, "measured").await;
        assert!(served.says("reading list").contains("1.0012"));
    });
}

fn sheet() {
    each(Program::demo, async |eyes, _| {
        eyes.open("/car?job=tight-slate&block_plate=BP-S125").await;
        eyes.tap_named("Sheet to print").await;
        eyes.see("signature").await;
        eyes.see("In its window: sure").await;
        let name = format!("page-sheet-{}-{}", eyes.width, eyes.script);
        assert_eq!(sides(&eyes.client, &name, PrintSize::A4).await, 1);
        eyes.open("/car/sheet?job=tight-slate&blank=1").await;
        eyes.see("To be filled in at the car").await;
    });
}

fn two() {
    each(Program::demo, async |eyes, served| {
        let other = served.second();
        eyes.open("/car/edit?job=tight-slate").await;
        eyes.sign().await;
        eyes.type_in("torque", "600").await;
        // Meanwhile, on the other tablet.
        let seen = other.page("/car/edit?job=tight-slate").field("seen");
        let theirs = [
            ("job", "tight-slate"),
            ("seen", seen.as_str()),
            ("description", "Comes back on Friday"),
            ("was.description", "Too tight: reserve too small"),
        ];
        assert_eq!(other.form("/car/edit", &theirs).status, 303);
        eyes.tap_named("Store").await;
        eyes.see("Changed in the meantime").await;
        eyes.see("Comes back on Friday").await;
        eyes.see("torque: 600").await;
        shot(eyes, "two-tablets").await;
        eyes.tap_named("Look at yours again").await;
        eyes.see("Numbers are in").await;
        let typed = eyes.ask("return document.querySelector('main [name=torque]').value").await;
        assert_eq!(typed, "600");
        eyes.tap_named("Store").await;
        eyes.at("/car").await;
        eyes.see("Comes back on Friday").await;
        let shown = served.says("job show tight-slate");
        assert!(shown.contains("600 N m") && shown.contains("Comes back on Friday"), "{shown}");
    });
}

fn keyboard() {
    each(Program::demo, async |eyes, served| {
        eyes.open("/").await;
        eyes.tab_to("a.skip").await;
        eyes.press(Key::Enter).await;
        eyes.tab_to("ol.cars a[href*='tight-slate']").await;
        eyes.press(Key::Enter).await;
        eyes.see("Too tight").await;
        eyes.tab_to("#try select[name='block_plate']").await;
        eyes.client.active_element().await.unwrap().send_keys("BP-S125").await.unwrap();
        if !eyes.script {
            eyes.tab_to("#try button").await;
            eyes.press(Key::Enter).await;
        }
        eyes.see("Tried, not stored: block plate BP-S125").await;
        eyes.open("/car?job=tight-slate&block_plate=BP-S125").await;
        eyes.tab_to(".tried a.main").await;
        eyes.press(Key::Enter).await;
        eyes.see("What changes").await;
        eyes.tab_to("main [name='by']").await;
        eyes.client.active_element().await.unwrap().send_keys("Kim").await.unwrap();
        eyes.tab_to("form.keep button").await;
        eyes.press(Key::Enter).await;
        eyes.at("/car").await;
        eyes.see("In its window: sure").await;
        assert!(served.says("history --job tight-slate").contains("block_plate=BP-S125"));
    });
}
