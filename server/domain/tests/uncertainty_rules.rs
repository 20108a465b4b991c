//! Guard bands, decisions and budgets against published figures.
//!
//! Goal: each decision rule has the guard band, and the risk at its acceptance limit, that its
//! sources print; published decisions come out the same; a budget adds as the GUM says.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use std::collections::BTreeMap;

use proptest::prelude::*;
use tenths_domain::item::Limits;
use tenths_domain::measure::{
    ExpandedUncertainty, LimitRange, MeasureError, ReadingBudget, Setting, SettingMethod,
    UncertaintySources, budget, judge_limit, judge_limit_by,
};
use tenths_domain::units::{Entry, Length, Unit};
use tenths_domain::verdict::{Decision, DecisionRule, Verdict};

const GUARD_BANDS: &str = include_str!("golden/uncertainty_guard_bands.csv");
const DECISIONS: &str = include_str!("golden/uncertainty_decisions.csv");
const BUDGETS: &str = include_str!("golden/uncertainty_budgets.csv");

type Row = BTreeMap<String, String>;

fn rows(text: &str) -> Vec<Row> {
    csv::Reader::from_reader(text.as_bytes()).deserialize().map(|row| row.unwrap()).collect()
}

fn nm(nm: i64) -> Length {
    Length::from_nm(nm)
}

fn uncertainty(nm: i64) -> ExpandedUncertainty {
    ExpandedUncertainty::new(Length::from_nm(nm)).unwrap()
}

fn number(row: &Row, column: &str) -> f64 {
    row[column].parse().unwrap()
}

#[test]
fn guard_bands_and_their_risks_are_the_published_ones() {
    const U: i64 = 1_000_000;
    let all = rows(GUARD_BANDS);
    assert_eq!(all.len(), 4);
    for row in all {
        let rule: DecisionRule = row["rule"].parse().unwrap();
        let guard_band = rule.guard_band(nm(U));
        let share = guard_band.nm() as f64 / U as f64;
        let wanted = number(&row, "share_of_u");
        assert!((share - wanted).abs() <= number(&row, "share_tolerance"), "{row:?}: {share}");
        // The risk at the acceptance limit: the chance of being outside after all.
        let at_limit = judge_limit_by(-guard_band, uncertainty(U), LimitRange::AtMost(nm(0)), rule);
        let risk = 1.0 - at_limit.judgement.probability_in;
        assert!(risk <= number(&row, "risk_at_most") + 1e-12, "{row:?}: {risk}");
        assert_eq!(at_limit.decision, Decision::Accept);
        assert!(rule.source().contains("ILAC-G8"), "{rule}");
    }
}

#[test]
fn published_decisions_come_out_the_same() {
    let all = rows(DECISIONS);
    assert_eq!(all.len(), 7);
    for row in all {
        let upper = nm(row["upper_nm"].parse().unwrap());
        let limit = match row["lower_nm"].parse() {
            Ok(lower) => LimitRange::Between(Limits { lower: nm(lower), upper }),
            Err(_) => LimitRange::AtMost(upper),
        };
        let value = nm(row["value_nm"].parse().unwrap());
        let u = uncertainty(row["uncertainty_nm"].parse().unwrap());
        let found = judge_limit_by(value, u, limit, row["rule"].parse().unwrap());
        assert_eq!(found.decision.as_str(), row["decision"], "{row:?}");
        if !row["probability"].is_empty() {
            let miss = (found.judgement.probability_in - number(&row, "probability")).abs();
            assert!(miss <= number(&row, "probability_tolerance"), "{row:?}: {found:?}");
        }
    }
}

fn sources(gauge: i64, resolution: i64) -> UncertaintySources {
    UncertaintySources {
        gauge: uncertainty(gauge),
        resolution: nm(resolution),
        size: nm(21_500_000),
        material: None,
        temperature_doubt_mk: 0,
    }
}

#[test]
fn published_budgets_add_up() {
    let all = rows(BUDGETS);
    assert_eq!(all.len(), 3);
    for row in all {
        let length = |column: &str| row[column].parse::<i64>().unwrap();
        let setting = Setting {
            method: row["setting_method"].parse().unwrap(),
            expanded_uncertainty: row["setting_nm"].parse().ok().map(uncertainty),
        };
        let reading = ReadingBudget {
            sources: sources(length("gauge_nm"), length("resolution_nm")),
            setting: Some(setting),
            unread_form: nm(length("form_nm")),
        };
        let (found, terms) = budget(&reading).unwrap();
        let miss = (found.length() - nm(length("expanded_nm"))).abs();
        assert!(miss <= nm(length("tolerance_nm")), "{row:?}: {found:?}");
        let squares: f64 = terms.iter().map(|term| term.standard_nm.powi(2)).sum();
        assert!((2.0 * squares.sqrt() - found.length().nm() as f64).abs() <= 0.5, "{terms:?}");
    }
}

#[test]
fn a_budget_without_setting_or_form_is_the_plain_combination() {
    let sources = UncertaintySources { temperature_doubt_mk: 3_000, ..sources(4_161, 2_540) };
    let reading = ReadingBudget { sources, setting: None, unread_form: nm(0) };
    assert_eq!(budget(&reading).unwrap().0, ExpandedUncertainty::combined(&sources));
}

/// Our trade notes, section 2: a bore gauge set in a micrometer carries the micrometer's error too,
/// and is worth less than the same gauge set in a ring.
#[test]
fn a_bore_gauge_set_in_a_ring_is_better_than_one_set_in_a_micrometer() {
    let inch = |text: &str| Entry::parse(text, Unit::Inch).unwrap().length.nm();
    let set_in = |method, standard: &str| {
        let expanded_uncertainty = Some(uncertainty(inch(standard)));
        let setting = Some(Setting { method, expanded_uncertainty });
        let sources = sources(inch("0.00012"), inch("0.0001"));
        budget(&ReadingBudget { sources, setting, unread_form: nm(0) }).unwrap().0
    };
    let micrometer = set_in(SettingMethod::Micrometer, "0.00018");
    let ring = set_in(SettingMethod::SettingRing, "0.00004");
    assert_eq!(ring.length().display(Unit::Inch, 5), "0.00014 in");
    assert_eq!(micrometer.length().display(Unit::Inch, 5), "0.00022 in");
}

#[test]
fn a_budget_without_meaning_is_refused_with_what_was_wrong() {
    let with = |method, unread_form| {
        let setting = Some(Setting { method, expanded_uncertainty: None });
        budget(&ReadingBudget { sources: sources(1_000, 0), setting, unread_form }).unwrap_err()
    };
    let plug = with(SettingMethod::PlugOrRingGauge, nm(0));
    assert_eq!(plug, MeasureError::BoundNotValue);
    assert!(plug.to_string().contains("gives a bound, not a value"));
    let ring = with(SettingMethod::SettingRing, nm(0)).to_string();
    assert!(ring.contains("setting_ring") && ring.contains("is missing"), "{ring}");
    let form = with(SettingMethod::None, nm(-5)).to_string();
    assert!(form.contains("a form of -5 nm has no meaning"), "{form}");
    let zero = ExpandedUncertainty::new(nm(0)).unwrap_err().to_string();
    assert!(zero.contains("must be above zero"), "{zero}");
}

#[test]
fn a_rule_that_does_not_exist_is_refused_with_those_that_do() {
    let message = "iso_14253".parse::<DecisionRule>().unwrap_err().to_string();
    for rule in DecisionRule::ALL {
        assert!(message.contains(rule.as_str()), "{message}");
        assert_eq!(rule.as_str().parse::<DecisionRule>().unwrap(), *rule);
    }
}

fn rules() -> impl Strategy<Value = DecisionRule> {
    proptest::sample::select(DecisionRule::ALL.to_vec())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn a_coarser_gauge_makes_a_value_inside_less_probable_and_never_decides_more(
        inside in 0_i64..=40_000, width in 0_i64..60_000, fine in 1_i64..30_000,
        coarser in 0_i64..30_000, rule in rules(),
    ) {
        let limits = Limits { lower: nm(0), upper: nm(inside + width) };
        let judged = |u| {
            judge_limit_by(nm(inside), uncertainty(u), LimitRange::Between(limits), rule)
        };
        let (fine, coarse) = (judged(fine), judged(fine + coarser));
        prop_assert!(coarse.judgement.probability_in <= fine.judgement.probability_in + 1e-12);
        prop_assert!(coarse.judgement.verdict >= fine.judgement.verdict);
    }

    #[test]
    fn more_wear_never_improves_a_journal_that_is_past_its_middle(
        width in 0_i64..60_000, wear in 0_i64..60_000, more in 0_i64..60_000,
        u in 1_i64..20_000, rule in rules(),
    ) {
        let limits = Limits { lower: nm(-width), upper: nm(width) };
        let judged = |wear: i64| {
            judge_limit_by(nm(-wear), uncertainty(u), LimitRange::Between(limits), rule)
        };
        let (less, more) = (judged(wear), judged(wear + more));
        prop_assert!(more.judgement.verdict >= less.judgement.verdict);
        prop_assert!(more.decision >= less.decision);
        prop_assert!(more.judgement.probability_in <= less.judgement.probability_in + 1e-12);
    }

    #[test]
    fn on_a_limit_whose_opposite_limit_is_far_the_chance_is_even(
        u in 1_i64..20_000, rule in rules(), is_lower: bool,
    ) {
        let far = Limits { lower: nm(0), upper: nm(1_000_000_000) };
        let value = if is_lower { far.lower } else { far.upper };
        let found = judge_limit_by(value, uncertainty(u), LimitRange::Between(far), rule);
        prop_assert!((found.judgement.probability_in - 0.5).abs() < 1e-12);
        prop_assert_eq!(found.judgement.verdict, Verdict::NotProven);
    }

    #[test]
    fn the_plain_judgement_is_the_full_guard_band(
        value in -90_000_i64..90_000, upper in -90_000_i64..90_000, u in 1_i64..20_000,
    ) {
        let limit = LimitRange::AtMost(nm(upper));
        let by_rule = judge_limit_by(nm(value), uncertainty(u), limit, DecisionRule::FullGuardBand);
        prop_assert_eq!(judge_limit(nm(value), uncertainty(u), limit), by_rule.judgement);
    }
}
