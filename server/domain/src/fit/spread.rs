//! How one clearance spreads about its middle: a normal part (gauges) and up to two uniform parts
//! (sizes known only within a range), and the probability that it lies in an interval.
//!
//! The distribution function of a normal plus uniforms is the repeated integral of the normal one,
//! differenced once per uniform: with Phi and phi the standard normal's distribution and density,
//! `G1(z) = z Phi(z) + phi(z)` and `G2(z) = ((z^2 + 1) Phi(z) + z phi(z)) / 2` are its first and
//! second integrals from minus infinity. Derived here by integration by parts; the tests compare
//! with direct numeric integration. Only lower tails are ever evaluated, so nothing is lost to
//! `1 - (1 - small)`.

use crate::probability::{normal_cdf, normal_pdf};

/// A uniform part narrower than this share of the normal one is taken as normal of the same
/// variance, with one term of the Gram-Charlier series for its fourth cumulant -2 a^4 / 15: what is
/// left is of the sixth order (below 1e-15), while differencing would lose digits.
const NARROW_SHARE: f64 = 0.01;

/// A spread that is symmetric about zero.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spread {
    /// Standard deviation of the normal part.
    sigma: f64,
    /// Excess kurtosis of that part over 24, from the uniform parts folded into it.
    excess: f64,
    /// Half widths of the uniform parts, the wider first; zero if there is none.
    half_widths: [f64; 2],
}

impl Spread {
    /// A spread from a normal part and two uniform parts, any of them zero.
    pub(super) fn new(sigma: f64, half_widths: [f64; 2]) -> Self {
        let mut variance = sigma * sigma;
        let mut fourth_cumulant = 0.0;
        let mut kept = half_widths.map(|half_width| {
            if half_width < NARROW_SHARE * sigma {
                // The variance of a uniform of half width a is a^2 / 3.
                variance += half_width * half_width / 3.0;
                fourth_cumulant -= half_width.powi(4) * (2.0 / 15.0);
                0.0
            } else {
                half_width
            }
        });
        if kept[0] < kept[1] {
            kept.swap(0, 1);
        }
        let excess =
            if variance > 0.0 { fourth_cumulant / (24.0 * variance * variance) } else { 0.0 };
        Spread { sigma: variance.sqrt(), excess, half_widths: kept }
    }

    /// The probability of lying between `low` and `high`, both inclusive; zero if `low` is above
    /// `high`.
    pub(super) fn probability_within(&self, low: f64, high: f64) -> f64 {
        if low > high {
            return 0.0;
        }
        if self.sigma == 0.0 && self.half_widths[0] == 0.0 {
            return if low <= 0.0 && high >= 0.0 { 1.0 } else { 0.0 };
        }
        let within = if high < 0.0 {
            self.lower_tail(high) - self.lower_tail(low)
        } else if low > 0.0 {
            self.lower_tail(-low) - self.lower_tail(-high)
        } else {
            1.0 - self.lower_tail(low) - self.lower_tail(-high)
        };
        within.clamp(0.0, 1.0)
    }

    /// The probability of lying at or below `x`, for `x` not above zero.
    fn lower_tail(&self, x: f64) -> f64 {
        let [a, b] = self.half_widths;
        if a == 0.0 {
            let z = x / self.sigma;
            normal_cdf(z) - self.excess * (z * z - 3.0) * z * normal_pdf(z)
        } else if b == 0.0 {
            (self.ramp(x + a) - self.ramp(x - a)) / (2.0 * a)
        } else {
            let rising = self.parabola(x + a + b) - self.parabola(x + a - b);
            let falling = self.parabola(x - a + b) - self.parabola(x - a - b);
            (rising - falling) / (4.0 * a * b)
        }
    }

    /// First integral of the normal part's distribution function.
    fn ramp(&self, x: f64) -> f64 {
        if self.sigma == 0.0 {
            return x.max(0.0);
        }
        let z = x / self.sigma;
        let folded = self.excess * (z * z - 1.0) * normal_pdf(z);
        self.sigma * (z * normal_cdf(z) + normal_pdf(z) + folded).max(0.0)
    }

    /// Second integral of the normal part's distribution function.
    fn parabola(&self, x: f64) -> f64 {
        if self.sigma == 0.0 {
            return x.max(0.0).powi(2) / 2.0;
        }
        let z = x / self.sigma;
        let folded = self.excess * z * normal_pdf(z);
        let unit = ((z * z + 1.0) * normal_cdf(z) + z * normal_pdf(z)) / 2.0 - folded;
        self.sigma * self.sigma * unit.max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const STEPS: usize = 4_000;

    /// Simpson's rule over `from..to`.
    fn integrate(from: f64, to: f64, f: impl Fn(f64) -> f64) -> f64 {
        let h = (to - from) / STEPS as f64;
        let weight = |i: usize| match i {
            0 | STEPS => 1.0,
            i if i % 2 == 1 => 4.0,
            _ => 2.0,
        };
        (0..=STEPS).map(|i| weight(i) * f(from + h * i as f64)).sum::<f64>() * h / 3.0
    }

    /// Density at `t` of the uniform parts' sum: a box, or a trapezoid.
    fn uniform_density(t: f64, a: f64, b: f64) -> f64 {
        let overlap = (t + b).min(a) - (t - b).max(-a);
        overlap.max(0.0) / (4.0 * a * b)
    }

    /// The probability by integrating the uniform parts' density against the normal's distribution
    /// function, in pieces between the corners of the density.
    fn by_integration(sigma: f64, [a, b]: [f64; 2], low: f64, high: f64) -> f64 {
        let normal = |x: f64| normal_cdf(x / sigma);
        let inside = |t: f64| normal(high - t) - normal(low - t);
        if b == 0.0 {
            return integrate(-a, a, inside) / (2.0 * a);
        }
        let corners = [-a - b, -(a - b).abs(), (a - b).abs(), a + b];
        let piece =
            |ends: &[f64]| integrate(ends[0], ends[1], |t| uniform_density(t, a, b) * inside(t));
        corners.windows(2).map(piece).sum()
    }

    #[test]
    fn the_closed_forms_equal_numeric_integration() {
        let mut compared = 0;
        for sigma in [0.5, 3.0, 10.0] {
            for half_widths in [[5.0, 0.0], [0.2, 0.0], [5.0, 4.0], [5.0, 5.0], [2.0, 9.0]] {
                let spread = Spread::new(sigma, half_widths);
                for low in [-30.0, -12.0, -4.0, 0.0, 3.0, 11.0] {
                    for width in [0.5, 4.0, 20.0] {
                        let found = spread.probability_within(low, low + width);
                        let wanted = by_integration(sigma, half_widths, low, low + width);
                        assert!(
                            (found - wanted).abs() < 1e-9,
                            "{sigma} {half_widths:?} {low} {width}: {found} {wanted}"
                        );
                        compared += 1;
                    }
                }
            }
        }
        assert_eq!(compared, 3 * 5 * 6 * 3);
    }

    #[test]
    fn far_tails_keep_their_digits() {
        // Ten to twenty standard deviations out, where 1 - Phi would be zero.
        for (half_widths, low) in [([5.0, 0.0], 15.0), ([5.0, 3.0], 18.0), ([5.0, 5.0], -40.0)] {
            let spread = Spread::new(1.0, half_widths);
            let found = spread.probability_within(low, low + 10.0);
            // The upper tail mirrored to the lower, where the reference is exact too.
            let [from, to] = if low > 0.0 { [-low - 10.0, -low] } else { [low, low + 10.0] };
            let wanted = by_integration(1.0, half_widths, from, to);
            assert!(wanted > 0.0 && wanted < 1e-12, "{wanted}");
            assert!((found / wanted - 1.0).abs() < 1e-6, "{half_widths:?}: {found} {wanted}");
        }
    }

    #[test]
    fn without_a_normal_part_the_shapes_are_a_step_a_box_and_a_trapezoid() {
        let at_zero = Spread::new(0.0, [0.0, 0.0]);
        assert_eq!(at_zero.probability_within(0.0, 5.0), 1.0);
        assert_eq!(at_zero.probability_within(-5.0, -1.0), 0.0);
        let uniform = Spread::new(0.0, [0.0, 4.0]);
        assert!((uniform.probability_within(-2.0, 3.0) - 5.0 / 8.0).abs() < 1e-15);
        // Half widths 4 and 2: flat to 2, falling to nothing at 6; 1/8 of the area is beyond 3.5.
        let trapezoid = Spread::new(0.0, [4.0, 2.0]);
        assert!((trapezoid.probability_within(-2.0, 2.0) - 0.5).abs() < 1e-15);
        let beyond = (6.0_f64 - 3.5).powi(2) / 2.0 / (4.0 * 4.0 * 2.0);
        assert!((trapezoid.probability_within(3.5, 99.0) - beyond).abs() < 1e-15);
    }

    #[test]
    fn a_narrow_uniform_part_changes_over_to_the_normal_without_a_jump() {
        for wide in [0.0, 7.0] {
            let [kept, folded] = [1.001, 0.999].map(|share| {
                Spread::new(2.0, [wide, 2.0 * NARROW_SHARE * share]).probability_within(-1.0, 2.5)
            });
            assert!((kept - folded).abs() < 1e-7, "{kept} {folded}");
        }
    }

    /// Far out, where the fourth cumulant of a folded part shows most.
    #[test]
    fn a_folded_part_keeps_nine_digits() {
        for half_widths in [[0.00999, 0.0], [0.00999, 0.00999], [3.0, 0.00999]] {
            let spread = Spread::new(1.0, half_widths);
            for high in [-0.5, -2.0, -3.5, -4.0] {
                let found = spread.probability_within(-30.0, high);
                let wanted = by_integration(1.0, half_widths, -30.0, high);
                assert!((found / wanted - 1.0).abs() < 1e-9, "{half_widths:?}: {found} {wanted}");
            }
        }
    }

    #[test]
    fn an_empty_interval_has_no_probability() {
        assert_eq!(Spread::new(1.0, [1.0, 0.0]).probability_within(1.0, -1.0), 0.0);
    }
}
