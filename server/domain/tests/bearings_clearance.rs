//! ISO 5753-1 internal clearance against published values.
//!
//! Goal: every tabulated group and bore is given, also those read in second tables, and each says
//! whether it is confirmed; the groups lie in order; a bore outside is refused with the nearest.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::collections::BTreeMap;

use tenths_domain::bearings::iso5753::{ClearanceGroup, radial_internal_clearance};
use tenths_domain::units::{Entry, Length, Unit};

const GOLDEN: &str = include_str!("golden/bearings_internal_clearance.csv");

type Row = BTreeMap<String, String>;

fn rows() -> Vec<Row> {
    csv::Reader::from_reader(GOLDEN.as_bytes()).deserialize().map(|row| row.unwrap()).collect()
}

fn mm(text: &str) -> Length {
    Entry::parse(text, Unit::Millimetre).unwrap().length
}

#[test]
fn every_tabulated_clearance_is_given() {
    let all = rows();
    assert_eq!(all.len(), 111);
    for row in all {
        let group: ClearanceGroup = row["group"].parse().unwrap();
        for bore in [mm(&row["over_mm"]) + Length::from_nm(1), mm(&row["to_incl_mm"])] {
            let found = radial_internal_clearance(bore, group).unwrap();
            let um = |column: &str| Length::from_nm(row[column].parse::<i64>().unwrap() * 1_000);
            assert_eq!((found.min, found.max), (um("min_um"), um("max_um")), "{row:?}");
            assert_eq!(found.is_unconfirmed, row["is_unconfirmed"] == "yes", "{row:?}");
            assert!(found.source.starts_with("ISO 5753-1:2009"));
        }
    }
}

#[test]
fn each_group_begins_and_ends_above_the_one_before() {
    for mm in 7..=200 {
        let found: Vec<(Length, Length)> = ClearanceGroup::ALL
            .iter()
            .map(|&group| {
                radial_internal_clearance(Length::from_nm(mm * 1_000_000), group).unwrap()
            })
            .map(|found| (found.min, found.max))
            .collect();
        assert!(found.iter().all(|(min, max)| min < max), "{mm}");
        assert!(found.is_sorted_by(|a, b| a.0 < b.0 && a.1 < b.1), "{mm}");
        // Neighbouring groups overlap: a bearing of one may measure as one of the next.
        assert!(found.windows(2).all(|pair| pair[1].0 < pair[0].1), "{mm}");
    }
}

#[test]
fn a_larger_bore_never_has_less_clearance() {
    for &group in ClearanceGroup::ALL {
        let found: Vec<_> = (7..=200)
            .map(|mm| radial_internal_clearance(Length::from_nm(mm * 1_000_000), group).unwrap())
            .map(|found| (found.min, found.max))
            .collect();
        assert!(found.is_sorted_by(|a, b| a.0 <= b.0 && a.1 <= b.1), "{group}");
    }
}

#[test]
fn a_bore_outside_is_refused_with_the_nearest() {
    for (bore, group, wanted) in [
        (
            "2.5",
            "C3",
            "no group C3 for a bore of 2.5 mm; allowed: over 2.5 mm to 200 mm; nearest: 3 mm",
        ),
        ("200.001", "CN", "allowed: over 2.5 mm to 200 mm; nearest: 200 mm"),
        ("6", "C4", "no group C4 for a bore of 6 mm; allowed: over 6 mm to 200 mm; nearest: 7 mm"),
    ] {
        let error = radial_internal_clearance(mm(bore), group.parse().unwrap()).unwrap_err();
        assert!(error.to_string().contains(wanted), "{error}");
        assert!(radial_internal_clearance(error.nearest, error.group).is_ok());
    }
    assert!(radial_internal_clearance(Length::from_nm(i64::MIN), ClearanceGroup::Cn).is_err());
}
