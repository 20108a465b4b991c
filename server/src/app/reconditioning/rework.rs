//! Rework: the next job of a piece whose size is not good yet.

use super::{NewJob, start_job};
use crate::app::act::Act;
use crate::app::error::Error;
use tenths_domain::item::{FeatureKind, Limits, Side};
use tenths_domain::route::{Amount, Operation, furthest};
use tenths_domain::units::{Length, Unit};
use tenths_storage::{ItemFeature, Job, JobOperation, NewAssessment};

/// Whether metal is left to be cut off: it is not past the limit on the far side.
pub(super) fn still_to_cut(feature: &ItemFeature, record: &NewAssessment) -> bool {
    match (feature.feature.kind.side(), record.limit_lower, record.limit_upper) {
        (Side::External, Some(lower), _) => record.min >= lower,
        (Side::Internal, _, Some(upper)) => record.max <= upper,
        _ => true,
    }
}

/// Rework is a job of its own: an ended job is never reopened. Where metal is left it goes on from
/// the operation that makes the size, else all of the route is done again.
pub(super) async fn rework(
    act: &Act<'_>,
    job: &Job,
    feature: &ItemFeature,
    record: &NewAssessment,
    route: Vec<JobOperation>,
) -> Result<Job, Error> {
    let sized = route.iter().rposition(|operation| operation.to.is_some());
    let first = sized.filter(|_| still_to_cut(feature, record)).unwrap_or(0);
    // Only the first goes on from the size that was just measured.
    let read = Limits { lower: record.min, upper: record.max };
    let read = |at: usize| Some(read).filter(|_| at == first && sized == Some(at));
    let is_round = feature.feature.kind != FeatureKind::Keyseat;
    let again = |(at, operation)| again(operation, read(at), is_round, job.target_unit);
    let route = route.into_iter().enumerate().skip(first).map(again).collect();
    let why = record.reasons.first().map_or("", String::as_str);
    let new = NewJob {
        piece: job.piece,
        feature: job.feature,
        method: job.method,
        target: job.target,
        target_unit: job.target_unit,
        reason: format!("rework of {}: {why}", job.tag),
        due_at: job.due_at,
        rework_of: Some(job.id),
        rebuild: job.rebuild,
        value_minor: job.value_minor,
        policy_version: job.policy_version,
        route,
    };
    start_job(act, new).await
}

/// The same operation once more, from the size that it has now.
fn again(operation: JobOperation, read: Option<Limits>, is_round: bool, unit: Unit) -> Operation {
    let to = operation.to;
    let (from, change) = read.zip(to).map(|(read, to)| furthest(read, to)).unzip();
    let change = change.filter(|_| is_round);
    Operation {
        kind: operation.kind,
        machine: operation.machine,
        setup_family: operation.machine.setup_family(),
        site: operation.site,
        vendor: operation.vendor.clone(),
        from,
        to,
        change,
        minutes: operation.minutes.and_then(|minutes| u32::try_from(minutes).ok()),
        text: text(&operation, from, change, unit),
        cautions: operation.cautions,
    }
}

/// What is done again, with no size of the time before: whoever worked to that would take too much.
fn text(
    operation: &JobOperation,
    from: Option<Length>,
    change: Option<Amount>,
    unit: Unit,
) -> String {
    let Some(to) = operation.to else {
        let said = operation.text.strip_prefix("again: ").unwrap_or(&operation.text);
        return format!("again: {said}");
    };
    let mut text = format!("again: {}", operation.kind.as_str().replace('_', " "));
    if let Some(from) = from {
        text = format!("{text} from {}", from.display_in(unit));
    }
    let [lower, upper] = [to.lower, to.upper].map(|end| end.display_in(unit));
    let to = if lower == upper { upper } else { format!("{lower} to {upper}") };
    let most = change.map(|change| format!(", at most {}", change.words(unit)));
    format!("{text} to {to}{}", most.unwrap_or_default())
}
