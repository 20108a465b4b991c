//! Examples that others worked and published, each named, against ISO 286 as the crate holds it.
//!
//! Goal: the rules are used as the people who teach them use them. The large fits are worked here
//! from cells that were read, to show that a class pair goes to the end of the standard.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

mod iso286_support;

use iso286_support::{Row, rows, um};
use tenths_domain::fit::Requirement;
use tenths_domain::iso286::deviations;
use tenths_domain::units::Length;

const EXAMPLES: &str = include_str!("golden/iso286_worked_examples.csv");
const FITS: &str = include_str!("golden/iso286_worked_fits.csv");

fn nominal(row: &Row) -> Length {
    Length::from_nm(row["nominal_mm"].parse::<i64>().unwrap() * 1_000_000)
}

#[test]
fn every_worked_limit_is_met() {
    let examples = rows(EXAMPLES);
    assert!(examples.len() >= 18, "{}", examples.len());
    for row in &examples {
        assert!(!row["source"].is_empty() && !row["source"].contains("memory"), "{row:?}");
        let found = deviations(nominal(row), &row["class"].parse().unwrap()).unwrap();
        let wanted = (um(&row["lower_um"]), um(&row["upper_um"]));
        assert_eq!((found.lower.nm(), found.upper.nm()), wanted, "{}", row["example"]);
    }
}

#[test]
fn every_worked_fit_has_its_kind_and_its_extreme_clearances() {
    let fits = rows(FITS);
    assert!(fits.len() >= 8, "{}", fits.len());
    for row in &fits {
        assert!(!row["source"].is_empty());
        let fit: Requirement = row["fit"].parse().unwrap();
        let window = fit.window(nominal(row), None).unwrap();
        let wanted = (um(&row["clearance_min_um"]), um(&row["clearance_max_um"]));
        assert_eq!((window.min.nm(), window.max.nm()), wanted, "{}", row["example"]);
        assert_eq!(window.kind().to_string(), row["kind"], "{}", row["example"]);
    }
}

#[test]
fn a_pair_of_classes_outside_the_standard_is_refused() {
    let fit: Requirement = "H7/k6".parse().unwrap();
    let error = fit.window(Length::from_nm(3_150_000_001), None).unwrap_err().to_string();
    assert_eq!(error, "nominal size 3150.000001 mm is not covered; allowed: over 0 to 3150 mm");
    let fit: Requirement = "H7/x6".parse().unwrap();
    let error = fit.window(Length::from_nm(600_000_000), None).unwrap_err().to_string();
    assert!(error.contains("the nearest that does is u6"), "{error}");
}
