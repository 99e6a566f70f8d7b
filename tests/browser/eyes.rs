//! Somebody at a page: who opens, types, taps and looks.

use std::time::{Duration, Instant};

use axum::http::Method;
use fantoccini::elements::Element;
use fantoccini::error::CmdError;
use fantoccini::key::Key;
use fantoccini::wd::WebDriverCompatibleCommand;
use fantoccini::{Client, Locator};
use serde_json::{Value, json};
use url::{ParseError, Url};

use crate::browser::kept;
use crate::served::Served;

/// The widths at which pages are looked at: a telephone, a tablet, a desk.
pub(crate) const WIDTHS: [u32; 3] = [360, 800, 1400];

/// How long a page may take to show something.
const PATIENCE: Duration = Duration::from_secs(20);

/// A command of the browser's own tools.
#[derive(Debug)]
struct Tool(&'static str, Value);

impl WebDriverCompatibleCommand for Tool {
    fn endpoint(&self, base: &Url, session: Option<&str>) -> Result<Url, ParseError> {
        base.join(&format!("session/{}/goog/cdp/execute", session.unwrap_or_default()))
    }

    fn method_and_body(&self, _: &Url) -> (Method, Option<String>) {
        let body = json!({ "cmd": self.0, "params": self.1 });
        (Method::POST, Some(body.to_string()))
    }
}

/// A browser at a server, on a screen of some width.
pub(crate) struct Eyes {
    pub(crate) client: Client,
    base: String,
    pub(crate) width: u32,
    pub(crate) script: bool,
}

impl Eyes {
    /// A device that is let in by its one button.
    pub(crate) async fn let_in(client: &Client, served: &Served, width: u32, script: bool) -> Self {
        let base = format!("http://{}", served.at);
        let eyes = Self { client: client.clone(), base, width, script };
        client.delete_all_cookies().await.unwrap();
        eyes.screen("light").await;
        let address = &served.running().addresses()[0].url;
        client.goto(address).await.unwrap();
        eyes.tap("button").await;
        eyes.see("Today").await;
        eyes
    }

    /// The screen's width, and whether it is light or dark.
    pub(crate) async fn screen(&self, scheme: &str) {
        let screen = json!({
            "width": self.width, "height": 900, "deviceScaleFactor": 1, "mobile": false
        });
        let media = json!({ "features": [{ "name": "prefers-color-scheme", "value": scheme }] });
        for (name, told) in
            [("Emulation.setDeviceMetricsOverride", screen), ("Emulation.setEmulatedMedia", media)]
        {
            self.client.issue_cmd(Tool(name, told)).await.unwrap();
        }
    }

    /// A screenshot of the whole page.
    pub(crate) async fn shot(&self, name: &str) {
        let high = self.ask("return document.documentElement.scrollHeight").await;
        let high = high.as_f64().unwrap_or(900.0).min(8000.0);
        let clip = json!({ "x": 0, "y": 0, "width": self.width, "height": high, "scale": 1 });
        let told = json!({ "captureBeyondViewport": true, "clip": clip });
        let shot = self.client.issue_cmd(Tool("Page.captureScreenshot", told)).await.unwrap();
        let text = shot["data"].as_str().unwrap();
        std::fs::write(kept(&format!("{name}-{}.png", self.width)), decoded(text)).unwrap();
    }

    pub(crate) async fn open(&self, path: &str) {
        self.client.goto(&format!("{}{path}", self.base)).await.unwrap();
    }

    /// What a script of the test's own says of the page.
    pub(crate) async fn ask(&self, script: &str) -> Value {
        self.client.execute(script, Vec::new()).await.unwrap()
    }

    pub(crate) async fn text(&self) -> String {
        let text = self.ask("return document.body.innerText").await;
        text.as_str().unwrap_or_default().replace('\u{a0}', " ")
    }

    /// Waits until the page shows a text.
    pub(crate) async fn see(&self, text: &str) {
        let begun = Instant::now();
        loop {
            let shown = self.text().await;
            if shown.contains(text) {
                return;
            }
            let at = self.client.current_url().await.unwrap();
            assert!(begun.elapsed() < PATIENCE, "`{text}` is not seen at {at}:\n{shown}");
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// Waits until the page of this path is there.
    pub(crate) async fn at(&self, path: &str) {
        let begun = Instant::now();
        loop {
            let at = self.client.current_url().await.unwrap();
            let ready = self.ask("return document.readyState").await == json!("complete");
            if at.path() == path && ready {
                return;
            }
            assert!(begun.elapsed() < PATIENCE, "{path} is not come to, but {at}");
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// Does something to an element, as soon as it is there and lets itself be used: the page may be on
    /// its way to the next one.
    async fn with<T>(
        &self,
        what: Locator<'_>,
        act: impl AsyncFn(Element) -> Result<T, CmdError>,
    ) -> T {
        let begun = Instant::now();
        loop {
            let done = match self.client.find(what).await {
                Ok(element) => act(element).await,
                Err(error) => Err(error),
            };
            match done {
                Ok(done) => return done,
                Err(error) => assert!(begun.elapsed() < PATIENCE, "{what:?}: {error}"),
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// Taps the first thing of this selector.
    pub(crate) async fn tap(&self, css: &str) {
        self.with(Locator::Css(css), async |element| element.click().await).await;
    }

    /// Taps a link or button by what stands on it.
    pub(crate) async fn tap_named(&self, name: &str) {
        let is_named = format!("contains(normalize-space(.), '{name}')");
        let path = format!("//a[{is_named}] | //button[{is_named}]");
        self.with(Locator::XPath(&path), async |element| element.click().await).await;
    }

    /// Types into a field, instead of what is there.
    pub(crate) async fn type_in(&self, name: &str, text: &str) {
        let css = format!("main [name='{name}']");
        let typed = async |field: Element| {
            field.clear().await?;
            field.send_keys(text).await
        };
        self.with(Locator::Css(&css), typed).await;
    }

    /// Chooses one of several.
    pub(crate) async fn choose(&self, name: &str, value: &str) {
        self.tap(&format!("main [name='{name}'][value='{value}']")).await;
    }

    /// Chooses from a list.
    pub(crate) async fn pick(&self, name: &str, value: &str) {
        let css = format!("main select[name='{name}']");
        self.with(Locator::Css(&css), async |list| list.select_by_value(value).await).await;
    }

    /// Says who writes, where the page asks for it.
    pub(crate) async fn sign(&self) {
        if self.client.find(Locator::Css("main [name='by']")).await.is_ok() {
            self.type_in("by", "Kim").await;
        }
    }

    /// Goes on with the tabulator until what has the focus is of this selector.
    pub(crate) async fn tab_to(&self, css: &str) {
        for _ in 0..120 {
            let script = format!("return document.activeElement.matches({})", json!(css));
            if self.ask(&script).await == json!(true) {
                return;
            }
            self.press(Key::Tab).await;
        }
        panic!("`{css}` is not reached with the tabulator");
    }

    /// Presses a key where the focus is.
    pub(crate) async fn press(&self, key: Key) {
        let active = self.client.active_element().await.unwrap();
        active.send_keys(&char::from(key).to_string()).await.unwrap();
    }
}

/// Base 64, as the browser's tools send pictures.
fn decoded(text: &str) -> Vec<u8> {
    const SIGNS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut bytes = Vec::with_capacity(text.len() * 3 / 4);
    let (mut held, mut bits) = (0_u32, 0);
    for sign in text.bytes().filter(|sign| *sign != b'=') {
        let value = SIGNS.iter().position(|known| *known == sign).unwrap();
        held = held << 6 | u32::try_from(value).unwrap();
        bits += 6;
        if bits >= 8 {
            bits -= 8;
            bytes.push(u8::try_from(held >> bits & 0xff).unwrap());
        }
    }
    bytes
}
