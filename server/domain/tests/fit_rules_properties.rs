//! Fits by decision rule: what must hold for any pair.
//!
//! Goal: the probability falls as the gauge gets coarser while the pair is inside; it is one half on
//! a limit whose opposite limit is far; more wear never improves anything; the rules are ordered by
//! how much they ask.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use proptest::prelude::*;
use tenths_domain::fit::{ClearanceWindow, FitJudgement, SizeBelief, judge_by};
use tenths_domain::item::Limits;
use tenths_domain::units::{Entry, Length, Unit};
use tenths_domain::verdict::{Decision, DecisionRule, Verdict};

const NOMINAL: i64 = 30_000_000;

fn nm(nm: i64) -> Length {
    Length::from_nm(nm)
}

fn measured(offset: i64, form: i64, uncertainty: i64) -> SizeBelief {
    let low = NOMINAL + offset;
    SizeBelief::measured(nm(low), nm(low + form), nm(uncertainty)).unwrap()
}

fn rules() -> impl Strategy<Value = DecisionRule> {
    proptest::sample::select(DecisionRule::ALL.to_vec())
}

/// A bore that is measured, or anywhere within 10 um.
fn bore(is_measured: bool) -> SizeBelief {
    let limits = Limits { lower: nm(NOMINAL - 10_000), upper: nm(NOMINAL) };
    if is_measured { measured(0, 0, 1_000) } else { SizeBelief::toleranced(limits).unwrap() }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn a_coarser_gauge_makes_a_pair_that_is_inside_less_probable(
        inside in 0.0_f64..=1.0, width in 10_000_i64..60_000, fine in 1_i64..8_000,
        coarser in 0_i64..8_000, is_measured: bool,
    ) {
        let (bore, doubt) = (bore(is_measured), if is_measured { 0 } else { 10_000 });
        let tightest = ((width - doubt) as f64 * inside) as i64;
        let shaft = |uncertainty| {
            let size = bore.smallest() - nm(tightest);
            SizeBelief::measured(size, size, nm(uncertainty)).unwrap()
        };
        let window = ClearanceWindow { min: nm(0), max: nm(width) };
        let p = |uncertainty| {
            let rule = DecisionRule::Conformity95;
            judge_by(&bore, &shaft(uncertainty), window, rule).judgement.probability_in
        };
        prop_assert!(p(fine + coarser) <= p(fine) + 1e-12);
    }

    #[test]
    fn more_wear_never_improves_a_fit_that_is_past_its_middle(
        wear in 0_i64..40_000, more in 0_i64..40_000, width in 0_i64..40_000,
        uncertainty in 1_i64..8_000, is_measured: bool, rule in rules(),
    ) {
        let bore = bore(is_measured);
        // The window's middle is the clearance of the unworn shaft.
        let unworn = bore.smallest() + bore.largest();
        let middle = unworn.nm() - 2 * NOMINAL;
        let window = ClearanceWindow {
            min: nm((middle - width).div_euclid(2)),
            max: nm((middle + width).div_euclid(2)),
        };
        let judged = |wear: i64| judge_by(&bore, &measured(-wear, 0, uncertainty), window, rule);
        let (less, more): (FitJudgement, FitJudgement) = (judged(wear), judged(wear + more));
        prop_assert!(more.judgement.verdict >= less.judgement.verdict);
        prop_assert!(more.judgement.probability_in <= less.judgement.probability_in + 1e-12);
        prop_assert!(more.decision >= less.decision);
    }

    #[test]
    fn what_the_full_guard_band_proves_the_other_rules_accept_too(
        offset in -30_000_i64..30_000, form in 0_i64..10_000, uncertainty in 1_i64..8_000,
        min in -40_000_i64..40_000, width in 0_i64..60_000, is_measured: bool,
    ) {
        let shaft = measured(offset, form, uncertainty);
        let window = ClearanceWindow { min: nm(min), max: nm(min + width) };
        let by = |rule| judge_by(&bore(is_measured), &shaft, window, rule);
        let full = by(DecisionRule::FullGuardBand);
        let default = by(DecisionRule::Conformity95);
        let simple = by(DecisionRule::SimpleAcceptance);
        if full.decision != Decision::Undecided {
            prop_assert_eq!(full.decision, default.decision);
        }
        if default.decision != Decision::Undecided {
            prop_assert_eq!(default.decision, simple.decision);
        }
        match default.judgement.verdict {
            Verdict::ProvenIn => prop_assert!(default.judgement.probability_in >= 0.95),
            Verdict::ProvenOut => prop_assert!(default.judgement.probability_in <= 0.05),
            _ => {}
        }
        prop_assert!(!matches!(
            simple.judgement.verdict,
            Verdict::ProvenIn | Verdict::ProvenOut
        ));
        // The probability does not depend on the rule.
        prop_assert_eq!(full.judgement.probability_in, simple.judgement.probability_in);
    }
}

#[test]
fn on_a_limit_whose_opposite_limit_is_far_the_chance_is_even() {
    let bore = measured(0, 0, 3_000);
    for uncertainty in [1, 400, 4_000, 8_000] {
        for [min, max] in [[20_000, 9_000_000], [-9_000_000, 20_000]] {
            let window = ClearanceWindow { min: nm(min), max: nm(max) };
            let journal = measured(-20_000, 0, uncertainty);
            let found = judge_by(&bore, &journal, window, DecisionRule::Conformity95);
            assert!((found.judgement.probability_in - 0.5).abs() < 1e-12, "{found:?}");
            assert_eq!(found.decision, Decision::Undecided);
        }
    }
}

#[test]
fn two_limits_close_together_share_the_five_per_cent() {
    // In the middle of a window 3.4 standard uncertainties wide: over 1.65 from each limit, but
    // each tail holds 4.5 %, so the default rule does not prove it.
    let journal = measured(-10_000, 0, 2_000);
    let bore = measured(0, 0, 1);
    let window = ClearanceWindow { min: nm(8_300), max: nm(11_700) };
    let found = judge_by(&bore, &journal, window, DecisionRule::Conformity95);
    assert_eq!(found.judgement.verdict, Verdict::NotProven);
    assert!((found.judgement.probability_in - 0.9109).abs() < 1e-4, "{found:?}");
}

#[test]
fn inch_and_millimetre_entries_get_one_answer_under_every_rule() {
    let read = |text: &str, unit| Entry::parse(text, unit).unwrap().length;
    for rule in DecisionRule::ALL {
        let judged = |size: Length, uncertainty: Length, min: Length, max: Length| {
            let journal = SizeBelief::measured(size, size, uncertainty).unwrap();
            let window = ClearanceWindow::new(min, max).unwrap();
            judge_by(&measured(0, 2_000, 1_500), &journal, window, *rule)
        };
        let inch = |text: &str| read(text, Unit::Inch);
        let mm = |text: &str| read(text, Unit::Millimetre);
        assert_eq!(
            judged(inch("1.1800"), inch("0.0002"), inch("0.0005"), inch("0.0015")),
            judged(mm("29.972"), mm("0.00508"), mm("0.0127"), mm("0.0381"))
        );
    }
}
