//! What no service answered for: tonic's own refusals, and panics.
//!
//! Every failure that leaves the server carries `google.rpc.ErrorInfo`; tonic's (a method that is
//! not there, a message that is too large or not what it should be) do not by themselves. A panic
//! would take its whole connection along, with the calls of everyone behind the same proxy; here
//! it costs its own call. What it says goes to the log and not to the client.

use super::code::code_name;
use super::methods::Methods;
use super::refusal::refusal;
use super::{Call, Response};
use futures::FutureExt;
use std::convert::Infallible;
use std::panic::AssertUnwindSafe;
use std::task::{Context, Poll};
use tonic::body::Body;
use tonic::{Code, Status};
use tower::{Layer, Service};

/// Completes failures.
#[derive(Clone, Debug)]
pub struct FailureLayer {
    methods: Methods,
}

impl FailureLayer {
    /// Knows which `methods` there are.
    #[must_use]
    pub fn new(methods: Methods) -> Self {
        Self { methods }
    }
}

impl<S> Layer<S> for FailureLayer {
    type Service = Answering<S>;

    fn layer(&self, inner: S) -> Answering<S> {
        Answering { inner, failure: self.clone() }
    }
}

/// A service behind a [`FailureLayer`].
#[derive(Clone, Debug)]
pub struct Answering<S> {
    inner: S,
    failure: FailureLayer,
}

impl<S> Service<http::Request<Body>> for Answering<S>
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
        if self.failure.methods.find(request.uri().path()).is_none() {
            return async { Ok(unknown_method().into_http()) }.boxed();
        }
        // After a panic the service is not asked for this call again, and services keep no state
        // between calls that a panic could leave half changed.
        let call = AssertUnwindSafe(self.inner.call(request)).catch_unwind();
        async move {
            Ok(match call.await {
                Ok(answered) => completed(answered?),
                Err(_) => panicked().into_http(),
            })
        }
        .boxed()
    }
}

/// How prost's decoder begins what it says of bytes that are no message.
const NOT_DECODED: &str = "failed to decode Protobuf message";

/// The response, with details if it is a failure without any.
fn completed(response: Response) -> Response {
    match Status::from_header_map(response.headers()) {
        Some(status) if status.code() != Code::Ok && status.details().is_empty() => {
            let (code, reason) = match status.code() {
                // Only tonic's decoder answers so without details.
                Code::OutOfRange => (Code::OutOfRange, "MESSAGE_TOO_LARGE"),
                // A request that is no message of the contract is the caller's fault.
                Code::Internal if status.message().contains(NOT_DECODED) => {
                    (Code::InvalidArgument, "MALFORMED_MESSAGE")
                }
                code => (code, code_name(code)),
            };
            let mut complete = refusal(code, reason, status.message(), [], None);
            *complete.metadata_mut() = status.metadata().clone();
            complete.into_http()
        }
        _ => response,
    }
}

fn unknown_method() -> Status {
    let message = "this server has no such method; reflection lists those it has";
    refusal(Code::Unimplemented, "UNKNOWN_METHOD", message, [], None)
}

fn panicked() -> Status {
    tracing::error!("a call panicked; what it said is above");
    refusal(Code::Internal, "INTERNAL", "an internal error; the server's log says more", [], None)
}

#[cfg(test)]
mod tests {
    use super::super::testing::{read, request, status_at_head, unary};
    use super::*;
    use tonic::metadata::MetadataValue;
    use tonic_types::{ErrorDetails, StatusExt};
    use tower::ServiceExt;

    const KNOWN: &str = "/tenths.v1.StockService/ListLots";

    async fn answer_to(path: &str, status: Status) -> Status {
        let service = tower::service_fn(move |_: http::Request<Body>| {
            std::future::ready(Ok(status.clone().into_http()))
        });
        let layer = FailureLayer::new(Methods::served());
        status_at_head(&layer.layer(service).oneshot(request(path)).await.unwrap())
    }

    fn reason(status: &Status) -> String {
        status.get_error_details().error_info().unwrap().reason.clone()
    }

    #[tokio::test]
    async fn a_bare_failure_is_completed_and_keeps_code_message_and_metadata() {
        let mut bare = Status::out_of_range("too large: found 9, the limit is 8");
        bare.metadata_mut().insert("kept", MetadataValue::from_static("yes"));
        let complete = answer_to(KNOWN, bare).await;
        assert_eq!(complete.code(), Code::OutOfRange);
        assert_eq!(complete.message(), "too large: found 9, the limit is 8");
        assert_eq!(complete.metadata().get("kept").unwrap(), "yes");
        assert_eq!(reason(&complete), "MESSAGE_TOO_LARGE");
        let unsupported = answer_to(KNOWN, Status::unimplemented("compression")).await;
        assert_eq!(reason(&unsupported), "UNIMPLEMENTED");
    }

    #[tokio::test]
    async fn details_that_are_there_are_left_alone() {
        let info = ErrorDetails::with_error_info(
            "PIECE_HELD",
            "tenths.v1",
            [("piece", "P-1")].map(|(key, value)| (key.to_owned(), value.to_owned())),
        );
        let given = Status::with_error_details(Code::FailedPrecondition, "held", info);
        let left = answer_to(KNOWN, given.clone()).await;
        assert_eq!((left.code(), left.details()), (given.code(), given.details()));
    }

    #[tokio::test]
    async fn success_is_left_alone() {
        let layer = FailureLayer::new(Methods::served());
        let answered = layer.layer(unary()).oneshot(request(KNOWN)).await.unwrap();
        let (messages, status) = read(answered).await;
        assert_eq!((messages, status.code()), (1, Code::Ok));
    }

    #[tokio::test]
    async fn an_unknown_method_is_refused_with_a_reason() {
        for path in ["/", "/tenths.v1.StockService", "/tenths.v1.StockService/Nothing"] {
            let refused = answer_to(path, Status::ok("")).await;
            assert_eq!(refused.code(), Code::Unimplemented, "{path}");
            assert_eq!(reason(&refused), "UNKNOWN_METHOD", "{path}");
        }
    }

    #[tokio::test]
    async fn a_panic_costs_its_own_call_and_says_nothing_outside() {
        let panicking = tower::service_fn(|_: http::Request<Body>| async { panic!("secret") });
        let layer = FailureLayer::new(Methods::served());
        let answered = layer.layer(panicking).oneshot(request(KNOWN)).await.unwrap();
        let status = status_at_head(&answered);
        assert_eq!((status.code(), reason(&status).as_str()), (Code::Internal, "INTERNAL"));
        assert!(!status.message().contains("secret"));
    }
}
