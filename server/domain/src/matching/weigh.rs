//! What an index of the stock needs to know of the rules, without having any of its own: where a
//! candidate would stand, and within which sizes a mate must be to be worth a look.

use super::ends::Ends;
use super::question::{Candidate, Question};
use super::{is_removed_bearing, is_too_old};
use crate::fit::{FitError, SizeBelief};
use crate::item::{Limits, Side};
use crate::matching::Counts;
use crate::units::Length;
use crate::verdict::Verdict;

/// Where a candidate stands in an answer, before the ties among equals are broken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// It fits.
    Fit {
        /// How sure that is; the worse of both ends.
        verdict: Verdict,
        /// Twice the distance of the middle clearance from the middle of the window, at both ends.
        off_centre: Length,
    },
    /// It does not.
    Miss {
        /// By how much; the worse of both ends.
        by: Length,
    },
    /// The trade or the shop's policy does not offer it.
    NotOffered,
}

/// Where [`super::answer`] would put a candidate.
///
/// # Errors
/// A requirement that says nothing at its size, or of such a ring.
pub fn weigh<K>(question: &Question, candidate: &Candidate<'_, K>) -> Result<Weight, FitError> {
    if is_removed_bearing(candidate.place.item, candidate.condition)
        || is_too_old(question, candidate, &mut Counts::default())
    {
        return Ok(Weight::NotOffered);
    }
    let ends = Ends::new(question, candidate)?;
    let other = ends.other.as_ref().map_or(Length::ZERO, |other| other.gap.by());
    let by = ends.first.gap.by().max(other);
    if by > Length::ZERO {
        return Ok(Weight::Miss { by });
    }
    Ok(match ends.verdict() {
        verdict if verdict <= Verdict::NotProven => {
            Weight::Fit { verdict, off_centre: ends.off_centre() }
        }
        _ => Weight::Miss { by },
    })
}

/// The limits of size within which a mate at this nominal size, in this place, gives a clearance
/// inside the window at both extremes. Reversed (`lower` above `upper`) if no size does. `candidate`
/// says all but the size; its size may be any. At the first end only.
///
/// A mate from `a` to `b` misses by the larger of `lower - a` and `b - upper`, and is off the centre
/// by `|a + b - (lower + upper)|`.
///
/// # Errors
/// As [`weigh`].
pub fn mate_limits<K>(
    question: &Question,
    candidate: &Candidate<'_, K>,
) -> Result<Limits, FitError> {
    let at = candidate.nominal;
    let probe = Candidate {
        key: (),
        place: candidate.place,
        nominal: at,
        size: SizeBelief::toleranced(Limits { lower: at, upper: at })?,
        ring: candidate.ring,
        condition: candidate.condition,
        available: candidate.available,
        date_code: None,
        other: None,
    };
    let single = Question { other: None, ..question.clone() };
    let gap = Ends::new(&single, &probe)?.first.gap;
    Ok(match candidate.place.feature.side() {
        Side::Internal => Limits { lower: at + gap.too_tight, upper: at - gap.too_loose },
        Side::External => Limits { lower: at + gap.too_loose, upper: at - gap.too_tight },
    })
}

/// How much slack a candidate can have at most that is inside its limits and improbable all the same,
/// because its form is near the whole window, or its gauges are very coarse. It is off the centre by
/// at most as much. The uncertainties are expanded (k = 2).
///
/// Inside with a slack of `d` in the clearance, the chance is at least that of a normal error falling
/// between 0 and `d`, which passes 0.05 at `d` = 0.126 standard uncertainties, 0.063 U of the
/// clearance; 0.07 U is answered.
pub fn improbable_within(question_uncertainty: Length, uncertainty_max: Length) -> Length {
    let square = |length: Length| i128::from(length.nm()).pow(2);
    let combined = (square(question_uncertainty) + square(uncertainty_max)).isqrt() + 1;
    Length::from_nm(i64::try_from(combined * 7 / 100 + 1).unwrap_or(i64::MAX))
}
