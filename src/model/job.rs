//! A job: one car on the bench or one build on paper.

use crate::error::{Error, Result};
use crate::model::bars::Bars;
use crate::model::kinds::{Inside, Kinds, Quantity};
use crate::model::length::Unit;
use crate::model::part::{Entry, LARGEST, show_value};
use crate::model::pieces::{PIECE_MARK, part_and_label};
use crate::model::sides::{CRANK, Sides};
use crate::model::usual::Usual;

/// A length measured on the job.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reading {
    /// Block face to crank flange.
    CrankProtrusion,
    /// Crank flange to finger tips, bolted down.
    ClutchHeight,
    /// Block face to finger tips.
    FingerDepth,
    /// Bell housing's engine face to the bearing's contact face, extended.
    BearingDepthExtended,
    /// The same, retracted.
    BearingDepthRetracted,
    /// Clamped thickness of the disc (or pack) that is fitted now.
    FittedDiscThickness,
}

/// A reading's key and meaning.
#[derive(Debug, Clone, Copy)]
pub struct ReadingSpec {
    /// Which one it is.
    pub reading: Reading,
    /// The CSV column name.
    pub key: &'static str,
    /// Whether it may be negative.
    pub signed: bool,
    /// Between what it usually lies: asked on entry alone.
    pub usual: Usual,
    /// The words for its sides, where a sign alone would be misread.
    pub sides: Option<&'static Sides>,
    /// From where to where it is measured.
    pub about: &'static str,
}

/// Every reading, in the order of the columns.
pub const READINGS: &[ReadingSpec] = &[
    ReadingSpec {
        reading: Reading::CrankProtrusion,
        key: "crank_protrusion",
        signed: true,
        usual: Usual::thou(-2000, 2000),
        sides: Some(&CRANK),
        about: "block face (or block plate) to crank flange",
    },
    ReadingSpec {
        reading: Reading::ClutchHeight,
        key: "clutch_height",
        signed: false,
        usual: Usual::thou(500, 8000),
        sides: None,
        about: "crank flange to finger tips, clutch bolted down on its flywheel",
    },
    ReadingSpec {
        reading: Reading::FingerDepth,
        key: "finger_depth",
        signed: false,
        usual: Usual::thou(500, 8000),
        sides: None,
        about: "block face (or block plate) to finger tips, on the car",
    },
    ReadingSpec {
        reading: Reading::BearingDepthExtended,
        key: "bearing_depth_extended",
        signed: true,
        usual: Usual::thou(-1000, 12000),
        sides: None,
        about: "bell housing's engine face to the bearing's contact face, extended",
    },
    ReadingSpec {
        reading: Reading::BearingDepthRetracted,
        key: "bearing_depth_retracted",
        signed: true,
        usual: Usual::thou(-1000, 12000),
        sides: None,
        about: "bell housing's engine face to the bearing's contact face, bottomed",
    },
    ReadingSpec {
        reading: Reading::FittedDiscThickness,
        key: "fitted_disc_thickness",
        signed: false,
        usual: Usual::thou(100, 3000),
        sides: None,
        about: "clamped thickness of the disc (or pack) that is fitted now",
    },
];

impl ReadingSpec {
    /// Checks one reading.
    ///
    /// # Errors
    ///
    /// Says why it cannot be.
    pub fn check(&self, entry: Entry) -> Result<()> {
        let shown = entry.as_length().exact(Unit::In);
        if !self.signed && entry.value <= 0 {
            return Err(Error::input(format!("`{shown}` is not above zero")));
        }
        if entry.tol.is_some_and(|tol| tol < 0) {
            return Err(Error::input("its tolerance is negative"));
        }
        let size = entry.value.unsigned_abs().max(entry.tol.unwrap_or(0).unsigned_abs());
        if size > LARGEST.unsigned_abs() {
            return Err(Error::input(format!("`{shown}` or its tolerance is beyond 100 in")));
        }
        Ok(())
    }
}

/// Checks the torque that a clutch has to carry, in millinewton metres.
///
/// # Errors
///
/// Says why it cannot be.
pub fn check_torque(torque: i64) -> Result<()> {
    let shown = show_value(Quantity::Torque, torque, Unit::In);
    if torque <= 0 {
        return Err(Error::input(format!("`{shown}` is not above zero")));
    }
    if torque > LARGEST {
        let most = show_value(Quantity::Torque, LARGEST, Unit::In);
        return Err(Error::input(format!("`{shown}` is beyond {most} N m")));
    }
    Ok(())
}

impl Reading {
    /// The groups of parts that its length holds.
    pub const fn inside(self) -> &'static [Inside] {
        match self {
            Self::CrankProtrusion => &[Inside::Crank],
            Self::ClutchHeight => &[Inside::Clutch],
            Self::FingerDepth => &[Inside::Crank, Inside::Clutch],
            Self::BearingDepthExtended | Self::BearingDepthRetracted => &[Inside::BearingDepth],
            Self::FittedDiscThickness => &[],
        }
    }

    /// Its key and meaning.
    pub fn spec(self) -> &'static ReadingSpec {
        &READINGS[self as usize]
    }
}

/// What is known of the fitted disc.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DiscState {
    /// Fresh facings.
    New,
    /// Worn facings: the fingers stand high.
    Worn,
    /// Not told.
    #[default]
    Unknown,
}

/// Which way the crank was pushed within its end float when the readings were taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CrankPushed {
    /// Away from the gearbox.
    Front,
    /// Toward the gearbox.
    Rear,
    /// Not told.
    #[default]
    Unknown,
}

/// What the starter is bolted to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum StarterOn {
    /// The engine block: plates and spacers do not move it.
    Block,
    /// The bell housing: plates and spacers move it back.
    Bell,
    /// Not told.
    #[default]
    Unknown,
}

/// How many pieces may be set aside for one job: far more than a car has parts.
pub const MOST_ASIDE: usize = 200;

/// How far a job has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum JobState {
    /// Nothing has begun.
    Planned,
    /// It waits for parts.
    Waiting,
    /// It is worked on.
    #[default]
    Open,
    /// The car is gone.
    Done,
}

/// A word that a job may carry: reading and writing in one place.
pub trait Word: Copy + PartialEq + Default + 'static {
    /// Every value with the word for it.
    const WORDS: &'static [(&'static str, Self)];

    /// The word for this value.
    fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, value)| *value == self).map_or("", |(word, _)| word)
    }

    /// The value of this word; a blank is the default.
    fn from_word(word: &str) -> Option<Self> {
        let word = word.trim();
        if word.is_empty() {
            return Some(Self::default());
        }
        Self::WORDS.iter().find(|(known, _)| *known == word).map(|(_, value)| *value)
    }
}

impl Word for DiscState {
    const WORDS: &'static [(&'static str, Self)] =
        &[("new", Self::New), ("worn", Self::Worn), ("unknown", Self::Unknown)];
}

impl Word for CrankPushed {
    const WORDS: &'static [(&'static str, Self)] =
        &[("front", Self::Front), ("rear", Self::Rear), ("unknown", Self::Unknown)];
}

impl Word for StarterOn {
    const WORDS: &'static [(&'static str, Self)] =
        &[("block", Self::Block), ("bell", Self::Bell), ("unknown", Self::Unknown)];
}

impl Word for JobState {
    const WORDS: &'static [(&'static str, Self)] = &[
        ("planned", Self::Planned),
        ("waiting", Self::Waiting),
        ("open", Self::Open),
        ("done", Self::Done),
    ];
}

/// Yes and no, as a CSV cell says it.
impl Word for bool {
    const WORDS: &'static [(&'static str, Self)] = &[("yes", true), ("no", false)];
}

/// One car on the bench or one build on paper.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Job {
    /// The job's name.
    pub id: String,
    /// What it is.
    pub description: String,
    /// How far it has come.
    pub state: JobState,
    /// The day on which it came in, as it is written; blank where nobody told.
    pub date: String,
    /// For whom it is.
    pub customer: String,
    /// How the customer is reached.
    pub contact: String,
    /// The car.
    pub vehicle: String,
    /// Anything else.
    pub notes: String,
    /// Part numbers fitted or fixed, slot by slot; empty where the job names none.
    pub fitted: Vec<Vec<String>>,
    /// The master cylinder's part number.
    pub master_cylinder: Option<String>,
    /// What of the shelf is set aside for it, bytewise: part numbers and pieces, each as often as there
    /// are pieces of it.
    pub set_aside: Vec<String>,
    /// The torque that the clutch has to carry, in millinewton metres.
    pub torque: Option<i64>,
    /// Readings in the order of [`READINGS`].
    pub readings: Vec<Option<Entry>>,
    /// The bars that they were read over, by their index.
    pub bars: Bars,
    /// The crank reading was taken over the fitted block plate.
    pub crank_over_plate: bool,
    /// The finger reading was taken over the fitted block plate.
    pub depth_over_plate: bool,
    /// State of the fitted disc.
    pub disc_state: DiscState,
    /// Where the crank stood.
    pub crank_pushed: CrankPushed,
    /// Where the starter hangs.
    pub starter_on: StarterOn,
    /// The job's own window.
    pub window: crate::model::house::Limits,
}

impl Job {
    /// A job that names nothing yet.
    pub fn new(id: impl Into<String>, kinds: Kinds) -> Self {
        Self {
            id: id.into(),
            description: String::new(),
            state: JobState::default(),
            date: String::new(),
            customer: String::new(),
            contact: String::new(),
            vehicle: String::new(),
            notes: String::new(),
            fitted: vec![Vec::new(); kinds.slot_count()],
            master_cylinder: None,
            set_aside: Vec::new(),
            torque: None,
            readings: vec![None; READINGS.len()],
            bars: Bars::default(),
            crank_over_plate: false,
            depth_over_plate: false,
            disc_state: DiscState::Unknown,
            crank_pushed: CrankPushed::Unknown,
            starter_on: StarterOn::Unknown,
            window: crate::model::house::Limits::default(),
        }
    }

    /// Whether nothing is to be done about it any more.
    pub fn is_done(&self) -> bool {
        self.state == JobState::Done
    }

    /// Names its parts, and the parts of its pieces, as they are `called` now; what is none keeps its
    /// name.
    pub fn call_parts(&mut self, called: impl Fn(&str) -> Option<String>) {
        let now = |name: &mut String| {
            let piece = part_and_label(name)
                .and_then(|(part, label)| Some(format!("{}{PIECE_MARK}{label}", called(part)?)));
            if let Some(now) = called(name).or(piece) {
                *name = now;
            }
        };
        for ids in self.fitted.iter_mut().chain([&mut self.set_aside]) {
            ids.iter_mut().for_each(&now);
            // Shims, and what is set aside, are in no order of their own.
            ids.sort_unstable();
        }
        self.master_cylinder.iter_mut().for_each(now);
    }

    /// Every part and piece that it names: what is fitted, and what is set aside for it.
    pub fn named(&self) -> impl Iterator<Item = &String> {
        self.fitted.iter().flatten().chain(&self.master_cylinder).chain(&self.set_aside)
    }

    /// A reading, where it was taken.
    pub fn reading(&self, reading: Reading) -> Option<Entry> {
        self.readings[reading as usize]
    }

    /// Whether some reading holds the parts of this group.
    pub fn measures(&self, inside: Inside) -> bool {
        let holds = |spec: &&ReadingSpec| spec.reading.inside().contains(&inside);
        READINGS.iter().filter(holds).any(|spec| self.reading(spec.reading).is_some())
    }

    /// Whether anything was measured on the clutch.
    pub fn measures_clutch(&self) -> bool {
        self.measures(Inside::Clutch)
    }
}
