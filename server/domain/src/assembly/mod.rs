//! How two parts with interference go together: pressure, stresses, press force, heating, and what
//! clearance is left in a bearing.
//!
//! Estimates for advice, from thick-cylinder theory and ranges of practice; every number says where
//! it is from, and every piece of advice carries its [`Caution`]. Not for whether a fit is right
//! ([`crate::fit`]) nor for a bushing's bore ([`crate::bushings`]).

mod advice;
mod caution;
mod clearance;
mod elastic;
mod heat;
mod lame;
mod press;
mod source;

pub use advice::{Assembly, AssemblyAdvice, assemble};
pub use caution::Caution;
pub use clearance::{ClearanceLeft, FittingFactors, RadialClearance, clearance_left};
pub use elastic::{Elastic, elastic};
pub use heat::{HeatAdvice, HeatOutcome, HeatedPart, growth, heat};
pub use lame::{Cylinders, Stiffness};
pub use press::{ForceRange, Friction, Interference, press_force};
pub use source::Source;

use crate::iso286::millimetres;
use crate::temperature::Temperature;
use crate::units::Length;

/// Advice that cannot be given.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum AssemblyError {
    /// A size that is not there, or below nothing.
    #[error("{what} of {} is not possible; it must be over 0 and at most 10 m", millimetres(*length))]
    Size {
        /// What the length is.
        what: &'static str,
        /// The length given.
        length: Length,
    },
    /// Two cylinders that do not lie in one another.
    #[error("{inner} of {} is not inside {outer} of {}", millimetres(*inner_size), millimetres(*outer_size))]
    NotInside {
        /// What should be smaller.
        inner: &'static str,
        /// Its size.
        inner_size: Length,
        /// What should be larger.
        outer: &'static str,
        /// Its size.
        outer_size: Length,
    },
    /// A stiffness that no metal has.
    #[error("{what} of {value} is not possible; allowed: {allowed}")]
    Stiffness {
        /// Young's modulus or Poisson's ratio.
        what: &'static str,
        /// As it was given.
        value: String,
        /// What is allowed.
        allowed: &'static str,
    },
    /// A range with its ends the wrong way round.
    #[error("{what}: {} is above {}", millimetres(*least), millimetres(*most))]
    Reversed {
        /// What the ends belong to.
        what: &'static str,
        /// The lower end given.
        least: Length,
        /// The upper end given.
        most: Length,
    },
    /// A part that would be cooled by heating.
    #[error("the mating part at {mate} is as hot as the {cap} that the heated part may have")]
    MateTooHot {
        /// The mating part's temperature.
        mate: Temperature,
        /// The most that the heated part may have.
        cap: Temperature,
    },
}

/// Checks that a length is over nothing and at most 10 m.
pub(crate) fn check_size(what: &'static str, length: Length) -> Result<Length, AssemblyError> {
    if length <= Length::ZERO || length > crate::fit::SIZE_MAX {
        return Err(AssemblyError::Size { what, length });
    }
    Ok(length)
}
