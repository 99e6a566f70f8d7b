//! From the flags of a search to what is asked of it.

use super::args::Search;
use super::names::{slot, slot_pair};
use crate::error::{Error, Result};
use crate::model::kept::{Kind, Question};
use crate::model::kinds::Kinds;
use crate::model::library::Library;
use crate::model::money::Cents;
use crate::solve::ask::{Ask, Order};
use crate::stack::grade::Grade;

/// What the flags ask of a search in this library.
pub(super) fn ask(search: &Search, library: &Library, order: Order) -> Result<Ask> {
    let kinds = library.kinds;
    let slots = |names: &[String], flag: &str| -> Result<Vec<usize>> {
        names.iter().map(|name| slot(kinds, name).map_err(|error| error.at(flag))).collect()
    };
    let mut only: Vec<(usize, Vec<String>)> = Vec::new();
    for text in &search.only {
        let (slot, ids) =
            slot_pair(kinds, text, "--only SLOT=ID,ID").map_err(|e| e.at("`--only`"))?;
        let ids = ids.split(',').map(str::trim).filter(|id| !id.is_empty()).map(String::from);
        match only.iter_mut().find(|(known, _)| *known == slot) {
            Some((_, known)) => known.extend(ids),
            None => only.push((slot, ids.collect())),
        }
    }
    if let Some((slot, _)) = only.iter().find(|(_, ids)| ids.is_empty()) {
        let key = kinds.slot_key(*slot);
        return Err(Error::input(format!("`--only {key}=` names no part"))
            .hint(format!("`--without {key}` leaves the slot empty")));
    }
    for id in &search.skip {
        if library.find(id).is_none() {
            let error = Error::input(format!("`--skip`: there is no part `{id}` in the catalog"));
            return Err(error.near(id, library.parts.iter().map(|part| part.id.as_str()), ""));
        }
    }
    let budget = search.budget.as_deref().map(Cents::parse).transpose();
    Ok(Ask {
        top: usize::try_from(search.top).unwrap_or(usize::MAX),
        keep: slots(&search.keep, "`--keep`")?,
        only,
        without: slots(&search.without, "`--without`")?,
        skip: search.skip.clone(),
        open: slots(&search.open, "`--open`")?,
        on_hand: search.on_hand,
        budget: budget.map_err(|error| error.at("`--budget`"))?,
        at_least: search.at_least,
        order: search.order.unwrap_or(order),
        show_failed: search.show_failed,
        counts: true,
        explain: false,
    })
}

/// What was asked, with slots by their keys, as it is kept with its answer.
pub(super) fn question(kinds: Kinds, ask: &Ask) -> Question {
    let key = |slot: &usize| kinds.slot_key(*slot).to_string();
    let keys = |slots: &[usize]| slots.iter().map(key).collect();
    Question {
        kind: Kind::Ranking,
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
pub(super) fn asked(question: &Question, library: &Library) -> Result<Ask> {
    let kinds = library.kinds;
    let slots = |keys: &[String]| -> Result<Vec<usize>> {
        keys.iter().map(|key| slot(kinds, key)).collect()
    };
    let only = question.only.iter().map(|(key, ids)| Ok((slot(kinds, key)?, ids.clone())));
    let unknown = |word: &str| Error::input(format!("`{word}` is no word of a question"));
    // A part that is gone needs no skipping.
    let skip = question.skip.iter().filter(|id| library.find(id).is_some());
    Ok(Ask {
        top: question.top,
        keep: slots(&question.keep)?,
        only: only.collect::<Result<_>>()?,
        without: slots(&question.without)?,
        skip: skip.cloned().collect(),
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
