//! ISO 492 widths, run-outs and class 2 against published values.
//!
//! Goal: every tabulated width and run-out is given (`iso492_widths_and_run_outs.csv`), and every
//! value of every class agrees with a second published source, retyped from it
//! (`iso492_second_source.csv`); a finer class is never wider; refusals say what is allowed.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::collections::{BTreeMap, BTreeSet};

use tenths_domain::bearings::boundary::BoundaryDimensions;
use tenths_domain::bearings::iso492::{
    Iso492Error, ToleranceClass, inner_ring_run_out, mean_bore_deviations,
    mean_outside_diameter_deviations, outer_ring_run_out, ring_tolerances, ring_width_deviations,
};
use tenths_domain::units::{Entry, Length, Unit};

const TABULATED: &str = include_str!("golden/iso492_widths_and_run_outs.csv");
const SECOND: &str = include_str!("golden/iso492_second_source.csv");

type Row = BTreeMap<String, String>;

fn rows(text: &str) -> Vec<Row> {
    csv::Reader::from_reader(text.as_bytes()).deserialize().map(|row| row.unwrap()).collect()
}

fn mm(text: &str) -> Length {
    Entry::parse(text, Unit::Millimetre).unwrap().length
}

/// The two ends of a step and a size between them.
fn sizes(row: &Row) -> [Length; 3] {
    let (over, to) = (mm(&row["over_mm"]), mm(&row["to_incl_mm"]));
    let middle = Length::from_nm((over.nm() + to.nm()) / 2);
    [over + Length::from_nm(1), middle, to]
}

/// The value of a quantity as the tables write it: with its sign, in nanometres.
fn value(quantity: &str, size: Length, class: ToleranceClass) -> Result<i64, Iso492Error> {
    Ok(match quantity {
        "mean bore" => mean_bore_deviations(size, class)?.lower.nm(),
        "mean outside diameter" => mean_outside_diameter_deviations(size, class)?.lower.nm(),
        "ring width" | "ring width deviation lower (single bearing)" => {
            ring_width_deviations(size, class)?.lower.nm()
        }
        "ring width deviation upper" => ring_width_deviations(size, class)?.upper.nm(),
        "inner ring run-out" | "radial runout Kia max" => inner_ring_run_out(size, class)?.nm(),
        "outer ring run-out" | "radial runout Kea max" => outer_ring_run_out(size, class)?.nm(),
        other => panic!("{other} is no quantity of the tables"),
    })
}

fn check(row: &Row) {
    let class: ToleranceClass = row["class"].to_lowercase().parse().unwrap();
    let wanted = Entry::parse_signed(&row["value_um"], Unit::Micrometre).unwrap().length;
    for size in sizes(row) {
        assert_eq!(value(&row["quantity"], size, class).unwrap(), wanted.nm(), "{row:?}");
    }
}

#[test]
fn every_tabulated_width_and_run_out_is_given() {
    let all = rows(TABULATED);
    assert_eq!(all.len(), 185);
    all.iter().for_each(check);
}

#[test]
fn every_value_agrees_with_a_second_published_source() {
    let all = rows(SECOND);
    assert_eq!(all.len(), 392);
    all.iter().for_each(check);
    // Nothing is left that only the first source vouches for: every class and quantity is there.
    let covered: BTreeSet<(&str, &str)> =
        all.iter().map(|row| (row["class"].as_str(), row["quantity"].as_str())).collect();
    assert_eq!(covered.len(), 5 * 5);
}

#[test]
fn a_finer_class_is_never_wider_and_runs_no_further_out() {
    let quantities = [
        "mean bore",
        "mean outside diameter",
        "ring width",
        "inner ring run-out",
        "outer ring run-out",
    ];
    for quantity in quantities {
        for um in (2_500..=250_000).step_by(500) {
            let size = Length::from_nm(um * 1_000);
            let values: Vec<i64> = ToleranceClass::ALL
                .iter()
                .map(|&class| value(quantity, size, class).unwrap().abs())
                .collect();
            assert!(values.is_sorted_by(|wider, finer| wider >= finer), "{quantity} {um}");
        }
    }
}

#[test]
fn one_answer_holds_all_of_a_bearing_and_names_its_source() {
    let sizes =
        BoundaryDimensions { bore: mm("160"), outside_diameter: mm("290"), width: mm("48") };
    let rings = ring_tolerances(&sizes, ToleranceClass::Class2).unwrap();
    let nm = |um: i64| Length::from_nm(um * 100);
    assert_eq!((rings.bore.lower, rings.outside_diameter.lower), (nm(-70), nm(-80)));
    assert_eq!(rings.width.lower, nm(-2_500));
    assert_eq!((rings.inner_ring_run_out, rings.outer_ring_run_out), (nm(50), nm(70)));
    assert!(rings.source.contains("ISO 492:2014") && rings.source.contains("Tables 1 to 12"));
    assert!(!rings.is_unconfirmed);
}

#[test]
fn a_size_outside_the_table_of_its_class_is_refused_with_what_is_allowed() {
    for (quantity, size, class, wanted) in [
        ("ring width", "250.001", "2", "class 2 has no ring width at a bore of 250.001 mm"),
        ("ring width", "250.001", "4", "allowed: 0.6 mm to 250 mm"),
        ("inner ring run-out", "0.5", "normal", "allowed: 0.6 mm to 500 mm"),
        ("outer ring run-out", "2.4", "5", "allowed: 2.5 mm to 800 mm"),
        ("mean outside diameter", "401", "2", "allowed: 2.5 mm to 400 mm"),
    ] {
        let error = value(quantity, mm(size), class.parse().unwrap()).unwrap_err();
        assert!(error.to_string().contains(wanted), "{error}");
    }
}
