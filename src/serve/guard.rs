//! Who may ask, and how much: looked at before any page is worked out.
//!
//! A browser that was led here by another site has another host or origin, or no token. Every answer
//! forbids to be framed, to run a script or take a style that is not of this server, and to be kept.

use std::net::SocketAddr;
use std::sync::Arc;

use axum::body::{Body, Bytes, to_bytes};
use axum::extract::{Request, State};
use axum::http::header::{self, HeaderMap, HeaderName, HeaderValue};
use axum::http::{Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse as _, Response};
use maud::html;

use super::devices::Device;
use super::form::Fields;
use super::pairing::same;
use super::server::Server;
use super::shell;
use crate::report::html::words;

/// The longest address that is asked for: a what-if with every slot changed is well below it.
const LONGEST_ADDRESS: usize = 4096;

/// What a page may load and do: what is of this server, and nothing else.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; \
    connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// The form that was sent, read once.
#[derive(Debug, Clone, Default)]
pub(super) struct Sent(pub(super) Fields);

/// A refusal: what was found and what to do.
struct No(StatusCode, &'static str, &'static str);

impl No {
    fn page(&self) -> Response {
        let Self(status, found, hint) = self;
        let body = html! { h1 { (found) } p { (words(hint)) } };
        (*status, shell::bare(found, &body)).into_response()
    }
}

const OTHER_HOST: No = No(
    StatusCode::MISDIRECTED_REQUEST,
    "This address is not the shop's",
    "Open the address that `bellstack serve` printed.",
);
const OTHER_ORIGIN: No = No(
    StatusCode::FORBIDDEN,
    "Another site sent this form",
    "Nothing was changed. Open the page itself and send the form from there.",
);
const NO_TOKEN: No = No(
    StatusCode::FORBIDDEN,
    "This form is not of this device",
    "Nothing was changed. Open the page anew and send its form again.",
);
const OUTSIDE: No = No(
    StatusCode::UNAUTHORIZED,
    "This device is not let in yet",
    "Open the address that `bellstack serve` printed, or the one that a device which is in shows \
     under \u{201c}Devices\u{201d}. Each lets one device in.",
);
const TOO_LARGE: No = No(
    StatusCode::PAYLOAD_TOO_LARGE,
    "That is more than a form of this shop holds",
    "Nothing was changed. Import large files with `bellstack import`.",
);
const TOO_SLOW: No = No(
    StatusCode::REQUEST_TIMEOUT,
    "The form did not arrive in time",
    "Nothing was changed. Send it again.",
);
const NO_SUCH_DEED: No = No(
    StatusCode::METHOD_NOT_ALLOWED,
    "Pages are read and forms are sent here, nothing else",
    "Open the page in a browser.",
);
const NO_FORM: No = No(
    StatusCode::UNSUPPORTED_MEDIA_TYPE,
    "This is no form of a page",
    "Open the page in a browser and send its form.",
);
const TOO_LONG: No =
    No(StatusCode::URI_TOO_LONG, "This address is too long", "Begin at the first page.");

/// Looks at every request before its page is asked, and marks every answer.
pub(super) async fn guard(
    State(server): State<Arc<Server>>,
    request: Request,
    next: Next,
) -> Response {
    let is_fixed = request.uri().path().starts_with("/fixed/");
    let mut response = match admitted(&server, request).await {
        Ok(request) => next.run(request).await,
        Err(no) => no.page(),
    };
    mark(response.headers_mut(), is_fixed);
    response
}

fn mark(headers: &mut HeaderMap, is_fixed: bool) {
    let kept = if is_fixed { "public, max-age=31536000, immutable" } else { "no-store" };
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::X_FRAME_OPTIONS, "DENY"),
        // With none at all a browser would not say where a form comes from.
        (header::REFERRER_POLICY, "same-origin"),
        (HeaderName::from_static("cross-origin-opener-policy"), "same-origin"),
        (HeaderName::from_static("cross-origin-resource-policy"), "same-origin"),
        (header::CACHE_CONTROL, kept),
    ] {
        // A document of its own has said already what it needs.
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    }
}

/// The request with its device and its form, where both may be.
async fn admitted(server: &Server, request: Request) -> Result<Request, No> {
    let host = text(request.headers(), &header::HOST).unwrap_or_default();
    let is_own = |name: &str| server.hosts.iter().any(|own| own.eq_ignore_ascii_case(name));
    // A request line may name a host of its own, as one to a proxy does.
    let named = request.uri().authority().map(axum::http::uri::Authority::as_str);
    if !is_own(host) || named.is_some_and(|named| !is_own(named)) {
        return Err(OTHER_HOST);
    }
    if request.uri().path_and_query().is_some_and(|all| all.as_str().len() > LONGEST_ADDRESS) {
        return Err(TOO_LONG);
    }
    let is_form = match *request.method() {
        Method::GET | Method::HEAD => false,
        Method::POST => true,
        _ => return Err(NO_SUCH_DEED),
    };
    if is_form {
        from_own_page(request.headers(), host)?;
    }
    let path = request.uri().path();
    let is_open = path == "/in" || path.starts_with("/in/") || path.starts_with("/fixed/");
    let device = cookie(request.headers(), &server.cookie).and_then(|key| server.devices.of(key));
    if !is_open && device.is_none() {
        return Err(OUTSIDE);
    }
    let (mut parts, body) = request.into_parts();
    let sent = if is_form { read(server, &parts.headers, body).await? } else { Fields::default() };
    if let Some(device) = device {
        if is_form && !is_open && !same(sent.text("token"), &device.token) {
            return Err(NO_TOKEN);
        }
        parts.extensions.insert::<Device>(device);
    }
    parts.extensions.insert(Sent(sent));
    Ok(Request::from_parts(parts, Body::empty()))
}

/// A form is sent from a page of this server. Every browser says where a form comes from.
fn from_own_page(headers: &HeaderMap, host: &str) -> Result<(), No> {
    let origin = text(headers, &header::ORIGIN).unwrap_or_default();
    let own = origin.strip_prefix("http://").is_some_and(|from| from.eq_ignore_ascii_case(host));
    let site = text(headers, &HeaderName::from_static("sec-fetch-site"));
    if !own || site.is_some_and(|site| site != "same-origin") {
        return Err(OTHER_ORIGIN);
    }
    let kind = text(headers, &header::CONTENT_TYPE).unwrap_or_default();
    let kind = kind.split(';').next().unwrap_or_default().trim();
    if kind.eq_ignore_ascii_case("application/x-www-form-urlencoded") {
        Ok(())
    } else {
        Err(NO_FORM)
    }
}

/// Reads a form, as far as it is small and comes in time.
async fn read(server: &Server, headers: &HeaderMap, body: Body) -> Result<Fields, No> {
    let most = server.limits.body_bytes;
    let told = text(headers, &header::CONTENT_LENGTH).and_then(|length| length.parse().ok());
    if told.is_some_and(|length: usize| length > most) {
        return Err(TOO_LARGE);
    }
    let bytes: Bytes = match tokio::time::timeout(server.limits.body, to_bytes(body, most)).await {
        Ok(Ok(bytes)) => bytes,
        Ok(Err(_)) => return Err(TOO_LARGE),
        Err(_) => return Err(TOO_SLOW),
    };
    Ok(Fields::read(&String::from_utf8_lossy(&bytes)))
}

fn text<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Option<&'h str> {
    headers.get(name)?.to_str().ok()
}

/// The value of a cookie.
pub(super) fn cookie<'h>(headers: &'h HeaderMap, name: &str) -> Option<&'h str> {
    let all = headers.get_all(header::COOKIE).iter().filter_map(|value| value.to_str().ok());
    let mut pairs = all.flat_map(|value| value.split(';'));
    pairs.find_map(|pair| pair.trim().strip_prefix(name)?.strip_prefix('='))
}

/// What a browser may call the server that listens here.
pub(super) fn hosts(here: SocketAddr, lan: Option<SocketAddr>) -> Vec<String> {
    let port = here.port();
    let mut hosts = vec![here.to_string(), format!("localhost:{port}"), format!("[::1]:{port}")];
    hosts.extend(lan.map(|lan| lan.to_string()));
    hosts
}
