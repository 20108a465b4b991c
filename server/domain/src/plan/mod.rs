//! In what order one machine takes the jobs in front of it.
//!
//! The aim: value released early. A job's weight is the value of the rebuilds that it completes
//! times the chance that it passes; the loss of a plan is the sum of weight times finish, the
//! weighted sum of completion times with set-ups that depend on what ran before. Without set-ups
//! that is least in order of weight per minute (Smith's rule, 1956).
//!
//! Before value come two floors. A job is *forced* once its latest start has come: the start that
//! still meets its due date with the floor to spare, or the end of its longest wait, whichever is
//! first. While any waits, the one with the earliest latest start goes next. So nobody starves: a
//! job that has waited its longest is passed only by jobs whose own latest start is earlier, and
//! what arrives later has, in time, a later one.
//!
//! [`plan`] builds good orders (the densest next, by family, by Smith's rule) and betters the best
//! of them by moving jobs and runs of jobs and by exchanging two, until nothing helps.
//! [`plan_exact`] tries everything for few jobs, and is the yardstick: over 1 000 random instances
//! of up to 8 jobs the worst gap is held below [`GAP_MAX_PERCENT`] by a test. Both are
//! deterministic: ties go by weight per minute, then due date, then queue time, then id.

mod after;
mod batch;
mod day;
mod exact;
mod order;
mod pressing;
mod problem;

pub use after::{LaterOperation, MinutesAfter, minutes_after};
pub use batch::Batch;
pub use day::{DayLimits, DayPlan, day_plan};
pub use exact::{EXACT_JOBS_MAX, plan_exact};
pub use order::plan;
pub use pressing::most_pressing;
pub use problem::latest_start;

use crate::named::named_enum;
use crate::units::Length;

/// The worst that a plan of up to 8 jobs may lose beyond the best there is, in hundredths of the
/// best plan's loss. Measured, not proven: the example `plan_gap` prints the worst that it finds.
pub const GAP_MAX_PERCENT: u32 = 5;

/// A job that waits for the machine. Times are whole minutes from the caller's origin.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanJob {
    /// The job's own number: breaks the last tie.
    pub id: i64,
    /// Which set-up it needs: jobs of one family share it.
    pub setup_family: String,
    /// The finished size, for the size band.
    pub finish_size: Length,
    /// Minutes on this machine, without set-up.
    pub minutes: u32,
    /// Minutes that its later operations take, vendors' time included.
    pub minutes_after: u32,
    /// The value of the rebuilds that it completes, in minor units; below zero counts as nothing.
    pub value_minor: i64,
    /// The chance that it passes, in parts per million; more counts as certain.
    pub chance_ppm: u32,
    /// When it was queued.
    pub queued_at_min: i64,
    /// When it is due.
    pub due_at_min: Option<i64>,
}

/// How the machine is planned.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlanRules {
    /// Now.
    pub now_min: i64,
    /// Setting up for another family, in minutes.
    pub setup_family_minutes: u32,
    /// Changing the size band within a family, in minutes.
    pub setup_band_minutes: u32,
    /// The width of a size band; at least a nanometre is used.
    pub band_width: Length,
    /// The longest wait.
    pub max_wait_minutes: Option<u32>,
    /// Minutes to spare before a due date.
    pub due_floor_minutes: u32,
    /// What the machine is set up for: family and a size of the band.
    pub set_up: Option<(String, Length)>,
}

named_enum! {
    /// What makes a job go ahead of value.
    Floor, "floor" {
        /// It would be late otherwise.
        DueDate = "due_date",
        /// It has waited its longest.
        LongestWait = "longest_wait",
    }
}

/// When a job goes ahead of value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LatestStart {
    /// From this minute on.
    pub minute: i64,
    /// Why.
    pub floor: Floor,
}

/// One job in its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlanLine {
    /// Which of the jobs given, from 0.
    pub job: usize,
    /// When its set-up begins.
    pub start_min: i64,
    /// Its set-up.
    pub setup_minutes: u32,
    /// When it is finished on this machine.
    pub finish_min: i64,
    /// Whether its latest start had come: it went ahead of value.
    pub is_forced: bool,
    /// Which batch it is in, from 0.
    pub batch: usize,
}

/// The order of a machine's jobs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Plan {
    /// Every job, in order.
    pub lines: Vec<PlanLine>,
    /// The runs of jobs on one set-up, in order.
    pub batches: Vec<Batch>,
    /// Sum of weight times minutes to finish; weight is minor units times parts per million.
    pub loss: i128,
    /// All set-up minutes.
    pub setup_minutes: u64,
    /// What they would be with a set-up of its own for every job.
    pub setup_minutes_alone: u64,
}

impl Plan {
    /// The set-up minutes that batching saves.
    pub fn setup_minutes_saved(&self) -> u64 {
        self.setup_minutes_alone.saturating_sub(self.setup_minutes)
    }
}

/// The share of a rebuild's value that falls to one of the parts that it still waits for: an equal
/// share, so that two parts which wait for each other both count. Minor units, rounded down; of no
/// missing part, nothing.
///
/// ```
/// use tenths_domain::plan::share_of_rebuild;
/// assert_eq!(share_of_rebuild(100_000, 1), 100_000);
/// assert_eq!(share_of_rebuild(100_000, 3), 33_333);
/// assert_eq!(share_of_rebuild(100_000, 0), 0);
/// ```
pub const fn share_of_rebuild(value_minor: i64, missing_parts: u32) -> i64 {
    if missing_parts == 0 { 0 } else { value_minor / missing_parts as i64 }
}
