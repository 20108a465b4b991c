//! Judging two sizes against a window of clearance.

use super::{ClearanceWindow, SizeBelief};
use crate::units::Length;
use crate::verdict::Judgement;

/// What two sizes give, and how sure it is that the fit is inside its window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FitJudgement {
    /// Smallest hole minus largest shaft, without uncertainty; negative is interference.
    pub clearance_min: Length,
    /// Largest hole minus smallest shaft, without uncertainty.
    pub clearance_max: Length,
    /// Expanded uncertainty (k = 2) of a clearance, from both gauges.
    pub expanded_uncertainty: Length,
    /// The verdict and its probability.
    pub judgement: Judgement,
}

/// Judges the fit of an internal size on an external one.
///
/// The two gauges' uncertainties add by the root of the sum of their squares.
///
/// *Proven in*: both extremes, widened by that uncertainty, are within the window. For an
/// unmeasured part this holds for every size within its limits; the window of a class against an
/// unmeasured ring spans exactly the ring's limits, so a seat inside its class by the uncertainty
/// or more is proven in.
///
/// *Proven out*: one extreme is outside by more than the uncertainty whatever the unmeasured part's
/// size: the tightest place of the pair is too tight at its loosest, or the loosest place too loose
/// at its tightest. (A seat that is loose at one reading is not saved by another reading.)
///
/// *Probability*: that the pair actually put together is inside at both extremes. The readings of a
/// part are there at once, so they narrow the window by their spread; about their middle the
/// gauges' error is normal (standard deviation U / 2), and an unmeasured part is uniform over its
/// limits. It agrees with the proofs: proven in implies P >= 0.954, proven out P <= 0.023. It is
/// *not* the probability that the seat is within its class: a seat just outside its class, on a
/// ring somewhere in its own, is probably a fit in the end, and the probability says so, while the
/// extremes (and the matching that ranks by them) still show that the class is not met.
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
    let (clearance_min, clearance_max) = clearance_range(internal, external);
    let uncertainty = combined_uncertainty(internal, external);
    let doubt = internal.doubt() + external.doubt();
    let (low, high) = (clearance_min - uncertainty, clearance_max + uncertainty);
    let proven_in = low >= window.min && high <= window.max;
    let too_tight = clearance_min + doubt + uncertainty < window.min;
    let too_loose = clearance_max - doubt - uncertainty > window.max;
    let probability = probability_in(internal, external, window);
    FitJudgement {
        clearance_min,
        clearance_max,
        expanded_uncertainty: uncertainty,
        judgement: Judgement::new(proven_in, too_tight || too_loose, probability),
    }
}

/// The clearance at both extremes: smallest hole on largest shaft, largest hole on smallest shaft.
pub(crate) fn clearance_range(internal: &SizeBelief, external: &SizeBelief) -> (Length, Length) {
    (internal.smallest() - external.largest(), internal.largest() - external.smallest())
}

/// Root of the sum of squares, rounded up: the proofs must not gain from rounding.
fn combined_uncertainty(internal: &SizeBelief, external: &SizeBelief) -> Length {
    let square = uncertainty_squared(internal, external);
    let root = square.isqrt();
    let root = if root * root < square { root + 1 } else { root };
    Length::from_nm(i64::try_from(root).expect("two uncertainties of at most 10 m each"))
}

fn uncertainty_squared(internal: &SizeBelief, external: &SizeBelief) -> u128 {
    let square =
        |size: &SizeBelief| u128::from(size.expanded_uncertainty().nm().unsigned_abs()).pow(2);
    square(internal) + square(external)
}

/// The probability that the pair is inside at both extremes. Worked in half nanometres about the
/// middle of the clearance, where every bound is a whole number and U itself is one sigma.
fn probability_in(internal: &SizeBelief, external: &SizeBelief, window: ClearanceWindow) -> f64 {
    let (clearance_min, clearance_max) = clearance_range(internal, external);
    let middle = i128::from(clearance_min.nm()) + i128::from(clearance_max.nm());
    let form = i128::from(internal.form().nm()) + i128::from(external.form().nm());
    let low = 2 * i128::from(window.min.nm()) + form - middle;
    let high = 2 * i128::from(window.max.nm()) - form - middle;
    let sigma = (uncertainty_squared(internal, external) as f64).sqrt();
    let half_widths = [internal, external].map(|size| size.doubt().nm() as f64);
    super::spread::Spread::new(sigma, half_widths).probability_within(low as f64, high as f64)
}
