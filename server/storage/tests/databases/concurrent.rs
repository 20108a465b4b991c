//! Goal: writers that meet wait for each other or are replayed; nobody sees an error of it, and
//! nothing is lost.

use crate::support::{TestDb, on_both};
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use tenths_domain::ids::{ItemId, LotId};
use tenths_domain::item::ItemKind;
use tenths_storage::{Item, Lot, NewRequest, StorageError, Store};

on_both!(
    sixteen_writers_lose_nothing,
    a_conflict_is_replayed_and_the_replays_are_bounded,
    the_same_request_at_once_has_one_effect,
);

/// Adds an item with one lot, `L-1`.
async fn with_a_lot(store: &Store) {
    let added: Result<(), StorageError> = store
        .write(|tx| {
            Box::pin(async move {
                let item = Item {
                    id: ItemId(0),
                    code: "BU-15".to_owned(),
                    kind: ItemKind::Bushing,
                    description: String::new(),
                    designation: String::new(),
                    material: None,
                    set: tenths_domain::substitution::SetSize::ONE,
                    no_substitute: false,
                    created_at: 1,
                    revision: 1,
                    features: Vec::new(),
                };
                let item = tx.insert_item(item).await?.id;
                let lot = Lot {
                    id: LotId(0),
                    tag: "L-1".to_owned(),
                    item,
                    date_code: String::new(),
                    unit_cost: None,
                    created_at: 1,
                    revision: 1,
                };
                tx.insert_lot(lot).await?;
                Ok(())
            })
        })
        .await;
    added.unwrap();
}

async fn revision(store: &Store) -> i64 {
    let lot: Result<Option<Lot>, StorageError> =
        store.read(|tx| Box::pin(async move { tx.lot_by_tag("L-1").await })).await;
    lot.unwrap().unwrap().revision
}

/// Method: 16 tasks over four stores of their own, as four processes would have, each read the lot's
/// version and then write the next, 25 times, a third of them after a pause inside the transaction.
/// No write may fail, and the version must have risen by every one of them.
async fn sixteen_writers_lose_nothing(db: TestDb) {
    let store = db.store().await;
    with_a_lot(&store).await;
    let stores = [store.clone(), db.store().await, db.store().await, db.store().await];
    let tasks: Vec<_> = (0..16)
        .map(|task| {
            let store = stores[task % stores.len()].clone();
            tokio::spawn(async move {
                for round in 0..25 {
                    let done: Result<(), StorageError> = store
                        .write(move |tx| {
                            Box::pin(async move {
                                let mut lot = tx.lot_by_tag("L-1").await?.unwrap();
                                if (task + round) % 3 == 0 {
                                    tokio::time::sleep(std::time::Duration::from_millis(1)).await;
                                }
                                tx.touch_lot(&mut lot).await
                            })
                        })
                        .await;
                    done.unwrap_or_else(|error| panic!("writer {task}, round {round}: {error:?}"));
                }
            })
        })
        .collect();
    for task in tasks {
        task.await.unwrap();
    }
    assert_eq!(revision(&store).await, 1 + 16 * 25);
    for store in stores {
        store.close().await;
    }
}

/// Method: a unit of work that says "conflict" a given number of times, after writing; it must be
/// called once more than that, its writes must be there once, and one that always conflicts must
/// come back with the conflict after a bounded number of calls.
async fn a_conflict_is_replayed_and_the_replays_are_bounded(db: TestDb) {
    let store = db.store().await;
    with_a_lot(&store).await;
    for (conflicts, calls_expected, risen) in [(0, 1, 1), (5, 6, 1), (u32::MAX, 12, 0)] {
        let before = revision(&store).await;
        let calls = Arc::new(AtomicU32::new(0));
        let counted = Arc::clone(&calls);
        let done: Result<(), StorageError> = store
            .write(move |tx| {
                let call = counted.fetch_add(1, Ordering::SeqCst);
                Box::pin(async move {
                    let mut lot = tx.lot_by_tag("L-1").await?.unwrap();
                    tx.touch_lot(&mut lot).await?;
                    if call < conflicts { Err(StorageError::Conflict(None)) } else { Ok(()) }
                })
            })
            .await;
        assert_eq!(done.is_ok(), risen == 1, "{done:?}");
        assert_eq!(calls.load(Ordering::SeqCst), calls_expected);
        assert_eq!(revision(&store).await, before + risen);
    }
    store.close().await;
}

/// Method: ten tasks look for the same request, find it not kept, act and keep it, all at the same
/// moment. One acts; the others are replayed and find its answer.
async fn the_same_request_at_once_has_one_effect(db: TestDb) {
    let store = db.store().await;
    let tasks: Vec<_> = (0..10)
        .map(|_| {
            let store = store.clone();
            tokio::spawn(async move {
                let answer: Result<Vec<u8>, StorageError> = store
                    .write(|tx| {
                        Box::pin(async move {
                            if let Some(earlier) = tx.earlier_request("q-1").await? {
                                return Ok(earlier.answer);
                            }
                            tokio::time::sleep(std::time::Duration::from_millis(5)).await;
                            let answer = tx.next_number("P").await?.to_string().into_bytes();
                            tx.keep_request(NewRequest {
                                request_id: "q-1".to_owned(),
                                method: "Receive".to_owned(),
                                person: "Mara".to_owned(),
                                fingerprint: vec![1, 2],
                                answer: answer.clone(),
                                created_at: 1,
                            })
                            .await?;
                            Ok(answer)
                        })
                    })
                    .await;
                answer.unwrap()
            })
        })
        .collect();
    for task in tasks {
        assert_eq!(task.await.unwrap(), b"1");
    }
    let next: Result<i64, StorageError> =
        store.write(|tx| Box::pin(async move { tx.next_number("P").await })).await;
    assert_eq!(next.unwrap(), 2, "only one of the ten counted");
    store.close().await;
}
