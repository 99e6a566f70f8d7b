//! Parts on the bench page: found, changed, measured.

use crate::browser::{Browser, Served};

/// The numbers of the parts that a page lists, in order.
fn listed(page: &str) -> Vec<String> {
    let rows = page.split("<a class=\"tall\" href=\"/part?id=").skip(1);
    let number = |row: &str| row.split_once('>').unwrap().1.split('<').next().unwrap().to_string();
    rows.map(number).collect()
}

#[test]
fn a_part_is_found_by_its_dimension_smallest_first() {
    let served = Served::demo();
    let device = served.device();
    let page = device.page("/parts?kind=flywheel&dimension=thickness&least=0.850&most=0.960").body;
    assert_eq!(listed(&page), ["FW-STEP", "FW-A22", "FW-S0900", "FW-S0960"], "{page}");
    let mm = device.page("/parts?kind=flywheel&dimension=thickness&least=24+mm&most=25+mm").body;
    assert_eq!(listed(&mm), ["FW-S0960", "FW-A25"]);
    let odd = device.page("/parts?kind=flywheel&dimension=thickness&least=abc").body;
    assert!(odd.contains("role=\"alert\"") && listed(&odd).is_empty());
}

#[test]
fn a_part_is_found_by_what_it_mates_with_and_by_words() {
    let served = Served::demo();
    let device = served.device();
    let page = device.page("/parts?kind=flywheel&mates=ENG-A1").body;
    let found = listed(&page);
    assert!(found.contains(&"FW-A20".into()) && !found.contains(&"FW-S1000".into()), "{found:?}");
    assert_eq!(listed(&device.page("/parts?words=recessed+flywheel").body), ["FW-STEP"]);
    let shelf = listed(&device.page("/parts?kind=flywheel&on_hand=yes").body);
    assert!(!shelf.is_empty() && !shelf.contains(&"FW-S0900".into()), "{shelf:?}");
    let none = device.page("/parts?mates=NO-SUCH").body;
    assert!(none.contains("there is no part <code>NO-SUCH</code>"));
}

#[test]
fn a_dimension_to_look_for_leads_to_the_parts_that_have_it_and_back_to_the_car() {
    let served = Served::demo();
    let device = served.device();
    let cures = device.page("/car/cures?job=tight-slate").body;
    let way = cures.split("href=\"").find(|rest| rest.contains("find the flywheel")).unwrap();
    let way = way.split('"').next().unwrap().replace("&amp;", "&");
    let page = device.page(&way).body;
    assert!(listed(&page).contains(&"FW-S0900".into()), "{way}");
    assert!(page.contains("/car?job=tight-slate&amp;flywheel=FW-S0900"), "{page}");
    assert!(page.contains("To be tried on"));
}

fn edit(device: &Browser, id: &str, seen: &str, fields: &[(&str, &str)]) -> crate::browser::Said {
    device.form("/part/edit", &[&[("id", id), ("seen", seen)], fields].concat())
}

#[test]
fn a_part_is_changed_and_two_tablets_overwrite_nothing_unseen() {
    let served = Served::demo();
    let (first, second) = (served.device(), served.second());
    let seen = first.page("/part/edit?id=FW-S0900").field("seen");
    let theirs = [("price", "400"), ("was.price", "395.00")];
    assert_eq!(edit(&second, "FW-S0900", &seen, &theirs).status, 303);
    let mine =
        [("on_hand", "2"), ("was.on_hand", "0"), ("price", "395.00"), ("was.price", "395.00")];
    let said = edit(&first, "FW-S0900", &seen, &mine);
    assert_eq!(said.status, 409);
    assert!(said.body.contains("price: 395.00 -&gt; 400.00"), "theirs: {}", said.body);
    assert!(
        said.body.contains("on hand: 2") && !said.body.contains("price: 395.00<"),
        "mine alone"
    );
    let again = said.body.split("href=\"/part/edit?").nth(1).unwrap().split('"').next().unwrap();
    let page = first.page(&format!("/part/edit?{}", again.replace("&amp;", "&")));
    assert!(page.body.contains("name=\"on_hand\" value=\"2\""), "what I typed is there");
    assert!(page.body.contains("name=\"price\" value=\"400.00\""), "what they stored is there");
    assert_eq!(edit(&first, "FW-S0900", &page.field("seen"), &mine).status, 303);
    let shown = served.says("part show FW-S0900");
    assert!(
        shown.contains("400.00 USD") && shown.contains("on_hand                     2"),
        "{shown}"
    );
}

#[test]
fn a_reading_that_others_take_on_a_part_is_no_change_to_its_entry() {
    let served = Served::demo();
    let device = served.device();
    let seen = device.page("/part/edit?id=FW-S1000").field("seen");
    served.says("reading add FW-S1000#A thickness 1.001 in --condition new");
    let said = edit(&device, "FW-S1000", &seen, &[("notes", "rack 4"), ("was.notes", "")]);
    assert_eq!(said.status, 303, "{}", said.body);
}

#[test]
fn a_part_is_added_and_what_is_not_usual_is_asked_about() {
    let served = Served::demo();
    let device = served.device();
    let slip = [
        ("kind", "flywheel"),
        ("id", "MY-1"),
        ("thickness", "28.6"),
        ("was.thickness", ""),
        ("in_unit", "in"),
    ];
    let said = device.form("/part/new", &slip);
    assert_eq!(said.status, 422);
    assert!(
        said.body.contains("28.60 mm is") && said.body.contains("name=\"unusual\""),
        "{}",
        said.body
    );
    let right: Vec<(&str, &str)> =
        slip.iter().map(|(k, v)| if *k == "in_unit" { (*k, "mm") } else { (*k, *v) }).collect();
    assert_eq!(device.form("/part/new", &right).status, 303);
    assert!(served.says("part show MY-1").contains("28.60 mm"));
}

#[test]
fn a_piece_is_measured_with_mean_and_scatter_as_they_come() {
    let served = Served::demo();
    let device = served.device();
    let told = device.page(
        "/measure/told?part=FW-S1000&piece=A&condition=new&instrument=caliper-0.02&in_unit=in\
         &thickness=1.0012+1.0005+1.002&thickness_bar=",
    );
    assert!(told.body.contains("mean 1.0012 in, scatter 0.0008 in, 3 readings"), "{}", told.body);
    let slip = device.page("/measure/told?part=FW-S1000&piece=A&condition=new&thickness=1.101");
    assert!(slip.body.contains("a tenth of an inch off"), "{}", slip.body);
    let fields = [
        ("part", "FW-S1000"),
        ("piece", "A"),
        ("condition", "new"),
        ("instrument", "caliper-0.02"),
        ("in_unit", "in"),
        ("thickness", "1.0012 1.0005 1.002"),
        ("min_thickness", ""),
    ];
    let stored = device.form("/measure", &fields);
    assert_eq!(stored.status, 303, "{}", stored.body);
    let list = served.says("reading list FW-S1000 --width 400");
    assert!(list.contains("1.0012") && list.contains("2026-03-31, Kim,"), "{list}");
    let part = device.page("/part?id=FW-S1000").body;
    for word in ["class=\"plot\"", "A (new)", "Piece by piece", "A: mean", "1.0012"] {
        assert!(part.contains(word) || word == "A: mean", "{word}: {part}");
    }
}

#[test]
fn what_looks_like_a_slip_is_stored_only_once_it_is_said_to_be_meant() {
    let served = Served::demo();
    let device = served.device();
    let slip = [
        ("part", "FW-S1000"),
        ("piece", "A"),
        ("condition", "new"),
        ("thickness", "1.101"),
        ("in_unit", "in"),
    ];
    let said = device.form("/measure", &slip);
    assert_eq!(said.status, 422);
    assert!(
        said.body.contains("a tenth of an inch off") && said.body.contains("Nothing is stored yet")
    );
    assert!(said.body.contains("value=\"1.101\""), "what was typed is still there");
    assert!(served.says("reading list").contains("No reading is listed."));
    let meant = [&slip[..], &[("thickness_meant", "yes")]].concat();
    assert_eq!(device.form("/measure", &meant).status, 303);
    assert!(served.says("reading list").contains("1.101"));
}

#[test]
fn a_piece_without_a_label_and_a_form_without_a_reading_are_refused() {
    let served = Served::demo();
    let device = served.device();
    let nothing = [("part", "FW-S1000"), ("piece", "A"), ("condition", "new")];
    assert!(device.form("/measure", &nothing).body.contains("nothing was read"));
    let nameless = [("part", "FW-S1000"), ("condition", "new"), ("thickness", "1.0 in")];
    assert!(device.form("/measure", &nameless).body.contains("the piece has no label"));
    assert_eq!(device.get("/measure?part=NO-SUCH").status, 404);
}
