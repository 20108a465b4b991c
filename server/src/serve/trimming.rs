//! Removing old rows of the feed of changes, which would grow for ever.
//!
//! Every server of a database does so by itself. That is safe: what was removed is noted in the same
//! transaction, and a server that has not seen all of it loads its stock anew.

use super::background::with_causes;
use crate::app::App;
use std::time::Duration;
use tokio::task::JoinHandle;
use tokio::time::{MissedTickBehavior, interval};
use tokio_util::sync::CancellationToken;

/// Keeps the feed of changes short.
pub(super) struct Trimming {
    stop: CancellationToken,
    task: JoinHandle<()>,
}

impl Trimming {
    /// Keeps the newest rows, so many of them, and removes older ones every so often.
    pub(super) fn start(app: App, (keep, every): (u64, Duration)) -> Self {
        let stop = CancellationToken::new();
        let task = tokio::spawn(keep_trimming(app, keep, every, stop.clone()));
        Self { stop, task }
    }

    /// Waits for a round that has begun.
    pub(super) async fn stop(&mut self) {
        self.stop.cancel();
        if let Err(error) = (&mut self.task).await {
            tracing::error!(error = %error, "the task that trims the feed of changes failed");
        }
    }
}

async fn keep_trimming(app: App, keep: u64, every: Duration, stop: CancellationToken) {
    let mut ticks = interval(every);
    ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
    // The first tick is at once, while the stock is being loaded: that goes first.
    ticks.reset();
    let mut failing = false;
    loop {
        tokio::select! {
            biased;
            () = stop.cancelled() => return,
            _ = ticks.tick() => {}
        }
        match app.trim_changes(keep).await {
            Ok(trimmed) => {
                failing = false;
                if trimmed > 0 {
                    tracing::info!(
                        trimmed,
                        keep,
                        "removed {trimmed} old rows of the feed of changes"
                    );
                }
            }
            Err(error) if !failing => {
                failing = true;
                let error = with_causes(&error);
                tracing::warn!(error, "trimming the feed of changes failed; trying on: {error}");
            }
            Err(error) => tracing::debug!(error = %error, "trimming still fails"),
        }
    }
}
