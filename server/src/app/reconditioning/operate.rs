//! Working on an operation: start, pause, finish, reject.

use super::end::end;
use super::{OnClaim, claimed, current, piece_of};
use crate::app::act::Act;
use crate::app::error::Error;
use crate::app::planning::force_at;
use crate::app::policies;
use crate::app::stock::check_step;
use crate::app::views::JobView;
use tenths_domain::plan::LaterOperation;
use tenths_domain::policy::Site;
use tenths_domain::route::OperationKind;
use tenths_domain::state::{
    BuiltUp, JobOutcome, JobState, OperationState, PieceState, RejectReason,
};
use tenths_storage::{CurrentOperation, Job, JobOperation, Piece, PieceSize};

/// Finishes the current operation.
#[derive(Clone, Debug)]
pub struct FinishOperation {
    /// The claim.
    pub claim: OnClaim,
    /// A note, or empty.
    pub note: String,
}

/// Rejects the current operation.
#[derive(Clone, Debug)]
pub struct RejectOperation {
    /// The claim.
    pub claim: OnClaim,
    /// The reason code.
    pub reason: RejectReason,
    /// A note, or empty.
    pub note: String,
}

/// Starts the current operation, or goes on with it after a pause.
///
/// # Errors
/// As renewing a claim; [`Error::Forbidden`] if it is started already.
pub async fn start_operation(act: &Act<'_>, order: &OnClaim) -> Result<JobView, Error> {
    let mut job = claimed(act, order).await?;
    let mut operation = act.tx.operation_at(job.id, current(&job)?.position).await?;
    if operation.state == OperationState::Started {
        return Err(in_other_state(&job, &operation, "pause or finish it"));
    }
    operation.state = OperationState::Started;
    act.person.clone_into(&mut operation.worker);
    operation.started_at = operation.started_at.or(Some(act.now));
    operation.resumed_at = Some(act.now);
    act.tx.save_operation(&operation).await?;
    act.tx.save_job(&mut job).await?;
    act.view().job(job).await
}

/// Stops the clock of the current operation; the claim stays as long as its lease.
///
/// # Errors
/// As renewing a claim; [`Error::Forbidden`] if it is not started.
pub async fn pause_operation(act: &Act<'_>, order: &OnClaim) -> Result<JobView, Error> {
    let mut job = claimed(act, order).await?;
    let mut operation = act.tx.operation_at(job.id, current(&job)?.position).await?;
    if operation.state != OperationState::Started {
        return Err(in_other_state(&job, &operation, "only one that is started can be paused"));
    }
    stop_clock(&mut operation, act.now);
    operation.state = OperationState::Paused;
    act.tx.save_operation(&operation).await?;
    act.tx.save_job(&mut job).await?;
    act.view().job(job).await
}

fn in_other_state(job: &Job, operation: &JobOperation, help: &str) -> Error {
    let description = format!(
        "operation {} ({}) of job {} is {}: {help}",
        operation.position, operation.kind, job.tag, operation.state
    );
    Error::forbidden("OPERATION_STATE", job.tag.clone(), description)
}

/// Finishes the current operation and gives the claim back: the next one waits for its own worker.
///
/// # Errors
/// As renewing a claim; [`Error::Forbidden`] for the last operation, which only re-measuring ends.
pub async fn finish_operation(act: &Act<'_>, order: &FinishOperation) -> Result<JobView, Error> {
    let mut job = claimed(act, &order.claim).await?;
    let mut route = act.tx.operations_of([job.id]).await?;
    let at = current(&job)?.position;
    let Some(next) = route.iter().find(|operation| operation.position == at + 1).cloned() else {
        let description = format!(
            "operation {at} is the last of job {}: finish the job by re-measuring, or reject it",
            job.tag
        );
        return Err(Error::forbidden("LAST_OPERATION", job.tag, description));
    };
    for operation in route.iter_mut().filter(|operation| operation.position == at) {
        // What only looks has no yield of its own: its outcome is that of the work before it.
        done(operation, act, Some(true).filter(|_| !operation.kind.judges()));
        act.person.clone_into(&mut operation.worker);
        order.note.clone_into(&mut operation.note);
        act.tx.save_operation(operation).await?;
    }
    judge_vendor(act, &mut route, at, true).await?;
    go_on(act, &mut job, next).await?;
    act.view().job(job).await
}

/// Rejects the current operation: the job ends, and a person decides what becomes of the piece.
///
/// # Errors
/// As renewing a claim; [`Error::Invalid`] for "other" without a note.
pub async fn reject_operation(act: &Act<'_>, order: &RejectOperation) -> Result<JobView, Error> {
    if order.reason == RejectReason::Other && order.note.is_empty() {
        return Err(Error::invalid("note", "reason other says nothing: write what it was"));
    }
    let mut job = claimed(act, &order.claim).await?;
    let mut piece = piece_of(act, &job).await?;
    check_step(&piece, PieceState::Inspection, "put back for inspection")?;
    let mut route = act.tx.operations_of([job.id]).await?;
    let at = current(&job)?.position;
    for operation in route.iter_mut().filter(|operation| operation.position == at) {
        reject(operation, act, order.reason, &order.note);
    }
    if !blame_earlier(act, &mut route, at, order.reason).await? {
        judge_vendor(act, &mut route, at, false).await?;
    }
    note_work_done(act, &job, &route, &mut piece).await?;
    end(act, &mut job, &mut route, JobOutcome::ForDecision).await?;
    piece.state = PieceState::Inspection;
    act.tx.save_piece(&mut piece).await?;
    act.view().job(job).await
}

/// A piece that leaves its route half-way is not the piece that was measured: what was put on is
/// remembered, and where metal came or went the readings no longer speak. It is measured anew.
async fn note_work_done(
    act: &Act<'_>,
    job: &Job,
    route: &[JobOperation],
    piece: &mut Piece,
) -> Result<(), Error> {
    // The operation that was given up may have been half done.
    let touched = |operation: &&JobOperation| {
        matches!(operation.state, OperationState::Done | OperationState::Rejected)
    };
    // A route that was not laid out has one operation for the whole of building up.
    let adds = |operation: &JobOperation| {
        let finishes = operation.kind.changes_size() && !operation.kind.makes_room();
        operation.kind.adds_metal() || (job.method.adds_metal() && finishes)
    };
    if route.iter().filter(touched).any(adds) {
        piece.built_up = BuiltUp::Yes;
    }
    if route.iter().filter(touched).any(|operation| operation.kind.changes_size()) {
        let size = act.tx.piece_size(piece.id, job.feature).await?;
        let (min, max, uncertainty) = (None, None, None);
        let round = size.round + 1;
        let anew = PieceSize { round, min, max, uncertainty, reading_count: 0, ..size };
        act.tx.save_piece_size(&anew).await?;
    }
    Ok(())
}

/// Where the reason says that an operation before this one was not done well, that one failed, not
/// the one at which it came to light. Whether there was one.
async fn blame_earlier(
    act: &Act<'_>,
    route: &mut [JobOperation],
    at: i64,
    reason: RejectReason,
) -> Result<bool, Error> {
    let here = route.partition_point(|operation| operation.position < at);
    let (before, rest) = route.split_at_mut(here);
    if rest.first().is_some_and(|found_at| found_at.kind.is_blamed_for(reason)) {
        return Ok(false);
    }
    let mut done = before.iter_mut().rev().filter(|one| one.state == OperationState::Done);
    let Some(at_fault) = done.find(|one| one.kind.is_blamed_for(reason)) else {
        return Ok(false);
    };
    at_fault.passed = Some(false);
    act.tx.save_operation(at_fault).await?;
    if let Some(found_at) = rest.first_mut() {
        found_at.passed = None;
    }
    Ok(true)
}

/// The inspection of what came back says whether the vendor's work was good the first time.
async fn judge_vendor(
    act: &Act<'_>,
    route: &mut [JobOperation],
    at: i64,
    passed: bool,
) -> Result<(), Error> {
    let before = route.partition_point(|operation| operation.position < at);
    if route.get(before).is_none_or(|here| here.kind != OperationKind::ReturnInspect) {
        return Ok(());
    }
    let vendors = route[..before].iter_mut().rev();
    for operation in vendors.take_while(|operation| operation.site == Site::Vendor) {
        operation.passed = Some(passed);
        act.tx.save_operation(operation).await?;
    }
    Ok(())
}

/// Makes an operation the current one of a job, which waits for whoever does it. Saves both.
pub(super) async fn go_on(
    act: &Act<'_>,
    job: &mut Job,
    mut next: JobOperation,
) -> Result<(), Error> {
    next.state = OperationState::Ready;
    act.tx.save_operation(&next).await?;
    job.current = Some(CurrentOperation {
        position: next.position,
        machine: next.machine,
        setup_family: next.setup_family,
        site: next.site,
    });
    job.state = JobState::Queued;
    job.worker.clear();
    job.lease_until_at = None;
    // A plan is of one machine.
    job.plan_rank = None;
    let policy = policies::in_force(act.view()).await?;
    let route = act.tx.operations_of([job.id]).await?;
    let left = route.into_iter().skip_while(|operation| operation.position < next.position);
    let left: Vec<LaterOperation> = left.map(later).collect();
    job.force_at = force_at(&policy, job.created_at, job.due_at, &left);
    Ok(act.tx.save_job(job).await?)
}

fn later(operation: JobOperation) -> LaterOperation {
    let minutes = operation.minutes.and_then(|minutes| u32::try_from(minutes).ok());
    let JobOperation { kind, site, vendor, .. } = operation;
    LaterOperation { kind, site, vendor, minutes }
}

/// Notes that an operation is done.
pub(super) fn done(operation: &mut JobOperation, act: &Act<'_>, passed: Option<bool>) {
    stop_clock(operation, act.now);
    operation.state = OperationState::Done;
    operation.finished_at = Some(act.now);
    operation.passed = passed;
}

/// Stops the clock of an operation that runs, at `at`.
pub(super) fn stop_clock(operation: &mut JobOperation, at: i64) {
    if let Some(since) = operation.resumed_at.take() {
        operation.worked_micros += at.saturating_sub(since).max(0);
    }
}

/// Notes that an operation could not be done.
pub(super) fn reject(
    operation: &mut JobOperation,
    act: &Act<'_>,
    reason: RejectReason,
    note: &str,
) {
    stop_clock(operation, act.now);
    operation.state = OperationState::Rejected;
    act.person.clone_into(&mut operation.worker);
    operation.finished_at = Some(act.now);
    operation.passed = Some(false).filter(|_| !operation.kind.judges());
    operation.reject_reason = Some(reason);
    note.clone_into(&mut operation.note);
}
