//! Ending what is in progress when the server stops.
//!
//! tonic waits for every open stream, for ever if need be. So streams that never end by themselves
//! are ended as soon as the server begins to stop, and everything else once the time to drain is
//! over. Their clients are told UNAVAILABLE, which says: try another server, or this one later.

use super::cut::cut_by;
use super::methods::{Methods, Shape};
use super::refusal::refusal;
use super::{Call, Response};
use futures::FutureExt;
use std::convert::Infallible;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio_util::sync::CancellationToken;
use tonic::body::Body;
use tonic::{Code, Status};
use tower::{Layer, Service};

/// About as long as a restart takes.
const RETRY_AFTER: Duration = Duration::from_secs(2);

/// How far the server has got with stopping.
#[derive(Clone, Debug, Default)]
pub struct Stopping {
    begun: CancellationToken,
    overdue: CancellationToken,
}

impl Stopping {
    /// No new connections; endless streams end.
    pub fn begin(&self) {
        self.begun.cancel();
    }

    /// The time to drain is over: every call ends.
    pub fn overdue(&self) {
        self.begun.cancel();
        self.overdue.cancel();
    }

    /// Waits for [`Stopping::begin`].
    pub async fn begun(self) {
        self.begun.cancelled().await;
    }
}

/// Ends calls as the server stops.
#[derive(Clone, Debug)]
pub struct DrainLayer {
    stopping: Stopping,
    methods: Methods,
}

impl DrainLayer {
    /// Follows `stopping`.
    #[must_use]
    pub fn new(stopping: Stopping, methods: Methods) -> Self {
        Self { stopping, methods }
    }
}

impl<S> Layer<S> for DrainLayer {
    type Service = Drained<S>;

    fn layer(&self, inner: S) -> Drained<S> {
        Drained { inner, drain: self.clone() }
    }
}

/// A service behind a [`DrainLayer`].
#[derive(Clone, Debug)]
pub struct Drained<S> {
    inner: S,
    drain: DrainLayer,
}

impl<S> Service<http::Request<Body>> for Drained<S>
where
    S: Service<http::Request<Body>, Response = Response, Error = Infallible>,
    S::Future: Send + 'static,
{
    type Response = Response;
    type Error = Infallible;
    type Future = Call;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: http::Request<Body>) -> Call {
        let end = match self.drain.methods.shape(request.uri().path()) {
            Shape::Endless => self.drain.stopping.begun.clone(),
            Shape::Streaming | Shape::Unary => self.drain.stopping.overdue.clone(),
        };
        if end.is_cancelled() {
            return async { Ok(stopped().into_http()) }.boxed();
        }
        let cut = async move {
            end.cancelled_owned().await;
            stopped()
        };
        cut_by(cut.boxed(), self.inner.call(request))
    }
}

fn stopped() -> Status {
    let message = "this server is stopping; a change that the call asked for may still be made: \
                   ask again with the same request_id to learn its outcome";
    refusal(Code::Unavailable, "SERVER_STOPPING", message, [], Some(RETRY_AFTER))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{read, request, status_at_head, streaming, unary};
    use super::*;
    use tonic_types::StatusExt;
    use tower::ServiceExt;

    const UNARY: &str = "/tenths.v1.StockService/ListLots";
    const IMPORT: &str = "/tenths.v1.TransferService/ImportRows";
    const WATCH: &str = "/grpc.health.v1.Health/Watch";
    const SHORT: Duration = Duration::from_millis(30);

    fn layer(stopping: &Stopping) -> DrainLayer {
        DrainLayer::new(stopping.clone(), Methods::served())
    }

    #[tokio::test]
    async fn a_watch_ends_when_stopping_begins_and_its_last_word_is_heard() {
        let stopping = Stopping::default();
        let open = layer(&stopping).layer(streaming(std::future::pending()));
        let answered = open.oneshot(request(WATCH)).await.unwrap();
        stopping.begin();
        let (messages, status) = read(answered).await;
        assert_eq!((messages, status.code()), (1, Code::Unavailable));
        let details = status.get_error_details();
        assert_eq!(details.error_info().unwrap().reason, "SERVER_STOPPING");
        assert!(details.retry_info().is_some());
    }

    #[tokio::test]
    async fn an_import_goes_on_until_the_drain_is_overdue() {
        let stopping = Stopping::default();
        let open = layer(&stopping).layer(streaming(std::future::pending()));
        let mut reading = Box::pin(read(open.oneshot(request(IMPORT)).await.unwrap()));
        stopping.begin();
        assert!(tokio::time::timeout(SHORT, &mut reading).await.is_err(), "it was ended early");
        stopping.overdue();
        assert_eq!(reading.await.1.code(), Code::Unavailable);
    }

    #[tokio::test]
    async fn a_call_without_an_answer_yet_is_ended_too() {
        let stopping = Stopping::default();
        let hanging = layer(&stopping).layer(tower::service_fn(|_: http::Request<Body>| {
            std::future::pending::<Result<Response, Infallible>>()
        }));
        let mut call = Box::pin(hanging.oneshot(request(UNARY)));
        stopping.begin();
        assert!(tokio::time::timeout(SHORT, &mut call).await.is_err(), "it was ended early");
        stopping.overdue();
        assert_eq!(status_at_head(&call.await.unwrap()).code(), Code::Unavailable);
    }

    #[tokio::test]
    async fn nothing_starts_once_the_drain_is_overdue() {
        let stopping = Stopping::default();
        stopping.begin();
        let late = layer(&stopping).layer(unary());
        let (_, status) = read(late.clone().oneshot(request(UNARY)).await.unwrap()).await;
        assert_eq!(status.code(), Code::Ok, "a call may still come over an open connection");
        stopping.overdue();
        let refused = late.oneshot(request(UNARY)).await.unwrap();
        assert_eq!(status_at_head(&refused).code(), Code::Unavailable);
    }
}
