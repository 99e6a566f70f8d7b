//! From the flags of a search to what is asked of it.

use super::args::Search;
use crate::desk::{slot, slot_pair};
use crate::error::{Error, Result};
use crate::model::library::Library;
use crate::model::money::Cents;
use crate::solve::ask::{Ask, Order};

/// What the flags ask of a search in this library, by this order where none is asked for. Of a cure,
/// which is by changes then, `--only` may name slots alone.
pub(super) fn ask(search: &Search, library: &Library, order: Order) -> Result<Ask> {
    let kinds = library.kinds;
    let cures = order == Order::Changes;
    let slots = |names: &[String], flag: &str| -> Result<Vec<usize>> {
        names.iter().map(|name| slot(kinds, name).map_err(|error| error.at(flag))).collect()
    };
    let (slots_alone, with_parts): (Vec<&String>, Vec<&String>) =
        search.only.iter().partition(|text| !text.contains('='));
    let changing = match (cures && !slots_alone.is_empty(), with_parts.is_empty()) {
        (false, _) => None,
        (true, true) => {
            let names: Vec<String> = slots_alone
                .iter()
                .flat_map(|text| text.split(','))
                .map(|name| name.trim().to_string())
                .filter(|name| !name.is_empty())
                .collect();
            Some(slots(&names, "`--only`")?)
        }
        (true, false) => {
            let found = "`--only` names slots to change and parts for a slot at once";
            return Err(Error::input(found).hint(
                "`--only SLOT,SLOT` changes these slots alone; `--only SLOT=ID,ID` offers a slot \
                 these parts alone",
            ));
        }
    };
    let mut only: Vec<(usize, Vec<String>)> = Vec::new();
    for text in search.only.iter().filter(|_| changing.is_none()) {
        let (slot, ids) =
            slot_pair(kinds, text, "--only SLOT=ID,ID").map_err(|e| e.at("`--only`"))?;
        let ids = ids.split(',').map(str::trim).filter(|id| !id.is_empty());
        let ids = ids.map(|id| library.called_now(id));
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
    let budget = search.budget.as_deref();
    let budget = budget.map(|text| Cents::parse_in(text, &library.house.currency)).transpose();
    Ok(Ask {
        top: usize::try_from(search.top).unwrap_or(usize::MAX),
        keep: slots(&search.keep, "`--keep`")?,
        only,
        changing,
        without: slots(&search.without, "`--without`")?,
        skip: search.skip.iter().map(|id| library.called_now(id)).collect(),
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
