//! How a job ends: by re-measuring, or by scrapping its piece.

use super::end::end;
use super::rejected::{Work, rejected};
use super::rework::{rework, still_to_cut};
use super::straight::run_out;
use super::{OnClaim, claimed, current, piece_of};
use crate::app::act::Act;
use crate::app::error::Error;
use crate::app::judging::{Judging, Manner, decide, effective_feature, proposed, standing};
use crate::app::measuring::{NewReadings, Taken, Taking};
use crate::app::policies;
use crate::app::repairs::best_in_words;
use crate::app::stock::{check_step, relocate, write_off};
use crate::app::views::{AssessmentView, JobView};
use tenths_domain::disposition::Disposition;
use tenths_domain::state::{
    BuiltUp, JobOutcome, Method, OperationState, PieceCondition, PieceState, RejectReason,
    ScrapReason,
};
use tenths_domain::units::Length;
use tenths_storage::{Assessment, Item, ItemFeature, Job, JobOperation, Piece};

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
    /// The run-out between centres after the work; of a shaft that was straightened it must be given.
    pub run_out_tir: Option<Length>,
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

/// Finishes a job by re-measuring its feature in a new round: into stock, rework as a new job, or
/// back to inspection for decision.
///
/// # Errors
/// As [`super::renew_claim`]; as recording readings; [`Error::Invalid`] for readings of another feature.
pub async fn finish_job(act: &Act<'_>, order: &FinishJob) -> Result<FinishedJob, Error> {
    let view = act.view();
    let mut job = claimed(act, &order.claim).await?;
    let mut piece = piece_of(act, &job).await?;
    let item = view.item_of(&piece).await?;
    let feature = own_feature(&item, &job, &order.readings.feature)?;
    let mut route = act.tx.operations_of([job.id]).await?;
    check_last(&job, &route)?;
    let run_out = run_out(&job, &mut route, &policies::in_force(view).await?, order)?;
    let assessment = remeasure(act, &job, &mut piece, &item, feature, order).await?;
    check_measured(&job, feature, &assessment)?;
    let proposal = proposed(view, &piece, &item).await?;
    let hidden = rejected(view, &piece, Some(Work::of(&job, &route))).await?;
    let held_back = run_out.still_bent.clone().or(hidden.map(|found| found.words));
    let outcome = match assessment.record.disposition {
        _ if held_back.is_some() => JobOutcome::ForDecision,
        Disposition::Reuse if proposal.allows_reuse => JobOutcome::ToStock,
        Disposition::Recondition if can_rework(&job, feature, &assessment) => JobOutcome::Rework,
        _ => JobOutcome::ForDecision,
    };
    let mut notes = Vec::new();
    if outcome == JobOutcome::ForDecision {
        let why = held_back.as_ref().unwrap_or(&proposal.why);
        notes.push(format!("not put into stock: {why}"));
        notes.extend(what_is_left(act, &piece, feature, &assessment).await?);
    }
    settle_piece(act, &mut piece, &job, outcome, order.location_code.as_deref()).await?;
    // The work is good if its own feature is; another one may still keep the piece out of stock.
    let passed = match assessment.record.disposition {
        Disposition::Reuse => Some(true),
        Disposition::Recondition | Disposition::Scrap => Some(false),
        Disposition::HoldForDecision => None,
    };
    settle_route(act, &job, &mut route, passed, &run_out.said);
    end(act, &mut job, &mut route, outcome).await?;
    let rework = match outcome {
        JobOutcome::Rework => Some(rework(act, &job, feature, &assessment.record, route).await?),
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

/// Refuses to finish a job before its last operation.
fn check_last(job: &Job, route: &[JobOperation]) -> Result<(), Error> {
    let at = current(job)?.position;
    match route.iter().find(|operation| operation.position == at) {
        Some(here) if at < i64::try_from(route.len()).unwrap_or(i64::MAX) => {
            let description = format!(
                "job {} is at operation {at} of {} ({}): finish that operation; the job is \
                 finished by re-measuring at its last",
                job.tag,
                route.len(),
                here.kind
            );
            Err(Error::forbidden("OPERATIONS_LEFT", job.tag.clone(), description))
        }
        _ => Ok(()),
    }
}

/// What is left for a place that the work did not bring to size, such as the next step.
async fn what_is_left(
    act: &Act<'_>,
    piece: &Piece,
    feature: &ItemFeature,
    found: &Assessment,
) -> Result<Option<String>, Error> {
    if found.record.disposition == Disposition::Reuse {
        return Ok(None);
    }
    let name = &feature.feature.name;
    Ok(Some(match best_in_words(act.view(), &piece.tag, name).await? {
        Some(best) => format!("what is left for {name}: {best}; see recon propose, and decide"),
        None => {
            format!("nothing is left for {name} but another part; see recon propose, and decide")
        }
    }))
}

/// Readings that a limit needs and that are missing do not end a job: they are taken.
fn check_measured(job: &Job, feature: &ItemFeature, found: &Assessment) -> Result<(), Error> {
    let (feature, record) = (&feature.feature, &found.record);
    let lacks = [
        (
            feature.out_of_round_limit.is_some() && record.out_of_round.is_none(),
            "out-of-round: read a station in two orientations, 90 degrees apart",
        ),
        (
            feature.taper_limit.is_some() && record.taper.is_none(),
            "taper: read two stations in one orientation",
        ),
    ];
    let is_open = record.disposition == Disposition::HoldForDecision;
    match lacks.iter().find(|(lacks, _)| is_open && *lacks) {
        Some((_, what)) => {
            let problem =
                format!("{} has a limit of {what}; job {} goes on", feature.name, job.tag);
            Err(Error::invalid("readings", problem))
        }
        None => Ok(()),
    }
}

/// Brings the piece to where the outcome says, and saves it.
async fn settle_piece(
    act: &Act<'_>,
    piece: &mut Piece,
    job: &Job,
    outcome: JobOutcome,
    location_code: Option<&str>,
) -> Result<(), Error> {
    if outcome == JobOutcome::ToStock {
        piece.condition = PieceCondition::Reconditioned;
        let reason = format!("job {}", job.tag);
        decide(act, piece, Some(Disposition::Reuse), Disposition::Reuse, &reason).await?;
        if let Some(to) = act.view().place_if_given(location_code).await? {
            relocate(act, piece, to).await?;
        }
    }
    piece.state = match outcome {
        JobOutcome::ToStock => PieceState::InStock,
        JobOutcome::Rework => PieceState::Reconditioning,
        JobOutcome::ForDecision | JobOutcome::Scrapped => PieceState::Inspection,
    };
    Ok(act.tx.save_piece(piece).await?)
}

/// The re-measurement is done. It judges the work before it: where the size is not good the operation
/// that made it failed, and a vendor's work that no inspection of its own judged passed or failed
/// with it. Where it does not say, nothing is known.
fn settle_route(
    act: &Act<'_>,
    job: &Job,
    route: &mut [JobOperation],
    passed: Option<bool>,
    note: &str,
) {
    let at = job.current.as_ref().map_or(0, |current| current.position);
    for operation in route.iter_mut().filter(|operation| operation.position == at) {
        if operation.state == OperationState::Rejected {
            super::operate::stop_clock(operation, act.now);
            operation.finished_at = Some(act.now);
        } else {
            super::operate::done(operation, act, None);
            note.clone_into(&mut operation.note);
        }
        act.person.clone_into(&mut operation.worker);
    }
    let is_work = |one: &JobOperation| one.state == OperationState::Done && !one.kind.judges();
    for operation in route.iter_mut().filter(|one| is_work(one)) {
        operation.passed = operation.passed.or(passed);
    }
    let sized = route.iter().rposition(|one| is_work(one) && one.to.is_some());
    let made = sized.or_else(|| route.iter().rposition(is_work));
    if let (Some(made), Some(false)) = (made, passed) {
        route[made].passed = Some(false);
    }
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

/// Whether the same work can still reach the size: what was ground or honed away too far does not
/// come back by grinding or honing.
fn can_rework(job: &Job, feature: &ItemFeature, assessment: &Assessment) -> bool {
    match job.method {
        Method::Regrind | Method::Polish | Method::Hone | Method::CutKeyseat => {
            still_to_cut(feature, &assessment.record)
        }
        // They change no size.
        Method::Straighten | Method::FitKey => false,
        Method::BuildUp | Method::Sleeve => true,
    }
}

/// Starts a new round, records the readings in it, and judges the feature by its finished size.
async fn remeasure(
    act: &Act<'_>,
    job: &Job,
    piece: &mut Piece,
    item: &Item,
    feature: &ItemFeature,
    order: &FinishJob,
) -> Result<Assessment, Error> {
    let built_up = job.method.adds_metal();
    let mut size = act.tx.piece_size(piece.id, feature.id).await?;
    // Straightening changes no size: what was read before stands beside what is read now, and a wear
    // limit goes on governing.
    if job.method != Method::Straighten {
        size.round += 1;
    }
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
    let readings = match job.method {
        Method::Straighten => standing(act.tx.readings_of(piece.id, feature.id).await?, size.round),
        _ => readings,
    };
    let judged = effective_feature(&feature.feature, &size);
    let is_reground = size.target.is_some();
    let judging =
        Judging { piece, feature: feature.id, judged: &judged, is_reground, readings: &readings };
    Ok(judging.record(act, size.round, &Manner::default()).await?.0)
}

/// Ends a job by scrapping its piece.
///
/// # Errors
/// As [`super::renew_claim`].
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
    let mut route = act.tx.operations_of([job.id]).await?;
    blame(act, &job, &mut route, order.reason);
    end(act, &mut job, &mut route, JobOutcome::Scrapped).await?;
    write_off(act, &mut piece, &reason).await?;
    view.job(job).await
}

/// The operation at which a piece turned out bad is a rejected one, where the reason is one for
/// rejecting; no other operation is.
fn blame(act: &Act<'_>, job: &Job, route: &mut [JobOperation], reason: ScrapReason) {
    let at = job.current.as_ref().map_or(0, |current| current.position);
    let here = route.iter_mut().find(|operation| operation.position == at);
    if let (Some(operation), Ok(reason)) = (here, reason.as_str().parse::<RejectReason>()) {
        super::operate::reject(operation, act, reason, "scrapped");
    }
}
