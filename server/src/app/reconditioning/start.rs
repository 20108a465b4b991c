//! Opening a job with its route, and bringing its piece into work.

use crate::app::act::Act;
use crate::app::error::Error;
use crate::app::judging::decide;
use crate::app::planning::force_at;
use crate::app::policies;
use crate::app::stock::{check_not_held, check_not_removed_bearing, check_step, relocate};
use tenths_domain::disposition::Disposition;
use tenths_domain::ids::{FeatureId, JobId, PieceId, RebuildId};
use tenths_domain::item::Limits;
use tenths_domain::plan::LaterOperation;
use tenths_domain::route::Operation;
use tenths_domain::state::{JobState, Method, PieceState, RebuildState};
use tenths_domain::units::Unit;
use tenths_storage::{CurrentOperation, Item, Job, Piece, Rebuild};

/// A job to be opened.
#[derive(Clone, Debug)]
pub struct NewJob {
    /// The piece; the caller has brought it into reconditioning.
    pub piece: PieceId,
    /// The feature.
    pub feature: FeatureId,
    /// How.
    pub method: Method,
    /// The finished size, if other than the item's limits.
    pub target: Option<Limits>,
    /// The unit that sizes are shown in.
    pub target_unit: Unit,
    /// Why.
    pub reason: String,
    /// When it is due, in Unix microseconds.
    pub due_at: Option<i64>,
    /// The job that it reworks.
    pub rework_of: Option<JobId>,
    /// The rebuild that waits for the piece.
    pub rebuild: Option<RebuildId>,
    /// What of that rebuild's value falls to the piece, in minor units.
    pub value_minor: Option<i64>,
    /// The version of the policy that the route is from.
    pub policy_version: Option<i64>,
    /// The operations, in order; at least one, the last decides by re-measuring.
    pub route: Vec<Operation>,
}

/// The rules for when a piece may be worked on at all; `what` says what is wanted of it.
///
/// # Errors
/// [`Error::Forbidden`] if it is held, gone, in the queue already, or a removed rolling bearing.
pub(crate) async fn check_workable(
    act: &Act<'_>,
    piece: &Piece,
    item: &Item,
    what: &str,
) -> Result<(), Error> {
    if let Some(job) = act.tx.open_job_of(piece.id).await? {
        let description = format!("piece {} is in job {} already", piece.tag, job.tag);
        return Err(Error::forbidden("OPEN_JOB", piece.tag.clone(), description));
    }
    check_step(piece, PieceState::Reconditioning, what)?;
    check_not_held(act, piece).await?;
    check_not_removed_bearing(piece, item)
}

/// Notes that a piece is to be worked on, beside what was proposed, and brings it where it waits.
/// Saves it.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Invalid`] for the place.
pub(crate) async fn bring_into_work(
    act: &Act<'_>,
    piece: &mut Piece,
    proposed: Option<Disposition>,
    reason: &str,
    location_code: Option<&str>,
) -> Result<(), Error> {
    decide(act, piece, proposed, Disposition::Recondition, reason).await?;
    if let Some(to) = act.view().place_if_given(location_code).await? {
        relocate(act, piece, to).await?;
    }
    piece.state = PieceState::Reconditioning;
    Ok(act.tx.save_piece(piece).await?)
}

/// Refuses a due date that is over a day past, which no time zone explains: a slip of the pen.
///
/// # Errors
/// [`Error::Invalid`].
pub(crate) fn check_due(act: &Act<'_>, field: &str, due_at: Option<i64>) -> Result<(), Error> {
    const DAY: i64 = 86_400_000_000;
    let past = due_at.map_or(0, |due_at| act.now.saturating_sub(due_at) / DAY);
    if past < 1 {
        return Ok(());
    }
    let problem = format!("it is {past} days past; allowed: from yesterday on");
    Err(Error::invalid(field, problem))
}

/// The open rebuild that waits for a piece; a closed one waits for nothing.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Forbidden`] if it is closed.
pub(crate) async fn waiting_rebuild(
    act: &Act<'_>,
    tag: Option<&str>,
) -> Result<Option<Rebuild>, Error> {
    let Some(tag) = tag else { return Ok(None) };
    let rebuild = act.view().find_rebuild(tag).await?;
    if rebuild.state != RebuildState::Open {
        let description = format!("rebuild {tag} is {}: it waits for no piece", rebuild.state);
        return Err(Error::forbidden("REBUILD_CLOSED", tag, description));
    }
    Ok(Some(rebuild))
}

/// Opens a job; it waits for its first operation.
///
/// # Errors
/// [`Error::Invalid`] for a route without operations.
pub async fn start_job(act: &Act<'_>, new: NewJob) -> Result<Job, Error> {
    let Some(first) = new.route.first() else {
        return Err(Error::invalid("operations", "a job needs at least one operation"));
    };
    let current = CurrentOperation {
        position: 1,
        machine: first.machine,
        setup_family: first.setup_family.to_owned(),
        site: first.site,
    };
    let sizes = new.route.iter().rev().find_map(|operation| operation.to);
    let left: Vec<LaterOperation> = new.route.iter().map(later).collect();
    let policy = policies::in_force(act.view()).await?;
    let job = act
        .tx
        .insert_job(Job {
            id: JobId(0),
            tag: act.next_tag("J").await?,
            piece: new.piece,
            feature: new.feature,
            method: new.method,
            target: new.target,
            target_unit: new.target_unit,
            reason: new.reason,
            due_at: new.due_at,
            state: JobState::Queued,
            worker: String::new(),
            lease_until_at: None,
            fencing_token: 0,
            attempt: 0,
            outcome: None,
            scrap_reason: None,
            rework_of: new.rework_of,
            created_at: act.now,
            revision: 1,
            current: Some(current),
            finish_size: sizes.or(new.target).map(|limits| limits.upper),
            rebuild: new.rebuild,
            value_minor: new.value_minor,
            policy_version: new.policy_version,
            plan_rank: None,
            force_at: force_at(&policy, act.now, new.due_at, &left),
        })
        .await?;
    act.tx.insert_operations(job.id, &new.route).await?;
    Ok(job)
}

fn later(planned: &Operation) -> LaterOperation {
    let Operation { kind, site, minutes, .. } = *planned;
    LaterOperation { kind, site, vendor: planned.vendor.clone(), minutes }
}
