//! Plans of machines and yields of operations.

use super::common::{Parsed, aligned, length, money, time};
use crate::app::Error;
use crate::app::planning::{
    BatchView, DayPlanView, LineView, ListYields, PlanDay, When, YieldList, YieldView, micros_of,
};
use crate::grpc::check::{Check, NAME_MAX};
use crate::grpc::once::meta;
use crate::grpc::wire_enum::WireEnum;
use tenths_domain::route::Machine;
use tenths_proto::v1 as pb;

/// A working day when nothing is said: eight hours (common practice, no published source).
const DAY_MINUTES_DEFAULT: u32 = 480;
const MINUTES_MOST: i64 = 24 * 60;
const PPM: f64 = 1_000_000.0;

/// A plan that is asked for.
pub fn plan_day(wire: &pb::PlanDayRequest) -> Result<PlanDay, Error> {
    let mut check = Check::new();
    let order = order(&mut check, wire.machine, wire.day_minutes, wire.assumed_minutes);
    let Some(order) = order else { return Err(check.into_error()) };
    check.finish()?;
    Ok(order)
}

/// A plan to be released.
pub fn release_plan(wire: &pb::ReleasePlanRequest) -> Parsed<PlanDay> {
    let mut check = Check::new();
    let request = meta(&mut check, "ReleasePlan", &wire.request_id, &wire.person, wire);
    let order = order(&mut check, wire.machine, wire.day_minutes, wire.assumed_minutes);
    let Some(order) = order else { return Err(check.into_error()) };
    check.finish()?;
    Ok((request, order))
}

fn order(
    check: &mut Check,
    machine: i32,
    day_minutes: Option<i32>,
    assumed_minutes: Option<i32>,
) -> Option<PlanDay> {
    let machine = check.required_enum::<Machine>("machine", machine);
    let mut minutes = |field: &str, minutes: i32| {
        let minutes = check.count(field, i64::from(minutes), 1, MINUTES_MOST);
        u32::try_from(minutes).unwrap_or(0)
    };
    let day_minutes = day_minutes.map(|given| minutes("day_minutes", given));
    let assumed_minutes = assumed_minutes.map(|given| minutes("assumed_minutes", given));
    let day_minutes = day_minutes.unwrap_or(DAY_MINUTES_DEFAULT);
    Some(PlanDay { machine: machine?, day_minutes, assumed_minutes })
}

/// A plan outward.
pub fn plan(made: DayPlanView) -> pb::DayPlan {
    pb::DayPlan {
        machine: made.machine.to_wire(),
        policy_version: made.policy_version,
        create_time: Some(time(made.made_at)),
        day_minutes: whole(made.day_minutes),
        not_planned: made.waiting - made.lines.len() as i64,
        lines: made
            .lines
            .into_iter()
            .zip(1..)
            .map(|(line, place)| plan_line(line, place))
            .collect(),
        batches: made
            .batches
            .into_iter()
            .zip(1..)
            .map(|(one, number)| batch(one, number))
            .collect(),
        setup_minutes: i64::try_from(made.setup_minutes).unwrap_or(i64::MAX),
        setup_minutes_saved: i64::try_from(made.setup_minutes_saved).unwrap_or(i64::MAX),
        waiting: made.waiting,
        in_progress: whole(made.in_progress),
        wip_max: made.wip_max.map(whole),
        assumptions: made.assumptions,
    }
}

fn plan_line(view: LineView, place: i32) -> pb::PlanLine {
    let forced = view.latest_start.filter(|_| view.line.is_forced);
    let planned_for = match view.when {
        When::Now => pb::PlannedFor::Now,
        When::Today => pb::PlannedFor::Today,
        When::Later => pb::PlannedFor::Later,
    };
    let job = view.job.job;
    pb::PlanLine {
        place,
        batch: i32::try_from(view.line.batch + 1).unwrap_or(i32::MAX),
        job_tag: job.tag,
        piece_tag: view.job.piece_tag,
        feature: view.job.feature,
        operation: view.operation.to_wire(),
        finish_size: job.finish_size.map(|size| length(size, job.target_unit)),
        planned_for: planned_for.into(),
        forced_by: forced.map_or(0, |start| start.floor.to_wire()),
        start_time: Some(time(micros_of(view.line.start_min))),
        finish_time: Some(time(micros_of(view.line.finish_min))),
        setup_minutes: whole(view.line.setup_minutes),
        minutes: whole(view.plan.minutes),
        minutes_after: whole(view.plan.minutes_after),
        chance: f64::from(view.plan.chance_ppm) / PPM,
        value: view.value.map(money),
        due_time: job.due_at.map(time),
        latest_start_time: view.latest_start.map(|start| time(micros_of(start.minute))),
        create_time: Some(time(job.created_at)),
    }
}

fn batch(view: BatchView, number: i32) -> pb::PlanBatch {
    let [smallest, largest] = aligned([view.batch.smallest, view.batch.largest], view.unit);
    pb::PlanBatch {
        number,
        jobs: i32::try_from(view.batch.jobs.len()).unwrap_or(i32::MAX),
        setup_family: view.batch.setup_family,
        smallest: Some(smallest).filter(|_| view.has_sizes),
        largest: Some(largest).filter(|_| view.has_sizes),
        setup_minutes: whole(view.batch.setup_minutes),
        text: view.text,
    }
}

fn whole(count: u32) -> i32 {
    i32::try_from(count).unwrap_or(i32::MAX)
}

/// Yields that are asked for.
pub fn list_yields(wire: &pb::ListYieldsRequest) -> Result<ListYields, Error> {
    let mut check = Check::new();
    let operation = check.optional_enum("operation", wire.operation);
    let vendor = check.optional_text("vendor", &wire.vendor, NAME_MAX);
    check.finish()?;
    Ok(ListYields { operation, vendor: Some(vendor).filter(|vendor| !vendor.is_empty()) })
}

/// Yields outward.
pub fn yields(found: YieldList) -> pb::ListYieldsResponse {
    pb::ListYieldsResponse {
        yields: found.yields.into_iter().map(operation_yield).collect(),
        prior_passed: found.prior.passed().to_string(),
        prior_failed: found.prior.failed().to_string(),
        policy_version: found.policy_version,
    }
}

fn operation_yield(view: YieldView) -> pb::OperationYield {
    let counted = view.counted;
    pb::OperationYield {
        operation: counted.kind.to_wire(),
        site: counted.site.to_wire(),
        vendor: counted.vendor.unwrap_or_default(),
        passed: i64::try_from(counted.passed).unwrap_or(i64::MAX),
        failed: i64::try_from(counted.failed).unwrap_or(i64::MAX),
        mean: view.mean,
        lower_bound: view.lower_bound,
    }
}
