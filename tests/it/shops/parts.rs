//! Small shops as real ones are, and awkward: assumed tolerances, blanks, checks known and failing, ties,
//! parts without prices, inches beside millimetres, pieces, stepped flywheels, matched sets, plates
//! without ratio or set gap, adapters, parts that lack what a stack needs.
//!
//! In half of the shops each dimension has two or three values only, so that what is grouped wrongly
//! shows. Parts stand near a reference, so that many stacks come near their window.

use bellstack::model::entry::{Basis, Entry, Evidence};
use bellstack::model::faces::Names;
use bellstack::model::house::House;
use bellstack::model::job::Job;
use bellstack::model::kinds::Kinds;
use bellstack::model::length::{Length, Unit};
use bellstack::model::library::Library;
use bellstack::model::money::Cents;
use bellstack::model::part::Part;

use super::Dice;
use super::car::draw_job;
use crate::checker::Changed;

pub(crate) const THOU: i64 = 25_400;

/// One shop with one job.
pub(crate) struct RealShop {
    pub(crate) library: Library,
    pub(crate) job: Job,
    /// The house numbers that it changed, as the judge reads them.
    pub(crate) changed: Changed,
}

/// How a shop's parts are drawn.
pub(crate) struct Maker<'d> {
    pub(crate) dice: &'d mut Dice,
    pub(crate) parts: Vec<Part>,
    /// Two or three values a dimension.
    few: bool,
    /// Every tolerance is stated as nothing, so that routes tie in their u.
    exact: bool,
    /// How often a tolerance is missing, an optional dimension is known, a price is known and a face
    /// is blank, per cent.
    untoleranced: i64,
    known: i64,
    priced: i64,
    blank: i64,
    metric: i64,
    /// How often a plate or flywheel is an odd one, per cent.
    odd: i64,
}

impl Maker<'_> {
    /// A length near `thou` thousandths of an inch, by up to `spread` of them.
    pub(crate) fn near(&mut self, thou: i64, spread: i64) -> i64 {
        if self.few {
            let step = (spread / 2).max(1);
            return (thou + self.dice.range(0, 2) * step - step) * THOU;
        }
        let by = self.dice.range(-2 * spread, 2 * spread) * (THOU / 2);
        let nm = thou * THOU + by;
        let nm = if self.dice.chance(self.metric) { nm / 10_000 * 10_000 } else { nm };
        nm + i64::from(self.dice.chance(5))
    }

    /// A tolerance of up to `most` thousandths, where one is given.
    pub(crate) fn tol(&mut self, most: i64) -> Option<i64> {
        if self.exact {
            return Some(0);
        }
        let given = !self.dice.chance(self.untoleranced);
        given.then(|| self.dice.range(0, 2 * most) * THOU / 2)
    }

    /// Some values were measured or predicted, so that their limit and their u go their own ways.
    fn entry(&mut self, value: i64, tol: Option<i64>) -> Entry {
        if !self.dice.chance(15) {
            return Entry::new(value, tol);
        }
        let basis =
            *self.dice.pick(&[Basis::Measured { readings: 3 }, Basis::Predicted { pieces: 4 }]);
        let wide = tol.unwrap_or(0) * self.dice.range(1, 4) / 4;
        let assumed = tol.is_some_and(|tol| tol > 0) && self.dice.chance(20);
        let evidence = Evidence { basis, wide, assumed };
        Entry { evidence: Some(evidence), ..Entry::new(value, tol) }
    }

    fn set(&mut self, part: &mut Part, key: &str, (thou, spread): (i64, i64), tol: i64) {
        let (value, tol) = (self.near(thou, spread), self.tol(tol));
        let entry = self.entry(value, tol);
        part.set(key, Some(entry));
    }

    /// A dimension that only a check or the window needs.
    fn extra(&mut self, part: &mut Part, key: &str, (thou, spread): (i64, i64)) {
        if self.dice.chance(self.known) {
            let value = self.near(thou, spread);
            part.set(key, Some(Entry::new(value, None)));
        }
    }

    fn part(&mut self, kind: &str, number: usize) -> Part {
        let kind = Kinds::standard().get(kind).unwrap();
        let mut part = Part::new(format!("{}{number}", kind.key), kind);
        if self.dice.chance(self.priced) {
            part.price = Some(Cents::new(self.dice.range(0, 3) * 5_000));
        }
        if self.dice.chance(30) {
            part.on_hand = u32::try_from(self.dice.range(1, 2)).unwrap();
        }
        part.retired = self.dice.chance(4);
        for (index, face) in kind.faces.iter().enumerate() {
            let is_rear = face.key.ends_with("_rear");
            if (is_rear && !self.dice.chance(20)) || self.dice.chance(self.blank) {
                continue;
            }
            // What the job fixes mates more often, so that a shop has something to say.
            let fixed = kind.slot.is_some_and(|slot| slot.fixed) && self.dice.chance(85);
            let names = ["a", "a", "a", "a", "a", "a", "a|b", "b|a", "*", "b"];
            let name = *self.dice.pick(&names[..if fixed { 9 } else { 10 }]);
            part.faces[index] = Names::parse(name);
        }
        part
    }

    fn engine(&mut self, number: usize) -> Part {
        let mut part = self.part("engine", number);
        self.set(&mut part, "crank_protrusion", (20, 20), 2);
        self.extra(&mut part, "pilot_recess", (100, 4));
        self.extra(&mut part, "pilot_length", (750, 20));
        self.extra(&mut part, "pilot_bore_depth", (750, 200));
        self.extra(&mut part, "dowel_protrusion", (400, 140));
        if self.dice.chance(50) {
            let float = self.dice.range(0, 12) * THOU;
            part.set("crank_end_float", Some(Entry::new(float, None)));
        }
        part
    }

    fn flywheel(&mut self, number: usize) -> Part {
        let mut part = self.part("flywheel", number);
        self.set(&mut part, "thickness", (950, 40), 2);
        if self.dice.chance(self.odd) {
            let step = *self.dice.pick(&[0, 0, 20, 100, -30]);
            let tol = self.tol(2);
            part.set("cover_step", Some(Entry::new(step * THOU, tol)));
        }
        if self.dice.chance(self.known) {
            part.set("min_thickness", Some(Entry::new(880 * THOU, None)));
        }
        self.extra(&mut part, "ring_gear_offset", (500, 40));
        if self.dice.chance(self.known) {
            let teeth = *self.dice.pick(&[153, 153, 153, 168]);
            part.set("ring_teeth", Some(Entry::new(teeth, None)));
        }
        self.extra(&mut part, "bolt_clearance", (45, 30));
        part
    }

    fn disc(&mut self, number: usize) -> Part {
        let mut part = self.part("disc", number);
        if self.dice.chance(85) {
            self.set(&mut part, "thickness", (330, 14), 3);
        } else {
            self.set(&mut part, "free_thickness", (362, 10), 3);
            self.set(&mut part, "cushion", (30, 4), 1);
        }
        if self.dice.chance(self.known / 2) {
            let least = self.dice.range(280, 300) * THOU;
            part.set("min_thickness", Some(Entry::new(least, None)));
        }
        self.extra(&mut part, "diameter", (11_000, 30));
        self.extra(&mut part, "hub_front", (-20, 30));
        part
    }

    fn pressure_plate(&mut self, number: usize) -> Part {
        let mut part = self.part("pressure_plate", number);
        self.set(&mut part, "finger_height", (2_000, 40), 5);
        let pack = self.dice.chance(self.odd / 2);
        if pack {
            self.set(&mut part, "pack_thickness", (330, 14), 4);
        }
        if !self.dice.chance(self.odd) {
            self.set(&mut part, "set_gap", (330, 10), 2);
        }
        if self.dice.chance(self.odd / 2) {
            let around = part.entry("set_gap").map_or(330 * THOU, |gap| gap.value);
            for (key, sign) in [("set_gap_min", -1), ("set_gap_max", 1)] {
                if self.dice.chance(80) {
                    let value = around + sign * self.dice.range(2, 40) * THOU + sign;
                    part.set(key, Some(Entry::new(value, None)));
                }
            }
        }
        if !self.dice.chance(self.odd) {
            let ratio = if self.few {
                *self.dice.pick(&[3_500_000, 3_800_000])
            } else {
                self.dice.range(300, 450) * 10_000 + self.dice.range(0, 1) * 3
            };
            let tol = self.tol(3).map(|tol| tol / THOU * 50_000);
            let ratio = self.entry(ratio, tol);
            part.set("finger_ratio", Some(ratio));
        }
        if self.dice.chance(90) {
            let wear = self.near(36, 6);
            part.set("wear_allowance", Some(Entry::new(wear, None)));
        }
        if self.dice.chance(85) {
            let value = self.near(400, 60);
            part.set("release_travel", Some(Entry::new(value, None)));
        }
        self.extra(&mut part, "finger_circle_inner", (1_900, 250));
        self.extra(&mut part, "finger_circle_outer", (2_400, 200));
        self.extra(&mut part, "disc_diameter", (11_000, 30));
        if self.dice.chance(self.known) {
            let torque = self.dice.range(5, 9) * 100_000;
            part.set("torque_rating", Some(Entry::new(torque, None)));
        }
        part
    }

    fn bearing(&mut self, number: usize) -> Part {
        let mut part = self.part("bearing", number);
        self.set(&mut part, "extended_height", (2_800, 20), 3);
        let long = part.entry("extended_height").unwrap().value;
        let travel = *self.dice.pick(&[660, 740, 850, 950]);
        let travel = self.near(travel, 10);
        let tol = self.tol(3);
        let short = self.entry(long - travel, tol);
        part.set("retracted_height", Some(short));
        self.extra(&mut part, "contact_diameter", (2_150, 150));
        self.extra(&mut part, "max_shim", (80, 40));
        self.extra(&mut part, "bore_outer", (2_000, 60));
        self.extra(&mut part, "bore_inner", (1_400, 60));
        part
    }

    fn filled(&mut self, kind: &str, number: usize) -> Part {
        let mut part = match kind {
            "engine" => self.engine(number),
            "flywheel" => self.flywheel(number),
            "disc" => self.disc(number),
            "pressure_plate" => self.pressure_plate(number),
            "bearing" => self.bearing(number),
            _ => self.part(kind, number),
        };
        match kind {
            "block_plate" | "gearbox_spacer" => self.set(&mut part, "thickness", (80, 60), 1),
            "bell_spacer" => self.set(&mut part, "thickness", (90, 70), 1),
            "bell_housing" => self.set(&mut part, "depth", (6_000, 40), 4),
            "gearbox" => {
                self.set(&mut part, "seat_height", (200, 30), 4);
                self.extra(&mut part, "shaft_length", (5_980, 200));
            }
            "bearing_shim" => self.set(&mut part, "thickness", (40, 20), 1),
            "master_cylinder" => {
                self.set(&mut part, "bore", (750, 60), 0);
                self.set(&mut part, "stroke", (1_750, 250), 0);
            }
            _ => {}
        }
        // Now and then a part lacks what a stack needs.
        let fixed = part.kind.slot.is_some_and(|slot| slot.fixed);
        if self.dice.chance(if fixed { 2 } else { 4 }) {
            let needed: Vec<_> = part.kind.dims.iter().filter(|dim| dim.needed).collect();
            let key = self.dice.pick(&needed).key;
            part.set(key, None);
        }
        part
    }

    /// A part with everything that may stand beside it: a measured piece of its own, and another
    /// number that is the same but for its price.
    fn add(&mut self, kind: &str, number: usize, alone: bool) {
        let part = self.filled(kind, number);
        if !alone && self.dice.chance(10) {
            let again = self.filled(kind, number);
            let on_hand = u32::from(self.dice.chance(70));
            let retired = on_hand == 0;
            let (id, of) = (format!("{}#1", part.id), Some(part.id.clone()));
            let mut piece = Part { id, piece_of: of, price: None, on_hand, retired, ..again };
            if part.is_matched_set() != piece.is_matched_set() {
                piece.set("pack_thickness", part.entry("pack_thickness"));
            }
            self.parts.push(piece);
        }
        if !alone && self.dice.chance(15) {
            let id = format!("{}x", part.id);
            let price = if self.dice.chance(50) { part.price } else { Some(Cents::new(5_000)) };
            self.parts.push(Part { id, price, ..part.clone() });
        }
        self.parts.push(part);
    }
}

/// How many parts of a kind there are at least, and how many more there may be.
const COUNTS: [(&str, i64, i64); 12] = [
    ("engine", 1, 0),
    ("flywheel", 1, 2),
    ("disc", 1, 2),
    ("pressure_plate", 1, 2),
    ("block_plate", 0, 2),
    ("bell_spacer", 0, 1),
    ("bell_housing", 1, 0),
    ("gearbox_spacer", 0, 1),
    ("gearbox", 1, 0),
    ("bearing", 1, 2),
    ("bearing_shim", 0, 2),
    ("master_cylinder", 1, 0),
];

/// House numbers that a shop may have changed: key, from and to in thousandths of an inch.
const CHANGED: [(&str, i64, i64); 8] = [
    ("stroke_margin", 50, 150),
    ("reserve_margin", 10, 60),
    ("enough_room", 0, 60),
    ("gap_range", 5, 40),
    ("blank.set_disc", 320, 340),
    ("blank.set_disc_tol", 10, 60),
    ("blank.wear", 20, 60),
    ("assumed.flywheel.thickness", 0, 8),
];

/// A shop by its number.
pub(crate) fn real(seed: u64) -> RealShop {
    let mut dice = Dice::new(seed);
    let (few, exact) = (dice.chance(50), dice.chance(10));
    let spare = if dice.chance(15) { 100 } else { 8 };
    let untoleranced = *dice.pick(&[0, 0, 10, 50, 90]);
    let known = *dice.pick(&[10, 50, 95]);
    let priced = *dice.pick(&[0, 50, 100]);
    let blank = *dice.pick(&[0, 10, 40]);
    let metric = *dice.pick(&[0, 30, 100]);
    let odd = *dice.pick(&[5, 20, 50]);
    let parts = Vec::new();
    let mut maker = Maker {
        dice: &mut dice,
        parts,
        few,
        exact,
        untoleranced,
        known,
        priced,
        blank,
        metric,
        odd,
    };
    for (kind, least, more) in COUNTS {
        let fixed = more == 0;
        let extra =
            if fixed { i64::from(maker.dice.chance(spare)) } else { maker.dice.range(0, more) };
        for number in 0..usize::try_from(least + extra).unwrap() {
            maker.add(kind, number, fixed);
        }
    }
    let (job, window) = draw_job(&mut maker);
    let parts = std::mem::take(&mut maker.parts);
    let (house, changed) = house(&mut dice, window);
    let library = Library::new(Kinds::standard(), parts, house);
    RealShop { library, job, changed }
}

fn house(dice: &mut Dice, window: bellstack::model::house::Limits) -> (House, Changed) {
    let kinds = Kinds::standard();
    let mut house = House::default();
    let mut changed = Changed::new();
    house.window = window;
    if dice.chance(25) {
        let (key, low, high) = *dice.pick(&CHANGED);
        let value = dice.range(low, high) * THOU;
        house.set(kinds, key, &Length::from_nm(value).exact(Unit::Mm)).unwrap();
        changed.insert(key.into(), value.into());
    }
    if dice.chance(5) {
        house.set(kinds, "blank.finger_ratio", "3.6").unwrap();
        house.set(kinds, "blank.finger_ratio_tol", "0.5").unwrap();
        changed.insert("blank.finger_ratio".into(), 3_600_000);
        changed.insert("blank.finger_ratio_tol".into(), 500_000);
    }
    if dice.chance(5) {
        house.set(kinds, "assumed.job", "0.003 in").unwrap();
        changed.insert("assumed.job".into(), 3 * 25_400);
    }
    (house, changed)
}
