//! From when on a job goes ahead of every plan.

use super::{micros_of, minute_of, rules_of};
use tenths_domain::plan::{LaterOperation, PlanJob, latest_start, minutes_after};
use tenths_domain::policy::Policy;
use tenths_domain::units::Length;

/// From when on a job goes ahead of every plan at the first of these operations, in Unix
/// microseconds: by its due date and the policy's longest wait, whether or not a plan was released
/// since it was queued. Minutes that nobody has set count as nothing; a released plan says better.
pub(crate) fn force_at(
    policy: &Policy,
    queued_at: i64,
    due_at: Option<i64>,
    left: &[LaterOperation],
) -> Option<i64> {
    let (here, later) = left.split_first()?;
    let own = |one: &LaterOperation| one.minutes.or_else(|| policy.operation(one.kind)?.minutes);
    let later: Vec<LaterOperation> =
        later.iter().map(|one| LaterOperation { minutes: own(one), ..one.clone() }).collect();
    let job = PlanJob {
        id: 0,
        setup_family: String::new(),
        finish_size: Length::ZERO,
        minutes: own(here).unwrap_or(0),
        minutes_after: minutes_after(&later, policy).minutes,
        value_minor: 0,
        chance_ppm: 0,
        queued_at_min: minute_of(queued_at),
        due_at_min: due_at.map(minute_of),
    };
    let rules = rules_of(policy, 0, None);
    latest_start(&job, &rules).map(|start| micros_of(start.minute))
}
