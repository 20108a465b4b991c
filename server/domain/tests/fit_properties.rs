//! Fits: what must hold for any two sizes and any window, and the probability against its own
//! definition, integrated directly.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use proptest::prelude::*;
use tenths_domain::bearings::iso492::{ToleranceClass, mean_bore_deviations};
use tenths_domain::fit::{
    ClearanceWindow, CloseIn, Requirement, SizeBelief, installed_bore, judge,
};
use tenths_domain::iso286::limits;
use tenths_domain::item::Limits;
use tenths_domain::probability::normal_cdf;
use tenths_domain::units::{Entry, Length, Unit};
use tenths_domain::verdict::Verdict;

fn nm(nm: i64) -> Length {
    Length::from_nm(nm)
}
const NOMINAL: i64 = 30_000_000;

fn measured() -> impl Strategy<Value = SizeBelief> {
    (-30_000_i64..30_000, 0_i64..15_000, 1_i64..8_000).prop_map(|(offset, form, uncertainty)| {
        let low = NOMINAL + offset;
        SizeBelief::measured(nm(low), nm(low + form), nm(uncertainty)).unwrap()
    })
}

fn toleranced() -> impl Strategy<Value = SizeBelief> {
    (-30_000_i64..30_000, 0_i64..25_000).prop_map(|(offset, width)| {
        let lower = nm(NOMINAL + offset);
        SizeBelief::toleranced(Limits { lower, upper: lower + nm(width) }).unwrap()
    })
}

fn pressed() -> impl Strategy<Value = SizeBelief> {
    (measured(), 0_i64..10_000, 0_i64..10_000).prop_map(|(free, least, more)| {
        installed_bore(&free, CloseIn::new(nm(least), nm(least + more)).unwrap()).unwrap()
    })
}

fn size() -> impl Strategy<Value = SizeBelief> {
    prop_oneof![measured(), toleranced(), pressed()]
}

fn window() -> impl Strategy<Value = ClearanceWindow> {
    (-60_000_i64..60_000, 0_i64..60_000)
        .prop_map(|(min, width)| ClearanceWindow { min: nm(min), max: nm(min + width) })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn proof_and_probability_never_contradict(
        hole in size(), shaft in size(), window in window()
    ) {
        let found = judge(&hole, &shaft, window).judgement;
        prop_assert!((0.0..=1.0).contains(&found.probability_in));
        // Two standard deviations each side: 0.9545 inside, 0.0228 beyond one end.
        match found.verdict {
            Verdict::ProvenIn => prop_assert!(found.probability_in > 0.954),
            Verdict::ProvenOut => prop_assert!(found.probability_in < 0.0228),
            _ => {}
        }
    }

    #[test]
    fn a_proven_fit_is_inside_its_window_at_both_extremes(
        hole in size(), shaft in size(), window in window()
    ) {
        let found = judge(&hole, &shaft, window);
        if found.judgement.verdict == Verdict::ProvenIn {
            prop_assert!(window.min <= found.clearance_min - found.expanded_uncertainty);
            prop_assert!(found.clearance_max + found.expanded_uncertainty <= window.max);
        }
    }

    #[test]
    fn a_wider_window_is_never_less_probable(
        hole in size(), shaft in size(), window in window(), wider in 0_i64..20_000
    ) {
        let wide = ClearanceWindow { min: window.min - nm(wider), max: window.max + nm(wider / 2) };
        let [narrow, wide] = [window, wide].map(|window| judge(&hole, &shaft, window).judgement);
        prop_assert!(wide.probability_in >= narrow.probability_in - 1e-12);
        if narrow.verdict == Verdict::ProvenIn {
            prop_assert_eq!(wide.verdict, Verdict::ProvenIn);
        }
        if wide.verdict == Verdict::ProvenOut {
            prop_assert_eq!(narrow.verdict, Verdict::ProvenOut);
        }
    }

    #[test]
    fn a_better_gauge_never_loses_a_proof(
        offset in -30_000_i64..30_000, form in 0_i64..15_000, coarse in 1_i64..8_000,
        share in 0.0_f64..1.0, mate in size(), window in window()
    ) {
        let part = |uncertainty: i64| {
            let low = NOMINAL + offset;
            SizeBelief::measured(nm(low), nm(low + form), nm(uncertainty)).unwrap()
        };
        let fine = ((coarse as f64 * share) as i64).max(1);
        let [coarse, fine] = [coarse, fine].map(|u| judge(&part(u), &mate, window).judgement);
        if coarse.verdict == Verdict::ProvenIn || coarse.verdict == Verdict::ProvenOut {
            prop_assert_eq!(coarse.verdict, fine.verdict);
        }
    }

    #[test]
    fn a_seat_inside_its_class_by_the_uncertainty_is_proven_in(
        bore in 1_000_000_i64..=250_000_000, within in 0.0_f64..=1.0, uncertainty in 1_i64..2_000,
        class in proptest::sample::select(vec!["h5", "k5", "m5", "k6", "m6", "n6", "p6", "g6"]),
        ring in proptest::sample::select(ToleranceClass::ALL.to_vec()),
    ) {
        let (bore, class) = (nm(bore), class.parse().unwrap());
        let seat = limits(bore, &class).unwrap();
        let room = (seat.upper - seat.lower).nm() - 2 * uncertainty;
        prop_assume!(room >= 0);
        let reading = seat.lower + nm(uncertainty + (room as f64 * within) as i64);
        let seat = SizeBelief::measured(reading, reading, nm(uncertainty)).unwrap();
        let ring_limits = mean_bore_deviations(bore, ring).unwrap().about(bore);
        let requirement = Requirement::classes(None, Some(class)).unwrap();
        let window = requirement.window(bore, Some(ring)).unwrap();
        let found = judge(&SizeBelief::toleranced(ring_limits).unwrap(), &seat, window);
        prop_assert_eq!(found.judgement.verdict, Verdict::ProvenIn);
    }
}

/// The probability by its definition: over ring sizes alike likely, that the gauge's error leaves
/// both extremes inside.
fn by_definition(ring: Limits, seat: [i64; 2], uncertainty: i64, window: ClearanceWindow) -> f64 {
    const STEPS: i64 = 20_000;
    let width = (ring.upper - ring.lower).nm() as f64;
    let sigma = uncertainty as f64 / 2.0;
    let inside = |bore: f64| {
        let highest = bore - window.min.nm() as f64 - seat[1] as f64;
        let lowest = bore - window.max.nm() as f64 - seat[0] as f64;
        (normal_cdf(highest / sigma) - normal_cdf(lowest / sigma)).max(0.0)
    };
    let bore = |step: i64| ring.lower.nm() as f64 + width * (step as f64 + 0.5) / STEPS as f64;
    (0..STEPS).map(|step| inside(bore(step))).sum::<f64>() / STEPS as f64
}

#[test]
fn the_probability_is_what_its_definition_integrates_to() {
    let ring = Limits { lower: nm(NOMINAL - 10_000), upper: nm(NOMINAL) };
    let belief = SizeBelief::toleranced(ring).unwrap();
    let window = ClearanceWindow { min: nm(-21_000), max: nm(-2_000) };
    for offset in [-12_000, -3_000, 0, 2_000, 6_500, 11_500, 17_000, 25_000] {
        for form in [0, 3_000, 12_000] {
            for uncertainty in [500, 3_000, 9_000] {
                let seat = [NOMINAL + offset, NOMINAL + offset + form];
                let measured =
                    SizeBelief::measured(nm(seat[0]), nm(seat[1]), nm(uncertainty)).unwrap();
                let found = judge(&belief, &measured, window).judgement.probability_in;
                let wanted = by_definition(ring, seat, uncertainty, window);
                assert!((found - wanted).abs() < 1e-6, "{seat:?} {uncertainty}: {found} {wanted}");
            }
        }
    }
}

#[test]
fn inch_and_millimetre_entries_get_the_same_judgement() {
    let read = |text: &str, unit| Entry::parse(text, unit).unwrap().length;
    let judged = |size: Length, uncertainty: Length| {
        let seat = SizeBelief::measured(size, size, uncertainty).unwrap();
        let ring = Limits { lower: nm(NOMINAL - 10_000), upper: nm(NOMINAL) };
        let window = ClearanceWindow { min: nm(-21_000), max: nm(-2_000) };
        judge(&SizeBelief::toleranced(ring).unwrap(), &seat, window)
    };
    let inch = judged(read("1.1813", Unit::Inch), read("0.0001", Unit::Inch));
    let millimetre = judged(read("30.00502", Unit::Millimetre), read("0.00254", Unit::Millimetre));
    assert_eq!(inch, millimetre);
}
