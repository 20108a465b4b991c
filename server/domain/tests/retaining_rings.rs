//! Retaining-ring grooves against published tables, and back from measured grooves.
//!
//! Goal: every tabulated groove is given and says whether its sources agree; the rows of second
//! published tables agree; a groove is found again from its own sizes; refusals name the nearest.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::collections::BTreeMap;

use tenths_domain::iso286;
use tenths_domain::retaining_rings::{RingKind, groove, nearest_groove};
use tenths_domain::units::{Entry, Length, Unit};

const GOLDEN: &str = include_str!("golden/retaining_grooves.csv");
const PUBLISHED: &str = include_str!("golden/retaining_published.csv");

type Row = BTreeMap<String, String>;

fn rows(text: &str) -> Vec<Row> {
    csv::Reader::from_reader(text.as_bytes()).deserialize().map(|row| row.unwrap()).collect()
}

fn mm(text: &str) -> Length {
    Entry::parse(text, Unit::Millimetre).unwrap().length
}

#[test]
fn every_tabulated_groove_is_given() {
    let all = rows(GOLDEN);
    assert_eq!(all.len(), 171);
    for row in all {
        let found = groove(mm(&row["nominal_mm"]), row["kind"].parse().unwrap()).unwrap();
        assert_eq!(found.ring_thickness, mm(&row["ring_mm"]), "{row:?}");
        assert_eq!(found.diameter, mm(&row["groove_mm"]), "{row:?}");
        assert_eq!(found.diameter_class.to_string(), row["class"], "{row:?}");
        assert_eq!(found.width, mm(&row["width_mm"]), "{row:?}");
        assert_eq!(found.is_unconfirmed, row["is_unconfirmed"] == "yes", "{row:?}");
        assert!(row["source"].starts_with(&found.source[..15]), "{row:?}");
        let class = found.diameter_class;
        assert_eq!(found.diameter_limits, iso286::limits(found.diameter, &class).unwrap());
        let h13 = "H13".parse().unwrap();
        assert_eq!(found.width_limits, iso286::limits(found.width, &h13).unwrap());
    }
}

#[test]
fn the_rows_of_second_published_tables_agree() {
    let all = rows(PUBLISHED);
    assert_eq!(all.len(), 186);
    for row in all {
        let found = groove(mm(&row["nominal_mm"]), row["kind"].parse().unwrap()).unwrap();
        assert_eq!(found.ring_thickness, mm(&row["ring_mm"]), "{row:?}");
        assert_eq!(found.diameter, mm(&row["groove_mm"]), "{row:?}");
        if !row["width_mm"].is_empty() {
            assert_eq!(found.width, mm(&row["width_mm"]), "{row:?}");
        }
    }
}

#[test]
fn a_confirmed_row_stands_in_a_second_table() {
    let published = rows(PUBLISHED);
    for row in rows(GOLDEN).iter().filter(|row| row["is_unconfirmed"] == "no") {
        let same = |other: &&Row| {
            other["kind"] == row["kind"] && mm(&other["nominal_mm"]) == mm(&row["nominal_mm"])
        };
        assert!(published.iter().any(|other| same(&other)), "{row:?}");
    }
}

#[test]
fn a_groove_lies_inside_the_part_and_takes_its_ring() {
    for row in rows(GOLDEN) {
        let kind: RingKind = row["kind"].parse().unwrap();
        let found = groove(mm(&row["nominal_mm"]), kind).unwrap();
        match kind {
            RingKind::Shaft => assert!(found.diameter_limits.upper < found.nominal),
            RingKind::Bore => assert!(found.diameter_limits.lower > found.nominal),
        }
        assert!(found.width > found.ring_thickness, "{row:?}");
    }
}

#[test]
fn a_groove_is_found_again_from_its_sizes_at_both_ends_of_its_limits() {
    for row in rows(GOLDEN) {
        let kind: RingKind = row["kind"].parse().unwrap();
        let wanted = groove(mm(&row["nominal_mm"]), kind).unwrap();
        for diameter in
            [wanted.diameter, wanted.diameter_limits.lower, wanted.diameter_limits.upper]
        {
            let found = nearest_groove(diameter, Some(wanted.width_limits.upper), kind).unwrap();
            assert_eq!(found.groove, wanted, "{row:?}");
            assert_eq!(found.diameter_off, diameter - wanted.diameter);
            assert!(found.is_within_limits, "{row:?}");
        }
        let wide = wanted.width_limits.upper + Length::from_nm(1);
        assert!(!nearest_groove(wanted.diameter, Some(wide), kind).unwrap().is_within_limits);
        let nearest = nearest_groove(wanted.diameter, None, kind).unwrap();
        assert_eq!((nearest.groove, nearest.width_off), (wanted, None));
    }
}

#[test]
fn a_size_without_a_ring_is_refused_with_the_nearest() {
    for (text, kind, wanted) in [
        ("23.5", RingKind::Shaft, "DIN 471 has no ring for 23.5 mm here; nearest: 22 mm and 24 mm"),
        ("2.9", RingKind::Shaft, "nearest: 3 mm; kept: 3 mm to 300 mm"),
        ("7", RingKind::Bore, "nearest: 8 mm; kept: 8 mm to 300 mm"),
        ("301", RingKind::Bore, "nearest: 300 mm; kept: 8 mm to 300 mm"),
        (
            "101",
            RingKind::Bore,
            "DIN 472 has no ring for 101 mm here; nearest: 100 mm and 102 mm; kept",
        ),
    ] {
        let error = groove(mm(text), kind).unwrap_err().to_string();
        assert!(error.contains(wanted), "{error}");
    }
}
