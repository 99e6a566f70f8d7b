//! A car with every part that a stack needs, in round numbers, for tests to change.

use bellstack::measure::applied::applied;
use bellstack::model::faces::Names;
use bellstack::model::house::House;
use bellstack::model::job::{DiscState, Job, Reading};
use bellstack::model::kinds::Kinds;
use bellstack::model::length::Length;
use bellstack::model::library::Library;
use bellstack::model::part::{Entry, Part};
use bellstack::model::pieces::{
    Condition, Instrument, LimitOfError, Measurements, ReadingSet, Specimen,
};
use bellstack::stack::choice::{Choice, Fill, Setup};
use bellstack::stack::fit::{Fit, evaluate, evaluate_as_it_stands};

pub(crate) const fn thou(thou: i64) -> Length {
    Length::from_thou(thou)
}

/// Tenths of a thousandth of an inch.
pub(crate) const fn tenths(tenths: i64) -> Length {
    Length::from_nm(tenths * 2540)
}

/// An entry of `value` +- `tol`, both in thousandths of an inch.
pub(crate) fn entry(value: i64, tol: i64) -> Entry {
    Entry::new(thou(value).nm(), Some(thou(tol).nm()))
}

#[derive(Clone)]
pub(crate) struct Car {
    pub(crate) parts: Vec<Part>,
    pub(crate) job: Job,
    pub(crate) house: House,
    pub(crate) measured: Measurements,
}

/// What stands in some slots instead of what is fitted: the kind, and the part numbers.
pub(crate) type Swaps<'s> = &'s [(&'s str, &'s [&'s str])];

/// The finger ratio of the car's clutch.
pub(crate) const RATIO: Entry = Entry::new(3_500_000, Some(0));

impl Car {
    /// A build on paper: fingers at 3.400 in, the bearing's face at 2.650 in extended and 3.600 in
    /// retracted. Preload 0.750, reserve 0.200, travel 0.950 in; nothing may be wrong by anything.
    pub(crate) fn paper() -> Self {
        let kinds = Kinds::standard();
        let mut car = Self {
            parts: Vec::new(),
            job: Job::new("car", kinds),
            house: House::default(),
            measured: Measurements::default(),
        };
        car.fit("engine", "E", &[("crank_protrusion", 500)]);
        car.fit("flywheel", "F", &[("thickness", 1000), ("cover_step", 0)]);
        car.fit("disc", "D", &[("thickness", 330)]);
        car.fit("pressure_plate", "P", &[("finger_height", 1900), ("set_gap", 330)]);
        car.part("P").set("finger_ratio", Some(RATIO));
        car.fit("bell_housing", "B", &[("depth", 6000)]);
        car.fit("gearbox", "G", &[("seat_height", 250)]);
        car.fit("bearing", "R", &[("extended_height", 3100), ("retracted_height", 2150)]);
        car.job.disc_state = DiscState::New;
        car
    }

    /// The same car with readings that agree with its parts to 0.001 in, while every catalogued
    /// dimension is uncertain by 0.100 in: the readings are used wherever they can be.
    pub(crate) fn measured() -> Self {
        let mut car = Self::paper();
        car.loosen(100);
        car.read(Reading::FingerDepth, 3400, 1);
        car.read(Reading::BearingDepthExtended, 2650, 1);
        car.read(Reading::BearingDepthRetracted, 3600, 1);
        car
    }

    /// Gives every length of every part this tolerance.
    pub(crate) fn loosen(&mut self, tol: i64) {
        for part in &mut self.parts {
            for (spec, dim) in part.kind.dims.iter().zip(&mut part.dims) {
                if let Some(dim) = dim
                    && spec.key != "finger_ratio"
                {
                    dim.tol = Some(thou(tol).nm());
                }
            }
        }
    }

    /// Adds a part to the library; every dimension exact.
    pub(crate) fn add(&mut self, kind: &str, id: &str, dims: &[(&str, i64)]) -> &mut Part {
        let mut part = Part::new(id, Kinds::standard().get(kind).unwrap());
        for (key, value) in dims {
            assert!(part.kind.dim_index(key).is_some(), "{kind} has {key}");
            part.set(key, Some(entry(*value, 0)));
        }
        self.parts.push(part);
        self.parts.last_mut().unwrap()
    }

    /// Adds a part and puts it in its slot.
    pub(crate) fn fit(&mut self, kind: &str, id: &str, dims: &[(&str, i64)]) {
        self.add(kind, id, dims);
        self.put(kind, &[id]);
    }

    /// Puts parts of the library in a slot of the job.
    pub(crate) fn put(&mut self, kind: &str, ids: &[&str]) {
        let slot = Kinds::standard().slot_of(kind).unwrap();
        self.job.fitted[slot] = ids.iter().map(|id| (*id).into()).collect();
    }

    /// Adds a part that differs from another one in some dimensions (by so many thousandths).
    pub(crate) fn copy(&mut self, of: &str, id: &str, by: &[(&str, i64)]) -> &mut Part {
        let mut part = self.part(of).clone();
        part.id = id.into();
        for (key, by) in by {
            let old = part.entry(key).unwrap();
            part.set(key, Some(Entry { value: old.value + thou(*by).nm(), ..old }));
        }
        self.parts.push(part);
        self.parts.last_mut().unwrap()
    }

    pub(crate) fn part(&mut self, id: &str) -> &mut Part {
        self.parts.iter_mut().find(|part| part.id == id).unwrap()
    }

    /// Sets a dimension of a part, exact.
    pub(crate) fn set(&mut self, id: &str, key: &str, value: i64) {
        self.part(id).set(key, Some(entry(value, 0)));
    }

    /// Makes a dimension exact, whatever it is.
    pub(crate) fn exact(&mut self, id: &str, key: &str) {
        let known = self.part(id).entry(key).unwrap();
        self.part(id).set(key, Some(Entry { tol: Some(0), ..known }));
    }

    pub(crate) fn face(&mut self, id: &str, key: &str, names: &str) {
        let part = self.part(id);
        let index = part.kind.face_index(key).unwrap();
        part.faces[index] = Names::parse(names);
    }

    pub(crate) fn read(&mut self, reading: Reading, value: i64, tol: i64) {
        self.job.readings[reading as usize] = Some(entry(value, tol));
    }

    /// An instrument that is wrong by at most so many tenths of a thousandth, and shows every step.
    pub(crate) fn instrument(&mut self, name: &str, limit: i64) {
        let limit = LimitOfError { up_to: thou(25_000), limit: tenths(limit) };
        self.measured.instruments.push(Instrument {
            name: name.into(),
            description: String::new(),
            resolution: None,
            limits: vec![limit],
            source: "invented".into(),
        });
    }

    /// Adds a piece of a part number, in hand.
    pub(crate) fn piece(&mut self, part: &str, label: &str, condition: Condition) -> &mut Specimen {
        let (part, label) = (part.into(), label.into());
        let piece = Specimen { part, label, condition, in_hand: true, notes: String::new() };
        self.measured.specimens.push(piece);
        self.measured.specimens.last_mut().unwrap()
    }

    /// Readings on a piece, such as `F#1`, in tenths of a thousandth.
    pub(crate) fn gauge(
        &mut self,
        piece: &str,
        dimension: &str,
        values: &[i64],
        instrument: Option<&str>,
    ) -> &mut ReadingSet {
        let (part, label) = piece.split_once('#').unwrap();
        self.measured.readings.push(ReadingSet {
            bar: None,
            number: 0,
            part: part.into(),
            piece: label.into(),
            dimension: dimension.into(),
            values: values.iter().map(|value| tenths(*value).nm()).collect(),
            instrument: instrument.map(String::from),
            by: String::new(),
            date: String::new(),
            struck: None,
        });
        self.measured.readings.last_mut().unwrap()
    }

    /// The library as it is stored.
    pub(crate) fn stored(&self) -> Library {
        let mut library = Library::new(Kinds::standard(), self.parts.clone(), self.house.clone());
        library.measured = self.measured.clone();
        library
    }

    /// The library that answers are computed with.
    pub(crate) fn library(&self) -> Library {
        applied(self.stored(), std::slice::from_ref(&self.job))
    }

    /// Works with the looked-up job.
    pub(crate) fn setup<T>(&self, work: impl FnOnce(&Setup<'_>) -> T) -> T {
        let library = self.library();
        assert!(library.check_job(&self.job).is_ok(), "{:?}", library.check_job(&self.job));
        let setup = Setup::new(&library, &self.job).unwrap();
        work(&setup)
    }

    /// Looks at the stack with some slots swapped, and so much cut off the flywheel's two faces.
    pub(crate) fn cut<T>(
        &self,
        swaps: Swaps<'_>,
        cut: i64,
        look: impl FnOnce(&Setup<'_>, &Fit<'_>) -> T,
    ) -> T {
        self.setup(|setup| {
            let choice = choice(setup, swaps, cut);
            setup.complete(&choice).unwrap();
            let fit = evaluate(setup, &choice).unwrap_or_else(|lacks| panic!("{lacks:?}"));
            look(setup, &fit)
        })
    }

    pub(crate) fn swapped<T>(
        &self,
        swaps: Swaps<'_>,
        look: impl FnOnce(&Setup<'_>, &Fit<'_>) -> T,
    ) -> T {
        self.cut(swaps, 0, look)
    }

    /// Looks at the fitted stack.
    pub(crate) fn now<T>(&self, look: impl FnOnce(&Setup<'_>, &Fit<'_>) -> T) -> T {
        self.swapped(&[], look)
    }

    /// Preload and reserve of a stack, in nanometres.
    pub(crate) fn numbers(&self, swaps: Swaps<'_>) -> (i64, i64) {
        self.swapped(swaps, |_, fit| (fit.preload.nm(), fit.reserve.nm()))
    }

    /// Preload and reserve with the fitted disc as it is.
    pub(crate) fn as_it_stands(&self) -> (i64, i64) {
        self.setup(|setup| {
            let fit = evaluate_as_it_stands(setup, &setup.fitted_choice().unwrap()).unwrap();
            (fit.preload.nm(), fit.reserve.nm())
        })
    }
}

fn choice<'a>(setup: &Setup<'a>, swaps: Swaps<'_>, cut: i64) -> Choice<'a> {
    let mut fills = setup.fitted.clone();
    for (kind, ids) in swaps {
        let parts = ids.iter().map(|id| setup.library.part_of_kind(id, kind).unwrap());
        fills[setup.slot(kind).unwrap()] = Fill::several(parts);
    }
    fills[setup.slot("flywheel").unwrap()].cut = thou(cut);
    Choice { fills }
}

/// Preload and reserve in nanometres from thousandths of an inch.
pub(crate) fn both(preload: i64, reserve: i64) -> (i64, i64) {
    (thou(preload).nm(), thou(reserve).nm())
}
