//! Goal: an assessment says what its readings say, no more. Method: small journals and bores with
//! known answers, and properties over random readings.

#![allow(clippy::unwrap_used, reason = "a failing unwrap fails the test, in its helpers too")]

use proptest::prelude::*;
use tenths_domain::item::Side;
use tenths_domain::measure::{
    Assessment, Basis, ExpandedUncertainty, MeasureError, Reading, WearBasis, assess,
    parse_readings,
};
use tenths_domain::units::{Length, Unit};

fn inch(text: &str) -> Length {
    tenths_domain::units::Entry::parse_signed(text, Unit::Inch).unwrap().length
}

/// Readings from their line, each with U = 0.0001 in.
fn readings(line: &str) -> Vec<Reading> {
    let entered = parse_readings(line, Some(Unit::Inch)).unwrap();
    let reading = |entered: tenths_domain::measure::EnteredReading| Reading {
        station: entered.station,
        orientation_deg: entered.orientation_deg,
        value_at_20c: entered.entry.length,
        expanded_uncertainty: ExpandedUncertainty::new(inch("0.0001")).unwrap(),
        resolution: entered.entry.resolution,
    };
    entered.into_iter().map(reading).collect()
}

fn basis(side: Side, reference_station: Option<&str>, nominal: Option<&str>) -> Basis {
    Basis {
        side,
        nominal: nominal.map(inch),
        reference_station: reference_station.map(str::to_owned),
    }
}

fn journal(line: &str) -> Assessment {
    assess(&readings(line), &basis(Side::External, Some("ref"), Some("0.9375"))).unwrap()
}

#[test]
fn the_reference_station_is_the_basis_and_nothing_else() {
    let found = journal("REF0 0.9381 REF90 0.9379 A0 0.9380 B0 0.9370 C0 0.9350");
    assert_eq!(found.count, 3);
    assert_eq!((found.min.value, found.min.station.as_str()), (inch("0.9350"), "C"));
    assert_eq!((found.max.value, found.max.station.as_str()), (inch("0.9380"), "A"));
    assert_eq!(found.mean.display(Unit::Inch, 5), "0.93667 in");
    let wear = found.wear.unwrap();
    assert_eq!((wear.amount, wear.growth), (inch("0.0030"), Length::ZERO));
    assert_eq!(wear.station, "C");
    let reference = WearBasis::ReferenceStation { station: "REF".into(), mean: inch("0.9380") };
    assert_eq!(wear.basis, reference);
    // Two readings of U = 0.0001 in: 0.00014 in.
    assert_eq!(wear.expanded_uncertainty.length().display(Unit::Inch, 5), "0.00014 in");
    let reference = found.stations.iter().find(|station| station.is_reference).unwrap();
    assert_eq!((reference.station.as_str(), reference.count), ("REF", 2));
    assert_eq!(reference.out_of_round, Some(inch("0.0002")));
}

#[test]
fn form_is_told_only_where_it_was_measured() {
    let one_direction = journal("A0 0.9380 B0 0.9376");
    assert_eq!(one_direction.out_of_round, None);
    assert_eq!(one_direction.taper.unwrap().amount, inch("0.0004"));
    let one_station = journal("A0 0.9380 A90 0.9377");
    assert_eq!(one_station.taper, None);
    assert_eq!(one_station.out_of_round.unwrap().amount, inch("0.0003"));
    let askew = journal("A0 0.9380 B90 0.9370");
    assert_eq!((askew.taper, askew.out_of_round), (None, None));
}

#[test]
fn three_stations_by_four_orientations() {
    let found = journal(
        "A0 1.1809 A45 1.1808 A90 1.1807 A135 1.1808 \
         B0 1.1809 B45 1.1809 B90 1.1808 B135 1.1808 \
         C0 1.1808 C45 1.1808 C90 1.1808 C135 1.1808",
    );
    let out_of_round = found.out_of_round.unwrap();
    assert_eq!((out_of_round.amount, out_of_round.station.as_str()), (inch("0.0002"), "A"));
    let taper = found.taper.unwrap();
    assert_eq!((taper.amount, taper.orientation_deg), (inch("0.0001"), 0));
    assert_eq!((taper.smallest_station.as_str(), taper.largest_station.as_str()), ("C", "A"));
}

#[test]
fn repeats_of_one_place_are_not_form() {
    let found = journal("A0 0.9380 A0 0.9378 B0 0.9379");
    assert_eq!(found.count, 3);
    assert_eq!(found.out_of_round, None);
    assert_eq!(found.taper.unwrap().amount, Length::ZERO);
}

#[test]
fn a_bore_wears_larger() {
    let line = "REF0 0.9380 A0 0.9384 B0 0.9401 C0 0.9379";
    let found = assess(&readings(line), &basis(Side::Internal, Some("REF"), None)).unwrap();
    let wear = found.wear.unwrap();
    assert_eq!((wear.amount, wear.station.as_str()), (inch("0.0021"), "B"));
    assert_eq!(wear.growth, inch("0.0001"));
}

#[test]
fn growth_is_told_and_never_counts_as_less_than_no_wear() {
    let wear = journal("REF0 0.9380 A0 0.9395 B0 0.9390").wear.unwrap();
    assert_eq!((wear.amount, wear.growth), (Length::ZERO, inch("0.0015")));
}

#[test]
fn wear_falls_back_to_nominal_and_then_to_nothing() {
    let line = readings("A0 0.9370");
    let from_nominal = assess(&line, &basis(Side::External, Some("REF"), Some("0.9375"))).unwrap();
    let wear = from_nominal.wear.unwrap();
    assert_eq!(wear.basis, WearBasis::Nominal { size: inch("0.9375") });
    assert_eq!((wear.amount, wear.expanded_uncertainty.length()), (inch("0.0005"), inch("0.0001")));
    assert_eq!(from_nominal.inferred_nominal, None);
    assert_eq!(assess(&line, &basis(Side::External, None, None)).unwrap().wear, None);
}

#[test]
fn the_reference_points_to_a_standard_size() {
    for (line, nominal, size, confirmed) in [
        ("REF0 0.9371 A0 0.93", Some("0.9375"), Some("0.9375"), Some(true)),
        ("REF0 0.9371 A0 0.93", Some("0.9380"), Some("0.9375"), Some(false)),
        ("REF0 0.9371 A0 0.93", None, Some("0.9375"), None),
        ("REF0 0.9500 A0 0.93", Some("0.9375"), None, None),
    ] {
        let found = assess(&readings(line), &basis(Side::External, Some("REF"), nominal)).unwrap();
        let inferred = found.inferred_nominal;
        assert_eq!(inferred.map(|inferred| inferred.size), size.map(inch), "{line}");
        assert_eq!(inferred.and_then(|inferred| inferred.confirmed_by_item), confirmed, "{line}");
    }
}

#[test]
fn nothing_to_assess_is_refused() {
    let external = basis(Side::External, Some("REF"), None);
    assert_eq!(assess(&[], &external), Err(MeasureError::NoReadings));
    let only_reference = assess(&readings("REF0 0.9380"), &external).unwrap_err();
    assert_eq!(
        only_reference.to_string(),
        "only the reference station REF was read; read at least one station that wears"
    );
}

fn any_readings() -> impl Strategy<Value = Vec<Reading>> {
    let reading = (
        prop::sample::select(vec!["A", "B", "C", "REF"]),
        0_u16..4,
        -90_000_i64..90_000,
        1_i64..9_000,
    );
    let reading = reading.prop_map(|(station, quarter, off_nm, uncertainty_nm)| Reading {
        station: station.to_owned(),
        orientation_deg: quarter * 90,
        value_at_20c: Length::from_nm(23_812_500 + off_nm),
        expanded_uncertainty: ExpandedUncertainty::new(Length::from_nm(uncertainty_nm)).unwrap(),
        resolution: Length::from_nm(2_540),
    });
    prop::collection::vec(reading, 1..20)
}

proptest! {
    /// What was read in another order is assessed the same, but for which of equals is named.
    #[test]
    fn order_does_not_matter(readings in any_readings()) {
        let basis = basis(Side::External, Some("REF"), Some("0.9375"));
        let reversed: Vec<Reading> = readings.iter().rev().cloned().collect();
        match (assess(&readings, &basis), assess(&reversed, &basis)) {
            (Ok(one), Ok(other)) => {
                prop_assert_eq!(one.min.value, other.min.value);
                prop_assert_eq!(one.max.value, other.max.value);
                prop_assert_eq!(one.mean, other.mean);
                prop_assert_eq!(one.out_of_round, other.out_of_round);
                prop_assert_eq!(one.taper, other.taper);
                prop_assert_eq!(one.stations, other.stations);
            }
            (one, other) => prop_assert_eq!(one.unwrap_err(), other.unwrap_err()),
        }
    }

    /// A bore is the mirror of a journal: sizes mirrored about nominal give the same wear and form.
    #[test]
    fn a_bore_mirrors_a_journal(readings in any_readings()) {
        let nominal = inch("0.9375");
        let mirror = |reading: &Reading| Reading {
            value_at_20c: nominal + nominal - reading.value_at_20c,
            ..reading.clone()
        };
        let mirrored: Vec<Reading> = readings.iter().map(mirror).collect();
        let external = assess(&readings, &basis(Side::External, Some("REF"), Some("0.9375")));
        let internal = assess(&mirrored, &basis(Side::Internal, Some("REF"), Some("0.9375")));
        if let (Ok(external), Ok(internal)) = (external, internal) {
            let (outside, inside) = (external.wear.unwrap(), internal.wear.unwrap());
            // A mean of a tie rounds to even, which a mirror does not keep: one nanometre.
            prop_assert!((outside.amount - inside.amount).abs() <= Length::from_nm(1));
            prop_assert!((outside.growth - inside.growth).abs() <= Length::from_nm(1));
            prop_assert_eq!(external.max.value + internal.min.value, nominal + nominal);
        }
    }

    /// Smallest <= mean <= largest, and no form is more than the whole spread.
    #[test]
    fn a_summary_keeps_inside_its_readings(readings in any_readings()) {
        if let Ok(found) = assess(&readings, &basis(Side::External, Some("REF"), None)) {
            prop_assert!(found.min.value <= found.mean && found.mean <= found.max.value);
            let spread = found.max.value - found.min.value;
            let out_of_round = found.out_of_round.map(|form| form.amount);
            let taper = found.taper.map(|form| form.amount);
            for amount in [out_of_round, taper].into_iter().flatten() {
                prop_assert!(Length::ZERO <= amount && amount <= spread);
            }
        }
    }
}
