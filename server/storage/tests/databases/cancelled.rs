//! Goal: a caller that goes away in the middle of a write, or a unit of work that panics, leaves no
//! open transaction behind.

use crate::raw::Raw;
use crate::support::{Kind, TestDb, on_both};
use std::time::{Duration, Instant};
use tenths_storage::{StorageError, Store};

on_both!(
    dropped_writes_leave_no_open_transaction,
    dropped_reads_leave_no_open_transaction,
    a_panic_leaves_no_open_transaction,
);

/// How many callers go away.
const DROPS: u64 = 400;

/// A small generator of numbers that look random and are the same in every run (an LCG).
#[derive(Clone, Debug)]
struct Numbers(u64);

impl Numbers {
    /// The next number below `bound`.
    fn below(&mut self, bound: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963);
        (self.0 >> 33) % bound
    }
}

async fn count_once(store: Store, name: &'static str) -> Result<i64, StorageError> {
    store.write(move |tx| Box::pin(async move { tx.next_number(name).await })).await
}

/// No transaction may stay open: the count of open ones must come down to none by itself. On SQLite
/// an open one is a writer that waits in vain, which the next write shows.
async fn assert_none_open(db: &TestDb, raw: &Raw) {
    if db.kind() == Kind::Sqlite {
        return;
    }
    let started = Instant::now();
    while raw.number(OPEN_TRANSACTIONS).await > 0 {
        assert!(started.elapsed() < Duration::from_secs(2), "a transaction stays open");
        tokio::time::sleep(Duration::from_millis(1)).await;
    }
}

const OPEN_TRANSACTIONS: &str = "SELECT COUNT(*) FROM pg_stat_activity
    WHERE datname = current_database() AND pid <> pg_backend_pid() AND xact_start IS NOT NULL";

/// Writes at once, over every connection, must each be committed and seen from another connection.
async fn assert_writes_are_committed(store: &Store, raw: &Raw) {
    for _ in 0..8 {
        let writes: Vec<_> =
            (0..8).map(|_| tokio::spawn(count_once(store.clone(), "after"))).collect();
        let mut largest = 0;
        for write in writes {
            largest = largest.max(write.await.unwrap().unwrap());
        }
        let seen = raw.number("SELECT next FROM counters WHERE name = 'after'").await;
        assert_eq!(seen, largest, "a committed write is not to be seen from outside");
    }
}

/// Lets a future run for a time, then drops it; answers with whether it was dropped. It spins,
/// because a BEGIN is under way for microseconds and the runtime's clock ticks in milliseconds.
async fn dropped_after<F: Future>(future: F, budget: Duration) -> bool {
    let started = Instant::now();
    let spin = async {
        while started.elapsed() < budget {
            tokio::task::yield_now().await;
        }
    };
    let (future, spin) = (std::pin::pin!(future), std::pin::pin!(spin));
    tokio::select! {
        biased;
        _ = future => false,
        () = spin => true,
    }
}

/// Drops futures made by `make` at random points, four at once, until [`DROPS`] were dropped before
/// their end; after every four, no transaction may be open.
async fn drop_many<M, F>(db: &TestDb, raw: &Raw, make: M) -> u64
where
    M: Fn() -> F,
    F: Future<Output = ()> + Send + 'static,
{
    // How long four take beside each other, the connections made.
    let mut whole = Duration::ZERO;
    for _ in 0..4 {
        let started = Instant::now();
        let callers: Vec<_> =
            (0..4).map(|_| tokio::spawn(dropped_after(make(), Duration::from_secs(5)))).collect();
        for caller in callers {
            assert!(!caller.await.unwrap(), "one alone takes five seconds");
        }
        whole = started.elapsed();
    }
    let whole = u64::try_from(whole.as_micros()).unwrap();
    let (mut numbers, mut dropped) = (Numbers(7), 0);
    while dropped < DROPS {
        let callers: Vec<_> = (0..4)
            .map(|_| {
                let budget = Duration::from_micros(numbers.below(whole));
                tokio::spawn(dropped_after(make(), budget))
            })
            .collect();
        for caller in callers {
            dropped += u64::from(caller.await.unwrap());
        }
        assert_none_open(db, raw).await;
    }
    eprintln!("{:?}: {dropped} dropped, {whole} us for four when let alone", db.kind());
    dropped
}

/// Method: drop `store.write(..)` futures at random points of a write, from before BEGIN to after
/// COMMIT.
async fn dropped_writes_leave_no_open_transaction(db: TestDb) {
    let store = db.store().await;
    let raw = Raw::connect(&db).await;
    let write = || {
        let store = store.clone();
        async move {
            count_once(store, "dropped").await.unwrap();
        }
    };
    assert!(drop_many(&db, &raw, write).await >= DROPS);
    assert_writes_are_committed(&store, &raw).await;
    raw.close().await;
    store.close().await;
}

/// Method: the same with `store.read(..)`.
async fn dropped_reads_leave_no_open_transaction(db: TestDb) {
    let store = db.store().await;
    let raw = Raw::connect(&db).await;
    let read = || {
        let store = store.clone();
        async move {
            let found: Result<_, StorageError> =
                store.read(|tx| Box::pin(async move { tx.earlier_request("q-1").await })).await;
            found.unwrap();
        }
    };
    assert!(drop_many(&db, &raw, read).await >= DROPS);
    assert_writes_are_committed(&store, &raw).await;
    raw.close().await;
    store.close().await;
}

/// Method: 24 units of work panic after they wrote; the panic reaches the caller, nothing of it is
/// saved, and the connections are as good as before.
async fn a_panic_leaves_no_open_transaction(db: TestDb) {
    let store = db.store().await;
    count_once(store.clone(), "P").await.unwrap();
    for _ in 0..24 {
        let store = store.clone();
        let panicked = tokio::spawn(async move {
            let done: Result<(), StorageError> = store
                .write(|tx| {
                    Box::pin(async move {
                        tx.next_number("P").await?;
                        panic!("on purpose")
                    })
                })
                .await;
            done
        });
        assert!(panicked.await.unwrap_err().is_panic());
    }
    assert_eq!(count_once(store.clone(), "P").await.unwrap(), 2);
    let raw = Raw::connect(&db).await;
    assert_none_open(&db, &raw).await;
    assert_writes_are_committed(&store, &raw).await;
    raw.close().await;
    store.close().await;
}
