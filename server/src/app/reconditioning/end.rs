//! The end of a job: no operation of it stays open.

use crate::app::act::Act;
use crate::app::error::Error;
use tenths_domain::state::{JobOutcome, JobState, OperationState};
use tenths_storage::{Job, JobOperation};

/// Ends a job: what was not done of its route is skipped. Saves all of it.
pub(super) async fn end(
    act: &Act<'_>,
    job: &mut Job,
    route: &mut [JobOperation],
    outcome: JobOutcome,
) -> Result<(), Error> {
    for operation in route.iter_mut().filter(|operation| !operation.state.has_ended()) {
        super::operate::stop_clock(operation, act.now);
        operation.state = OperationState::Skipped;
        operation.finished_at = Some(act.now);
    }
    for operation in route.iter() {
        act.tx.save_operation(operation).await?;
    }
    job.state = JobState::Done;
    job.outcome = Some(outcome);
    job.lease_until_at = None;
    job.current = None;
    (job.plan_rank, job.force_at) = (None, None);
    Ok(act.tx.save_job(job).await?)
}
