//! Goal: what only the shop can tell of a row is told too, and good rows do what the other requests
//! do. Method: small files; the export, or the resource itself, is looked at afterwards.

use super::shop::{ITEM_COLUMNS, LOT_COLUMNS, PIECE_COLUMNS, Shop};
use crate::app::measuring::{NewReadings, RecordReadings, record_readings};
use crate::app::transfer::Table;
use tenths_domain::ids::{PieceId, ReadingId};
use tenths_domain::measure::parse_readings;
use tenths_storage::{PieceSize, Reading};

#[tokio::test]
async fn a_second_row_of_a_lot_adds_another_place_and_nothing_else() {
    let mut shop = Shop::stocked().await;
    shop.import(Table::Lots, LOT_COLUMNS, &["L-7|BRG-6205|1|A-1||"]).await;
    let lines = [
        "L-9|BRG-6205|4|A-1|2025-03|4.75 USD",
        "L-9|BRG-6205|5|B-2|2025-03|4.75 USD",
        "L-9|BRG-6205|5|B-2|2025-03|4.75 USD",
        "L-9|PLATE|5|A-1|2025-04|4.75 EUR",
        "L-7|BRG-6205|1|B-2||",
        "L-8|NONE|1|NOWHERE||",
        "|BRG-6205|2|A-1||",
    ];
    shop.skip_bad_rows = true;
    let ended = shop.import(Table::Lots, LOT_COLUMNS, &lines).await;
    let told = [
        (4, "location"),
        (5, "item"),
        (5, "date_code"),
        (5, "unit_cost"),
        (5, "location"),
        (6, "tag"),
        (7, "item"),
        (7, "location"),
    ];
    assert_eq!(ended.places(), told, "{ended:?}");
    assert_eq!(ended.counts(), (7, 3, 4));
    let rows = shop.export(Table::Lots).await;
    assert_eq!(
        rows,
        [
            "L-7|BRG-6205|1|A-1||",
            "L-9|BRG-6205|4|A-1|2025-03|4.75 USD",
            "L-9|BRG-6205|5|B-2|2025-03|4.75 USD",
            "L-10|BRG-6205|2|A-1||",
        ]
    );
    shop.verify().await;
}

/// A row without a tag must not take the number of a later row, in whichever batch that is.
#[tokio::test]
async fn numbers_given_keep_clear_of_numbers_written() {
    let mut shop = Shop::stocked().await;
    let mut lines = vec!["|PLATE|new|A-1|||||||"; 700];
    lines.push("P-3|PLATE|new|A-1|||||||");
    lines.push("P-2000000000|PLATE|new|A-1|||||||");
    let ended = shop.import(Table::Pieces, PIECE_COLUMNS, &lines).await;
    assert_eq!(ended.counts(), (702, 702, 0), "{:?}", ended.places());
    let tags = shop.export(Table::Pieces).await;
    assert!(
        tags[0].starts_with("P-4|") && tags[699].starts_with("P-703|"),
        "{} {}",
        tags[0],
        tags[699]
    );
    assert!(tags[700].starts_with("P-3|") && tags[701].starts_with("P-2000000000|"));
    shop.verify().await;
}

#[tokio::test]
async fn a_row_adds_a_feature_to_an_item_that_is_there() {
    let mut shop = Shop::stocked().await;
    shop.skip_bad_rows = true;
    let ended = shop
        .import(Table::Items, ITEM_COLUMNS, &[
            "SH-30|shaft|pump shaft||steel|key|keyseat|8 mm|N9||||||||",
            "SH-30|shaft|pump shaft||steel|key|keyseat|8 mm|N9||||||||",
            "SH-30|shaft|other words||bronze|end|shaft_extension|24 mm|||||||||",
            "BRG-6205|rolling_bearing|deep groove ball bearing|6205|steel|bore|bore|25 mm|||||||||",
            "PLATE|other|name plate|||||||||||||2|yes",
            "BRG-X|rolling_bearing|no such bearing|6299|||||||||||||",
            "NEW|shaft|new||||||||||||||",
            "NEW|shaft|new|||seat|journal|20 mm|||||||||",
        ])
        .await;
    let told = [
        (3, "feature"),
        (4, "description"),
        (4, "material"),
        (5, "feature"),
        (6, "code"),
        (7, "designation"),
    ];
    assert_eq!(ended.places(), told, "{ended:?}");
    assert_eq!(ended.counts(), (8, 3, 5));
    let item =
        shop.app.read(|view| Box::pin(async move { view.find_item("SH-30").await })).await.unwrap();
    let names: Vec<&str> =
        item.features.iter().map(|feature| feature.feature.name.as_str()).collect();
    assert_eq!((names, item.revision), (vec!["seat-a", "journal", "key"], 2));
    let item =
        shop.app.read(|view| Box::pin(async move { view.find_item("NEW").await })).await.unwrap();
    assert_eq!((item.features.len(), item.revision), (1, 1));
}

#[tokio::test]
async fn pieces_are_checked_against_item_place_and_gauge() {
    let mut shop = Shop::stocked().await;
    shop.import(Table::Pieces, PIECE_COLUMNS, &["P-1|SH-30|used|A-1|||||||"]).await;
    let ended = shop
        .import(
            Table::Pieces,
            PIECE_COLUMNS,
            &[
                "P-1|SH-30|used|A-1|||||||",
                "P-2|NONE|used|NOWHERE|||||M-99|seat-a=30 mm|",
                "P-3|BRG-6205|used|A-1|||||||",
                "P-4|SH-30|used|A-1|||||M-07|seat-b=30 mm|",
                "P-5|SH-30|used|A-1|||||M-07|seat-a=30 mm; seat-a@B0=1.1809 mm|",
                "P-6|SH-30|used|A-1|||||M-07|seat-a=30 mm by M-99|",
                "P-7|SH-30|used|A-1|||||M-07|seat-a=30 mm|",
                "P-7|SH-30|used|A-1|||||M-07|seat-a=30 mm|",
            ],
        )
        .await;
    let told = [
        (2, "tag"),
        (3, "location"),
        (3, "gauge"),
        (3, "item"),
        (4, "condition"),
        (5, "dimensions"),
        (6, "dimensions"),
        (7, "dimensions"),
        (9, "tag"),
    ];
    assert_eq!(ended.places(), told, "{ended:?}");
    assert!(ended.bad[5].reason.contains("seat-a, journal"), "{ended:?}");
    // Both sizes are named.
    let reason = &ended.bad[6].reason;
    assert!(reason.contains("seat-a@B0 reads 1.1809 mm") && reason.contains("30 mm"), "{reason}");
}

/// The same readings, imported and recorded one by one, say the same of a piece.
#[tokio::test]
async fn imported_readings_are_those_of_the_bench() {
    let mut shop = Shop::stocked().await;
    let imported = "P-1|SH-30|used|A-1|||||M-08|\
        journal@A0=1.187 in; journal@B0=1.1862 in; journal@REF0=1.1875 in|";
    let lines = [imported, "P-2|SH-30|used|A-1|||||||"];
    let ended = shop.import(Table::Pieces, PIECE_COLUMNS, &lines).await;
    assert_eq!(ended.counts(), (2, 2, 0), "{ended:?}");
    shop.act(|act| {
        Box::pin(async move {
            let readings = NewReadings {
                feature: "journal".into(),
                gauge_tag: "M-08".into(),
                readings: parse_readings("A0 1.187in B0 1.1862in REF0 1.1875in", None).unwrap(),
                temperature: None,
                gauge_temperature: None,
            };
            let order = RecordReadings {
                piece_tag: "P-2".into(),
                readings,
                override_reason: "sure".into(),
            };
            record_readings(act, &order).await?;
            Ok(Vec::new())
        })
    })
    .await;
    let (imported, readings) = said_of(&shop, "P-1").await;
    assert_eq!((imported.clone(), readings.clone()), said_of(&shop, "P-2").await);
    assert_eq!(imported.reading_count, 3, "three readings stand");
    assert!(readings.iter().all(|reading| reading.gauge_overdue), "M-08 is overdue");
    shop.verify().await;
}

/// The size of the one measured feature of a piece and its readings, without what tells two pieces
/// apart.
async fn said_of(shop: &Shop, tag: &'static str) -> (PieceSize, Vec<Reading>) {
    let said = shop.app.read(move |view| {
        Box::pin(async move {
            let piece = view.find_piece(tag).await?;
            let sizes = view.tx.piece_sizes([piece.id]).await?.remove(&piece.id).unwrap();
            assert_eq!(sizes.len(), 1);
            let size = PieceSize { id: 0, piece: PieceId(0), ..sizes[0].clone() };
            let readings = view.tx.readings_of(piece.id, size.feature).await?;
            Ok((size, readings))
        })
    });
    let (size, readings) = said.await.unwrap();
    let nobody = |reading: Reading| Reading {
        id: ReadingId(0),
        piece: PieceId(0),
        trap: String::new(),
        override_reason: String::new(),
        request_id: String::new(),
        ..reading
    };
    (size, readings.into_iter().map(nobody).collect())
}
