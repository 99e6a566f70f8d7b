//! What is asked of a search, as names that were typed or kept.

use crate::error::{Error, Result};
use crate::model::kept::{Kind, Question};
use crate::model::kinds::Kinds;
use crate::model::library::Library;
use crate::model::money::Cents;
use crate::solve::ask::{Ask, Order};
use crate::stack::grade::Grade;

/// The index of the slot of this name.
///
/// # Errors
///
/// Names the nearest slot where there is none of this name.
pub fn slot(kinds: Kinds, name: &str) -> Result<usize> {
    let name = name.trim();
    kinds.slot_named(name).ok_or_else(|| {
        let keys = || kinds.slots().map(|(_, slot)| slot.key);
        let all = format!("slots are {}", keys().collect::<Vec<_>>().join(", "));
        Error::input(format!("`{name}` is no slot of a stack")).near(name, keys(), all)
    })
}

/// `SLOT=REST`, split and looked up; `form` is how it is written.
///
/// # Errors
///
/// As [`slot`], and where nothing stands behind the slot.
pub fn slot_pair<'t>(kinds: Kinds, text: &'t str, form: &str) -> Result<(usize, &'t str)> {
    let Some((name, rest)) = text.split_once('=') else {
        return Err(Error::input(format!("`{text}` names no part")).hint(format!("write `{form}`")));
    };
    Ok((slot(kinds, name)?, rest.trim()))
}

/// What was asked, with slots by their keys, as it is kept with its answer.
pub fn question(kinds: Kinds, kind: Kind, ask: &Ask) -> Question {
    let key = |slot: &usize| kinds.slot_key(*slot).to_string();
    let keys = |slots: &[usize]| slots.iter().map(key).collect();
    Question {
        kind,
        top: ask.top,
        keep: keys(&ask.keep),
        only: ask.only.iter().map(|(slot, ids)| (key(slot), ids.clone())).collect(),
        without: keys(&ask.without),
        skip: ask.skip.clone(),
        open: keys(&ask.open),
        on_hand: ask.on_hand,
        budget: ask.budget.map(|budget| budget.to_string()),
        at_least: ask.at_least.word().into(),
        order: ask.order.word().into(),
        show_failed: ask.show_failed,
    }
}

/// The same question asked again in this library.
///
/// # Errors
///
/// Refuses a slot or a word that is none.
pub fn asked(question: &Question, library: &Library) -> Result<Ask> {
    let kinds = library.kinds;
    let slots = |keys: &[String]| -> Result<Vec<usize>> {
        keys.iter().map(|key| slot(kinds, key)).collect()
    };
    let only = question.only.iter().map(|(key, ids)| {
        Ok((slot(kinds, key)?, ids.iter().map(|id| library.called_now(id)).collect()))
    });
    let unknown = |word: &str| Error::input(format!("`{word}` is no word of a question"));
    // A part that is gone needs no skipping.
    let skip = question.skip.iter().filter_map(|id| library.find(id));
    Ok(Ask {
        top: question.top,
        keep: slots(&question.keep)?,
        changing: None,
        only: only.collect::<Result<_>>()?,
        without: slots(&question.without)?,
        skip: skip.map(|part| part.id.clone()).collect(),
        open: slots(&question.open)?,
        on_hand: question.on_hand,
        budget: question.budget.as_deref().map(Cents::parse).transpose()?,
        at_least: Grade::from_word(&question.at_least)
            .ok_or_else(|| unknown(&question.at_least))?,
        order: Order::from_word(&question.order).ok_or_else(|| unknown(&question.order))?,
        show_failed: question.show_failed,
        counts: true,
        explain: false,
    })
}
