//! A new car, asked for one question at a time.

use bellstack::serve::AskLimits;

use crate::browser::{Browser, Served};
use crate::program::Program;

fn empty() -> Served {
    let program = Program::new();
    // As good as what `serve` makes where there is none yet.
    for line in ["part add disc D-1", "part remove D-1"] {
        assert_eq!(program.run(line).status, 0, "{line}");
    }
    Served::with(program, AskLimits::default())
}

/// Answers one question and returns where it leads.
fn answer(device: &Browser, job: &str, step: &str, fields: &[(&str, &str)]) -> String {
    let page = device.page(&format!("/car/enter?job={job}&step={step}"));
    let seen = page.field("seen");
    let all = [&[("job", job), ("seen", seen.as_str())], fields].concat();
    let said = device.form(&format!("/car/enter?step={step}"), &all);
    assert_eq!(said.status, 303, "{step}: {}", said.body);
    said.header("location").unwrap().to_string()
}

#[test]
fn three_readings_lead_from_an_empty_catalog_to_a_verdict_without_a_part_number() {
    let served = empty();
    let device = served.device();
    assert!(device.page("/").body.contains("There is no car in the catalog yet"));
    let begun = device.form("/new", &[("job", "coupe"), ("description", "slips in fourth")]);
    assert_eq!(begun.header("location"), Some("/car/enter?job=coupe&step=block_plate"));
    let next = answer(&device, "coupe", "block_plate", &[("plate", "none")]);
    assert_eq!(next, "/car/enter?job=coupe&step=finger_depth");
    let asked = device.page(&next).body;
    for word in ["finger tips", "<svg", "Over a bar", "Still to be read for a verdict"] {
        assert!(asked.contains(word), "{word}");
    }
    let reading = [("finger_depth", "3.195"), ("finger_depth_bar", "1/4"), ("in_unit", "in")];
    answer(&device, "coupe", "finger_depth", &reading);
    answer(&device, "coupe", "fitted_disc_state", &[("fitted_disc_state", "new")]);
    let next =
        answer(&device, "coupe", "bearing_depth_extended", &[("bearing_depth_extended", "2.2 in")]);
    let grows = device.page(&next).body;
    assert!(
        grows.contains("Preload 0.745 in</strong>: 0.145 in over the least 0.600 in"),
        "{grows}"
    );
    let next = answer(
        &device,
        "coupe",
        "bearing_depth_retracted",
        &[("bearing_depth_retracted", "80.01"), ("in_unit", "mm")],
    );
    assert!(device.page(&next).body.contains("reserve 0.205 in"));
    answer(&device, "coupe", "crank_pushed", &[("crank_pushed", "front")]);
    let end = answer(&device, "coupe", "window", &[("preload_min", ""), ("reserve_min", "")]);
    assert_eq!(end, "/car?job=coupe");
    let car = device.page(&end).body;
    assert!(car.contains("In its window") && car.contains("as on the bench"), "{car}");
    let told = served.says("fit coupe");
    assert!(told.contains("Preload 0.745 in, wear reserve 0.205 in"), "{told}");
    let shown = served.says("job show coupe");
    assert!(shown.contains("2.945 in (3.195 less the bar's 0.250)"), "{shown}");
}

#[test]
fn whoever_leaves_comes_back_to_the_first_reading_that_lacks_and_nothing_typed_is_lost() {
    let served = empty();
    let device = served.device();
    device.form("/new", &[("job", "coupe")]);
    answer(&device, "coupe", "finger_depth", &[("finger_depth", "2.945 in")]);
    let back = served.second().page("/car/enter?job=coupe").body;
    assert!(back.contains("<h2>Bearing depth extended</h2>"), "{back}");
    let seen = device.page("/car/enter?job=coupe&step=finger_depth");
    assert!(seen.body.contains("value=\"2.945 in\""), "what was stored is there to be changed");
}

#[test]
fn the_fingers_may_be_read_in_two_steps() {
    let served = empty();
    let device = served.device();
    device.form("/new", &[("job", "coupe")]);
    let next = answer(
        &device,
        "coupe",
        "crank_protrusion",
        &[("crank_protrusion", "0.020"), ("crank_protrusion_side", "recessed"), ("in_unit", "in")],
    );
    assert_eq!(next, "/car/enter?job=coupe&step=clutch_height");
    answer(&device, "coupe", "clutch_height", &[("clutch_height", "2.965")]);
    let shown = served.says("job show coupe");
    assert!(shown.contains("0.020 in recessed") && shown.contains("2.965 in"), "{shown}");
    let again = device.page("/car/enter?job=coupe&step=crank_protrusion").body;
    assert!(again.contains("value=\"recessed\" checked"), "{again}");
}

#[test]
fn a_slip_is_questioned_at_once_and_kept_only_where_it_is_meant() {
    let served = empty();
    let device = served.device();
    device.form("/new", &[("job", "coupe")]);
    let seen = device.page("/car/enter?job=coupe&step=finger_depth").field("seen");
    let slip =
        [("job", "coupe"), ("seen", seen.as_str()), ("finger_depth", "74.8"), ("in_unit", "in")];
    let said = device.form("/car/enter?step=finger_depth", &slip);
    assert_eq!(said.status, 422);
    assert!(said.body.contains("74.80 mm is"), "it says what it looks like: {}", said.body);
    assert!(said.body.contains("value=\"74.8\""), "what was typed is still there");
    assert!(said.body.contains("name=\"unusual\"") && !said.body.contains("--unusual"));
    assert!(served.says("job show coupe").contains("finger_depth                not measured"));
    let meant = [&slip[..], &[("unusual", "all")]].concat();
    assert_eq!(device.form("/car/enter?step=finger_depth", &meant).status, 303);
    assert!(served.says("job show coupe").contains("74.800 in"));
}

#[test]
fn while_a_reading_is_typed_a_slip_is_questioned_and_the_verdict_foretold_and_nothing_is_stored() {
    let served = empty();
    let device = served.device();
    device.form("/new", &[("job", "coupe")]);
    answer(&device, "coupe", "finger_depth", &[("finger_depth", "2.945 in")]);
    let told = |step: &str, typed: &str| {
        let path = format!("/car/enter?job=coupe&step={step}&piece=1&in_unit=in&{step}={typed}");
        device.page(&path).body
    };
    let slip = told("bearing_depth_extended", "55.88");
    assert!(slip.contains("55.88 mm is") && slip.contains("doubt"), "{slip}");
    assert!(!slip.contains("--unusual") && !slip.contains("<html"), "{slip}");
    let half = told("bearing_depth_extended", "2.2");
    assert!(half.contains("Preload 0.745 in</strong>: 0.145 in over the least 0.600 in"), "{half}");
    assert!(told("bearing_depth_extended", "2.2x").contains("doubt"));
    assert_eq!(told("bearing_depth_extended", ""), "");
    assert!(served.says("job show coupe").contains("bearing_depth_extended      not measured"));
    answer(&device, "coupe", "bearing_depth_extended", &[("bearing_depth_extended", "2.2 in")]);
    let whole = told("bearing_depth_retracted", "3.15");
    assert!(whole.contains("preload 0.745 in, reserve 0.205 in"), "{whole}");
    assert!(served.says("job show coupe").contains("bearing_depth_retracted     not measured"));
}

#[test]
fn what_cannot_be_read_says_why_and_stores_nothing() {
    let served = empty();
    let device = served.device();
    device.form("/new", &[("job", "coupe")]);
    let seen = device.page("/car/enter?job=coupe&step=finger_depth").field("seen");
    for (typed, why) in [("abc", "abc"), ("", "nothing was read"), ("-2.9", "not above zero")] {
        let fields = [("job", "coupe"), ("seen", seen.as_str()), ("finger_depth", typed)];
        let said = device.form("/car/enter?step=finger_depth", &fields);
        assert_eq!(said.status, 422, "{typed}");
        assert!(said.body.contains(why), "{typed}: {}", said.body);
    }
    let twice = device.form("/new", &[("job", "coupe")]);
    assert_eq!(twice.status, 422);
    assert!(twice.body.contains("there is a job <code>coupe</code> already"), "{}", twice.body);
    assert_eq!(device.form("/new", &[("job", "")]).status, 422);
}

#[test]
fn a_plate_whose_thickness_nobody_can_read_cancels_out() {
    let served = empty();
    let device = served.device();
    device.form("/new", &[("job", "coupe")]);
    answer(&device, "coupe", "block_plate", &[("plate", "another"), ("thickness", "")]);
    let reading = [("finger_depth", "2.945"), ("finger_depth_over_plate", "yes")];
    answer(&device, "coupe", "finger_depth", &reading);
    answer(&device, "coupe", "bearing_depth_extended", &[("bearing_depth_extended", "2.2")]);
    answer(&device, "coupe", "bearing_depth_retracted", &[("bearing_depth_retracted", "3.15")]);
    let car = device.page("/car?job=coupe").body;
    assert!(car.contains("preload 0.745 in"), "{car}");
    assert!(served.says("part list").contains("coupe plate"));
}

#[test]
fn two_tablets_in_one_question_overwrite_nothing_unseen() {
    let served = empty();
    let (first, second) = (served.device(), served.second());
    first.form("/new", &[("job", "coupe")]);
    let seen = first.page("/car/enter?job=coupe&step=finger_depth").field("seen");
    let mine = [("job", "coupe"), ("seen", seen.as_str()), ("finger_depth", "2.945")];
    let theirs = [("job", "coupe"), ("seen", seen.as_str()), ("finger_depth", "2.950")];
    assert_eq!(second.form("/car/enter?step=finger_depth", &theirs).status, 303);
    let said = first.form("/car/enter?step=finger_depth", &mine);
    assert_eq!(said.status, 409);
    for both in ["2.95", "2.945", "Kim", "Look at yours again"] {
        assert!(said.body.contains(both), "{both}: {}", said.body);
    }
    assert!(served.says("job show coupe").contains("2.950 in"));
    // What was typed is still there, over theirs, and may be stored now.
    let again = said.body.split("href=\"/car/enter?").nth(1).unwrap().split('"').next().unwrap();
    let page = first.page(&format!("/car/enter?{}", again.replace("&amp;", "&")));
    assert!(page.body.contains("name=\"finger_depth\" value=\"2.945\""), "{}", page.body);
    let seen = page.field("seen");
    let mine = [("job", "coupe"), ("seen", seen.as_str()), ("finger_depth", "2.945")];
    assert_eq!(first.form("/car/enter?step=finger_depth", &mine).status, 303);
    assert!(served.says("job show coupe").contains("2.945 in"));
}

#[test]
fn the_whole_form_of_a_car_stores_what_was_changed_in_it_and_no_more() {
    let served = Served::demo();
    let device = served.device();
    let page = device.page("/car/edit?job=tight-slate");
    let seen = page.field("seen");
    let fields = [
        ("job", "tight-slate"),
        ("seen", seen.as_str()),
        ("torque", "600"),
        ("was.torque", "550"),
        ("clutch_height", "2.905 in"),
        ("was.clutch_height", "2.905 in"),
        ("clutch_height_tol", "0.003"),
        ("was.clutch_height_tol", "0.002 in"),
        ("in_unit", "in"),
    ];
    let said = device.form("/car/edit", &fields);
    assert_eq!(said.status, 303, "{}", said.body);
    let record = served.says("history --job tight-slate --width 400");
    let last = record.lines().last().unwrap();
    assert!(last.contains("torque: 550 -> 600") && last.contains("clutch_height_tol"), "{record}");
    assert!(!last.contains("clutch_height:"), "{record}");
    assert!(record.contains("Kim: job edit tight-slate torque=600 clutch_height_tol='0.003 in'"));
}

#[test]
fn who_writes_is_asked_once_and_is_known_to_the_device_the_next_day() {
    let served = empty();
    let device = served.device();
    assert!(device.page("/new").body.contains("Who writes"));
    let begun = device.form("/new", &[("job", "coupe")]);
    let kept = begun.header("set-cookie").unwrap();
    assert!(kept.starts_with("bellstack-by=Kim;") && kept.contains("HttpOnly"), "{kept}");
    assert!(!device.page("/car/enter?job=coupe").body.contains("Who writes"));
    let told = served.running().told();
    let Some(bellstack::serve::Notice::LetIn(next)) = told.last() else { panic!("{told:?}") };
    let mut again = Browser::new(served.at);
    again.cookie = "bellstack-by=Kim%20%3CB%3E".into();
    let code = next[0].url.rsplit('/').next().unwrap();
    let said = again.send("/in", &[("code", code)]);
    let cookie = said.header("set-cookie").unwrap().split(';').next().unwrap().to_string();
    again.cookie = cookie;
    let page = again.page("/new").body;
    assert!(!page.contains("Who writes") && page.contains(">Kim &lt;B&gt;</a>"), "{page}");
}
