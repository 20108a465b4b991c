//! The beta distribution's cumulative probability: the regularized incomplete beta function.
//!
//! By its continued fraction (DLMF 8.17.22, Abramowitz & Stegun 26.5.8), evaluated from the front
//! by Lentz's method as Thompson and Barnett changed it (1986), on the side of the mean where it
//! converges fast; the other side by I_x(a, b) = 1 - I_(1-x)(b, a) (DLMF 8.17.4).

/// Terms after which the fraction has long converged for counts up to some millions.
const TERMS_MAX: u32 = 20_000;
/// Stands in for a nought in a denominator.
const TINY: f64 = 1e-300;

/// The probability that a Beta(a, b) variable is at most `x`; `a` and `b` above zero.
///
/// ```
/// use tenths_domain::yields::beta_cdf;
/// assert!((beta_cdf(1.0, 1.0, 0.3) - 0.3).abs() < 1e-12);
/// assert!((beta_cdf(4.0, 1.0, 0.5) - 0.0625).abs() < 1e-12); // x^a
/// ```
pub fn beta_cdf(a: f64, b: f64, x: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    let log_front = libm::lgamma(a + b) - libm::lgamma(a) - libm::lgamma(b)
        + a * libm::log(x)
        + b * libm::log1p(-x);
    let front = libm::exp(log_front);
    if x < (a + 1.0) / (a + b + 2.0) {
        front * fraction(a, b, x) / a
    } else {
        1.0 - front * fraction(b, a, 1.0 - x) / b
    }
}

/// 1 / (1 + d1 / (1 + d2 / (1 + ...))).
fn fraction(a: f64, b: f64, x: f64) -> f64 {
    let nonzero = |value: f64| if value.abs() < TINY { TINY } else { value };
    let mut c = 1.0;
    let mut d = 1.0 / nonzero(1.0 - (a + b) * x / (a + 1.0));
    let mut value = d;
    for m in (1..=TERMS_MAX).map(f64::from) {
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut step = 1.0;
        for term in [even, odd] {
            d = 1.0 / nonzero(1.0 + term * d);
            c = nonzero(1.0 + term / c);
            step = d * c;
            value *= step;
        }
        if (step - 1.0_f64).abs() < 1e-15 {
            break;
        }
    }
    value
}
