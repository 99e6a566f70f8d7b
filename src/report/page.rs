//! Plain text of a fixed width: wrapped lines and tables.

use comfy_table::{
    CellAlignment, ColumnConstraint, ContentArrangement, ContentLineStyle, LineStyle, Table,
    TableStyle, Width,
};

use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm, wrap};

use super::visible::{in_cell, in_line};

/// From how many columns on cells of a table may be wrapped.
const ROOMY: usize = 80;

/// A page that is filled from top to bottom.
#[derive(Debug)]
pub(super) struct Page {
    text: String,
    width: usize,
    blocks: Vec<Block>,
}

/// What a page was given to show, for a writer that lays it out otherwise.
#[derive(Debug, Clone)]
pub(super) enum Block {
    /// A line with its lead.
    Line(String, String),
    /// A table.
    Grid(Grid),
}

impl Page {
    /// An empty page.
    pub(super) fn new(width: u16) -> Self {
        Self { text: String::new(), width: usize::from(width), blocks: Vec::new() }
    }

    /// A line, wrapped where it is too long; what follows is indented under it.
    pub(super) fn line(&mut self, line: impl AsRef<str>) {
        self.hanging("", line);
    }

    /// A line that begins with `lead`; its later lines are indented by as much.
    pub(super) fn hanging(&mut self, lead: &str, line: impl AsRef<str>) {
        let indent = if lead.is_empty() { 2 } else { lead.chars().count() };
        self.wrap(lead, indent, line.as_ref());
    }

    /// A line with its lead, its later lines indented as asked.
    pub(super) fn wrap(&mut self, lead: &str, indent: usize, line: &str) {
        self.blocks.push(Block::Line(lead.into(), line.into()));
        self.laid(lead, indent, line);
    }

    fn laid(&mut self, lead: &str, indent: usize, line: &str) {
        let (lead, line) = (in_line(lead), in_line(line));
        let indent = " ".repeat(indent);
        let options = Options::new(self.width)
            .initial_indent(&lead)
            .subsequent_indent(&indent)
            .word_separator(WordSeparator::AsciiSpace)
            .word_splitter(WordSplitter::NoHyphenation)
            .wrap_algorithm(WrapAlgorithm::FirstFit)
            .break_words(false);
        for row in wrap(&glued(&line), &options) {
            self.push(&row.replace(GLUE, " "));
        }
    }

    /// Lines that are laid out already.
    pub(super) fn as_is(&mut self, lines: &str) {
        for line in lines.lines() {
            self.push(line);
        }
    }

    fn push(&mut self, row: &str) {
        self.text.push_str(row.trim_end());
        self.text.push('\n');
    }

    /// An empty line, unless the page is at one already.
    pub(super) fn gap(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.text.push('\n');
        }
    }

    /// A table.
    pub(super) fn grid(&mut self, grid: Grid) {
        self.blocks.push(Block::Grid(grid.clone()));
        if grid.stands_in(self.width) {
            for row in grid.lay_out(self.width).lines() {
                self.push(&row);
            }
        } else {
            self.rows_as_blocks(&grid);
        }
    }

    /// Every row with its cells one below another, each after the head of its column.
    fn rows_as_blocks(&mut self, grid: &Grid) {
        let heads = grid.heads_in_line();
        let widest = heads.iter().map(|head| head.chars().count()).max().unwrap_or_default();
        for (place, row) in grid.rows.iter().enumerate() {
            if place > 0 {
                self.gap();
            }
            for (head, cell) in heads.iter().zip(row).filter(|(_, cell)| !cell.is_empty()) {
                let lead = format!("{head:widest$}  ");
                let mut lines = cell.lines();
                self.laid(&lead, widest + 2, lines.next().unwrap_or_default());
                for line in lines {
                    self.laid(&" ".repeat(widest + 2), widest + 2, line);
                }
            }
        }
    }

    /// What it was given to show, not laid out.
    pub(super) fn into_blocks(self) -> Vec<Block> {
        self.blocks
    }

    /// What was written.
    pub(super) fn finish(self) -> String {
        self.text
    }
}

/// A message in lines that are no wider than a page; what is wrapped is indented further.
pub fn wrapped(message: &str, width: u16) -> String {
    let mut page = Page::new(width);
    for line in message.lines() {
        let text = line.trim_start_matches(' ');
        let lead = &line[..line.len() - text.len()];
        page.wrap(lead, lead.len() + 4, text);
    }
    page.finish()
}

/// The words of a line; a number, its unit and its sign are one word and stay together.
pub(super) fn words(line: &str) -> Vec<String> {
    glued(line).split(' ').map(|word| word.replace(GLUE, " ")).collect()
}

/// The space that is no place to break a line.
const GLUE: char = '\u{a0}';

/// A line in which a number and its unit stand together.
fn glued(line: &str) -> String {
    let mut glued = String::with_capacity(line.len());
    for (place, word) in line.split(' ').enumerate() {
        let is_unit = ["in", "mm", "%"].contains(&word.trim_end_matches(['.', ',', ';', ':', ')']));
        let after_number = glued.ends_with(|c: char| c.is_ascii_digit());
        if place > 0 {
            let is_one = (is_unit && after_number) || glued.ends_with("+-");
            glued.push(if is_one { GLUE } else { ' ' });
        }
        glued.push_str(word);
    }
    glued
}

/// A table's header, alignment and rows.
#[derive(Debug, Clone)]
pub(super) struct Grid {
    columns: Vec<(String, CellAlignment)>,
    rows: Vec<Vec<String>>,
}

impl Grid {
    /// A table of these columns; a name that begins with `>` is aligned right.
    pub(super) fn new<S: AsRef<str>>(columns: impl IntoIterator<Item = S>) -> Self {
        let column = |name: S| match name.as_ref().strip_prefix('>') {
            Some(name) => (name.to_string(), CellAlignment::Right),
            None => (name.as_ref().to_string(), CellAlignment::Left),
        };
        Self { columns: columns.into_iter().map(column).collect(), rows: Vec::new() }
    }

    /// A row.
    pub(super) fn row<S: Into<String>>(&mut self, cells: impl IntoIterator<Item = S>) {
        let cells = cells.into_iter().map(|cell| in_cell(&cell.into()).into_owned());
        self.rows.push(cells.collect());
    }

    /// The heads of the columns, each with whether its cells are numbers, which stand at the right.
    pub(super) fn heads(&self) -> impl Iterator<Item = (&str, bool)> {
        let is_number = |alignment: &CellAlignment| *alignment == CellAlignment::Right;
        self.columns.iter().map(move |(head, alignment)| (head.as_str(), is_number(alignment)))
    }

    /// The rows, cell by cell.
    pub(super) fn rows(&self) -> &[Vec<String>] {
        &self.rows
    }

    /// Whether it can be a table of this width. On a narrow page a row whose cells would be wrapped is
    /// easier read as a block; on any, no word and no number is broken.
    fn stands_in(&self, width: usize) -> bool {
        let longest_word = |text: &str| {
            let words = text.lines().flat_map(words).map(|word| word.chars().count());
            words.max().unwrap_or_default()
        };
        self.natural_width() <= width || (width >= ROOMY && self.needs(longest_word) <= width)
    }

    /// How many columns of text it takes where no cell is wrapped.
    fn natural_width(&self) -> usize {
        self.needs(|text| text.lines().map(|line| line.chars().count()).max().unwrap_or_default())
    }

    /// How many columns of text it takes where each cell takes as many as it is said to.
    fn needs(&self, cell_takes: impl Fn(&str) -> usize) -> usize {
        let of_column = |(index, (head, _)): (usize, &(String, CellAlignment))| {
            let cells = self.rows.iter().filter_map(|row| row.get(index)).chain([head]);
            cells.map(|cell| cell_takes(cell)).max().unwrap_or_default() + 2
        };
        self.columns.iter().enumerate().map(of_column).sum::<usize>().saturating_sub(2)
    }

    /// The heads in one line each. One that begins with an empty line goes on under the head before.
    fn heads_in_line(&self) -> Vec<String> {
        let mut over = "";
        let mut heads = Vec::with_capacity(self.columns.len());
        for (head, _) in &self.columns {
            let (first, rest) = head.split_once('\n').unwrap_or((head, ""));
            over = if first.is_empty() { over } else { first };
            heads.push(if rest.is_empty() {
                first.into()
            } else {
                format!("{over}, {rest}").replace('\n', " ")
            });
        }
        heads
    }

    fn lay_out(self, width: usize) -> Table {
        // What fits is left alone.
        let fits = self.natural_width() <= width;
        let arrangement =
            if fits { ContentArrangement::Disabled } else { ContentArrangement::Dynamic };
        let mut table = Table::new();
        table
            .load_style(
                TableStyle::new()
                    .header_lines(ContentLineStyle::none().junction(' '))
                    .header_separator(LineStyle::none().fill('-').junction(' '))
                    .content_lines(ContentLineStyle::none().junction(' ')),
            )
            .set_content_arrangement(arrangement)
            .set_width(u16::try_from(width).unwrap_or(u16::MAX));
        table.set_header(self.columns.iter().map(|(name, _)| name));
        // A word or a number in two lines is another one.
        let longest = |index: usize| {
            let head = self.columns.get(index).map(|(head, _)| head);
            let cells = self.rows.iter().filter_map(|row| row.get(index));
            let words = cells.chain(head).flat_map(|cell| cell.lines()).flat_map(words);
            words.map(|word| word.chars().count()).max().unwrap_or_default()
        };
        let longest: Vec<usize> = (0..self.columns.len()).map(longest).collect();
        table.add_rows(self.rows);
        let columns = table.column_iter_mut().zip(&self.columns).zip(longest);
        for ((column, (_, alignment)), longest) in columns {
            column.set_cell_alignment(*alignment);
            column.set_padding((0, 1));
            let width = u16::try_from(longest + 1).unwrap_or(u16::MAX);
            column.set_constraint(ColumnConstraint::LowerBoundary(Width::Fixed(width)));
        }
        table
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lines_are_wrapped_at_words() {
        let mut page = Page::new(12);
        page.line("one two three four");
        page.hanging("- ", "five six seven");
        page.gap();
        page.gap();
        page.line("end");
        assert_eq!(page.finish(), "one two\n  three four\n- five six\n  seven\n\nend\n");
    }

    #[test]
    fn a_message_keeps_its_lines_and_their_indent() {
        let text = wrapped(
            "error: one\n  two three four five six seven eight nine ten eleven twelve x",
            60,
        );
        let rows: Vec<&str> = text.lines().collect();
        assert_eq!(rows[0], "error: one");
        assert!(rows[1].starts_with("  two three") && rows[1].len() <= 60, "{text}");
        assert_eq!(rows[2], "      x");
    }

    #[test]
    fn a_number_is_not_parted_from_its_unit() {
        let mut page = Page::new(12);
        page.line("it moves 0.125 in. No more");
        assert_eq!(page.finish(), "it moves\n  0.125 in.\n  No more\n");
    }

    #[test]
    fn a_number_is_never_broken_however_narrow_the_page() {
        let mut grid = Grid::new(["part", ">preload", ">wear reserve", ">worst case", "grade"]);
        grid.row(["A-LONG-NAME", "-10.6000", "+20.1234", "0.0060", "undecided"]);
        let mut page = Page::new(24);
        page.grid(grid);
        let text = page.finish();
        for number in ["-10.6000", "+20.1234", "0.0060"] {
            assert!(text.contains(number), "{text}");
        }
    }

    #[test]
    fn numbers_stand_at_the_right_of_their_column() {
        let mut grid = Grid::new(["part", ">preload, in"]);
        grid.row(["A", "0.600"]);
        grid.row(["LONG-NAME", "-0.1"]);
        let mut page = Page::new(60);
        page.grid(grid);
        let text = page.finish();
        assert!(text.contains("\nA                0.600\nLONG-NAME         -0.1\n"), "{text}");
    }
}
