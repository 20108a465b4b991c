//! Fits with fixed gauges: a plug or ring gives a bound, never a value.
//!
//! Goal: a two-sided bound counts as a size anywhere between its gauges, a one-sided bound proves a
//! misfit at most, and nothing else is ever claimed of it.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use proptest::prelude::*;
use tenths_domain::fit::{
    BeliefKind, ClearanceWindow, FitError, OpenEnds, SizeBelief, judge, judge_by,
};
use tenths_domain::item::Limits;
use tenths_domain::units::Length;
use tenths_domain::verdict::{Decision, DecisionRule, Verdict};

fn nm(nm: i64) -> Length {
    Length::from_nm(nm)
}

fn shaft(size: i64) -> SizeBelief {
    SizeBelief::measured(nm(size), nm(size), nm(500)).unwrap()
}

fn clearance(min: i64, max: i64) -> ClearanceWindow {
    ClearanceWindow::new(nm(min), nm(max)).unwrap()
}

#[test]
fn go_and_no_go_together_count_as_anywhere_between_them() {
    let limits = Limits { lower: nm(20_000_000), upper: nm(20_021_000) };
    let gauged = SizeBelief::bound(Some(limits.lower), Some(limits.upper), nm(0)).unwrap();
    let toleranced = SizeBelief::toleranced(limits).unwrap();
    assert_eq!((gauged.kind(), gauged.is_measured()), (BeliefKind::Bound, false));
    for window in [clearance(10_000, 25_000), clearance(0, 90_000), clearance(50_000, 60_000)] {
        let [gauged, toleranced] =
            [gauged, toleranced].map(|bore| judge(&bore, &shaft(19_990_000), window));
        assert_eq!(gauged, toleranced);
    }
}

#[test]
fn a_go_plug_alone_proves_too_loose_and_nothing_else() {
    // The bore is at least 20 mm; it may be any larger.
    let bore = SizeBelief::bound(Some(nm(20_000_000)), None, nm(800)).unwrap();
    let judged = |journal, window| judge(&bore, &shaft(journal), window);
    let loose = judged(19_950_000, clearance(0, 40_000));
    assert_eq!(loose.judgement.verdict, Verdict::ProvenOut);
    assert_eq!(loose.open, OpenEnds { below: false, above: true });
    // Well inside as the gauge stands, and still not proven: the bore may be larger.
    let inside = judged(19_980_000, clearance(0, 40_000));
    assert_eq!(inside.judgement.verdict, Verdict::NotProven);
    assert!(inside.is_probability_at_most() && inside.judgement.probability_in > 0.999);
    // Too tight as the gauge stands: a larger bore would mend it, so nothing is proven.
    let tight = judged(20_050_000, clearance(0, 40_000));
    assert_eq!(
        (tight.judgement.verdict, tight.decision),
        (Verdict::NotProven, Decision::Undecided)
    );
    // On the limit the bound itself has an even chance of excluding the fit.
    let on_limit = judged(19_960_000, clearance(0, 40_000));
    assert!((on_limit.judgement.probability_in - 0.5).abs() < 1e-12);
}

#[test]
fn a_no_go_ring_alone_proves_too_tight_and_nothing_else() {
    // The shaft is at least 25.01 mm: it did not enter the ring.
    let seat = SizeBelief::bound(Some(nm(25_010_000)), None, nm(400)).unwrap();
    let bore = SizeBelief::measured(nm(25_000_000), nm(25_000_000), nm(400)).unwrap();
    let judged = |window| judge(&bore, &seat, window);
    assert_eq!(judged(clearance(0, 20_000)).judgement.verdict, Verdict::ProvenOut);
    assert_eq!(judged(clearance(-15_000, -8_000)).judgement.verdict, Verdict::NotProven);
    assert_eq!(judged(clearance(-15_000, -8_000)).open, OpenEnds { below: true, above: false });
}

#[test]
fn bounds_that_run_apart_say_nothing_at_all() {
    let bore = SizeBelief::bound(Some(nm(20_000_000)), None, nm(800)).unwrap();
    let journal = SizeBelief::bound(Some(nm(19_990_000)), None, nm(800)).unwrap();
    let found = judge(&bore, &journal, clearance(0, 1));
    assert_eq!(found.judgement.verdict, Verdict::NotProven);
    assert_eq!(found.judgement.probability_in, 1.0);
    assert!(found.is_probability_at_most());
}

#[test]
fn a_bound_without_meaning_is_refused_with_what_was_wrong() {
    assert_eq!(SizeBelief::bound(None, None, nm(0)), Err(FitError::NoBound));
    let message = |bound: Result<SizeBelief, FitError>| bound.unwrap_err().to_string();
    assert!(message(SizeBelief::bound(Some(nm(2)), Some(nm(1)), nm(0))).contains("bounds of size"));
    assert!(message(SizeBelief::bound(Some(nm(0)), None, nm(0))).contains("over 0 to 10 m"));
    let negative = message(SizeBelief::bound(Some(nm(9)), None, nm(-1)));
    assert!(negative.contains("an expanded uncertainty of -0.000001 mm"), "{negative}");
}

proptest! {
    /// Whatever lies beyond the bound: if the true size is put in its place, a proof made from the
    /// bound still holds.
    #[test]
    fn a_proof_from_a_bound_holds_for_every_size_beyond_it(
        offset in -60_000_i64..60_000, beyond in 0_i64..200_000, is_at_least: bool,
        min in -60_000_i64..60_000, width in 0_i64..60_000,
    ) {
        let end = nm(20_000_000 + offset);
        let (bound, size) = if is_at_least {
            (SizeBelief::bound(Some(end), None, nm(0)), end + nm(beyond))
        } else {
            (SizeBelief::bound(None, Some(end), nm(0)), end - nm(beyond))
        };
        let window = clearance(min, min + width);
        let verdict = |bore: &SizeBelief| judge(bore, &shaft(20_000_000), window).judgement.verdict;
        prop_assert!(verdict(&bound.clone().unwrap()) >= Verdict::NotProven);
        if verdict(&bound.unwrap()) == Verdict::ProvenOut {
            let sized = SizeBelief::measured(size, size, nm(1)).unwrap();
            prop_assert_eq!(verdict(&sized), Verdict::ProvenOut);
        }
    }

    #[test]
    fn no_rule_accepts_on_a_one_sided_bound(
        offset in -60_000_i64..60_000, min in -60_000_i64..60_000, width in 0_i64..60_000,
        rule in proptest::sample::select(DecisionRule::ALL.to_vec()),
    ) {
        let bore = SizeBelief::bound(Some(nm(20_000_000 + offset)), None, nm(700)).unwrap();
        let found = judge_by(&bore, &shaft(20_000_000), clearance(min, min + width), rule);
        prop_assert_ne!(found.decision, Decision::Accept);
    }
}
