//! Goal: what is exported and imported into an empty shop is exported again the same.
//! Method: a shop with every kind of cell; both exports compared line by line.

use super::shop::{ITEM_COLUMNS, LOT_COLUMNS, PIECE_COLUMNS, Shop};
use crate::app::measuring::{NewReadings, RecordReadings, record_readings};
use crate::app::transfer::Table;
use tenths_domain::entry::EnteredTemperature;
use tenths_domain::measure::parse_readings;
use tenths_domain::temperature::{Temperature, TemperatureScale};

const LOTS: [&str; 4] = [
    "L-9|BRG-6205|4|B-2|2025-03|4.75 USD",
    "L-9|BRG-6205|5|A-1|2025-03|4.75 USD",
    "|PLATE|1000000|A-1||12 JPY",
    "L-22|PLATE|1|A-1||",
];

const PIECES: [&str; 4] = [
    "P-104|SH-30|used|A-1||58 HRC|yes|inspection|M-07|journal@REF0=1-3/16 in; journal@A90=1.1861 in; \
     seat-a=30.001 mm by M-08|as found, \"quoted\"",
    "P-105|SH-30|reconditioned|B-2|cast_iron||no|in_stock|||",
    "|BRG-6205|new|A-1||||in_stock|M-08|bore=24.9985 mm; od@A0=52 mm|",
    "X/1|PLATE|new|A-1|||||||",
];

async fn exports(shop: &Shop) -> [Vec<String>; 3] {
    [
        shop.export(Table::Items).await,
        shop.export(Table::Lots).await,
        shop.export(Table::Pieces).await,
    ]
}

async fn import_all(exports: &[Vec<String>; 3]) -> Shop {
    let mut shop = Shop::open().await;
    let tables =
        [(Table::Items, ITEM_COLUMNS), (Table::Lots, LOT_COLUMNS), (Table::Pieces, PIECE_COLUMNS)];
    for ((table, columns), lines) in tables.into_iter().zip(exports) {
        let lines: Vec<&str> = lines.iter().map(String::as_str).collect();
        let ended = shop.import(table, columns, &lines).await;
        assert_eq!(ended.counts(), (lines.len() as i64, lines.len() as i64, 0), "{ended:?}");
    }
    shop
}

#[tokio::test]
async fn what_goes_out_comes_in_again() {
    let mut shop = Shop::stocked().await;
    assert_eq!(shop.import(Table::Lots, LOT_COLUMNS, &LOTS).await.counts(), (4, 4, 0));
    assert_eq!(shop.import(Table::Pieces, PIECE_COLUMNS, &PIECES).await.counts(), (4, 4, 0));
    let first = exports(&shop).await;
    // Three features of the bearing's number, two of the shaft, and a plate without any.
    assert_eq!((first[0].len(), first[1].len(), first[2].len()), (6, 4, 4), "{first:#?}");
    assert_eq!(
        first[1][..2],
        ["L-9|BRG-6205|5|A-1|2025-03|4.75 USD", "L-9|BRG-6205|4|B-2|2025-03|4.75 USD"]
    );
    assert_eq!(
        first[2][0],
        "P-104|SH-30|used|A-1||58 HRC|yes|inspection|M-08|seat-a@A0=30.001 mm; \
         journal@REF0=1-3/16 in by M-07; journal@A90=1.1861 in by M-07|as found, \"quoted\""
    );
    let other = import_all(&first).await;
    assert_eq!(exports(&other).await, first);
    shop.verify().await;
    other.verify().await;
}

/// Measures the seat of P-1.
async fn measure(shop: &Shop, line: &'static str, temperature: Option<&'static str>) {
    shop.act(move |act| {
        Box::pin(async move {
            let scale = TemperatureScale::Celsius;
            let entered = |text: &str| {
                let temperature = Temperature::parse(text, scale).unwrap();
                (EnteredTemperature { temperature, scale }, text.to_owned())
            };
            let readings = NewReadings {
                feature: "seat-a".into(),
                gauge_tag: "M-07".into(),
                readings: parse_readings(line, None).unwrap(),
                temperature: temperature.map(entered),
                gauge_temperature: None,
            };
            let order = RecordReadings {
                piece_tag: "P-1".into(),
                readings,
                override_reason: "sure".into(),
            };
            record_readings(act, &order).await?;
            Ok(Vec::new())
        })
    })
    .await;
}

/// A reading that was brought to 20 C is exported by its value there, so that the other shop knows
/// the same size.
#[tokio::test]
async fn a_warm_reading_goes_out_as_it_is_at_20_c() {
    let mut shop = Shop::stocked().await;
    let piece = ["P-1|SH-30|used|A-1|aluminium||||||"];
    shop.import(Table::Pieces, PIECE_COLUMNS, &piece).await;
    measure(&shop, "A0 30.0035mm", Some("30")).await;
    let first = exports(&shop).await;
    // 30.0035 mm, 10 K warm: aluminium against a steel gauge, (23.1 - 11.5) ppm/K, is 3.480 um large.
    assert!(first[2][0].contains("seat-a@A0=30.00002 mm|"), "{}", first[2][0]);
    assert_eq!(exports(&import_all(&first).await).await, first);
}

/// A place that was measured again is spoken for by its newer reading alone.
#[tokio::test]
async fn a_reading_that_was_taken_again_stays_at_home() {
    let mut shop = Shop::stocked().await;
    shop.import(Table::Pieces, PIECE_COLUMNS, &["P-1|SH-30|used|A-1|||||||"]).await;
    measure(&shop, "A0 30.001mm A90 30.002mm", None).await;
    measure(&shop, "A0 29.999mm", None).await;
    let first = exports(&shop).await;
    let wanted = "|seat-a@A90=30.002 mm; seat-a@A0=29.999 mm|";
    assert!(first[2][0].contains(wanted), "{}", first[2][0]);
    let other = import_all(&first).await;
    assert_eq!(exports(&other).await, first);
    other.verify().await;
}

/// More than a page of items, lots and pieces.
#[tokio::test]
async fn an_export_goes_on_over_its_pages() {
    let mut shop = Shop::stocked().await;
    let lots = vec!["|PLATE|1|A-1||"; 1_203];
    assert_eq!(shop.import(Table::Lots, LOT_COLUMNS, &lots).await.counts(), (1_203, 1_203, 0));
    let rows = shop.export(Table::Lots).await;
    let wanted: Vec<String> =
        (1..=1_203).map(|number| format!("L-{number}|PLATE|1|A-1||")).collect();
    assert_eq!(rows, wanted);
}
