//! What was typed at the bench is not lost, however the dialogue ends.
#![cfg(unix)]

use std::io::{Read as _, Write as _};
use std::process::{Child, Command, Stdio};

use crate::program::Program;

/// A dialogue with the program itself about the piece `F-1#A`.
struct Dialogue {
    child: Child,
    told: String,
}

impl Dialogue {
    fn begin(program: &Program, out: Stdio) -> Self {
        let child = Command::new(env!("CARGO_BIN_EXE_bellstack"))
            .args(["--catalog", "shop.db", "measure", "F-1#A", "--instrument", "caliper-0.02"])
            .args(["--by", "Kim", "--date", "2026-02-03"])
            .current_dir(program.dir())
            .stdin(Stdio::piped())
            .stdout(out)
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut dialogue = Self { child, told: String::new() };
        dialogue.until("New, used or machined? ");
        dialogue.line("used");
        dialogue.until("> ");
        dialogue
    }

    /// Reads what the program says until it waits with these words.
    fn until(&mut self, words: &str) {
        let err = self.child.stderr.as_mut().unwrap();
        let mut byte = [0];
        let from = self.told.len();
        while !self.told[from..].ends_with(words) {
            assert_eq!(err.read(&mut byte).unwrap(), 1, "it ended: {}", self.told);
            self.told.push(char::from(byte[0]));
        }
    }

    fn type_in(&mut self, text: &str) {
        self.child.stdin.as_mut().unwrap().write_all(text.as_bytes()).unwrap();
    }

    fn line(&mut self, text: &str) {
        self.type_in(&format!("{text}\n"));
    }

    /// Sends a signal, and returns the status, what was answered, and what was said after that.
    fn stop(mut self, signal: &str) -> (Option<i32>, String, String) {
        let pid = self.child.id().to_string();
        assert!(Command::new("kill").args([signal, &pid]).status().unwrap().success());
        let input = self.child.stdin.take();
        let output = self.child.wait_with_output().unwrap();
        drop(input);
        let text = |bytes| String::from_utf8(bytes).unwrap();
        (output.status.code(), text(output.stdout), text(output.stderr))
    }
}

fn program() -> Program {
    let program = Program::new();
    program.answer("part add flywheel F-1 thickness='1.000 in'");
    program
}

const STORED: &str = "error: interrupted: what had been read by then is stored\n";

#[test]
fn an_interrupt_a_hang_up_and_a_request_to_end_store_what_was_read() {
    for signal in ["-INT", "-TERM", "-HUP"] {
        let program = program();
        let mut dialogue = Dialogue::begin(&program, Stdio::piped());
        dialogue.line("1.001 1.0015 in");
        dialogue.until("> ");
        dialogue.line("0.010 in");
        dialogue.until("> ");
        let (status, out, err) = dialogue.stop(signal);
        assert_eq!(status, Some(130), "{signal}: {err}");
        assert!(out.contains("thickness") && out.contains("cover_step"), "{signal}: {out}");
        assert!(err.ends_with(STORED), "{signal}: {err}");
        let list = program.answer("reading list F-1#A");
        assert!(list.contains("1.001") && list.contains("0.010"), "{signal}: {list}");
    }
}

#[test]
fn what_was_questioned_and_not_answered_is_stored_struck_out() {
    let program = program();
    let mut dialogue = Dialogue::begin(&program, Stdio::piped());
    dialogue.line("1.101 in");
    dialogue.until("yes or no? ");
    let (status, _, err) = dialogue.stop("-TERM");
    assert_eq!(status, Some(130), "{err}");
    let csv = program.answer("export --kind readings");
    let struck = "1.101 in,,caliper-0.02,Kim,2026-02-03,not confirmed: 1.101 in is a tenth";
    assert!(csv.contains(struck), "{csv}");
}

#[test]
fn half_a_line_is_told_and_not_taken_for_a_number() {
    let program = program();
    let mut dialogue = Dialogue::begin(&program, Stdio::piped());
    dialogue.line("1.001 in");
    dialogue.until("> ");
    dialogue.type_in("0.010 in 0.01");
    // The half line has to have been read before the signal comes.
    std::thread::sleep(std::time::Duration::from_millis(300));
    let (status, _, err) = dialogue.stop("-INT");
    assert_eq!(status, Some(130), "{err}");
    assert!(err.contains("not taken, since the line was not finished: 0.010 in 0.01\n"), "{err}");
    let list = program.answer("reading list F-1#A");
    assert!(list.contains("1.001") && !list.contains("0.010"), "{list}");
}

#[test]
fn an_interrupt_before_anything_was_read_stores_nothing() {
    let program = program();
    let before = program.answer("history");
    let dialogue = Dialogue::begin(&program, Stdio::piped());
    let (status, out, err) = dialogue.stop("-INT");
    assert_eq!((status, out.as_str()), (Some(130), ""), "{err}");
    assert!(err.ends_with("error: interrupted: nothing had been read\n"), "{err}");
    assert_eq!(program.answer("history"), before);
}

#[test]
fn readings_that_can_neither_be_stored_nor_printed_are_set_aside_in_a_file() {
    let program = program();
    let full: Stdio = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap().into();
    let mut dialogue = Dialogue::begin(&program, full);
    dialogue.line("1.001 in");
    dialogue.until("> ");
    let other = rusqlite::Connection::open(program.catalog()).unwrap();
    other.execute_batch("BEGIN IMMEDIATE").unwrap();
    let (status, _, err) = dialogue.stop("-HUP");
    assert_eq!(status, Some(3), "{err}");
    assert!(err.contains("nothing was stored: the catalog `shop.db` is in use"), "{err}");
    let kept = err.split("what was read is kept in `").nth(1).unwrap().split('`').next().unwrap();
    other.execute_batch("ROLLBACK").unwrap();
    let path = program.dir().join(kept);
    let ran = program.run_args(&["import", "--kind", "readings", path.to_str().unwrap()]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    assert!(program.answer("reading list F-1#A").contains("1.001"));
}
