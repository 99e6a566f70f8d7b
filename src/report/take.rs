//! What changes on a job that takes a row of an answer.

use super::page::Page;
use super::units::Units;
use super::{View, cells, sentences};
use crate::model::job::Reading;
use crate::stack::choice::Setup;
use crate::stack::cost::ToBuy;
use crate::stack::shown::OneStack;

/// Old part beside new part, the readings that are of the car as it was, and what the stack is. The
/// `pairs` are those of a job's row: `flywheel=FW-1`.
pub fn taken(
    setup: &Setup<'_>,
    one: &OneStack<'_>,
    (pairs, stale): (&[String], &[Reading]),
    view: View,
) -> String {
    let (kinds, say) = (setup.library.kinds, Units::One(view.unit));
    let mut page = Page::new(view.width);
    page.line(format!("{}: {}", setup.job.id, sentences::verdict(&one.judged.fit, say)));
    if pairs.is_empty() {
        page.line("That is what is fitted: nothing changes.");
    }
    for (key, to) in pairs.iter().filter_map(|pair| pair.split_once('=')) {
        let from = kinds.slot_named(key).map(|slot| cells::fill(&setup.fitted[slot], say));
        let to = if to.is_empty() { "none" } else { to };
        page.hanging("  ", format!("{key}: {} -> {to}", from.unwrap_or_default()));
    }
    for reading in stale {
        let entry = setup.job.reading(*reading);
        let was = entry.map(|entry| entry.as_length().exact(view.unit)).unwrap_or_default();
        let key = reading.spec().key;
        page.hanging("  ", format!("{key}: {was} -> blank, it was taken with a part that leaves"));
    }
    let fit = &one.judged.fit;
    if !pairs.is_empty() && fit.to_buy != ToBuy::default() {
        let (cost, currency) = (cells::to_buy(fit), &setup.library.house.currency);
        page.line(format!(
            "Still to be bought: {cost} {currency}. On the job these parts count as fitted: for \
             `bellstack buy`, keep the answer first (`bellstack answer keep`)."
        ));
    }
    if !stale.is_empty() {
        page.line("The record keeps what was read; measure again once it is built.");
    }
    page.finish()
}
