//! A new car: one question at a time, each stored as it is answered, so that whoever leaves comes back
//! to the next one. The verdict grows beside them.

mod fields;

use maud::{Markup, html};

use super::signed_for;
use crate::catalog::csv::{add_job, add_part, edit_job, tried_job};
use crate::desk::{
    Bench, Half, SoFar, Stand, Step, Thing, Version, Written, so_far, unless_changed,
};
use crate::error::{Error, Result};
use crate::model::job::Job;
use crate::model::length::Unit;
use crate::model::usual::Meant;
use crate::report::html::{bar, in_words, state, text, words};
use crate::serve::form::asked;
use crate::serve::shell::{keep_box, said, signed, wrong};
use crate::serve::visit::{Reply, Visit};
use crate::serve::{meanwhile, question};
use crate::stack::choice::Setup;
use fields::EntryAnswer;

/// Asks what the car is to be called.
pub(in crate::serve::pages) fn new(visit: &Visit) -> Result<Reply> {
    Reply::page("New car", begin(visit, None))
}

fn begin(visit: &Visit, error: Option<&Error>) -> Markup {
    html! {
        h1 { "New car" }
        p {
            "Three readings answer it, without one part number. Each answer is stored as you give it: leave "
            "when you like, and come back through " a href="/" { "Today" } "."
        }
        @if let Some(error) = error { (wrong(error)) }
        form.stack method="post" action="/new" id="new" data-keep {
            (signed(visit))
            label.field.big {
                span { "Name of the car or job" }
                input type="text" name="job" required maxlength="80" autocomplete="off" value=(visit.form.text("job")) autofocus;
                small { "as you would look for it: a plate number, a customer, a job number" }
            }
            label.field {
                span { "What it is" }
                input type="text" name="description" maxlength="200" autocomplete="off" value=(visit.form.text("description"));
            }
            button.main.large { "Begin" }
        }
    }
}

/// Adds the car.
#[expect(clippy::unnecessary_wraps, reason = "every page is asked alike")]
pub(in crate::serve::pages) fn add(visit: &Visit) -> Result<Reply> {
    let id = visit.form.text("job");
    let pairs = [format!("description={}", visit.form.text("description"))];
    let added = if id.is_empty() {
        Err(Error::input("the car has no name").hint("give it one: it may be any words"))
    } else {
        visit.write(format!("job add {id}"), |writer| add_job(writer, id, (&pairs, &visit.meant())))
    };
    match added {
        Ok(_) => Ok(Reply::Go(address(id, Step::Plate))),
        Err(error) => Ok(Reply::Again("New car".into(), begin(visit, Some(&error)))),
    }
}

fn address(job: &str, step: Step) -> String {
    asked("/car/enter", [("job", job), ("step", step.key())])
}

/// One question, or the first that is not answered yet.
pub(in crate::serve::pages) fn page(visit: &Visit) -> Result<Reply> {
    let visit = &visit.typed();
    if visit.wants_piece() {
        return Ok(Reply::Piece(told_of_typed(visit)?));
    }
    let body = ask(visit, None)?;
    Reply::page(format!("{}: readings", visit.needed("job")?), body)
}

fn ask(visit: &Visit, error: Option<&Error>) -> Result<Markup> {
    let id = visit.needed("job")?;
    let (bench, seen) = visit
        .catalog()?
        .read(|reader| Ok((Bench::read(reader, id)?, Version::of(reader, Thing::Job(id))?)))?;
    let named = visit.query.one("step").or(visit.form.one("step")).and_then(Step::named);
    let steps = Step::all(&bench.job, named);
    let step = named.unwrap_or_else(|| Step::first_open(&bench.job, steps));
    let plate = bench.library.kinds.slot_of("block_plate");
    Ok(html! {
        div.head {
            h1 { (text(id)) }
            p { a.button href=(asked("/car", [("job", id)])) { "The car" } }
        }
        @let at = steps.iter().position(|one| *one == step).unwrap_or_default() + 1;
        details.steps {
            summary { "Question " (at) " of " (steps.len()) ", " (answered(&bench.job, steps, plate)) " answered" }
            nav aria-label="Questions" { ol {
                @for one in steps {
                    li {
                        a href=(address(id, *one)) aria-current=[(*one == step).then_some("step")] {
                            @if one.is_answered(&bench.job, plate) { span.done { "\u{2713} " } span.unseen { "answered: " } }
                            (one.name())
                        }
                    }
                }
            } }
        }
        div.asked {
            section.question {
                @if let Some(error) = error { (wrong(error)) }
                form.stack method="post" action=(asked("/car/enter", [("step", step.key())])) id=(step.key()) data-keep {
                    (signed_for(visit, id, seen))
                    div.stack data-told=[step.is_reading().then(|| address(id, step))] {
                        (fields::of(visit, &bench, step))
                        @if step.is_reading() { output {} }
                    }
                    (keep_box(error))
                    div.row {
                        @if let Some(before) = step.before(steps) { a.button href=(address(id, before)) { "Back" } }
                        button.main.large { "Store and go on" }
                        @match step.next(steps) {
                            Some(next) => { a.button href=(address(id, next)) { "Pass over" } }
                            None => { a.button href=(asked("/car", [("job", id)])) { "Pass over" } }
                        }
                    }
                }
            }
            (told_so_far(visit, &bench)?)
        }
    })
}

fn answered(job: &Job, steps: &[Step], plate: Option<usize>) -> usize {
    steps.iter().filter(|step| step.is_answered(job, plate)).count()
}

/// What is told of a reading while it is typed: what looks like a slip, else what the verdict would be.
/// Nothing is stored.
fn told_of_typed(visit: &Visit) -> Result<Markup> {
    let step = visit.query.one("step").and_then(Step::named);
    let Some(step) = step.filter(|step| fields::is_typed(*step, &visit.form)) else {
        return Ok(html! {});
    };
    let bench = Bench::of(&visit.catalog()?, visit.needed("job")?)?;
    let tried = fields::answer(visit, &bench, step).and_then(|EntryAnswer { pairs, .. }| {
        tried_job(&bench.library, &bench.job, (&pairs, &Meant::default()))
    });
    let job = match tried {
        Ok(job) => job,
        Err(error) => return Ok(html! { div.doubt { (said(&error)) } }),
    };
    let unit = visit.unit();
    Ok(match so_far(&bench.library, &job)? {
        SoFar::Whole => match Stand::of(&Setup::new(&bench.library, &job)?) {
            Stand::Judged(fit, _) => html! {
                "With it: " (in_words(&fit)) ", preload " (fit.preload.show(unit)) ", reserve " (fit.reserve.show(unit)) "."
            },
            Stand::Paper(_) | Stand::Untold(_) => html! {},
        },
        SoFar::Half(told, _) => html! { "With it: " (half(&told, unit)) },
        SoFar::Nothing(_) => html! {},
    })
}

/// One of the two numbers, and how it stands to its least.
fn half(told: &Half, unit: Unit) -> Markup {
    let (number, stands) = told.words(unit);
    html! { strong { (number) } ": " (stands) "." }
}

/// The verdict as it grows.
fn told_so_far(visit: &Visit, bench: &Bench) -> Result<Markup> {
    let view = visit.view();
    let unit = visit.unit();
    let setup = bench.setup()?;
    let inner = match so_far(&bench.library, &bench.job)? {
        SoFar::Whole => match Stand::of(&setup) {
            Stand::Judged(fit, _) => html! {
                div class=(format!("verdict {}", state(&fit).class())) {
                    p.word { (in_words(&fit)) }
                    (bar(&fit, view, "sofar"))
                    p { a.button href=(asked("/car", [("job", bench.job.id.as_str())])) { "Look at the car" } }
                }
            },
            Stand::Paper(_) | Stand::Untold(_) => html! {},
        },
        SoFar::Half(told, still) => html! {
            p { (half(&told, unit)) }
            (wanted(&still))
        },
        SoFar::Nothing(still) if still.is_empty() => match Stand::of(&setup) {
            Stand::Untold(error) => html! { p { (words(error.message())) } },
            _ => {
                html! { p { "The readings alone do not answer it: name the parts that are fitted." } }
            }
        },
        SoFar::Nothing(still) => wanted(&still),
    };
    Ok(html! { section.sofar aria-live="polite" { h2 { "So far" } (inner) } })
}

fn wanted(still: &[crate::model::job::Reading]) -> Markup {
    let names: Vec<String> = still.iter().map(|one| one.spec().key.replace('_', " ")).collect();
    html! { p { "Still to be read for a verdict: " (names.join(", ")) "." } }
}

/// What every form holds beside what is typed into it.
const NOT_TYPED: [&str; 5] = ["token", "by", "job", "step", "seen"];

/// Stores an answer and goes on to the next question.
pub(in crate::serve::pages) fn store(visit: &Visit) -> Result<Reply> {
    let id = visit.needed("job")?;
    let step = visit.query.one("step").and_then(Step::named);
    let step = step.ok_or_else(|| Error::input("there is no such question"))?;
    let seen = Version(visit.form.number("seen").unwrap_or_default());
    let bench = Bench::of(&visit.catalog()?, id)?;
    let meant = visit.meant();
    let stored = fields::answer(visit, &bench, step).and_then(|EntryAnswer { pairs, plate }| {
        let command = format!("job edit {id} {}", pairs.join(" "));
        let written = visit.write(command, |writer| {
            unless_changed(writer, Thing::Job(id), seen, || {
                if let Some((plate, of_plate)) = &plate {
                    add_part(writer, "block_plate", plate, (of_plate, &meant))?;
                }
                edit_job(writer, id, (&pairs, &meant))
            })
        })?;
        Ok((written, pairs))
    });
    match stored {
        Ok((Written::Done(_), _)) => {
            let after = Bench::of(&visit.catalog()?, id)?;
            let steps = Step::all(&after.job, Some(step));
            Ok(Reply::Go(match step.next(steps) {
                Some(next) => address(id, next),
                None => asked("/car", [("job", id)]),
            }))
        }
        Ok((Written::Meanwhile(events), pairs)) => {
            let yours = html! { ul.changes { @for pair in &pairs { li { (text(pair)) } } } };
            // What was typed goes along, so that it is not typed twice.
            let form = visit.form.iter().filter(|(name, _)| !NOT_TYPED.contains(name));
            let again = [("job", id), ("step", step.key())].into_iter().chain(form);
            Ok(meanwhile::page(visit, id, &events, &yours, &asked("/car/enter", again)))
        }
        Err(error) => Ok(Reply::Again(format!("{id}: readings"), ask(visit, Some(&error))?)),
    }
}
