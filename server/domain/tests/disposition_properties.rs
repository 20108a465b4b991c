//! Goal: more wear never improves a proposal, and units never change it. Method: random features
//! and readings, with wear deepened where it is deepest.

#![allow(clippy::unwrap_used, reason = "a failing unwrap fails the test, in its helpers too")]

use proptest::prelude::*;
use tenths_domain::disposition::{Disposition, combine, propose};
use tenths_domain::item::{Feature, FeatureKind, Limits, Side, Tolerance};
use tenths_domain::measure::{Assessment, Basis, ExpandedUncertainty, Reading, assess};
use tenths_domain::units::{Length, Unit};

const NOMINAL_NM: i64 = 30_000_000;
/// The room for wear in which all limits and readings of these tests lie.
const WEAR_MAX_NM: i64 = 200_000;

/// A length lost from nominal, in the direction of wear.
fn worn_by(side: Side, nm: i64) -> Length {
    Length::from_nm(match side {
        Side::External => NOMINAL_NM - nm,
        Side::Internal => NOMINAL_NM + nm,
    })
}

fn any_limit() -> impl Strategy<Value = Option<i64>> {
    prop::option::of(0..WEAR_MAX_NM)
}

prop_compose! {
    fn any_feature()(
        kind in prop::sample::select(FeatureKind::ALL),
        size in any_limit(),
        limits in (any_limit(), any_limit(), any_limit(), any_limit()),
        has_reference in any::<bool>(),
    ) -> Feature {
        let (wear, recondition, out_of_round, taper) = limits;
        let side = kind.side();
        let about = |nm: i64| {
            let (one, other) = (worn_by(side, 0), worn_by(side, nm));
            Tolerance::Explicit(Limits { lower: one.min(other), upper: one.max(other) })
        };
        Feature {
            name: "place".into(),
            kind,
            nominal: Length::from_nm(NOMINAL_NM),
            tolerance: size.map_or(Tolerance::None, about),
            wear_limit: wear.map(Length::from_nm),
            recondition_limit: recondition.map(|nm| worn_by(side, nm)),
            out_of_round_limit: out_of_round.map(Length::from_nm),
            taper_limit: taper.map(Length::from_nm),
            reference_station: has_reference.then(|| "REF".to_owned()),
            limit_source: "test".into(),
        }
    }
}

/// Readings worn by so much, at three stations and two orientations, beside an unworn reference.
fn readings(side: Side, worn_nm: &[i64], uncertainty_nm: i64) -> Vec<Reading> {
    let reading = |station: &str, orientation_deg: u16, nm: i64| Reading {
        station: station.to_owned(),
        orientation_deg,
        value_at_20c: worn_by(side, nm),
        expanded_uncertainty: ExpandedUncertainty::new(Length::from_nm(uncertainty_nm)).unwrap(),
        resolution: Length::from_nm(2_540),
    };
    let place = |(index, nm): (usize, &i64)| {
        reading(["A", "B", "C"][index % 3], 90 * (index / 3 % 2) as u16, *nm)
    };
    let mut readings: Vec<Reading> = worn_nm.iter().enumerate().map(place).collect();
    readings.push(reading("REF", 0, 0));
    readings
}

fn assessed(feature: &Feature, worn_nm: &[i64], uncertainty_nm: i64) -> Assessment {
    let readings = readings(feature.kind.side(), worn_nm, uncertainty_nm);
    assess(&readings, &Basis::of(feature)).unwrap()
}

fn any_wear() -> impl Strategy<Value = Vec<i64>> {
    prop::collection::vec(0..WEAR_MAX_NM, 1..=6)
}

/// The same wear, deeper by so much where it is deepest.
fn deepened(worn_nm: &[i64], by_nm: i64) -> Vec<i64> {
    let deepest = worn_nm.iter().max().copied().unwrap_or_default();
    let at = worn_nm.iter().position(|nm| *nm == deepest).unwrap_or_default();
    let deeper = |(index, nm): (usize, &i64)| if index == at { *nm + by_nm } else { *nm };
    worn_nm.iter().enumerate().map(deeper).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn more_wear_never_improves_a_proposal(
        feature in any_feature(),
        worn_nm in any_wear(),
        by_nm in 0..WEAR_MAX_NM,
        uncertainty_nm in 1_i64..20_000,
    ) {
        let before = propose(&feature, &assessed(&feature, &worn_nm, uncertainty_nm), Unit::Inch);
        let deeper = deepened(&worn_nm, by_nm);
        let after = propose(&feature, &assessed(&feature, &deeper, uncertainty_nm), Unit::Inch);
        prop_assert!(after.disposition >= before.disposition, "{before:#?} {after:#?}");
        prop_assert!(combine(&[after.clone(), before.clone()]).disposition == after.disposition);
        // Wear everywhere, by the same amount, neither.
        let all_deeper: Vec<i64> = worn_nm.iter().map(|nm| nm + by_nm).collect();
        let all = propose(&feature, &assessed(&feature, &all_deeper, uncertainty_nm), Unit::Inch);
        prop_assert!(all.disposition >= before.disposition, "{before:#?} {all:#?}");
    }

    /// Reuse means that every finding is within and at least one limit was compared; anything worse
    /// than a hold has a finding beyond; and every proposal says why.
    #[test]
    fn a_proposal_agrees_with_its_findings(
        feature in any_feature(),
        worn_nm in any_wear(),
        uncertainty_nm in 1_i64..20_000,
    ) {
        let proposal = propose(&feature, &assessed(&feature, &worn_nm, uncertainty_nm), Unit::Inch);
        let all_within = proposal.findings.iter().all(|found| found.within);
        match proposal.disposition {
            Disposition::Reuse => prop_assert!(all_within && !proposal.findings.is_empty()),
            Disposition::HoldForDecision => prop_assert!(all_within),
            Disposition::Recondition | Disposition::Scrap => prop_assert!(!all_within),
        }
        prop_assert!(!proposal.reasons.is_empty());
        for found in &proposal.findings {
            prop_assert_eq!(found.within, found.judgement.probability_in >= 0.5, "{:?}", found);
        }
    }

    /// The same question answered in millimetres differs in its words only.
    #[test]
    fn the_unit_of_display_changes_words_only(feature in any_feature(), worn_nm in any_wear()) {
        let assessment = assessed(&feature, &worn_nm, 2_540);
        let inch = propose(&feature, &assessment, Unit::Inch);
        let millimetre = propose(&feature, &assessment, Unit::Millimetre);
        prop_assert_eq!(inch.disposition, millimetre.disposition);
        prop_assert_eq!(inch.reasons.len(), millimetre.reasons.len());
        for (one, other) in inch.findings.iter().zip(&millimetre.findings) {
            prop_assert_eq!((one.measured, one.limit), (other.measured, other.limit));
            prop_assert_eq!(one.judgement, other.judgement);
        }
    }
}
