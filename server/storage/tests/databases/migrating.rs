//! Goal: the schema can be made, unmade and made again, by any number of processes at once.

use crate::raw::Raw;
use crate::schema;
use crate::support::{TestDb, on_both};
use tenths_storage::Store;

on_both!(up_down_up_makes_the_same_schema, processes_that_migrate_at_once_all_succeed);

/// Method: migrate up, down and up, and compare the whole schema as the database describes it.
async fn up_down_up_makes_the_same_schema(db: TestDb) {
    let store = Store::open(db.url()).await.unwrap();
    let steps = store.pending_migrations().await.unwrap();
    assert!(steps > 0);
    store.migrate().await.unwrap();
    assert_eq!(store.pending_migrations().await.unwrap(), 0);
    let raw = Raw::connect(&db).await;
    let first = schema::described(&raw, db.kind()).await;
    assert!(first.contains("reservations_one_active_per_piece"), "{first}");

    store.migrate_down().await.unwrap();
    assert_eq!(store.pending_migrations().await.unwrap(), steps);
    let nothing = schema::described(&raw, db.kind()).await;
    for word in ["ledger", "pieces", "refuse_change"] {
        assert!(!nothing.contains(word), "{word} is left: {nothing}");
    }

    store.migrate().await.unwrap();
    assert_eq!(schema::described(&raw, db.kind()).await, first);
    // Nothing pending is not an error either.
    store.migrate().await.unwrap();
    raw.close().await;
    store.close().await;
}

/// Method: four stores of their own on one empty database migrate at the same moment, five times
/// over; each must succeed, and the schema must be there once.
async fn processes_that_migrate_at_once_all_succeed(first: TestDb) {
    migrate_at_once(&first).await;
    for _ in 0..4 {
        migrate_at_once(&TestDb::create(first.kind()).unwrap()).await;
    }
}

async fn migrate_at_once(db: &TestDb) {
    // The SQLite file and its journal mode are there before anybody races; nothing else is.
    Store::open(db.url()).await.unwrap().close().await;
    let one = || async {
        let store = Store::open(db.url()).await.unwrap();
        let done = store.migrate().await;
        let pending = store.pending_migrations().await;
        store.close().await;
        done.map(|()| pending.unwrap())
    };
    let (a, b, c, d) = tokio::join!(one(), one(), one(), one());
    for done in [a, b, c, d] {
        assert_eq!(done.unwrap(), 0);
    }
    let raw = Raw::connect(db).await;
    let twice = "SELECT COUNT(*) - COUNT(DISTINCT version) FROM seaql_migrations";
    assert_eq!(raw.number(twice).await, 0, "a step is recorded twice");
    raw.close().await;
}
