//! The normal distribution, as far as verdicts need it.
//!
//! Probabilities are floats by design (design section 4): they describe doubt about a length, they
//! are never a length.

/// Probability that a standard normal variable is at most `z`.
///
/// ```
/// use tenths_domain::probability::normal_cdf;
/// assert!((normal_cdf(0.0) - 0.5).abs() < 1e-15);
/// ```
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z / std::f64::consts::SQRT_2)
}

/// Density of the standard normal at `z`.
pub fn normal_pdf(z: f64) -> f64 {
    libm::exp(-0.5 * z * z) / (2.0 * std::f64::consts::PI).sqrt()
}
