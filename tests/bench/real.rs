//! Shops as real ones are: half priced, half with tolerances, some faces blank, inches and millimetres
//! mixed, several families that mate, some plates without ratio or set gap, stepped flywheels, matched
//! sets, adapters, pieces with readings, and measured cars whose readings agree with the parts that are
//! fitted (one in ten does not). All of it is invented.

use bellstack::model::entry::Entry;
use bellstack::model::faces::Names;
use bellstack::model::house::House;
use bellstack::model::job::{CrankPushed, DiscState, Job, Reading, StarterOn};
use bellstack::model::kinds::Kinds;
use bellstack::model::library::Library;
use bellstack::model::money::Cents;
use bellstack::model::part::Part;
use bellstack::model::pieces::{Condition, ReadingSet, Specimen};

use crate::shop::{Dice, thou};

/// How often something is so, in per cent.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shares {
    /// A part has a price.
    priced: i64,
    /// A dimension has a tolerance.
    toleranced: i64,
    /// A mating face is blank.
    blank: i64,
    /// A part has the dimensions for the checks.
    checked: i64,
    /// A dimension was taken in millimetres.
    metric: i64,
    /// A flywheel has a step, a plate is a matched set, lacks its ratio, lacks its set gap; a car was
    /// read in an odd way.
    odd: i64,
    /// A flywheel, plate, disc or bearing was measured piece by piece.
    pieces: i64,
    /// Lengths are whole nanometres with no common grid.
    pub(crate) off_grid: bool,
    /// Families within which parts mate.
    families: usize,
}

impl Shares {
    /// The usual shop.
    pub(crate) const USUAL: Self = Self {
        priced: 50,
        toleranced: 50,
        blank: 10,
        checked: 50,
        metric: 30,
        odd: 10,
        pieces: 20,
        off_grid: false,
        families: 3,
    };

    /// Shares drawn far and wide.
    pub(crate) fn drawn(seed: u64) -> Self {
        let mut dice = Dice::new(seed ^ 0x5eed);
        let mut one_of = |shares: &[i64]| shares[dice.index(shares.len())];
        Self {
            priced: one_of(&[0, 30, 80, 100]),
            toleranced: one_of(&[0, 30, 80, 100]),
            blank: one_of(&[0, 5, 30, 60]),
            checked: one_of(&[0, 30, 100]),
            metric: one_of(&[0, 30, 50, 100]),
            odd: one_of(&[0, 10, 40]),
            pieces: one_of(&[0, 10, 50]),
            off_grid: one_of(&[0, 0, 0, 1]) == 1,
            families: usize::try_from(one_of(&[1, 2, 3, 6])).unwrap(),
        }
    }
}

/// All that a shop holds.
pub(crate) struct Shop {
    pub(crate) library: Library,
    pub(crate) jobs: Vec<Job>,
    pub(crate) pieces: Vec<Specimen>,
    pub(crate) readings: Vec<ReadingSet>,
}

/// Where things truly stand on a car, in nanometres.
struct Car {
    /// Block face to crank flange.
    protrusion: i64,
    /// Crank flange to finger tips.
    clutch: i64,
    /// Bell's engine face to the bearing's contact face, extended.
    extended: i64,
    travel: i64,
    /// The block plate that readings are taken over.
    over: Option<i64>,
}

struct Maker {
    dice: Dice,
    shares: Shares,
    parts: Vec<Part>,
}

/// A shop of `n` flywheels and plates, half as many discs, a quarter as many bearings, an eighth as many
/// (at least four) of each plate and spacer, and ten shims.
pub(crate) fn shop(n: usize, jobs: usize, seed: u64, shares: Shares) -> Shop {
    let mut maker = Maker { dice: Dice::new(seed), shares, parts: Vec::new() };
    for number in 0..n {
        maker.flywheel(number);
        maker.plate(number);
    }
    (0..(n / 2).max(2)).for_each(|number| maker.disc(number));
    (0..(n / 4).max(2)).for_each(|number| maker.bearing(number));
    for (kind, stem) in [("block_plate", "BP"), ("bell_spacer", "BS"), ("gearbox_spacer", "GS")] {
        (0..(n / 8).max(4)).for_each(|number| maker.spacer(kind, stem, number));
    }
    maker.shims();
    maker.frames();
    let jobs = (0..jobs).map(|number| maker.job(number)).collect();
    let (pieces, readings) = maker.readings();
    let library = Library::new(Kinds::standard(), maker.parts, House::default());
    Shop { library, jobs, pieces, readings }
}

impl Maker {
    fn chance(&mut self, percent: i64) -> bool {
        self.dice.chance(percent)
    }

    fn one_of<T: Copy>(&mut self, from: &[T]) -> T {
        from[self.dice.index(from.len())]
    }

    /// A length of `low` to `high` thou on the grid of its unit.
    fn draw(&mut self, low: i64, high: i64) -> i64 {
        let nm = self.dice.range(thou(low), thou(high));
        self.on_grid(nm)
    }

    fn on_grid(&mut self, nm: i64) -> i64 {
        let grid = match self.chance(self.shares.metric) {
            _ if self.shares.off_grid => 1,
            true => 10_000,
            false => 12_700,
        };
        (nm + grid / 2).div_euclid(grid) * grid
    }

    fn entry(&mut self, value: i64, half_thou: i64) -> Entry {
        let stated = self.chance(self.shares.toleranced);
        Entry::new(value, stated.then(|| thou(half_thou) / 2))
    }

    /// Sets a dimension; its tolerance is in half thou.
    fn set(&mut self, part: &mut Part, key: &str, (low, high): (i64, i64), half_thou: i64) {
        let value = self.draw(low, high);
        let entry = self.entry(value, half_thou);
        part.set(key, Some(entry));
    }

    /// Sets a dimension that only checks use.
    fn known(&mut self, part: &mut Part, key: &str, low: i64, high: i64) {
        let value = self.draw(low, high);
        part.set(key, Some(Entry::new(value, None)));
    }

    /// A part of a family, with its price and its place on the shelf.
    fn part(&mut self, kind: &str, stem: &str, number: usize, dollars: (i64, i64)) -> Part {
        let kind = Kinds::standard().get(kind).unwrap();
        let mut part = Part::new(format!("{stem}{number:05}"), kind);
        if self.chance(self.shares.priced) {
            part.price = Some(Cents::new(self.dice.range(dollars.0 * 100, dollars.1 * 100)));
        }
        if self.chance(30) {
            part.on_hand = self.one_of(&[1, 2, 3]);
        }
        part
    }

    fn face(&mut self, part: &mut Part, key: &str, stem: &str, family: usize) {
        let index = part.kind.face_index(key).unwrap();
        let other = self.dice.index(self.shares.families);
        part.faces[index] = Names::parse(&if self.chance(self.shares.blank) {
            String::new()
        } else if self.chance(10) {
            format!("{stem}-{family}|{stem}-{other}")
        } else {
            format!("{stem}-{family}")
        });
    }

    fn contact(&mut self, part: &mut Part) {
        let index = part.kind.face_index("contact_face").unwrap();
        part.faces[index] = Names::parse(self.one_of(&["flat", "flat", "round", ""]));
    }

    fn flywheel(&mut self, number: usize) {
        let family = number % self.shares.families;
        let mut part = self.part("flywheel", "FW", number, (150, 600));
        self.set(&mut part, "thickness", (750, 1200), 4);
        self.face(&mut part, "crank_pattern", "cr", family);
        self.face(&mut part, "cover_pattern", "cv", family);
        if self.chance(self.shares.odd) {
            let step = self.one_of(&[-60, 100, 125, 250, 375]);
            self.set(&mut part, "cover_step", (step, step), 4);
        }
        if self.chance(self.shares.checked) {
            self.known(&mut part, "min_thickness", 700, 700);
            self.known(&mut part, "ring_gear_offset", 400, 600);
            self.known(&mut part, "bolt_clearance", 400, 600);
            let teeth = self.one_of(&[153, 168]);
            part.set("ring_teeth", Some(Entry::new(teeth, None)));
        }
        self.parts.push(part);
    }

    fn plate(&mut self, number: usize) {
        let family = number % self.shares.families;
        let mut part = self.part("pressure_plate", "PP", number, (200, 900));
        self.set(&mut part, "finger_height", (1700, 2300), 10);
        let set = self.chance(self.shares.odd);
        if set {
            self.set(&mut part, "pack_thickness", (700, 800), 8);
            self.face(&mut part, "spline", "sp", family);
        }
        if !self.chance(self.shares.odd) {
            let gap = part.entry("pack_thickness").map_or(thou(330), |pack| pack.value);
            let gap = self.on_grid(gap);
            let entry = self.entry(gap, 4);
            part.set("set_gap", Some(entry));
        } else if self.chance(30) {
            self.known(&mut part, "set_gap_min", 310, 315);
            self.known(&mut part, "set_gap_max", 345, 350);
        }
        if !self.chance(self.shares.odd) {
            let ratio = self.dice.range(32, 42) * 100_000;
            let tol = self.chance(self.shares.toleranced).then_some(100_000);
            part.set("finger_ratio", Some(Entry::new(ratio, tol)));
        }
        let wear = self.one_of(&[30, 36, 40]);
        if self.chance(90) {
            self.known(&mut part, "wear_allowance", wear, wear);
        }
        if self.chance(70) {
            self.known(&mut part, "release_travel", 380, 480);
        }
        self.face(&mut part, "cover_pattern", "cv", family);
        self.contact(&mut part);
        if self.chance(self.shares.checked) {
            self.known(&mut part, "finger_circle_inner", 1700, 1700);
            self.known(&mut part, "finger_circle_outer", 2600, 2600);
            self.known(&mut part, "max_release_travel", 600, 600);
            part.set("disc_diameter", Some(Entry::new(280_000_000, None)));
            let torque = self.one_of(&[600_000, 800_000, 1_100_000]);
            part.set("torque_rating", Some(Entry::new(torque, None)));
        }
        self.parts.push(part);
    }

    fn disc(&mut self, number: usize) {
        let mut part = self.part("disc", "DS", number, (80, 300));
        if self.chance(self.shares.odd) {
            self.set(&mut part, "free_thickness", (325, 380), 6);
            self.set(&mut part, "cushion", (20, 30), 6);
        } else {
            self.set(&mut part, "thickness", (300, 360), 8);
        }
        if self.chance(20) {
            self.known(&mut part, "min_thickness", 270, 295);
        }
        self.face(&mut part, "spline", "sp", number % self.shares.families);
        if self.chance(self.shares.checked) {
            part.set("diameter", Some(Entry::new(280_000_000, None)));
            self.known(&mut part, "hub_front", -400, -200);
        }
        self.parts.push(part);
    }

    fn bearing(&mut self, number: usize) {
        let mut part = self.part("bearing", "BR", number, (90, 350));
        self.set(&mut part, "extended_height", (2500, 3100), 10);
        let travel = self.draw(850, 1300);
        let retracted = part.entry("extended_height").unwrap().value - travel;
        let entry = self.entry(retracted, 6);
        part.set("retracted_height", Some(entry));
        self.face(&mut part, "seat_pattern", "st", number % self.shares.families);
        self.contact(&mut part);
        if self.chance(self.shares.checked) {
            self.known(&mut part, "contact_diameter", 2100, 2100);
            self.known(&mut part, "max_shim", 150, 150);
            self.known(&mut part, "bore_outer", 2000, 2000);
            self.known(&mut part, "bore_inner", 1400, 1400);
        }
        self.parts.push(part);
    }

    fn spacer(&mut self, kind: &str, stem: &str, number: usize) {
        let family = number % self.shares.families;
        let mut part = self.part(kind, stem, number, (20, 200));
        self.set(&mut part, "thickness", (30, 500), 2);
        for face in part.kind.faces {
            let pattern = if face.key.starts_with("gearbox") { "gb" } else { "bk" };
            let rear = face.key.ends_with("_rear");
            let behind = if rear && self.chance(self.shares.odd) {
                self.dice.index(self.shares.families)
            } else {
                family
            };
            self.face(&mut part, face.key, pattern, behind);
        }
        self.parts.push(part);
    }

    fn shims(&mut self) {
        for size in [15, 20, 30, 40, 45, 60, 75, 90, 105, 120] {
            let kind = Kinds::standard().get("bearing_shim").unwrap();
            let mut part = Part::new(format!("SH{size:03}"), kind);
            let nm = if self.shares.off_grid { self.dice.range(-99, 99) } else { 0 };
            part.set("thickness", Some(Entry::new(thou(size) + nm, Some(12_700))));
            part.faces[0] = Names::parse("*");
            part.price = Some(Cents::new(500));
            part.on_hand = 4;
            self.parts.push(part);
        }
    }

    /// An engine, a bell housing and a gearbox for each family, and the master cylinder.
    fn frames(&mut self) {
        for family in 0..self.shares.families {
            let mut engine = self.part("engine", "EN", family, (900, 990));
            self.set(&mut engine, "crank_protrusion", (-20, 60), 4);
            if self.chance(self.shares.checked) {
                self.known(&mut engine, "pilot_recess", 100, 100);
                self.known(&mut engine, "pilot_length", 750, 750);
                self.known(&mut engine, "pilot_bore_depth", 1400, 1400);
                self.known(&mut engine, "dowel_protrusion", 500, 500);
                self.known(&mut engine, "crank_end_float", 6, 6);
            }
            let mut bell = self.bell(&family.to_string(), family);
            self.set(&mut bell, "depth", (6000, 6400), 10);
            let mut gearbox = self.part("gearbox", "GB", family, (900, 990));
            self.set(&mut gearbox, "seat_height", (50, 400), 10);
            self.known(&mut gearbox, "shaft_length", 6400, 6800);
            // Of what the job fixes every face is known.
            for part in [&mut engine, &mut gearbox] {
                for (face, names) in part.kind.faces.iter().zip(&mut part.faces) {
                    let stem = match face.key {
                        "crank_pattern" => "cr",
                        "block_pattern" => "bk",
                        "gearbox_pattern" => "gb",
                        "spline" => "sp",
                        _ => "st",
                    };
                    *names = Names::parse(&format!("{stem}-{family}"));
                }
            }
            self.parts.extend([engine, bell, gearbox]);
        }
        let mut master = self.part("master_cylinder", "MC", 0, (90, 99));
        master.set("bore", Some(Entry::new(thou(750), None)));
        master.set("stroke", Some(Entry::new(thou(1400), None)));
        self.parts.push(master);
    }

    fn bell(&mut self, name: &str, family: usize) -> Part {
        let mut bell = self.part("bell_housing", "BH", 0, (900, 990));
        bell.id = format!("BH{name}");
        bell.faces[0] = Names::parse(&format!("bk-{family}"));
        bell.faces[1] = Names::parse(&format!("gb-{family}"));
        bell
    }

    /// One part of a family, or none where the shop is too small for it.
    fn mine(&mut self, kind: &str, family: usize) -> Option<Part> {
        let families = self.shares.families;
        let parts: Vec<&Part> =
            self.parts.iter().filter(|part| part.kind.key == kind).skip(family).collect();
        let mine: Vec<&Part> = parts.into_iter().step_by(families).collect();
        (!mine.is_empty()).then(|| mine[self.dice.index(mine.len())].clone())
    }

    /// A build on paper (one in ten), or a car on the bench: what was read agrees with the parts that
    /// are fitted, and the bell's depth makes the fit right, too tight or too loose.
    fn job(&mut self, number: usize) -> Job {
        let kinds = Kinds::standard();
        let family = number % self.shares.families;
        let mut job = Job::new(format!("job{number:04}"), kinds);
        let mut fit = |kind: &str, id: &str| {
            job.fitted[kinds.slot_of(kind).unwrap()] = vec![id.into()];
        };
        fit("engine", &format!("EN{family:05}"));
        fit("bell_housing", &format!("BH{family}"));
        fit("gearbox", &format!("GB{family:05}"));
        if number.is_multiple_of(10) {
            return job;
        }
        let nm = |part: &Part, key: &str| part.entry(key).map_or(0, |entry| entry.value);
        let plate = self.mine("pressure_plate", family).unwrap();
        let wheel = self.mine("flywheel", family).unwrap();
        let bearing = self.mine("bearing", family).or_else(|| self.mine("bearing", 0)).unwrap();
        fit("pressure_plate", &plate.id);
        fit("flywheel", &wheel.id);
        fit("bearing", &bearing.id);
        let disc = if plate.is_matched_set() {
            None
        } else {
            self.mine("disc", family).or_else(|| self.mine("disc", 0))
        };
        let thick = match &disc {
            None => nm(&plate, "pack_thickness"),
            Some(disc) => {
                fit("disc", &disc.id);
                nm(disc, "thickness") + nm(disc, "free_thickness") - nm(disc, "cushion")
            }
        };
        let over =
            if self.chance(2 * self.shares.odd) { self.mine("block_plate", family) } else { None };
        if let Some(over) = &over {
            fit("block_plate", &over.id);
        }
        for kind in ["bell_spacer", "gearbox_spacer", "bearing_shim"] {
            if self.chance(self.shares.odd)
                && let Some(part) = self.mine(kind, family)
            {
                fit(kind, &part.id);
            }
        }
        let fitted: Vec<String> = job.fitted.iter().flatten().cloned().collect();
        let sum = |parts: &[Part], kinds: &[&str]| -> i64 {
            let of = |part: &&Part| kinds.contains(&part.kind.key) && fitted.contains(&part.id);
            parts.iter().filter(of).map(|part| nm(part, "thickness")).sum()
        };
        let plates = sum(&self.parts, &["block_plate", "bell_spacer"]);
        let behind = sum(&self.parts, &["gearbox_spacer"]) - sum(&self.parts, &["bearing_shim"]);
        let named = |parts: &[Part], id: String, key: &str| {
            parts.iter().find(|part| part.id == id).map_or(0, |part| nm(part, key))
        };
        let protrusion = named(&self.parts, format!("EN{family:05}"), "crank_protrusion");
        let seat = named(&self.parts, format!("GB{family:05}"), "seat_height");

        job.disc_state =
            self.one_of(&[DiscState::New, DiscState::New, DiscState::Worn, DiscState::Unknown]);
        let mut worn = 0;
        if job.disc_state == DiscState::Worn {
            worn = self.draw(5, 30);
            if self.chance(70) {
                self.read(&mut job, Reading::FittedDiscThickness, thick - worn, 6);
            }
        }
        let ratio = plate.entry("finger_ratio").map_or(3_700_000, |ratio| ratio.value);
        let gap = thick - nm(&wheel, "cover_step");
        let set_gap = plate.entry("set_gap").map_or(gap, |gap| gap.value);
        let clutch =
            nm(&wheel, "thickness") + nm(&wheel, "cover_step") + nm(&plate, "finger_height")
                - ratio * (gap - worn - set_gap) / 1_000_000;
        let travel = nm(&bearing, "extended_height") - nm(&bearing, "retracted_height");
        // Preload's share of the travel.
        let aim = [72, 86, 50][number % 3];
        // Depths are read from the bell's engine face: plates stand before it.
        let extended = protrusion + clutch - plates - travel * aim / 100;
        let mut bell = self.bell(&format!("{family}-{number}"), family);
        let depth = self.on_grid(extended + nm(&bearing, "extended_height") + seat - behind);
        let entry = self.entry(depth, 10);
        bell.set("depth", Some(entry));
        fit_bell(&mut job, &bell);
        self.parts.push(bell);

        let car = Car {
            protrusion,
            clutch,
            extended,
            travel,
            over: over.as_ref().map(|over| nm(over, "thickness")),
        };
        self.read_all(&mut job, &car);
        job
    }

    /// What was read on a car, and how it stood there; one car in ten contradicts its parts.
    fn read_all(&mut self, job: &mut Job, car: &Car) {
        let Car { protrusion, clutch, extended, travel, .. } = *car;
        let wrong = if self.chance(10) { self.draw(30, 300) * self.one_of(&[-1, 1]) } else { 0 };
        let (shift, over) = (car.over.unwrap_or(0), car.over.is_some());
        if self.chance(30) {
            self.read(job, Reading::FingerDepth, protrusion + clutch - shift + wrong, 8);
            job.depth_over_plate = over;
        } else {
            self.read(job, Reading::CrankProtrusion, protrusion - shift, 4);
            self.read(job, Reading::ClutchHeight, clutch + wrong, 8);
            job.crank_over_plate = over;
            if self.chance(self.shares.odd) {
                self.read(job, Reading::FingerDepth, protrusion + clutch - shift, 8);
                job.depth_over_plate = over;
            }
        }
        let one = self.chance(self.shares.odd);
        self.read(job, Reading::BearingDepthExtended, extended, 8);
        if !one {
            self.read(job, Reading::BearingDepthRetracted, extended + travel, 8);
        }
        if self.chance(self.shares.odd) && !one {
            // Two parts of which nobody knows the number: as on the bench.
            let named = self.dice.index(3);
            let kinds = ["flywheel", "pressure_plate", "bearing"].into_iter().enumerate();
            for (_, kind) in kinds.filter(|(index, _)| *index != named) {
                job.fitted[Kinds::standard().slot_of(kind).unwrap()].clear();
            }
        }
        job.crank_pushed =
            self.one_of(&[CrankPushed::Front, CrankPushed::Rear, CrankPushed::Unknown]);
        job.starter_on =
            self.one_of(&[StarterOn::Block, StarterOn::Bell, StarterOn::Bell, StarterOn::Unknown]);
        if self.chance(30) {
            job.torque = Some(700_000);
        }
        if self.chance(50) {
            job.master_cylinder = Some("MC00000".into());
        }
    }

    /// A reading with an error within both tolerances.
    fn read(&mut self, job: &mut Job, reading: Reading, value: i64, half_thou: i64) {
        let value = self.on_grid(value);
        let error = self.dice.range(-2, 2) * 25_400;
        let entry = self.entry(value + error, half_thou);
        job.readings[reading as usize] = Some(entry);
    }

    /// Pieces, each measured a few times.
    fn readings(&mut self) -> (Vec<Specimen>, Vec<ReadingSet>) {
        let (mut pieces, mut readings) = (Vec::new(), Vec::new());
        for index in 0..self.parts.len() {
            let part = self.parts[index].clone();
            let keys: &[&str] = match part.kind.key {
                "flywheel" | "disc" => &["thickness"],
                "pressure_plate" => &["finger_height"],
                "bearing" => &["extended_height", "retracted_height"],
                _ => continue,
            };
            if !self.chance(self.shares.pieces) {
                continue;
            }
            for label in ["A", "B"].into_iter().take(self.one_of(&[1, 1, 2])) {
                let condition = self.one_of(&[Condition::New, Condition::New, Condition::Used]);
                pieces.push(Specimen::new(&part.id, label, condition));
                for key in keys {
                    let Some(entry) = part.entry(key) else { continue };
                    let around = entry.value + self.dice.range(-30, 30) * 2540;
                    let mut set = ReadingSet::new(&part.id, label, *key);
                    for _ in 0..self.one_of(&[1, 3, 4]) {
                        set.values.push(around + self.dice.range(-6, 6) * 2540);
                    }
                    set.instrument = Some("caliper-0.02".into());
                    set.by = "Kim".into();
                    set.date = "2026-03-02".into();
                    readings.push(set);
                }
            }
        }
        (pieces, readings)
    }
}

fn fit_bell(job: &mut Job, bell: &Part) {
    let slot = Kinds::standard().slot_of("bell_housing").unwrap();
    job.fitted[slot] = vec![bell.id.clone()];
}
