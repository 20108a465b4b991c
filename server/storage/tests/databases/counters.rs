//! Goal: tags are counted without gaps and without doubles, alike on both databases.

use crate::support::{TestDb, on_both};
use std::collections::BTreeSet;
use tenths_storage::{StorageError, Store};

on_both!(
    a_counter_counts_up_and_jumps_over_what_was_used,
    one_and_many_are_counted_by_one_connection,
    writers_at_once_get_every_number_once,
);

async fn next(store: &Store, name: &'static str) -> i64 {
    store
        .write(move |tx| Box::pin(async move { tx.next_number(name).await }))
        .await
        .unwrap_or_else(|error: StorageError| panic!("{error}"))
}

async fn raise(store: &Store, used: i64) {
    store
        .write(move |tx| Box::pin(async move { tx.raise_number("P", used).await }))
        .await
        .unwrap_or_else(|error: StorageError| panic!("{error}"))
}

/// Method: count, raise, roll back, and look at the next number after each.
async fn a_counter_counts_up_and_jumps_over_what_was_used(db: TestDb) {
    let store = db.store().await;
    assert_eq!([next(&store, "P").await, next(&store, "P").await], [1, 2]);
    assert_eq!(next(&store, "L").await, 1);
    raise(&store, 41).await;
    assert_eq!(next(&store, "P").await, 42);
    raise(&store, 7).await;
    assert_eq!(next(&store, "P").await, 43);
    let refused: Result<(), StorageError> = store
        .write(|tx| {
            Box::pin(async move {
                assert_eq!(tx.next_number("P").await?, 44);
                Err(StorageError::Duplicate("on purpose".to_owned()))
            })
        })
        .await;
    assert!(matches!(refused, Err(StorageError::Duplicate(_))), "{refused:?}");
    assert_eq!(next(&store, "P").await, 44, "a number that was rolled back is given again");
    store.close().await;
}

/// Method: 16 tasks take 20 numbers each; together they must be 1 to 320.
async fn writers_at_once_get_every_number_once(db: TestDb) {
    let store = db.store().await;
    let tasks: Vec<_> = (0..16)
        .map(|_| {
            let store = store.clone();
            tokio::spawn(async move {
                let mut numbers = Vec::new();
                for _ in 0..20 {
                    numbers.push(next(&store, "P").await);
                }
                numbers
            })
        })
        .collect();
    let mut all = BTreeSet::new();
    for task in tasks {
        for number in task.await.unwrap() {
            assert!(all.insert(number), "{number} was given twice");
        }
    }
    assert_eq!(all, (1..=320).collect());
    store.close().await;
}

/// Method: one transaction, so one connection, takes one number, then many, then one: the text of
/// both statements is the same, and a connection prepares it once.
async fn one_and_many_are_counted_by_one_connection(db: TestDb) {
    let store = db.store().await;
    let taken: Result<_, StorageError> = store
        .write(|tx| {
            Box::pin(async move {
                let one = tx.next_number("P").await?;
                let many = tx.next_numbers("P", 10).await?;
                Ok([one, many, tx.next_number("P").await?])
            })
        })
        .await;
    assert_eq!(taken.unwrap(), [1, 2, 12]);
    store.close().await;
}
