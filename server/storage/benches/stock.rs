//! What the feed of changes costs an import, and how fast the stock is loaded for the index.
//!
//! Prints, for SQLite and for the PostgreSQL server that `TENTHS_TEST_POSTGRES` names: an import of
//! lots and of pieces without and with the triggers of the feed, loading them, one poll of the feed
//! that finds all of them and one that finds nothing. Run:
//! `cargo bench -p tenths-storage --bench stock -- [rows]` (100,000 unless said otherwise).
#![allow(clippy::unwrap_used, reason = "a bench may fail")]
#![allow(clippy::print_stdout, reason = "printing is what it is for")]
#![allow(dead_code, unused_macros, unused_imports, reason = "the tests use more of their support")]

use std::time::{Duration, Instant};
use support::{Kind, TestDb};
use tenths_domain::ids::{ItemId, LocationId, LotId, PieceId};
use tenths_domain::item::{Feature, FeatureKind, ItemKind, Tolerance};
use tenths_domain::state::{BuiltUp, LedgerReason, LocationKind, PieceCondition, PieceState};
use tenths_domain::units::{Length, Unit};
use tenths_storage::{
    ChangeCursor, Changes, Item, ItemFeature, LedgerSubject, Location, Lot, LotStock,
    NewLedgerEntry, Piece, PieceSize, StorageError, Store, Tx,
};

#[path = "../tests/databases/raw.rs"]
mod raw;
#[path = "../tests/support/mod.rs"]
mod support;

const ROWS: i64 = 100_000;
/// Rows to a statement, as the import of the server has them.
const BATCH: i64 = 500;
/// Rows to a page when loading.
const PAGE: u64 = 10_000;

#[tokio::main]
async fn main() {
    let rows = std::env::args().find_map(|word| word.parse().ok()).unwrap_or(ROWS);
    println!("{rows} lots and {rows} pieces with two measured features each");
    for kind in [Kind::Sqlite, Kind::Postgres] {
        for with_feed in [false, true] {
            let Some(db) = TestDb::create(kind) else { continue };
            measure(&db, rows, with_feed).await;
        }
    }
}

async fn measure(db: &TestDb, rows: i64, with_feed: bool) {
    let store = db.store().await;
    if !with_feed {
        silence(db).await;
    }
    let features = catalogue(&store).await;
    let start = cursor(&store).await;
    let word = if with_feed { "with the feed" } else { "without the feed" };
    let line = |what: &str, took: Duration| {
        println!("{:?} {word}: {what}: {:.0} ms", db.kind(), took.as_secs_f64() * 1e3);
    };
    let began = Instant::now();
    import_lots(&store, rows).await;
    line("import of lots", began.elapsed());
    let began = Instant::now();
    import_pieces(&store, rows, features).await;
    line("import of pieces", began.elapsed());
    if with_feed {
        let began = Instant::now();
        assert_eq!(load_lots(&store).await, rows);
        line("loading lots", began.elapsed());
        let began = Instant::now();
        assert_eq!(load_pieces(&store).await, rows);
        line("loading pieces", began.elapsed());
        let began = Instant::now();
        let (found, end) = poll(&store, &start).await;
        line(&format!("a poll that finds {found} subjects"), began.elapsed());
        let began = Instant::now();
        for _ in 0..100 {
            poll(&store, &end).await;
        }
        line("a poll that finds nothing", began.elapsed() / 100);
    }
    store.close().await;
}

/// Takes the triggers of the feed away.
async fn silence(db: &TestDb) {
    let raw = raw::Raw::connect(db).await;
    let list = match db.kind() {
        Kind::Sqlite => {
            "SELECT 'DROP TRIGGER ' || name FROM sqlite_master
             WHERE type = 'trigger' AND name LIKE '%\\_changed\\_by\\_%' ESCAPE '\\'"
        }
        Kind::Postgres => {
            "SELECT 'DROP TRIGGER ' || tgname || ' ON ' || tgrelid::regclass FROM pg_trigger
             WHERE tgname LIKE '%\\_changed\\_by\\_%'"
        }
    };
    let triggers = raw.column(list).await;
    assert!(triggers.len() > 20, "{triggers:?}");
    for drop in triggers {
        raw.run(&drop).await.unwrap();
    }
    raw.close().await;
}

async fn cursor(store: &Store) -> ChangeCursor {
    let cursor: Result<_, StorageError> =
        store.read(|tx| Box::pin(async move { tx.change_cursor().await })).await;
    cursor.unwrap()
}

async fn poll(store: &Store, cursor: &ChangeCursor) -> (usize, ChangeCursor) {
    let cursor = cursor.clone();
    let changes: Result<_, StorageError> = store
        .read(move |tx| Box::pin(async move { tx.changes_after(&cursor, usize::MAX).await }))
        .await;
    match changes.unwrap() {
        Changes::Since { subjects, cursor } => (subjects.len(), cursor),
        Changes::Reload { .. } => panic!("nothing was trimmed"),
    }
}

/// Loads every lot in one read; answers with how many they are.
async fn load_lots(store: &Store) -> i64 {
    let loaded: Result<usize, StorageError> = store
        .read(|tx| {
            Box::pin(async move {
                let (mut count, mut after) = (0, Some(LotId(0)));
                while let Some(last) = after {
                    let page = tx.stocked_lots_after(last, PAGE).await?;
                    assert!(page.iter().all(|lot| lot.stock.len() == 1));
                    count += page.len();
                    after = page.last().map(|lot| lot.id);
                }
                Ok(count)
            })
        })
        .await;
    i64::try_from(loaded.unwrap()).unwrap()
}

/// The same for pieces.
async fn load_pieces(store: &Store) -> i64 {
    let loaded: Result<usize, StorageError> = store
        .read(|tx| {
            Box::pin(async move {
                let (mut count, mut after) = (0, Some(PieceId(0)));
                while let Some(last) = after {
                    let page = tx.stocked_pieces_after(last, PAGE).await?;
                    assert!(page.iter().all(|piece| piece.sizes.len() == 2));
                    count += page.len();
                    after = page.last().map(|piece| piece.id);
                }
                Ok(count)
            })
        })
        .await;
    i64::try_from(loaded.unwrap()).unwrap()
}

/// One item with two features, one shelf.
async fn catalogue(store: &Store) -> [tenths_domain::ids::FeatureId; 2] {
    let features: Result<_, StorageError> = store
        .write(|tx| {
            Box::pin(async move {
                let shelf = Location {
                    id: LocationId(0),
                    code: "A-01".to_owned(),
                    kind: LocationKind::Shelf,
                    description: String::new(),
                    created_at: 1,
                };
                tx.insert_location(shelf).await?;
                let item = tx.insert_item(shaft()).await?;
                Ok([item.features[0].id, item.features[1].id])
            })
        })
        .await;
    features.unwrap()
}

fn shaft() -> Item {
    let feature = |name: &str, kind| ItemFeature {
        id: tenths_domain::ids::FeatureId(0),
        nominal_text: "30".to_owned(),
        nominal_unit: Unit::Millimetre,
        feature: Feature {
            name: name.to_owned(),
            kind,
            nominal: Length::from_nm(30_000_000),
            tolerance: Tolerance::None,
            wear_limit: None,
            recondition_limit: None,
            out_of_round_limit: None,
            taper_limit: None,
            reference_station: None,
            limit_source: String::new(),
        },
    };
    Item {
        id: ItemId(0),
        code: "SH-30".to_owned(),
        kind: ItemKind::Shaft,
        description: String::new(),
        designation: String::new(),
        material: None,
        set: tenths_domain::substitution::SetSize::ONE,
        no_substitute: false,
        created_at: 1,
        revision: 1,
        features: vec![
            feature("seat", FeatureKind::RollingSeat),
            feature("journal", FeatureKind::Journal),
        ],
    }
}

async fn import_lots(store: &Store, rows: i64) {
    let done: Result<(), StorageError> = store
        .write(move |tx| {
            Box::pin(async move {
                for first in (0..rows).step_by(usize::try_from(BATCH).unwrap()) {
                    let numbers = first..(first + BATCH).min(rows);
                    let new: Vec<Lot> = numbers.map(lot).collect();
                    let mut ids: Vec<LotId> = tx.insert_lots(&new).await?.into_values().collect();
                    ids.sort_unstable();
                    let stock = |id: &LotId| LotStock {
                        lot: *id,
                        location: LocationId(1),
                        on_hand: 5,
                        held: 0,
                    };
                    tx.insert_lot_stock(&ids.iter().map(stock).collect::<Vec<_>>()).await?;
                    received(tx, ids.into_iter().map(LedgerSubject::Lot), 5).await?;
                }
                Ok(())
            })
        })
        .await;
    done.unwrap();
}

async fn import_pieces(store: &Store, rows: i64, features: [tenths_domain::ids::FeatureId; 2]) {
    let done: Result<(), StorageError> = store
        .write(move |tx| {
            Box::pin(async move {
                for first in (0..rows).step_by(usize::try_from(BATCH).unwrap()) {
                    let numbers = first..(first + BATCH).min(rows);
                    let new: Vec<Piece> = numbers.map(piece).collect();
                    let mut ids: Vec<PieceId> =
                        tx.insert_pieces(&new).await?.into_values().collect();
                    ids.sort_unstable();
                    let sizes = ids.iter().flat_map(|id| {
                        features.map(|feature| {
                            let size = Some(Length::from_nm(30_000_000 + id.0 % 20_000));
                            PieceSize {
                                min: size,
                                max: size,
                                uncertainty: Some(Length::from_nm(1_500)),
                                reading_count: 2,
                                ..PieceSize::unmeasured(*id, feature)
                            }
                        })
                    });
                    tx.insert_piece_sizes(&sizes.collect::<Vec<_>>()).await?;
                    received(tx, ids.into_iter().map(LedgerSubject::Piece), 1).await?;
                }
                Ok(())
            })
        })
        .await;
    done.unwrap();
}

fn lot(number: i64) -> Lot {
    Lot {
        id: LotId(0),
        tag: format!("L-{number}"),
        item: ItemId(1),
        date_code: "2026-01".to_owned(),
        unit_cost: None,
        created_at: 1,
        revision: 1,
    }
}

fn piece(number: i64) -> Piece {
    Piece {
        id: PieceId(0),
        tag: format!("P-{number}"),
        item: ItemId(1),
        core: None,
        state: PieceState::InStock,
        condition: PieceCondition::Used,
        location: Some(LocationId(1)),
        rebuild: None,
        material: None,
        hardness: String::new(),
        built_up: BuiltUp::No,
        note: String::new(),
        created_at: 1,
        revision: 1,
    }
}

async fn received(
    tx: &Tx,
    subjects: impl Iterator<Item = LedgerSubject>,
    quantity: i64,
) -> Result<(), StorageError> {
    let entries = subjects.map(|subject| NewLedgerEntry {
        created_at: 1,
        person: "Mara".to_owned(),
        reason: LedgerReason::Receive,
        subject,
        location: LocationId(1),
        quantity_delta: quantity,
        rebuild: None,
        note: String::new(),
        request_id: "q1".to_owned(),
    });
    tx.write_ledger_bulk(&entries.collect::<Vec<_>>()).await
}
