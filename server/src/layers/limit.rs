//! A bound on calls in progress, over all connections.
//!
//! tonic's own limit counts per connection and makes callers wait; this one counts the whole
//! server and refuses, so that a flood costs its senders a quick answer and not everyone a slow
//! one. Health checks pass: a server that is full is not a server that is broken.

use super::refusal::refusal;
use super::{Call, Response};
use futures::FutureExt;
use http_body::{Frame, SizeHint};
use prost::bytes::Bytes;
use std::convert::Infallible;
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::sync::{OwnedSemaphorePermit, Semaphore};
use tonic::body::Body;
use tonic::{Code, Status};
use tower::{Layer, Service};

const HEALTH_PREFIX: &str = "/grpc.health.v1.Health/";
const RETRY_AFTER: Duration = Duration::from_millis(500);

/// Lets at most so many calls in.
#[derive(Clone, Debug)]
pub struct LimitLayer {
    places: Arc<Semaphore>,
    max: u32,
}

impl LimitLayer {
    /// A limit shared by everything that this layer, or a clone of it, is put around.
    #[must_use]
    pub fn new(max: u32) -> Self {
        Self { places: Arc::new(Semaphore::new(max as usize)), max }
    }
}

impl<S> Layer<S> for LimitLayer {
    type Service = Limited<S>;

    fn layer(&self, inner: S) -> Limited<S> {
        Limited { inner, limit: self.clone() }
    }
}

/// A service behind a [`LimitLayer`].
#[derive(Clone, Debug)]
pub struct Limited<S> {
    inner: S,
    limit: LimitLayer,
}

impl<S> Service<http::Request<Body>> for Limited<S>
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
        if request.uri().path().starts_with(HEALTH_PREFIX) {
            return self.inner.call(request).boxed();
        }
        let Ok(place) = Arc::clone(&self.limit.places).try_acquire_owned() else {
            let refused = too_many(self.limit.max);
            return async move { Ok(refused.into_http()) }.boxed();
        };
        let call = self.inner.call(request);
        async move {
            let response = call.await?;
            Ok(response.map(|inner| Body::new(PlacedBody { inner, _place: place })))
        }
        .boxed()
    }
}

fn too_many(max: u32) -> Status {
    let message = format!("{max} calls are in progress, which is all this server takes at once");
    let metadata = [("max_in_flight", max.to_string())];
    refusal(Code::ResourceExhausted, "TOO_MANY_CALLS", message, metadata, Some(RETRY_AFTER))
}

/// A body that keeps its call's place until it is sent or dropped.
struct PlacedBody {
    inner: Body,
    _place: OwnedSemaphorePermit,
}

impl http_body::Body for PlacedBody {
    type Data = Bytes;
    type Error = Status;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Status>>> {
        Pin::new(&mut self.inner).poll_frame(context)
    }

    fn is_end_stream(&self) -> bool {
        self.inner.is_end_stream()
    }

    fn size_hint(&self) -> SizeHint {
        self.inner.size_hint()
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{request, status_at_head, streaming, unary};
    use super::*;
    use tonic_types::StatusExt;
    use tower::ServiceExt;

    const UNARY: &str = "/tenths.v1.StockService/ListLots";

    #[tokio::test]
    async fn calls_over_the_limit_are_told_when_to_try_again() {
        let limit = LimitLayer::new(2);
        let open = limit.layer(streaming(std::future::pending()));
        let first = open.clone().oneshot(request(UNARY)).await.unwrap();
        let _second = open.clone().oneshot(request(UNARY)).await.unwrap();
        let refused = open.oneshot(request(UNARY)).await.unwrap();
        let status = status_at_head(&refused);
        assert_eq!(status.code(), Code::ResourceExhausted);
        let details = status.get_error_details();
        let info = details.error_info().unwrap();
        assert_eq!((info.reason.as_str(), info.domain.as_str()), ("TOO_MANY_CALLS", "tenths.v1"));
        assert_eq!(info.metadata["max_in_flight"], "2");
        assert_eq!(details.retry_info().unwrap().retry_delay, Some(RETRY_AFTER));

        drop(first);
        let admitted = limit.layer(unary()).oneshot(request(UNARY)).await.unwrap();
        assert!(Status::from_header_map(admitted.headers()).is_none(), "the place is free again");
    }

    #[tokio::test]
    async fn a_call_that_its_client_drops_gives_its_place_back() {
        let limit = LimitLayer::new(1);
        let hanging = limit.layer(tower::service_fn(|_: http::Request<Body>| {
            std::future::pending::<Result<Response, Infallible>>()
        }));
        let mut call = tokio::spawn(hanging.oneshot(request(UNARY)));
        assert!(tokio::time::timeout(Duration::from_millis(20), &mut call).await.is_err());
        assert_eq!(limit.places.available_permits(), 0);
        call.abort();
        assert!(call.await.unwrap_err().is_cancelled());
        assert_eq!(limit.places.available_permits(), 1);
    }

    #[tokio::test]
    async fn health_is_told_however_full_the_server_is() {
        let full = LimitLayer::new(0).layer(unary());
        let refused = full.clone().oneshot(request(UNARY)).await.unwrap();
        assert_eq!(status_at_head(&refused).code(), Code::ResourceExhausted);
        for path in ["/grpc.health.v1.Health/Check", "/grpc.health.v1.Health/Watch"] {
            let admitted = full.clone().oneshot(request(path)).await.unwrap();
            assert!(Status::from_header_map(admitted.headers()).is_none(), "{path}");
        }
    }
}
