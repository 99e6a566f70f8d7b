//! What is seen of a search while it runs.

use std::sync::mpsc::{RecvTimeoutError, channel};
use std::thread;
use std::time::Duration;

use indicatif::{HumanCount, ProgressBar};

use super::env::Env;
use crate::error::Result;
use crate::solve::ask::Watch;

/// How long a search runs unseen.
const PATIENCE: Duration = Duration::from_secs(1);
const TICK: Duration = Duration::from_millis(100);

/// Runs a search: an interrupt stops it, and on a terminal one that takes long shows that it is
/// alive.
pub(super) fn watched<T>(env: &Env<'_>, search: impl FnOnce(&Watch) -> Result<T>) -> Result<T> {
    (env.on_search)(&env.watch);
    let answer = if env.err_is_terminal { shown(env, search) } else { search(&env.watch) }?;
    // A search that ends before it looks up is stopped here: an interrupt never gives an answer.
    env.watch.step(0)?;
    Ok(answer)
}

fn shown<T>(env: &Env<'_>, search: impl FnOnce(&Watch) -> Result<T>) -> Result<T> {
    let watch = env.watch.clone();
    thread::scope(|scope| {
        let (done, wait) = channel::<()>();
        scope.spawn(move || {
            if wait.recv_timeout(PATIENCE) != Err(RecvTimeoutError::Timeout) {
                return;
            }
            let bar = ProgressBar::new_spinner();
            while wait.recv_timeout(TICK) == Err(RecvTimeoutError::Timeout) {
                let steps = HumanCount(watch.steps());
                bar.set_message(format!("searching: {steps} steps so far (Ctrl-C stops)"));
                bar.tick();
            }
            bar.finish_and_clear();
        });
        let answer = search(&env.watch);
        drop(done);
        answer
    })
}
