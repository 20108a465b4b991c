//! Use cases: load, ask the domain, save in one transaction.
//!
//! Nothing here knows the wire; nothing here knows a table. A use case is a function that takes an
//! [`Act`] (or, to read, a [`View`]) and a command of domain types.

pub mod act;
pub mod assembly;
mod assessment_traces;
pub mod catalogue;
pub mod error;
pub mod finding;
pub mod fits;
pub mod holds;
pub mod index;
pub mod judging;
mod lookup;
pub mod measuring;
pub mod pair;
pub mod planning;
pub mod policies;
mod reading_traces;
pub mod rebuilds;
pub mod receiving;
pub mod reconditioning;
pub mod repairs;
mod speech;
pub mod standards;
pub mod stock;
pub mod trace;
pub mod transfer;
pub mod views;

pub use act::{Act, Request, View};
pub use error::{Error, Obstacle, Violation};

use std::sync::Arc;
use tenths_storage::{NewRequest, Store, Tx, Work};

/// Where the time comes from, in Unix microseconds UTC.
#[derive(Clone)]
pub struct Clock(Arc<dyn Fn() -> i64 + Send + Sync>);

impl Clock {
    /// The machine's clock.
    pub fn system() -> Self {
        Clock::from_fn(|| {
            let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
            since.map_or(0, |since| i64::try_from(since.as_micros()).unwrap_or(i64::MAX))
        })
    }

    /// A clock of the caller's, for tests.
    pub fn from_fn(now: impl Fn() -> i64 + Send + Sync + 'static) -> Self {
        Clock(Arc::new(now))
    }

    /// The time now.
    pub fn now(&self) -> i64 {
        (self.0)()
    }
}

/// The use cases over one database.
#[derive(Clone)]
pub struct App {
    store: Store,
    clock: Clock,
    feed: Arc<finding::Feed>,
    policy: finding::Policy,
}

impl App {
    /// Use cases over `store`, with the time of `clock`.
    pub fn new(store: Store, clock: Clock) -> Self {
        App { store, clock, feed: Arc::default(), policy: finding::Policy::default() }
    }

    /// The same use cases under another policy of finding.
    #[must_use]
    pub fn with_policy(self, policy: finding::Policy) -> Self {
        App { policy, ..self }
    }

    /// What the shop decided about finding.
    pub const fn policy(&self) -> finding::Policy {
        self.policy
    }

    /// The stock in memory, as questions look at it.
    pub const fn feed(&self) -> &Arc<finding::Feed> {
        &self.feed
    }

    /// Compares the stock in memory with the books.
    ///
    /// # Errors
    /// A database that does not answer; what is in memory stays.
    pub async fn look_at_stock(&self) -> Result<(), Error> {
        self.feed.look(&self.store, self.clock.now()).await
    }

    /// Does something once, however often it is asked with the same `request_id`, and answers with
    /// the encoded answer and the revision of the stock that has it. The effect, the answer and the request are saved together.
    ///
    /// # Errors
    /// What the use case answers (nothing is saved then); [`Error::Invalid`] if the id was used for
    /// another request.
    pub async fn once<F>(&self, request: Request, work: F) -> Result<Answered, Error>
    where
        F: for<'a> Fn(&'a Act<'a>) -> Work<'a, Vec<u8>, Error> + Send + Sync + 'static,
    {
        let now = self.clock.now();
        let work = Arc::new(work);
        self.store
            .write(move |tx| {
                let (request, work) = (request.clone(), Arc::clone(&work));
                Box::pin(async move { answer_once(tx, &request, now, &*work).await })
            })
            .await
    }

    /// Reads within one snapshot.
    ///
    /// # Errors
    /// What the use case answers.
    pub async fn read<T, F>(&self, work: F) -> Result<T, Error>
    where
        T: Send + 'static,
        F: for<'a> FnOnce(View<'a>) -> Work<'a, T, Error> + Send + 'static,
    {
        let now = self.clock.now();
        self.store.read(move |tx| work(View { tx, now })).await
    }

    /// Ends holds that ran out; answers with how many.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn expire_due(&self) -> Result<usize, Error> {
        let now = self.clock.now();
        self.store.write(move |tx| Box::pin(holds::expire_lapsed(tx, now))).await
    }

    /// Removes old rows of the feed of changes but the newest `keep`; answers with how many went. A
    /// server that has not seen them, this one or another, loads its stock anew.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn trim_changes(&self, keep: u64) -> Result<u64, Error> {
        let mut gone = 0;
        loop {
            let trimmed: Result<u64, Error> = self
                .store
                .write(move |tx| Box::pin(async move { Ok(tx.trim_changes(keep).await?) }))
                .await;
            match trimmed? {
                0 => return Ok(gone),
                // SQLite removes only so many at a time, and lets other writers in between.
                more => gone += more,
            }
        }
    }

    /// The time now, in Unix microseconds.
    pub fn now(&self) -> i64 {
        self.clock.now()
    }

    /// The database, for whole-table work that is not one use case.
    pub(crate) fn store(&self) -> &Store {
        &self.store
    }
}

/// What a mutation is answered with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answered {
    /// The encoded answer.
    pub answer: Vec<u8>,
    /// A reader of the stock who has seen this revision has seen the effect.
    pub revision: i64,
}

async fn answer_once<F>(tx: &Tx, request: &Request, now: i64, work: &F) -> Result<Answered, Error>
where
    F: for<'b> Fn(&'b Act<'b>) -> Work<'b, Vec<u8>, Error>,
{
    if let Some(answer) = act::earlier_answer(tx, request).await? {
        return Ok(Answered { answer, revision: tx.revision().await? });
    }
    let act = Act { tx, now, person: &request.person, request_id: &request.request_id };
    let answer = work(&act).await?;
    tx.keep_request(NewRequest {
        request_id: request.request_id.clone(),
        method: request.method.to_owned(),
        person: request.person.clone(),
        fingerprint: request.fingerprint.to_vec(),
        answer: answer.clone(),
        created_at: now,
    })
    .await?;
    Ok(Answered { answer, revision: tx.revision().await? })
}
