//! ISO 492 ring deviations and ISO 15 boundary dimensions against published values.
//!
//! Goal: every value of the crate's tables is the tabulated one (`iso492_mean_deviations.csv`,
//! `iso492_boundary_dimensions.csv`, with how each row was obtained), and the Normal class agrees
//! with a second published table (`iso492_published.csv`). Walked exhaustively.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::collections::BTreeMap;

use tenths_domain::bearings::designation;
use tenths_domain::bearings::iso492::{
    ToleranceClass, mean_bore_deviations, mean_outside_diameter_deviations,
};
use tenths_domain::iso286::Deviations;
use tenths_domain::units::{Entry, Length, Unit};

const DEVIATIONS: &str = include_str!("golden/iso492_mean_deviations.csv");
const PUBLISHED: &str = include_str!("golden/iso492_published.csv");
const DIMENSIONS: &str = include_str!("golden/iso492_boundary_dimensions.csv");

type Row = BTreeMap<String, String>;

fn rows(text: &str) -> Vec<Row> {
    csv::Reader::from_reader(text.as_bytes()).deserialize().map(|row| row.unwrap()).collect()
}

fn mm(text: &str) -> Length {
    Entry::parse(text, Unit::Millimetre).unwrap().length
}

fn sizes(row: &Row) -> [Length; 2] {
    [mm(&row["over_mm"]) + Length::from_nm(1), mm(&row["to_incl_mm"])]
}

fn deviations(is_bore: bool, size: Length, class: ToleranceClass) -> Option<Deviations> {
    match is_bore {
        true => mean_bore_deviations(size, class).ok(),
        false => mean_outside_diameter_deviations(size, class).ok(),
    }
}

fn class_named(text: &str) -> ToleranceClass {
    text.to_lowercase().parse().unwrap()
}

#[test]
fn every_tabulated_deviation_is_given() {
    let all = rows(DEVIATIONS);
    assert_eq!(all.len(), 194);
    for row in all {
        let is_bore = row["quantity"].contains("bore");
        for size in sizes(&row) {
            let found = deviations(is_bore, size, class_named(&row["class"])).unwrap();
            let edge = if row["quantity"].ends_with("upper") { found.upper } else { found.lower };
            assert_eq!(edge.nm(), row["value_um"].parse::<i64>().unwrap() * 1_000, "{row:?}");
        }
    }
}

#[test]
fn the_normal_class_agrees_with_a_second_published_table() {
    for row in rows(PUBLISHED) {
        for size in sizes(&row) {
            let is_bore = row["diameter"] == "mean bore";
            let found = deviations(is_bore, size, class_named(&row["class"])).unwrap();
            let wanted = ["lower_um", "upper_um"].map(|c| row[c].parse::<i64>().unwrap() * 1_000);
            assert_eq!([found.lower.nm(), found.upper.nm()], wanted, "{row:?}");
        }
    }
}

#[test]
fn a_size_outside_the_table_of_its_class_is_refused_with_what_is_allowed() {
    for (bore, class, wanted) in [
        ("0.5999", ToleranceClass::Normal, "allowed: 0.6 mm to 500 mm"),
        ("500.0001", ToleranceClass::Class6, "allowed: 0.6 mm to 500 mm"),
        ("400.0001", ToleranceClass::Class5, "allowed: 0.6 mm to 400 mm"),
        ("250.0001", ToleranceClass::Class4, "class 4 has no mean bore of 250.0001 mm"),
    ] {
        let message = mean_bore_deviations(mm(bore), class).unwrap_err().to_string();
        assert!(message.contains(wanted), "{message}");
    }
    let message = mean_outside_diameter_deviations(mm("400.1"), ToleranceClass::Class4)
        .unwrap_err()
        .to_string();
    assert!(message.contains("mean outside diameter"), "{message}");
    assert!(message.contains("allowed: 2.5 mm to 400 mm"), "{message}");
}

#[test]
fn a_finer_class_is_never_wider() {
    for row in rows(DEVIATIONS) {
        for size in sizes(&row) {
            for is_bore in [true, false] {
                let widths = ToleranceClass::ALL.iter().filter_map(|&class| {
                    deviations(is_bore, size, class).map(|found| found.upper - found.lower)
                });
                assert!(widths.collect::<Vec<_>>().is_sorted_by(|a, b| a >= b));
            }
        }
    }
}

#[test]
fn every_basic_number_gives_its_boundary_dimensions() {
    let all = rows(DIMENSIONS);
    assert_eq!(all.len(), 5 * 21);
    for row in all {
        let basic = &row["basic_number"];
        let mut written = vec![basic.clone()];
        if basic.starts_with("68") || basic.starts_with("69") {
            written.push(basic.replacen("6", "61", 1));
        }
        for text in written {
            let found = designation::parse(&text).unwrap();
            assert_eq!(&found.basic, basic);
            let wanted = ["bore_mm", "od_mm", "width_mm"].map(|column| mm(&row[column]));
            let found = found.dimensions;
            assert_eq!([found.bore, found.outside_diameter, found.width], wanted, "{text}");
        }
    }
}
