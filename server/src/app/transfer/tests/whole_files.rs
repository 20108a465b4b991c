//! Goal: a file is saved whole or not at all, once. Method: the export before and after.

use super::shop::{LOT_COLUMNS, PIECE_COLUMNS, Shop, row};
use crate::app::Error;
use crate::app::transfer::{BATCH_ROWS_MAX, REPORTED_MAX, Row, Table};

/// Lines 3 and 4 are bad, the first by itself.
const SOME_BAD: [&str; 4] = [
    "L-10|BRG-6205|4|A-1|2025-03|4.75 USD",
    "L-11|BRG-6205|minus|A-1||",
    "L-12|NONE|1|A-1||",
    "|BRG-6205|6|A-1||",
];

#[tokio::test]
async fn one_bad_row_keeps_the_file_out() {
    let mut shop = Shop::stocked().await;
    let ended = shop.import(Table::Lots, LOT_COLUMNS, &SOME_BAD).await;
    assert_eq!(ended.places(), [(3, "quantity"), (4, "item")]);
    assert_eq!(ended.counts(), (4, 0, 2));
    assert_eq!(shop.export(Table::Lots).await, [""; 0]);
    shop.verify().await;
}

#[tokio::test]
async fn good_rows_go_in_if_asked() {
    let mut shop = Shop { skip_bad_rows: true, ..Shop::stocked().await };
    let ended = shop.import(Table::Lots, LOT_COLUMNS, &SOME_BAD).await;
    assert_eq!(ended.places(), [(3, "quantity"), (4, "item")]);
    assert_eq!(ended.counts(), (4, 2, 2));
    let rows = ["L-10|BRG-6205|4|A-1|2025-03|4.75 USD", "L-13|BRG-6205|6|A-1||"];
    assert_eq!(shop.export(Table::Lots).await, rows);
    shop.verify().await;
}

/// Not even a number is used up, and the id may be used for the real import.
#[tokio::test]
async fn a_dry_run_leaves_no_trace() {
    let mut shop = Shop { dry_run: true, ..Shop::stocked().await };
    let ended = shop.import(Table::Lots, LOT_COLUMNS, &SOME_BAD).await;
    assert_eq!((ended.places(), ended.counts()), (vec![(3, "quantity"), (4, "item")], (4, 0, 2)));
    let good = ["|PLATE|1|A-1||"];
    let ended = shop.import(Table::Lots, LOT_COLUMNS, &good).await;
    assert_eq!((ended.places(), ended.counts()), (vec![], (1, 0, 0)));
    assert_eq!(shop.export(Table::Lots).await, [""; 0]);
    shop.dry_run = false;
    let ended = shop.import_again(Table::Lots, LOT_COLUMNS, &good).await.unwrap();
    assert_eq!(ended.counts(), (1, 1, 0));
    assert_eq!(shop.export(Table::Lots).await, ["L-1|PLATE|1|A-1||"]);
    shop.verify().await;
}

#[tokio::test]
async fn the_same_import_again_has_no_further_effect() {
    let mut shop = Shop { skip_bad_rows: true, ..Shop::stocked().await };
    let first = shop.import(Table::Lots, LOT_COLUMNS, &SOME_BAD).await;
    let again = shop.import_again(Table::Lots, LOT_COLUMNS, &SOME_BAD).await.unwrap();
    assert_eq!((again.before, again.summary), (true, first.summary));
    assert_eq!(shop.export(Table::Lots).await.len(), 2);

    // Another row, another header, or the same cells cut otherwise are another request.
    let other = [SOME_BAD[0], SOME_BAD[1], SOME_BAD[2], "|BRG-6205|7|A-1||"];
    let refused = [
        shop.import_again(Table::Lots, LOT_COLUMNS, &other).await,
        shop.import_again(Table::Lots, LOT_COLUMNS, &SOME_BAD[..3]).await,
        shop.import_again(Table::Pieces, PIECE_COLUMNS, &[]).await,
    ];
    for refused in refused {
        let Err(Error::Invalid(violations)) = refused else { panic!("{refused:?}") };
        assert_eq!(violations[0].field, "request_id");
    }
    assert_eq!(shop.export(Table::Lots).await.len(), 2);
    shop.verify().await;
}

/// What was not saved was not answered for good: the corrected file may come under the same id.
#[tokio::test]
async fn a_refused_file_does_not_use_up_its_id() {
    let mut shop = Shop::stocked().await;
    assert_eq!(shop.import(Table::Lots, LOT_COLUMNS, &SOME_BAD).await.counts(), (4, 0, 2));
    let ended = shop.import_again(Table::Lots, LOT_COLUMNS, &SOME_BAD[..1]).await.unwrap();
    assert_eq!((ended.before, ended.counts()), (false, (1, 1, 0)));
    let nothing = shop.import(Table::Lots, LOT_COLUMNS, &[]).await;
    assert_eq!(nothing.counts(), (0, 0, 0));
    shop.verify().await;
}

#[tokio::test]
async fn an_import_that_is_dropped_saves_nothing() {
    let mut shop = Shop::stocked().await;
    let mut import = shop.begin(LOT_COLUMNS).await.unwrap();
    import.take(vec![row(2, SOME_BAD[0])]).await.unwrap();
    drop(import);
    assert_eq!(shop.export(Table::Lots).await, [""; 0]);
    assert_eq!(shop.import(Table::Lots, LOT_COLUMNS, &SOME_BAD[..1]).await.counts(), (1, 1, 0));
}

/// Bad by itself and bad for the shop count alike, and only so many are told.
#[tokio::test]
async fn only_the_first_thousand_problems_are_told() {
    let mut shop = Shop::stocked().await;
    let mut lines = vec!["|BRG-6205||A-1|no|"; 300];
    lines.extend(vec!["|NONE|1|NOWHERE||"; 800]);
    let ended = shop.import(Table::Lots, LOT_COLUMNS, &lines).await;
    assert_eq!((ended.counts(), ended.bad.len()), ((1_100, 0, 1_100), REPORTED_MAX));
    assert_eq!((ended.places()[599], ended.places()[600]), ((301, "date_code"), (302, "item")));
}

#[tokio::test]
async fn a_batch_is_bounded() {
    let shop = Shop::stocked().await;
    let mut import = shop.begin(LOT_COLUMNS).await.unwrap();
    let rows = |count| -> Vec<Row> { (0..count).map(|line| row(line, SOME_BAD[0])).collect() };
    let refused = import.take(rows(BATCH_ROWS_MAX as i64 + 1)).await;
    assert!(matches!(refused, Err(Error::Invalid(_))), "{refused:?}");
    import.take(rows(BATCH_ROWS_MAX as i64)).await.unwrap();
    assert_eq!(import.received(), BATCH_ROWS_MAX as i64);
}

#[tokio::test]
async fn twenty_thousand_rows() {
    let mut shop = Shop::stocked().await;
    let lines: Vec<String> = (0..20_000)
        .map(|number| match number % 2 {
            0 => {
                format!("N-{number}|SH-30|used|A-1|||||M-07|seat-a@A0=30.001 mm; seat-a@A90=30 mm|")
            }
            _ => "|PLATE|new|B-2||||in_stock|||".to_owned(),
        })
        .collect();
    let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
    let start = std::time::Instant::now();
    let ended = shop.import(Table::Pieces, PIECE_COLUMNS, &lines).await;
    eprintln!("20,000 pieces with 20,000 readings in {:.1} s", start.elapsed().as_secs_f64());
    assert_eq!(ended.counts(), (20_000, 20_000, 0), "{:?}", ended.bad.first());
    let rows = shop.export(Table::Pieces).await;
    assert_eq!(rows.len(), 20_000);
    assert_eq!(rows[1], "P-1|PLATE|new|B-2|||unknown|in_stock|||");
    assert!(rows[19_998].starts_with("N-19998|SH-30|"), "{}", rows[19_998]);
    shop.verify().await;
}
