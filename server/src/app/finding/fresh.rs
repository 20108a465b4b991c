//! Whether the index may be answered from, and how fresh the answer is.

use crate::app::{App, Error};
use serde::{Deserialize, Serialize};
use std::time::Duration;
use tenths_domain::matching::AgePolicy;
use tenths_domain::substitution::AgeLimit;

/// How long a question waits for the revision that it names.
const WAIT_MAX: Duration = Duration::from_secs(5);

/// What becomes of a question where the index is older than the shop allows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, clap::ValueEnum)]
#[serde(rename_all = "lowercase")]
pub enum OnStale {
    /// It is answered, and the answer says so.
    #[default]
    Say,
    /// It is refused as UNAVAILABLE.
    Refuse,
}

/// What the shop decided about finding.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Policy {
    /// How old a date-coded rolling bearing may be; none means any age.
    pub bearing_age_max: Option<AgeLimit>,
    /// How old the index may be.
    pub index_age_max: Duration,
    /// What becomes of a question where it is older.
    pub on_stale: OnStale,
}

impl Policy {
    /// The rule on the age of rolling bearings, at a time in Unix microseconds.
    pub(crate) fn bearing_age(self, now: i64) -> Option<AgePolicy> {
        self.bearing_age_max.map(|limit| AgePolicy { limit, now })
    }
}

impl Default for Policy {
    fn default() -> Self {
        Policy {
            bearing_age_max: None,
            index_age_max: Duration::from_secs(10),
            on_stale: OnStale::Say,
        }
    }
}

/// How fresh an answer is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Freshness {
    /// Everything up to this revision was seen.
    pub revision: i64,
    /// How long ago the index was compared with the books.
    pub age: Duration,
}

impl App {
    /// Waits until the stock in memory may be looked at; with a note where it is old.
    ///
    /// # Errors
    /// As for a question of what fits.
    pub(crate) async fn stock_is_known(&self, min_revision: i64) -> Result<Option<String>, Error> {
        fresh(self, min_revision).await.map(|(_, note)| note)
    }
}

/// Waits until the index may be answered from; with a note where it is old.
///
/// # Errors
/// [`Error::Unavailable`] while it is loaded, where `min_revision` is not reached in time, and
/// where it is older than the policy allows.
pub(super) async fn fresh(
    app: &App,
    min_revision: i64,
) -> Result<(Freshness, Option<String>), Error> {
    let stand = app.feed().stand();
    if !stand.is_ready {
        let description = format!(
            "the index is loading: {} of about {} pieces and lots; try again shortly",
            stand.rows,
            stand.expected.max(stand.rows)
        );
        return Err(Error::Unavailable { reason: "INDEX_LOADING", description });
    }
    if min_revision > 0 && !app.feed().wait_for(min_revision, WAIT_MAX).await {
        let description = format!(
            "revision {min_revision} of the stock was not seen within {} s; this is revision {}",
            WAIT_MAX.as_secs(),
            app.feed().stand().revision
        );
        return Err(Error::Unavailable { reason: "REVISION_NOT_REACHED", description });
    }
    let stand = app.feed().stand();
    let age = stand.age().unwrap_or_default();
    let policy = app.policy();
    let is_old = age > policy.index_age_max;
    let note = is_old.then(|| {
        format!(
            "the stock was last compared with the books {} s ago, more than the {} s allowed: what \
             was taken or came since is not in this answer",
            age.as_secs(),
            policy.index_age_max.as_secs()
        )
    });
    match note {
        Some(description) if policy.on_stale == OnStale::Refuse => {
            Err(Error::Unavailable { reason: "INDEX_STALE", description })
        }
        note => Ok((Freshness { revision: stand.revision, age }, note)),
    }
}
