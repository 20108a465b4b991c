//! One log line for each call, when it has ended.
//!
//! The line holds method, code and duration: nothing of the messages, nothing of the caller. A
//! path that this server does not know is not repeated, since a client may put anything there.

use super::code::code_name;
use super::methods::Methods;
use super::{Call, Response};
use futures::FutureExt;
use http::HeaderMap;
use http_body::{Frame, SizeHint};
use prost::bytes::Bytes;
use std::convert::Infallible;
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::task::{Context, Poll};
use std::time::Instant;
use tonic::body::Body;
use tonic::{Code, Status};
use tower::{Layer, Service};

const HEALTH_PREFIX: &str = "/grpc.health.v1.Health/";
const UNKNOWN_METHOD: &str = "(unknown method)";

/// Calls since the server started.
#[derive(Debug, Default)]
pub struct Counts {
    ended: AtomicU64,
    dropped: AtomicU64,
}

impl Counts {
    /// Calls that ended with a status.
    pub fn ended(&self) -> u64 {
        self.ended.load(Ordering::Relaxed)
    }

    /// Calls that their client gave up, or whose connection broke, before they had a status.
    pub fn dropped(&self) -> u64 {
        self.dropped.load(Ordering::Relaxed)
    }
}

/// Logs and counts calls.
#[derive(Clone, Debug)]
pub struct TraceLayer {
    methods: Methods,
    counts: Arc<Counts>,
}

impl TraceLayer {
    /// Counts into `counts`.
    #[must_use]
    pub fn new(methods: Methods, counts: Arc<Counts>) -> Self {
        Self { methods, counts }
    }
}

impl<S> Layer<S> for TraceLayer {
    type Service = Traced<S>;

    fn layer(&self, inner: S) -> Traced<S> {
        Traced { inner, trace: self.clone() }
    }
}

/// A service behind a [`TraceLayer`].
#[derive(Clone, Debug)]
pub struct Traced<S> {
    inner: S,
    trace: TraceLayer,
}

impl<S> Service<http::Request<Body>> for Traced<S>
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
        let mut line = Line {
            method: self.trace.methods.find(request.uri().path()).map(|(path, _)| path),
            started: Instant::now(),
            counts: Arc::clone(&self.trace.counts),
            open: true,
        };
        let call = self.inner.call(request);
        async move {
            let response = call.await?;
            Ok(match code_in(response.headers()) {
                Some(code) => {
                    line.end(code);
                    response
                }
                None => response.map(|inner| Body::new(TracedBody { inner, line })),
            })
        }
        .boxed()
    }
}

fn code_in(headers: &HeaderMap) -> Option<Code> {
    headers.get("grpc-status").map(|value| Code::from_bytes(value.as_bytes()))
}

/// A call whose line is still to be written. Dropped before that, it was given up.
struct Line {
    method: Option<Arc<str>>,
    started: Instant,
    counts: Arc<Counts>,
    open: bool,
}

impl Line {
    fn end(&mut self, code: Code) {
        if std::mem::replace(&mut self.open, false) {
            self.counts.ended.fetch_add(1, Ordering::Relaxed);
            self.write(code, false);
        }
    }

    fn write(&self, code: Code, dropped: bool) {
        let method = self.method.as_deref().unwrap_or(UNKNOWN_METHOD);
        let duration_ms = self.started.elapsed().as_micros() as f64 / 1000.0;
        let name = code_name(code);
        macro_rules! line {
            ($level:ident) => {
                tracing::$level!(
                    rpc.method = method,
                    rpc.code = name,
                    rpc.dropped = dropped,
                    duration_ms,
                    "{method} {name} in {duration_ms} ms"
                )
            };
        }
        match code {
            Code::Unknown | Code::Internal | Code::DataLoss => line!(warn),
            _ if method.starts_with(HEALTH_PREFIX) => line!(debug),
            _ => line!(info),
        }
    }
}

impl Drop for Line {
    fn drop(&mut self) {
        if self.open {
            self.counts.dropped.fetch_add(1, Ordering::Relaxed);
            self.write(Code::Cancelled, true);
        }
    }
}

/// A body that ends its call's line with the status in its trailers.
struct TracedBody {
    inner: Body,
    line: Line,
}

impl http_body::Body for TracedBody {
    type Data = Bytes;
    type Error = Status;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Status>>> {
        let polled = Pin::new(&mut self.inner).poll_frame(context);
        match &polled {
            Poll::Ready(Some(Ok(frame))) => {
                if let Some(trailers) = frame.trailers_ref() {
                    self.line.end(code_in(trailers).unwrap_or(Code::Unknown));
                }
            }
            Poll::Ready(Some(Err(status))) => self.line.end(status.code()),
            Poll::Ready(None) => self.line.end(Code::Unknown),
            Poll::Pending => {}
        }
        polled
    }

    fn is_end_stream(&self) -> bool {
        self.inner.is_end_stream()
    }

    fn size_hint(&self) -> SizeHint {
        self.inner.size_hint()
    }
}

#[cfg(test)]
mod tests;
