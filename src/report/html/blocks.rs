//! Lines and tables of a text page as paragraphs and tables.

use maud::{Markup, html};

use super::text;
use crate::report::drawing::clean;
use crate::report::page::{Block, Grid};

/// Lines as paragraphs, those that hang under another one as items of a list, tables as tables.
pub(super) fn blocks(blocks: &[Block], about: &str) -> Markup {
    let groups = blocks.chunk_by(|a, b| is_item(a) && is_item(b));
    let mut tables = 0;
    // Whoever has the page read aloud goes from table to table by their names.
    let mut name = || {
        tables += 1;
        if tables == 1 { about.to_string() } else { format!("{about}, table {tables}") }
    };
    html! {
        @for group in groups {
            @if group.iter().all(is_item) {
                ul.told { @for block in group { @if let Block::Line(_, line) = block { li { (words(line)) } } } }
            } @else {
                @for block in group {
                    @match block {
                        Block::Line(lead, line) => { p { (words(&format!("{lead}{line}"))) } }
                        Block::Grid(grid) => { (table(grid, &name(), false)) }
                    }
                }
            }
        }
    }
}

/// A line that hangs under the one before.
fn is_item(block: &Block) -> bool {
    matches!(block, Block::Line(lead, _) if !lead.is_empty() && lead.trim().is_empty())
}

/// A line in which what may be typed is marked as such.
pub(super) fn words(line: &str) -> Markup {
    let pieces: Vec<&str> = line.split('`').collect();
    // An odd mark is one of a name, and nothing is between it and another.
    let is_marked = pieces.len() % 2 == 1;
    html! {
        @if is_marked {
            @for (index, piece) in pieces.iter().enumerate() {
                @if index % 2 == 1 { code { (text(piece)) } } @else { (text(piece)) }
            }
        } @else { (text(line)) }
    }
}

/// A table that may be wider than the page: it then moves within its own place, by keys too.
pub(super) fn table(grid: &Grid, about: &str, has_sum: bool) -> Markup {
    table_with(grid, about, has_sum, &[])
}

/// The same with a way to somewhere behind each row: its address and what it is called.
pub(super) fn table_with(
    grid: &Grid,
    about: &str,
    has_sum: bool,
    ways: &[Option<(String, String)>],
) -> Markup {
    let heads: Vec<(String, bool)> =
        grid.heads().map(|(head, number)| (head_words(head), number)).collect();
    let class = |number: bool| number.then_some("number");
    let last = grid.rows().len();
    html! {
        div.wide role="region" aria-label=(about) tabindex="0" {
            table class=[has_sum.then_some("sum")] {
                thead {
                    tr {
                        @for (head, number) in &heads { th scope="col" class=[class(*number)] { (head) } }
                        @if !ways.is_empty() { td {} }
                    }
                }
                tbody {
                    @for (index, row) in grid.rows().iter().enumerate() {
                        tr class=[(has_sum && index + 1 == last).then_some("last")] {
                            @for (cell, (_, number)) in row.iter().zip(&heads) {
                                td class=[class(*number)] { (words(cell)) }
                            }
                            @if let Some(way) = ways.get(index) {
                                td { @if let Some((address, name)) = way { a.tall href=(address) { (name) } } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// A head's lines in one.
fn head_words(head: &str) -> String {
    head.lines().map(clean).collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_may_be_typed_is_marked_and_nothing_from_outside_is_obeyed() {
        assert_eq!(words("try `fit A` <b>").into_string(), "try <code>fit A</code> &lt;b&gt;");
        assert_eq!(words("a`b").into_string(), "a`b");
        assert_eq!(words("\u{1b}[31m").into_string(), "\\u001b[31m");
    }

    #[test]
    fn lines_that_hang_are_one_list() {
        let line = |lead: &str, line: &str| Block::Line(lead.into(), line.into());
        let told =
            blocks(&[line("", "a"), line("   ", "b"), line("   ", "c"), line("2. ", "d")], "x");
        assert_eq!(
            told.into_string(),
            "<p>a</p><ul class=\"told\"><li>b</li><li>c</li></ul><p>2. d</p>"
        );
    }
}
