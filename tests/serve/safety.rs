//! Who may ask, and how much.

use std::io::{ErrorKind, Read as _, Write as _};
use std::net::{SocketAddr, TcpStream, UdpSocket};
use std::time::{Duration, Instant};

use bellstack::serve::AskLimits;

use crate::browser::{Browser, Served, coded};
use crate::program::Program;

#[test]
fn another_host_is_refused_whatever_it_asks_for() {
    let served = Served::demo();
    let device = served.device();
    for host in ["elsewhere.example", "127.0.0.1", "127.0.0.1:1", "localhost", ""] {
        for path in ["/", "/in/abcd", "/fixed/x.css"] {
            let said = device.ask(&format!(
                "GET {path} HTTP/1.1\r\nHost: {host}\r\nCookie: {}\r\nConnection: close\r\n\r\n",
                device.cookie
            ));
            assert_eq!(said.status, 421, "{host} {path}");
            assert!(!said.body.contains("tight-slate"));
        }
    }
    let port = served.at.port();
    for host in [format!("127.0.0.1:{port}"), format!("LocalHost:{port}"), format!("[::1]:{port}")]
    {
        let said = device.ask(&format!(
            "GET / HTTP/1.1\r\nHost: {host}\r\nCookie: {}\r\nConnection: close\r\n\r\n",
            device.cookie
        ));
        assert_eq!(said.status, 200, "{host}");
    }
}

#[test]
fn a_form_from_another_site_changes_nothing() {
    let served = Served::demo();
    let device = served.device();
    let fields = [("token", device.token.as_str()), ("by", "Kim"), ("unit", "mm"), ("back", "/")];
    for origin in
        ["http://elsewhere.example", "null", "", "https://127.0.0.1", "http://127.0.0.1:1"]
    {
        let said = device.send_from(origin, "/unit", &fields);
        assert_eq!(said.status, 403, "{origin}");
        assert!(said.body.contains("Another site sent this form"));
    }
    assert!(device.page("/").body.contains("show lengths in millimetres"));
    assert_eq!(device.send("/unit", &fields).status, 303);
    assert!(device.page("/").body.contains("show lengths in inches"));
}

#[test]
fn a_browser_that_says_a_form_comes_from_elsewhere_is_believed() {
    let served = Served::demo();
    let device = served.device();
    let body = format!("token={}&unit=mm", device.token);
    let said = device.ask(&format!(
        "POST /unit HTTP/1.1\r\n{}Origin: http://{}\r\nSec-Fetch-Site: cross-site\r\n\
         Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {}\r\n\
         Connection: close\r\n\r\n{body}",
        device.heads(),
        device.at,
        body.len()
    ));
    assert_eq!(said.status, 403);
}

#[test]
fn a_form_without_this_device_s_token_changes_nothing() {
    let served = Served::demo();
    let device = served.device();
    let other = served.second();
    for token in ["", "0123", other.token.as_str()] {
        let said = device.send("/unit", &[("token", token), ("unit", "mm"), ("back", "/")]);
        assert_eq!(said.status, 403, "{token}");
        assert!(said.body.contains("This form is not of this device"));
    }
    assert!(device.page("/").body.contains("show lengths in millimetres"));
}

#[test]
fn a_device_that_was_not_let_in_sees_and_changes_nothing() {
    let served = Served::demo();
    let stranger = Browser::new(served.at);
    for path in ["/", "/car?job=tight-slate", "/parts", "/record", "/devices", "/nowhere"] {
        let said = stranger.get(path);
        assert_eq!(said.status, 401, "{path}");
        assert!(said.body.contains("not let in yet") && !said.body.contains("slate"), "{path}");
    }
    assert_eq!(stranger.send("/unit", &[("unit", "mm")]).status, 401);
    let mut guesser = Browser::new(served.at);
    guesser.cookie = format!("bellstack-{}=0000", served.at.port());
    assert_eq!(guesser.get("/").status, 401);
}

#[test]
fn a_code_lets_one_device_in_and_looking_at_its_address_voids_nothing() {
    let served = Served::demo();
    let code = served.code();
    let stranger = Browser::new(served.at);
    for _ in 0..3 {
        let knock = stranger.get(&format!("/in/{code}"));
        assert_eq!(knock.status, 200);
        assert_eq!(knock.body.matches("<button").count(), 1, "it shows one button");
        assert!(knock.header("set-cookie").is_none());
    }
    let device = served.device();
    assert_eq!(device.get("/").status, 200);
    let cookie = stranger.send("/in", &[("code", &code)]);
    assert_eq!(cookie.status, 403, "the code is void");
    assert!(cookie.header("set-cookie").is_none());
    assert!(cookie.body.contains("used already"));
}

#[test]
fn a_device_s_cookie_is_hidden_from_scripts_and_from_other_sites() {
    let served = Served::demo();
    let said = Browser::new(served.at).send("/in", &[("code", &served.code())]);
    let cookie = said.header("set-cookie").unwrap();
    assert!(cookie.contains("; HttpOnly") && cookie.contains("; SameSite=Strict"), "{cookie}");
    let code = said.header("location").unwrap();
    assert_eq!(code, "/", "the address has no secret in it");
}

#[test]
fn a_body_of_ten_megabytes_is_refused_before_it_is_read() {
    let served = Served::demo();
    let device = served.device();
    let head = format!(
        "POST /unit HTTP/1.1\r\n{}Origin: http://{}\r\nConnection: close\r\n\
         Content-Type: application/x-www-form-urlencoded\r\n",
        device.heads(),
        device.at
    );
    let said = device.ask(&format!("{head}Content-Length: 10485760\r\n\r\ntoken=x"));
    assert_eq!(said.status, 413);
    // One that does not say how long it is, is cut off where it becomes too long.
    let mut stream = TcpStream::connect(device.at).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    stream.write_all(format!("{head}Transfer-Encoding: chunked\r\n\r\n").as_bytes()).unwrap();
    let chunk = format!("10000\r\n{}\r\n", "a".repeat(0x10000));
    let mut sent = 0;
    while sent < 10 << 20 && stream.write_all(chunk.as_bytes()).is_ok() {
        sent += 0x10000;
    }
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer);
    assert!(sent < 10 << 20 || String::from_utf8_lossy(&answer).starts_with("HTTP/1.1 413"));
    assert_eq!(device.get("/").status, 200);
}

#[test]
fn a_head_without_an_end_is_refused() {
    let served = Served::demo();
    let device = served.device();
    let long = device.get(&format!("/?words={}", "a".repeat(8000)));
    assert_eq!(long.status, 414);
    let said = device.ask(&format!(
        "GET / HTTP/1.1\r\n{}X-Long: {}\r\n\r\n",
        device.heads(),
        "a".repeat(200_000)
    ));
    assert!([0, 431].contains(&said.status), "{}", said.status);
}

fn hasty() -> AskLimits {
    AskLimits {
        head: Duration::from_millis(600),
        body: Duration::from_millis(600),
        connections: 64,
        ..AskLimits::default()
    }
}

/// How long a server leaves a connection open on which nothing more is sent.
fn open_for(at: SocketAddr, sent: &str) -> Duration {
    let begun = Instant::now();
    let mut stream = TcpStream::connect(at).unwrap();
    stream.write_all(sent.as_bytes()).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    let mut answer = Vec::new();
    match stream.read_to_end(&mut answer) {
        Err(error) if error.kind() != ErrorKind::ConnectionReset => panic!("still open: {error}"),
        _ => begun.elapsed(),
    }
}

#[test]
fn a_slow_client_is_hung_up_on() {
    let served = Served::with(Program::demo(), hasty());
    let device = served.device();
    let head = format!(
        "POST /unit HTTP/1.1\r\n{}Origin: http://{}\r\nContent-Length: 30\r\n\
         Content-Type: application/x-www-form-urlencoded\r\n\r\n",
        device.heads(),
        device.at
    );
    let idle = format!("GET / HTTP/1.1\r\n{}\r\n", device.heads());
    for (what, sent) in [
        ("nothing at all", ""),
        ("half of a head", "GET / HTTP/1.1\r\nHost: "),
        ("a head without its body", head.as_str()),
        ("one request and then nothing", idle.as_str()),
    ] {
        let open = open_for(served.at, sent);
        assert!(open < Duration::from_secs(10), "{what}: {open:?}");
    }
    // One byte at a time is no way around it.
    let begun = Instant::now();
    let mut stream = TcpStream::connect(served.at).unwrap();
    while begun.elapsed() < Duration::from_secs(10) && stream.write_all(b"G").is_ok() {
        std::thread::sleep(Duration::from_millis(50));
    }
    assert!(begun.elapsed() < Duration::from_secs(10), "a drip was not hung up on");
}

#[test]
fn two_hundred_connections_that_say_nothing_keep_nobody_out_for_long() {
    let served = Served::with(Program::demo(), hasty());
    let device = served.device();
    let silent: Vec<TcpStream> =
        (0..200).filter_map(|_| TcpStream::connect(served.at).ok()).collect();
    assert!(silent.len() >= 128, "{} connections", silent.len());
    let begun = Instant::now();
    assert_eq!(device.get("/").status, 200);
    assert!(begun.elapsed() < Duration::from_secs(20), "{:?}", begun.elapsed());
    drop(silent);
    assert_eq!(device.get("/").status, 200);
}

#[test]
fn a_path_that_climbs_reaches_nothing() {
    let served = Served::demo();
    let device = served.device();
    for path in [
        "/../Cargo.toml",
        "/fixed/../../shop.db",
        "/fixed/%2e%2e%2fshop.db",
        "/fixed/..%5c..%5cshop.db",
        "/%2e%2e/%2e%2e/etc/passwd",
        "/shop.db",
        "//etc/passwd",
        "/car?job=../../etc/passwd",
        "/in/../../etc/passwd",
    ] {
        let said = device.get(path);
        assert!([404, 400].contains(&said.status), "{path}: {}", said.status);
        assert!(!said.body.contains("root:") && !said.body.contains("SQLite format"), "{path}");
    }
    for path in ["http://elsewhere.example/", "elsewhere.example:80", "*"] {
        let said = device.get(path);
        assert!(said.status >= 400, "{path}: {}", said.status);
    }
}

#[test]
fn nothing_but_reading_a_page_and_sending_a_form_is_answered() {
    let served = Served::demo();
    let device = served.device();
    for deed in ["PUT", "DELETE", "OPTIONS", "TRACE", "PATCH", "CONNECT", "PROPFIND"] {
        let said = device
            .ask(&format!("{deed} / HTTP/1.1\r\n{}Connection: close\r\n\r\n", device.heads()));
        assert!(said.status >= 400, "{deed}: {}", said.status);
    }
    let said = device.ask(&format!(
        "POST /unit HTTP/1.1\r\n{}Origin: http://{}\r\nConnection: close\r\n\
         Content-Type: text/plain\r\nContent-Length: 2\r\n\r\n{{}}",
        device.heads(),
        device.at
    ));
    assert_eq!(said.status, 415);
    assert_eq!(device.form("/", &[]).status, 405, "a page without a form takes none");
}

#[test]
fn a_name_that_holds_a_script_or_an_escape_is_shown_and_not_obeyed() {
    let program = Program::demo();
    let name = "<script>alert(1)</script>";
    let ran = program.run_args(&[
        "job",
        "add",
        name,
        "description=\"><img src=x onerror=alert(2)>\u{1b}[31m\u{202e}",
        "finger_depth=2.9 in",
        "bearing_depth_extended=2.2 in",
        "bearing_depth_retracted=3.1 in",
    ]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let served = Served::with(program, AskLimits::default());
    let device = served.device();
    let car = format!("/car?job={}", coded(name));
    for path in ["/", car.as_str(), "/record"] {
        let said = device.page(path);
        let body = &said.body;
        assert!(body.contains("&lt;script&gt;alert(1)&lt;/script&gt;"), "{path}");
        assert!(!body.contains("<script>alert") && !body.contains("<img"), "{path}");
        assert!(!body.contains(['\u{1b}', '\u{202e}']), "{path}");
        assert_eq!(body.matches("<script").count(), 1, "{path}: the page's own");
    }
    let found = device.page(&format!("/?words={}", coded(name)));
    assert!(!found.body.contains("<script>alert"));
    let missing = device.get(&format!("/car?job={}", coded("<script>alert(3)</script>")));
    assert_eq!(missing.status, 404);
    assert!(
        missing.body.contains("&lt;script&gt;alert(3)") && !missing.body.contains("<script>al")
    );
}

#[test]
fn no_page_may_be_framed_or_load_anything_from_elsewhere() {
    let served = Served::demo();
    let device = served.device();
    let style = device.page("/").body;
    let style = style.split("href=\"").find(|rest| rest.contains(".css\"")).unwrap();
    let style = style.split('"').next().unwrap().to_string();
    let stranger = Browser::new(served.at);
    let all = [
        device.page("/"),
        device.page("/car?job=tight-slate"),
        device.get("/nowhere"),
        device.page(&style),
        stranger.get("/"),
        stranger.get("/in/abcd"),
    ];
    for said in &all {
        let policy = said.header("content-security-policy").unwrap();
        for rule in [
            "default-src 'none'",
            "frame-ancestors 'none'",
            "form-action 'self'",
            "base-uri 'none'",
            "script-src 'self'",
            "style-src 'self'",
        ] {
            assert!(policy.contains(rule), "{policy}");
        }
        assert!(!policy.contains("unsafe"), "{policy}");
        assert_eq!(said.header("x-frame-options"), Some("DENY"));
        assert_eq!(said.header("x-content-type-options"), Some("nosniff"));
        assert_eq!(said.header("referrer-policy"), Some("same-origin"));
    }
    assert_eq!(all[0].header("cache-control"), Some("no-store"));
    assert!(all[3].header("cache-control").unwrap().contains("immutable"));
    let body = &all[1].body;
    assert!(!body.contains(" style=") && !body.contains(" onclick="), "nothing inline");
    let elsewhere = body.replace("http://www.w3.org/2000/svg", "");
    assert!(!elsewhere.contains("http://") && !elsewhere.contains("https://"));
}

/// This machine's own address in a network; none where it is in none.
fn own_address() -> Option<std::net::IpAddr> {
    let socket = UdpSocket::bind("0.0.0.0:0").ok()?;
    socket.connect("192.0.2.1:9").ok()?;
    Some(socket.local_addr().ok()?.ip()).filter(|ip| !ip.is_loopback() && !ip.is_unspecified())
}

#[test]
fn without_lan_it_listens_to_this_machine_alone() {
    let served = Served::demo();
    assert!(served.at.ip().is_loopback());
    assert!(served.running().addresses().iter().all(|address| !address.lan));
    // Another loopback address stands for the network: nothing listens there.
    let mut others: Vec<std::net::IpAddr> = vec!["127.0.0.2".parse().unwrap()];
    others.extend(own_address());
    for other in others {
        let at = SocketAddr::from((other, served.at.port()));
        assert!(TcpStream::connect_timeout(&at, Duration::from_secs(2)).is_err(), "{at} answers");
    }
}

#[test]
fn it_stops_within_a_second_whatever_is_open() {
    let mut served = Served::demo();
    let device = served.device();
    let silent: Vec<TcpStream> = (0..20).map(|_| TcpStream::connect(served.at).unwrap()).collect();
    let mut busy = TcpStream::connect(served.at).unwrap();
    let ask = format!("GET /car/cures?job=paper-slate HTTP/1.1\r\n{}\r\n", device.heads());
    busy.write_all(ask.as_bytes()).unwrap();
    std::thread::sleep(Duration::from_millis(100));
    let begun = Instant::now();
    served.stop();
    assert!(begun.elapsed() < Duration::from_secs(1), "{:?}", begun.elapsed());
    assert!(TcpStream::connect_timeout(&device.at, Duration::from_millis(300)).is_err());
    drop(silent);
}
