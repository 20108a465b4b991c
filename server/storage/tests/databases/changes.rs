//! Goal: whoever reads the feed of changes learns of every change, once it is committed, and is told
//! if it cannot.

mod rows;

use crate::policies;
use crate::raw::Raw;
use crate::support::{Kind, TestDb, on_both};
use crate::used_shop::{self, NOW};
use rows::{item, lot, piece};
use std::collections::BTreeSet;
use std::sync::Arc;
use tenths_domain::disposition::Disposition;
use tenths_domain::ids::{
    FeatureId, GaugeId, ItemId, JobId, LocationId, LotId, PieceId, ReadingId, SendOutId,
};
use tenths_domain::item::FeatureKind;
use tenths_domain::route::{Machine, single};
use tenths_domain::state::{GaugeState, LedgerReason, Method, SendOutLineState};
use tenths_storage::SubjectKind::{Gauge, Item, Location, Lot, Piece};
use tenths_storage::{
    ChangeCursor, Changes, Decision, LedgerSubject, LotStock, NewLedgerEntry, NewRequest, Page,
    PieceSize, ReadingVoid, StorageError, Store, SubjectKind, TouchedStock, Tx, Work,
};
use tokio::sync::Notify;

on_both!(
    every_act_of_the_storage_is_in_the_feed,
    every_act_of_raw_sql_is_in_the_feed,
    a_refused_write_is_not_in_the_feed,
    who_commits_late_is_not_skipped,
    the_revision_never_falls_and_the_reader_passes_it,
    a_reader_that_was_overtaken_by_trimming_is_told,
    a_reader_that_missed_too_much_is_told,
    many_pages_are_read_by_one_call,
    stock_that_is_touched_is_named,
);

/// One subject.
type Subject = (SubjectKind, i64);

async fn here(store: &Store) -> ChangeCursor {
    let cursor: Result<_, StorageError> =
        store.read(|tx| Box::pin(async move { tx.change_cursor().await })).await;
    cursor.unwrap()
}

async fn after(store: &Store, cursor: &ChangeCursor) -> Changes {
    after_limited(store, cursor, 1_000_000).await
}

async fn after_limited(store: &Store, cursor: &ChangeCursor, limit: usize) -> Changes {
    let cursor = cursor.clone();
    let changes: Result<_, StorageError> =
        store.read(move |tx| Box::pin(async move { tx.changes_after(&cursor, limit).await })).await;
    changes.unwrap()
}

/// The subjects since `cursor`, which moves on.
async fn since(store: &Store, cursor: &mut ChangeCursor) -> Vec<Subject> {
    match after(store, cursor).await {
        Changes::Since { subjects, cursor: next } => {
            *cursor = next;
            subjects
        }
        Changes::Reload { .. } => panic!("told to load anew"),
    }
}

/// An act of the storage and the subjects that the feed must name after it.
struct Case {
    method: &'static str,
    subjects: &'static [Subject],
    act: for<'a> fn(&'a Tx) -> Work<'a, (), StorageError>,
}

macro_rules! case {
    ($method:ident, [$($subject:expr),*], |$tx:ident| $act:expr) => {
        Case {
            method: stringify!($method),
            subjects: &[$($subject),*],
            act: |$tx| Box::pin(async move { $act; Ok(()) }),
        }
    };
}

/// Every method that changes something, in the shop of [`used_shop`]; each sees what those before it
/// left. Numbers of new rows follow those that the shop has.
const CASES: &[Case] = &[
    case!(next_number, [], |tx| tx.next_number("P").await?),
    case!(next_numbers, [], |tx| tx.next_numbers("P", 3).await?),
    case!(raise_number, [], |tx| tx.raise_number("P", 90).await?),
    case!(keep_request, [], |tx| tx.keep_request(request()).await?),
    case!(insert_item, [(Item, 3)], |tx| tx.insert_item(item(tx, "A").await?).await?),
    case!(insert_items, [(Item, 4)], |tx| tx.insert_items(&[&item(tx, "B").await?]).await?),
    case!(insert_features, [(Item, 2)], |tx| {
        let shaft = item(tx, "").await?;
        tx.insert_features(&[(ItemId(2), &shaft.features[0])]).await?;
    }),
    case!(save_item, [(Item, 1)], |tx| {
        tx.save_item(&mut tx.item_by_code("SH-30").await?.unwrap()).await?;
    }),
    case!(save_feature, [(Item, 1)], |tx| {
        let shaft = tx.item_by_code("SH-30").await?.unwrap();
        tx.save_feature(shaft.id, &shaft.features[0]).await?;
    }),
    case!(touch_items, [(Item, 1), (Item, 2)], |tx| {
        tx.touch_items(&[ItemId(1), ItemId(2)]).await?;
    }),
    case!(insert_location, [(Location, 4)], |tx| {
        let mut shelf = tx.location_by_code("A-01").await?.unwrap();
        shelf.code = "A-03".to_owned();
        tx.insert_location(shelf).await?;
    }),
    case!(insert_gauge, [(Gauge, 2)], |tx| {
        let mut gauge = tx.gauge_by_tag("M-07").await?.unwrap();
        gauge.tag = "M-08".to_owned();
        tx.insert_gauge(gauge).await?;
    }),
    case!(save_gauge, [(Gauge, 1)], |tx| {
        let mut gauge = tx.gauge_by_tag("M-07").await?.unwrap();
        gauge.state = GaugeState::FoundWrong;
        tx.save_gauge(&mut gauge).await?;
    }),
    case!(insert_core, [], |tx| {
        let mut core = tx.core_by_tag("C-1").await?.unwrap();
        core.tag = "C-3".to_owned();
        tx.insert_core(core).await?;
    }),
    case!(save_core, [], |tx| tx.save_core(&mut tx.core_by_tag("C-1").await?.unwrap()).await?),
    case!(insert_piece, [(Piece, 6)], |tx| tx.insert_piece(piece(tx, "P-6").await?).await?),
    case!(insert_pieces, [(Piece, 7), (Piece, 8)], |tx| {
        tx.insert_pieces(&[piece(tx, "P-7").await?, piece(tx, "P-8").await?]).await?;
    }),
    case!(save_piece, [(Piece, 1)], |tx| {
        tx.save_piece(&mut tx.piece_by_tag("P-1").await?.unwrap()).await?;
    }),
    case!(save_piece_size, [(Piece, 6)], |tx| {
        tx.save_piece_size(&PieceSize::unmeasured(PieceId(6), FeatureId(1))).await?;
        let again = tx.piece_size(PieceId(6), FeatureId(1)).await?;
        tx.save_piece_size(&again).await?;
    }),
    case!(insert_piece_sizes, [(Piece, 7), (Piece, 8)], |tx| {
        let size = |piece| PieceSize::unmeasured(PieceId(piece), FeatureId(1));
        tx.insert_piece_sizes(&[size(7), size(8)]).await?;
    }),
    case!(insert_readings, [(Piece, 1)], |tx| {
        tx.insert_readings(tx.readings_by_ids(&[1, 2]).await?).await?;
    }),
    case!(insert_readings_bulk, [(Piece, 2)], |tx| {
        tx.insert_readings_bulk(&tx.readings_by_ids(&[5]).await?).await?;
    }),
    case!(void_reading, [(Piece, 2)], |tx| tx.void_reading(ReadingId(5), &void()).await?),
    case!(insert_lot, [(Lot, 2)], |tx| tx.insert_lot(lot(tx, "L-2").await?).await?),
    case!(insert_lots, [(Lot, 3), (Lot, 4)], |tx| {
        tx.insert_lots(&[lot(tx, "L-3").await?, lot(tx, "L-4").await?]).await?;
    }),
    case!(touch_lot, [(Lot, 1)], |tx| {
        tx.touch_lot(&mut tx.lot_by_tag("L-1").await?.unwrap()).await?;
    }),
    case!(change_lot_stock, [(Lot, 1)], |tx| {
        tx.change_lot_stock(LotId(1), LocationId(2), 2, 1).await?;
    }),
    case!(insert_lot_stock, [(Lot, 2), (Lot, 3)], |tx| {
        let some = |lot| LotStock { lot, location: LocationId(2), on_hand: 4, held: 0 };
        tx.insert_lot_stock(&[some(LotId(2)), some(LotId(3))]).await?;
    }),
    case!(insert_reservation, [(Piece, 6), (Lot, 1)], |tx| {
        let mut hold = tx.reservation_by_tag("H-1").await?.unwrap();
        (hold.tag, hold.piece) = ("H-6".to_owned(), Some(PieceId(6)));
        tx.insert_reservation(hold.clone()).await?;
        (hold.tag, hold.piece, hold.lot) = ("H-7".to_owned(), None, Some(LotId(1)));
        tx.insert_reservation(hold).await?;
    }),
    case!(save_reservation, [(Piece, 1), (Lot, 1)], |tx| {
        tx.save_reservation(&mut tx.reservation_by_tag("H-1").await?.unwrap()).await?;
        tx.save_reservation(&mut tx.reservation_by_tag("H-2").await?.unwrap()).await?;
    }),
    case!(insert_assessment, [], |tx| {
        let page = Page { after: 0, limit: 1 };
        let found = tx.assessments_page(page, None, None).await?.pop().unwrap();
        tx.insert_assessment(found.record).await?;
    }),
    case!(insert_decision, [], |tx| tx.insert_decision(&decision()).await?),
    case!(insert_policy, [], |tx| policies::put_again(tx).await?),
    case!(insert_repair_decision, [], |tx| policies::decide_again(tx).await?),
    case!(insert_job, [], |tx| {
        let job = tx.job_by_tag("J-2").await?.unwrap();
        tx.insert_job(tenths_storage::Job { tag: "J-3".to_owned(), ..job }).await?;
    }),
    case!(save_job, [], |tx| tx.save_job(&mut tx.job_by_tag("J-1").await?.unwrap()).await?),
    case!(insert_operations, [], |tx| {
        let polish = single(Method::Polish, FeatureKind::Journal, None);
        tx.insert_operations(JobId(3), &[polish]).await?;
    }),
    case!(save_operation, [], |tx| {
        tx.save_operation(&tx.operation_at(JobId(1), 1).await?).await?;
    }),
    case!(insert_send_out, [], |tx| {
        let mut one = tx.send_out_by_tag("S-1").await?.unwrap();
        let mut lines = tx.send_out_lines([one.id]).await?;
        (one.tag, one.closed_at) = ("S-2".to_owned(), None);
        (lines[0].state, lines[0].ended_at) = (SendOutLineState::Out, None);
        tx.insert_send_out(one, &lines).await?;
    }),
    case!(save_send_out, [], |tx| {
        tx.save_send_out(&mut tx.send_out_by_tag("S-2").await?.unwrap()).await?;
    }),
    case!(save_send_out_line, [], |tx| {
        let mut lines = tx.send_out_lines([SendOutId(2)]).await?;
        (lines[0].state, lines[0].ended_at) = (SendOutLineState::Returned, Some(NOW));
        tx.save_send_out_line(&lines[0]).await?;
    }),
    case!(insert_rebuild, [], |tx| {
        let mut rebuild = tx.rebuild_by_tag("R-1").await?.unwrap();
        rebuild.tag = "R-3".to_owned();
        tx.insert_rebuild(rebuild).await?;
    }),
    case!(save_rebuild, [], |tx| {
        tx.save_rebuild(&mut tx.rebuild_by_tag("R-1").await?.unwrap()).await?;
    }),
    case!(save_plan, [], |tx| tx.save_plan(Machine::Lathe, &[]).await?),
    case!(write_ledger, [], |tx| tx.write_ledger(vec![movement()]).await?),
    case!(write_ledger_bulk, [], |tx| tx.write_ledger_bulk(&[movement()]).await?),
    case!(trim_changes, [], |tx| tx.trim_changes(1_000_000).await?),
];

/// Method: do every act of the storage that changes something, and ask the feed after each: exactly
/// the subjects of that act. That none is left out is seen from the sources: every public method
/// whose name begins with a word of changing is among the cases.
async fn every_act_of_the_storage_is_in_the_feed(db: TestDb) {
    used_shop::fill(&db).await;
    count_on(&db).await;
    let store = db.store().await;
    let mut cursor = here(&store).await;
    for case in CASES {
        let act = case.act;
        let done: Result<(), StorageError> = store.write(act).await;
        done.unwrap_or_else(|error| panic!("{}: {error:?}", case.method));
        let found = since(&store, &mut cursor).await;
        assert_eq!(found, case.subjects, "{}", case.method);
    }
    store.close().await;

    let tried: BTreeSet<String> = CASES.iter().map(|case| case.method.to_owned()).collect();
    assert_eq!(changing_methods(), tried);
}

/// Lets PostgreSQL give the numbers that follow those of the shop's rows, as SQLite does by itself.
async fn count_on(db: &TestDb) {
    if db.kind() == Kind::Postgres {
        let raw = Raw::connect(db).await;
        let next = "SELECT 'SELECT setval(''' || pg_get_serial_sequence(table_name, 'id')
                 || ''', (SELECT COALESCE(MAX(id), 0) + 1 FROM ' || table_name || '), FALSE)'
             FROM information_schema.columns
             WHERE table_schema = 'public' AND is_identity = 'YES' AND table_name <> 'changes'";
        for set in raw.column(next).await {
            raw.run_whole(&set).await.unwrap();
        }
        raw.close().await;
    }
}

/// The public methods of the storage's sources whose names say that they change something.
fn changing_methods() -> BTreeSet<String> {
    let words = [
        "insert",
        "save",
        "touch",
        "change_lot",
        "void",
        "write",
        "keep",
        "next_number",
        "raise",
        "trim",
    ];
    let sources = std::fs::read_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/src")).unwrap();
    let mut methods = BTreeSet::new();
    for source in sources {
        let path = source.unwrap().path();
        if path.ends_with("store.rs") {
            continue;
        }
        let text = std::fs::read_to_string(&path).unwrap();
        for rest in text.split("pub async fn ").skip(1) {
            let name = rest.split(['(', '<']).next().unwrap();
            if words.iter().any(|word| name.starts_with(word)) {
                methods.insert(name.to_owned());
            }
        }
    }
    methods
}

fn request() -> NewRequest {
    NewRequest {
        request_id: "q-9".to_owned(),
        method: "Receive".to_owned(),
        person: "Mara".to_owned(),
        fingerprint: vec![1],
        answer: vec![2],
        created_at: NOW,
    }
}

fn void() -> ReadingVoid {
    ReadingVoid { reason: "misread".to_owned(), person: "Ilse".to_owned(), created_at: NOW }
}

fn decision() -> Decision {
    Decision {
        piece: PieceId(1),
        proposed: None,
        decided: Disposition::Reuse,
        reason: String::new(),
        person: "Mara".to_owned(),
        created_at: NOW,
    }
}

fn movement() -> NewLedgerEntry {
    NewLedgerEntry {
        created_at: NOW,
        person: "Mara".to_owned(),
        reason: LedgerReason::Receive,
        subject: LedgerSubject::Lot(LotId(1)),
        location: LocationId(2),
        quantity_delta: 1,
        rebuild: None,
        note: String::new(),
        request_id: "q1".to_owned(),
    }
}

/// Method: change rows of every table by raw SQL, also many at once and by removing them, as no
/// method of the storage does; the feed must name each subject all the same.
async fn every_act_of_raw_sql_is_in_the_feed(db: TestDb) {
    used_shop::fill(&db).await;
    let store = db.store().await;
    let raw = Raw::connect(&db).await;
    let mut cursor = here(&store).await;
    let acts: &[(&str, &[Subject])] = &[
        ("UPDATE pieces SET note = 'x' WHERE id <= 2", &[(Piece, 1), (Piece, 2)]),
        ("UPDATE pieces SET note = 'x' WHERE id > 99", &[]),
        ("UPDATE piece_sizes SET round = 1", &[(Piece, 1), (Piece, 2)]),
        ("DELETE FROM piece_sizes WHERE piece_id = 2", &[(Piece, 2)]),
        ("DELETE FROM lot_stock WHERE location_id = 3", &[(Lot, 1)]),
        ("UPDATE reservations SET until_at = 5", &[(Piece, 1), (Piece, 4), (Lot, 1)]),
        ("DELETE FROM reservations WHERE lot_id IS NULL", &[(Piece, 1), (Piece, 4)]),
        ("UPDATE lots SET date_code = '2026-01'", &[(Lot, 1)]),
        ("UPDATE features SET wear_limit_nm = 5", &[(Item, 1)]),
        ("UPDATE items SET description = ''", &[(Item, 1), (Item, 2)]),
        ("UPDATE locations SET description = '' WHERE id = 2", &[(Location, 2)]),
        ("UPDATE gauges SET state = 'found_wrong'", &[(Gauge, 1)]),
        (
            "INSERT INTO reading_voids (reading_id, reason, person, created_at) VALUES (2, '', '', 1)",
            &[(Piece, 1)],
        ),
        ("UPDATE rebuilds SET description = ''", &[]),
    ];
    for (sql, expected) in acts {
        raw.run(sql).await.unwrap();
        assert_eq!(since(&store, &mut cursor).await, *expected, "{sql}");
    }
    raw.close().await;
    store.close().await;
}

/// Method: a unit of work that writes and then fails; the feed must name nothing.
async fn a_refused_write_is_not_in_the_feed(db: TestDb) {
    used_shop::fill(&db).await;
    let store = db.store().await;
    let mut cursor = here(&store).await;
    let done: Result<(), StorageError> = store
        .write(|tx| {
            Box::pin(async move {
                tx.touch_items(&[ItemId(1)]).await?;
                Err(StorageError::Duplicate("on purpose".to_owned()))
            })
        })
        .await;
    assert!(done.is_err());
    assert_eq!(since(&store, &mut cursor).await, []);
    store.close().await;
}

/// Touches an item, then waits to be told before it commits.
async fn touch_and_wait(store: Store, item: i64, wrote: Arc<Notify>, commit: Arc<Notify>) {
    let done: Result<(), StorageError> = store
        .write(move |tx| {
            let (wrote, commit) = (Arc::clone(&wrote), Arc::clone(&commit));
            Box::pin(async move {
                tx.touch_items(&[ItemId(item)]).await?;
                wrote.notify_one();
                commit.notified().await;
                Ok(())
            })
        })
        .await;
    done.unwrap();
}

/// Method: a first writer writes and waits, a second begins later, writes and commits. On PostgreSQL
/// the reader must see the second at once, though the first has the lower number and transaction,
/// and the first when it commits, both once; the revision must not pass the first while it is open.
/// SQLite has one writer: the reader sees nothing of the first while it is open, then both.
async fn who_commits_late_is_not_skipped(db: TestDb) {
    used_shop::fill(&db).await;
    let store = db.store().await;
    let mut cursor = here(&store).await;
    let before = cursor.revision();
    let (wrote, commit) = (Arc::new(Notify::new()), Arc::new(Notify::new()));
    let late =
        tokio::spawn(touch_and_wait(store.clone(), 1, Arc::clone(&wrote), Arc::clone(&commit)));
    wrote.notified().await;
    if db.kind() == Kind::Postgres {
        let second = touch_item_2(&store).await;
        assert_eq!(since(&store, &mut cursor).await, [(Item, 2)]);
        assert_eq!(since(&store, &mut cursor).await, []);
        assert!(cursor.revision() < second, "{} has passed {second}", cursor.revision());
        commit.notify_one();
        late.await.unwrap();
        assert_eq!(since(&store, &mut cursor).await, [(Item, 1)]);
    } else {
        assert_eq!(since(&store, &mut cursor).await, []);
        assert_eq!(cursor.revision(), before);
        commit.notify_one();
        late.await.unwrap();
        touch_item_2(&store).await;
        assert_eq!(since(&store, &mut cursor).await, [(Item, 1), (Item, 2)]);
    }
    assert_eq!(since(&store, &mut cursor).await, []);
    store.close().await;
}

/// Touches item 2; answers with the revision of that write.
async fn touch_item_2(store: &Store) -> i64 {
    let revision: Result<i64, StorageError> = store
        .write(|tx| {
            Box::pin(async move {
                tx.touch_items(&[ItemId(2)]).await?;
                tx.revision().await
            })
        })
        .await;
    revision.unwrap()
}

/// Method: eight tasks write 20 times each and note the revision of every write; in each task it
/// must rise with every write, and never be one that a cursor taken before the write had reached. A
/// reader that asks afterwards must reach the highest of them.
async fn the_revision_never_falls_and_the_reader_passes_it(db: TestDb) {
    used_shop::fill(&db).await;
    let store = db.store().await;
    let tasks: Vec<_> = (0..8)
        .map(|_| {
            let store = store.clone();
            tokio::spawn(async move {
                let mut last = 0;
                for _ in 0..20 {
                    let reached = here(&store).await.revision();
                    let revision = touch_item_2(&store).await;
                    assert!(revision > last && revision > reached, "{last} {reached} {revision}");
                    last = revision;
                }
                last
            })
        })
        .collect();
    let mut highest = 0;
    for task in tasks {
        highest = highest.max(task.await.unwrap());
    }
    settle(&store, highest).await;
    store.close().await;
}

/// Waits until a reader has reached this revision: a transaction of another database of the same
/// PostgreSQL server may hold it up for a moment.
async fn settle(store: &Store, revision: i64) {
    for _ in 0..600 {
        if here(store).await.revision() >= revision {
            return;
        }
        tokio::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    panic!("a reader never reached revision {revision}");
}

async fn trim(store: &Store, keep: u64) -> u64 {
    let gone: Result<u64, StorageError> =
        store.write(move |tx| Box::pin(async move { tx.trim_changes(keep).await })).await;
    gone.unwrap()
}

/// Method: write ten changes with a cursor before, in the middle and after them; trim all but five.
/// At least five rows must be left; a reader from before must be told to load anew and get a cursor
/// that goes on, one from the end must go on as if nothing had been trimmed.
async fn a_reader_that_was_overtaken_by_trimming_is_told(db: TestDb) {
    used_shop::fill(&db).await;
    let store = db.store().await;
    let before = here(&store).await;
    for _ in 0..10 {
        let revision = touch_item_2(&store).await;
        settle(&store, revision).await;
    }
    let mut end = here(&store).await;
    assert_eq!(trim(&store, 1_000).await, 0);
    assert!(matches!(after(&store, &before).await, Changes::Since { .. }));
    assert!(trim(&store, 5).await > 0);
    let raw = Raw::connect(&db).await;
    let left = raw.number("SELECT COUNT(*) FROM changes").await;
    assert!((5..=6).contains(&left), "{left} rows are left");
    raw.close().await;

    let Changes::Reload { cursor } = after(&store, &before).await else {
        panic!("a reader that has not seen what was trimmed was not told");
    };
    let mut anew = cursor;
    assert_eq!(since(&store, &mut anew).await, []);
    assert_eq!(since(&store, &mut end).await, []);
    let revision = touch_item_2(&store).await;
    settle(&store, revision).await;
    assert_eq!(since(&store, &mut anew).await, [(Item, 2)]);
    assert_eq!(since(&store, &mut end).await, [(Item, 2)]);
    // What is trimmed to nothing still counts on.
    assert!(trim(&store, 0).await > 0);
    touch_item_2(&store).await;
    assert_eq!(since(&store, &mut anew).await, [(Item, 2)]);
    store.close().await;
}

/// Method: change three subjects; a reader that takes three gets them, one that takes two is told to
/// load anew.
async fn a_reader_that_missed_too_much_is_told(db: TestDb) {
    used_shop::fill(&db).await;
    let store = db.store().await;
    let cursor = here(&store).await;
    let raw = Raw::connect(&db).await;
    raw.run("UPDATE locations SET description = 'x'").await.unwrap();
    raw.close().await;
    let Changes::Since { subjects, .. } = after_limited(&store, &cursor, 3).await else {
        panic!("three are three");
    };
    assert_eq!(subjects, [(Location, 1), (Location, 2), (Location, 3)]);
    assert!(matches!(after_limited(&store, &cursor, 2).await, Changes::Reload { .. }));
    store.close().await;
}

/// Method: 25,000 changes of 12,500 lots in three transactions, more than two pages; one call must
/// name every lot once.
async fn many_pages_are_read_by_one_call(db: TestDb) {
    used_shop::fill(&db).await;
    let store = db.store().await;
    let mut cursor = here(&store).await;
    let raw = Raw::connect(&db).await;
    let numbers =
        "WITH RECURSIVE n (i) AS (SELECT 101 UNION ALL SELECT i + 1 FROM n WHERE i < 12600)";
    raw.run_whole(&format!(
        "INSERT INTO lots (id, tag, item_id, date_code, created_at, revision)
         {numbers} SELECT i, 'N-' || i, 2, '', 1, 1 FROM n"
    ))
    .await
    .unwrap();
    raw.run("UPDATE lots SET revision = 2 WHERE id > 100 AND id <= 6000").await.unwrap();
    raw.run("UPDATE lots SET revision = 2 WHERE id > 6000").await.unwrap();
    let expected: Vec<Subject> = (101..=12_600).map(|id| (Lot, id)).collect();
    assert_eq!(since(&store, &mut cursor).await, expected);
    assert_eq!(raw.number("SELECT COUNT(*) FROM changes WHERE subject_id > 100").await, 25_000);
    raw.close().await;
    store.close().await;
}

/// Method: an item touches its pieces in stock and its lots, a gauge the pieces in stock that were
/// measured with it, a piece and a lot themselves, in stock or not.
async fn stock_that_is_touched_is_named(db: TestDb) {
    used_shop::fill(&db).await;
    let store = db.store().await;
    let touched = |subjects: Vec<Subject>| {
        let store = store.clone();
        async move {
            let found: Result<TouchedStock, StorageError> = store
                .read(move |tx| Box::pin(async move { tx.stock_touched_by(&subjects).await }))
                .await;
            let found = found.unwrap();
            let pieces: Vec<i64> = found.pieces.iter().map(|id| id.0).collect();
            (pieces, found.lots.iter().map(|id| id.0).collect::<Vec<_>>())
        }
    };
    assert_eq!(touched(vec![]).await, (vec![], vec![]));
    assert_eq!(touched(vec![(Item, 1)]).await, (vec![1], vec![]));
    assert_eq!(touched(vec![(Item, 2)]).await, (vec![], vec![1]));
    // Of the two pieces measured with it, one is in stock.
    assert_eq!(touched(vec![(Gauge, GaugeId(1).0)]).await, (vec![1], vec![]));
    assert_eq!(touched(vec![(Location, 2)]).await, (vec![], vec![]));
    let many = vec![(Piece, 5), (Piece, 1), (Lot, 7), (Item, 1), (Item, 2), (Gauge, 1)];
    assert_eq!(touched(many).await, (vec![1, 5], vec![1, 7]));
    store.close().await;
}
