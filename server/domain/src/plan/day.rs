//! What of a plan is for today, and what may lie in front of the machine.

use super::Plan;

/// How much a machine takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DayLimits {
    /// When the day began or begins, in the plan's minutes.
    pub day_start_min: i64,
    /// Minutes of a working day.
    pub day_minutes: u32,
    /// The most jobs released to the machine at a time; nothing is no limit.
    pub wip_max: Option<u32>,
    /// Jobs released to it already.
    pub in_progress: u32,
}

/// The lines of a plan, by their place in it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DayPlan {
    /// To be finished today.
    pub today: Vec<usize>,
    /// Of these, what may be put in front of the machine now.
    pub released: Vec<usize>,
    /// Beyond today.
    pub later: Vec<usize>,
}

/// Splits a plan: what finishes within the day is today's, in order; of it as much is released as
/// the limit of work in progress has room for. A job longer than a day is today's if it is first.
pub fn day_plan(plan: &Plan, limits: &DayLimits) -> DayPlan {
    let end = limits.day_start_min.saturating_add(i64::from(limits.day_minutes));
    // Finishes only rise along a plan, so what is today's is its head.
    let fits = plan.lines.iter().take_while(|line| line.finish_min <= end).count();
    let fits = fits.max(usize::from(!plan.lines.is_empty()));
    let room = limits.wip_max.map_or(fits, |most| {
        usize::try_from(most.saturating_sub(limits.in_progress)).unwrap_or(usize::MAX)
    });
    DayPlan {
        today: (0..fits).collect(),
        released: (0..fits.min(room)).collect(),
        later: (fits..plan.lines.len()).collect(),
    }
}
