//! Goal: what is loaded for the index is what the other methods of the storage say is in stock.

use crate::raw::Raw;
use crate::support::{TestDb, on_both};
use crate::used_shop::{self, NOW};
use tenths_domain::ids::{FeatureId, LocationId, LotId, PieceId};
use tenths_domain::item::Limits;
use tenths_domain::money::Currency;
use tenths_domain::state::PieceCondition;
use tenths_domain::temperature::Material;
use tenths_domain::units::Length;
use tenths_storage::{
    Page, StockedAt, StockedHold, StockedLot, StockedLotHold, StockedPiece, StorageError, Store,
};

on_both!(
    what_is_stocked_is_loaded_whole,
    pages_and_numbers_give_the_same,
    a_wrong_gauge_puts_the_readings_that_speak_in_doubt,
    a_row_that_the_domain_rejects_is_not_loaded,
);

async fn all_pieces(store: &Store, page: u64) -> Vec<StockedPiece> {
    let mut all = Vec::new();
    loop {
        let after = all.last().map_or(PieceId(0), |piece: &StockedPiece| piece.id);
        let next: Result<Vec<_>, StorageError> = store
            .read(move |tx| Box::pin(async move { tx.stocked_pieces_after(after, page).await }))
            .await;
        let next = next.unwrap();
        let is_last = (next.len() as u64) < page;
        all.extend(next);
        if is_last {
            return all;
        }
    }
}

async fn all_lots(store: &Store, page: u64) -> Vec<StockedLot> {
    let mut all = Vec::new();
    loop {
        let after = all.last().map_or(LotId(0), |lot: &StockedLot| lot.id);
        let next: Result<Vec<_>, StorageError> = store
            .read(move |tx| Box::pin(async move { tx.stocked_lots_after(after, page).await }))
            .await;
        let next = next.unwrap();
        let is_last = (next.len() as u64) < page;
        all.extend(next);
        if is_last {
            return all;
        }
    }
}

async fn pieces(store: &Store, ids: &[i64]) -> Vec<StockedPiece> {
    let ids: Vec<PieceId> = ids.iter().copied().map(PieceId).collect();
    let found: Result<_, StorageError> =
        store.read(move |tx| Box::pin(async move { tx.stocked_pieces(&ids).await })).await;
    found.unwrap()
}

async fn lots(store: &Store, ids: &[i64]) -> Vec<StockedLot> {
    let ids: Vec<LotId> = ids.iter().copied().map(LotId).collect();
    let found: Result<_, StorageError> =
        store.read(move |tx| Box::pin(async move { tx.stocked_lots(&ids).await })).await;
    found.unwrap()
}

/// More stock for the used shop: pieces in each condition, one reground, one never measured; a lot
/// with a cost, one with none left.
const MORE: &str = "
INSERT INTO pieces (id, tag, item_id, core_id, state, condition, location_id, rebuild_id, material,
    hardness, built_up, note, created_at, revision) VALUES
    (11, 'P-11', 1, NULL, 'in_stock', 'new', 3, NULL, NULL, '', 'no', '', 7, 1),
    (12, 'P-12', 1, NULL, 'in_stock', 'reconditioned', 2, NULL, 'steel', '', 'no', '', 8, 1),
    (13, 'P-13', 1, NULL, 'in_stock', 'used', 2, NULL, NULL, '', 'no', '', 9, 1);
INSERT INTO piece_sizes (piece_id, feature_id, round, target_lower_nm, target_upper_nm, min_nm,
    max_nm, uncertainty_nm, reading_count) VALUES
    (12, 2, 0, NULL, NULL, 30002000, 30003000, 1500, 2),
    (12, 1, 1, 23500000, 23510000, 23505000, 23506000, 1600, 2),
    (13, 1, 1, 23500000, 23510000, NULL, NULL, NULL, 0);
INSERT INTO lots (id, tag, item_id, date_code, cost_minor, cost_currency, created_at, revision) VALUES
    (11, 'L-11', 1, '2025-11', 1250, 'EUR', 6, 1), (12, 'L-12', 2, '', NULL, NULL, 7, 1);
INSERT INTO lot_stock (id, lot_id, location_id, on_hand, held) VALUES
    (11, 11, 3, 40, 0), (12, 11, 2, 2, 0), (13, 12, 2, 0, 0)
";

async fn shop(db: &TestDb) -> Store {
    used_shop::fill(db).await;
    let raw = Raw::connect(db).await;
    raw.run(MORE).await.unwrap();
    raw.close().await;
    db.store().await
}

/// Method: load the shop and compare every field with the rows that were written.
async fn what_is_stocked_is_loaded_whole(db: TestDb) {
    let store = shop(&db).await;
    let pieces = all_pieces(&store, 100).await;
    let ids: Vec<i64> = pieces.iter().map(|piece| piece.id.0).collect();
    assert_eq!(ids, [1, 11, 12, 13], "only what is in stock, in order");
    let conditions: Vec<_> = pieces.iter().map(|piece| piece.condition).collect();
    use PieceCondition::{New, Reconditioned, Used};
    assert_eq!(conditions, [Used, New, Reconditioned, Used]);

    let first = &pieces[0];
    assert_eq!((first.tag.as_str(), first.item.0, first.location), ("P-1", 1, LocationId(2)));
    assert_eq!((first.created_at, first.material), (NOW, None));
    let hold = StockedHold {
        tag: "H-1".to_owned(),
        rebuild_tag: "R-1".to_owned(),
        person: "Mara".to_owned(),
        until_at: NOW,
    };
    assert_eq!(first.hold, Some(hold), "the one that was not ended");
    assert_eq!(first.sizes.len(), 1);
    assert_eq!(first.sizes[0].min, Some(Length::from_nm(23_799_800)));
    assert_eq!(first.sizes[0].max, Some(Length::from_nm(23_812_500)));
    assert_eq!(first.sizes[0].uncertainty, Some(Length::from_nm(5_080)));
    assert!(!first.sizes[0].is_doubted);

    assert!(pieces[1].sizes.is_empty() && pieces[1].hold.is_none(), "{:?}", pieces[1]);
    let reground = &pieces[2];
    assert_eq!(reground.material, Some(Material::Steel));
    let features: Vec<_> = reground.sizes.iter().map(|size| (size.feature.0, size.round)).collect();
    assert_eq!(features, [(1, 1), (2, 0)], "in order of the feature");
    let target = Limits { lower: Length::from_nm(23_500_000), upper: Length::from_nm(23_510_000) };
    assert_eq!(reground.sizes[0].target, Some(target));
    assert_eq!(reground.sizes[1].target, None);
    assert_eq!(pieces[3].sizes[0].min, None);

    let lots = all_lots(&store, 100).await;
    let ids: Vec<i64> = lots.iter().map(|lot| lot.id.0).collect();
    assert_eq!(ids, [1, 11], "a lot of which there are none is not in stock");
    assert_eq!(lots[0].stock, [at(2, 9), at(3, 5)]);
    let held = StockedLotHold { location: LocationId(2), quantity: 3, until_at: NOW };
    assert_eq!(lots[0].holds, [held], "the one that was not ended");
    assert_eq!((lots[0].unit_cost, lots[0].date_code.as_str()), (None, ""));
    assert_eq!(lots[1].stock, [at(2, 2), at(3, 40)]);
    let cost = lots[1].unit_cost.unwrap();
    assert_eq!((cost.minor, cost.currency), (1250, "EUR".parse::<Currency>().unwrap()));
    assert_eq!((lots[1].tag.as_str(), lots[1].date_code.as_str()), ("L-11", "2025-11"));
    assert_eq!((lots[1].item.0, lots[1].created_at), (1, 6));
    assert!(lots[1].holds.is_empty());
    store.close().await;
}

fn at(location: i64, on_hand: i64) -> StockedAt {
    StockedAt { location: LocationId(location), on_hand }
}

/// Method: pages of 1, 2 and 100, and the numbers themselves in another order, twice and with
/// numbers of what is not in stock or not there: the same pieces and lots.
async fn pages_and_numbers_give_the_same(db: TestDb) {
    let store = shop(&db).await;
    let whole = (all_pieces(&store, 100).await, all_lots(&store, 100).await);
    assert!(whole.0.len() == 4 && whole.1.len() == 2);
    for page in [1, 2] {
        assert_eq!((all_pieces(&store, page).await, all_lots(&store, page).await), whole);
    }
    let by_number = pieces(&store, &[13, 2, 1, 12, 999, 5, 11, 13, 0]).await;
    assert_eq!((by_number, lots(&store, &[12, 11, 1, 11, 77]).await), whole);
    assert!(pieces(&store, &[]).await.is_empty() && lots(&store, &[]).await.is_empty());
    // More numbers than one statement asks for.
    let many: Vec<i64> = (1..=25_000).rev().collect();
    assert_eq!((pieces(&store, &many).await, lots(&store, &many).await), whole);
    store.close().await;
}

/// Method: find the gauge wrong: the feature that was read with it is in doubt, others are not. Then
/// take the doubt away in each of the ways that the shop has: by a newer reading of every place with
/// another gauge, by voiding, by a new round. Held against the readings of the piece and the rule of
/// `standing` in the app: of the current round, not void, of the last request at its place.
async fn a_wrong_gauge_puts_the_readings_that_speak_in_doubt(db: TestDb) {
    let store = shop(&db).await;
    let raw = Raw::connect(&db).await;
    let doubt = async || {
        let loaded = pieces(&store, &[1, 12]).await;
        let of_first = loaded[0].sizes.iter().find(|s| s.feature == FeatureId(1)).unwrap();
        assert!(loaded[1].sizes.iter().all(|size| !size.is_doubted), "never read with it");
        of_first.is_doubted
    };
    assert!(!doubt().await);
    raw.run(
        "INSERT INTO gauges (id, tag, description, resolution_nm, resolution_text, uncertainty_nm,
             uncertainty_text, resolution_unit, uncertainty_unit, setting_method,
             calibration_due_at, state, created_at, revision)
         SELECT 2, 'M-08', description, resolution_nm, resolution_text, uncertainty_nm,
             uncertainty_text, resolution_unit, uncertainty_unit, setting_method,
             calibration_due_at, state, created_at, revision FROM gauges WHERE id = 1;
         UPDATE gauges SET state = 'found_wrong' WHERE id = 1",
    )
    .await
    .unwrap();
    assert!(doubt().await);
    // Measured again at two of three places: the third still speaks.
    for (id, of) in [(21, 1), (22, 2)] {
        raw.run(&again(id, of, 2, 0, "q2")).await.unwrap();
        assert!(doubt().await);
    }
    raw.run(&again(23, 3, 2, 0, "q2")).await.unwrap();
    assert!(!doubt().await, "every place was measured again with a gauge in use");
    // The newer reading of one place is void: the older one speaks again.
    raw.run(&voided(21)).await.unwrap();
    assert!(doubt().await);
    raw.run(&voided(1)).await.unwrap();
    assert!(!doubt().await);
    // A reading of another round says nothing, until that round is the current one.
    raw.run(&again(24, 3, 1, 1, "q3")).await.unwrap();
    assert!(!doubt().await);
    raw.run("UPDATE piece_sizes SET round = 1 WHERE piece_id = 1").await.unwrap();
    assert!(doubt().await);
    raw.close().await;
    store.close().await;
}

/// Reading `of` taken again with `gauge` in `round` by `request`.
fn again(id: i64, of: i64, gauge: i64, round: i64, request: &str) -> String {
    format!(
        "INSERT INTO readings (id, piece_id, feature_id, gauge_id, round, station, orientation_deg,
             value_nm, value_text, value_unit, at_20c_nm, uncertainty_nm, gauge_overdue, trap,
             override_reason, person, created_at, request_id)
         SELECT {id}, piece_id, feature_id, {gauge}, {round}, station, orientation_deg, value_nm,
             value_text, value_unit, at_20c_nm, uncertainty_nm, gauge_overdue, trap,
             override_reason, person, created_at, '{request}' FROM readings WHERE id = {of}"
    )
}

fn voided(reading: i64) -> String {
    format!(
        "INSERT INTO reading_voids (reading_id, reason, person, created_at)
         VALUES ({reading}, 'misread', 'Ilse', 1)"
    )
}

/// Method: put a word and a half into rows that the domain does not know; loading must say which row
/// is corrupt.
async fn a_row_that_the_domain_rejects_is_not_loaded(db: TestDb) {
    for (table, id, sql) in [
        ("pieces", "11", "UPDATE pieces SET condition = 'shiny' WHERE id = 11"),
        ("lots", "11", "UPDATE lots SET cost_currency = NULL WHERE id = 11"),
    ] {
        let db = if table == "pieces" { &db } else { &TestDb::create(db.kind()).unwrap() };
        let store = shop(db).await;
        let raw = Raw::connect(db).await;
        raw.run(sql).await.unwrap();
        raw.close().await;
        let loaded: Result<(), StorageError> = store
            .read(|tx| {
                Box::pin(async move {
                    tx.stocked_lots_after(LotId(0), 9).await?;
                    tx.stocked_pieces_after(PieceId(0), 9).await?;
                    tx.items_page(Page { after: 0, limit: 9 }, None).await.map(|_| ())
                })
            })
            .await;
        match loaded {
            Err(StorageError::Corrupt { table: named, id: number, .. }) => {
                assert_eq!((named, number.as_str()), (table, id));
            }
            other => panic!("{table}: {other:?}"),
        }
        store.close().await;
    }
}
