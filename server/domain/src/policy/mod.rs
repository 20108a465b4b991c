//! The shop's policy for worn parts, as data: limits of wear, undersize steps, methods of building
//! up, what work costs and how long it takes, and how the queue is kept.
//!
//! Every figure is the shop's own to change and carries a note of where it is from. Costs, times
//! and lead times start unset: an option that needs one that is not set has an unknown cost, it is
//! never guessed. A policy has a version, and every answer names the version that it used.

mod check;
mod default;
mod feature_use;
mod hardness;
mod method;
mod operation;
mod violation;

pub use feature_use::FeatureUse;
pub use hardness::{Hrc, HrcError};
pub use method::{BakeRule, BuildMethod, MethodPolicy, ShaftEnd, Site};
pub use operation::OperationPolicy;
pub use violation::Violation;

use crate::money::{Currency, Money};
use crate::named::named_enum;
use crate::route::OperationKind;
use crate::units::Length;
use crate::yields::Prior;

/// A figure and where it is from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Noted<T> {
    /// The figure.
    pub value: T,
    /// Where it is from: a standard, a maker's sheet, the shop's own practice. Never empty.
    pub note: String,
}

impl<T> Noted<T> {
    /// A figure with its note.
    pub fn new(value: T, note: impl Into<String>) -> Noted<T> {
        Noted { value, note: note.into() }
    }
}

named_enum! {
    /// Which list of undersize steps a part is ground to.
    StepSystem, "step system" {
        /// 0.010, 0.020, 0.030 in and the like.
        Inch = "inch",
        /// 0.25, 0.50, 0.75 mm and the like.
        Metric = "metric",
    }
}

/// What the shop accepts of one use of a feature. All on diameter (on width for a keyseat).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FeaturePolicy {
    /// The use.
    pub feature: FeatureUse,
    /// The most wear that is reused. Where it is set, wear governs; else the limits of size do.
    pub wear_limit: Option<Noted<Length>>,
    /// The most out-of-round that is reused.
    pub out_of_round_limit: Option<Noted<Length>>,
    /// The most taper that is reused.
    pub taper_limit: Option<Noted<Length>>,
    /// The most run-out, as total indicator reading, that is reused.
    pub run_out_limit: Option<Noted<Length>>,
    /// How far past its limit of size a worn seat or bore may still be reused; nothing is not at
    /// all. Said as a doubt wherever it is used.
    pub past_limit_max: Option<Noted<Length>>,
    /// The most that polishing takes off.
    pub polish_max: Option<Noted<Length>>,
    /// The width of the tolerance of a finished size, below it (above it for a bore), where the
    /// item gives no limits of size.
    pub finish_tolerance: Option<Noted<Length>>,
    /// The most metal that may ever be taken off a part, counted from its nominal size.
    pub stock_removal_max: Option<Noted<Length>>,
}

impl FeaturePolicy {
    /// A use with nothing set.
    pub const fn unset(feature: FeatureUse) -> FeaturePolicy {
        FeaturePolicy {
            feature,
            wear_limit: None,
            out_of_round_limit: None,
            taper_limit: None,
            run_out_limit: None,
            past_limit_max: None,
            polish_max: None,
            finish_tolerance: None,
            stock_removal_max: None,
        }
    }
}

/// How a machine's queue is kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QueuePolicy {
    /// The longest that a job may wait before it goes ahead of all that wait less, in minutes.
    pub max_wait_minutes: Option<Noted<u32>>,
    /// How long before its latest start for the due date a job is forced ahead, in minutes.
    pub due_floor_minutes: Option<Noted<u32>>,
    /// Setting up for another family, in minutes.
    pub setup_family_minutes: Option<Noted<u32>>,
    /// Changing the size band within a family, in minutes.
    pub setup_band_minutes: Option<Noted<u32>>,
    /// The width of a size band, on diameter, from the smallest size in it.
    pub band_width: Noted<Length>,
    /// The most jobs released to one machine at a time.
    pub wip_max: Option<Noted<u32>>,
}

/// The whole policy.
#[derive(Clone, Debug, PartialEq)]
pub struct Policy {
    /// The version; 0 is the built-in one, the shop's own count from 1.
    pub version: i64,
    /// The currency of every cost.
    pub currency: Currency,
    /// What is accepted, one entry for a use at most.
    pub features: Vec<FeaturePolicy>,
    /// Undersize steps of inch parts, on diameter, rising.
    pub inch_steps: Noted<Vec<Length>>,
    /// Undersize steps of metric parts, on diameter, rising.
    pub metric_steps: Noted<Vec<Length>>,
    /// What grinding takes beyond wear and run-out before a surface is clean, on diameter.
    pub grinding_allowance: Noted<Length>,
    /// Above this run-out (total indicator reading) a shaft is straightened before other work;
    /// nothing is never.
    pub straighten_from: Option<Noted<Length>>,
    /// The methods of building up, one entry for a method at most; one without an entry is not
    /// offered.
    pub methods: Vec<MethodPolicy>,
    /// What operations take and cost, one entry for a kind at most.
    pub operations: Vec<OperationPolicy>,
    /// The cost of an hour of the shop's own work.
    pub hourly_rate: Option<Noted<Money>>,
    /// How long the shop's own work takes to come out of the queue, in days.
    pub in_house_lead_time_days: Option<Noted<u32>>,
    /// The most that a repair may cost, in hundredths of the replacement's cost.
    pub cost_share_max_percent: Option<Noted<u32>>,
    /// How the queue is kept.
    pub queue: QueuePolicy,
    /// What is believed of a yield before anything was counted.
    pub yield_prior: Noted<Prior>,
}

impl Policy {
    /// What is accepted of a use.
    pub fn feature(&self, used_as: FeatureUse) -> Option<&FeaturePolicy> {
        self.features.iter().find(|entry| entry.feature == used_as)
    }

    /// A method of building up.
    pub fn method(&self, method: BuildMethod) -> Option<&MethodPolicy> {
        self.methods.iter().find(|entry| entry.method == method)
    }

    /// What an operation takes and costs.
    pub fn operation(&self, kind: OperationKind) -> Option<&OperationPolicy> {
        self.operations.iter().find(|entry| entry.operation == kind)
    }

    /// The undersize steps of a system, on diameter, rising.
    pub fn steps(&self, system: StepSystem) -> &[Length] {
        match system {
            StepSystem::Inch => &self.inch_steps.value,
            StepSystem::Metric => &self.metric_steps.value,
        }
    }
}
