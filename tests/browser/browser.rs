//! A Chromium with its driver, for as long as one test runs.

use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use fantoccini::wd::Capabilities;
use fantoccini::{Client, ClientBuilder};
use hyper_util::client::legacy::connect::HttpConnector;
use serde_json::json;

/// The programs that the tests need, each with where else it may be named.
const NEEDS: [(&str, &str); 4] = [
    ("chromium", "BELLSTACK_CHROMIUM"),
    ("chromedriver", "BELLSTACK_CHROMEDRIVER"),
    ("pdftoppm", "BELLSTACK_PDFTOPPM"),
    (AXE, "BELLSTACK_AXE"),
];

/// The rules of accessibility, as npm's package `axe-core` has them.
pub(crate) const AXE: &str = "axe.min.js";

/// Where npm puts them under the build's own directory.
const AXE_AT: &str = "target/npm/node_modules/axe-core/axe.min.js";

fn found(name: &str, told: &str) -> Option<PathBuf> {
    if let Some(path) = std::env::var_os(told) {
        return Some(path.into());
    }
    if name == AXE {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(AXE_AT);
        return path.is_file().then_some(path);
    }
    let path = std::env::var_os("PATH")?;
    std::env::split_paths(&path).map(|folder| folder.join(name)).find(|file| file.is_file())
}

/// Those of these programs that are not there.
pub(crate) fn missing(needs: &[&str]) -> Vec<&'static str> {
    let needed = NEEDS.iter().filter(|(name, _)| needs.contains(name));
    let missing = needed.filter(|(name, told)| found(name, told).is_none());
    missing.map(|(name, _)| *name).collect()
}

/// The path of a program that is there.
pub(crate) fn program(name: &str) -> PathBuf {
    let (name, told) = NEEDS.iter().find(|(known, _)| *known == name).unwrap();
    found(name, told).unwrap()
}

/// Whether all that could be looked at is looked at, and not a sample of it that differs in what matters.
pub(crate) fn whole() -> bool {
    std::env::var_os("BELLSTACK_BROWSER").is_some_and(|told| told == "whole")
}

/// Where prints and screenshots are kept.
pub(crate) fn kept(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("seen");
    std::fs::create_dir_all(&folder).unwrap();
    folder.join(name)
}

/// The driver, which ends with the test.
struct Driver(Child);

impl Drop for Driver {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Starts a browser and runs `test` with it.
pub(crate) fn with_browser<F: Future<Output = ()>>(test: impl FnOnce(Client) -> F) {
    with_scripts(true, test);
}

/// The same with or without the scripts of pages.
pub(crate) fn with_scripts<F: Future<Output = ()>>(on: bool, test: impl FnOnce(Client) -> F) {
    let child = Command::new(program("chromedriver"))
        .arg("--port=0")
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut driver = Driver(child);
    // The port is of the driver's own choice, so that runs do not meet.
    let lines = BufReader::new(driver.0.stdout.take().unwrap()).lines();
    let port = lines.map_while(Result::ok).find_map(|line| {
        let rest = line.split_once("started successfully on port ")?.1;
        rest.trim_end_matches('.').parse::<u16>().ok()
    });
    let port = port.unwrap_or_else(|| panic!("the driver tells its port"));
    let profile = tempfile::tempdir().unwrap();
    let mut capabilities = Capabilities::new();
    let options = json!({
        "binary": program("chromium"),
        "args": [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--disable-dev-shm-usage",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--hide-scrollbars",
            format!("--user-data-dir={}", profile.path().display()),
        ],
        "prefs": { "profile.managed_default_content_settings.javascript": if on { 1 } else { 2 } },
    });
    capabilities.insert("goog:chromeOptions".into(), options);
    // Now and then the driver waits for a page that is long there; by itself it does so for 300 s.
    capabilities.insert("timeouts".into(), json!({ "pageLoad": 20_000 }));
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap();
    runtime.block_on(async {
        let mut builder = ClientBuilder::new(HttpConnector::new());
        builder.capabilities(capabilities);
        let client = builder.connect(&format!("http://localhost:{port}")).await.unwrap();
        test(client.clone()).await;
        client.close().await.unwrap();
    });
}

/// Writes a file for the browser and returns its address.
pub(crate) fn written(name: &str, text: &str) -> String {
    let path = kept(name);
    std::fs::write(&path, text).unwrap();
    format!("file://{}", path.display())
}
