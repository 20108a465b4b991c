//! How far the index is behind the books, and waiting until it is not.

use std::time::{Duration, Instant};
use tokio::sync::watch;

/// Where the feed stands.
#[derive(Clone, Debug, Default)]
pub struct Stand {
    /// Whether the index is loaded.
    pub is_ready: bool,
    /// Pieces and lots loaded.
    pub rows: u64,
    /// About how many there are to load.
    pub expected: u64,
    /// Everything up to this revision was seen.
    pub revision: i64,
    /// No write that had ended when the books were last looked at has a higher revision.
    pub newest: i64,
    /// How many looks at the books have begun.
    pub begun: u64,
    /// The number of the last look that has ended well.
    pub ended: u64,
    /// When that look began.
    pub looked_at: Option<Instant>,
    /// How often everything was loaded anew.
    pub reloads: u64,
}

impl Stand {
    /// How long ago the index was compared with the books; nothing before it is loaded.
    pub fn age(&self) -> Option<Duration> {
        self.looked_at.map(|at| at.elapsed())
    }

    /// Whether a write of this revision is seen, for one who asked after `begun` looks had begun.
    pub(super) fn has_seen(&self, revision: i64, begun: u64) -> bool {
        // Whatever was answered before a look began is in it, even while some older write is still
        // open and keeps the revision behind.
        self.revision >= revision || (self.ended > begun && self.newest >= revision)
    }
}

/// Where the feed stands, for many to look at.
#[derive(Debug)]
pub(super) struct Standing(watch::Sender<Stand>);

impl Default for Standing {
    fn default() -> Self {
        Standing(watch::Sender::new(Stand::default()))
    }
}

impl Standing {
    /// Where it stands now.
    pub(super) fn now(&self) -> Stand {
        self.0.borrow().clone()
    }

    pub(super) fn change(&self, change: impl FnOnce(&mut Stand)) {
        self.0.send_modify(change);
    }

    /// Waits until a write of this revision is seen; whether it was, within the time.
    pub(super) async fn wait(&self, revision: i64, at_most: Duration) -> bool {
        let mut stands = self.0.subscribe();
        let begun = stands.borrow().begun;
        let seen = stands.wait_for(|stand| stand.has_seen(revision, begun));
        tokio::time::timeout(at_most, seen).await.is_ok_and(|seen| seen.is_ok())
    }
}
