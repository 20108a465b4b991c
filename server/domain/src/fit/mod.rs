//! Fits of two parts: what clearance a requirement allows, what clearance two sizes give, and how
//! sure it is that the one lies within the other.
//!
//! Everything is on diameter and signed: positive is clearance, negative is interference. The two
//! sides are the internal one (hole, bore) and the external one (shaft, outside diameter).
//!
//! A fit is inside its window only if it is inside at **both** extremes of the sizes: the smallest
//! hole with the largest shaft, and the largest hole with the smallest shaft. What "both extremes"
//! means for readings, for an unmeasured part and for a pressed bushing is in [`SizeBelief`] and
//! [`judge`]. Press force and heating are in [`crate::assembly`], not here.

mod advice;
mod installed;
mod judge;
mod requirement;
mod size;
mod spread;

pub use advice::{Advice, Needed, Reach, RegisterGauge, Step, what_to_measure_next};
pub use installed::{CloseIn, installed_bore};
pub use judge::{FitJudgement, judge, judge_by};
pub(crate) use judge::{clearance_range, combined_uncertainty, is_proven_in};
pub use requirement::{ClearanceWindow, FitKind, Requirement, RequirementParseError};
pub use size::{BeliefKind, OpenEnds, SIZE_MAX, SizeBelief};

use crate::b41::B41Error;
use crate::bearings::iso492::Iso492Error;
use crate::iso286::{Class, Iso286Error, millimetres};
use crate::seats::SeatError;
use crate::units::Length;

/// A fit question that has no meaning.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum FitError {
    /// Neither a hole class nor a shaft class.
    #[error("no tolerance class given; give a hole class (H7), a shaft class (k5) or both")]
    NoClass,
    /// A shaft class where a hole class belongs, or the reverse.
    #[error("class {class} is on the wrong side; allowed here: {}", side_example(*class))]
    WrongSide {
        /// The class given.
        class: Class,
    },
    /// A class alone needs a bearing ring on the other side.
    #[error("class {class} alone fits the ring of a bearing, and no ISO 492 class is known for it")]
    RingNeeded {
        /// The class given.
        class: Class,
    },
    /// A bound without an end.
    #[error("a bound needs an end; say the least size, the most, or both")]
    NoBound,
    /// The lower end is above the upper end.
    #[error("{what}: {} is above {}", millimetres(*low), millimetres(*high))]
    Reversed {
        /// What the two ends belong to.
        what: &'static str,
        /// The lower end given.
        low: Length,
        /// The upper end given.
        high: Length,
    },
    /// A length that cannot be what it is said to be.
    #[error("{what} of {} is not possible; allowed: {allowed}", millimetres(*length))]
    NotPossible {
        /// What the length is.
        what: &'static str,
        /// The length given.
        length: Length,
        /// What is allowed, in words.
        allowed: &'static str,
    },
    /// ISO 286 has no answer.
    #[error(transparent)]
    Iso286(#[from] Iso286Error),
    /// ANSI B4.1 has no answer.
    #[error(transparent)]
    B41(#[from] B41Error),
    /// ISO 492 has no answer.
    #[error(transparent)]
    Iso492(#[from] Iso492Error),
    /// No practice has a seat for the duty.
    #[error(transparent)]
    Seat(#[from] SeatError),
}

/// What the other side would look like, for the message.
fn side_example(class: Class) -> &'static str {
    match class.side() {
        crate::item::Side::External => "a hole class, in capitals (H7)",
        crate::item::Side::Internal => "a shaft class, in small letters (k5)",
    }
}
