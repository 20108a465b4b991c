//! From a repair to the ordered operations that make it, each with its machine, its sizes before
//! and after, and what to mind.
//!
//! A route is data for a traveler and a queue: two visits to the grinder are two operations.
//! Amounts say both per side and on diameter, because the one taken for the other is the mistake
//! that the trade makes most.

mod amount;
mod build;
mod caution;
mod kind;
mod single;

pub use amount::{Amount, furthest};
pub use build::{Work, route};
pub use caution::WorkCaution;
pub use kind::{Machine, OperationKind};
pub use single::{sent_out, single};

use crate::item::Limits;
use crate::policy::Site;
use crate::units::Length;

/// One operation of a route.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Operation {
    /// What is done.
    pub kind: OperationKind,
    /// On what.
    pub machine: Machine,
    /// Jobs of one family share a set-up: machine and how the part is held.
    pub setup_family: &'static str,
    /// Where.
    pub site: Site,
    /// The vendor, where one is settled.
    pub vendor: Option<String>,
    /// The size that it starts from, on diameter (on width for a keyseat), where it changes one.
    pub from: Option<Length>,
    /// The size that it ends at, where it changes one. Equal limits are a size without a tolerance.
    pub to: Option<Limits>,
    /// How much is taken off or put on, at most.
    pub change: Option<Amount>,
    /// Time of one place without set-up, in minutes; nothing is not set.
    pub minutes: Option<u32>,
    /// What to mind.
    pub cautions: Vec<WorkCaution>,
    /// The operation in words.
    pub text: String,
}
