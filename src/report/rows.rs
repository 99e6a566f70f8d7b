//! Answers as CSV, for spreadsheets: one row a stack, or for a single stack one row a term.

use super::View;
use super::cells;
use super::columns::{Column, csv};
use super::json::rounded_chance;
use super::sentences;
use super::units::Units;
use crate::model::length::Length;
use crate::stack::answer::{Answer, Cure};
use crate::stack::choice::Setup;
use crate::stack::fit::Fit;
use crate::stack::shown::{OneStack, Shown};
use crate::stack::terms::Term;

/// A stack with the cells that stand before it.
struct StackRow<'f, 'a> {
    lead: Vec<String>,
    shown: &'f Shown<'a>,
}

/// A ranking: one row a stack. Where nothing lands there is only the header.
pub fn recommend(setup: &Setup<'_>, answer: &Answer<Shown<'_>>, view: View) -> String {
    let ranked = answer.stacks.iter().enumerate();
    let rows = ranked.map(|(index, shown)| StackRow { lead: vec![(index + 1).to_string()], shown });
    stacks(setup, view, &["rank"], &rows.collect::<Vec<_>>())
}

/// Remedies of one or several jobs: one row a remedy.
pub fn cure<'a>(cures: &[(Setup<'a>, Cure<Shown<'a>>)], view: View) -> String {
    let Some((first, _)) = cures.first() else { return String::new() };
    let mut rows = Vec::new();
    for (setup, cure) in cures {
        for (index, remedy) in cure.remedies.iter().enumerate() {
            let kinds = setup.library.kinds;
            let say = Units::One(view.unit);
            let change = remedy.changes.iter().map(|one| sentences::change(kinds, one, say));
            let lead = vec![
                setup.job.id.clone(),
                (index + 1).to_string(),
                change.collect::<Vec<_>>().join("; "),
            ];
            rows.push(StackRow { lead, shown: &remedy.fit });
        }
    }
    stacks(first, view, &["job", "rank", "change"], &rows)
}

/// One stack: one row a term of its sum.
pub fn fit(report: &OneStack<'_>, view: View) -> String {
    let unit = view.unit.name();
    let length = |head: &str, of: fn(&Term) -> Length| {
        Column::of(format!("{head}_{unit}"), move |term: &Term| of(term).digits(view.unit, true))
    };
    let columns = [
        Column::of("dimension", |term: &Term| term.dimension.clone()),
        Column::of("part", |term: &Term| term.part.clone().unwrap_or_else(|| "job".into())),
        length("value", |term| term.value),
        length("tol", |term| term.tol),
        Column::of("assumed", |term: &Term| if term.assumed { "yes" } else { "no" }.into()),
        // A sum with zero turns a minus zero into a plain one.
        Column::of("to_preload", |term: &Term| (term.to_preload + 0.0).to_string()),
        Column::of("to_reserve", |term: &Term| (term.to_reserve + 0.0).to_string()),
        length("adds_to_preload", |term| term.adds),
        length("adds_to_reserve", |term| term.adds_to_reserve),
        Column::of("rests_on", |term: &Term| term.basis.map(cells::basis).unwrap_or_default()),
    ];
    csv(&columns, &report.terms)
}

fn stacks(setup: &Setup<'_>, view: View, lead: &[&str], rows: &[StackRow<'_, '_>]) -> String {
    let unit = view.unit.name();
    let mut columns: Vec<Column<'_, StackRow<'_, '_>>> = Vec::new();
    for (index, head) in lead.iter().enumerate() {
        columns.push(Column::of(*head, move |row: &StackRow<'_, '_>| row.lead[index].clone()));
    }
    columns.push(Column::of("grade", |row: &StackRow<'_, '_>| row.shown.fit.grade.word().into()));
    for (index, (_, slot)) in setup.library.kinds.slots().enumerate() {
        columns.push(Column::of(slot.key, move |row: &StackRow<'_, '_>| {
            row.shown.fit.choice.fills[index].ids().join("|")
        }));
    }
    let length = |head: &str, of: fn(&Fit<'_>) -> Length| {
        Column::of(format!("{head}_{unit}"), move |row: &StackRow<'_, '_>| {
            of(&row.shown.fit).digits(view.unit, true)
        })
    };
    columns.extend([
        length("preload", |fit| fit.preload),
        length("reserve", |fit| fit.reserve),
        length("travel", |fit| fit.travel),
        length("room", |fit| fit.room),
    ]);
    let fit = |head: &str, of: fn(&Fit<'_>) -> String| {
        Column::of(head, move |row: &StackRow<'_, '_>| of(&row.shown.fit))
    };
    columns.extend([
        Column::of("chance", |row: &StackRow<'_, '_>| {
            let chance = row.shown.chance.value().map(rounded_chance);
            chance.map(|chance| chance.to_string()).unwrap_or_default()
        }),
        Column::of("chance_if", |row: &StackRow<'_, '_>| {
            let conditions = cells::conditions(&row.shown.chance).iter();
            conditions.map(|one| one.words()).collect::<Vec<_>>().join("|")
        }),
        fit("because", |fit| fit.because.map(|cap| cap.words().to_string()).unwrap_or_default()),
        fit("not_verified", |fit| fit.joints.not_verified_count().to_string()),
        fit("to_buy", |fit| fit.to_buy.amount.to_string()),
        Column::of("currency", |_: &StackRow<'_, '_>| setup.library.house.currency.clone()),
        fit("unpriced", |fit| fit.to_buy.unpriced.to_string()),
        fit("changes", |fit| fit.changed.len().to_string()),
        fit("fails", |fit| cells::failed(fit).join("|")),
    ]);
    csv(&columns, rows)
}
