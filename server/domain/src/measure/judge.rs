//! Whether a measured value meets a limit, and how sure that is.

use super::ExpandedUncertainty;
use crate::item::Limits;
use crate::probability::normal_cdf;
use crate::units::Length;
use crate::verdict::{Decided, DecisionRule, Judgement, Margins};

/// What a measured value may be, every bound inclusive.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum LimitRange {
    /// This or more.
    AtLeast(Length),
    /// This or less.
    AtMost(Length),
    /// From the lower to the upper.
    Between(Limits),
}

impl LimitRange {
    /// By how much a value is inside; below zero by how much it is outside.
    ///
    /// ```
    /// use tenths_domain::measure::LimitRange;
    /// use tenths_domain::units::Length;
    /// let limit = LimitRange::AtMost(Length::from_nm(50_800));
    /// assert_eq!(limit.margin(Length::from_nm(76_200)), Length::from_nm(-25_400));
    /// ```
    pub fn margin(self, value: Length) -> Length {
        match self {
            LimitRange::AtLeast(lower) => value - lower,
            LimitRange::AtMost(upper) => upper - value,
            LimitRange::Between(limits) => (value - limits.lower).min(limits.upper - value),
        }
    }

    /// Whether a value meets the limit as it was read: simple acceptance, the limit included.
    pub fn contains(self, value: Length) -> bool {
        self.margin(value) >= Length::ZERO
    }

    /// The probability that the true value is inside, for a normal distribution about `value`.
    fn probability_in(self, value: Length, uncertainty: ExpandedUncertainty) -> f64 {
        let deviations = |length: Length| length.nm() as f64 / uncertainty.standard_nm();
        let below = |lower: Length| normal_cdf(deviations(lower - value));
        let above = |upper: Length| normal_cdf(deviations(value - upper));
        let outside = match self {
            LimitRange::AtLeast(lower) => below(lower),
            LimitRange::AtMost(upper) => above(upper),
            LimitRange::Between(limits) => below(limits.lower) + above(limits.upper),
        };
        (1.0 - outside).clamp(0.0, 1.0)
    }
}

/// Judges a value against a limit with the full guard band: proven in when inside by at least the
/// expanded uncertainty, proven out when outside by more ([`DecisionRule::FullGuardBand`]), else by
/// the probability of a normal distribution with half the expanded uncertainty as its deviation
/// (JCGM 106:2012, 7). A value exactly on a one-sided limit has an even chance.
///
/// ```
/// use tenths_domain::measure::{ExpandedUncertainty, LimitRange, judge_limit};
/// use tenths_domain::units::Length;
/// use tenths_domain::verdict::Verdict;
/// let uncertainty = ExpandedUncertainty::new(Length::from_nm(4_600))?;
/// let limit = LimitRange::AtLeast(Length::from_nm(30_002_000));
/// let on_the_limit = judge_limit(Length::from_nm(30_002_000), uncertainty, limit);
/// assert_eq!((on_the_limit.verdict, on_the_limit.probability_in), (Verdict::NotProven, 0.5));
/// # Ok::<(), tenths_domain::measure::MeasureError>(())
/// ```
pub fn judge_limit(
    value: Length,
    uncertainty: ExpandedUncertainty,
    limit: LimitRange,
) -> Judgement {
    judge_limit_by(value, uncertainty, limit, DecisionRule::FullGuardBand).judgement
}

/// Judges a value against a limit by a decision rule of choice; the conformance probability goes
/// with it whatever the rule.
///
/// ```
/// use tenths_domain::measure::{ExpandedUncertainty, LimitRange, judge_limit_by};
/// use tenths_domain::units::Length;
/// use tenths_domain::verdict::{Decision, DecisionRule, Verdict};
/// let uncertainty = ExpandedUncertainty::new(Length::from_nm(2_000))?;
/// let limit = LimitRange::AtMost(Length::from_nm(10_000));
/// let judged = |rule| judge_limit_by(Length::from_nm(8_200), uncertainty, limit, rule);
/// assert_eq!(judged(DecisionRule::Conformity95).judgement.verdict, Verdict::ProvenIn);
/// assert_eq!(judged(DecisionRule::FullGuardBand).judgement.verdict, Verdict::ProbableIn);
/// assert_eq!(judged(DecisionRule::SimpleAcceptance).decision, Decision::Accept);
/// # Ok::<(), tenths_domain::measure::MeasureError>(())
/// ```
pub fn judge_limit_by(
    value: Length,
    uncertainty: ExpandedUncertainty,
    limit: LimitRange,
    rule: DecisionRule,
) -> Decided {
    let margin = limit.margin(value);
    let margins = Margins {
        inside_by: Some(margin),
        outside_by: Some(-margin),
        expanded_uncertainty: uncertainty.length(),
    };
    rule.decide(margins, limit.probability_in(value, uncertainty))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::verdict::Verdict;

    fn nm(nm: i64) -> Length {
        Length::from_nm(nm)
    }

    /// Against a lower limit of 10 000 nm with U = 2 000 nm, a standard uncertainty of 1 000 nm.
    fn check(value_nm: i64, verdict: Verdict, probability_in: f64) {
        let uncertainty = ExpandedUncertainty::new(nm(2_000)).unwrap();
        let judged = judge_limit(nm(value_nm), uncertainty, LimitRange::AtLeast(nm(10_000)));
        assert_eq!(judged.verdict, verdict, "{value_nm}");
        assert!((judged.probability_in - probability_in).abs() < 5e-4, "{judged:?}");
        // The mirror image against an upper limit is judged the same.
        let mirrored = judge_limit(nm(-value_nm), uncertainty, LimitRange::AtMost(nm(-10_000)));
        assert_eq!(mirrored, judged);
    }

    /// Probabilities from tables of the normal distribution (NIST/SEMATECH e-Handbook, 1.3.6.7.1).
    #[test]
    fn the_proven_ends_are_inclusive_inside_and_exclusive_outside() {
        check(12_000, Verdict::ProvenIn, 0.9772);
        check(11_999, Verdict::ProbableIn, 0.9772);
        check(11_650, Verdict::ProbableIn, 0.9505);
        check(11_000, Verdict::NotProven, 0.8413);
        check(10_000, Verdict::NotProven, 0.5);
        check(9_000, Verdict::NotProven, 0.1587);
        check(8_350, Verdict::ProbableOut, 0.0495);
        check(8_000, Verdict::ProbableOut, 0.0228);
        check(7_999, Verdict::ProvenOut, 0.0228);
    }

    /// A k5 seat at 30 mm is 9 um wide; a gauge good to 4.6 um proves almost nothing there, and one
    /// good to 5 um nothing at all (our trade notes, section 2).
    #[test]
    fn a_narrow_seat_leaves_no_room_for_a_coarse_gauge() {
        let seat = LimitRange::Between(Limits { lower: nm(30_002_000), upper: nm(30_011_000) });
        let coarse = ExpandedUncertainty::new(nm(5_000)).unwrap();
        for value_nm in 30_002_000..=30_011_000 {
            let judged = judge_limit(nm(value_nm), coarse, seat);
            assert_ne!(judged.verdict, Verdict::ProvenIn, "{value_nm}");
            assert!(judged.probability_in < 0.93, "{value_nm}");
        }
        let fine = ExpandedUncertainty::new(nm(1_270)).unwrap();
        assert_eq!(judge_limit(nm(30_006_500), fine, seat).verdict, Verdict::ProvenIn);
        assert_eq!(judge_limit(nm(30_013_000), fine, seat).verdict, Verdict::ProvenOut);
        assert!(!seat.contains(nm(30_011_001)) && seat.contains(nm(30_011_000)));
    }

    #[test]
    fn further_inside_is_never_less_sure() {
        let uncertainty = ExpandedUncertainty::new(nm(2_000)).unwrap();
        let judged = |value| judge_limit(nm(value), uncertainty, LimitRange::AtLeast(nm(0)));
        for value in (-5_000..5_000).step_by(50) {
            let (worse, better) = (judged(value), judged(value + 50));
            assert!(better.verdict <= worse.verdict, "{value}");
            assert!(better.probability_in >= worse.probability_in, "{value}");
        }
    }
}
