//! How long a call may take.
//!
//! A unary call ends within its client's `grpc-timeout` or the server's maximum, whichever is
//! shorter. A stream has no maximum, since an import takes as long as its file, but keeps to its
//! client's deadline, body included.
//!
//! tonic times calls as well, but answers CANCELLED, which says that the client went away. Its
//! timer is outside ours, polls what is inside first, and starts later for the same call; so ours
//! ends the call first, as long as its end is fixed in `call` and not when the future is polled.
//!
//! A write that has begun is not undone by its deadline: it runs in a task of its own.

use super::cut::cut_by;
use super::methods::{Methods, Shape};
use super::refusal::refusal;
use super::{Call, Response};
use futures::FutureExt;
use http::{HeaderMap, HeaderValue};
use std::convert::Infallible;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::time::Instant;
use tonic::body::Body;
use tonic::{Code, Status};
use tower::{Layer, Service};

const HEADER: &str = "grpc-timeout";
const HEADER_DIGITS_MAX: usize = 8;

/// Ends calls at their deadline.
#[derive(Clone, Debug)]
pub struct DeadlineLayer {
    unary_max: Duration,
    methods: Methods,
}

impl DeadlineLayer {
    /// Unary calls take `unary_max` at most.
    #[must_use]
    pub fn new(unary_max: Duration, methods: Methods) -> Self {
        Self { unary_max, methods }
    }

    fn allowed(&self, path: &str, headers: &HeaderMap) -> Result<Option<Duration>, Status> {
        let asked = headers.get(HEADER).map(parse).transpose()?;
        Ok(match self.methods.shape(path) {
            Shape::Unary => Some(asked.map_or(self.unary_max, |asked| asked.min(self.unary_max))),
            Shape::Streaming | Shape::Endless => asked,
        })
    }
}

impl<S> Layer<S> for DeadlineLayer {
    type Service = Timed<S>;

    fn layer(&self, inner: S) -> Timed<S> {
        Timed { inner, deadline: self.clone() }
    }
}

/// A service behind a [`DeadlineLayer`].
#[derive(Clone, Debug)]
pub struct Timed<S> {
    inner: S,
    deadline: DeadlineLayer,
}

impl<S> Service<http::Request<Body>> for Timed<S>
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
        match self.deadline.allowed(request.uri().path(), request.headers()) {
            Err(refused) => async move { Ok(refused.into_http()) }.boxed(),
            Ok(None) => self.inner.call(request).boxed(),
            Ok(Some(Duration::ZERO)) => async { Ok(exceeded(Duration::ZERO).into_http()) }.boxed(),
            Ok(Some(allowed)) => {
                let end = Instant::now() + allowed;
                let cut = async move {
                    tokio::time::sleep_until(end).await;
                    exceeded(allowed)
                };
                cut_by(cut.boxed(), self.inner.call(request))
            }
        }
    }
}

/// Reads one to eight digits and a unit, as `250m` for 250 ms.
fn parse(value: &HeaderValue) -> Result<Duration, Status> {
    let malformed = || {
        let shown: String = String::from_utf8_lossy(value.as_bytes()).chars().take(20).collect();
        let message = format!(
            "grpc-timeout {shown:?} is not a time: one to eight digits and one of H, M, S, m, u, n"
        );
        let metadata = [("grpc_timeout", shown)];
        refusal(Code::InvalidArgument, "MALFORMED_GRPC_TIMEOUT", message, metadata, None)
    };
    let (digits, unit) = value
        .to_str()
        .ok()
        .and_then(|text| text.split_at_checked(text.len().saturating_sub(1)))
        .ok_or_else(malformed)?;
    let plain = !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
    if !plain || digits.len() > HEADER_DIGITS_MAX {
        return Err(malformed());
    }
    let number: u64 = digits.parse().map_err(|_| malformed())?;
    match unit {
        "H" => Ok(Duration::from_secs(number * 3600)),
        "M" => Ok(Duration::from_secs(number * 60)),
        "S" => Ok(Duration::from_secs(number)),
        "m" => Ok(Duration::from_millis(number)),
        "u" => Ok(Duration::from_micros(number)),
        "n" => Ok(Duration::from_nanos(number)),
        _ => Err(malformed()),
    }
}

fn exceeded(allowed: Duration) -> Status {
    let allowed_ms = allowed.as_millis();
    let message = format!(
        "the call did not end within {allowed_ms} ms; a change that it asked for may still be made: \
         ask again with the same request_id to learn its outcome"
    );
    let metadata = [("allowed_ms", allowed_ms.to_string())];
    refusal(Code::DeadlineExceeded, "DEADLINE_EXCEEDED", message, metadata, None)
}

#[cfg(test)]
mod tests;
