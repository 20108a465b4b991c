//! The way to the server: channel, deadline, and retries of what is safe to repeat.

use crate::context::Context;
use crate::failure::Failure;
use crate::memory::{Memory, Row};
use crate::output::Printer;
use std::time::Duration;
use tokio::time::{Instant, sleep, timeout};
use tonic::transport::{Channel, Endpoint};
use tonic::{Code, Request, Response, Status};
use tonic_types::StatusExt;
use uuid::Uuid;

/// How often a call is made in all while the server is unavailable.
const TRIES_MAX: u32 = 3;
/// The first wait between two tries; it doubles, up to `WAIT_MAX`.
const WAIT_FIRST: Duration = Duration::from_millis(100);
const WAIT_MAX: Duration = Duration::from_secs(2);
/// A deadline met by the transport and one met here may differ by this much.
const DEADLINE_SLACK: Duration = Duration::from_millis(50);
/// The largest answer taken: 500 assessments with all their readings fit well inside.
pub(crate) const ANSWER_BYTES_MAX: usize = 64 * 1024 * 1024;

/// One run of the program against one server.
pub(crate) struct Session {
    /// Who acts, under which request id.
    pub(crate) context: Context,
    /// Where answers go.
    pub(crate) printer: Printer,
    channel: Channel,
    server: String,
    deadline_after: Duration,
    memory: Memory,
}

/// Where a change tells the revision of the stock that it made.
const REVISION: &str = "tenths-revision";

/// Makes a unary call through [`Session::call`], named as `Client.method(request)`.
macro_rules! rpc {
    ($session:expr, $client:ident . $method:ident ( $request:expr )) => {
        $session
            .call($request, async |channel, request| {
                $client::new(channel)
                    .max_decoding_message_size($crate::connect::ANSWER_BYTES_MAX)
                    .$method(request)
                    .await
            })
            .await
    };
}
pub(crate) use rpc;

impl Session {
    /// A session with the server at `server`; it is reached for when the first call is made.
    pub(crate) fn new(
        server: &str,
        deadline_after: Duration,
        context: Context,
        printer: Printer,
        memory: Memory,
    ) -> Result<Session, Failure> {
        let server = address(server)?;
        let endpoint = Endpoint::from_shared(server.clone())
            .map_err(|error| Failure::Usage(format!("--server {server}: {error}")))?
            .connect_timeout(deadline_after);
        let channel = endpoint.connect_lazy();
        Ok(Session { context, printer, channel, server, deadline_after, memory })
    }

    /// The channel, for calls that stream: those are never repeated.
    pub(crate) fn channel(&self) -> Channel {
        self.channel.clone()
    }

    /// Makes a call under the deadline. UNAVAILABLE is tried again: a read changes nothing, and a
    /// change carries the same request id each time, so that it happens once at most.
    pub(crate) async fn call<Q: Clone, A>(
        &self,
        request: Q,
        send: impl AsyncFn(Channel, Request<Q>) -> Result<Response<A>, Status>,
    ) -> Result<A, Failure> {
        let deadline = Instant::now() + self.deadline_after;
        let mut tries = 1;
        loop {
            let left = deadline.saturating_duration_since(Instant::now());
            let mut request = Request::new(request.clone());
            request.set_timeout(left);
            let status = match timeout(left, send(self.channel(), request)).await {
                Ok(Ok(answer)) => {
                    self.note_revision(&answer);
                    return Ok(answer.into_inner());
                }
                Ok(Err(status)) => status,
                Err(_) => Status::deadline_exceeded(self.too_late()),
            };
            let wait = wait_before_retry(tries, &status);
            if status.code() != Code::Unavailable
                || tries == TRIES_MAX
                || Instant::now() + wait >= deadline
            {
                return Err(self.refused(status, deadline));
            }
            sleep(wait).await;
            tries += 1;
        }
    }

    fn note_revision<A>(&self, answer: &Response<A>) {
        let told = answer.metadata().get(REVISION).and_then(|told| told.to_str().ok());
        if let Some(revision) = told.and_then(|told| told.parse().ok()) {
            self.memory.changed(&self.server, revision);
        }
    }

    /// The revision of the last change made from here, if it was just now; else 0.
    pub(crate) fn revision(&self) -> i64 {
        self.memory.revision(&self.server)
    }

    /// Remembers the rows of an answer, numbered from `first` on.
    pub(crate) fn remember(&self, first: i32, rows: &[Row]) {
        self.memory.answered(&self.server, first, rows);
    }

    /// The row of this number in the last answer.
    pub(crate) fn row(&self, number: i64) -> Option<Row> {
        self.memory.row(&self.server, number)
    }

    /// A request of a call that streams, under the deadline.
    pub(crate) fn timed<Q>(&self, request: Q) -> Request<Q> {
        let mut request = Request::new(request);
        request.set_timeout(self.deadline_after);
        request
    }

    /// The failure of a call that streams.
    pub(crate) fn stream_failed(&self, status: Status) -> Failure {
        self.refused(status, Instant::now() + self.deadline_after + DEADLINE_SLACK)
    }

    fn refused(&self, status: Status, deadline: Instant) -> Failure {
        // The transport calls its own timeout a cancellation.
        let timed_out =
            status.code() == Code::Cancelled && Instant::now() + DEADLINE_SLACK >= deadline;
        let status = if timed_out { Status::deadline_exceeded(self.too_late()) } else { status };
        Failure::Rpc {
            status: Box::new(status),
            server: self.server.clone(),
            request_id: self.context.request_id.to_string(),
            is_change: self.context.is_change.get(),
        }
    }

    fn too_late(&self) -> String {
        format!("no answer from {} within {} s", self.server, self.deadline_after.as_secs())
    }
}

/// `127.0.0.1:7421` and `http://127.0.0.1:7421` are the same server.
fn address(server: &str) -> Result<String, Failure> {
    match server.split_once("://") {
        None => Ok(format!("http://{server}")),
        Some(("http", _)) => Ok(server.to_owned()),
        Some((scheme, _)) => Err(Failure::Usage(format!(
            "--server {server}: {scheme} is not supported; write http://HOST:PORT or HOST:PORT"
        ))),
    }
}

/// Doubles with each try, within a cap, and is spread by up to half so that many clients do not
/// come back at once. Where the server says how long to wait, that is waited at least.
fn wait_before_retry(tries: u32, status: &Status) -> Duration {
    let doubled = WAIT_FIRST.saturating_mul(1 << (tries - 1).min(8)).min(WAIT_MAX);
    let asked = status.get_details_retry_info().and_then(|info| info.retry_delay);
    let base = asked.unwrap_or_default().clamp(doubled, WAIT_MAX);
    let per_thousand = Uuid::new_v4().as_u128() % 500;
    base + base.saturating_mul(u32::try_from(per_thousand).unwrap_or(0)) / 1_000
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::cell::RefCell;
    use std::io::sink;
    use tonic_types::ErrorDetails;

    fn session(deadline: Duration) -> Session {
        let printer =
            Printer::new(crate::output::Format::Table, None, Box::new(sink()), Box::new(sink()));
        // Port 9 is never spoken to: the calls below answer by themselves.
        Session::new("127.0.0.1:9", deadline, Context::of_mara(), printer, Memory::none()).unwrap()
    }

    /// Calls with an answer per try; gives what came out and the requests that were sent.
    async fn calls(answers: Vec<Result<u8, Status>>) -> (Result<u8, Failure>, Vec<String>) {
        let (answers, sent) = (RefCell::new(answers.into_iter()), RefCell::new(Vec::new()));
        let session = session(Duration::from_secs(20));
        let outcome = session
            .call("request-7".to_owned(), async |_, request: Request<String>| {
                sent.borrow_mut().push(request.into_inner());
                answers.borrow_mut().next().expect("one try too many").map(Response::new)
            })
            .await;
        (outcome, sent.into_inner())
    }

    fn code(outcome: Result<u8, Failure>) -> Code {
        match outcome {
            Err(Failure::Rpc { status, .. }) => status.code(),
            other => panic!("{other:?}"),
        }
    }

    #[tokio::test]
    async fn unavailable_is_tried_again_with_the_same_request() {
        let busy = || Err(Status::unavailable("busy"));
        let (outcome, sent) = calls(vec![busy(), busy(), Ok(5)]).await;
        assert_eq!(outcome.unwrap(), 5);
        assert_eq!(sent, ["request-7"; 3]);
        let (outcome, sent) = calls(vec![busy(), busy(), busy()]).await;
        assert_eq!((code(outcome), sent.len()), (Code::Unavailable, 3));
    }

    #[tokio::test]
    async fn nothing_else_is_tried_again() {
        for number in (1..=16).filter(|number| *number != Code::Unavailable as i32) {
            let refused = Status::new(Code::from_i32(number), "no");
            let (outcome, sent) = calls(vec![Err(refused)]).await;
            assert_eq!((code(outcome) as i32, sent.len()), (number, 1));
        }
    }

    #[tokio::test]
    async fn a_call_ends_at_the_deadline() {
        let session = session(Duration::from_millis(30));
        let outcome =
            session.call(0, async |_, _| std::future::pending::<Result<Response<u8>, _>>().await);
        assert_eq!(code(outcome.await), Code::DeadlineExceeded);
    }

    #[test]
    fn waits_grow_within_a_cap_and_respect_the_server() {
        let busy = Status::unavailable("busy");
        for (tries, least_ms) in [(1, 100), (2, 200), (3, 400), (9, 2_000)] {
            let wait = wait_before_retry(tries, &busy).as_millis();
            assert!((least_ms..=least_ms * 3 / 2).contains(&wait), "{tries}: {wait} ms");
        }
        let details = ErrorDetails::with_retry_info(Some(Duration::from_secs(1)));
        let asked = Status::with_error_details(Code::Unavailable, "busy", details);
        assert!(wait_before_retry(1, &asked) >= Duration::from_secs(1));
    }

    #[test]
    fn addresses_are_taken_with_and_without_scheme() {
        assert_eq!(address("127.0.0.1:7421").unwrap(), "http://127.0.0.1:7421");
        assert_eq!(address("http://shop:7421").unwrap(), "http://shop:7421");
        assert!(matches!(address("https://shop:7421"), Err(Failure::Usage(_))));
    }
}
