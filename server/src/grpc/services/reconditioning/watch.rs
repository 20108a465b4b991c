//! Watching a machine: the front of its queue again and again, told when it has changed.
//!
//! It is looked at, not listened to: a look is a few entries of an index, is right with any number
//! of replicas, and misses nothing when a connection breaks.

use crate::app::App;
use crate::app::reconditioning::queue_of;
use crate::grpc::convert::operations::Watch;
use crate::grpc::convert::reconditioning::job;
use std::time::Duration;
use tenths_proto::v1 as pb;
use tokio::sync::mpsc::Sender;
use tonic::Status;

/// How often the queue is looked at.
const LOOK_EVERY: Duration = Duration::from_millis(500);

/// Tells until the client goes away, or the database does not answer.
pub(super) async fn run(
    app: App,
    watch: Watch,
    answers: Sender<Result<pb::WatchOperationsResponse, Status>>,
) {
    let (mut told, mut count) = (None, 0);
    while watch.answers_max.is_none_or(|most| count < most) {
        let found = match look(&app, watch).await {
            Ok(found) => found,
            Err(status) => {
                // Nobody is left to be told if this fails.
                let _ = answers.send(Err(status)).await;
                return;
            }
        };
        let timeless = without_clocks(&found);
        if told.as_ref() != Some(&timeless) {
            if answers.send(Ok(pb::WatchOperationsResponse { jobs: found })).await.is_err() {
                return;
            }
            (told, count) = (Some(timeless), count + 1);
            continue;
        }
        tokio::select! {
            () = answers.closed() => return,
            () = tokio::time::sleep(LOOK_EVERY) => {}
        }
    }
}

async fn look(app: &App, watch: Watch) -> Result<Vec<pb::Job>, Status> {
    let Watch { machine, jobs_max, .. } = watch;
    let found = app.read(move |view| Box::pin(queue_of(view, machine, jobs_max))).await?;
    Ok(found.into_iter().map(job).collect())
}

fn without_clocks(jobs: &[pb::Job]) -> Vec<pb::Job> {
    let mut jobs = jobs.to_vec();
    for operation in jobs.iter_mut().flat_map(|job| &mut job.operations) {
        operation.worked = None;
    }
    jobs
}
