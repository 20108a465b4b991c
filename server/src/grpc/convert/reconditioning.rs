//! Recon jobs and claims.

use super::common::{Parsed, etag, length, limits, or_unspecified, time};
use super::measuring::{assessment, readings_in};
use super::operations::operation;
use crate::app::reconditioning::{
    ClaimJob, EnqueueJob, FinishJob, FinishedJob, OnClaim, RenewClaim, ScrapJob,
};
use crate::app::views::JobView;
use crate::grpc::check::{Check, TEXT_MAX};
use crate::grpc::once::meta;
use crate::grpc::wire_enum::WireEnum;
use std::time::Duration;
use tenths_domain::state::JobState;
use tenths_domain::units::Unit;
use tenths_proto::v1 as pb;

const LEASE_LEAST: Duration = Duration::from_secs(60);
const LEASE_MOST: Duration = Duration::from_secs(24 * 60 * 60);
/// A lease when nothing is said, in microseconds: 30 minutes.
const LEASE_DEFAULT: i64 = 30 * 60 * 1_000_000;

/// A piece to be queued.
pub fn enqueue_job(wire: &pb::EnqueueJobRequest) -> Parsed<EnqueueJob> {
    let mut check = Check::new();
    let request = meta(&mut check, "EnqueueJob", &wire.request_id, &wire.person, wire);
    let piece_tag = check.tag("piece_tag", &wire.piece_tag);
    let feature = check.feature_name("feature", &wire.feature);
    let method = check.required_enum("method", wire.method);
    let target = match (&wire.target_lower, &wire.target_upper) {
        (None, None) => None,
        (lower, upper) => limits(&mut check, "target_", lower.as_ref(), upper.as_ref()),
    };
    let reason = check.optional_text("reason", &wire.reason, TEXT_MAX);
    let due_at = check.optional_time("due_time", wire.due_time.as_ref());
    let location_code = check.optional_tag("location_code", &wire.location_code);
    let rebuild_tag = check.optional_tag("rebuild_tag", &wire.rebuild_tag);
    let Some(method) = method else { return Err(check.into_error()) };
    check.finish()?;
    let command = EnqueueJob {
        piece_tag,
        feature,
        method,
        target: target.map(|(limits, _)| limits),
        target_unit: target.map_or(Unit::Millimetre, |(_, unit)| unit),
        reason,
        due_at,
        location_code,
        at_vendor: wire.at_vendor,
        rebuild_tag,
    };
    Ok((request, command))
}

fn lease(check: &mut Check, wire: Option<&prost_types::Duration>) -> i64 {
    check.optional_duration("lease", wire, LEASE_LEAST, LEASE_MOST).unwrap_or(LEASE_DEFAULT)
}

pub(super) fn claim(check: &mut Check, tag: &str, fencing_token: i64) -> OnClaim {
    OnClaim {
        tag: check.tag("tag", tag),
        fencing_token: check.count("fencing_token", fencing_token, 1, i64::MAX),
    }
}

/// A job to be claimed.
pub fn claim_job(wire: &pb::ClaimJobRequest) -> Parsed<ClaimJob> {
    let mut check = Check::new();
    let request = meta(&mut check, "ClaimJob", &wire.request_id, &wire.person, wire);
    let command = ClaimJob {
        tag: check.optional_tag("tag", &wire.tag),
        machine: check.optional_enum("machine", wire.machine),
        lease: lease(&mut check, wire.lease.as_ref()),
    };
    if command.tag.is_some() && command.machine.is_some() {
        check.refuse("machine", "a job that is named has its machine; allowed: a tag or a machine");
    }
    check.finish()?;
    Ok((request, command))
}

/// A lease to be extended.
pub fn renew_claim(wire: &pb::RenewClaimRequest) -> Parsed<RenewClaim> {
    let mut check = Check::new();
    let request = meta(&mut check, "RenewClaim", &wire.request_id, &wire.person, wire);
    let command = RenewClaim {
        claim: claim(&mut check, &wire.tag, wire.fencing_token),
        lease: lease(&mut check, wire.lease.as_ref()),
    };
    check.finish()?;
    Ok((request, command))
}

/// A claim to be given back.
pub fn release_claim(wire: &pb::ReleaseClaimRequest) -> Parsed<OnClaim> {
    let mut check = Check::new();
    let request = meta(&mut check, "ReleaseClaim", &wire.request_id, &wire.person, wire);
    let command = claim(&mut check, &wire.tag, wire.fencing_token);
    check.finish()?;
    Ok((request, command))
}

/// A job to be finished.
pub fn finish_job(wire: &pb::FinishJobRequest) -> Parsed<FinishJob> {
    let mut check = Check::new();
    let request = meta(&mut check, "FinishJob", &wire.request_id, &wire.person, wire);
    let claim = claim(&mut check, &wire.tag, wire.fencing_token);
    let parsed = readings_in(&mut check, wire.readings.as_ref(), false);
    let override_reason = check.optional_text("override_reason", &wire.override_reason, TEXT_MAX);
    let location_code = check.optional_tag("location_code", &wire.location_code);
    let run_out = check.optional_amount("run_out", wire.run_out.as_ref());
    let run_out_tir = run_out.map(|entry| entry.length);
    let Some(readings) = parsed else { return Err(check.into_error()) };
    check.finish()?;
    Ok((request, FinishJob { claim, readings, override_reason, location_code, run_out_tir }))
}

/// A job's piece to be scrapped.
pub fn scrap_job(wire: &pb::ScrapJobRequest) -> Parsed<ScrapJob> {
    let mut check = Check::new();
    let request = meta(&mut check, "ScrapJob", &wire.request_id, &wire.person, wire);
    let claim = claim(&mut check, &wire.tag, wire.fencing_token);
    let reason = check.required_enum("reason", wire.reason);
    let note = check.optional_text("note", &wire.note, TEXT_MAX);
    let Some(reason) = reason else { return Err(check.into_error()) };
    check.finish()?;
    Ok((request, ScrapJob { claim, reason, note }))
}

/// A job outward, as it stands when it is shown.
pub fn job(view: JobView) -> pb::Job {
    let job = view.job;
    let state = job.state_at(view.now);
    let claimed = state == JobState::Claimed;
    let unit = job.target_unit;
    let position = job.current.as_ref().map_or(0, |current| current.position);
    let live_until = job.lease_until_at.unwrap_or(view.now);
    let operations =
        view.operations.into_iter().map(|one| operation(one, unit, view.now, live_until));
    pb::Job {
        tag: job.tag,
        piece_tag: view.piece_tag,
        feature: view.feature,
        method: job.method.to_wire(),
        target_lower: job.target.map(|limits| length(limits.lower, job.target_unit)),
        target_upper: job.target.map(|limits| length(limits.upper, job.target_unit)),
        reason: job.reason,
        due_time: job.due_at.map(time),
        state: state.to_wire(),
        worker: if matches!(state, JobState::Queued | JobState::Away) {
            String::new()
        } else {
            job.worker
        },
        lease_until_time: job.lease_until_at.filter(|_| claimed).map(time),
        attempt: i32::try_from(job.attempt).unwrap_or(i32::MAX),
        outcome: or_unspecified(job.outcome),
        scrap_reason: or_unspecified(job.scrap_reason),
        rework_of: view.rework_of,
        etag: etag(job.revision),
        create_time: Some(time(job.created_at)),
        operations: operations.collect(),
        operation_position: i32::try_from(position).unwrap_or(i32::MAX),
        finish_size: job.finish_size.map(|size| length(size, unit)),
        rebuild_tag: view.rebuild_tag,
        policy_version: job.policy_version,
    }
}

/// A queued job outward.
pub fn enqueued((view, cautions): (JobView, Vec<String>)) -> pb::EnqueueJobResponse {
    pb::EnqueueJobResponse { job: Some(job(view)), cautions }
}

/// A claimed job outward.
pub fn claimed((view, fencing_token): (JobView, i64)) -> pb::ClaimJobResponse {
    pb::ClaimJobResponse { job: Some(job(view)), fencing_token }
}

/// A finished job outward.
pub fn finished(done: FinishedJob) -> pb::FinishJobResponse {
    pb::FinishJobResponse {
        job: Some(job(done.job)),
        assessment: Some(assessment(done.assessment)),
        rework: done.rework.map(job),
        notes: done.notes,
    }
}
