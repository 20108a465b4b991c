//! Judging two sizes against a window of clearance.

use super::spread::Spread;
use super::{ClearanceWindow, OpenEnds, SizeBelief};
use crate::units::Length;
use crate::verdict::{Decided, Decision, DecisionRule, Judgement, Margins, Verdict};

/// Far beyond any clearance, in half nanometres, where every tail has underflowed to nothing.
const NO_END: f64 = 1e18;

/// What two sizes give, and how sure it is that the fit is inside its window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FitJudgement {
    /// Smallest hole minus largest shaft, without uncertainty; negative is interference.
    pub clearance_min: Length,
    /// Largest hole minus smallest shaft, without uncertainty.
    pub clearance_max: Length,
    /// The ends of that range that are no ends, because a fixed gauge bounds one side only.
    pub open: OpenEnds,
    /// Expanded uncertainty (k = 2) of a clearance, from both gauges.
    pub expanded_uncertainty: Length,
    /// The verdict and its probability. Where an end is open the probability is the most that it
    /// can be, and the verdict is never better than not proven.
    pub judgement: Judgement,
    /// The decision rule that the verdict's proven ends rest on.
    pub rule: DecisionRule,
    /// What the rule decides.
    pub decision: Decision,
}

impl FitJudgement {
    /// Whether the probability is only the most that it can be: a one-sided bound says nothing of
    /// how far beyond it the size lies.
    pub const fn is_probability_at_most(&self) -> bool {
        self.open.below || self.open.above
    }

    /// The verdict in the one wording; a probability that is only a bound says so.
    pub fn words(&self) -> String {
        match self.is_probability_at_most() {
            true => self.judgement.words_at_most(),
            false => self.judgement.to_string(),
        }
    }
}

/// Judges the fit of an internal size on an external one, with the full guard band: see
/// [`judge_by`].
///
/// ```
/// use tenths_domain::fit::{Requirement, SizeBelief, judge};
/// use tenths_domain::bearings::iso492::ToleranceClass;
/// use tenths_domain::item::Limits;
/// use tenths_domain::units::Length;
/// use tenths_domain::verdict::Verdict;
/// let nm = Length::from_nm;
/// let ring = Limits { lower: nm(29_990_000), upper: nm(30_000_000) };
/// let ring = SizeBelief::toleranced(ring).unwrap();
/// let seat = SizeBelief::measured(nm(30_005_000), nm(30_007_000), nm(2_000)).unwrap();
/// let k5: Requirement = "k5".parse().unwrap();
/// let window = k5.window(nm(30_000_000), Some(ToleranceClass::Normal)).unwrap();
/// let found = judge(&ring, &seat, window);
/// assert_eq!(found.judgement.verdict, Verdict::ProvenIn);
/// assert_eq!((found.clearance_min, found.clearance_max), (nm(-17_000), nm(-5_000)));
/// ```
pub fn judge(
    internal: &SizeBelief,
    external: &SizeBelief,
    window: ClearanceWindow,
) -> FitJudgement {
    judge_by(internal, external, window, DecisionRule::FullGuardBand)
}

/// Judges the fit of an internal size on an external one by a decision rule.
///
/// The two gauges' uncertainties add by the root of the sum of their squares; the rule makes its
/// guard band of that.
///
/// *Proven in*: both extremes are within the window by the guard band. For an unmeasured part this
/// holds for every size within its limits; the window of a class against an unmeasured ring spans
/// exactly the ring's limits, so a seat inside its class by the guard band or more is proven in.
///
/// *Proven out*: one extreme is outside by more than the guard band whatever the unmeasured part's
/// size: the tightest place of the pair is too tight at its loosest, or the loosest place too loose
/// at its tightest. (A seat that is loose at one reading is not saved by another reading.)
///
/// *Probability*: that the pair actually put together is inside at both extremes. The readings of a
/// part are there at once, so they narrow the window by their spread; about their middle the
/// gauges' error is normal (standard deviation U / 2), and an unmeasured part is uniform over its
/// limits. It agrees with the proofs: with the full guard band, proven in implies P >= 0.954 and
/// proven out P <= 0.023. It is *not* the probability that the seat is within its class: a seat
/// just outside its class, on a ring somewhere in its own, is probably a fit in the end, and the
/// probability says so, while the extremes (and the matching that ranks by them) still show that
/// the class is not met.
///
/// *A one-sided bound* proves a misfit at most, and only on its own side. The probability is then
/// the most that it can be: that the bound itself does not already exclude the fit.
///
/// ```
/// use tenths_domain::fit::{ClearanceWindow, SizeBelief, judge_by};
/// use tenths_domain::units::Length;
/// use tenths_domain::verdict::{DecisionRule, Verdict};
/// let nm = Length::from_nm;
/// let bore = SizeBelief::measured(nm(20_010_000), nm(20_010_000), nm(2_000)).unwrap();
/// let journal = SizeBelief::measured(nm(19_988_250), nm(19_988_250), nm(1)).unwrap();
/// let window = ClearanceWindow::new(nm(20_000), nm(41_000)).unwrap();
/// let verdict = |rule| judge_by(&bore, &journal, window, rule).judgement.verdict;
/// // Inside by 1.75 um: enough for 1.65 standard uncertainties of 1 um, too little for two.
/// assert_eq!(verdict(DecisionRule::Conformity95), Verdict::ProvenIn);
/// assert_eq!(verdict(DecisionRule::FullGuardBand), Verdict::ProbableIn);
/// ```
pub fn judge_by(
    internal: &SizeBelief,
    external: &SizeBelief,
    window: ClearanceWindow,
    rule: DecisionRule,
) -> FitJudgement {
    let (clearance_min, clearance_max) = clearance_range(internal, external);
    let open = open_ends(internal, external);
    let expanded_uncertainty = combined_uncertainty(internal, external);
    let doubt = internal.doubt() + external.doubt();
    let inside_by = (clearance_min - window.min).min(window.max - clearance_max);
    let too_tight = (!open.above).then_some(window.min - clearance_min - doubt);
    let too_loose = (!open.below).then_some(clearance_max - doubt - window.max);
    let margins = Margins {
        inside_by: (!open.below && !open.above).then_some(inside_by),
        // Nothing sorts below everything, so the larger of the two is the one that is there.
        outside_by: too_tight.max(too_loose),
        expanded_uncertainty,
    };
    let probability = probability_in(internal, external, window, open);
    let Decided { decision, judgement, .. } = rule.decide(margins, probability);
    FitJudgement {
        clearance_min,
        clearance_max,
        open,
        expanded_uncertainty,
        judgement: if open.below || open.above { at_most(judgement) } else { judgement },
        rule,
        decision,
    }
}

/// Whether [`judge`] calls the fit proven in, without working out a probability: an index weighs
/// hundreds of sizes to list twenty.
pub(crate) fn is_proven_in(
    internal: &SizeBelief,
    external: &SizeBelief,
    window: ClearanceWindow,
) -> bool {
    let (clearance_min, clearance_max) = clearance_range(internal, external);
    let open = open_ends(internal, external);
    let inside_by = (clearance_min - window.min).min(window.max - clearance_max);
    let uncertainty = combined_uncertainty(internal, external);
    !open.below && !open.above && inside_by >= DecisionRule::FullGuardBand.guard_band(uncertainty)
}

/// A judgement whose probability is only the most that it can be: nothing good follows from it.
fn at_most(judgement: Judgement) -> Judgement {
    let verdict = judgement.verdict.max(Verdict::NotProven);
    Judgement { verdict, ..judgement }
}

/// The clearance at both extremes: smallest hole on largest shaft, largest hole on smallest shaft.
pub(crate) fn clearance_range(internal: &SizeBelief, external: &SizeBelief) -> (Length, Length) {
    (internal.smallest() - external.largest(), internal.largest() - external.smallest())
}

/// A hole that may be larger, or a shaft that may be smaller, may have more clearance.
fn open_ends(internal: &SizeBelief, external: &SizeBelief) -> OpenEnds {
    let (internal, external) = (internal.open(), external.open());
    OpenEnds { below: internal.below || external.above, above: internal.above || external.below }
}

/// Root of the sum of squares, rounded up: the proofs must not gain from rounding.
pub(crate) fn combined_uncertainty(internal: &SizeBelief, external: &SizeBelief) -> Length {
    let square = uncertainty_squared(internal, external);
    // Nearly all squares fit into 64 bits, whose roots are found many times as fast.
    let root = u64::try_from(square).map_or_else(|_| square.isqrt(), |one| one.isqrt().into());
    let root = if root * root < square { root + 1 } else { root };
    Length::from_nm(i64::try_from(root).expect("two uncertainties of at most 10 m each"))
}

fn uncertainty_squared(internal: &SizeBelief, external: &SizeBelief) -> u128 {
    let square =
        |size: &SizeBelief| u128::from(size.expanded_uncertainty().nm().unsigned_abs()).pow(2);
    square(internal) + square(external)
}

/// The probability that the pair is inside at both extremes; where an end is open, that it is not
/// yet outside at the other. Worked in half nanometres about the middle of the clearance, where
/// every bound is a whole number and U itself is one sigma.
fn probability_in(
    internal: &SizeBelief,
    external: &SizeBelief,
    window: ClearanceWindow,
    open: OpenEnds,
) -> f64 {
    let (clearance_min, clearance_max) = clearance_range(internal, external);
    let middle = clearance_min.nm() + clearance_max.nm();
    let form = internal.form().nm() + external.form().nm();
    let from =
        |end: Length, form: i64| (2 * i128::from(end.nm()) + i128::from(form - middle)) as f64;
    // More clearance mends what is too tight, less of it what is too loose.
    let low = if open.above { -NO_END } else { from(window.min, form) };
    let high = if open.below { NO_END } else { from(window.max, -form) };
    let sigma = (uncertainty_squared(internal, external) as f64).sqrt();
    let half_widths = [internal, external].map(|size| size.doubt().nm() as f64);
    Spread::new(sigma, half_widths).probability_within(low, high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::item::Limits;

    /// Goal: what is proven without a probability is what is proven with one. Method: a journal of
    /// every size about a window's ends, with three uncertainties, in a measured bore, one known by
    /// its limits and one bounded by a go plug alone.
    #[test]
    fn what_is_proven_needs_no_probability() {
        let nm = Length::from_nm;
        let bores = [
            SizeBelief::measured(nm(20_010_000), nm(20_012_000), nm(1_500)),
            SizeBelief::toleranced(Limits { lower: nm(20_010_000), upper: nm(20_013_000) }),
            SizeBelief::bound(Some(nm(20_010_000)), None, nm(800)),
        ];
        let window = ClearanceWindow::new(nm(20_000), nm(41_000)).unwrap();
        let mut proven = 0;
        for bore in bores.map(Result::unwrap) {
            for (size, uncertainty) in
                (19_960_000..19_996_000).step_by(250).flat_map(|s| [1, 400, 2_600].map(|u| (s, u)))
            {
                let journal = SizeBelief::measured(nm(size), nm(size + 1_000), nm(uncertainty));
                let journal = journal.unwrap();
                let verdict = judge(&bore, &journal, window).judgement.verdict;
                let is_proven = is_proven_in(&bore, &journal, window);
                assert_eq!(is_proven, verdict == Verdict::ProvenIn, "{bore:?} {journal:?}");
                proven += usize::from(is_proven);
            }
        }
        assert!(proven > 100, "{proven}");
    }
}
