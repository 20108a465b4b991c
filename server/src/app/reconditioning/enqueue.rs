//! Putting a piece into the queue: what the trade allows, and what to mind.

use super::target::{check_removal, check_target, lean_clean_up};
use super::{NewJob, bring_into_work, check_due, check_workable, start_job, waiting_rebuild};
use crate::app::act::Act;
use crate::app::error::Error;
use crate::app::judging::proposed;
use crate::app::lookup::feature_of;
use crate::app::policies;
use crate::app::views::JobView;
use std::collections::HashMap;
use tenths_domain::disposition::Disposition;
use tenths_domain::item::{FeatureKind, Limits, Side};
use tenths_domain::route::{Operation, furthest, sent_out, single};
use tenths_domain::state::Method;
use tenths_domain::units::Unit;
use tenths_storage::{ItemFeature, Piece, PieceSize};

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
    /// Whether a vendor does the work.
    pub at_vendor: bool,
    /// The rebuild that waits for the piece.
    pub rebuild_tag: Option<String>,
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
    check_due(act, "due_time", order.due_at)?;
    let mut piece = view.find_piece(&order.piece_tag).await?;
    let item = view.item_of(&piece).await?;
    check_workable(act, &piece, &item, "queued for reconditioning").await?;
    let feature = feature_of(&item, &order.feature)?;
    let size = act.tx.piece_size(piece.id, feature.id).await?;
    check_method(feature, order)?;
    check_target(&piece, feature, &size, order)?;
    let policy = policies::in_force(view).await?;
    check_removal(&piece, feature, &policy, order)?;
    let proposal = proposed(view, &piece, &item).await?;
    let reason = match order.reason.as_str() {
        "" => own_reason(act, &piece, feature, &size).await?.ok_or_else(|| {
            let problem = format!(
                "nothing assessed says that {} of {} needs work: assess it, or give a reason",
                feature.feature.name, piece.tag
            );
            Error::invalid("reason", problem)
        })?,
        given => given.to_owned(),
    };
    let place = order.location_code.as_deref();
    bring_into_work(act, &mut piece, proposal.disposition, &reason, place).await?;
    let rebuild = waiting_rebuild(act, order.rebuild_tag.as_deref()).await?;
    let kind = feature.feature.kind;
    // What is built up goes back to its own size where no other is asked for.
    let own = feature.feature.known_limits();
    let to = order.target.or(own.filter(|_| order.method.adds_metal()));
    let route = match order.at_vendor {
        true => sent_out(order.method, kind, to),
        false => vec![single(order.method, kind, to)],
    };
    let route = route.into_iter().map(|one| with_amounts(one, feature, &size)).collect();
    let new = NewJob {
        piece: piece.id,
        feature: feature.id,
        method: order.method,
        target: order.target,
        target_unit: order.target_unit,
        reason,
        // What a rebuild waits for is due when the rebuild is.
        due_at: order.due_at.or(rebuild.as_ref().and_then(|rebuild| rebuild.due_at)),
        rework_of: None,
        rebuild: rebuild.map(|rebuild| rebuild.id),
        value_minor: None,
        policy_version: None,
        route,
    };
    let job = start_job(act, new).await?;
    let mut cautions = cautions(order.method);
    cautions.extend(lean_clean_up(&size, &policy, order));
    Ok((view.job(job).await?, cautions))
}

/// The operation with what it takes off or puts on at most, where the place was read.
fn with_amounts(operation: Operation, feature: &ItemFeature, size: &PieceSize) -> Operation {
    let (Some(lower), Some(upper), Some(to)) = (size.min, size.max, operation.to) else {
        return operation;
    };
    let (from, change) = furthest(Limits { lower, upper }, to);
    let is_round = feature.feature.kind != FeatureKind::Keyseat;
    let change = Some(change).filter(|_| is_round);
    Operation { from: Some(from), change, ..operation }
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
        (Method::Regrind | Method::Hone | Method::Polish, FeatureKind::Keyseat, _) => {
            "a keyseat is not ground; allowed: fit_key, cut_keyseat, build_up"
        }
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
        (Method::FitKey | Method::CutKeyseat, other, _) if other != FeatureKind::Keyseat => {
            "only a keyseat is fitted with a key or cut wider"
        }
        (Method::Straighten, ..) if order.target.is_some() => {
            "straightening changes no size: leave target_lower and target_upper out"
        }
        (Method::CutKeyseat, ..) if order.target.is_none() => {
            "a keyseat is cut to a width: give target_lower and target_upper"
        }
        (Method::Regrind, ..) if order.target.is_none() => {
            "a regrind needs a finished size: give target_lower and target_upper"
        }
        _ => return Ok(()),
    };
    Err(Error::invalid("method", problem))
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
        Method::FitKey | Method::CutKeyseat => {
            "keys: never a loose key in a keyseat when the shaft turns, no gloves near rotation; a \
             wider keyseat weakens the shaft, check its strength"
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
