//! Operations of recon jobs.

use super::common::{Parsed, length, or_unspecified, time};
use super::reconditioning::claim;
use crate::app::reconditioning::{FinishOperation, OnClaim, RejectOperation};
use crate::grpc::check::{Check, TEXT_MAX};
use crate::grpc::once::meta;
use crate::grpc::wire_enum::WireEnum;
use tenths_domain::route::Machine;
use tenths_domain::state::OperationState;
use tenths_domain::units::Unit;
use tenths_proto::v1 as pb;
use tenths_storage::JobOperation;

/// Jobs of a watch when nothing is said, and the most.
const JOBS_DEFAULT: i64 = 20;
const JOBS_MAX: i64 = 100;
/// Most answers that a watch can be ended after.
const ANSWERS_MAX: i64 = 1_000_000;

/// An operation to be started.
pub fn start_operation(wire: &pb::StartOperationRequest) -> Parsed<OnClaim> {
    let mut check = Check::new();
    let request = meta(&mut check, "StartOperation", &wire.request_id, &wire.person, wire);
    let command = claim(&mut check, &wire.tag, wire.fencing_token);
    check.finish()?;
    Ok((request, command))
}

/// An operation to be laid aside.
pub fn pause_operation(wire: &pb::PauseOperationRequest) -> Parsed<OnClaim> {
    let mut check = Check::new();
    let request = meta(&mut check, "PauseOperation", &wire.request_id, &wire.person, wire);
    let command = claim(&mut check, &wire.tag, wire.fencing_token);
    check.finish()?;
    Ok((request, command))
}

/// An operation to be finished.
pub fn finish_operation(wire: &pb::FinishOperationRequest) -> Parsed<FinishOperation> {
    let mut check = Check::new();
    let request = meta(&mut check, "FinishOperation", &wire.request_id, &wire.person, wire);
    let command = FinishOperation {
        claim: claim(&mut check, &wire.tag, wire.fencing_token),
        note: check.optional_text("note", &wire.note, TEXT_MAX),
    };
    check.finish()?;
    Ok((request, command))
}

/// An operation to be rejected.
pub fn reject_operation(wire: &pb::RejectOperationRequest) -> Parsed<RejectOperation> {
    let mut check = Check::new();
    let request = meta(&mut check, "RejectOperation", &wire.request_id, &wire.person, wire);
    let claim = claim(&mut check, &wire.tag, wire.fencing_token);
    let reason = check.required_enum("reason", wire.reason);
    let note = check.optional_text("note", &wire.note, TEXT_MAX);
    let Some(reason) = reason else { return Err(check.into_error()) };
    check.finish()?;
    Ok((request, RejectOperation { claim, reason, note }))
}

/// What a bench watches.
#[derive(Clone, Copy, Debug)]
pub struct Watch {
    /// The machine.
    pub machine: Machine,
    /// Most jobs to tell of.
    pub jobs_max: i64,
    /// The stream ends after so many answers; none is never.
    pub answers_max: Option<i64>,
}

/// A machine to be watched.
///
/// # Errors
/// [`Error::Invalid`](crate::app::Error::Invalid) without a machine, or past a limit.
pub fn watch(wire: &pb::WatchOperationsRequest) -> Result<Watch, crate::app::Error> {
    let mut check = Check::new();
    let machine = check.required_enum("machine", wire.machine);
    let jobs_max = check.count("jobs_max", i64::from(wire.jobs_max), 0, JOBS_MAX);
    let answers = check.count("answers_max", i64::from(wire.answers_max), 0, ANSWERS_MAX);
    let Some(machine) = machine else { return Err(check.into_error()) };
    check.finish()?;
    let jobs_max = if jobs_max == 0 { JOBS_DEFAULT } else { jobs_max };
    Ok(Watch { machine, jobs_max, answers_max: Some(answers).filter(|most| *most > 0) })
}

/// An operation outward. `live_until` is when the claim of its job ended or will end: a clock that
/// runs stops there.
pub(super) fn operation(
    operation: JobOperation,
    unit: Unit,
    now: i64,
    live_until: i64,
) -> pb::Operation {
    let running = operation.resumed_at.map_or(0, |since| now.min(live_until) - since);
    let state = match operation.state {
        OperationState::Started if live_until <= now => OperationState::Paused,
        state => state,
    };
    pb::Operation {
        position: i32::try_from(operation.position).unwrap_or(i32::MAX),
        state: state.to_wire(),
        worker: operation.worker.clone(),
        start_time: operation.started_at.map(time),
        worked: Some(duration(operation.worked_micros + running.max(0))),
        finish_time: operation.finished_at.map(time),
        passed: operation.passed,
        reject_reason: or_unspecified(operation.reject_reason),
        note: operation.note.clone(),
        plan: Some(plan(operation, unit)),
    }
}

fn duration(micros: i64) -> prost_types::Duration {
    prost_types::Duration {
        seconds: micros / 1_000_000,
        // Below a thousand million: it fits.
        nanos: (micros % 1_000_000 * 1_000) as i32,
    }
}

fn plan(operation: JobOperation, unit: Unit) -> pb::PlannedOperation {
    let cautions = operation.cautions.iter().map(|caution| caution.text().to_owned());
    pb::PlannedOperation {
        kind: operation.kind.to_wire(),
        machine: operation.machine.to_wire(),
        setup_family: operation.setup_family,
        site: operation.site.to_wire(),
        vendor: operation.vendor.unwrap_or_default(),
        from: operation.from.map(|size| length(size, unit)),
        to_lower: operation.to.map(|limits| length(limits.lower, unit)),
        to_upper: operation.to.map(|limits| length(limits.upper, unit)),
        change_on_diameter: operation.change.map(|amount| length(amount.on_diameter, unit)),
        change_per_side: operation.change.map(|amount| length(amount.per_side, unit)),
        minutes: operation.minutes.and_then(|minutes| i32::try_from(minutes).ok()),
        cautions: cautions.collect(),
        text: operation.text,
    }
}
