//! The size at which a worn surface is clean, and the step that is chosen from it.

use super::WornFeature;
use crate::item::Side;
use crate::policy::Policy;
use crate::units::Length;

/// The size at which grinding leaves no worn spot: the smallest reading, less the run-out (total
/// indicator reading: the axis is out by half of it, the diameter by the whole), less twice the
/// deepest score, less the grinding allowance. Of a bore, the largest reading and all of it added.
/// A shaft that is straightened first counts with the run-out that straightening leaves at most.
/// What was not measured counts as nothing, and is a doubt elsewhere. Common practice, no published
/// source.
pub fn clean_up_size(worn: &WornFeature, policy: &Policy) -> Length {
    let measured = worn.run_out_tir.unwrap_or(Length::ZERO);
    let run_out = straightened_to(worn, policy).unwrap_or(measured);
    let score = worn.score_depth_per_side.unwrap_or(Length::ZERO);
    worn.cut(worn.most_worn(), run_out + score + score + policy.grinding_allowance.value)
}

/// The run-out that straightening leaves at most, of a shaft that is bent so far that it is
/// straightened before other work; nothing for any other.
pub(crate) fn straightened_to(worn: &WornFeature, policy: &Policy) -> Option<Length> {
    let from = policy.straighten_from.as_ref()?.value;
    let is_bent = worn.side() == Side::External && worn.run_out_tir? > from;
    is_bent.then_some(from)
}

/// The first step (of rising undersizes) whose size is at or below the clean-up size and not below
/// the minimum: its number from 1, and its size. `full_size` is the size of no undersize.
///
/// ```
/// use tenths_domain::options::step_below;
/// use tenths_domain::units::Length;
/// let thou = |thou: i64| Length::from_nm(thou * 25_400);
/// let steps = [thou(10), thou(20), thou(30)];
/// assert_eq!(step_below(thou(737), thou(750), thou(700), &steps), Some((2, thou(730))));
/// assert_eq!(step_below(thou(737), thou(750), thou(735), &steps), None);
/// ```
pub fn step_below(
    clean_up: Length,
    full_size: Length,
    minimum: Length,
    steps: &[Length],
) -> Option<(u32, Length)> {
    let sizes = (1..).zip(steps.iter().map(|step| full_size - *step));
    sizes.into_iter().find(|(_, size)| *size <= clean_up).filter(|(_, size)| *size >= minimum)
}
