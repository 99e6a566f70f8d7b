//! The server as a process of its own, ended as people and systems end one.

#![cfg(unix)]

use std::io::{BufRead as _, BufReader, Read as _};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use crate::browser::Browser;
use crate::program::Program;

/// `bellstack serve` over a catalog, with the address that it told.
struct Process {
    child: Child,
    lines: BufReader<std::process::ChildStdout>,
    url: String,
}

impl Process {
    fn start(program: &Program) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_bellstack"))
            .args(["--catalog", program.catalog().to_str().unwrap(), "serve"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap());
        let mut line = String::new();
        lines.read_line(&mut line).unwrap();
        let begins =
            format!("The catalog {} is open to a browser at ", program.catalog().display());
        assert!(line.starts_with(&begins), "{line}");
        let url = loop {
            line.clear();
            assert!(lines.read_line(&mut line).unwrap() > 0, "no address is told");
            if let Some((_, url)) = line.trim_end().split_once("On this machine: ") {
                break url.to_string();
            }
        };
        // From this line on it knows how to be ended.
        while !line.contains("Ctrl-C ends it") {
            line.clear();
            assert!(lines.read_line(&mut line).unwrap() > 0, "how to end it is not told");
        }
        Self { child, lines, url }
    }

    /// A device that is let in.
    fn device(&self) -> Browser {
        let (at, code) = self.url.strip_prefix("http://").unwrap().split_once("/in/").unwrap();
        let mut browser = Browser::new(at.parse().unwrap());
        let said = browser.send("/in", &[("code", code)]);
        assert_eq!(said.status, 303, "{}", said.body);
        browser.cookie = said.header("set-cookie").unwrap().split(';').next().unwrap().into();
        browser.token = browser.page("/").field("token");
        browser
    }

    /// Sends a signal and returns how long it took to end, with its status and its last words.
    fn end(mut self, signal: &str) -> (Duration, Option<i32>, String) {
        let id = self.child.id().to_string();
        let begun = Instant::now();
        assert!(Command::new("kill").args([signal, &id]).status().unwrap().success());
        let status = loop {
            if let Some(status) = self.child.try_wait().unwrap() {
                break status;
            }
            if begun.elapsed() > Duration::from_secs(20) {
                let _ = self.child.kill();
                panic!("{signal} does not end it");
            }
            std::thread::sleep(Duration::from_millis(5));
        };
        let took = begun.elapsed();
        let mut rest = String::new();
        self.lines.read_to_string(&mut rest).unwrap();
        (took, status.code(), rest)
    }
}

#[test]
fn an_interrupt_a_request_to_end_and_a_closed_terminal_end_it_within_a_second_and_lose_nothing() {
    for signal in ["-INT", "-TERM", "-HUP"] {
        let program = Program::demo();
        let process = Process::start(&program);
        let device = process.device();
        let stored = device.form("/new", &[("job", "last car")]);
        assert_eq!(stored.status, 303, "{}", stored.body);
        // Somebody's tablet is still connected and says nothing.
        let silent = TcpStream::connect(device.at).unwrap();
        let (took, status, rest) = process.end(signal);
        assert!(took < Duration::from_secs(1), "{signal}: {took:?}");
        assert_eq!(status, Some(0), "{signal}");
        assert!(rest.contains("The catalog is closed to browsers"), "{signal}: {rest}");
        assert!(TcpStream::connect_timeout(&device.at, Duration::from_millis(300)).is_err());
        drop(silent);
        let ran = program.run("job show 'last car'");
        assert_eq!(ran.status, 0, "{signal}: {}", ran.err);
        assert_eq!(program.run("check").status & 4, 0, "the catalog is whole");
    }
}
