//! What every request shares, and the searches that are on their way.

use std::sync::{Arc, Mutex, PoisonError, Weak};

use super::devices::Devices;
use super::{AskLimits, Shop};
use crate::solve::ask::Watch;

/// What every request shares.
#[derive(Debug)]
pub(super) struct Server {
    pub(super) shop: Arc<Shop>,
    pub(super) devices: Arc<Devices>,
    pub(super) limits: AskLimits,
    pub(super) work: Arc<Work>,
    /// What a browser may call this server.
    pub(super) hosts: Vec<String>,
    /// The name of a device's cookie. Cookies do not tell ports apart, names do.
    pub(super) cookie: String,
}

/// The searches that are on their way, so that they can be broken off.
#[derive(Debug, Default)]
pub(super) struct Work(Mutex<Vec<Weak<Watched>>>);

/// A search that is stopped when nobody waits for it any more.
#[derive(Debug)]
pub(super) struct Watched(pub(super) Watch);

impl Drop for Watched {
    fn drop(&mut self) {
        self.0.stop();
    }
}

impl Work {
    pub(super) fn begin(&self) -> Arc<Watched> {
        let watched = Arc::new(Watched(Watch::default()));
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.retain(|one| one.strong_count() > 0);
        all.push(Arc::downgrade(&watched));
        watched
    }

    /// Breaks every search off.
    pub(super) fn stop(&self) {
        let all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        all.iter().filter_map(Weak::upgrade).for_each(|watched| watched.0.stop());
    }
}
