//! A browser of a few lines: connections, a cookie, forms with their tokens.

use std::io::{Read as _, Write as _};
use std::net::{SocketAddr, TcpStream};
use std::sync::Arc;
use std::time::Duration;

use bellstack::model::kinds::Kinds;
use bellstack::model::length::Unit;
use bellstack::serve::{AskLimits, ListenAt, Notice, Running, Shop, start};
use jiff::ZonedDateTime;

use crate::program::Program;

/// A server over a catalog of its own.
pub(crate) struct Served {
    pub(crate) program: Program,
    running: Option<Running>,
    pub(crate) at: SocketAddr,
}

/// What a server said.
#[derive(Debug)]
pub(crate) struct Said {
    pub(crate) status: u16,
    pub(crate) head: String,
    pub(crate) body: String,
}

impl Said {
    /// The value of a header.
    pub(crate) fn header(&self, name: &str) -> Option<&str> {
        let mut lines = self.head.lines().skip(1).filter_map(|line| line.split_once(": "));
        lines.find(|(known, _)| known.eq_ignore_ascii_case(name)).map(|(_, value)| value)
    }

    /// The value of the first field of this name in the page's forms.
    pub(crate) fn field(&self, name: &str) -> String {
        let (_, rest) = self
            .body
            .split_once(&format!("name=\"{name}\" value=\""))
            .unwrap_or_else(|| panic!("the page has a field `{name}`: {}", self.body));
        unescaped(rest.split('"').next().unwrap())
    }
}

fn unescaped(text: &str) -> String {
    let pairs = [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&amp;", "&")];
    pairs.iter().fold(text.to_string(), |text, (from, to)| text.replace(from, to))
}

impl Served {
    /// The demo shop, served.
    pub(crate) fn demo() -> Self {
        Self::with(Program::demo(), AskLimits::default())
    }

    pub(crate) fn with(program: Program, limits: AskLimits) -> Self {
        let shop = Shop {
            path: program.catalog(),
            kinds: Kinds::standard(),
            unit: Unit::In,
            clock: Arc::new(|| "2026-03-31T14:05:00Z[UTC]".parse::<ZonedDateTime>().unwrap()),
            random: Arc::new(|bytes| {
                getrandom::fill(bytes).unwrap();
                Ok(())
            }),
        };
        let running = start(shop, &ListenAt::default(), limits).unwrap();
        Self { program, at: running.here(), running: Some(running) }
    }

    pub(crate) fn running(&self) -> &Running {
        self.running.as_ref().unwrap()
    }

    pub(crate) fn stop(&mut self) {
        self.running.take().unwrap().stop();
    }

    /// A second device.
    pub(crate) fn second(&self) -> Browser {
        let told = self.running().told();
        let Some(Notice::LetIn(next)) = told.last() else { panic!("{told:?}") };
        self.device_with(next[0].url.rsplit('/').next().unwrap())
    }

    /// The code for the next device.
    pub(crate) fn code(&self) -> String {
        let address = &self.running().addresses()[0];
        address.url.rsplit('/').next().unwrap().to_string()
    }

    /// What the command line says of the same catalog.
    pub(crate) fn says(&self, line: &str) -> String {
        let ran = self.program.run(line);
        assert!(ran.status <= 1, "`{line}`: {}", ran.err);
        ran.out
    }

    /// A device that is let in.
    pub(crate) fn device(&self) -> Browser {
        self.device_with(&self.code())
    }

    pub(crate) fn device_with(&self, code: &str) -> Browser {
        let mut browser = Browser::new(self.at);
        let said = browser.send("/in", &[("code", code)]);
        assert_eq!(said.status, 303, "{}", said.body);
        let cookie = said.header("set-cookie").unwrap();
        browser.cookie = cookie.split(';').next().unwrap().into();
        browser.token = browser.get("/").field("token");
        browser
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        if let Some(running) = self.running.take() {
            // Whoever drops it may be within a runtime of its own, in which nothing may wait.
            let _ = std::thread::spawn(move || running.stop()).join();
        }
    }
}

/// A browser with its cookie.
pub(crate) struct Browser {
    pub(crate) at: SocketAddr,
    pub(crate) cookie: String,
    pub(crate) token: String,
}

impl Browser {
    pub(crate) fn new(at: SocketAddr) -> Self {
        Self { at, cookie: String::new(), token: String::new() }
    }

    /// Reads a page.
    pub(crate) fn get(&self, path: &str) -> Said {
        self.ask(&format!("GET {path} HTTP/1.1\r\n{}Connection: close\r\n\r\n", self.heads()))
    }

    /// Reads a page that has to be there.
    pub(crate) fn page(&self, path: &str) -> Said {
        let said = self.get(path);
        assert_eq!(said.status, 200, "{path}: {}", said.body);
        said
    }

    /// Sends a form as a browser does, without a token.
    pub(crate) fn send(&self, path: &str, fields: &[(&str, &str)]) -> Said {
        self.send_from(&format!("http://{}", self.at), path, fields)
    }

    /// Sends a form of this device, with its token and who writes.
    pub(crate) fn form(&self, path: &str, fields: &[(&str, &str)]) -> Said {
        let mut all = vec![("token", self.token.as_str()), ("by", "Kim")];
        all.extend(fields);
        self.send(path, &all)
    }

    pub(crate) fn send_from(&self, origin: &str, path: &str, fields: &[(&str, &str)]) -> Said {
        self.ask(&self.posted(origin, path, fields))
    }

    fn posted(&self, origin: &str, path: &str, fields: &[(&str, &str)]) -> String {
        let pairs: Vec<String> = fields
            .iter()
            .map(|(name, value)| format!("{}={}", coded(name), coded(value)))
            .collect();
        let body = pairs.join("&");
        format!(
            "POST {path} HTTP/1.1\r\n{}Origin: {origin}\r\nConnection: close\r\n\
             Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\r\n{body}",
            self.heads(),
            body.len()
        )
    }

    pub(crate) fn heads(&self) -> String {
        let cookie = &self.cookie;
        let cookie =
            if cookie.is_empty() { String::new() } else { format!("Cookie: {cookie}\r\n") };
        format!("Host: {}\r\n{cookie}", self.at)
    }

    /// Sends a form to a server that may be gone.
    pub(crate) fn try_form(&self, path: &str, fields: &[(&str, &str)]) -> Option<Said> {
        TcpStream::connect(self.at).ok()?;
        let all = [&[("token", self.token.as_str()), ("by", "Kim")], fields].concat();
        self.try_ask(&self.posted(&format!("http://{}", self.at), path, &all))
    }

    /// Sends a request as it is.
    pub(crate) fn ask(&self, request: &str) -> Said {
        self.try_ask(request).unwrap()
    }

    fn try_ask(&self, request: &str) -> Option<Said> {
        let mut stream = TcpStream::connect(self.at).ok()?;
        stream.set_read_timeout(Some(Duration::from_mins(1))).unwrap();
        // A server that refuses a large head closes before it has read all of it.
        let _ = stream.write_all(request.as_bytes());
        let mut bytes = Vec::new();
        // A server that refuses a large body closes before it has read all of it.
        let _ = stream.read_to_end(&mut bytes);
        let text = String::from_utf8_lossy(&bytes);
        let (head, body) = text.split_once("\r\n\r\n").unwrap_or((&text, ""));
        let status = head.split(' ').nth(1).and_then(|word| word.parse().ok()).unwrap_or(0);
        let body = if head.to_ascii_lowercase().contains("transfer-encoding: chunked") {
            panic!("pages are sent whole")
        } else {
            // Numbers stand with their units; what is looked for is typed with a blank.
            body.replace('\u{a0}', " ")
        };
        Some(Said { status, head: head.into(), body })
    }
}

/// A text as it stands in a form or an address.
pub(crate) fn coded(text: &str) -> String {
    text.bytes().flat_map(|byte| ['%', digit(byte >> 4), digit(byte & 15)]).collect()
}

fn digit(value: u8) -> char {
    char::from_digit(u32::from(value), 16).unwrap().to_ascii_uppercase()
}
