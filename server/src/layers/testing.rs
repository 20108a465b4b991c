//! Services and requests to put around and through a layer in its tests.

use super::Response;
use http::HeaderMap;
use http_body::{Body as _, Frame};
use prost::bytes::Bytes;
use std::convert::Infallible;
use std::pin::Pin;
use std::task::{Context, Poll};
use tonic::Status;
use tonic::body::Body;
use tower::Service;

pub(super) fn request(path: &str) -> http::Request<Body> {
    let mut request = http::Request::new(Body::empty());
    *request.uri_mut() = path.parse().unwrap();
    request
}

pub(super) fn status_at_head(response: &Response) -> Status {
    Status::from_header_map(response.headers()).expect("a status at the head")
}

/// Reads a body to its end: how many messages came, and with which status it ended.
pub(super) async fn read(response: Response) -> (usize, Status) {
    let mut body = response.into_body();
    let mut messages = 0;
    loop {
        let frame = std::future::poll_fn(|context| Pin::new(&mut body).poll_frame(context)).await;
        match frame.expect("trailers before the end").unwrap().into_trailers() {
            Ok(trailers) => return (messages, Status::from_header_map(&trailers).unwrap()),
            Err(_) => messages += 1,
        }
    }
}

/// Answers at once, with one message and OK.
pub(super) fn unary() -> impl Answers {
    streaming(std::future::ready(Status::ok("")))
}

/// Answers at once with one message, and ends when `end` does and as it says.
pub(super) fn streaming(
    end: impl Future<Output = Status> + Clone + Send + 'static,
) -> impl Answers {
    tower::service_fn(move |_: http::Request<Body>| {
        let end = Box::pin(end.clone());
        std::future::ready(Ok(http::Response::new(Body::new(OneThenEnd { sent: false, end }))))
    })
}

/// Sends messages as long as it is asked for more.
pub(super) fn flooding() -> impl Answers {
    tower::service_fn(|_: http::Request<Body>| {
        std::future::ready(Ok(http::Response::new(Body::new(Flood))))
    })
}

/// A service as the layers expect it.
pub(super) trait Answers:
    Service<http::Request<Body>, Response = Response, Error = Infallible, Future: Send + 'static>
    + Clone
    + Send
    + 'static
{
}

impl<S> Answers for S where
    S: Service<
            http::Request<Body>,
            Response = Response,
            Error = Infallible,
            Future: Send + 'static,
        > + Clone
        + Send
        + 'static
{
}

struct OneThenEnd<E> {
    sent: bool,
    end: Pin<Box<E>>,
}

impl<E: Future<Output = Status>> http_body::Body for OneThenEnd<E> {
    type Data = Bytes;
    type Error = Status;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Status>>> {
        if !self.sent {
            self.sent = true;
            return Poll::Ready(Some(Ok(Frame::data(Bytes::from_static(b"message")))));
        }
        self.end.as_mut().poll(context).map(|status| {
            let mut trailers = HeaderMap::new();
            status.add_header(&mut trailers).unwrap();
            Some(Ok(Frame::trailers(trailers)))
        })
    }
}

struct Flood;

impl http_body::Body for Flood {
    type Data = Bytes;
    type Error = Status;

    fn poll_frame(
        self: Pin<&mut Self>,
        _: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Status>>> {
        Poll::Ready(Some(Ok(Frame::data(Bytes::from_static(b"message")))))
    }
}
