//! What unknown headings mean, asked of a person: one heading after another, with what it probably
//! means and some of its cells.

use super::env::Env;
use crate::catalog::csv::{Strange, column_named, holds_named, likely};
use crate::error::{Error, Result};
use crate::model::headings::{Headings, Meaning};
use crate::model::words::count;

/// Asks what the headings of a table mean.
pub(super) fn learn(strange: &Strange, env: &mut Env<'_>) -> Result<Headings> {
    let mut headings = Headings::default();
    let unknown = strange.headings.iter().filter(|(.., is_known)| !is_known).count();
    if unknown > 0 {
        let unknown = count(unknown as u128, "heading");
        env.tell(&format!("{}: {unknown} to be told what they mean.", strange.table));
        headings.holds = holds(strange, env)?;
    }
    let holds = Some(headings.holds.clone()).filter(|holds| !holds.is_empty());
    for (heading, samples, is_known) in &strange.headings {
        let meaning = if *is_known {
            Meaning::Column(column_named(env.kinds, None, heading)?)
        } else {
            meaning(heading, samples, holds.as_deref(), env)?
        };
        headings.learn(heading, meaning);
    }
    Ok(headings)
}

/// Asks which kinds the words in a table stand for, whose headings are known by then.
pub(super) fn learn_kinds(
    strange: &[Strange],
    headings: &mut Headings,
    env: &mut Env<'_>,
) -> Result<()> {
    for word in strange.iter().flat_map(|table| &table.kinds) {
        let kind = kind(word, env)?;
        headings.learn_kind(word, kind);
    }
    Ok(())
}

/// Asks under which name the answers are kept, if at all.
pub(super) fn name(headings: &mut Headings, env: &mut Env<'_>) -> Result<()> {
    let question = "Keep these answers under which name? A sheet with the same headings is then \
                    read by them; - keeps none: ";
    loop {
        let name = asked(env, question)?;
        match name.as_str() {
            "" => {}
            "-" => return Ok(()),
            name => {
                headings.name = name.into();
                return Ok(());
            }
        }
    }
}

fn asked(env: &mut Env<'_>, question: &str) -> Result<String> {
    env.ask(question)?.ok_or_else(|| Error::input("nothing was stored: the questions were left"))
}

/// What the table holds, asked where nothing says it.
fn holds(strange: &Strange, env: &mut Env<'_>) -> Result<String> {
    if let Some(holds) = &strange.holds {
        return Ok(holds.clone());
    }
    let question = "What is in its rows: a kind of part such as flywheels, parts (a column says \
                    their kind), jobs, pieces, readings or instruments? ";
    loop {
        let answer = asked(env, question)?;
        match holds_named(env.kinds, &answer) {
            Ok(holds) => return Ok(holds),
            Err(error) => env.tell(&format!("  {}", error.one_line())),
        }
    }
}

fn meaning(
    heading: &str,
    samples: &[String],
    holds: Option<&str>,
    env: &mut Env<'_>,
) -> Result<Meaning> {
    let likely = likely(env.kinds, holds, heading);
    let samples: Vec<String> = samples.iter().map(|text| crate::error::cut(text, 30)).collect();
    let samples = if samples.is_empty() { "no cell is filled".into() } else { samples.join(" | ") };
    env.tell(&format!("`{heading}`: {samples}"));
    let numbered: Vec<String> =
        likely.iter().zip(1..).map(|(name, number)| format!("{number} {name}, ")).collect();
    let question = format!(
        "  {}a column's name, own_NAME to keep it as the shop's own, or - to pass it over: ",
        numbered.concat()
    );
    loop {
        let answer = asked(env, &question)?;
        let chosen = answer.parse::<usize>().ok().and_then(|number| number.checked_sub(1));
        match (answer.as_str(), chosen.and_then(|at| likely.get(at))) {
            ("", _) => {}
            ("-", _) => return Ok(Meaning::PassedOver),
            (_, Some(name)) => return Ok(Meaning::Column(name.clone())),
            (name, None) => match column_named(env.kinds, holds, name) {
                Ok(column) => return Ok(Meaning::Column(column)),
                Err(error) => env.tell(&format!("  {}", error.one_line())),
            },
        }
    }
}

fn kind(word: &str, env: &mut Env<'_>) -> Result<&'static str> {
    let question = format!("`{word}` is no kind of part that is known. Which kind is it? ");
    loop {
        let answer = asked(env, &question)?;
        match env.kinds.named(&answer) {
            Ok(kind) => return Ok(kind.key),
            Err(error) => env.tell(&format!("  {}", error.one_line())),
        }
    }
}
