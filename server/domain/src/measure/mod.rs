//! Readings of one feature, what they say of it, and how sure a limit is met.
//!
//! Every reading is at 20 C (ISO 1) and carries its expanded uncertainty (k = 2). Out of limits is
//! not an error here: the assessment says what was found, the disposition judges it.

mod assess;
mod bodies;
mod budget;
mod form;
mod judge;
mod standard_size;
mod station_line;
mod uncertainty;

pub use assess::{
    Assessment, Basis, Extreme, InferredNominal, StationSummary, Wear, WearBasis, assess,
};
pub use bodies::Bodies;
pub use budget::{ReadingBudget, Setting, UncertaintyTerm, budget};
pub use form::{OutOfRound, Taper};
pub use judge::{LimitRange, judge_limit, judge_limit_by};
pub use standard_size::snap_to_standard;
pub use station_line::{EnteredReading, ReadingsError, WordFault, parse_readings};
pub use uncertainty::{ExpandedUncertainty, SettingMethod, UncertaintySources};

use crate::units::Length;

/// One number read at a station and an orientation of a feature.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reading {
    /// The station along the axis, such as `A` or `REF`.
    pub station: String,
    /// The orientation around the axis, 0 to 359 degrees.
    pub orientation_deg: u16,
    /// The value at 20 C.
    pub value_at_20c: Length,
    /// Its expanded uncertainty, k = 2.
    pub expanded_uncertainty: ExpandedUncertainty,
    /// The value of one last place as it was written or as the gauge reads, the coarser.
    pub resolution: Length,
}

/// Why readings cannot be assessed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum MeasureError {
    /// An uncertainty of nothing or less.
    #[error("an expanded uncertainty of {nm} nm has no meaning; it must be above zero")]
    Uncertainty {
        /// What was given, in nanometres.
        nm: i64,
    },
    /// A fixed gauge where a reading is wanted.
    #[error(
        "a plug or ring gauge gives a bound, not a value; enter it as at least or at most its size"
    )]
    BoundNotValue,
    /// A setting without the uncertainty of what it was set against.
    #[error("set by {method}, but the uncertainty of what it was set against is missing")]
    SettingUnknown {
        /// How it was set.
        method: SettingMethod,
    },
    /// A form that is less than nothing.
    #[error("a form of {nm} nm has no meaning; it must be zero or more")]
    Form {
        /// What was given, in nanometres.
        nm: i64,
    },
    /// No readings at all.
    #[error("there are no readings to assess; enter at least one")]
    NoReadings,
    /// Only the station that does not wear was read.
    #[error("only the reference station {station} was read; read at least one station that wears")]
    OnlyReference {
        /// The reference station.
        station: String,
    },
}
