//! Bushings: how far the bore closes in when it is pressed, and how much clearance it should run
//! with.
//!
//! Not for whether the journal fits ([`crate::fit`], which judges on the installed bore that comes
//! from here), nor for the force to press it ([`crate::assembly`]).

mod close_in;
mod running;

pub use close_in::{Bushing, Housing, Pressed, close_in};
pub use running::{RunningClearance, RunningRule};

use crate::assembly::AssemblyError;
use crate::fit::FitError;
use crate::iso286::millimetres;
use crate::units::Length;

/// A bushing that cannot be answered for.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum BushingError {
    /// There may be no interference, so nothing is known of the bore.
    #[error(
        "the interference in the housing is {} to {}: the bushing may be loose, and how far its \
         bore closes in is not known; the outside diameter must be over the housing bore at both \
         extremes",
        millimetres(*least), millimetres(*most)
    )]
    MayBeLoose {
        /// The least interference; below zero is clearance.
        least: Length,
        /// The most.
        most: Length,
    },
    /// A one-sided bound where a size is needed.
    #[error("{what} is bounded on one side only; measure it")]
    OneSided {
        /// The size.
        what: &'static str,
    },
    /// Sizes that are not cylinders in one another.
    #[error(transparent)]
    Cylinders(#[from] AssemblyError),
    /// Sizes without meaning.
    #[error(transparent)]
    Size(#[from] FitError),
}
