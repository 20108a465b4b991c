//! `tenths recon start`, `pause`, `done` and `reject`: work on the operation that was claimed; and
//! `watch`: what is in front of a machine.

use crate::args::OnClaim;
use crate::connect::{Session, rpc};
use crate::failure::Failure;
use tenths_proto::v1;
use tenths_proto::v1::reconditioning_service_client::ReconditioningServiceClient;

pub(super) async fn start(session: &mut Session, claim: OnClaim) -> Result<(), Failure> {
    let request = v1::StartOperationRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        tag: claim.tag,
        fencing_token: claim.token,
    };
    let answer = rpc!(session, ReconditioningServiceClient.start_operation(request))?;
    session.printer.notes("caution", &cautions(answer.job.as_ref()))?;
    session.printer.rows(&answer, &["job"])
}

/// What to mind at the operation that is current.
fn cautions(job: Option<&v1::Job>) -> Vec<String> {
    let Some(job) = job else { return Vec::new() };
    let mut operations = job.operations.iter();
    let current = operations.find(|operation| operation.position == job.operation_position);
    let plan = current.and_then(|operation| operation.plan.as_ref());
    plan.map_or_else(Vec::new, |plan| plan.cautions.clone())
}

pub(super) async fn pause(session: &mut Session, claim: OnClaim) -> Result<(), Failure> {
    let request = v1::PauseOperationRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        tag: claim.tag,
        fencing_token: claim.token,
    };
    let answer = rpc!(session, ReconditioningServiceClient.pause_operation(request))?;
    session.printer.rows(&answer, &["job"])
}

pub(super) async fn done(
    session: &mut Session,
    claim: OnClaim,
    note: String,
) -> Result<(), Failure> {
    let request = v1::FinishOperationRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        tag: claim.tag,
        fencing_token: claim.token,
        note,
    };
    let answer = rpc!(session, ReconditioningServiceClient.finish_operation(request))?;
    session.printer.rows(&answer, &["job"])
}

pub(super) async fn reject(
    session: &mut Session,
    claim: OnClaim,
    reason: v1::RejectReason,
    note: String,
) -> Result<(), Failure> {
    let request = v1::RejectOperationRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        tag: claim.tag,
        fencing_token: claim.token,
        reason: reason.into(),
        note,
    };
    let answer = rpc!(session, ReconditioningServiceClient.reject_operation(request))?;
    session.printer.rows(&answer, &["job"])
}

pub(super) async fn watch(
    session: &mut Session,
    machine: v1::WorkMachine,
    jobs_max: i32,
    answers_max: i32,
) -> Result<(), Failure> {
    let mut client = ReconditioningServiceClient::new(session.channel());
    let request = v1::WatchOperationsRequest { machine: machine.into(), jobs_max, answers_max };
    // Without a deadline: it goes on until somebody stops it.
    let watched = client.watch_operations(request).await;
    let mut watched = watched.map_err(|status| session.stream_failed(status))?.into_inner();
    loop {
        let message = watched.message().await;
        match message.map_err(|status| session.stream_failed(status))? {
            None => return Ok(()),
            Some(seen) => {
                let listed = v1::ListJobsResponse { jobs: seen.jobs, ..Default::default() };
                session.printer.rows(&listed, &["jobs"])?;
                session.printer.flush()?;
            }
        }
    }
}
