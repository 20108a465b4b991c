//! First-pass yield of an operation, from what passed and what did not.
//!
//! Beta-binomial: a yield believed Beta(a, b) before is believed Beta(a + passed, b + failed) after
//! (conjugate prior; Gelman et al., Bayesian Data Analysis, 3rd ed., 2.4, from memory). Where the
//! shop states no prior it is Beta(1, 1): every yield equally likely, so that the mean is Laplace's
//! rule of succession, (passed + 1) / (passed + failed + 2). No yield is built in.

mod beta;

pub use beta::beta_cdf;

/// A belief in a yield before anything was counted, as if so many had passed and failed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prior {
    passed: f64,
    failed: f64,
}

/// Why a prior or a credibility has no meaning.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum YieldError {
    /// A prior count out of range.
    #[error(
        "a prior count of {value} is not possible; allowed: above 0, at most {PRIOR_COUNT_MAX}"
    )]
    Prior {
        /// What was given.
        value: f64,
    },
    /// A credibility out of range.
    #[error("a credibility of {value} is not possible; allowed: above 0 and below 1")]
    Credibility {
        /// What was given.
        value: f64,
    },
}

/// A prior heavier than this would never be moved by a shop's own history (our own choice, no
/// published source).
pub const PRIOR_COUNT_MAX: f64 = 10_000.0;

impl Prior {
    /// Every yield equally likely: Beta(1, 1).
    pub const UNIFORM: Prior = Prior { passed: 1.0, failed: 1.0 };

    /// As if `passed` had passed and `failed` had failed; both may be fractions.
    pub fn new(passed: f64, failed: f64) -> Result<Prior, YieldError> {
        for value in [passed, failed] {
            if !(value > 0.0 && value <= PRIOR_COUNT_MAX) {
                return Err(YieldError::Prior { value });
            }
        }
        Ok(Prior { passed, failed })
    }

    /// The count taken as passed.
    pub const fn passed(self) -> f64 {
        self.passed
    }

    /// The count taken as failed.
    pub const fn failed(self) -> f64 {
        self.failed
    }
}

/// What was counted of one operation at one place, the shop or a vendor.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct YieldCount {
    /// How many were good the first time.
    pub passed: u64,
    /// How many were not.
    pub failed: u64,
}

/// What is believed of a yield.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Yield {
    passed: f64,
    failed: f64,
}

impl Yield {
    /// The prior, moved by what was counted.
    ///
    /// ```
    /// use tenths_domain::yields::{Prior, Yield, YieldCount};
    /// let nothing = Yield::of(Prior::UNIFORM, YieldCount::default());
    /// assert_eq!(nothing.mean(), 0.5);
    /// let some = Yield::of(Prior::UNIFORM, YieldCount { passed: 9, failed: 1 });
    /// assert!((some.mean() - 10.0 / 12.0).abs() < 1e-15);
    /// ```
    pub fn of(prior: Prior, count: YieldCount) -> Yield {
        Yield {
            passed: prior.passed + count.passed as f64,
            failed: prior.failed + count.failed as f64,
        }
    }

    /// The chance that the next one passes.
    pub fn mean(self) -> f64 {
        self.passed / (self.passed + self.failed)
    }

    /// The yield that is exceeded with this credibility (0.95: nineteen chances in twenty that the
    /// true yield is higher), rounded down to a millionth.
    ///
    /// # Errors
    /// [`YieldError::Credibility`] unless above 0 and below 1.
    pub fn lower_bound(self, credibility: f64) -> Result<f64, YieldError> {
        if !(credibility > 0.0 && credibility < 1.0) {
            return Err(YieldError::Credibility { value: credibility });
        }
        let below = 1.0 - credibility;
        let [mut low, mut high] = [0_u32, PPM];
        while high - low > 1 {
            let middle = low.midpoint(high);
            let at = f64::from(middle) / f64::from(PPM);
            if beta_cdf(self.passed, self.failed, at) <= below {
                low = middle;
            } else {
                high = middle;
            }
        }
        Ok(f64::from(low) / f64::from(PPM))
    }

    /// The chance that all of the next `count` pass: the product of (a + i) / (a + b + i), the
    /// beta-binomial at its upper end.
    ///
    /// ```
    /// use tenths_domain::yields::{Prior, Yield, YieldCount};
    /// let nothing = Yield::of(Prior::UNIFORM, YieldCount::default());
    /// assert!((nothing.chance_of_all(3) - 0.25).abs() < 1e-15); // 1 / (count + 1)
    /// ```
    pub fn chance_of_all(self, count: u32) -> f64 {
        let chances = (0..count).map(f64::from);
        chances.map(|i| (self.passed + i) / (self.passed + self.failed + i)).product()
    }
}

/// Parts in a million of certainty.
pub const PPM: u32 = 1_000_000;

/// The chance that a whole route passes the first time, in parts per million rounded down: the
/// product of its operations' chances, taken as independent. An empty route is certain.
///
/// ```
/// use tenths_domain::yields::{Prior, Yield, YieldCount, chance_of_route_ppm};
/// let count = YieldCount { passed: 8, failed: 0 };
/// let one = Yield::of(Prior::UNIFORM, count); // 9 in 10
/// assert_eq!(chance_of_route_ppm(&[one, one]), 810_000);
/// ```
pub fn chance_of_route_ppm(yields: &[Yield]) -> u32 {
    let chance: f64 = yields.iter().map(|one| one.mean()).product();
    // The last bits of a product are noise: 0.9 x 0.9 is a hair over or under 0.81.
    libm::floor(chance * f64::from(PPM) + 1e-6) as u32
}
