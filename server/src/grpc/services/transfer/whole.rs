//! Telling a stream of requests that ended from one that broke off.
//!
//! When a client cancels a call, HTTP/2 resets the stream. tonic 0.14 shows the reset of a stream of
//! requests as its end, and so does hyper where the reset carries no error: half a file would be
//! taken for a whole one. Only the body of the HTTP request knows whether its end was sent, so it is
//! asked here, below tonic.

use crate::grpc::status::ERROR_DOMAIN;
use http_body::{Frame, SizeHint};
use prost::bytes::Bytes;
use std::collections::HashMap;
use std::pin::Pin;
use std::task::{Context, Poll};
use tonic::body::Body;
use tonic::server::NamedService;
use tonic::{Code, Status};
use tonic_types::{ErrorDetails, StatusExt};
use tower::Service;

/// A service whose requests end in good order or with an error.
#[derive(Clone, Debug)]
pub struct WholeRequests<S> {
    inner: S,
}

impl<S> WholeRequests<S> {
    /// Puts the check before a service.
    pub fn new(inner: S) -> Self {
        WholeRequests { inner }
    }
}

impl<S: NamedService> NamedService for WholeRequests<S> {
    const NAME: &'static str = S::NAME;
}

impl<S: Service<http::Request<Body>>> Service<http::Request<Body>> for WholeRequests<S> {
    type Response = S::Response;
    type Error = S::Error;
    type Future = S::Future;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), S::Error>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, request: http::Request<Body>) -> S::Future {
        self.inner.call(request.map(|inner| Body::new(WholeBody { inner, failed: false })))
    }
}

struct WholeBody {
    inner: Body,
    failed: bool,
}

impl http_body::Body for WholeBody {
    type Data = Bytes;
    type Error = Status;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Status>>> {
        if self.failed {
            return Poll::Ready(None);
        }
        let polled = Pin::new(&mut self.inner).poll_frame(context);
        match &polled {
            Poll::Pending | Poll::Ready(Some(Ok(_))) => return polled,
            Poll::Ready(None) if self.inner.is_end_stream() => return polled,
            Poll::Ready(None | Some(Err(_))) => {}
        }
        self.failed = true;
        Poll::Ready(Some(Err(broken_off())))
    }

    fn is_end_stream(&self) -> bool {
        self.inner.is_end_stream()
    }

    fn size_hint(&self) -> SizeHint {
        self.inner.size_hint()
    }
}

/// Any code but CANCELLED, which tonic would take for an end.
fn broken_off() -> Status {
    let nothing_more = HashMap::<String, String>::new();
    let details = ErrorDetails::with_error_info("STREAM_BROKEN", ERROR_DOMAIN, nothing_more);
    let message = "the stream of requests broke off before its end: nothing was saved";
    Status::with_error_details(Code::Aborted, message, details)
}

#[cfg(test)]
mod tests {
    use super::*;
    use http_body::Body as _;
    use std::convert::Infallible;
    use std::future::{Ready, ready};

    /// A body that gives one message and then ends, is reset without an error, or fails.
    #[derive(Clone, Copy, PartialEq)]
    enum End {
        Sent,
        Reset,
        Failed(Code),
    }

    struct OneMessage {
        sent: bool,
        end: End,
    }

    impl http_body::Body for OneMessage {
        type Data = Bytes;
        type Error = Status;

        fn poll_frame(
            mut self: Pin<&mut Self>,
            _: &mut Context<'_>,
        ) -> Poll<Option<Result<Frame<Bytes>, Status>>> {
            if !std::mem::replace(&mut self.sent, true) {
                return Poll::Ready(Some(Ok(Frame::data(Bytes::from_static(b"rows")))));
            }
            Poll::Ready(match self.end {
                End::Sent | End::Reset => None,
                End::Failed(code) => Some(Err(Status::new(code, "reset"))),
            })
        }

        fn is_end_stream(&self) -> bool {
            self.sent && self.end == End::Sent
        }
    }

    /// Gives the body of its request back.
    #[derive(Clone)]
    struct Echo;

    impl Service<http::Request<Body>> for Echo {
        type Response = Body;
        type Error = Infallible;
        type Future = Ready<Result<Body, Infallible>>;

        fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
            Poll::Ready(Ok(()))
        }

        fn call(&mut self, request: http::Request<Body>) -> Self::Future {
            ready(Ok(request.into_body()))
        }
    }

    /// Goal: only the end that was sent is an end; method: each way a body can stop.
    #[tokio::test]
    async fn a_reset_is_no_end() {
        for (end, wanted) in [
            (End::Sent, None),
            (End::Reset, Some(Code::Aborted)),
            (End::Failed(Code::Cancelled), Some(Code::Aborted)),
            (End::Failed(Code::Unknown), Some(Code::Aborted)),
        ] {
            let body = Body::new(OneMessage { sent: false, end });
            let mut body = WholeRequests::new(Echo).call(http::Request::new(body)).await.unwrap();
            let mut next =
                async || std::future::poll_fn(|cx| Pin::new(&mut body).poll_frame(cx)).await;
            assert!(next().await.unwrap().unwrap().is_data());
            let stopped = next().await.map(|frame| frame.unwrap_err().code());
            assert_eq!(stopped, wanted);
            assert!(next().await.is_none());
        }
    }
}
