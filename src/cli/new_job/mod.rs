//! `job new`: a car entered at the terminal, asked for one thing after another. Each answer is stored as it
//! is given, so that whoever leaves comes back to the next question.

use super::args::Common;
use super::env::Env;
use super::{Reply, place, progress};
use crate::catalog::Access;
use crate::catalog::csv::add_job;
use crate::desk::{Bench, SoFar, Step, of_bare, one_stack, so_far};
use crate::error::{Error, Result};
use crate::model::job::{Job, Reading};
use crate::model::length::Unit;
use crate::model::usual::Meant;
use crate::report;

mod talk;

use talk::{Left, Said, Talk, wanted};

pub(super) fn run(common: &Common, job: Option<&str>, env: &mut Env<'_>) -> Result<Reply> {
    let catalog = place::open(common, env, Access::Create)?;
    let mut talk = Talk { common, catalog, id: String::new(), unit: common.units, env };
    let left = match talk.begin(job)? {
        Some(step) => talk.ask_all(step)?,
        None => {
            return Ok(Reply::good("Nothing was entered, so nothing was stored.\n"));
        }
    };
    if (talk.env.was_stopped)() {
        return Err(Error::stopped("interrupted: what was answered by then is stored"));
    }
    talk.end(left)
}

impl Talk<'_, '_> {
    /// Which car it is, and the question that comes first; none where nobody says.
    fn begin(&mut self, job: Option<&str>) -> Result<Option<Step>> {
        self.env.tell(
            "Three readings lead to a verdict, without one part number. Each answer is stored as it is \
             given.",
        );
        self.env.tell(
            "A blank line passes over a question, `back` goes to the one before, `done` shows the \
             verdict, `quit` leaves.",
        );
        self.env.tell(
            "`3.190 in over 1/4 in` takes a bar off, `2.940 +-.002 in` has its tolerance with it.",
        );
        self.id = match job {
            Some(job) => job.trim().into(),
            None => match self.ask("Name of the car or job: ")? {
                Said::Line(name) => name,
                _ => return Ok(None),
            },
        };
        let id = self.id.clone();
        if let Some(job) = self.catalog.read(|reader| reader.find_job(&id))? {
            self.env.tell(&format!("There is a job `{id}`: it is gone on with."));
            self.ask_unit()?;
            return Ok(Some(Step::first_open(&job, Step::all(&job, None))));
        }
        let description = match self.ask("What it is (may be blank): ")? {
            Said::Line(text) => text,
            Said::Nothing => String::new(),
            Said::Back | Said::Done | Said::Quit => return Ok(None),
        };
        let pairs = [format!("description={description}")];
        let stamp = self.stamp("add", &pairs);
        self.catalog.write(&stamp, |writer| add_job(writer, &id, (&pairs, &Meant::default())))?;
        place::tell_of_new(&self.catalog, self.env);
        self.ask_unit()?;
        Ok(Some(Step::Plate))
    }

    /// The unit of bare lengths is set once, and never guessed.
    fn ask_unit(&mut self) -> Result<()> {
        let question = "Unit of bare numbers, in or mm (blank: each has its own): ";
        while self.unit.is_none() {
            match self.env.ask(question)?.as_deref().map(Unit::named) {
                Some(Some(unit)) => self.unit = Some(unit),
                Some(None) => break,
                None => return Ok(()),
            }
        }
        self.env.tell(of_bare(self.unit));
        Ok(())
    }

    /// The verdict, or what it still wants.
    fn end(self, left: Left) -> Result<Reply> {
        let bench = Bench::of(&self.catalog, &self.id)?;
        let id = &bench.job.id;
        let later = format!("`bellstack job new {}` goes on with it.\n", place::quoted(id));
        if left == Left::Quit {
            return Ok(Reply::stored(format!(
                "The job {id} is stored as far as it was told. {later}"
            )));
        }
        match so_far(&bench.library, &bench.job)? {
            SoFar::Whole => verdict(&bench, self.common, self.env),
            SoFar::Half(_, still) | SoFar::Nothing(still) => {
                Ok(unfinished(&bench.job, &still, &later))
            }
        }
    }
}

fn verdict(bench: &Bench, common: &Common, env: &mut Env<'_>) -> Result<Reply> {
    let setup = bench.setup()?;
    let choice = setup.fitted_choice()?;
    let one = progress::watched(env, |watch| one_stack(&setup, &choice, false, watch))?;
    let holds = one.judged.fit.holds();
    let text = report::fit_table(&setup, &one, env.view(common));
    Ok(Reply::stored(text).holding(holds))
}

fn unfinished(job: &Job, still: &[Reading], later: &str) -> Reply {
    let wanted = match wanted(still) {
        none if none.is_empty() => {
            "The readings alone do not answer it: name the parts that are fitted.".into()
        }
        wanted => wanted,
    };
    Reply::stored(format!("The job {} is stored. {wanted} {later}", job.id))
}
