//! The bench page: the catalog opened to the browsers of a shop.
//!
//! [`start`] listens, [`Running`] is what listens until it is stopped. What a page shows comes from the
//! desk and is written by `report`; here is only how it is asked for, who may ask, and how much.
//!
//! A request goes through `guard` first: host, origin, size, device and token. Then a page answers it
//! on a thread of its own, since a catalog is read and written by blocking calls.

mod assets;
mod cells;
mod devices;
mod form;
mod guard;
mod listen;
mod meanwhile;
mod pages;
mod pairing;
mod question;
mod routes;
mod server;
mod shell;
mod visit;

use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::Arc;
use std::time::Duration;

use jiff::{Timestamp, ZonedDateTime};

use crate::catalog::{Access, Catalog};
use crate::error::{Error, Result};
use crate::model::history::Stamp;
use crate::model::kinds::Kinds;
use crate::model::length::Unit;
pub use listen::Running;
pub use pairing::{Address, qr};

/// The clock, with the place's own day.
pub type Clock = Arc<dyn Fn() -> ZonedDateTime + Send + Sync>;

/// Fills bytes with randomness that nobody can foresee; says why where there is none.
pub type Random = Arc<dyn Fn(&mut [u8]) -> std::result::Result<(), String> + Send + Sync>;

/// The catalog that is served, with what belongs to the place.
#[derive(Clone)]
pub struct Shop {
    /// The catalog's file.
    pub path: PathBuf,
    /// The table of kinds that its parts belong to.
    pub kinds: Kinds,
    /// The unit in which a device reads lengths until it chooses one.
    pub unit: Unit,
    /// The clock.
    pub clock: Clock,
    /// Where codes and tokens come from.
    pub random: Random,
}

impl std::fmt::Debug for Shop {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Shop").field("path", &self.path).finish_non_exhaustive()
    }
}

impl Shop {
    /// Opens the catalog for one request.
    fn open(&self, access: Access) -> Result<Catalog> {
        Catalog::open(&self.path, self.kinds, access)
    }

    /// Who changes the catalog now, and with which command line the same could be done.
    fn stamp(&self, by: &str, command: String) -> Stamp {
        let now = (self.clock)().timestamp();
        let at = Timestamp::from_second(now.as_second()).unwrap_or(now).to_string();
        Stamp { at, by: by.into(), command }
    }

    /// Today's day, as a reading is dated.
    fn today(&self) -> String {
        (self.clock)().date().to_string()
    }
}

/// How much and how long one browser may ask.
#[derive(Debug, Clone, Copy)]
pub struct AskLimits {
    /// Connections at once; others wait until one of them ends.
    pub connections: usize,
    /// How long a browser may take over the head of a request, the first byte and the pauses between
    /// requests included.
    pub head: Duration,
    /// How long it may take over the body.
    pub body: Duration,
    /// The most bytes that a body may have.
    pub body_bytes: usize,
    /// How long an answer may be worked out.
    pub answer: Duration,
    /// How long one connection may last.
    pub connection: Duration,
}

impl Default for AskLimits {
    fn default() -> Self {
        Self {
            connections: 128,
            head: Duration::from_secs(8),
            body: Duration::from_secs(10),
            body_bytes: 256 * 1024,
            answer: Duration::from_mins(2),
            connection: Duration::from_mins(5),
        }
    }
}

/// Where to listen.
#[derive(Debug, Clone, Default)]
pub struct ListenAt {
    /// Where to listen beside this machine itself: its address in the shop's own network.
    pub lan: Option<std::net::IpAddr>,
    /// The port; zero lets the system choose one.
    pub port: u16,
}

/// Something that the person who started it is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Notice {
    /// A device was let in; the addresses for the next one.
    LetIn(Vec<Address>),
    /// Somebody tried so many wrong codes that the old one is void.
    Guessed(Vec<Address>),
}

/// Opens the catalog to browsers until it is stopped.
///
/// # Errors
///
/// A storage error where the address is taken or may not be listened on, or where there is no
/// randomness for codes.
pub fn start(shop: Shop, place: &ListenAt, limits: AskLimits) -> Result<Running> {
    let here = SocketAddr::from(([127, 0, 0, 1], place.port));
    let first = listen::bind(here)?;
    let port = first.local_addr().map_err(|error| no_listening(here, &error))?.port();
    let mut listeners = vec![first];
    // A browser may take `localhost` for the other protocol's loopback; where there is none, fine.
    listeners.extend(listen::bind(SocketAddr::from((std::net::Ipv6Addr::LOCALHOST, port))).ok());
    if let Some(lan) = place.lan {
        listeners.push(listen::bind(SocketAddr::from((lan, port)))?);
    }
    listen::run(shop, listeners, limits, place.lan.map(|lan| SocketAddr::from((lan, port))))
}

fn no_listening(at: SocketAddr, error: &std::io::Error) -> Error {
    Error::storage(format!("`{at}` cannot be listened on: {error}"))
        .hint("is it in use already? give another port with `--port`")
}
