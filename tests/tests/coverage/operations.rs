//! The part of the tour that works on operations, in the shop and at a vendor.

use tenths_proto::v1::*;
use tenths_tests::{Bench, days, done, from_now, request_id};
use tokio_stream::StreamExt;

/// Sends a seat out to be built up, takes it back, inspects it, and rejects it in the end.
pub(crate) async fn tour(bench: &Bench) {
    let tag = send_out(bench).await;
    let mut queue = bench.clients().reconditioning();
    let request = WatchOperationsRequest {
        machine: WorkMachine::InspectionBench.into(),
        answers_max: 1,
        ..Default::default()
    };
    let mut watched = done("watch_operations", queue.watch_operations(request).await);
    let first = watched.next().await.expect("an answer at once").expect("no failure");
    assert_eq!(first.jobs.iter().map(|job| job.tag.as_str()).collect::<Vec<_>>(), [tag.as_str()]);
    assert!(watched.next().await.is_none(), "it ends after the answers that were asked for");
    let claim = claim_at_the_bench(bench).await;
    let job = claim.job.expect("the job");
    assert_eq!((job.tag.as_str(), job.operation_position), (tag.as_str(), 2));
    let (person, fencing_token) = ("mara".to_owned(), claim.fencing_token);
    let request = StartOperationRequest {
        request_id: request_id(),
        person: person.clone(),
        tag: tag.clone(),
        fencing_token,
    };
    let started = done("start_operation", queue.start_operation(request).await).job;
    assert_eq!(started.expect("the job").operations[1].state(), OperationState::Started);
    let request = PauseOperationRequest {
        request_id: request_id(),
        person: person.clone(),
        tag: tag.clone(),
        fencing_token,
    };
    let paused = done("pause_operation", queue.pause_operation(request).await).job;
    assert_eq!(paused.expect("the job").operations[1].state(), OperationState::Paused);
    let request = FinishOperationRequest {
        request_id: request_id(),
        person: person.clone(),
        tag: tag.clone(),
        fencing_token,
        ..Default::default()
    };
    let job = done("finish_operation", queue.finish_operation(request).await).job;
    let job = job.expect("the job");
    assert_eq!((job.state(), job.operation_position), (JobState::Queued, 3));
    assert_eq!(job.operations[0].passed, Some(true), "the vendor's work was good");
    let claim = claim_at_the_bench(bench).await;
    let request = RejectOperationRequest {
        request_id: request_id(),
        person,
        tag,
        fencing_token: claim.fencing_token,
        reason: RejectReason::PoorBond.into(),
        ..Default::default()
    };
    let job = done("reject_operation", queue.reject_operation(request).await).job;
    assert_eq!(job.expect("the job").outcome(), JobOutcome::ForDecision);
    assert_eq!(bench.get_piece("P-30").await.state(), PieceState::Inspection);
}

async fn claim_at_the_bench(bench: &Bench) -> ClaimJobResponse {
    let request = ClaimJobRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        machine: WorkMachine::InspectionBench.into(),
        ..Default::default()
    };
    done("claim_job", bench.clients().reconditioning().claim_job(request).await)
}

/// Sends a piece out and takes it back; answers with its job.
async fn send_out(bench: &Bench) -> String {
    let mut queue = bench.clients().reconditioning();
    let vendor = CreateLocationRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        location: Some(Location {
            code: "PLATER".to_owned(),
            kind: LocationKind::Vendor.into(),
            ..Default::default()
        }),
    };
    done("create_location", bench.clients().stock().create_location(vendor).await);
    bench.piece("P-30", "SH-25").await;
    let request = EnqueueJobRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        piece_tag: "P-30".to_owned(),
        feature: "seat-a".to_owned(),
        method: Method::BuildUp.into(),
        reason: "seat worn".to_owned(),
        at_vendor: true,
        ..Default::default()
    };
    let job = done("enqueue_job", queue.enqueue_job(request).await).job.expect("the job");
    let request = CreateSendOutRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        location_code: "PLATER".to_owned(),
        order_number: "PO-881".to_owned(),
        due_back_time: from_now(days(9)),
        job_tags: vec![job.tag.clone()],
        ..Default::default()
    };
    let sent = done("create_send_out", queue.create_send_out(request).await).send_out;
    let sent = sent.expect("the send-out");
    assert_eq!(bench.get_piece("P-30").await.location_code, "PLATER");
    let listed = done("list_send_outs", queue.list_send_outs(ListSendOutsRequest::default()).await);
    assert_eq!(listed.send_outs, std::slice::from_ref(&sent));
    assert_eq!((sent.age_days, sent.lines_out, sent.is_overdue), (0, 1, false));
    let line =
        ReturnedLine { line: 1, state: SendOutLineState::Returned.into(), note: String::new() };
    let request = ReturnSendOutRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        etag: sent.etag,
        tag: sent.tag,
        lines: vec![line],
        location_code: "BENCH".to_owned(),
    };
    let back = done("return_send_out", queue.return_send_out(request).await).send_out;
    assert_eq!(back.expect("the send-out").lines_out, 0);
    assert_eq!(bench.get_piece("P-30").await.location_code, "BENCH");
    job.tag
}
