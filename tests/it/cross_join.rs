//! SQL's own cross join as a second solver: the sum, the mating faces, the window, the checks
//! and the order, written once more as plain SQL over plain tables, against the program's search.
//!
//! The shops are the small random ones, as builds on paper: no readings, so that every length is
//! the catalogued one. Every tolerance is stated and zero, and of every plate ratio and set gap are known,
//! so that a grade follows from the window and the working range alone and all of it is exact in 64-bit
//! integers. The master cylinder is left out, as its product of two squares is not.

use bellstack::model::edge::Edge;
use bellstack::model::entry::Entry;
use bellstack::model::job::{DiscState, StarterOn};
use bellstack::model::length::Length;
use bellstack::model::library::Library;
use bellstack::model::money::Cents;
use bellstack::model::part::Part;
use bellstack::solve::ask::{Ask, Watch};
use bellstack::solve::recommend::recommend;
use bellstack::stack::answer::Answer;
use bellstack::stack::choice::Setup;
use bellstack::stack::fit::Fit;
use bellstack::stack::grade::Grade;
use itertools::Itertools;
use rusqlite::types::Value;
use rusqlite::{Connection, params_from_iter};

use crate::random::{Shop, shop};

/// A shop of exact parts and a job without readings.
fn on_paper(seed: u64, most: i64) -> Shop {
    let Shop { library, mut job } = shop(seed, most);
    let mut parts = library.parts;
    for dim in parts.iter_mut().flat_map(|part| &mut part.dims).flatten() {
        *dim = Entry::new(dim.value, Some(0));
    }
    for plate in parts.iter_mut().filter(|part| part.kind.key == "pressure_plate") {
        for (key, known) in [("finger_ratio", 3_500_000), ("set_gap", 8_382_000)] {
            let entry = plate.entry(key).unwrap_or(Entry::new(known, Some(0)));
            plate.set(key, Some(entry));
        }
    }
    job.readings.iter_mut().for_each(|reading| *reading = None);
    job.crank_over_plate = false;
    job.depth_over_plate = false;
    job.master_cylinder = None;
    let library = Library::new(library.kinds, parts, library.house);
    Shop { library, job }
}

fn database(shop: &Shop) -> Connection {
    let db = Connection::open_in_memory().unwrap();
    db.execute_batch(
        "CREATE TABLE fitted (slot TEXT, id TEXT); CREATE TABLE names (face TEXT, name TEXT);",
    )
    .unwrap();
    for kind in shop.library.kinds.iter() {
        let own = kind.own_keys().collect_vec();
        let mut columns =
            own.iter().map(|key| format!("{key} {}", column_type(kind.dim_index(key))));
        let columns = columns.join(", ");
        let table = kind.key;
        db.execute_batch(&format!(
            "CREATE TABLE {table} (id TEXT, price INTEGER, on_hand INTEGER, retired INTEGER, piece INTEGER, {columns})"
        ))
        .unwrap();
        for part in shop.library.of_kind(kind.key) {
            insert(&db, part);
        }
    }
    for ((_, slot), ids) in shop.library.kinds.slots().zip(&shop.job.fitted) {
        for id in ids {
            db.execute("INSERT INTO fitted VALUES (?, ?)", [slot.key, id]).unwrap();
        }
    }
    // Which written faces share a name.
    db.execute_batch(
        "CREATE TABLE mates AS SELECT DISTINCT a.face AS a, b.face AS b
         FROM names a JOIN names b ON a.name = b.name OR a.name = '*' OR b.name = '*';
         CREATE UNIQUE INDEX mating ON mates (a, b);",
    )
    .unwrap();
    db
}

fn column_type(dim: Option<usize>) -> &'static str {
    if dim.is_some() { "INTEGER" } else { "TEXT" }
}

fn insert(db: &Connection, part: &Part) {
    let number = |number: Option<i64>| number.map_or(Value::Null, Value::Integer);
    let mut row = vec![
        Value::Text(part.id.clone()),
        number(part.price.map(Cents::get)),
        Value::Integer(part.on_hand.into()),
        Value::Integer(part.retired.into()),
        Value::Integer(part.piece_of.is_some().into()),
    ];
    row.extend(part.dims.iter().map(|dim| number(dim.map(|dim| dim.value))));
    for face in &part.faces {
        let written = face.to_string();
        for name in written.split('|').filter(|name| !name.is_empty()) {
            db.execute("INSERT INTO names VALUES (?, ?)", [written.as_str(), name]).unwrap();
        }
        row.push(if written.is_empty() { Value::Null } else { Value::Text(written) });
    }
    row.extend(part.facts.iter().map(|_| Value::Null));
    let marks = row.iter().map(|_| "?").join(", ");
    db.execute(&format!("INSERT INTO {} VALUES ({marks})", part.kind.key), params_from_iter(row))
        .unwrap();
}

/// Two faces fit where one is blank or they share a name.
fn mate(a: &str, b: &str) -> String {
    format!(
        "({a} IS NULL OR {b} IS NULL OR EXISTS (SELECT 1 FROM mates WHERE mates.a = {a} AND mates.b = {b}))"
    )
}

/// The parts that may stand in a slot: those the job fixes, else what is in use or fitted, each
/// with what the sum needs.
fn candidates((kind, slot): (&str, &str), needs: &str, fixed: bool, optional: bool) -> String {
    let fitted = format!("id IN (SELECT id FROM fitted WHERE slot = '{slot}')");
    // A single piece cannot be bought; a fitted one stays as it is, worn or not.
    let stays = fitted.as_str();
    let had = format!("(piece = 0 OR on_hand > 0 OR {stays})");
    let free = format!("((retired = 0 OR {fitted}) AND {had})");
    let wanted = if fixed {
        let named = format!("EXISTS (SELECT 1 FROM fitted WHERE slot = '{slot}')");
        format!("CASE WHEN {named} THEN {fitted} ELSE {free} END")
    } else {
        free
    };
    let table =
        format!("CREATE TABLE {slot}_c AS SELECT * FROM {kind} WHERE ({needs}) AND {wanted};");
    let empty = format!("INSERT INTO {slot}_c (id) VALUES (NULL);");
    if optional { table + &empty } else { table }
}

/// What of a part has to be bought, `needed` pieces of it, as (unpriced pieces, amount).
fn buy(part: &str, slot: &str, needed: &str) -> (String, String) {
    // Worn facings are not used again, unless they are those of a measured piece.
    let facings = match slot {
        "disc" => "TRUE".to_string(),
        "pressure_plate" => format!("{part}.pack_thickness IS NOT NULL"),
        _ => "FALSE".to_string(),
    };
    let fitted = format!(
        "(SELECT count(*) FROM fitted WHERE slot = '{slot}' AND fitted.id = {part}.id \
         AND NOT (:worn AND {part}.piece = 0 AND {facings}))"
    );
    let pieces = format!("max({needed} - {fitted} - {part}.on_hand, 0)");
    (
        format!("CASE WHEN {part}.id IS NULL OR {part}.price IS NOT NULL THEN 0 ELSE {pieces} END"),
        format!(
            "CASE WHEN {part}.id IS NULL OR {part}.price IS NULL THEN 0 ELSE {pieces} * {part}.price END"
        ),
    )
}

/// Short names of the slots' tables in the join, in the order of the axis.
const SLOTS: [(&str, &str); 10] = [
    ("e", "engine"),
    ("f", "flywheel"),
    ("d", "disc"),
    ("p", "pressure_plate"),
    ("bp", "block_plate"),
    ("bs", "bell_spacer"),
    ("b", "bell_housing"),
    ("gs", "gearbox_spacer"),
    ("g", "gearbox"),
    ("r", "bearing"),
];

fn tables() -> String {
    let disc = "thickness IS NOT NULL OR free_thickness IS NOT NULL AND cushion IS NOT NULL";
    let thick = "thickness IS NOT NULL";
    let bearing = "extended_height IS NOT NULL AND retracted_height IS NOT NULL";
    [
        candidates(("engine", "engine"), "crank_protrusion IS NOT NULL", true, false),
        candidates(("flywheel", "flywheel"), thick, false, false),
        candidates(("disc", "disc"), disc, false, true),
        candidates(("pressure_plate", "pressure_plate"), "finger_height IS NOT NULL", false, false),
        candidates(("block_plate", "block_plate"), thick, false, true),
        candidates(("bell_spacer", "bell_spacer"), thick, false, true),
        candidates(("bell_housing", "bell_housing"), "depth IS NOT NULL", true, false),
        candidates(("gearbox_spacer", "gearbox_spacer"), thick, false, true),
        candidates(("gearbox", "gearbox"), "seat_height IS NOT NULL", true, false),
        candidates(("bearing", "bearing"), bearing, false, false),
        candidates(("bearing_shim", "bearing_shims"), thick, false, true),
        // None, one, or two shims in no order; the first of a pair has the smaller number.
        "CREATE TABLE shims AS SELECT a.id AS a, b.id AS b,
           coalesce(a.thickness, 0) + coalesce(b.thickness, 0) AS thickness,
           a.seat_pattern AS a_seat, b.seat_pattern AS b_seat
         FROM bearing_shims_c a JOIN bearing_shims_c b
           ON a.id IS NOT NULL AND (b.id IS NULL OR a.id < b.id OR a.id = b.id AND a.piece = 0) OR a.id IS NULL AND b.id IS NULL;"
            .into(),
    ]
    .concat()
}

/// Which joints two present parts show, and whether they fit.
fn mating() -> String {
    // Behind an adapter its rear name counts, and what it stands between does not meet.
    let behind = |spacer: &str, key: &str| format!("coalesce({spacer}.{key}_rear, {spacer}.{key})");
    let adapts = |spacer: &str, key: &str| format!("({spacer}.{key}_rear IS NOT NULL)");
    let block = "block_pattern";
    let gearbox = "gearbox_pattern";
    let shims = ["sh.a_seat", "sh.b_seat"];
    let mut all = vec![
        mate("e.crank_pattern", "f.crank_pattern"),
        mate("f.cover_pattern", "p.cover_pattern"),
        "coalesce(abs(d.diameter - p.disc_diameter) <= 1000000, 1)".into(),
        mate("CASE WHEN p.pack_thickness IS NULL THEN d.spline ELSE p.spline END", "g.spline"),
        mate("e.block_pattern", "bp.block_pattern"),
        mate("e.block_pattern", "bs.block_pattern"),
        mate("bp.block_pattern", "bs.block_pattern"),
        mate(&behind("bs", block), "b.block_pattern"),
        format!("({} OR {})", adapts("bs", block), mate("e.block_pattern", "b.block_pattern")),
        format!("({} OR {})", adapts("bs", block), mate("bp.block_pattern", "b.block_pattern")),
        mate("b.gearbox_pattern", "gs.gearbox_pattern"),
        mate(&behind("gs", gearbox), "g.gearbox_pattern"),
        format!(
            "({} OR {})",
            adapts("gs", gearbox),
            mate("b.gearbox_pattern", "g.gearbox_pattern")
        ),
        mate("g.seat_pattern", "r.seat_pattern"),
        mate(shims[0], shims[1]),
        mate("p.contact_face", "r.contact_face"),
    ];
    for shim in shims {
        all.push(mate("g.seat_pattern", shim));
        all.push(mate("r.seat_pattern", shim));
    }
    all.join("\n AND ")
}

/// The joints at which some part that is there is blank.
fn not_verified() -> &'static str {
    "(e.crank_pattern IS NULL OR f.crank_pattern IS NULL)
     + (f.cover_pattern IS NULL OR p.cover_pattern IS NULL)
     + (p.pack_thickness IS NULL AND (d.diameter IS NULL OR p.disc_diameter IS NULL))
     + (g.spline IS NULL OR CASE WHEN p.pack_thickness IS NULL THEN d.spline ELSE p.spline END IS NULL)
     + (e.block_pattern IS NULL OR b.block_pattern IS NULL OR bp.id IS NOT NULL AND bp.block_pattern IS NULL
        OR bs.id IS NOT NULL AND bs.block_pattern IS NULL)
     + (b.gearbox_pattern IS NULL OR g.gearbox_pattern IS NULL
        OR gs.id IS NOT NULL AND gs.gearbox_pattern IS NULL)
     + (g.seat_pattern IS NULL OR r.seat_pattern IS NULL OR sh.a IS NOT NULL AND sh.a_seat IS NULL
        OR sh.b IS NOT NULL AND sh.b_seat IS NULL)
     + (p.contact_face IS NULL OR r.contact_face IS NULL)"
}

/// Half away from zero, in whole millionths.
fn rounded(product: &str) -> String {
    format!("(sign({product}) * ((abs({product}) + 500000) / 1000000))")
}

/// The whole query: every stack whose faces mate, one row each.
fn stacks() -> String {
    let ids = SLOTS.iter().map(|(short, slot)| format!("{short}.id AS {slot}")).join(", ");
    let joins = SLOTS.iter().map(|(short, slot)| format!("{slot}_c {short}")).join(" CROSS JOIN ");
    let parts = SLOTS.iter().map(|(short, _)| format!("({short}.id IS NOT NULL)")).join(" + ");
    let mut bought = SLOTS.iter().map(|(short, slot)| buy(short, slot, "1")).collect_vec();
    bought.push(buy("s1", "bearing_shims", "CASE WHEN sh.a = sh.b THEN 2 ELSE 1 END"));
    let (unpriced, second) = buy("s2", "bearing_shims", "1");
    let another = |term: String| format!("CASE WHEN sh.a = sh.b THEN 0 ELSE {term} END");
    bought.push((another(unpriced), another(second)));
    let unpriced = bought.iter().map(|(unpriced, _)| unpriced).join(" + ");
    let amount = bought.iter().map(|(_, amount)| amount).join(" + ");
    let (mating, not_verified) = (mating(), not_verified());
    let correction = rounded("finger_ratio * (gap_now - gap_taken)");
    let movement = rounded("finger_ratio * wear");
    format!(
        "WITH mated AS MATERIALIZED (
           SELECT {ids}, sh.a AS shim_a, sh.b AS shim_b,
             {parts} + (sh.a IS NOT NULL) + (sh.b IS NOT NULL) AS parts,
             {unpriced} AS unpriced, {amount} AS amount, {not_verified} AS not_verified,
             e.crank_protrusion AS crank, f.thickness + coalesce(f.cover_step, 0) AS cover_face,
             p.finger_height, p.finger_ratio, p.set_gap, p.set_gap_min, p.set_gap_max,
             coalesce(p.pack_thickness, d.thickness, d.free_thickness - d.cushion)
               - coalesce(f.cover_step, 0) AS gap_now,
             p.set_gap AS gap_taken,
             coalesce(bp.thickness, 0) + coalesce(bs.thickness, 0) AS plates,
             coalesce(gs.thickness, 0) AS gearbox_spacer_thickness, b.depth,
             g.seat_height + sh.thickness AS seat, r.extended_height, r.retracted_height,
             p.release_travel, coalesce(e.crank_end_float, 0) AS float,
             max(coalesce(p.wear_allowance, own.wear), coalesce(own.wear, p.wear_allowance)) AS wear,
             g.shaft_length, e.pilot_recess, e.pilot_length, e.pilot_bore_depth, e.dowel_protrusion,
             CASE WHEN d.id IS NOT NULL THEN f.bolt_clearance - d.hub_front END AS hub_room,
             r.contact_diameter, p.finger_circle_inner, p.finger_circle_outer, p.torque_rating,
             f.ring_teeth, f.ring_gear_offset
           FROM {joins} CROSS JOIN shims sh
           LEFT JOIN bearing_shim s1 ON s1.id = sh.a LEFT JOIN bearing_shim s2 ON s2.id = sh.b
           LEFT JOIN (SELECT id, coalesce(thickness, free_thickness - cushion) - min_thickness AS wear
             FROM disc) own ON own.id = d.id
           WHERE (p.pack_thickness IS NULL) = (d.id IS NOT NULL)
             AND coalesce(sh.thickness <= r.max_shim, 1)
             AND {mating}),
         corrected AS MATERIALIZED (
           SELECT *, coalesce({correction}, 0) AS correction,
             CASE WHEN gap_now < coalesce(set_gap_min, set_gap - :range) THEN 2
               WHEN gap_now > coalesce(set_gap_max, set_gap + :range) THEN 2
               ELSE 0 END AS cap,
             release_travel + :stroke_margin AS clutch_preload,
             {movement} + :reserve_margin AS clutch_reserve,
             plates + depth + gearbox_spacer_thickness AS rear,
             CASE WHEN :old_engine IS NULL THEN NULL
               WHEN flywheel = :old_flywheel THEN 0
               WHEN :old_flywheel IS NOT NULL THEN ring_gear_offset - :old_offset END AS ring_moves
           FROM mated),
         placed AS MATERIALIZED (
           SELECT *,
             crank + cover_face + finger_height - correction - (rear - seat - extended_height) AS preload,
             (rear - seat - retracted_height) - (crank + cover_face + finger_height - correction) AS reserve,
             CASE WHEN :preload_min IS NULL THEN coalesce(clutch_preload, :house_preload)
               ELSE max(:preload_min, coalesce(clutch_preload, :preload_min)) END AS preload_min,
             CASE WHEN :reserve_min IS NULL THEN coalesce(clutch_reserve, :house_reserve)
               ELSE max(:reserve_min, coalesce(clutch_reserve, :reserve_min)) END AS reserve_min,
             float AS off_preload, float AS off_reserve
           FROM corrected),
         judged AS (
           SELECT *,
             min(preload - preload_min - off_preload, reserve - reserve_min - off_reserve,
               coalesce(:preload_max - preload - off_reserve, 9e15),
               coalesce(:reserve_max - reserve - off_preload, 9e15)) AS room,
             coalesce(release_travel > preload, 0)
             OR coalesce(2 * min(pilot_length, crank - pilot_recess - (rear - shaft_length)) < pilot_length, 0)
             OR coalesce((rear - shaft_length) - (crank - pilot_bore_depth) < :clearance + float, 0)
             OR coalesce(dowel_protrusion - plates < :dowels, 0)
             OR coalesce(2 * (hub_room - :hub_floor) < coalesce(wear, :blank_wear), 0)
             OR coalesce(contact_diameter < finger_circle_inner, 0)
             OR coalesce(contact_diameter > finger_circle_outer, 0)
             OR coalesce(torque_rating < :torque, 0)
             OR coalesce(flywheel <> :old_flywheel AND ring_teeth <> :old_teeth, 0)
             OR (:starter = 'block' OR coalesce(abs(ring_moves - plates + :old_plates) > :starter_range, 0))
                AND (:starter = 'bell' OR coalesce(abs(ring_moves) > :starter_range, 0))
                AS fails
           FROM placed)
         SELECT engine, flywheel, disc, pressure_plate, block_plate, bell_spacer, bell_housing,
           gearbox_spacer, gearbox, bearing, shim_a, shim_b, cap, preload, reserve, CAST(room AS INTEGER),
           room >= 0 AND NOT fails AS holds
         FROM judged
         ORDER BY holds DESC, cap, not_verified, unpriced, amount, min(room, :enough) DESC, parts,
           engine, flywheel, disc, pressure_plate, block_plate, bell_spacer, bell_housing,
           gearbox_spacer, gearbox, bearing, shim_a, shim_b"
    )
}

/// One stack as either solver gives it: its ids, grade, preload, reserve and room.
type Row = (Vec<Option<String>>, Grade, i64, i64, i64);

/// What the second solver finds: how many, how many hold, and those in order.
fn by_sql(shop: &Shop) -> (u128, u128, Vec<Row>) {
    let db = database(shop);
    let (library, job) = (&shop.library, &shop.job);
    db.execute_batch(&tables()).unwrap();
    let fitted = |kind: &str| {
        let ids = &job.fitted[library.kinds.slot_of(kind).unwrap()];
        ids.first().map(|id| library.find(id).unwrap())
    };
    let plates = ["block_plate", "bell_spacer"].map(|kind| match fitted(kind) {
        Some(part) => part.entry("thickness").map(|entry| entry.value),
        None => Some(0),
    });
    let plates = plates.into_iter().sum::<Option<i64>>();
    let old = fitted("flywheel");
    let of_old = |key: &str| old.and_then(|part| part.entry(key)).map(|entry| entry.value);
    let thou = |thou: i64| Value::Integer(thou * 25_400);
    let number = |number: Option<i64>| number.map_or(Value::Null, Value::Integer);
    let text = |text: &str| Value::Text(text.into());
    // The job's limit, else the shop's; the house numbers as they come.
    let limit = |index: usize| {
        let edge = Edge::ALL[index];
        let set = job.window[edge].or(library.house.window[edge]);
        number(set.map(Length::nm))
    };
    let starter = match job.starter_on {
        StarterOn::Bell => "bell",
        StarterOn::Block => "block",
        StarterOn::Unknown => "unknown",
    };
    let named = [
        (":worn", Value::Integer((job.disc_state == DiscState::Worn).into())),
        (":range", thou(20)),
        (":stroke_margin", thou(100)),
        (":reserve_margin", thou(30)),
        (":house_preload", thou(600)),
        (":house_reserve", thou(150)),
        (":preload_min", limit(0)),
        (":preload_max", limit(1)),
        (":reserve_min", limit(2)),
        (":reserve_max", limit(3)),
        (":hub_floor", thou(20)),
        (":blank_wear", thou(40)),
        (":clearance", thou(60)),
        (":dowels", thou(200)),
        (":torque", number(job.torque)),
        (":old_flywheel", old.map_or(Value::Null, |part| text(&part.id))),
        (":old_engine", fitted("engine").map_or(Value::Null, |part| text(&part.id))),
        (":old_teeth", number(of_old("ring_teeth"))),
        (":old_offset", number(of_old("ring_gear_offset"))),
        (":old_plates", number(plates)),
        (":starter", text(starter)),
        (":starter_range", thou(40)),
        (":enough", thou(30)),
    ];
    let mut query = db.prepare(&stacks()).unwrap();
    for (name, value) in named {
        let index = query.parameter_index(name).unwrap().unwrap();
        query.raw_bind_parameter(index, value).unwrap();
    }
    let (mut all, mut good) = (0, Vec::new());
    let mut rows = query.raw_query();
    while let Some(row) = rows.next().unwrap() {
        all += 1;
        if row.get::<_, bool>(16).unwrap() {
            let ids = (0..12).map(|at| row.get(at).unwrap()).collect();
            let grade = [Grade::Sure, Grade::Likely, Grade::Marginal]
                [usize::from(row.get::<_, u8>(12).unwrap())];
            let nm = |at: usize| row.get::<_, i64>(at).unwrap();
            good.push((ids, grade, nm(13), nm(14), nm(15)));
        }
    }
    (all, good.len() as u128, good)
}

/// The program's answer in the same rows.
fn by_search(answer: &Answer<Fit<'_>>) -> Vec<Row> {
    let row = |fit: &Fit<'_>| {
        let mut ids: Vec<Option<String>> = Vec::new();
        for (slot, fill) in fit.choice.fills.iter().enumerate() {
            let wide = if slot + 1 == fit.choice.fills.len() { 2 } else { 1 };
            let own = fill.ids().into_iter().map(|id| Some(id.to_string()));
            ids.extend(own.chain([None, None]).take(wide));
        }
        (ids, fit.grade, fit.preload.nm(), fit.reserve.nm(), fit.room.nm())
    };
    answer.stacks.iter().map(row).collect()
}

/// Compares some shops; gives how many stacks were considered, held, and how many shops had none.
fn compare(seeds: std::ops::Range<u64>, most: i64) -> (u128, u128, usize) {
    let (mut considered, mut held, mut none) = (0, 0, 0);
    for seed in seeds {
        let shop = on_paper(seed, most);
        let (all, good, rows) = by_sql(&shop);
        let setup = Setup::new(&shop.library, &shop.job).unwrap();
        let ask = Ask { top: 30, ..Ask::default() };
        let answer = recommend(&setup, &ask, &Watch::default()).unwrap();
        assert_eq!((answer.considered, answer.in_window), (Some(all), Some(good)), "seed {seed}");
        let rows = rows.into_iter().take(ask.top).collect_vec();
        assert_eq!(by_search(&answer), rows, "seed {seed}");
        considered += all;
        held += good;
        none += usize::from(good == 0);
    }
    (considered, held, none)
}

#[test]
fn a_cross_join_in_sql_counts_and_ranks_small_shops_as_the_search_does() {
    let (considered, held, none) = compare(30_000..30_200, 2);
    assert!(considered > 3_000 && held > 150, "{considered} {held}");
    // Shops in which something lands are as needful as those in which nothing does.
    assert!(none < 185, "{none} of 200");
}

#[test]
fn a_cross_join_in_sql_counts_and_ranks_larger_shops_as_the_search_does() {
    let (considered, held, none) = compare(40_000..40_024, 4);
    assert!(considered > 6_000 && held > 300, "{considered} {held}");
    assert!(none < 21, "{none} of 24");
}
