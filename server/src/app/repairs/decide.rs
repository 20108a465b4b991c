//! The owner's decision for one option: carried out, and written down beside what was proposed.

use super::propose::answer;
use super::recorded::DecisionView;
use super::worn::{AskedRepairs, Worn, look};
use crate::app::act::Act;
use crate::app::error::{Error, Obstacle, check_etag};
use crate::app::judging::{decide, proposed};
use crate::app::policies;
use crate::app::reconditioning::{
    NewJob, bring_into_work, check_due, check_workable, rejected, start_job, waiting_rebuild,
};
use crate::app::stock::{check_step, relocate, write_off};
use crate::app::views::{JobView, PieceView};
use tenths_domain::disposition::Disposition;
use tenths_domain::item::{Limits, Side};
use tenths_domain::options::{Answer, Repair, RepairOption};
use tenths_domain::policy::BuildMethod;
use tenths_domain::state::{Method, PieceState, ScrapReason};
use tenths_storage::{Job, Piece, RepairDecision};

/// Decides for one option.
#[derive(Clone, Debug)]
pub struct DecideRepair {
    /// The worn feature, as it was proposed on.
    pub asked: AskedRepairs,
    /// The piece's version as proposed on, if that matters.
    pub etag: Option<i64>,
    /// The policy's version as proposed on, if that matters.
    pub policy_etag: Option<i64>,
    /// The option, by its name.
    pub repair: String,
    /// Why, or empty.
    pub reason: String,
    /// The reason code of scrapping or replacing.
    pub scrap_reason: Option<ScrapReason>,
    /// When a job is due, in Unix microseconds.
    pub due_at: Option<i64>,
    /// Where the piece goes.
    pub location_code: Option<String>,
    /// The rebuild that waits for the piece.
    pub rebuild_tag: Option<String>,
    /// What was known beside the readings, as it was sent.
    pub details_sent: Vec<u8>,
}

/// What came of a decision.
#[derive(Clone, Debug)]
pub struct Decided {
    /// The decision as recorded.
    pub decision: DecisionView,
    /// The job that it opened.
    pub job: Option<JobView>,
    /// The piece as it stands now.
    pub piece: PieceView,
    /// What is worth knowing.
    pub notes: Vec<String>,
    /// What to mind at the work.
    pub cautions: Vec<String>,
}

/// Carries out one option for a worn feature and records it beside what was proposed.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Stale`] if piece or policy was changed since; [`Error::Invalid`] for
/// a name that is no option, or a reason that is missing; [`Error::Forbidden`] if the option is not
/// possible, or the piece is held, gone, or in the queue.
pub async fn decide_repair(act: &Act<'_>, order: &DecideRepair) -> Result<Decided, Error> {
    let view = act.view();
    check_due(act, "due_time", order.due_at)?;
    let policy = policies::in_force(view).await?;
    check_etag("policy", "in force", policy.version, order.policy_etag)?;
    let found = look(view, &order.asked, policy).await?;
    check_etag("piece", &found.piece.tag, found.piece.revision, order.etag)?;
    check_decidable(act, &found).await?;
    let answer = answer(&found, &|_| None)?;
    let option = chosen(&answer, order, &found.piece.tag)?;
    check_fields(option, order)?;
    let mut piece = found.piece.clone();
    let mut notes = found.notes.clone();
    let job = match option.repair {
        Repair::Reuse => {
            notes.extend(reuse(act, &found, &mut piece, order).await?);
            None
        }
        Repair::Replace | Repair::Scrap => {
            scrap(act, &found, &mut piece, &answer, order).await?;
            None
        }
        _ => Some(work(act, &found, &mut piece, option, order).await?),
    };
    let decision = record(act, &found, &answer, option, order, job.as_ref()).await?;
    Ok(Decided {
        decision: view.decision(decision).await?,
        cautions: cautions(option),
        job: match job {
            Some(job) => Some(view.job(job).await?),
            None => None,
        },
        piece: view.piece(piece).await?,
        notes,
    })
}

/// The rules for when a piece may be decided on at all.
async fn check_decidable(act: &Act<'_>, found: &Worn) -> Result<(), Error> {
    let piece = &found.piece;
    check_workable(act, piece, &found.item, "decided on").await?;
    match &found.doubted_gauge {
        None => Ok(()),
        Some(tag) => {
            let name = &found.feature.feature.name;
            let description = format!(
                "{} {name} was read with gauge {tag}, which was found wrong: measure it again with \
                 another before deciding",
                piece.tag
            );
            Err(Error::forbidden("GAUGE_STATE", piece.tag.clone(), description))
        }
    }
}

/// The option of this name, if it may be chosen so.
fn chosen<'a>(
    answer: &'a Answer,
    order: &DecideRepair,
    tag: &str,
) -> Result<&'a RepairOption, Error> {
    let found = answer.options.iter().find(|option| option.repair.key() == order.repair);
    let Some(option) = found else {
        let names: Vec<String> = answer.options.iter().map(|one| one.repair.key()).collect();
        let problem = format!("{:?} is no option; allowed: {}", order.repair, names.join(", "));
        return Err(Error::invalid("repair", problem));
    };
    if !option.is_feasible() {
        let blocks = option.blocks.iter().map(|block| {
            Obstacle::new("NOT_POSSIBLE", tag, format!("{}: {}", order.repair, block.text))
        });
        return Err(Error::Forbidden(blocks.collect()));
    }
    if option.rank != Some(1) && order.reason.is_empty() {
        let first = answer.best().map(|best| best.repair.key()).unwrap_or_default();
        let problem = format!(
            "it is empty; the first of the ranking is {first}: say why {} instead",
            order.repair
        );
        return Err(Error::invalid("reason", problem));
    }
    Ok(option)
}

/// What means nothing for the option is not taken and dropped: it may be what was meant.
fn check_fields(option: &RepairOption, order: &DecideRepair) -> Result<(), Error> {
    let is_gone = matches!(option.repair, Repair::Replace | Repair::Scrap);
    let is_job = !is_gone && option.repair != Repair::Reuse;
    for (field, is_given, is_meant, why) in [
        ("due_time", order.due_at.is_some(), is_job, "opens no job"),
        ("rebuild_tag", order.rebuild_tag.is_some(), is_job, "opens no job"),
        (
            "location_code",
            order.location_code.is_some(),
            !is_gone,
            "leaves no piece to be put there",
        ),
        ("scrap_reason", order.scrap_reason.is_some(), is_gone, "scraps nothing"),
    ] {
        if is_given && !is_meant {
            let problem = format!("{} {why}; leave it out", order.repair);
            return Err(Error::invalid(field, problem));
        }
    }
    Ok(())
}

/// Puts the piece into stock, unless something else of it stands in the way.
async fn reuse(
    act: &Act<'_>,
    found: &Worn,
    piece: &mut Piece,
    order: &DecideRepair,
) -> Result<Option<String>, Error> {
    let view = act.view();
    let proposal = proposed(view, piece, &found.item).await?;
    let own = &found.feature.feature.name;
    // What was never assessed rests on the proposal alone; what was assessed otherwise needs a reason.
    let is_against = proposal.disposition.is_some_and(|one| one != Disposition::Reuse)
        || rejected(view, piece, None).await?.is_some();
    let doubt = proposal.lacking.iter().find(|(feature, _)| feature == own);
    if let Some((_, why)) = doubt.filter(|_| is_against && order.reason.is_empty()) {
        let problem = format!("it is empty; {why}: say why it is reused all the same");
        return Err(Error::invalid("reason", problem));
    }
    let others: Vec<&str> = proposal
        .lacking
        .iter()
        .filter(|(feature, _)| feature != own)
        .map(|(_, why)| why.as_str())
        .collect();
    if let Some(to) = view.place_if_given(order.location_code.as_deref()).await? {
        relocate(act, piece, to).await?;
    }
    if others.is_empty() {
        let reason = order.reason.as_str();
        decide(act, piece, proposal.disposition, Disposition::Reuse, reason).await?;
        piece.state = PieceState::InStock;
    }
    act.tx.save_piece(piece).await?;
    let stays = format!("piece {} is not put into stock yet: {}", piece.tag, others.join("; "));
    Ok(Some(stays).filter(|_| !others.is_empty()))
}

async fn scrap(
    act: &Act<'_>,
    found: &Worn,
    piece: &mut Piece,
    answer: &Answer,
    order: &DecideRepair,
) -> Result<(), Error> {
    let why = answer.options.iter().find_map(|option| option.scrap_reason);
    let Some(code) = order.scrap_reason.or(why) else {
        let problem =
            "it is not given, and nothing in the proposal says why: the part could be kept";
        return Err(Error::invalid("scrap_reason", problem));
    };
    check_step(piece, PieceState::Scrapped, "scrapped")?;
    let proposal = proposed(act.view(), piece, &found.item).await?;
    let reason = [code.as_str(), order.reason.as_str()].join(" ").trim().to_owned();
    decide(act, piece, proposal.disposition, Disposition::Scrap, &reason).await?;
    write_off(act, piece, &reason).await
}

/// Opens a job with the option's route.
async fn work(
    act: &Act<'_>,
    found: &Worn,
    piece: &mut Piece,
    option: &RepairOption,
    order: &DecideRepair,
) -> Result<Job, Error> {
    let view = act.view();
    let (method, target) = method_and_target(found, option)?;
    let reason = match order.reason.as_str() {
        "" => option.repair.words(found.unit),
        given => given.to_owned(),
    };
    let proposal = proposed(view, piece, &found.item).await?;
    // What was found out of the piece goes with it: the bake after plating hangs on it.
    if let (Some(hardness), "") = (found.worn.hardness, piece.hardness.as_str()) {
        piece.hardness = hardness.to_string();
    }
    let place = order.location_code.as_deref();
    bring_into_work(act, piece, proposal.disposition, &reason, place).await?;
    let rebuild = waiting_rebuild(act, order.rebuild_tag.as_deref()).await?;
    let new = NewJob {
        piece: piece.id,
        feature: found.feature.id,
        method,
        target,
        target_unit: found.unit,
        reason,
        due_at: order.due_at.or(rebuild.as_ref().and_then(|rebuild| rebuild.due_at)),
        rework_of: None,
        rebuild: rebuild.map(|rebuild| rebuild.id),
        value_minor: None,
        policy_version: Some(found.policy.version),
        route: option.operations.clone(),
    };
    start_job(act, new).await
}

/// How a job does it, and the finished size where that is another than the item's own.
fn method_and_target(
    found: &Worn,
    option: &RepairOption,
) -> Result<(Method, Option<Limits>), Error> {
    let own = found.feature.feature.known_limits();
    let limits = option.target.and_then(|target| target.limits);
    let is_shaft = found.worn.side() == Side::External;
    let method = match option.repair {
        Repair::Regrind { .. } => Method::Regrind,
        Repair::FinishToLimits | Repair::Polish if is_shaft => Method::Polish,
        Repair::FinishToLimits | Repair::Polish => Method::Hone,
        Repair::BuildUp { method: BuildMethod::Sleeve } => Method::Sleeve,
        Repair::BuildUp { .. } => Method::BuildUp,
        Repair::Straighten => Method::Straighten,
        Repair::SteppedKey => Method::FitKey,
        Repair::NextKeyWidth => Method::CutKeyseat,
        Repair::Reuse | Repair::Replace | Repair::Scrap => {
            return Err(Error::invalid("repair", "it opens no job"));
        }
    };
    Ok((method, limits.filter(|limits| Some(*limits) != own)))
}

async fn record(
    act: &Act<'_>,
    found: &Worn,
    answer: &Answer,
    option: &RepairOption,
    order: &DecideRepair,
    job: Option<&Job>,
) -> Result<RepairDecision, Error> {
    let text = match option.target.and_then(|target| target.limits) {
        None => option.repair.words(found.unit),
        Some(limits) => {
            let words = option.repair.words(found.unit);
            let [lower, upper] = [limits.lower, limits.upper].map(|one| one.display_in(found.unit));
            format!("{words}: {lower} to {upper}")
        }
    };
    let decision = RepairDecision {
        id: 0,
        piece: found.piece.id,
        feature: found.feature.id,
        round: found.size.round,
        policy_version: found.policy.version,
        details: order.details_sent.clone(),
        proposed: answer.best().map(|best| best.repair.key()).unwrap_or_default(),
        chosen: option.repair.key(),
        text,
        reason: order.reason.clone(),
        person: act.person.to_owned(),
        created_at: act.now,
        job: job.map(|job| job.id),
    };
    Ok(act.tx.insert_repair_decision(decision).await?)
}

/// Every caution of the route once, in the order of the operations.
fn cautions(option: &RepairOption) -> Vec<String> {
    let mut told = Vec::new();
    for caution in option.operations.iter().flat_map(|operation| &operation.cautions) {
        if !told.contains(caution) {
            told.push(*caution);
        }
    }
    told.into_iter().map(|caution| caution.text().to_owned()).collect()
}
