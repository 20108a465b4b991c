//! Goal: what is wrong with a row by itself is told with its column, all of it, before the shop is
//! asked. Method: one bad row a case; the columns that are named and a word of the reason.

use super::shop::{ITEM_COLUMNS, LOT_COLUMNS, PIECE_COLUMNS, Shop, row};
use crate::app::Error;
use crate::app::transfer::{COLUMNS_MAX, Table};

/// `told` is each column in order with a word of its reason.
async fn check(shop: &Shop, columns: &str, text: &str, told: &[(&str, &str)]) {
    let mut import = shop.begin(columns).await.unwrap();
    let bad = import.take(vec![row(7, text)]).await.unwrap();
    let found: Vec<&str> = bad.iter().map(|bad| bad.column.as_str()).collect();
    let wanted: Vec<&str> = told.iter().map(|(column, _)| *column).collect();
    assert_eq!(found, wanted, "{text}: {bad:?}");
    for (bad, (_, word)) in bad.iter().zip(told) {
        assert!(bad.reason.contains(word) && bad.line == 7, "{text}: {bad:?}");
    }
}

#[tokio::test]
async fn lots() {
    let shop = Shop { table: Table::Lots, ..Shop::open().await };
    for (text, told) in [
        ("L-1|BRG|4|A-1|2025-03|4.75 USD", &[][..]),
        ("|BRG|1|A-1||", &[]),
        (" L-1 | BRG | 4 | A-1 | | ", &[]),
        ("L 1|BRG|4|A-1||", &[("tag", "no tag or code")]),
        (
            "L-1||||2025-3|",
            &[
                ("item", "required"),
                ("quantity", "required"),
                ("location", "required"),
                ("date_code", "YYYY-MM"),
            ],
        ),
        ("|BRG|minus|A-1||", &[("quantity", "1 to 1000000")]),
        ("|BRG|+4|A-1||", &[("quantity", "whole numbers")]),
        ("|BRG|0|A-1||", &[("quantity", "1 to")]),
        ("|BRG|1000001|A-1||", &[("quantity", "to 1000000")]),
        ("|BRG|4|A-1|2025-13|4.75", &[("date_code", "01 to 12"), ("unit_cost", "currency")]),
        ("|BRG|4|A-1||-1 USD", &[("unit_cost", "below zero")]),
        ("L-1|BRG|4", &[("location", "3 cells for 6 columns")]),
        ("L-1|BRG|4|A-1|||", &[("unit_cost", "7 cells for 6 columns")]),
    ] {
        check(&shop, LOT_COLUMNS, text, told).await;
    }
    let long = format!("L-1|BRG|4|A-1||{}", "9".repeat(2_001));
    check(&shop, LOT_COLUMNS, &long, &[("unit_cost", "at most 2000")]).await;
}

#[tokio::test]
async fn items() {
    let shop = Shop { table: Table::Items, ..Shop::open().await };
    for (text, told) in [
        ("S|shaft|a shaft|||||||||||||||", &[("no_substitute", "18 cells for 17 columns")][..]),
        ("S|shaft|a shaft||||||||||||||", &[]),
        ("S|shaft", &[("description", "2 cells for 17 columns")]),
        (
            "|axle||62 05|tin||||||||||||",
            &[
                ("code", "required"),
                ("kind", "shaft, rolling_bearing"),
                ("description", "required"),
                ("designation", "no tag or code"),
                ("material", "steel, aluminium"),
            ],
        ),
        ("S|shaft|a||||journal|1 in|||||||||", &[("feature", "feature_kind is given")]),
        ("S|shaft|a|||seat|||||||||||", &[("feature_kind", "required"), ("nominal", "required")]),
        (
            "S|shaft|a|||Seat|neck|25|q9|-1 mm|x|0 mm|1e3 mm|R1|||",
            &[
                ("feature", "a-z 0-9"),
                ("feature_kind", "journal, rolling_seat"),
                ("nominal", "unit"),
                ("tolerance", "ring:normal"),
                ("wear_limit", "sign"),
                ("recondition_limit", "not a length"),
                ("out_of_round_limit", "zero"),
                ("taper_limit", "exponent"),
                ("reference_station", "1 to 3 letters"),
            ],
        ),
        // A class for a hole on a shaft, limits the wrong way round, a ring where there is none.
        ("S|shaft|a|||seat|journal|25 mm|H7||||||||", &[("tolerance", "a journal takes")]),
        ("S|shaft|a|||seat|journal|25 mm|25..24 mm||||||||", &[("tolerance", "above the largest")]),
        (
            "S|shaft|a|||seat|journal|25 mm|ring:normal||||||||",
            &[("tolerance", "outside_diameter")],
        ),
        ("S|shaft|a|||||||||||||13|no", &[("set_of", "1 to 12"), ("no_substitute", "yes")]),
        ("S|shaft|a\tb||||||||||||||", &[("description", "plain text")]),
    ] {
        check(&shop, ITEM_COLUMNS, text, told).await;
    }
    let long = format!("S|shaft|{}||||||||||||||", "x".repeat(501));
    check(&shop, ITEM_COLUMNS, &long, &[("description", "at most 500")]).await;
}

#[tokio::test]
async fn pieces() {
    let shop = Shop { table: Table::Pieces, ..Shop::open().await };
    for (text, told) in [
        ("|SH|used|A-1|||||||", &[][..]),
        ("P-1|SH|new|A-1|steel|58 HRC|no|in_stock|M-07|seat=30 mm; seat@B90=29.999 mm|ok", &[]),
        ("|SH|used|A-1|||||| ; |", &[]),
        ("|SH|used|A-1||||||seat=30 mm by M-07|", &[]),
        ("P#|||", &[("material", "4 cells for 11 columns")]),
        (
            "P#|||||||||seat|",
            &[
                ("tag", "no tag or code"),
                ("item", "required"),
                ("condition", "required"),
                ("location", "required"),
                ("dimensions", "has no ="),
            ],
        ),
        (
            "|SH|old|A-1|tin||maybe|scrapped|||",
            &[
                ("condition", "new, used, reconditioned"),
                ("material", "steel"),
                ("built_up", "unknown, yes, no"),
                ("state", "allowed: inspection, in_stock"),
            ],
        ),
        ("|SH|used|A-1||||||seat=30 mm|", &[("gauge", "name the gauge")]),
        ("|SH|used|A-1|||||M-07|seat@A0=30|", &[("dimensions", "unit")]),
    ] {
        check(&shop, PIECE_COLUMNS, text, told).await;
    }
    // A cell that holds many readings may be long.
    let many = format!("|SH|used|A-1|||||M-07|{}|", "seat@A0=30.0000 mm; ".repeat(1_000));
    check(&shop, PIECE_COLUMNS, &many, &[]).await;
}

async fn refused(table: Table, columns: &str) -> Vec<String> {
    let shop = Shop { table, ..Shop::open().await };
    match shop.begin(columns).await.err() {
        Some(Error::Invalid(violations)) => {
            assert!(violations.iter().all(|one| one.field == "columns"));
            violations.into_iter().map(|one| one.problem).collect()
        }
        other => panic!("{columns}: {other:?}"),
    }
}

#[tokio::test]
async fn a_header_is_refused_with_every_name_that_is_wrong() {
    let problems = refused(Table::Lots, "tag|item|colour|tag").await;
    assert_eq!(
        problems[..2],
        [
            "\"colour\" is not a column here; allowed: tag, item, quantity, location, date_code, unit_cost",
            "tag is there twice; each column is allowed once",
        ]
    );
    assert!(
        problems[2].starts_with("quantity is missing")
            && problems[3].starts_with("location is missing")
    );
    let many = "tag|".repeat(COLUMNS_MAX) + "item";
    assert!(refused(Table::Lots, &many).await[0].starts_with("65 columns are too many"));
    assert!(refused(Table::Items, "").await.concat().contains("code is missing"));
}

/// Columns may stand in any order, and those that say nothing may be left out.
#[tokio::test]
async fn columns_stand_in_any_order() {
    let mut shop = Shop::stocked().await;
    let columns = "location|quantity|item";
    let ended = shop.import(Table::Lots, columns, &["A-1|4|BRG-6205", "B-2|5|PLATE"]).await;
    assert_eq!(ended.counts(), (2, 2, 0), "{ended:?}");
    assert_eq!(shop.export(Table::Lots).await, ["L-1|BRG-6205|4|A-1||", "L-2|PLATE|5|B-2||"]);
}
