//! What one operation takes and costs.

use crate::money::Money;
use crate::route::OperationKind;

/// What the shop allows for one operation on one place. Unset is unknown, never nothing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OperationPolicy {
    /// The operation.
    pub operation: OperationKind,
    /// Bench or machine time of one place, in minutes, without set-up.
    pub minutes: Option<u32>,
    /// The cost of one place; where it is not set it is the minutes at the hourly rate.
    pub cost: Option<Money>,
    /// Where the figures are from.
    pub note: String,
}
