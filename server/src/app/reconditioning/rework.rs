//! Rework: the next job of a piece whose size is not good yet.

use super::{NewJob, start_job};
use crate::app::act::Act;
use crate::app::error::Error;
use tenths_domain::item::Side;
use tenths_domain::route::Operation;
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
    let route = route.into_iter().skip(first).map(again).collect();
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

/// The same operation once more; from which size it starts is another now.
fn again(operation: JobOperation) -> Operation {
    let text = match operation.text.strip_prefix("again: ") {
        Some(_) => operation.text,
        None => format!("again: {}", operation.text),
    };
    Operation {
        kind: operation.kind,
        machine: operation.machine,
        setup_family: operation.machine.setup_family(),
        site: operation.site,
        vendor: operation.vendor,
        from: None,
        to: operation.to,
        change: None,
        minutes: operation.minutes.and_then(|minutes| u32::try_from(minutes).ok()),
        cautions: operation.cautions,
        text,
    }
}
