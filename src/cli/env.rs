//! Everything that the program takes from the outside.

use std::ffi::OsString;
use std::io::{BufRead, Write};
use std::path::PathBuf;
use std::sync::Arc;

use jiff::{Timestamp, ZonedDateTime};

use super::args::Common;
use crate::error::{Error, Result, cut};
use crate::model::kinds::Kinds;
use crate::report::{Signs, View, visible, wrapped};
use crate::serve::{Clock, Random};
use crate::solve::ask::Watch;

/// The world around one run of the program.
pub struct Env<'e> {
    /// Where answers go.
    pub out: &'e mut dyn Write,
    /// Where everything else goes.
    pub err: &'e mut dyn Write,
    /// Where the answers to questions come from; without it there are none.
    pub input: Option<&'e mut dyn BufRead>,
    /// Whether a person sits at the input, who can be asked.
    pub input_is_terminal: bool,
    /// Whether the input has ended because somebody stopped the program.
    pub was_stopped: &'e dyn Fn() -> bool,
    /// The clock, with the place's own day.
    pub clock: Clock,
    /// Randomness that nobody can foresee.
    pub random: Random,
    /// Shows an address in the person's own browser.
    pub show: &'e dyn Fn(&str) -> std::io::Result<()>,
    /// The environment variables.
    pub var: &'e dyn Fn(&str) -> Option<OsString>,
    /// The platform's directory for a program's data, if it has one.
    pub data_dir: Option<PathBuf>,
    /// Whether standard output is a terminal.
    pub out_is_terminal: bool,
    /// Whether standard error is a terminal, on which progress may be shown.
    pub err_is_terminal: bool,
    /// How many columns there are: as the environment says, else those of the terminal where
    /// standard output is one.
    pub width: Option<u16>,
    /// The table of kinds.
    pub kinds: Kinds,
    /// With which a search is watched and stopped.
    pub watch: Watch,
    /// Called before a search: from then on an interrupt stops it instead of the process.
    pub on_search: &'e dyn Fn(&Watch),
}

/// How many warnings of one command are shown.
const MOST_WARNINGS: usize = 100;

/// How many characters of a message's line are shown.
const LONGEST_LINE: usize = 1000;

/// The widest and the narrowest page, and that of an answer that goes to a file or a program.
const WIDEST: u16 = 100;
const NARROWEST: u16 = 40;
const USUAL: u16 = 80;

impl<'e> Env<'e> {
    /// A world without a terminal, without input and with a clock that stands still, with the
    /// program's own table of kinds.
    pub fn new(
        out: &'e mut dyn Write,
        err: &'e mut dyn Write,
        var: &'e dyn Fn(&str) -> Option<OsString>,
    ) -> Self {
        Self {
            out,
            err,
            input: None,
            input_is_terminal: false,
            was_stopped: &|| false,
            clock: Arc::new(ZonedDateTime::default),
            random: Arc::new(|_| Err("there is no source of it".into())),
            show: &|_| Err(std::io::ErrorKind::Unsupported.into()),
            var,
            data_dir: None,
            out_is_terminal: false,
            err_is_terminal: false,
            width: None,
            kinds: Kinds::standard(),
            watch: Watch::default(),
            on_search: &|_| {},
        }
    }

    /// Writes a message to standard error. There is nobody to tell where that fails. What a message
    /// quotes may be of any length; what is shown of a line is not.
    pub(super) fn tell(&mut self, message: &str) {
        let lines: Vec<String> = message.lines().map(|line| cut(line, LONGEST_LINE)).collect();
        let message = &lines.join("\n");
        // What no person looks at is left in its own lines, for the program that reads it.
        if self.err_is_terminal {
            let text = wrapped(message, self.width());
            let _ = self.err.write_all(text.as_bytes());
        } else {
            self.tell_as_is(message);
        }
    }

    /// The same for a text that is laid out already.
    pub(super) fn tell_as_is(&mut self, text: &str) {
        // A tab that somebody stored is a slip that nobody sees.
        let _ = writeln!(self.err, "{}", visible(&text.replace('\t', "\\t")));
    }

    /// Tells of what is unusual but possible.
    pub(super) fn warn(&mut self, warnings: &[String]) {
        for warning in warnings.iter().take(MOST_WARNINGS) {
            self.tell(&format!("warning: {warning}"));
        }
        if let Some(more @ 1..) = warnings.len().checked_sub(MOST_WARNINGS) {
            self.tell(&format!("and {more} more warnings"));
        }
    }

    /// Asks a question, and waits for a line; none at the end of the input.
    pub(super) fn ask(&mut self, question: &str) -> Result<Option<String>> {
        let _ = write!(self.err, "{}", visible(question)).and_then(|()| self.err.flush());
        let mut line = String::new();
        let read = self.input.as_mut().map_or(Ok(0), |input| input.read_line(&mut line));
        let read =
            read.map_err(|error| Error::storage(format!("the input could not be read: {error}")))?;
        if read == 0 {
            self.tell_as_is("");
            return Ok(None);
        }
        if !line.ends_with('\n') && (self.was_stopped)() {
            // Half a line may be half a number.
            self.tell(&format!("\nnot taken, since the line was not finished: {}", line.trim()));
            return Ok(None);
        }
        Ok(Some(line.trim().to_string()))
    }

    /// Asks a person yes or no; none where nobody sits at the input.
    pub(super) fn agreed(&mut self, question: &str) -> Result<Option<bool>> {
        if !self.input_is_terminal {
            return Ok(None);
        }
        // Whoever goes away agrees to nothing.
        Ok(Some(self.yes_or_no(question)?.unwrap_or(false)))
    }

    /// Asks until yes or no is answered, a blank line being no; none at the end of the input.
    pub(super) fn yes_or_no(&mut self, question: &str) -> Result<Option<bool>> {
        loop {
            let Some(answer) = self.ask(question)? else { return Ok(None) };
            match answer.to_ascii_lowercase().as_str() {
                "yes" | "y" => return Ok(Some(true)),
                "no" | "n" | "" => return Ok(Some(false)),
                _ => self.tell("  write yes or no"),
            }
        }
    }

    /// Who measures and changes things, where no flag says it.
    pub(super) fn by(&self) -> String {
        let told = ["BELLSTACK_BY", "USER", "USERNAME"].into_iter().filter_map(self.var);
        let mut names = told.map(|name| name.to_string_lossy().trim().to_string());
        names.find(|name| !name.is_empty()).unwrap_or_default()
    }

    /// Today's day, as a reading is dated.
    pub(super) fn today(&self) -> String {
        (self.clock)().date().to_string()
    }

    /// This second, in coordinated universal time.
    pub(super) fn now(&self) -> String {
        let now = (self.clock)().timestamp();
        Timestamp::from_second(now.as_second()).unwrap_or(now).to_string()
    }

    fn width(&self) -> u16 {
        self.width.unwrap_or(USUAL).clamp(NARROWEST, WIDEST)
    }

    /// For whom tables are made.
    pub(super) fn view(&self, common: &Common) -> View {
        View {
            unit: common.unit(),
            width: common.width.unwrap_or_else(|| self.width()),
            signs: self.signs(),
        }
    }

    /// The signs that the terminal's encoding has. POSIX takes the first of three variables that is
    /// set, and plain characters where none is.
    fn signs(&self) -> Signs {
        let mut told = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().filter_map(self.var);
        let locale = told.find(|locale| !locale.is_empty()).unwrap_or_default();
        let locale = locale.to_string_lossy().to_ascii_lowercase().replace('-', "");
        if locale.contains("utf8") { Signs::Unicode } else { Signs::Ascii }
    }
}

impl std::fmt::Debug for Env<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Env").field("width", &self.width).finish_non_exhaustive()
    }
}
