//! Workers that take operations from one queue.

use std::collections::BTreeMap;
use std::sync::Arc;

use tenths_proto::v1::*;
use tenths_tests::{Bench, DatabaseKind, Shop, done, patiently, request_id};
use tokio::sync::Barrier;
use tokio::task::JoinSet;
use tonic::Code;

const WORKERS: usize = 32;
const JOBS: usize = 16;

/// Goal: whoever works at once, each operation ends exactly once, and a token that is no longer the
/// live one counts for nothing. Method: sixteen pieces come back from a vendor together; 32 workers
/// take the next operation until none waits, finish the return inspections and reject the last
/// ones; every third claim is given back first, and its token tried afterwards.
pub(crate) async fn each_operation_ends_once(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    bench.location("PLATER", LocationKind::Vendor).await;
    back_from_the_plater(&bench).await;
    let barrier = Arc::new(Barrier::new(WORKERS));
    let mut workers = JoinSet::new();
    for number in 0..WORKERS {
        let bench = Bench::bare(&shop.another_client().await);
        let barrier = barrier.clone();
        workers.spawn(async move {
            barrier.wait().await;
            work(&bench, number).await
        });
    }
    let (mut ended, mut late) = (BTreeMap::<(String, i32), usize>::new(), 0);
    while let Some(worker) = workers.join_next().await {
        let (own, refused) = worker.expect("no worker panics");
        late += refused;
        for operation in own {
            *ended.entry(operation).or_default() += 1;
        }
    }
    eprintln!("{kind:?}: {} operations ended, {late} late tokens refused", ended.len());
    assert_eq!(ended.len(), 2 * JOBS, "none is left: {ended:?}");
    assert!(ended.values().all(|times| *times == 1), "{ended:?}");
    assert!(late > 0, "no token was late");
    shop.verify();
}

async fn back_from_the_plater(bench: &Bench) {
    let mut queue = bench.clients().reconditioning();
    let mut job_tags = Vec::new();
    for number in 0..JOBS {
        let piece_tag = format!("P-{number}");
        bench.piece(&piece_tag, "SH-25").await;
        let request = EnqueueJobRequest {
            request_id: request_id(),
            person: "mara".to_owned(),
            piece_tag,
            feature: "seat-a".to_owned(),
            method: Method::BuildUp.into(),
            reason: "seat worn".to_owned(),
            at_vendor: true,
            ..Default::default()
        };
        let job = done("enqueue_job", queue.enqueue_job(request).await).job;
        job_tags.push(job.expect("the job").tag);
    }
    let request = CreateSendOutRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        location_code: "PLATER".to_owned(),
        job_tags,
        ..Default::default()
    };
    let sent = done("create_send_out", queue.create_send_out(request).await).send_out;
    let sent = sent.expect("the send-out");
    let lines = sent.lines.iter().map(|line| ReturnedLine {
        line: line.line,
        state: SendOutLineState::Returned.into(),
        note: String::new(),
    });
    let request = ReturnSendOutRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        tag: sent.tag.clone(),
        lines: lines.collect(),
        ..Default::default()
    };
    done("return_send_out", queue.return_send_out(request).await);
}

/// Takes the next operation until nothing waits; answers with what it ended, and how many late
/// tokens were refused.
async fn work(bench: &Bench, number: usize) -> (Vec<(String, i32)>, usize) {
    let (mut ended, mut late) = (Vec::new(), 0);
    for turn in number.. {
        let Ok(claim) = bench.try_claim_next().await else { break };
        let job = claim.job.expect("the job");
        let (tag, token) = (job.tag, claim.fencing_token);
        if turn % 3 == 0 {
            give_back(bench, &tag, token).await;
            let refused = finish(bench, &tag, token).await.expect_err("the token is late");
            assert_eq!(refused, Code::FailedPrecondition);
            late += 1;
            continue;
        }
        let done = match job.operation_position {
            2 => finish(bench, &tag, token).await,
            _ => reject(bench, &tag, token).await,
        };
        done.expect("a live claim counts");
        ended.push((tag, job.operation_position));
    }
    (ended, late)
}

async fn give_back(bench: &Bench, tag: &str, fencing_token: i64) {
    let request = ReleaseClaimRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        tag: tag.to_owned(),
        fencing_token,
    };
    let (released, _) = patiently(|| {
        let (mut queue, request) = (bench.clients().reconditioning(), request.clone());
        async move { queue.release_claim(request).await }
    })
    .await;
    released.expect("a live claim is given back");
}

async fn finish(bench: &Bench, tag: &str, fencing_token: i64) -> Result<(), Code> {
    let request = FinishOperationRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        tag: tag.to_owned(),
        fencing_token,
        ..Default::default()
    };
    let (finished, _) = patiently(|| {
        let (mut queue, request) = (bench.clients().reconditioning(), request.clone());
        async move { queue.finish_operation(request).await }
    })
    .await;
    finished.map(|_| ()).map_err(|status| status.code())
}

async fn reject(bench: &Bench, tag: &str, fencing_token: i64) -> Result<(), Code> {
    let request = RejectOperationRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        tag: tag.to_owned(),
        fencing_token,
        reason: RejectReason::TooThin.into(),
        ..Default::default()
    };
    let (rejected, _) = patiently(|| {
        let (mut queue, request) = (bench.clients().reconditioning(), request.clone());
        async move { queue.reject_operation(request).await }
    })
    .await;
    rejected.map(|_| ()).map_err(|status| status.code())
}
