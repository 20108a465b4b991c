//! What to measure next.
//!
//! Goal: the advice, followed with the reading unchanged, does prove the fit; it is the least work
//! that does, and never a gauge as coarse as the reading at hand; where it says that no gauge can,
//! none can, and the uncertainty that it asks for is the largest that would do. Every gauge of the
//! register, on either side and both, is tried here.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use proptest::prelude::*;
use tenths_domain::fit::{
    Advice, ClearanceWindow, Needed, RegisterGauge, SizeBelief, Step, judge_by,
    what_to_measure_next,
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
fn the_coarsest_gauge_that_proves_it_is_named() {
    // 5 um inside on the tight side, journal by caliper: the micrometer is enough.
    let found = advice(measured(20_000_000, 1_000), measured(19_975_000, 38_000), [20_000, 60_000]);
    let Advice::Measure { step, reach } = found else { panic!("{found:?}") };
    assert_eq!((step.side, step.gauge), (Side::External, "micrometer"));
    assert_eq!(step.expanded_uncertainty, nm(4_600));
    assert_eq!(reach.judgement.verdict, Verdict::ProvenIn);
    assert!(!reach.is_middle_assumed);
    // 3 um inside: it takes the comparator.
    let found = advice(measured(20_000_000, 1_000), measured(19_977_000, 38_000), [20_000, 60_000]);
    assert!(
        matches!(found, Advice::Measure { step, .. } if step.gauge == "comparator"),
        "{found:?}"
    );
}

#[test]
fn a_gauge_as_coarse_as_the_reading_is_never_proposed() {
    // 5 um inside, the journal read with the micrometer's own 4.6 um, the bore with 3.4: reading
    // either again with the same gauge would change nothing.
    let found = advice(measured(20_000_000, 3_400), measured(19_975_000, 4_600), [20_000, 60_000]);
    assert!(
        matches!(found, Advice::Measure { step, .. } if step.gauge == "comparator"),
        "{found:?}"
    );
    // The journal was read with the best that there is, the bore finer than the register can.
    let found = advice(measured(20_000_000, 3_000), measured(19_978_000, 1_300), [20_000, 60_000]);
    let Advice::NoGauge { best, needed } = found else { panic!("{found:?}") };
    assert_eq!(best, None, "nothing better than what was read");
    // 2 um inside: with 1.3 um on the journal the bore may have the root of 4 - 1.69.
    let needed = needed.unwrap();
    assert_eq!(needed.side, Some(Side::Internal));
    assert_eq!(needed.expanded_uncertainty, nm(1_519));
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
fn a_register_that_cannot_prove_it_says_how_good_a_gauge_would_have_to_be() {
    // 1 um inside: no gauge of the shop is that good, and neither side alone is enough.
    let found = advice(measured(20_000_000, 5_000), measured(19_979_000, 5_000), [20_000, 60_000]);
    let Advice::NoGauge { best, needed } = found else { panic!("{found:?}") };
    assert_eq!(best.unwrap().judgement.verdict, Verdict::NotProven);
    // 1 um by the root of two, rounded down.
    assert_eq!(needed, Some(Needed { side: None, expanded_uncertainty: nm(707) }));
    // Nothing in the register reaches 80 mm.
    let found = advice(measured(80_000_000, 9_000), measured(79_970_000, 9_000), [20_000, 60_000]);
    assert!(matches!(found, Advice::NoGauge { best: None, needed: Some(_) }), "{found:?}");
    // On the limit itself nothing could tell.
    let found = advice(measured(20_000_000, 5_000), measured(19_980_000, 5_000), [20_000, 60_000]);
    assert!(matches!(found, Advice::NoGauge { needed: None, .. }), "{found:?}");
}

#[test]
fn simple_acceptance_is_advised_by_the_full_guard_band() {
    let window = ClearanceWindow::new(nm(20_000), nm(60_000)).unwrap();
    let of = |rule| {
        let (bore, shaft) = (measured(20_000_000, 1_000), measured(19_975_000, 38_000));
        what_to_measure_next(&bore, &shaft, window, rule, &shop())
    };
    assert_eq!(of(DecisionRule::SimpleAcceptance), of(DecisionRule::FullGuardBand));
}

#[test]
fn what_is_proven_needs_no_gauge() {
    let found = advice(measured(20_000_000, 1_000), measured(19_960_000, 1_000), [20_000, 60_000]);
    assert_eq!(found, Advice::Proven(Verdict::ProvenIn));
    let found = advice(measured(20_000_000, 1_000), measured(19_900_000, 1_000), [20_000, 60_000]);
    assert_eq!(found, Advice::Proven(Verdict::ProvenOut));
}

/// A side that was read, to an uncertainty, or one that was not, with a tolerance.
#[derive(Clone, Copy, Debug)]
struct Known {
    middle: i64,
    read_to: Option<i64>,
    tolerance: i64,
}

impl Known {
    fn belief(self) -> SizeBelief {
        let (lower, upper) = (nm(self.middle - self.tolerance), nm(self.middle + self.tolerance));
        match self.read_to {
            Some(uncertainty) => measured(self.middle, uncertainty),
            None => SizeBelief::toleranced(Limits { lower, upper }).unwrap(),
        }
    }

    /// The gauges of the shop that are finer than what was read.
    fn finer(self, side: Side) -> Vec<Gauge> {
        let mut gauges = shop();
        gauges.retain(|gauge| {
            gauge.side == side && self.read_to.is_none_or(|u| gauge.expanded_uncertainty < nm(u))
        });
        gauges
    }
}

/// All that could be tried, by brute force.
struct Tried {
    bore: Known,
    shaft: Known,
    window: ClearanceWindow,
    rule: DecisionRule,
}

impl Tried {
    /// Whether it is proven with these sides read to so much; nothing leaves a side as it is.
    fn proves(&self, bore: Option<Length>, shaft: Option<Length>) -> bool {
        let read = |side: Known, uncertainty: Option<Length>| {
            uncertainty.map_or_else(|| side.belief(), |u| measured(side.middle, u.nm()))
        };
        let (bore, shaft) = (read(self.bore, bore), read(self.shaft, shaft));
        let verdict = judge_by(&bore, &shaft, self.window, self.rule).judgement.verdict;
        matches!(verdict, Verdict::ProvenIn | Verdict::ProvenOut)
    }

    fn proves_alone(&self, side: Side, uncertainty: Length) -> bool {
        match side {
            Side::Internal => self.proves(Some(uncertainty), None),
            Side::External => self.proves(None, Some(uncertainty)),
        }
    }

    fn finer(&self, side: Side) -> Vec<Gauge> {
        match side {
            Side::Internal => self.bore.finer(side),
            Side::External => self.shaft.finer(side),
        }
    }

    fn enough_alone(&self, side: Side) -> Vec<Gauge> {
        let mut gauges = self.finer(side);
        gauges.retain(|gauge| self.proves_alone(side, gauge.expanded_uncertainty));
        gauges
    }

    fn enough_together(&self) -> Vec<[Length; 2]> {
        let u = |gauge: Gauge| gauge.expanded_uncertainty;
        let mut pairs = Vec::new();
        for bore in self.finer(Side::Internal).into_iter().map(u) {
            let shafts = self.finer(Side::External).into_iter().map(u);
            let enough = shafts.filter(|&shaft| self.proves(Some(bore), Some(shaft)));
            pairs.extend(enough.map(|shaft| [bore, shaft]));
        }
        pairs
    }

    /// The step names a gauge finer than what was read, as the shop has it.
    fn is_finer(&self, step: &Step<&'static str>) -> bool {
        self.finer(step.side).iter().any(|gauge| {
            (gauge.key, gauge.expanded_uncertainty) == (step.gauge, step.expanded_uncertainty)
        })
    }
}

fn side(middle: i64) -> impl Strategy<Value = Known> {
    (proptest::option::weighted(0.7, 1_i64..40_000), 0_i64..12_000)
        .prop_map(move |(read_to, tolerance)| Known { middle, read_to, tolerance })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn the_advice_is_the_least_work_that_proves_it(
        clearance in -10_000_i64..90_000, bore in side(20_000_000), shaft in side(0),
        width in 0_i64..60_000, rule in proptest::sample::select(vec![
            DecisionRule::FullGuardBand, DecisionRule::Conformity95,
        ]),
    ) {
        let shaft = Known { middle: bore.middle - clearance, ..shaft };
        let window = ClearanceWindow::new(nm(20_000), nm(20_000 + width)).unwrap();
        let tried = Tried { bore, shaft, window, rule };
        let coarsest = |gauges: Vec<Gauge>| gauges.iter().map(|one| one.expanded_uncertainty).max();
        let squares = |[a, b]: [Length; 2]| a.nm().pow(2) + b.nm().pow(2);
        let (alone, pairs) =
            ([Side::Internal, Side::External].map(|side| tried.enough_alone(side)), tried.enough_together());
        match what_to_measure_next(&bore.belief(), &shaft.belief(), window, rule, &shop()) {
            Advice::Proven(_) => prop_assert!(tried.proves(None, None)),
            Advice::Measure { step, .. } => {
                prop_assert!(tried.is_finer(&step));
                let enough = tried.enough_alone(step.side);
                prop_assert_eq!(coarsest(enough), Some(step.expanded_uncertainty));
            }
            Advice::MeasureBoth { internal, external, .. } => {
                prop_assert!(alone.iter().all(Vec::is_empty), "one side would do");
                prop_assert!(tried.is_finer(&internal) && tried.is_finer(&external));
                let found = [internal.expanded_uncertainty, external.expanded_uncertainty];
                prop_assert!(tried.proves(Some(found[0]), Some(found[1])));
                prop_assert_eq!(pairs.into_iter().map(squares).max(), Some(squares(found)));
            }
            Advice::NoGauge { needed, .. } => {
                prop_assert!(alone.iter().all(Vec::is_empty) && pairs.is_empty());
                let finest = nm(1);
                match needed {
                    Some(Needed { side: Some(side), expanded_uncertainty: most }) => {
                        prop_assert!(tried.proves_alone(side, most));
                        prop_assert!(!tried.proves_alone(side, most + finest));
                    }
                    Some(Needed { side: None, expanded_uncertainty: most }) => {
                        prop_assert!(!tried.proves_alone(Side::Internal, finest));
                        prop_assert!(!tried.proves_alone(Side::External, finest));
                        prop_assert!(tried.proves(Some(most), Some(most)));
                        let more = Some(most + finest);
                        prop_assert!(!tried.proves(more, more));
                    }
                    None => prop_assert!(!tried.proves(Some(finest), Some(finest))),
                }
            }
        }
    }
}
