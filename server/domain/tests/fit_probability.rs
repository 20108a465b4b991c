//! The probability of a fit against SciPy.
//!
//! Goal: on 1,000 random fits (measured, toleranced and bounded sides, gauges from 1 nm to 9 um)
//! the closed form agrees with SciPy's quadrature to 1e-9 relative or 1e-12 absolute. Method:
//! `golden/fit_probability.csv`, made by `golden/fit_probability.py` from the definition.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::collections::BTreeMap;

use tenths_domain::fit::{ClearanceWindow, SizeBelief, judge};
use tenths_domain::item::Limits;
use tenths_domain::units::Length;

const GOLDEN: &str = include_str!("golden/fit_probability.csv");

type Row = BTreeMap<String, String>;

fn belief(row: &Row, side: &str) -> SizeBelief {
    let length = |column: &str| Length::from_nm(row[&format!("{side}_{column}")].parse().unwrap());
    let (lower, upper, uncertainty) = (length("low_nm"), length("high_nm"), length("u_nm"));
    match row[&format!("{side}_kind")].as_str() {
        "measured" => SizeBelief::measured(lower, upper, uncertainty),
        "toleranced" => SizeBelief::toleranced(Limits { lower, upper }),
        "bound" => SizeBelief::bound(Some(lower), Some(upper), uncertainty),
        other => panic!("{other}"),
    }
    .unwrap()
}

#[test]
fn a_thousand_random_fits_agree_with_scipy() {
    let mut compared = 0;
    for row in csv::Reader::from_reader(GOLDEN.as_bytes()).deserialize::<Row>() {
        let row = row.unwrap();
        let end = |column: &str| Length::from_nm(row[column].parse().unwrap());
        let window = ClearanceWindow::new(end("window_min_nm"), end("window_max_nm")).unwrap();
        let found = judge(&belief(&row, "hole"), &belief(&row, "shaft"), window);
        let wanted: f64 = row["probability"].parse().unwrap();
        let found = found.judgement.probability_in;
        let miss = (found - wanted).abs();
        assert!(miss <= 1e-12 || miss <= 1e-9 * wanted, "{row:?}: {found:e}, off by {miss:e}");
        compared += 1;
    }
    assert_eq!(compared, 1_000);
}
