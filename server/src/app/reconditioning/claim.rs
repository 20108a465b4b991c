//! Claims: who works on a job's current operation, until when, under which token.

use super::{OnClaim, claimed, current, ended};
use crate::app::act::Act;
use crate::app::error::Error;
use crate::app::holds::shown_time;
use crate::app::policies;
use crate::app::views::JobView;
use tenths_domain::policy::Site;
use tenths_domain::route::Machine;
use tenths_domain::state::{JobState, OperationState};
use tenths_storage::Job;

/// Claims a job.
#[derive(Clone, Debug)]
pub struct ClaimJob {
    /// The job; none claims the next one.
    pub tag: Option<String>,
    /// The machine whose next job is claimed; none is any.
    pub machine: Option<Machine>,
    /// How long the lease lasts, in microseconds.
    pub lease: i64,
}

/// Extends a lease.
#[derive(Clone, Debug)]
pub struct RenewClaim {
    /// The claim.
    pub claim: OnClaim,
    /// How long from now, in microseconds.
    pub lease: i64,
}

/// Claims a job under a lease; answers with the fencing token too.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Forbidden`] if another claim is live, it has ended, is a vendor's,
/// its machine has no room, or nothing waits.
pub async fn claim_job(act: &Act<'_>, order: &ClaimJob) -> Result<(JobView, i64), Error> {
    let full = full_machines(act).await?;
    let mut job = match &order.tag {
        Some(tag) => named_job(act, tag, &full).await?,
        None => next_job(act, order.machine, &full).await?,
    };
    job.state = JobState::Claimed;
    act.person.clone_into(&mut job.worker);
    job.lease_until_at = Some(act.now.saturating_add(order.lease));
    job.fencing_token += 1;
    job.attempt += 1;
    act.tx.save_job(&mut job).await?;
    let token = job.fencing_token;
    Ok((act.view().job(job).await?, token))
}

/// The job of this tag, if it can be claimed.
async fn named_job(act: &Act<'_>, tag: &str, full: &[FullMachine]) -> Result<Job, Error> {
    let mut job = act.view().find_job(tag).await?;
    if job.state == JobState::Done {
        return Err(ended(&job));
    }
    if job.is_claimed_at(act.now) {
        let until = shown_time(job.lease_until_at.unwrap_or_default());
        let description = format!("job {} is claimed by {} until {until}", job.tag, job.worker);
        return Err(Error::forbidden("CLAIMED", job.tag, description));
    }
    let current = current(&job)?;
    if job.state == JobState::Away {
        let description = format!("job {} is at a vendor: take it back first", job.tag);
        return Err(Error::forbidden("AWAY", job.tag, description));
    }
    if current.site == Site::Vendor {
        let description = format!(
            "operation {} of job {} is done by a vendor: send it out instead of claiming it",
            current.position, job.tag
        );
        return Err(Error::forbidden("VENDOR_OPERATION", job.tag, description));
    }
    if let Some(full) = full.iter().find(|full| full.machine == current.machine) {
        return Err(Error::forbidden("WIP_LIMIT", full.machine.as_str(), full.words()));
    }
    if job.state == JobState::Claimed {
        lay_aside(act, &mut job).await?;
    }
    Ok(job)
}

/// The next job that waits, after bringing back what was dropped.
async fn next_job(
    act: &Act<'_>,
    machine: Option<Machine>,
    full: &[FullMachine],
) -> Result<Job, Error> {
    for mut lapsed in act.tx.lapsed_jobs(act.now).await? {
        lay_aside(act, &mut lapsed).await?;
    }
    if let Some(full) = full.iter().find(|full| Some(full.machine) == machine) {
        return Err(Error::forbidden("WIP_LIMIT", full.machine.as_str(), full.words()));
    }
    let without: Vec<Machine> = full.iter().map(|full| full.machine).collect();
    if let Some(job) = act.tx.next_job(act.now, machine, &without).await? {
        return Ok(job);
    }
    let for_what = machine.map_or(String::new(), |machine| format!(" for {machine}"));
    let mut description = format!("no job waits in the queue{for_what}");
    for full in full {
        description = format!("{description}; {}", full.words());
    }
    Err(Error::forbidden("NOTHING_WAITS", "queue", description))
}

/// Puts a job back into the queue, its current operation laid aside if it was begun: its time counts
/// until now, or until the lease ended. Saves both.
pub(super) async fn lay_aside(act: &Act<'_>, job: &mut Job) -> Result<(), Error> {
    let at = job.lease_until_at.map_or(act.now, |until| until.min(act.now));
    let mut operation = act.tx.operation_at(job.id, current(job)?.position).await?;
    if operation.state == OperationState::Started {
        super::operate::stop_clock(&mut operation, at);
        operation.state = OperationState::Paused;
        act.tx.save_operation(&operation).await?;
    }
    job.state = JobState::Queued;
    job.worker.clear();
    job.lease_until_at = None;
    Ok(act.tx.save_job(job).await?)
}

/// A machine that has as many jobs in work as the policy allows.
struct FullMachine {
    machine: Machine,
    in_work: i64,
    wip_max: u32,
}

impl FullMachine {
    fn words(&self) -> String {
        format!(
            "{} has {} jobs in work, the most that the policy allows is {}: finish or release one",
            self.machine, self.in_work, self.wip_max
        )
    }
}

/// The machines without room. Where there is a limit, claims queue up here, or two of them could
/// each see the last room.
async fn full_machines(act: &Act<'_>) -> Result<Vec<FullMachine>, Error> {
    let policy = policies::in_force(act.view()).await?;
    let Some(wip_max) = policy.queue.wip_max.map(|noted| noted.value) else {
        return Ok(Vec::new());
    };
    act.tx.lock_queue().await?;
    let counts = act.tx.claimed_by_machine(act.now).await?;
    let full = counts.into_iter().filter(|(_, in_work)| *in_work >= i64::from(wip_max));
    Ok(full.map(|(machine, in_work)| FullMachine { machine, in_work, wip_max }).collect())
}

/// Extends the lease of a live claim.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Forbidden`] if the claim is not live.
pub async fn renew_claim(act: &Act<'_>, order: &RenewClaim) -> Result<JobView, Error> {
    let mut job = claimed(act, &order.claim).await?;
    job.lease_until_at = Some(act.now.saturating_add(order.lease));
    act.tx.save_job(&mut job).await?;
    act.view().job(job).await
}

/// Gives a live claim back; an operation that was begun is laid aside.
///
/// # Errors
/// As [`renew_claim`].
pub async fn release_claim(act: &Act<'_>, order: &OnClaim) -> Result<JobView, Error> {
    let mut job = claimed(act, order).await?;
    lay_aside(act, &mut job).await?;
    act.view().job(job).await
}
