//! Which page answers which address.

use std::sync::Arc;

use axum::Router;
use axum::extract::{Extension, State};
use axum::http::header::{self, HeaderMap, HeaderValue};
use axum::http::{StatusCode, Uri};
use axum::middleware::from_fn_with_state;
use axum::response::{Html, IntoResponse as _, Redirect, Response};
use axum::routing::{MethodRouter, get, post};

use super::devices::{Device, Redeemed};
use super::form::{Fields, decoded, encoded};
use super::guard::{Sent, cookie as kept, guard};
use super::server::Server;
use super::visit::{PageFn, Reply, Visit};
use super::{assets, pages, shell};
use crate::error::{Class, Error, Result};

/// A page that is read.
fn read(path: &'static str, page: PageFn) -> MethodRouter<Arc<Server>> {
    get(move |server, uri, device, sent| answer(server, uri, device, sent, path, page))
}

/// A page that is read, and a form of it that is sent.
fn read_and_sent(path: &'static str, page: PageFn, form: PageFn) -> MethodRouter<Arc<Server>> {
    read(path, page)
        .post(move |server, uri, device, sent| answer(server, uri, device, sent, path, form))
}

/// A form that is sent and has no page of its own.
fn sent(path: &'static str, form: PageFn) -> MethodRouter<Arc<Server>> {
    post(move |server, uri, device, sent| answer(server, uri, device, sent, path, form))
}

/// What a document of its own may do: it brings its style with it, and nothing else.
const DOCUMENT: &str =
    "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; frame-ancestors 'none'";

/// Every address.
pub(super) fn router(server: Arc<Server>) -> Router {
    let mut router = Router::new();
    for (path, page) in pages::READ {
        router = router.route(path, read(path, *page));
    }
    for (path, page, form) in pages::READ_AND_SENT {
        router = router.route(path, read_and_sent(path, *page, *form));
    }
    for (path, form) in pages::SENT {
        router = router.route(path, sent(path, *form));
    }
    router
        .route("/in/{code}", get(knock))
        .route("/in", post(let_in))
        .route("/fixed/{name}", get(fixed))
        .fallback(nowhere)
        .layer(from_fn_with_state(server.clone(), guard))
        .with_state(server)
}

/// Works a page out on a thread of its own, as catalogs are read by blocking calls.
async fn answer(
    State(server): State<Arc<Server>>,
    uri: Uri,
    Extension(device): Extension<Device>,
    Extension(Sent(form)): Extension<Sent>,
    path: &'static str,
    page: PageFn,
) -> Response {
    let (key, by) = (device.key.clone(), device.by.clone());
    let watched = server.work.begin();
    let visit = Visit {
        shop: server.shop.clone(),
        devices: server.devices.clone(),
        device,
        path,
        query: Fields::read(uri.query().unwrap_or_default()),
        form,
        watch: watched.0.clone(),
    };
    let worked = tokio::task::spawn_blocking(move || {
        let reply = page(&visit);
        written(&visit, reply)
    });
    let mut response = match tokio::time::timeout(server.limits.answer, worked).await {
        Ok(Ok(response)) => response,
        Ok(Err(_)) => failed("something went wrong in this page; nothing was changed by it"),
        Err(_) => failed("this takes longer than a page may: ask it on the command line"),
    };
    drop(watched);
    // Who writes is remembered by the device itself: the next time it is let in it knows.
    if let Some(device) = server.devices.of(&key).filter(|device| device.by != by) {
        let by = encoded(&device.by);
        let kept = format!("{BY}={by}; Path=/; Max-Age=31536000; HttpOnly; SameSite=Strict");
        response.headers_mut().extend(cookie(&kept));
    }
    response
}

/// The cookie in which a device keeps who writes on it.
const BY: &str = "bellstack-by";

fn cookie(text: &str) -> Option<(header::HeaderName, HeaderValue)> {
    Some((header::SET_COOKIE, HeaderValue::from_str(text).ok()?))
}

fn failed(why: &str) -> Response {
    let error = Error::storage(why);
    (StatusCode::INTERNAL_SERVER_ERROR, shell::bare("Not answered", &shell::refusal(&error)))
        .into_response()
}

/// A reply as it goes to the browser.
fn written(visit: &Visit, reply: Result<Reply>) -> Response {
    match reply {
        Ok(Reply::Page(title, body)) => shell::page(visit, &title, &body).into_response(),
        Ok(Reply::Piece(body)) => shell::piece(&body).into_response(),
        Ok(Reply::Document(text)) => {
            ([(header::CONTENT_SECURITY_POLICY, DOCUMENT)], Html(text)).into_response()
        }
        Ok(Reply::Go(to)) => Redirect::to(&to).into_response(),
        Ok(Reply::Again(title, body)) => {
            let page = shell::page(visit, &title, &body);
            (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
        }
        Ok(Reply::Refused(title, body)) => {
            (StatusCode::CONFLICT, shell::page(visit, &title, &body)).into_response()
        }
        Err(error) => {
            let status = match error.class() {
                Class::Input if visit.form == Fields::default() => StatusCode::NOT_FOUND,
                Class::Input => StatusCode::UNPROCESSABLE_ENTITY,
                Class::Storage => StatusCode::INTERNAL_SERVER_ERROR,
                Class::Interrupted => StatusCode::SERVICE_UNAVAILABLE,
            };
            let body = shell::refusal(&error);
            if visit.wants_piece() {
                return (status, shell::piece(&body)).into_response();
            }
            (status, shell::page(visit, "Not done", &body)).into_response()
        }
    }
}

/// The one button that lets a device in. Whoever only looks at the address, as a preview does, voids
/// nothing.
async fn knock(axum::extract::Path(code): axum::extract::Path<String>) -> Response {
    shell::bare("Let this device in", &pages::knock(&code)).into_response()
}

/// Redeems a code.
async fn let_in(
    State(server): State<Arc<Server>>,
    headers: HeaderMap,
    Extension(Sent(form)): Extension<Sent>,
) -> Response {
    let by = kept(&headers, BY).map(decoded).unwrap_or_default();
    match server.devices.redeem(form.text("code"), &by) {
        Ok(Redeemed::In(device)) => {
            let text =
                format!("{}={}; Path=/; HttpOnly; SameSite=Strict", server.cookie, device.key);
            let mut response = Redirect::to("/").into_response();
            response.headers_mut().extend(cookie(&text));
            response
        }
        Ok(Redeemed::Void) => {
            let error = Error::input("this code was used already, or is none")
                .hint("the newest one stands in the terminal, or on a device that is in");
            (StatusCode::FORBIDDEN, shell::bare("Not let in", &shell::refusal(&error)))
                .into_response()
        }
        Err(error) => failed(&error.one_line()),
    }
}

/// The style and the script.
async fn fixed(axum::extract::Path(name): axum::extract::Path<String>) -> Response {
    match assets::named(&name) {
        Some((kind, text)) => ([(header::CONTENT_TYPE, kind)], text).into_response(),
        None => nowhere().await,
    }
}

async fn nowhere() -> Response {
    let error = Error::input("there is no such page").hint("begin at the first page");
    (StatusCode::NOT_FOUND, shell::bare("No such page", &shell::refusal(&error))).into_response()
}
