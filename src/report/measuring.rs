//! What to measure next on a stack, and what may be accepted when it arrives.

use super::page::{Grid, Page};
use super::sentences;
use crate::model::length::{Length, Ratio, Unit, divide_half_away, fixed, narrowed};
use crate::model::words::count;
use crate::stack::measuring::{Acceptance, Decision, Dimension, Next, ToMeasure};
use crate::stack::trial::Span;

/// How many shares are shown.
const SHOWN: usize = 5;

/// The next reading, what holds the uncertainty, and the limits of what is to be bought.
pub(super) fn table(page: &mut Page, measure: &ToMeasure, unit: Unit) {
    if let Some(next) = &measure.next {
        page.line(format!("Next: {}.", next_words(next, unit)));
    }
    shares(page, measure, unit);
    accept(page, measure, unit);
}

/// Which way a value is rounded to what is printed.
#[derive(Clone, Copy)]
enum Round {
    Up,
    Down,
    Nearest,
}

/// A value in printed digits.
fn digits(dimension: &Dimension, value: i64, unit: Unit, round: Round) -> String {
    let (step, ratio) = match unit {
        _ if dimension.is_ratio() => (1000, true),
        Unit::In => (2540, false),
        Unit::Mm => (1000, false),
    };
    let steps = match round {
        Round::Up => -(-value).div_euclid(step),
        Round::Down => value.div_euclid(step),
        Round::Nearest => narrowed(divide_half_away(value.into(), step.into())),
    };
    if ratio {
        fixed(steps * step, Ratio::ONE, 3)
    } else {
        Length::from_nm(steps * step).digits(unit, true)
    }
}

/// The unit behind a value.
fn with_unit(dimension: &Dimension, digits: &str, unit: Unit) -> String {
    if dimension.is_ratio() { digits.into() } else { format!("{digits} {}", unit.name()) }
}

/// A range in words, its ends rounded inward.
fn within(dimension: &Dimension, span: Span, unit: Unit) -> String {
    let from = span.from.map(|from| digits(dimension, from, unit, Round::Up));
    let to =
        span.to.map(|to| with_unit(dimension, &digits(dimension, to, unit, Round::Down), unit));
    match (from, to) {
        (Some(from), Some(to)) => format!("{from} to {to}"),
        (Some(from), None) => format!("at least {}", with_unit(dimension, &from, unit)),
        (None, Some(to)) => format!("at most {to}"),
        (None, None) => "anything".into(),
    }
}

/// What to do next about a stack.
pub(super) fn next_words(next: &Next, unit: Unit) -> String {
    match next {
        Next::Read(decision) => decided(decision, unit),
        Next::FindOut { .. } => sentences::find_out(next).unwrap_or_default(),
    }
}

/// The reading that decides a stack, and how.
fn decided(decision: &Decision, unit: Unit) -> String {
    let of = &decision.dimension;
    let tol = digits(of, decision.reading.tol, unit, Round::Nearest);
    let tol = with_unit(of, &tol, unit);
    let assumed = if decision.reading.assumed { ", assumed" } else { "" };
    let mut rules = Vec::new();
    for (grade, span) in [("likely", decision.likely), ("sure", decision.sure)] {
        rules.extend(span.map(|span| format!("{grade} if it reads {}", within(of, span, unit))));
    }
    if let Some(span) = decision.inside.filter(|_| decision.likely.is_none()) {
        let range = within(of, span, unit);
        rules.push(format!("in its window as computed, and no better, if it reads {range}"));
    }
    if let Some(open) = decision.open {
        // Here the ends are rounded outward: what is said to be out is out.
        let below = open.from.map(|from| {
            format!("less than {}", with_unit(of, &digits(of, from, unit, Round::Down), unit))
        });
        let above = open.to.map(|to| {
            format!("more than {}", with_unit(of, &digits(of, to, unit, Round::Up), unit))
        });
        let out: Vec<String> = below.into_iter().chain(above).collect();
        if !out.is_empty() {
            rules.push(format!("out if it reads {}", out.join(" or ")));
        }
    }
    let what = sentences::dimension(of.kind, of.part.as_deref(), of.key);
    format!(
        "measure {what} (a reading counts as +-{tol}{assumed}): the stack is {}",
        rules.join("; ")
    )
}

/// Which dimensions hold the uncertainty.
fn shares(page: &mut Page, measure: &ToMeasure, unit: Unit) {
    if measure.shares.is_empty() {
        return;
    }
    page.gap();
    let edge = sentences::edge_name(measure.edge);
    page.line(format!("What the u at the {edge} is made of, by the share of u squared:"));
    let mut grid = Grid::new([
        ">share".to_string(),
        "term".into(),
        "from".into(),
        format!(">value\n{}", unit.name()),
        format!(">tolerance\n{}", unit.name()),
    ]);
    for (dimension, share) in measure.shares.iter().take(SHOWN) {
        let mark = if dimension.known.assumed { "*" } else { " " };
        grid.row([
            format!("{:.0} %", share * 100.0),
            dimension.name(),
            dimension.part.clone().unwrap_or_else(|| "job".into()),
            digits(dimension, dimension.value, unit, Round::Nearest),
            format!("{}{mark}", digits(dimension, dimension.known.tol, unit, Round::Nearest)),
        ]);
    }
    page.grid(grid);
    let shown = measure.shares.len().min(SHOWN);
    let sum = |shares: &[(Dimension, f64)]| shares.iter().map(|(_, share)| share).sum::<f64>();
    let more = count((measure.shares.len() - shown) as u128, "more term");
    let leaves = 1.0 - sum(&measure.shares);
    let mut rest = Vec::new();
    if shown < measure.shares.len() {
        rest.push(format!("{:.0} % in {more}", sum(&measure.shares[shown..]) * 100.0));
    }
    // Less is not seen beside shares in whole per cent.
    if leaves >= 0.005 {
        rest.push(format!("{:.0} % in parts that leave", leaves * 100.0));
    }
    if !rest.is_empty() {
        page.line(format!("{}.", rest.join(", ")));
    }
}

/// What may be accepted when it arrives.
fn accept(page: &mut Page, measure: &ToMeasure, unit: Unit) {
    if measure.accept.is_empty() {
        return;
    }
    page.gap();
    page.line("Accept on arrival what measures so, everything else as it stands:");
    page.grid(accept_grid(measure, unit));
    page.line(ACCEPT_NOTE);
}

/// As what a reading on arrival counts.
pub(super) const ACCEPT_NOTE: &str = "A reading counts as a single one with the finest instrument \
    that the shop has repeated readings of, or as one of a job is assumed (*); what is known more \
    closely than that counts as it is known.";

/// The limits within which each part may be accepted when it arrives.
pub(super) fn accept_grid(measure: &ToMeasure, unit: Unit) -> Grid {
    let name = unit.name();
    let mut grid = Grid::new([
        "part".to_string(),
        "dimension".into(),
        format!(">counted\n{name}"),
        format!(">read to\n+- {name}"),
        format!(">likely\nfrom {name}"),
        format!(">likely\nto {name}"),
        format!(">in window\nfrom {name}"),
        format!(">in window\nto {name}"),
    ]);
    for row in &measure.accept {
        let [counted, read, ends @ ..] = accept_cells(row, unit);
        let mark = if row.reading.assumed { "*" } else { " " };
        let lead = [row.dimension.part.clone().unwrap_or_default(), row.dimension.key.into()];
        grid.row(lead.into_iter().chain([counted, format!("{read}{mark}")]).chain(ends));
    }
    grid
}

/// One row of limits in printed digits: as what the dimension counts, how closely it is read, and where
/// the stack is likely and in its window, from and to, rounded inward.
pub(super) fn accept_cells(row: &Acceptance, unit: Unit) -> [String; 6] {
    let of = &row.dimension;
    let ends = |span: Option<Span>| {
        let Some(span) = span else { return ["none".to_string(), "none".into()] };
        let end = |end: Option<i64>, round| {
            end.map_or_else(|| "open".into(), |value| digits(of, value, unit, round))
        };
        [end(span.from, Round::Up), end(span.to, Round::Down)]
    };
    let nearest = |value| digits(of, value, unit, Round::Nearest);
    let ([likely, likely_to], [inside, inside_to]) = (ends(row.likely), ends(row.inside));
    [nearest(of.value), nearest(row.reading.tol), likely, likely_to, inside, inside_to]
}

/// Within which limits a dimension is likely to do, else is in its window, in words.
pub(super) fn accept_words(row: &Acceptance, unit: Unit) -> String {
    let of = &row.dimension;
    match (row.likely, row.inside) {
        (Some(likely), _) => format!("{} likely {}", of.key, within(of, likely, unit)),
        (None, Some(inside)) => format!("{} in window {}", of.key, within(of, inside, unit)),
        (None, None) => format!("{} at no value", of.key),
    }
}
