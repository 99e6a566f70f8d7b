//! The process around [`bellstack::cli::run`].

use std::io::{self, BufRead, IsTerminal as _, Read, stderr, stdin, stdout};
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, channel};
use std::thread;

use bellstack::cli::{Env, run};

/// How many columns the terminal says it has.
fn terminal_columns() -> Option<u16> {
    terminal_size::terminal_size().map(|(width, _)| width.0)
}

/// Randomness from the system.
fn random(bytes: &mut [u8]) -> Result<(), String> {
    getrandom::fill(bytes).map_err(|error| error.to_string())
}

fn main() -> ExitCode {
    let (mut out, mut err) = (stdout(), stderr());
    let stopped = Arc::new(AtomicBool::new(false));
    let mut input = StandardInput::new(stopped.clone());
    let (out_is_terminal, err_is_terminal) = (out.is_terminal(), err.is_terminal());
    let var = |name: &str| std::env::var_os(name);
    let columns = var("COLUMNS").and_then(|columns| columns.to_str()?.parse().ok());
    let data_dir = directories::ProjectDirs::from("", "", "bellstack");
    let env = Env::new(&mut out, &mut err, &var);
    let mut env = Env {
        input: Some(&mut input),
        input_is_terminal: stdin().is_terminal(),
        was_stopped: &|| stopped.load(Ordering::Relaxed),
        clock: Arc::new(jiff::ZonedDateTime::now),
        random: Arc::new(random),
        show: &|address| open::that_detached(address),
        data_dir: data_dir.map(|dirs| dirs.data_dir().to_path_buf()),
        out_is_terminal,
        err_is_terminal,
        width: columns.or_else(|| terminal_columns().filter(|_| out_is_terminal)),
        on_search: &|watch| {
            let watch = watch.clone();
            // Only the first search of a run can set it, and the watch is the same for all.
            let _ = ctrlc::set_handler(move || watch.stop());
        },
        ..env
    };
    ExitCode::from(run(std::env::args_os(), &mut env))
}

/// The standard input of a dialogue. From its first question on an interrupt, a hang-up or a request
/// to end is its end, so that the dialogue can keep what it has.
struct StandardInput {
    stopped: Arc<AtomicBool>,
    /// What a thread of its own reads, since nothing wakes one that waits for input.
    pieces: Option<Receiver<io::Result<Vec<u8>>>>,
    piece: Vec<u8>,
    /// How much of the piece was taken.
    taken: usize,
    ended: bool,
}

impl StandardInput {
    fn new(stopped: Arc<AtomicBool>) -> Self {
        Self { stopped, pieces: None, piece: Vec::new(), taken: 0, ended: false }
    }

    fn begin(&self) -> Receiver<io::Result<Vec<u8>>> {
        let (typed, pieces) = channel();
        let (stop, stopped) = (typed.clone(), self.stopped.clone());
        // An empty piece is the end, whoever says so.
        let _ = ctrlc::set_handler(move || {
            stopped.store(true, Ordering::Relaxed);
            let _ = stop.send(Ok(Vec::new()));
        });
        thread::spawn(move || {
            let mut buffer = vec![0; 8192];
            loop {
                let piece = stdin().lock().read(&mut buffer).map(|count| buffer[..count].to_vec());
                let is_last = !matches!(&piece, Ok(piece) if !piece.is_empty());
                if typed.send(piece).is_err() || is_last {
                    return;
                }
            }
        });
        pieces
    }
}

impl BufRead for StandardInput {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.taken == self.piece.len() && !self.ended {
            let pieces = match self.pieces.take() {
                Some(pieces) => pieces,
                None => self.begin(),
            };
            let piece = pieces.recv().unwrap_or_else(|_| Ok(Vec::new()));
            self.pieces = Some(pieces);
            self.taken = 0;
            self.piece = piece?;
            self.ended = self.piece.is_empty();
        }
        Ok(&self.piece[self.taken..])
    }

    fn consume(&mut self, count: usize) {
        self.taken += count;
    }
}

impl Read for StandardInput {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let count = self.fill_buf()?.read(into)?;
        self.consume(count);
        Ok(count)
    }
}
