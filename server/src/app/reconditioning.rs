//! The reconditioning queue: jobs claimed under a lease with a fencing token, finished by
//! re-measuring.

use super::act::{Act, View};
use super::error::Error;
use super::judging::{Judging, Manner, decide, effective_feature, proposed};
use super::lookup::feature_of;
use super::measuring::{NewReadings, Taken, Taking};
use super::stock::{check_not_held, check_not_removed_bearing, check_step, relocate, write_off};
use super::views::{AssessmentView, JobView};
use std::collections::HashMap;
use tenths_domain::disposition::Disposition;
use tenths_domain::ids::JobId;
use tenths_domain::item::{FeatureKind, Limits, Side};
use tenths_domain::state::{
    BuiltUp, JobOutcome, JobState, Method, PieceCondition, PieceState, ScrapReason,
};
use tenths_domain::units::{Length, Unit};
use tenths_storage::{Item, ItemFeature, Job, NewAssessment, Page, Piece, PieceSize};

/// Puts a piece into the queue.
#[derive(Clone, Debug)]
pub struct EnqueueJob {
    /// The piece.
    pub piece_tag: String,
    /// The feature to be reconditioned.
    pub feature: String,
    /// How.
    pub method: Method,
    /// The finished size, if other than the item's limits.
    pub target: Option<Limits>,
    /// The unit that the target was written in.
    pub target_unit: Unit,
    /// Why; empty takes the reason of the latest assessment.
    pub reason: String,
    /// When it is due, in Unix microseconds.
    pub due_at: Option<i64>,
    /// The rack that it waits on.
    pub location_code: Option<String>,
}

/// Claims a job.
#[derive(Clone, Debug)]
pub struct ClaimJob {
    /// The job; none claims the next one.
    pub tag: Option<String>,
    /// How long the lease lasts, in microseconds.
    pub lease: i64,
}

/// An act on a claim.
#[derive(Clone, Debug)]
pub struct OnClaim {
    /// The job.
    pub tag: String,
    /// The token of the claim.
    pub fencing_token: i64,
}

/// Extends a lease.
#[derive(Clone, Debug)]
pub struct RenewClaim {
    /// The claim.
    pub claim: OnClaim,
    /// How long from now, in microseconds.
    pub lease: i64,
}

/// Finishes a job by re-measuring.
#[derive(Clone, Debug)]
pub struct FinishJob {
    /// The claim.
    pub claim: OnClaim,
    /// The readings after the work.
    pub readings: NewReadings,
    /// Why suspicious readings are right all the same.
    pub override_reason: String,
    /// Where the piece goes if it goes into stock.
    pub location_code: Option<String>,
}

/// Ends a job by scrapping its piece.
#[derive(Clone, Debug)]
pub struct ScrapJob {
    /// The claim.
    pub claim: OnClaim,
    /// The reason code.
    pub reason: ScrapReason,
    /// A note, or empty.
    pub note: String,
}

/// How a job was finished.
#[derive(Clone, Debug)]
pub struct FinishedJob {
    /// The job, ended.
    pub job: JobView,
    /// What the re-measurement says.
    pub assessment: AssessmentView,
    /// The job that follows, if it is rework.
    pub rework: Option<JobView>,
    /// Why the piece was not put into stock, if a person has to decide.
    pub notes: Vec<String>,
}

/// Puts a piece into the queue; answers also with cautions for the work.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Invalid`] for a method or target that the trade does not allow;
/// [`Error::Forbidden`] if the piece is held, gone, or in the queue already.
pub async fn enqueue_job(
    act: &Act<'_>,
    order: &EnqueueJob,
) -> Result<(JobView, Vec<String>), Error> {
    let view = act.view();
    let mut piece = view.find_piece(&order.piece_tag).await?;
    if let Some(job) = act.tx.open_job_of(piece.id).await? {
        let description = format!("piece {} is in job {} already", piece.tag, job.tag);
        return Err(Error::forbidden("OPEN_JOB", piece.tag, description));
    }
    check_step(&piece, PieceState::Reconditioning, "queued for reconditioning")?;
    check_not_held(act, &piece).await?;
    let item = view.item_of(&piece).await?;
    check_not_removed_bearing(&piece, &item)?;
    let feature = feature_of(&item, &order.feature)?;
    let size = act.tx.piece_size(piece.id, feature.id).await?;
    check_method(feature, order)?;
    check_target(&piece, feature, &size, order)?;
    let proposal = proposed(view, &piece, &item).await?;
    let reason = match order.reason.as_str() {
        "" if proposal.why.is_empty() => {
            return Err(Error::invalid(
                "reason",
                "nothing assessed says that this piece needs work: assess it, or give a reason",
            ));
        }
        "" => {
            own_reason(act, &piece, feature, &size).await?.unwrap_or_else(|| proposal.why.clone())
        }
        given => given.to_owned(),
    };
    decide(act, &piece, proposal.disposition, Disposition::Recondition, &reason).await?;
    if let Some(to) = view.location_or(order.location_code.as_deref(), None).await? {
        relocate(act, &mut piece, to).await?;
    }
    piece.state = PieceState::Reconditioning;
    act.tx.save_piece(&mut piece).await?;
    let job = act
        .tx
        .insert_job(Job {
            id: JobId(0),
            tag: act.next_tag("J").await?,
            piece: piece.id,
            feature: feature.id,
            method: order.method,
            target: order.target,
            target_unit: order.target_unit,
            reason,
            due_at: order.due_at,
            state: JobState::Queued,
            worker: String::new(),
            lease_until_at: None,
            fencing_token: 0,
            attempt: 0,
            outcome: None,
            scrap_reason: None,
            rework_of: None,
            created_at: act.now,
            revision: 1,
        })
        .await?;
    Ok((view.job(job).await?, cautions(order.method)))
}

/// What the latest assessment of the feature itself says against it.
async fn own_reason(
    act: &Act<'_>,
    piece: &Piece,
    feature: &ItemFeature,
    size: &PieceSize,
) -> Result<Option<String>, Error> {
    let rounds = HashMap::from([(feature.id, size.round)]);
    let latest = act.tx.latest_assessments(piece.id, &rounds).await?;
    let own = latest.into_iter().find(|one| one.record.feature == feature.id);
    let against = own.filter(|one| one.record.disposition != Disposition::Reuse);
    Ok(against.and_then(|one| one.record.reasons.into_iter().next()))
}

/// The rules of the trade for how a feature may be worked on.
fn check_method(feature: &ItemFeature, order: &EnqueueJob) -> Result<(), Error> {
    let kind = feature.feature.kind;
    let problem = match (order.method, kind, kind.side()) {
        (Method::Regrind, FeatureKind::RollingSeat, _) => {
            "a rolling-bearing seat is never ground undersize: bearings come in fixed bores; \
             allowed: build_up, sleeve, polish, straighten"
        }
        (Method::Regrind, _, Side::Internal) => {
            "a bore is not ground undersize; allowed: hone, sleeve, build_up"
        }
        (Method::Hone, _, Side::External) => {
            "only a bore is honed; allowed here: polish, regrind, build_up, sleeve, straighten"
        }
        (Method::Regrind, ..) if order.target.is_none() => {
            "a regrind needs a finished size: give target_lower and target_upper"
        }
        _ => return Ok(()),
    };
    Err(Error::invalid("method", problem))
}

/// A target must be something that the work can reach and that the owner wants to reach.
fn check_target(
    piece: &Piece,
    feature: &ItemFeature,
    size: &PieceSize,
    order: &EnqueueJob,
) -> Result<(), Error> {
    let Some(target) = order.target else { return Ok(()) };
    let shown = |length: Length| length.display_in(order.target_unit);
    let named = format!("{} {}", piece.tag, feature.feature.name);
    if let (Method::Regrind | Method::Polish, Side::External, Some(smallest)) =
        (order.method, feature.feature.kind.side(), size.min)
        && target.upper > smallest
    {
        let description = format!(
            "{named} reads {} at its smallest: it does not clean up at {}; \
             the largest finished size must be at most the smallest reading",
            shown(smallest),
            shown(target.upper)
        );
        return Err(Error::forbidden("WILL_NOT_CLEAN_UP", piece.tag.clone(), description));
    }
    if let Some(limit) = feature.feature.recondition_limit {
        let past = match feature.feature.kind.side() {
            Side::External => target.lower < limit,
            Side::Internal => target.upper > limit,
        };
        if past {
            let description = format!(
                "{named} is not reconditioned past {}: {}..{} goes past it",
                shown(limit),
                shown(target.lower),
                shown(target.upper)
            );
            return Err(Error::forbidden("PAST_RECONDITION_LIMIT", piece.tag.clone(), description));
        }
    }
    Ok(())
}

/// The usual cautions, at the place where the work is ordered.
fn cautions(method: Method) -> Vec<String> {
    let special = match method {
        Method::Regrind | Method::Polish | Method::Hone => {
            "grinding and polishing: eye protection, guards in place, no gloves near rotation; \
             a shaft may bow as its stresses go: check run-out again, and have cracks looked for by \
             somebody qualified"
        }
        Method::BuildUp => {
            "plating, spraying and welding belong to a licensed vendor or a ventilated shop with its \
             rules on chromium and acids; hard steel is baked after plating, or it can crack later; \
             thickness is said per side or on diameter, never just as a number"
        }
        Method::Sleeve | Method::Straighten => {
            "press and shrink work: stand clear of the line of force, guard, square support; heat \
             with gloves and without open flame"
        }
    };
    vec![
        special.to_owned(),
        "this rests on the numbers entered; the maker's data, local rules and qualified people govern"
            .to_owned(),
    ]
}

/// Reads one job.
///
/// # Errors
/// [`Error::NotFound`].
pub async fn get_job(view: View<'_>, tag: &str) -> Result<JobView, Error> {
    let job = view.find_job(tag).await?;
    view.job(job).await
}

/// Lists jobs in order of queueing.
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
    view.jobs(jobs).await
}

/// Claims a job under a lease; answers with the fencing token too.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Forbidden`] if another claim is live, it has ended, or nothing
/// waits.
pub async fn claim_job(act: &Act<'_>, order: &ClaimJob) -> Result<(JobView, i64), Error> {
    let view = act.view();
    let mut job = match &order.tag {
        Some(tag) => view.find_job(tag).await?,
        None => match act.tx.next_waiting_job(act.now).await? {
            Some(job) => job,
            None => {
                return Err(Error::forbidden(
                    "NOTHING_WAITS",
                    "queue",
                    "no job waits in the queue",
                ));
            }
        },
    };
    if job.state == JobState::Done {
        return Err(ended(&job));
    }
    if job.is_claimed_at(act.now) {
        let until = super::holds::shown_time(job.lease_until_at.unwrap_or_default());
        let description = format!("job {} is claimed by {} until {until}", job.tag, job.worker);
        return Err(Error::forbidden("CLAIMED", job.tag, description));
    }
    job.state = JobState::Claimed;
    act.person.clone_into(&mut job.worker);
    job.lease_until_at = Some(act.now.saturating_add(order.lease));
    job.fencing_token += 1;
    job.attempt += 1;
    act.tx.save_job(&mut job).await?;
    let token = job.fencing_token;
    Ok((view.job(job).await?, token))
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
    if job.is_claimed_at(act.now) && job.fencing_token == claim.fencing_token {
        return Ok(job);
    }
    let description = format!(
        "token {} is not the live claim of job {}: its lease ended or another worker claimed it; \
         claim it again",
        claim.fencing_token, job.tag
    );
    Err(Error::forbidden("STALE_CLAIM", job.tag, description))
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

/// Gives a live claim back.
///
/// # Errors
/// As [`renew_claim`].
pub async fn release_claim(act: &Act<'_>, order: &OnClaim) -> Result<JobView, Error> {
    let mut job = claimed(act, order).await?;
    job.state = JobState::Queued;
    job.worker.clear();
    job.lease_until_at = None;
    act.tx.save_job(&mut job).await?;
    act.view().job(job).await
}

/// Finishes a job by re-measuring its feature in a new round: into stock, rework as a new job, or
/// back to inspection for decision.
///
/// # Errors
/// As [`renew_claim`]; as recording readings; [`Error::Invalid`] for readings of another feature.
pub async fn finish_job(act: &Act<'_>, order: &FinishJob) -> Result<FinishedJob, Error> {
    let view = act.view();
    let mut job = claimed(act, &order.claim).await?;
    let mut piece = piece_of(act, &job).await?;
    let item = view.item_of(&piece).await?;
    let feature = own_feature(&item, &job, &order.readings.feature)?;
    let assessment = remeasure(act, &job, &mut piece, &item, feature, order).await?;
    let proposal = proposed(view, &piece, &item).await?;
    let outcome = match assessment.record.disposition {
        Disposition::Reuse if proposal.allows_reuse => JobOutcome::ToStock,
        Disposition::Recondition if can_rework(&job, feature, &assessment.record) => {
            JobOutcome::Rework
        }
        _ => JobOutcome::ForDecision,
    };
    let mut notes = Vec::new();
    if outcome == JobOutcome::ForDecision {
        notes.push(format!("not put into stock: {}", proposal.why));
    }
    if outcome == JobOutcome::ToStock {
        piece.condition = PieceCondition::Reconditioned;
        decide(
            act,
            &piece,
            Some(Disposition::Reuse),
            Disposition::Reuse,
            &format!("job {}", job.tag),
        )
        .await?;
        if let Some(to) = view.location_or(order.location_code.as_deref(), None).await? {
            relocate(act, &mut piece, to).await?;
        }
    }
    piece.state = match outcome {
        JobOutcome::ToStock => PieceState::InStock,
        JobOutcome::Rework => PieceState::Reconditioning,
        JobOutcome::ForDecision | JobOutcome::Scrapped => PieceState::Inspection,
    };
    act.tx.save_piece(&mut piece).await?;
    end(act, &mut job, outcome).await?;
    let rework = match outcome {
        JobOutcome::Rework => Some(rework(act, &job, &assessment.record.reasons).await?),
        _ => None,
    };
    let name = job.tag.clone();
    let assessment = view.assessments(vec![assessment]).await?.pop();
    Ok(FinishedJob {
        job: view.job(job).await?,
        notes,
        assessment: assessment.ok_or(Error::NotFound { kind: "assessment of job", name })?,
        rework: match rework {
            Some(job) => Some(view.job(job).await?),
            None => None,
        },
    })
}

async fn piece_of(act: &Act<'_>, job: &Job) -> Result<Piece, Error> {
    let found = act.tx.pieces_by_ids([job.piece]).await?.remove(&job.piece);
    found.ok_or_else(|| Error::NotFound { kind: "piece of job", name: job.tag.clone() })
}

fn own_feature<'i>(item: &'i Item, job: &Job, named: &str) -> Result<&'i ItemFeature, Error> {
    let own = item.feature_by_id(job.feature);
    let own =
        own.ok_or_else(|| Error::NotFound { kind: "feature of job", name: job.tag.clone() })?;
    if !named.is_empty() && own.feature.name != named {
        let problem = format!(
            "job {} is for {}, not {named}; leave it empty or name that",
            job.tag, own.feature.name
        );
        return Err(Error::invalid("readings.feature", problem));
    }
    Ok(own)
}

/// Starts a new round, records the readings in it, and judges the feature by its finished size.
async fn remeasure(
    act: &Act<'_>,
    job: &Job,
    piece: &mut Piece,
    item: &Item,
    feature: &ItemFeature,
    order: &FinishJob,
) -> Result<tenths_storage::Assessment, Error> {
    let built_up = matches!(job.method, Method::BuildUp | Method::Sleeve);
    let mut size = act.tx.piece_size(piece.id, feature.id).await?;
    size.round += 1;
    if job.target.is_some() || built_up {
        // Built back to the item's own limits, unless another size was asked for.
        size.target = job.target;
    }
    if built_up {
        piece.built_up = BuiltUp::Yes;
    }
    let taking = Taking { piece, item, feature, built_up_since: built_up };
    let Taken { readings, .. } =
        taking.record(act, size.clone(), &order.readings, &order.override_reason).await?;
    let judged = effective_feature(&feature.feature, &size);
    let judging = Judging { piece, feature: feature.id, judged: &judged, readings: &readings };
    Ok(judging.record(act, size.round, &Manner::default()).await?.0)
}

/// Whether the same work can still reach the size: what was ground or honed away too far does not
/// come back by grinding or honing.
fn can_rework(job: &Job, feature: &ItemFeature, record: &NewAssessment) -> bool {
    let removes = matches!(job.method, Method::Regrind | Method::Polish | Method::Hone);
    match (feature.feature.kind.side(), record.limit_lower, record.limit_upper) {
        _ if !removes => true,
        (Side::External, Some(lower), _) => record.min >= lower,
        (Side::Internal, _, Some(upper)) => record.max <= upper,
        _ => true,
    }
}

async fn end(act: &Act<'_>, job: &mut Job, outcome: JobOutcome) -> Result<(), Error> {
    job.state = JobState::Done;
    job.outcome = Some(outcome);
    job.lease_until_at = None;
    Ok(act.tx.save_job(job).await?)
}

/// Rework is a job of its own: an ended job is never reopened.
async fn rework(act: &Act<'_>, job: &Job, reasons: &[String]) -> Result<Job, Error> {
    let next = Job {
        id: JobId(0),
        tag: act.next_tag("J").await?,
        reason: format!("rework of {}: {}", job.tag, reasons.first().map_or("", String::as_str)),
        state: JobState::Queued,
        worker: String::new(),
        lease_until_at: None,
        fencing_token: 0,
        attempt: 0,
        outcome: None,
        scrap_reason: None,
        rework_of: Some(job.id),
        created_at: act.now,
        revision: 1,
        ..job.clone()
    };
    Ok(act.tx.insert_job(next).await?)
}

/// Ends a job by scrapping its piece.
///
/// # Errors
/// As [`renew_claim`].
pub async fn scrap_job(act: &Act<'_>, order: &ScrapJob) -> Result<JobView, Error> {
    let view = act.view();
    let mut job = claimed(act, &order.claim).await?;
    let mut piece = piece_of(act, &job).await?;
    check_step(&piece, PieceState::Scrapped, "scrapped")?;
    let item = view.item_of(&piece).await?;
    let proposal = proposed(view, &piece, &item).await?;
    let reason = [order.reason.as_str(), order.note.as_str()].join(" ").trim().to_owned();
    decide(act, &piece, proposal.disposition, Disposition::Scrap, &reason).await?;
    job.scrap_reason = Some(order.reason);
    end(act, &mut job, JobOutcome::Scrapped).await?;
    write_off(act, &mut piece, &reason).await?;
    view.job(job).await
}
