//! `tenths recon ...`: the reconditioning queue.

mod operate;
mod send_outs;

use super::measure::new_readings;
use super::{planning, traveler};
use crate::args::{ReconClaim, ReconCommand, ReconEnqueue, ReconFinish, ReconScrap};
use crate::connect::{Session, rpc};
use crate::context::Context;
use crate::entry::{lengths, times};
use crate::failure::{Failure, broken_answer};
use crate::output::Format;
use crate::{paging, report};
use std::time::Duration;
use tenths_proto::v1;
use tenths_proto::v1::reconditioning_service_client::ReconditioningServiceClient;

pub(crate) async fn run(session: &mut Session, command: ReconCommand) -> Result<(), Failure> {
    match command {
        ReconCommand::Propose(arguments) => super::repairs::propose(session, *arguments).await,
        ReconCommand::Decide(arguments) => super::repairs::decide(session, *arguments).await,
        ReconCommand::Decisions { piece, paging } => {
            super::repairs::decisions(session, piece, &paging).await
        }
        ReconCommand::Enqueue(arguments) => {
            let request = enqueue_request(arguments, &session.context)?;
            let answer = rpc!(session, ReconditioningServiceClient.enqueue_job(request))?;
            session.printer.notes("caution", &answer.cautions)?;
            session.printer.rows(&answer, &["job"])
        }
        ReconCommand::Show { tag } => {
            let request = v1::GetJobRequest { tag };
            let answer = rpc!(session, ReconditioningServiceClient.get_job(request))?;
            session.printer.record(&answer, "job")
        }
        ReconCommand::List { state, piece, paging } => {
            let state = state.unwrap_or_default();
            let request = v1::ListJobsRequest {
                state: state.into(),
                piece_tag: piece.unwrap_or_default(),
                ..Default::default()
            };
            paging::list(session, &paging, request, "jobs", async |session, request| {
                rpc!(session, ReconditioningServiceClient.list_jobs(request))
            })
            .await?;
            // The list is in the order of queueing; what comes next is another one.
            let next =
                "`recon claim` takes what may wait no longer, then the plan, then the earliest due";
            match state {
                v1::JobState::Queued => session.printer.notes("note", &[next.to_owned()]),
                _ => Ok(()),
            }
        }
        ReconCommand::Plan(arguments) => planning::plan(session, arguments).await,
        ReconCommand::Yields(arguments) => planning::yields(session, arguments).await,
        ReconCommand::Traveler(arguments) => traveler::write(session, arguments).await,
        ReconCommand::Claim(arguments) => claim(session, arguments).await,
        ReconCommand::Renew { tag, token, lease } => renew(session, tag, token, lease).await,
        ReconCommand::Release { tag, token } => release(session, tag, token).await,
        ReconCommand::Finish(arguments) => finish(session, arguments).await,
        ReconCommand::Start(claim) => operate::start(session, claim).await,
        ReconCommand::Pause(claim) => operate::pause(session, claim).await,
        ReconCommand::Done { claim, note } => operate::done(session, claim, note).await,
        ReconCommand::Reject { claim, reason, note } => {
            operate::reject(session, claim, reason, note).await
        }
        ReconCommand::Watch { machine, jobs, answers } => {
            operate::watch(session, machine, jobs, answers).await
        }
        ReconCommand::Send(arguments) => send_outs::send(session, arguments).await,
        ReconCommand::Return(arguments) => send_outs::take_back(session, arguments).await,
        ReconCommand::Away { at, closed, paging } => {
            send_outs::away(session, at, closed, paging).await
        }
        ReconCommand::Scrap(arguments) => scrap(session, arguments).await,
    }
}

fn enqueue_request(
    arguments: ReconEnqueue,
    context: &Context,
) -> Result<v1::EnqueueJobRequest, Failure> {
    let target = arguments.target.as_deref();
    let target = target.map(|text| lengths::range("--target", text, context.unit)).transpose()?;
    let (target_lower, target_upper) = target.unzip();
    Ok(v1::EnqueueJobRequest {
        request_id: context.request_id(),
        person: context.person()?,
        piece_tag: arguments.piece,
        feature: arguments.feature,
        method: arguments.method.into(),
        target_lower,
        target_upper,
        reason: arguments.reason,
        due_time: arguments.due,
        location_code: arguments.at,
        at_vendor: arguments.at_vendor,
        rebuild_tag: arguments.rebuild,
    })
}

async fn claim(session: &mut Session, arguments: ReconClaim) -> Result<(), Failure> {
    let request = v1::ClaimJobRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        tag: arguments.tag.unwrap_or_default(),
        machine: arguments.machine.unwrap_or_default().into(),
        lease: arguments.lease.map(times::span_on_wire),
    };
    let answer = rpc!(session, ReconditioningServiceClient.claim_job(request))?;
    session.printer.rows(&answer, &[""])
}

async fn renew(
    session: &mut Session,
    tag: String,
    fencing_token: i64,
    lease: Option<Duration>,
) -> Result<(), Failure> {
    let request = v1::RenewClaimRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        tag,
        fencing_token,
        lease: lease.map(times::span_on_wire),
    };
    let answer = rpc!(session, ReconditioningServiceClient.renew_claim(request))?;
    session.printer.rows(&answer, &["job"])
}

async fn release(session: &mut Session, tag: String, fencing_token: i64) -> Result<(), Failure> {
    let request = v1::ReleaseClaimRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        tag,
        fencing_token,
    };
    let answer = rpc!(session, ReconditioningServiceClient.release_claim(request))?;
    session.printer.rows(&answer, &["job"])
}

async fn finish(session: &mut Session, arguments: ReconFinish) -> Result<(), Failure> {
    let person = session.context.person()?;
    let feature = match arguments.feature {
        Some(feature) => feature,
        None => feature_of(session, &arguments.tag).await?,
    };
    let override_reason = arguments.numbers.sure.clone().unwrap_or_default();
    let run_out = arguments.run_out.as_deref();
    let run_out =
        run_out.map(|text| lengths::signed("--run-out", text, session.context.unit)).transpose()?;
    let request = v1::FinishJobRequest {
        request_id: session.context.request_id(),
        person,
        tag: arguments.tag,
        fencing_token: arguments.token,
        readings: Some(new_readings(feature, arguments.numbers)),
        override_reason,
        location_code: arguments.at,
        run_out,
    };
    let answer = rpc!(session, ReconditioningServiceClient.finish_job(request))?;
    session.printer.notes("note", &answer.notes)?;
    session.printer.rows(&answer, &["job", "rework"])?;
    match (&answer.assessment, session.printer.format) {
        (Some(assessment), Format::Table) => {
            let report =
                report::of_feature(assessment, session.context.unit, session.printer.columns);
            session.printer.text(&format!("\n{report}"))
        }
        _ => Ok(()),
    }
}

/// The feature that a job is for.
async fn feature_of(session: &Session, tag: &str) -> Result<String, Failure> {
    let request = v1::GetJobRequest { tag: tag.to_owned() };
    let answer = rpc!(session, ReconditioningServiceClient.get_job(request))?;
    answer.job.map(|job| job.feature).ok_or_else(|| broken_answer("job"))
}

async fn scrap(session: &mut Session, arguments: ReconScrap) -> Result<(), Failure> {
    let request = v1::ScrapJobRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        tag: arguments.tag,
        fencing_token: arguments.token,
        reason: arguments.reason.into(),
        note: arguments.note,
    };
    let answer = rpc!(session, ReconditioningServiceClient.scrap_job(request))?;
    session.printer.rows(&answer, &["job"])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::args::Command;
    use crate::args::tests::parse;
    use crate::commands::reach::run_line;
    use crate::shop_double::ShopDouble;

    fn enqueue(line: &str) -> v1::EnqueueJobRequest {
        let Command::Recon(ReconCommand::Enqueue(arguments)) = parse(line) else { panic!() };
        enqueue_request(arguments, &Context::of_mara()).unwrap()
    }

    #[test]
    fn a_regrind_has_both_targets_and_a_build_up_none() {
        let regrind = enqueue(
            "recon enqueue P-9 --feature journal-c --method regrind --target 0.7397..0.7400in",
        );
        let values = [regrind.target_lower, regrind.target_upper]
            .map(|length| length.map(|length| (length.value, length.unit)));
        let inch = i32::from(v1::LengthUnit::In);
        assert_eq!(values, ["0.7397", "0.7400"].map(|value| Some((value.to_owned(), inch))));

        let build_up = enqueue("recon enqueue P-9 --feature seat-a --method build-up");
        assert_eq!(build_up.method(), v1::Method::BuildUp);
        assert_eq!((build_up.target_lower, build_up.target_upper), (None, None));
    }

    #[tokio::test]
    async fn a_finish_says_why_a_person_has_to_decide() {
        let double = ShopDouble::default();
        let job = Some(v1::Job { tag: "J-1".into(), ..Default::default() });
        let notes = vec!["seat-b has no readings; accept the piece yourself".to_owned()];
        let answer = v1::FinishJobResponse { job, notes, ..Default::default() };
        double.answer("ReconditioningService/FinishJob", &answer);
        let server = double.serve().await;
        let line = "recon finish J-1 --token 3 --feature seat-a --gauge M-07 --mm \"A0 25.008\"";
        let (_, out, notes) = run_line(&server, Format::Table, line).await;
        assert!(out.starts_with("job:\ntag\nJ-1\n"), "{out}");
        assert_eq!(notes, "note: seat-b has no readings; accept the piece yourself\n");
    }

    /// The list is in the order of queueing, so it says that the claim is not.
    #[tokio::test]
    async fn the_queue_says_what_is_claimed_next() {
        let double = ShopDouble::default();
        let jobs = vec![v1::Job { tag: "J-1".into(), ..Default::default() }];
        let answer = v1::ListJobsResponse { jobs, ..Default::default() };
        double.answer("ReconditioningService/ListJobs", &answer);
        let server = double.serve().await;
        let (_, queued, notes) =
            run_line(&server, Format::Table, "recon list --state queued").await;
        assert_eq!(queued, "tag\nJ-1\n");
        assert_eq!(
            notes,
            "note: `recon claim` takes what may wait no longer, then the plan, then the earliest due\n"
        );
        for (format, line) in
            [(Format::Table, "recon list"), (Format::Json, "recon list --state queued")]
        {
            let (_, _, notes) = run_line(&server, format, line).await;
            assert_eq!(notes, "", "{line} in {format:?}");
        }
    }
}
