//! Listening: connections one by one, no more than so many, none for ever, and an end at once.

use std::net::{SocketAddr, TcpListener};
use std::pin::pin;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::TcpStream;
use tokio::runtime::{Builder, Runtime};
use tokio::sync::{OwnedSemaphorePermit, Semaphore, watch};
use tokio::time::{sleep, timeout};

use super::devices::Devices;
use super::guard::hosts;
use super::pairing::Address;
use super::routes::router;
use super::server::{Server, Work};
use super::{AskLimits, Notice, Shop, no_listening};
use crate::error::{Error, Result};

/// How long what is being answered may still take when the server stops.
const LAST: Duration = Duration::from_millis(500);

/// How long a piece of work on the catalog may still take after that.
const LAST_WORK: Duration = Duration::from_millis(300);

/// The most bytes that the head of a request may have.
const HEAD: usize = 32 * 1024;

/// Takes an address.
pub(super) fn bind(at: SocketAddr) -> Result<TcpListener> {
    let bound = TcpListener::bind(at).and_then(|listener| {
        listener.set_nonblocking(true)?;
        Ok(listener)
    });
    bound.map_err(|error| no_listening(at, &error))
}

/// A server that listens until it is stopped.
#[derive(Debug)]
pub struct Running {
    runtime: Runtime,
    stop: watch::Sender<bool>,
    devices: Arc<Devices>,
    work: Arc<Work>,
    here: SocketAddr,
    invited: Vec<Address>,
}

impl Running {
    /// Where it listens on this machine.
    pub fn here(&self) -> SocketAddr {
        self.here
    }

    /// The addresses that let the first device in.
    pub fn addresses(&self) -> &[Address] {
        &self.invited
    }

    /// What has come to be told since it was asked last.
    pub fn told(&self) -> Vec<Notice> {
        self.devices.take_told()
    }

    /// Stops: nothing new is taken, what is being answered has half a second, and searches are
    /// broken off. What a browser was told is stored is stored.
    pub fn stop(self) {
        let Self { runtime, stop, work, .. } = self;
        work.stop();
        // Where nobody listens any more there is nobody to stop.
        let _ = stop.send(true);
        runtime.block_on(async { timeout(LAST, stop.closed()).await.ok() });
        runtime.shutdown_timeout(LAST_WORK);
    }
}

/// Begins to listen.
pub(super) fn run(
    shop: Shop,
    listeners: Vec<TcpListener>,
    limits: AskLimits,
    lan: Option<SocketAddr>,
) -> Result<Running> {
    let failed = |error: std::io::Error| Error::storage(format!("the server cannot run: {error}"));
    let here = listeners.first().map_or(Ok(SocketAddr::from(([127, 0, 0, 1], 0))), |first| {
        first.local_addr().map_err(failed)
    })?;
    let devices = Arc::new(Devices::new(shop.random.clone(), here, lan, shop.unit));
    let invited = devices.invite()?;
    let work = Arc::new(Work::default());
    let server = Server {
        hosts: hosts(here, lan),
        cookie: format!("bellstack-{}", here.port()),
        devices: devices.clone(),
        shop: Arc::new(shop),
        limits,
        work: work.clone(),
    };
    let app = router(Arc::new(server));
    let runtime = Builder::new_multi_thread()
        .worker_threads(2)
        .max_blocking_threads(32)
        .enable_all()
        .thread_name("bench-page")
        .build()
        .map_err(failed)?;
    let (ending, ends) = watch::channel(false);
    let permits = Arc::new(Semaphore::new(limits.connections));
    for listener in listeners {
        let _entered = runtime.enter();
        let listener = tokio::net::TcpListener::from_std(listener).map_err(failed)?;
        runtime.spawn(take(listener, app.clone(), limits, permits.clone(), ends.clone()));
    }
    drop(ends);
    Ok(Running { runtime, stop: ending, devices, work, here, invited })
}

/// Takes connections one after another, while there is room for them.
async fn take(
    listener: tokio::net::TcpListener,
    app: Router,
    limits: AskLimits,
    permits: Arc<Semaphore>,
    mut stopping: watch::Receiver<bool>,
) {
    loop {
        let room = tokio::select! {
            room = permits.clone().acquire_owned() => room,
            _ = stopping.changed() => return,
        };
        let taken = tokio::select! {
            taken = listener.accept() => taken,
            _ = stopping.changed() => return,
        };
        match (taken, room) {
            (Ok((stream, _)), Ok(room)) => {
                tokio::spawn(serve(stream, app.clone(), limits, room, stopping.clone()));
            }
            // Too many open files, say: what is open now ends in time.
            _ => sleep(Duration::from_millis(50)).await,
        }
    }
}

/// Answers one connection until it ends, takes too long, or the server stops.
async fn serve(
    stream: TcpStream,
    app: Router,
    limits: AskLimits,
    room: OwnedSemaphorePermit,
    mut stopping: watch::Receiver<bool>,
) {
    // Pages are small: there is nothing to wait for.
    let _ = stream.set_nodelay(true);
    let service = TowerToHyperService::new(app);
    let mut builder = http1::Builder::new();
    builder.timer(TokioTimer::new()).header_read_timeout(limits.head).max_buf_size(HEAD);
    let mut connection = pin!(builder.serve_connection(TokioIo::new(stream), service));
    tokio::select! {
        // What a browser does wrong on its connection is its own affair.
        _ = connection.as_mut() => return,
        _ = stopping.changed() => {}
        () = sleep(limits.connection) => {}
    }
    connection.as_mut().graceful_shutdown();
    let _ = timeout(LAST, connection).await;
    drop(room);
}
