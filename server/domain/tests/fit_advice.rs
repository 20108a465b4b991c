//! What to measure next.
//!
//! Goal: the advice, followed with the reading unchanged, does prove the fit; where it says that no
//! gauge can, none can (every gauge of the register, on either side or both, is tried here).
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use proptest::prelude::*;
use tenths_domain::fit::{
    Advice, ClearanceWindow, RegisterGauge, SizeBelief, judge_by, what_to_measure_next,
};
use tenths_domain::item::{Limits, Side};
use tenths_domain::units::Length;
use tenths_domain::verdict::{DecisionRule, Verdict};

fn nm(nm: i64) -> Length {
    Length::from_nm(nm)
}

type Gauge = RegisterGauge<&'static str>;

fn gauge(key: &'static str, side: Side, uncertainty: i64) -> Gauge {
    RegisterGauge {
        key,
        side,
        size_min: nm(0),
        size_max: nm(50_800_000),
        expanded_uncertainty: nm(uncertainty),
    }
}

fn shop() -> Vec<Gauge> {
    vec![
        gauge("caliper", Side::External, 38_000),
        gauge("micrometer", Side::External, 4_600),
        gauge("comparator", Side::External, 1_300),
        gauge("bore gauge by micrometer", Side::Internal, 6_900),
        gauge("bore gauge by ring", Side::Internal, 3_400),
    ]
}

fn measured(size: i64, uncertainty: i64) -> SizeBelief {
    SizeBelief::measured(nm(size), nm(size), nm(uncertainty)).unwrap()
}

fn advice(bore: SizeBelief, shaft: SizeBelief, window: [i64; 2]) -> Advice<&'static str> {
    let window = ClearanceWindow::new(nm(window[0]), nm(window[1])).unwrap();
    what_to_measure_next(&bore, &shaft, window, DecisionRule::FullGuardBand, &shop())
}

#[test]
fn the_finest_gauge_that_proves_it_is_named_with_the_coarsest_that_would_do() {
    // 5 um inside on the tight side, journal by caliper.
    let found = advice(measured(20_000_000, 1_000), measured(19_975_000, 38_000), [20_000, 60_000]);
    let Advice::Measure { step, reach } = found else { panic!("{found:?}") };
    assert_eq!(
        (step.side, step.gauge, step.coarsest),
        (Side::External, "comparator", "micrometer")
    );
    assert_eq!(reach.judgement.verdict, Verdict::ProvenIn);
    assert!(!reach.is_middle_assumed);
}

#[test]
fn a_side_without_readings_comes_first_and_the_middle_of_its_range_stands_for_it() {
    let limits = Limits { lower: nm(20_000_000), upper: nm(20_021_000) };
    let bore = SizeBelief::toleranced(limits).unwrap();
    let found = advice(bore, measured(19_985_000, 1_300), [20_000, 33_000]);
    let Advice::Measure { step, reach } = found else { panic!("{found:?}") };
    assert_eq!((step.side, step.gauge), (Side::Internal, "bore gauge by ring"));
    assert!(reach.is_middle_assumed);
}

#[test]
fn of_two_sides_that_would_do_the_one_that_is_known_least_comes_first() {
    // 4 um inside at the smallest bore, 8 um at its middle: either side would do.
    let limits = Limits { lower: nm(20_000_000), upper: nm(20_008_000) };
    let bore = SizeBelief::toleranced(limits).unwrap();
    let found = advice(bore, measured(19_976_000, 4_600), [20_000, 60_000]);
    assert!(
        matches!(found, Advice::Measure { step, .. } if step.side == Side::Internal),
        "{found:?}"
    );
    // 8 um inside, both measured: the coarser reading is the one to take again.
    for (bore_u, shaft_u, wanted) in
        [(6_900, 7_000, Side::External), (7_000, 6_900, Side::Internal)]
    {
        let (bore, shaft) = (measured(20_000_000, bore_u), measured(19_972_000, shaft_u));
        let found = advice(bore, shaft, [20_000, 60_000]);
        assert!(matches!(found, Advice::Measure { step, .. } if step.side == wanted), "{found:?}");
    }
}

#[test]
fn both_sides_are_advised_only_where_one_is_not_enough() {
    // 4 um inside: 3.4 and 4.6 together are too coarse, 3.4 and 1.3 are not.
    let found = advice(measured(20_000_000, 6_900), measured(19_976_000, 4_600), [20_000, 60_000]);
    let Advice::MeasureBoth { internal, external, reach } = found else { panic!("{found:?}") };
    assert_eq!((internal.gauge, external.gauge), ("bore gauge by ring", "comparator"));
    assert_eq!(reach.judgement.verdict, Verdict::ProvenIn);
}

#[test]
fn a_register_that_cannot_prove_it_says_so() {
    // 1 um inside: no gauge of the shop is that good.
    let found = advice(measured(20_000_000, 3_400), measured(19_979_000, 1_300), [20_000, 60_000]);
    let Advice::NoGauge { best } = found else { panic!("{found:?}") };
    assert_eq!(best.unwrap().judgement.verdict, Verdict::NotProven);
    // Nothing in the register reaches 80 mm.
    let found = advice(measured(80_000_000, 9_000), measured(79_970_000, 9_000), [20_000, 60_000]);
    assert!(matches!(found, Advice::NoGauge { best: None }), "{found:?}");
}

#[test]
fn what_is_proven_needs_no_gauge() {
    let found = advice(measured(20_000_000, 1_000), measured(19_960_000, 1_000), [20_000, 60_000]);
    assert_eq!(found, Advice::Proven(Verdict::ProvenIn));
    let found = advice(measured(20_000_000, 1_000), measured(19_900_000, 1_000), [20_000, 60_000]);
    assert_eq!(found, Advice::Proven(Verdict::ProvenOut));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_000))]

    #[test]
    fn advice_proves_what_it_says_and_no_gauge_means_none(
        clearance in -10_000_i64..90_000, bore_u in 1_i64..20_000, shaft_u in 1_i64..20_000,
        width in 0_i64..60_000, rule in proptest::sample::select(vec![
            DecisionRule::FullGuardBand, DecisionRule::Conformity95,
        ]),
    ) {
        let size = 20_000_000;
        let (bore, shaft) = (measured(size, bore_u), measured(size - clearance, shaft_u));
        let window = ClearanceWindow::new(nm(20_000), nm(20_000 + width)).unwrap();
        let is_proof = |bore: &SizeBelief, shaft: &SizeBelief| {
            let verdict = judge_by(bore, shaft, window, rule).judgement.verdict;
            matches!(verdict, Verdict::ProvenIn | Verdict::ProvenOut)
        };
        let by = |key: &str| {
            shop().into_iter().find(|gauge| gauge.key == key).unwrap().expanded_uncertainty.nm()
        };
        let (new_bore, new_shaft) =
            (|key: &str| measured(size, by(key)), |key: &str| measured(size - clearance, by(key)));
        match what_to_measure_next(&bore, &shaft, window, rule, &shop()) {
            Advice::Proven(_) => prop_assert!(is_proof(&bore, &shaft)),
            Advice::Measure { step, .. } => for key in [step.gauge, step.coarsest] {
                match step.side {
                    Side::Internal => prop_assert!(is_proof(&new_bore(key), &shaft)),
                    Side::External => prop_assert!(is_proof(&bore, &new_shaft(key))),
                }
            },
            Advice::MeasureBoth { internal, external, .. } => {
                prop_assert!(is_proof(&new_bore(internal.gauge), &new_shaft(external.gauge)));
                prop_assert!(is_proof(&new_bore(internal.coarsest), &new_shaft(external.gauge)));
                prop_assert!(is_proof(&new_bore(internal.gauge), &new_shaft(external.coarsest)));
            }
            Advice::NoGauge { .. } => {
                let bores = shop().into_iter().filter(|one| one.side == Side::Internal);
                for bore_gauge in bores {
                    prop_assert!(!is_proof(&new_bore(bore_gauge.key), &shaft));
                    let shafts = shop().into_iter().filter(|one| one.side == Side::External);
                    for shaft_gauge in shafts {
                        prop_assert!(!is_proof(&bore, &new_shaft(shaft_gauge.key)));
                        let both = is_proof(&new_bore(bore_gauge.key), &new_shaft(shaft_gauge.key));
                        prop_assert!(!both);
                    }
                }
            }
        }
    }
}
