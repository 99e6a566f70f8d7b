//! Answers as CSV, for spreadsheets: one row a stack, or for a single stack one row a term.

use super::View;
use super::fit::FitReport;
use super::sentences;
use super::spoken::Spoken;
use crate::model::length::Length;
use crate::stack::answer::{Answer, Cure};
use crate::stack::choice::Setup;
use crate::stack::fit::Fit;
use crate::stack::odds::chance_of;
use crate::stack::terms::terms;

type Rows = Vec<Vec<String>>;

pub(super) fn write(rows: Rows) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        // Writing into memory does not fail.
        let _ = writer.write_record(row);
    }
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

/// A ranking: one row a stack. Where nothing lands there is only the header.
pub fn recommend(setup: &Setup<'_>, answer: &Answer<'_>, view: View) -> String {
    let mut rows = vec![header(setup, view, &["rank"])];
    for (index, fit) in answer.stacks.iter().enumerate() {
        rows.push(stack(setup, fit, view, vec![(index + 1).to_string()]));
    }
    write(rows)
}

/// Remedies of one or several jobs: one row a remedy.
pub fn cure<'a>(cures: &[(Setup<'a>, Cure<'a>)], view: View) -> String {
    let Some((first, _)) = cures.first() else { return String::new() };
    let mut rows = vec![header(first, view, &["job", "rank", "change"])];
    for (setup, cure) in cures {
        for (index, remedy) in cure.remedies.iter().enumerate() {
            let kinds = setup.library.kinds;
            let say = Spoken::In(view.unit);
            let change = remedy.changes.iter().map(|one| sentences::change(kinds, one, say));
            let lead = vec![
                setup.job.id.clone(),
                (index + 1).to_string(),
                change.collect::<Vec<_>>().join("; "),
            ];
            rows.push(stack(setup, &remedy.fit, view, lead));
        }
    }
    write(rows)
}

/// One stack: one row a term of its sum.
pub fn fit(report: &FitReport<'_>, view: View) -> String {
    let unit = view.unit.name();
    let mut rows = vec![vec![
        "dimension".into(),
        "part".into(),
        format!("value_{unit}"),
        format!("tol_{unit}"),
        "assumed".into(),
        "to_preload".into(),
        "to_reserve".into(),
        format!("adds_to_preload_{unit}"),
        format!("adds_to_reserve_{unit}"),
        "rests_on".into(),
    ]];
    let digits = |length: Length| length.digits(view.unit, true);
    for term in terms(&report.fit) {
        rows.push(vec![
            term.dimension,
            term.part.unwrap_or_else(|| "job".into()),
            digits(term.value),
            digits(term.tol),
            if term.assumed { "yes" } else { "no" }.into(),
            (term.to_preload + 0.0).to_string(),
            (term.to_reserve + 0.0).to_string(),
            digits(term.adds),
            digits(term.adds_to_reserve),
            term.basis.map(super::cells::basis).unwrap_or_default(),
        ]);
    }
    write(rows)
}

fn header(setup: &Setup<'_>, view: View, lead: &[&str]) -> Vec<String> {
    let unit = view.unit.name();
    let mut header: Vec<String> = lead.iter().map(|name| (*name).to_string()).collect();
    header.push("grade".into());
    header.extend(setup.library.kinds.slots().map(|(_, slot)| slot.key.to_string()));
    header.extend(["preload", "reserve", "travel", "room"].map(|name| format!("{name}_{unit}")));
    let rest = ["chance", "not_verified", "to_buy", "currency", "unpriced", "changes", "fails"];
    header.extend(rest.map(String::from));
    header
}

fn stack(setup: &Setup<'_>, fit: &Fit<'_>, view: View, lead: Vec<String>) -> Vec<String> {
    let mut row = lead;
    row.push(fit.grade.word().into());
    row.extend(fit.choice.fills.iter().map(|fill| fill.ids().join("|")));
    let lengths = [fit.preload, fit.reserve, fit.travel, fit.room];
    row.extend(lengths.map(|length| length.digits(view.unit, true)));
    let chance = chance_of(fit).value().map(super::json::rounded_chance);
    row.extend([
        chance.map(|chance| chance.to_string()).unwrap_or_default(),
        fit.joints.not_verified_count().to_string(),
        fit.to_buy.amount.to_string(),
        setup.library.house.currency.clone(),
        fit.to_buy.unpriced.to_string(),
        fit.changed.len().to_string(),
        sentences::failed(fit).join("|"),
    ]);
    row
}
