//! Planning: in what order a machine takes the jobs that wait for it.
//!
//! The order is the domain's (`tenths_domain::plan`); here the jobs are loaded, with what they are
//! worth, how likely they pass and how long they take, and the plan is written on them if it is
//! released. What the plan takes for granted is said beside it.

mod assumed;
mod floor;
mod made;
mod waiting;
mod yields;

pub(crate) use floor::force_at;
pub use made::{BatchView, DayPlanView, LineView, When};
pub use yields::{ListYields, YieldList, YieldView, list_yields};

use super::act::{Act, View};
use super::error::Error;
use super::policies::in_force;

use tenths_domain::plan::{self, DayLimits, PlanJob, PlanRules};
use tenths_domain::policy::Policy;
use tenths_domain::route::Machine;
use tenths_domain::units::Length;
use tenths_storage::PlannedJob;

/// Most jobs of one plan: far more than a day of a machine holds.
pub const PLANNED_MAX: u32 = 500;

const MICROS_A_MINUTE: i64 = 60_000_000;

/// Plans a machine.
#[derive(Clone, Debug)]
pub struct PlanDay {
    /// The machine.
    pub machine: Machine,
    /// The working day from now on, in minutes.
    pub day_minutes: u32,
    /// What to take for an operation whose minutes nobody has set.
    pub assumed_minutes: Option<u32>,
}

/// Plans a machine; changes nothing.
///
/// # Errors
/// [`Error::Forbidden`] if nobody has set the minutes of what waits.
pub async fn plan_day(view: View<'_>, order: &PlanDay) -> Result<DayPlanView, Error> {
    let policy = in_force(view).await?;
    let queue = waiting::load(view, order, &policy).await?;
    let rules = rules(view, order.machine, &policy).await?;
    let all: Vec<PlanJob> = queue.jobs.iter().map(|job| job.plan.clone()).collect();
    let pressing = plan::most_pressing(&all, &rules, PLANNED_MAX as usize);
    let jobs: Vec<PlanJob> = pressing.iter().map(|job| all[*job].clone()).collect();
    let planned = plan::plan(&jobs, &rules);
    let limits = DayLimits {
        day_start_min: rules.now_min,
        day_minutes: order.day_minutes,
        wip_max: policy.queue.wip_max.as_ref().map(|noted| noted.value),
        in_progress: in_progress(view, order.machine).await?,
    };
    let day = plan::day_plan(&planned, &limits);
    let assumptions = assumed::sentences(order, &policy, &queue, &rules, &pressing, &planned);
    Ok(made::shown(made::Made {
        order,
        policy: &policy,
        rules: &rules,
        limits: &limits,
        queue: &queue,
        pressing: &pressing,
        planned: &planned,
        day: &day,
        assumptions,
        now: view.now,
    }))
}

/// Plans a machine and writes the plan on its jobs: claims follow it from now on.
///
/// # Errors
/// As [`plan_day`].
pub async fn release_plan(act: &Act<'_>, order: &PlanDay) -> Result<DayPlanView, Error> {
    let made = plan_day(act.view(), order).await?;
    let lines = made.lines.iter().zip(0..).map(|(line, rank)| PlannedJob {
        job: line.job.job.id,
        rank,
        force_at: line.latest_start.map(|start| micros_of(start.minute)),
    });
    let lines: Vec<PlannedJob> = lines.collect();
    act.tx.lock_queue().await?;
    act.tx.save_plan(order.machine, &lines).await?;
    Ok(made)
}

/// The policy's rules for the queue of a machine.
async fn rules(view: View<'_>, machine: Machine, policy: &Policy) -> Result<PlanRules, Error> {
    let last = view.tx.last_set_up(machine).await?;
    let set_up = last.map(|(family, size)| {
        let size = size.filter(|_| machine.is_set_to_size());
        (family, size.unwrap_or(Length::ZERO))
    });
    Ok(rules_of(policy, minute_of(view.now), set_up))
}

/// The policy's rules for a queue; what is not set counts as nothing.
fn rules_of(policy: &Policy, now_min: i64, set_up: Option<(String, Length)>) -> PlanRules {
    let queue = &policy.queue;
    let set = |noted: &Option<tenths_domain::policy::Noted<u32>>| noted.as_ref().map(|it| it.value);
    PlanRules {
        now_min,
        setup_family_minutes: set(&queue.setup_family_minutes).unwrap_or(0),
        setup_band_minutes: set(&queue.setup_band_minutes).unwrap_or(0),
        band_width: queue.band_width.value,
        max_wait_minutes: set(&queue.max_wait_minutes),
        due_floor_minutes: set(&queue.due_floor_minutes).unwrap_or(0),
        set_up,
    }
}

/// How many jobs are in work on a machine.
async fn in_progress(view: View<'_>, machine: Machine) -> Result<u32, Error> {
    let counts = view.tx.claimed_by_machine(view.now).await?;
    let count = counts.into_iter().find(|(on, _)| *on == machine).map_or(0, |(_, count)| count);
    Ok(u32::try_from(count).unwrap_or(u32::MAX))
}

/// The minute that a time is in.
fn minute_of(micros: i64) -> i64 {
    micros.div_euclid(MICROS_A_MINUTE)
}

/// The time at which a minute begins.
pub(crate) fn micros_of(minute: i64) -> i64 {
    minute.saturating_mul(MICROS_A_MINUTE)
}
