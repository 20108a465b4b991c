//! One worker of the fight: claims the next operation, ends it, or walks away from it.

use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use tenths_proto::v1::{
    ClaimJobRequest, ClaimJobResponse, FinishOperationRequest, RejectOperationRequest, RejectReason,
};
use tenths_tests::{Chance, Clients, request_id};
use tonic::{Code, Status};

use crate::replicas::Doors;

/// One claim in so many is walked away from.
const ABANDONED_OF: u64 = 20;
/// How long a worker waits when nothing waits for it.
const IDLE: Duration = Duration::from_millis(50);
/// After so many waits in a row it goes home: what is left is stuck.
const IDLE_MAX: usize = 1_200;

/// A claim that its worker has walked away from.
#[derive(Clone, Debug)]
pub(crate) struct Abandoned {
    pub(crate) tag: String,
    pub(crate) token: i64,
}

/// What all workers share.
#[derive(Debug, Default)]
pub(crate) struct Floor {
    /// Operations ended so far.
    pub(crate) ended: AtomicUsize,
    /// Operations that there are.
    pub(crate) total: usize,
    /// Operations in the route of a job.
    pub(crate) route: i32,
    /// Claims whose lease has not been let lapse yet.
    pub(crate) abandoned: Mutex<Vec<Abandoned>>,
    /// Tokens of claims that were walked away from and have not come back, by job.
    pub(crate) late: Mutex<HashMap<String, Vec<i64>>>,
}

impl Floor {
    /// Leaves a claim as it is; whoever claims the job next meets its token.
    fn abandon(&self, tag: String, token: i64) {
        let mut late = self.late.lock().expect("no holder panics");
        late.entry(tag.clone()).or_default().push(token);
        self.abandoned.lock().expect("no holder panics").push(Abandoned { tag, token });
    }
}

/// What one worker saw.
#[derive(Debug, Default)]
pub(crate) struct Log {
    /// Job and position of each operation that it ended.
    pub(crate) ended: Vec<(String, i32)>,
    pub(crate) abandoned: usize,
    pub(crate) late_refused: usize,
    pub(crate) late_accepted: usize,
    /// Answers that should not be.
    pub(crate) wrong: Vec<String>,
}

/// A worker.
pub(crate) struct Worker {
    pub(crate) doors: Doors,
    pub(crate) chance: Chance,
    pub(crate) floor: Arc<Floor>,
    pub(crate) log: Log,
}

impl Worker {
    /// Works until every operation has ended, or nothing has waited for a minute.
    pub(crate) async fn work(mut self) -> Log {
        let mut idle = 0;
        while self.floor.ended.load(Ordering::Relaxed) < self.floor.total && idle < IDLE_MAX {
            match self.claim().await {
                Ok(claim) => {
                    idle = 0;
                    self.act_on(claim).await;
                }
                Err(status) if status.code() == Code::FailedPrecondition => {
                    idle += 1;
                    tokio::time::sleep(IDLE).await;
                }
                Err(status) => {
                    self.log.wrong.push(format!("claim: {status}"));
                    break;
                }
            }
        }
        self.log
    }

    async fn claim(&mut self) -> Result<ClaimJobResponse, Status> {
        let (request_id, person) = (request_id(), "mara".to_owned());
        let request = ClaimJobRequest { request_id, person, ..Default::default() };
        let call = |clients: Clients| {
            let request = request.clone();
            async move { clients.reconditioning().claim_job(request).await }
        };
        self.doors.call(&mut self.chance, call).await
    }

    async fn act_on(&mut self, claim: ClaimJobResponse) {
        let (job, token) = (claim.job.unwrap_or_default(), claim.fencing_token);
        if self.chance.below(ABANDONED_OF) == 0 {
            self.log.abandoned += 1;
            self.floor.abandon(job.tag, token);
            return;
        }
        let late = self.floor.late.lock().expect("no holder panics").remove(&job.tag);
        let position = job.operation_position;
        let is_last = position == self.floor.route;
        let mut seed = Chance::new(self.chance.below(1 << 30));
        // Who walked away comes back while the claim is another's, from both sides at once.
        let (ended, tried) = tokio::join!(
            end(&self.doors, &mut self.chance, (&job.tag, token), is_last),
            come_back(&self.doors, &mut seed, (&job.tag, late.unwrap_or_default()), is_last),
        );
        match ended {
            Ok(()) => {
                self.floor.ended.fetch_add(1, Ordering::Relaxed);
                self.log.ended.push((job.tag, position));
            }
            Err(status) => self.log.wrong.push(format!("{} at {position}: {status}", job.tag)),
        }
        for outcome in tried {
            self.log.note_late(outcome);
        }
    }
}

impl Log {
    fn note_late(&mut self, outcome: Result<(), Status>) {
        match outcome {
            Ok(()) => self.late_accepted += 1,
            Err(status) if status.code() == Code::FailedPrecondition => self.late_refused += 1,
            Err(status) => self.wrong.push(format!("late token: {status}")),
        }
    }
}

/// Tries the tokens of those who walked away, with the act that a live claim would be let do.
async fn come_back(
    doors: &Doors,
    chance: &mut Chance,
    (tag, tokens): (&str, Vec<i64>),
    is_last: bool,
) -> Vec<Result<(), Status>> {
    let mut tried = Vec::new();
    for token in tokens {
        tried.push(end(doors, chance, (tag, token), is_last).await);
    }
    tried
}

/// Finishes the current operation of a job, or rejects it: the last one of a route cannot be
/// finished without readings.
async fn end(
    doors: &Doors,
    chance: &mut Chance,
    (tag, fencing_token): (&str, i64),
    is_last: bool,
) -> Result<(), Status> {
    let (request_id, person, tag) = (request_id(), "mara".to_owned(), tag.to_owned());
    if is_last {
        let reason = RejectReason::TooThin.into();
        let request = RejectOperationRequest {
            request_id,
            person,
            tag,
            fencing_token,
            reason,
            ..Default::default()
        };
        let call = |clients: Clients| {
            let request = request.clone();
            async move { clients.reconditioning().reject_operation(request).await }
        };
        return doors.call(chance, call).await.map(|_| ());
    }
    let request =
        FinishOperationRequest { request_id, person, tag, fencing_token, ..Default::default() };
    let call = |clients: Clients| {
        let request = request.clone();
        async move { clients.reconditioning().finish_operation(request).await }
    };
    doors.call(chance, call).await.map(|_| ())
}
