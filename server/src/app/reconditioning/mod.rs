//! The reconditioning queue: jobs of one or more operations, claimed under a lease with a fencing
//! token, finished by re-measuring.
//!
//! A job's operations are done one after another, so the claim of a job is the claim of its current
//! operation: at most one is live.

mod claim;
mod end;
mod enqueue;
mod finish;
mod operate;
mod rejected;
mod rework;
mod send_outs;
mod start;
mod straight;
mod target;

pub use claim::{ClaimJob, RenewClaim, claim_job, release_claim, renew_claim};
pub use enqueue::{EnqueueJob, enqueue_job};
pub use finish::{FinishJob, FinishedJob, ScrapJob, finish_job, scrap_job};
pub use operate::{
    FinishOperation, RejectOperation, finish_operation, pause_operation, reject_operation,
    start_operation,
};
pub(crate) use rejected::{Rejected, rejected};
pub use send_outs::{
    CreateSendOut, ReturnSendOut, ReturnedLine, SendOutsFilter, create_send_out, list_send_outs,
    return_send_out,
};
pub use start::{NewJob, start_job};
pub(crate) use start::{bring_into_work, check_due, check_workable, waiting_rebuild};

use super::act::{Act, View};
use super::error::Error;
use super::views::JobView;
use tenths_domain::route::Machine;
use tenths_domain::state::{JobOutcome, JobState};
use tenths_storage::{CurrentOperation, Job, Page, Piece, StorageError};

/// An act on a claim.
#[derive(Clone, Debug)]
pub struct OnClaim {
    /// The job.
    pub tag: String,
    /// The token of the claim.
    pub fencing_token: i64,
}

/// Reads one job.
///
/// # Errors
/// [`Error::NotFound`].
pub async fn get_job(view: View<'_>, tag: &str) -> Result<JobView, Error> {
    let job = view.find_job(tag).await?;
    view.job(job).await
}

/// Lists jobs in order of queueing, each with its current operation only.
///
/// # Errors
/// [`Error::NotFound`] for a piece that the filter names.
pub async fn list_jobs(
    view: View<'_>,
    page: Page,
    state: Option<JobState>,
    piece_tag: Option<String>,
) -> Result<Vec<JobView>, Error> {
    let piece = match &piece_tag {
        Some(tag) => Some(view.find_piece(tag).await?.id),
        None => None,
    };
    let jobs = view.tx.jobs_page(page, state, piece, view.now).await?;
    with_current(view, jobs).await
}

/// The jobs in front of a machine, claimed ones first, then in the order of claiming, each with its
/// current operation only.
///
/// # Errors
/// A database that does not answer.
pub async fn queue_of(
    view: View<'_>,
    machine: Machine,
    jobs_max: i64,
) -> Result<Vec<JobView>, Error> {
    let jobs = view.tx.jobs_at(view.now, machine, jobs_max).await?;
    with_current(view, jobs).await
}

async fn with_current(view: View<'_>, jobs: Vec<Job>) -> Result<Vec<JobView>, Error> {
    let mut found = view.jobs(jobs).await?;
    for one in &mut found {
        let at = one.job.current.as_ref().map_or(0, |current| current.position);
        one.operations.retain(|operation| operation.position == at);
    }
    Ok(found)
}

/// The operation that is next or in work of an open job.
fn current(job: &Job) -> Result<&CurrentOperation, Error> {
    job.current.as_ref().ok_or_else(|| {
        let reason = "an open job has no operation".to_owned();
        StorageError::Corrupt { table: "jobs", id: job.tag.clone(), reason }.into()
    })
}

fn ended(job: &Job) -> Error {
    let outcome = job.outcome.map_or("", JobOutcome::as_str);
    let description = format!("job {} has ended: {outcome}", job.tag);
    Error::forbidden("JOB_ENDED", job.tag.clone(), description)
}

/// The job of a live claim, or why the claim is not live.
async fn claimed(act: &Act<'_>, claim: &OnClaim) -> Result<Job, Error> {
    let job = act.view().find_job(&claim.tag).await?;
    if job.state == JobState::Done {
        return Err(ended(&job));
    }
    if job.state == JobState::Away {
        let description = format!("job {} is at a vendor: return it from its send-out", job.tag);
        return Err(Error::forbidden("AWAY", job.tag, description));
    }
    if job.is_claimed_at(act.now) && job.fencing_token == claim.fencing_token {
        if job.worker != act.person {
            // Tokens are small numbers: a slip in the job's would end another's work.
            let description = format!(
                "job {} is claimed by {}: who takes it over claims it, once that is released or \
                 its lease has ended",
                job.tag, job.worker
            );
            return Err(Error::forbidden("CLAIMED", job.tag, description));
        }
        return Ok(job);
    }
    let description = format!(
        "token {} is not the live claim of job {}: its lease ended or another worker claimed it; \
         claim it again",
        claim.fencing_token, job.tag
    );
    Err(Error::forbidden("STALE_CLAIM", job.tag, description))
}

async fn piece_of(act: &Act<'_>, job: &Job) -> Result<Piece, Error> {
    let found = act.tx.pieces_by_ids([job.piece]).await?.remove(&job.piece);
    found.ok_or_else(|| Error::NotFound { kind: "piece of job", name: job.tag.clone() })
}
