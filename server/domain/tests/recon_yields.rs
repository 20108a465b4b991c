//! First-pass yields against published worked examples and exact identities.
//!
//! Goal: the beta distribution's quantiles are the printed ones; the prior counts as it says.
#![allow(clippy::unwrap_used, reason = "a test may fail")]

use proptest::prelude::*;
use tenths_domain::yields::{Prior, Yield, YieldCount, beta_cdf, chance_of_route_ppm};

fn counted(prior: Prior, passed: u64, failed: u64) -> Yield {
    Yield::of(prior, YieldCount { passed, failed })
}

/// Equal-tailed 95 % intervals of published tables of worked examples (two web pages on Bayesian
/// estimation, read at a stored copy): the lower end is exceeded with 97.5 %, the upper with 2.5 %.
#[test]
fn credible_bounds_are_the_published_ones() {
    for (prior, passed, failed, low, high) in [
        ((2.0, 3.0), 18, 22, 0.3039, 0.5897),
        ((1.0, 1.0), 5, 15, 0.1128, 0.4717),
        ((5.0, 2.0), 24, 6, 0.6398, 0.8988),
        ((2.0, 2.0), 18, 7, 0.5133, 0.8412),
        ((5.0, 2.0), 36, 9, 0.6688, 0.8871),
    ] {
        let belief = counted(Prior::new(prior.0, prior.1).unwrap(), passed, failed);
        let found = [0.975, 0.025].map(|credibility| belief.lower_bound(credibility).unwrap());
        for (found, printed) in found.into_iter().zip([low, high]) {
            assert!(
                (found - printed).abs() < 0.0001,
                "{prior:?} {passed} {failed}: {found} {printed}"
            );
        }
    }
}

/// The means that the same pages print.
#[test]
fn means_are_the_published_ones() {
    for (prior, passed, failed, mean) in [
        ((2.0, 3.0), 18, 22, 0.4444),
        ((1.0, 1.0), 5, 15, 0.2727),
        ((5.0, 2.0), 24, 6, 0.7838),
        ((1.5, 3.0), 12, 18, 0.3913),
    ] {
        let found = counted(Prior::new(prior.0, prior.1).unwrap(), passed, failed).mean();
        assert!((found - mean).abs() < 0.00005, "{found} {mean}");
    }
}

/// With the uniform prior and no failure in n the posterior is x^(n+1), so the lower bound is the
/// root of it (closed form).
#[test]
fn a_clean_record_has_the_closed_form_bound() {
    for passed in [0_u64, 1, 9, 58, 10_000] {
        let found = counted(Prior::UNIFORM, passed, 0).lower_bound(0.95).unwrap();
        let expected = 0.05_f64.powf(1.0 / (passed as f64 + 1.0));
        assert!((0.0..2e-6).contains(&(expected - found)), "{passed}: {found} {expected}");
    }
}

#[test]
fn what_has_no_meaning_is_refused() {
    let error = Prior::new(0.0, 1.0).unwrap_err().to_string();
    assert_eq!(error, "a prior count of 0 is not possible; allowed: above 0, at most 10000");
    assert!(Prior::new(1.0, f64::NAN).is_err());
    assert!(Prior::new(1.0, 1e9).is_err());
    let error = counted(Prior::UNIFORM, 1, 1).lower_bound(1.0).unwrap_err().to_string();
    assert_eq!(error, "a credibility of 1 is not possible; allowed: above 0 and below 1");
}

#[test]
fn a_route_of_nothing_is_certain() {
    assert_eq!(chance_of_route_ppm(&[]), 1_000_000);
}

/// P(at least a of n) for a binomial, term by term; by logarithms, since the first term of many
/// passes with a high chance is smaller than any number of the machine.
fn binomial_tail(n: u64, a: u64, p: f64) -> f64 {
    let mut log_term = n as f64 * (1.0 - p).ln();
    let mut sum = 0.0;
    for k in 0..=n {
        if k >= a {
            sum += log_term.exp();
        }
        if k < n {
            log_term += ((n - k) as f64 / (k + 1) as f64 * p / (1.0 - p)).ln();
        }
    }
    sum
}

proptest! {
    /// I_p(a, n - a + 1) is the binomial tail from a (DLMF 8.17.5).
    #[test]
    fn the_beta_is_the_binomial_tail(n in 1_u64..200, share in 0.0_f64..1.0, p in 0.01_f64..0.99) {
        let a = 1 + (share * (n - 1) as f64) as u64;
        let found = beta_cdf(a as f64, (n - a + 1) as f64, p);
        prop_assert!((found - binomial_tail(n, a, p)).abs() < 1e-9);
    }

    /// One more pass never lowers a yield, one more failure never raises it.
    #[test]
    fn yields_follow_the_record(passed in 0_u64..500, failed in 0_u64..500) {
        let now = counted(Prior::UNIFORM, passed, failed);
        let passes = counted(Prior::UNIFORM, passed + 1, failed);
        let fails = counted(Prior::UNIFORM, passed, failed + 1);
        prop_assert!(fails.mean() < now.mean() && now.mean() < passes.mean());
        let bound = |one: Yield| one.lower_bound(0.9).unwrap();
        prop_assert!(bound(fails) <= bound(now) && bound(now) <= bound(passes));
        prop_assert!(bound(now) < now.mean());
    }
}
