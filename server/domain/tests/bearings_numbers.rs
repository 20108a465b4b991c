//! Bearing numbers against published sizes, and back again.
//!
//! Goal: every number gives the tabulated sizes and says whether they are confirmed; every number
//! is found again from its sizes; the numbers read in other published tables agree.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::collections::BTreeMap;

use proptest::prelude::*;
use tenths_domain::bearings::boundary::{
    BoundaryDimensions, by_dimensions, by_dimensions_within, nearest_by_dimensions,
};
use tenths_domain::bearings::designation::parse;
use tenths_domain::units::{Entry, Length, Unit};

const CODED: &str = include_str!("golden/iso492_boundary_dimensions.csv");
const WRITTEN: &str = include_str!("golden/bearings_written_bores.csv");
const LARGE: &str = include_str!("golden/bearings_large_codes.csv");
const PUBLISHED: &str = include_str!("golden/bearings_published_dimensions.csv");
const HOUSINGS: &str = include_str!("golden/seats_repair_housings.csv");

type Row = BTreeMap<String, String>;

fn rows(text: &str) -> Vec<Row> {
    csv::Reader::from_reader(text.as_bytes()).deserialize().map(|row| row.unwrap()).collect()
}

fn mm(text: &str) -> Length {
    Entry::parse(text, Unit::Millimetre).unwrap().length
}

fn sizes(row: &Row) -> BoundaryDimensions {
    BoundaryDimensions {
        bore: mm(&row["bore_mm"]),
        outside_diameter: mm(&row["od_mm"]),
        width: mm(&row["width_mm"]),
    }
}

/// Every number kept, in every spelling of its row.
fn numbers() -> Vec<String> {
    let coded = rows(CODED).into_iter().map(|row| row["basic_number"].clone());
    let others = rows(WRITTEN).into_iter().chain(rows(LARGE));
    coded.chain(others.map(|row| row["number"].clone())).collect()
}

#[test]
fn every_written_bore_and_large_code_gives_its_sizes_and_says_whether_they_are_confirmed() {
    let (written, large) = (rows(WRITTEN), rows(LARGE));
    assert_eq!((written.len(), large.len()), (57, 53));
    for row in written.into_iter().chain(large) {
        let found = parse(&row["number"]).unwrap();
        assert_eq!(found.dimensions, sizes(&row), "{row:?}");
        assert_eq!(found.is_unconfirmed, row["obtained"] == "from memory", "{row:?}");
    }
}

#[test]
fn numbers_read_in_other_published_tables_agree_and_are_confirmed() {
    let all = rows(PUBLISHED);
    assert_eq!(all.len(), 114);
    for row in all {
        let found = parse(&row["number"]).unwrap();
        assert_eq!(found.dimensions, sizes(&row), "{row:?}");
        assert!(!found.is_unconfirmed, "{row:?}");
        assert!(found.source.starts_with("ISO 15:2017"));
    }
}

#[test]
fn the_repair_practice_lists_the_same_outside_diameters() {
    for row in rows(HOUSINGS) {
        let found = parse(&row["number"]).unwrap();
        assert_eq!(found.dimensions.outside_diameter, mm(&row["min_mm"]), "{row:?}");
    }
}

#[test]
fn only_what_was_read_in_a_table_is_confirmed() {
    let unconfirmed: Vec<String> = rows(CODED)
        .into_iter()
        .map(|row| row["basic_number"].clone())
        .filter(|number| parse(number).unwrap().is_unconfirmed)
        .collect();
    let wanted = (6807..=6809).chain(6811..=6820).chain(6909..=6920);
    assert_eq!(unconfirmed, wanted.map(|number| number.to_string()).collect::<Vec<_>>());
}

#[test]
fn a_number_is_found_again_from_its_sizes() {
    for number in numbers() {
        let bearing = parse(&number).unwrap();
        let BoundaryDimensions { bore, outside_diameter, width } = bearing.dimensions;
        let found = by_dimensions(bore, Some(outside_diameter), Some(width));
        assert_eq!(found, std::slice::from_ref(&bearing.basic), "{number}");
        assert_eq!(parse(&found[0]).unwrap().dimensions, bearing.dimensions);
        assert!(by_dimensions(bore, None, None).contains(&bearing.basic));
        let nearest = nearest_by_dimensions(bore, Some(outside_diameter), None);
        assert_eq!((nearest.off, nearest.dimensions.bore), (Length::ZERO, bore));
    }
}

#[test]
fn no_two_numbers_share_all_their_sizes() {
    let mut seen = BTreeMap::new();
    for number in numbers() {
        let bearing = parse(&number).unwrap();
        let BoundaryDimensions { bore, outside_diameter, width } = bearing.dimensions;
        let other = seen.insert((bore, outside_diameter, width), bearing.basic.clone());
        assert_eq!(other, None, "{number}");
    }
    assert_eq!(seen.len(), 105 + 57 + 53);
}

#[test]
fn the_bore_grows_with_the_code_and_the_series_grow_in_order() {
    for code in 0..=20 {
        let outside =
            |series: u32| parse(&format!("{series}{code:02}")).unwrap().dimensions.outside_diameter;
        let ordered: Vec<Length> = [68, 69, 60, 62, 63].map(outside).into();
        assert!(ordered.is_sorted_by(|small, large| small < large), "{code}");
        let bore = parse(&format!("62{code:02}")).unwrap().dimensions.bore;
        let wanted = [10, 12, 15, 17].get(code).copied().unwrap_or(5 * code as i64);
        assert_eq!(bore, Length::from_nm(wanted * 1_000_000));
    }
}

proptest! {
    #[test]
    fn a_measured_bearing_is_found_within_its_tolerance_and_no_further(
        index in 0..215_usize,
        off_um in prop::array::uniform3(-40_i64..=40),
    ) {
        let bearing = parse(&numbers()[index]).unwrap();
        let BoundaryDimensions { bore, outside_diameter, width } = bearing.dimensions;
        let [a, b, c] = off_um.map(|um| Length::from_nm(um * 1_000));
        let largest = off_um.iter().map(|um| um.abs()).max().unwrap();
        let ask = |um: i64| {
            let tolerance = Length::from_nm(um * 1_000);
            by_dimensions_within(bore + a, Some(outside_diameter + b), Some(width + c), tolerance)
        };
        let found = ask(largest);
        prop_assert_eq!(found.len(), 1);
        prop_assert_eq!(&found[0].basic, &bearing.basic);
        prop_assert_eq!(found[0].is_unconfirmed, bearing.is_unconfirmed);
        prop_assert!(ask(largest - 1).is_empty());
    }

    #[test]
    fn any_text_is_read_or_refused_with_a_number_that_is_known(text in "\\PC{0,24}") {
        match parse(&text) {
            Ok(found) => prop_assert!(text.contains(&found.suffix)),
            Err(error) => prop_assert!(parse(&error.nearest).is_ok()),
        }
    }

    #[test]
    fn a_suffix_never_changes_the_bearing(index in 0..215_usize, suffix in "[A-Z0-9/ -]{0,10}") {
        let number = &numbers()[index];
        let plain = parse(number).unwrap();
        let found = parse(&format!("{number}-{suffix}")).unwrap();
        prop_assert_eq!(found.basic, plain.basic);
        let read = found.clearance.is_some() || found.closure.is_some();
        prop_assert_eq!(read || !found.uninterpreted.is_empty(), !found.suffix.trim().is_empty());
    }
}
