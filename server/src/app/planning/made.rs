//! A plan with its names, as it is shown.

use super::PlanDay;
use super::waiting::{Queue, Waiting};
use crate::app::views::JobView;
use tenths_domain::money::Money;
use tenths_domain::plan::{
    Batch, DayLimits, DayPlan, LatestStart, Plan, PlanJob, PlanLine, PlanRules, latest_start,
};
use tenths_domain::policy::Policy;
use tenths_domain::route::{Machine, OperationKind};
use tenths_domain::units::{Length, Unit};

/// When a job of a plan is done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum When {
    /// Today; it may be put in front of the machine now.
    Now,
    /// Today, once there is room.
    Today,
    /// After today.
    Later,
}

/// A job in its place.
#[derive(Clone, Debug)]
pub struct LineView {
    /// The job.
    pub job: JobView,
    /// What is done on this machine.
    pub operation: OperationKind,
    /// As it was planned.
    pub plan: PlanJob,
    /// Its place in time.
    pub line: PlanLine,
    /// When it is done.
    pub when: When,
    /// From when on it goes ahead of value, and why.
    pub latest_start: Option<LatestStart>,
    /// What it is worth.
    pub value: Option<Money>,
}

/// A run of jobs on one set-up.
#[derive(Clone, Debug)]
pub struct BatchView {
    /// The batch.
    pub batch: Batch,
    /// Whether its jobs have finished sizes.
    pub has_sizes: bool,
    /// The unit that its sizes are spoken of in.
    pub unit: Unit,
    /// In words.
    pub text: String,
}

/// A machine's plan.
#[derive(Clone, Debug)]
pub struct DayPlanView {
    /// The machine.
    pub machine: Machine,
    /// The version of the policy.
    pub policy_version: i64,
    /// When it was made, in Unix microseconds.
    pub made_at: i64,
    /// The working day, in minutes.
    pub day_minutes: u32,
    /// The jobs, in order.
    pub lines: Vec<LineView>,
    /// The batches, in order.
    pub batches: Vec<BatchView>,
    /// All set-up minutes.
    pub setup_minutes: u64,
    /// What batching saves of them.
    pub setup_minutes_saved: u64,
    /// How many jobs wait for the machine.
    pub waiting: i64,
    /// How many are in work on it.
    pub in_progress: u32,
    /// The most that may be.
    pub wip_max: Option<u32>,
    /// What was taken for granted.
    pub assumptions: Vec<String>,
}

/// Everything that a plan was made of.
pub(super) struct Made<'a> {
    pub(super) order: &'a PlanDay,
    pub(super) policy: &'a Policy,
    pub(super) rules: &'a PlanRules,
    pub(super) limits: &'a DayLimits,
    pub(super) queue: &'a Queue,
    /// Which of the queue's jobs were planned.
    pub(super) pressing: &'a [usize],
    pub(super) planned: &'a Plan,
    pub(super) day: &'a DayPlan,
    pub(super) assumptions: Vec<String>,
    pub(super) now: i64,
}

/// The plan with its names.
pub(super) fn shown(made: Made<'_>) -> DayPlanView {
    let of = |line: &PlanLine| &made.queue.jobs[made.pressing[line.job]];
    let lines = made.planned.lines.iter().enumerate().map(|(place, line)| {
        let waiting = of(line);
        LineView {
            job: waiting.job.clone(),
            operation: waiting.operation,
            plan: waiting.plan.clone(),
            line: *line,
            when: when(made.day, place),
            latest_start: latest_start(&waiting.plan, made.rules),
            value: waiting.value,
        }
    });
    let batches = made.planned.batches.iter().map(|batch| {
        let jobs = batch.jobs.iter().map(|job| &made.queue.jobs[made.pressing[*job]]);
        batch_view(batch, &jobs.collect::<Vec<_>>(), made.rules)
    });
    DayPlanView {
        machine: made.order.machine,
        policy_version: made.policy.version,
        made_at: made.now,
        day_minutes: made.order.day_minutes,
        lines: lines.collect(),
        batches: batches.collect(),
        setup_minutes: made.planned.setup_minutes,
        setup_minutes_saved: made.planned.setup_minutes_saved(),
        waiting: made.queue.waiting,
        in_progress: made.limits.in_progress,
        wip_max: made.limits.wip_max,
        assumptions: made.assumptions,
    }
}

fn when(day: &DayPlan, place: usize) -> When {
    if day.released.contains(&place) {
        When::Now
    } else if day.today.contains(&place) {
        When::Today
    } else {
        When::Later
    }
}

fn batch_view(batch: &Batch, jobs: &[&Waiting], rules: &PlanRules) -> BatchView {
    let unit = jobs.first().map_or(Unit::Millimetre, |first| first.job.job.target_unit);
    // Nothing where the machine is not set to one.
    let has_sizes = batch.smallest > Length::ZERO;
    let shown = |size: Length| size.display_in(unit);
    let mut text = batch.jobs.len().to_string();
    if has_sizes {
        text = format!("{text} at {}", shown(batch.smallest));
        if batch.largest != batch.smallest {
            text = format!("{text} to {}", shown(batch.largest));
        }
    }
    let set_up = match batch.setup_minutes {
        // Where no set-up costs anything it is one all the same.
        0 if rules.setup_family_minutes == 0 => "one set-up".to_owned(),
        0 => "no set-up".to_owned(),
        minutes => format!("one set-up ({minutes} min)"),
    };
    BatchView { batch: batch.clone(), has_sizes, unit, text: format!("{text}, {set_up}") }
}
