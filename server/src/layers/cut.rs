//! Ending a call before it ends by itself.

use super::{Call, Response};
use futures::FutureExt;
use futures::future::BoxFuture;
use http::HeaderMap;
use http_body::{Frame, SizeHint};
use prost::bytes::Bytes;
use std::pin::Pin;
use std::task::{Context, Poll};
use tonic::Status;
use tonic::body::Body;

/// Resolves when the call is to be ended, to what its client is told.
pub(super) type Cut = BoxFuture<'static, Status>;

/// Runs a call, and its response's body too, until `cut` says otherwise. An answer that is ready
/// wins over the cut. What is cut is dropped.
pub(super) fn cut_by(cut: Cut, call: impl Future<Output = CallOutput> + Send + 'static) -> Call {
    let mut cut = cut;
    async move {
        tokio::select! {
            biased;
            answered = call => answered.map(|response| response.map(|inner| {
                Body::new(CutBody { inner, state: State::Running(cut) })
            })),
            status = &mut cut => Ok::<Response, _>(status.into_http()),
        }
    }
    .boxed()
}

pub(super) type CallOutput = Result<Response, std::convert::Infallible>;

struct CutBody {
    inner: Body,
    state: State,
}

enum State {
    Running(Cut),
    /// Told to end. One more message may pass if it is ready, so that a last word is heard, such
    /// as a health watch's NOT_SERVING; a stream that is always ready must not go on for ever.
    Ending {
        status: Status,
        last_word: bool,
    },
    Ended,
}

impl http_body::Body for CutBody {
    type Data = Bytes;
    type Error = Status;

    fn poll_frame(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Frame<Bytes>, Status>>> {
        let this = &mut *self;
        if let State::Running(cut) = &mut this.state
            && let Poll::Ready(status) = cut.poll_unpin(context)
        {
            this.state = State::Ending { status, last_word: true };
        }
        let polled = match this.state {
            State::Ended => return Poll::Ready(None),
            _ => Pin::new(&mut this.inner).poll_frame(context),
        };
        let State::Ending { status, last_word } = &mut this.state else { return polled };
        match &polled {
            Poll::Ready(Some(Ok(frame))) if frame.is_data() && !*last_word => {}
            Poll::Ready(Some(Ok(frame))) if frame.is_data() => {
                *last_word = false;
                return polled;
            }
            Poll::Ready(_) => return polled,
            Poll::Pending => {}
        }
        let mut trailers = HeaderMap::new();
        let added = status.add_header(&mut trailers);
        this.inner = Body::empty();
        this.state = State::Ended;
        Poll::Ready(Some(added.map(|()| Frame::trailers(trailers))))
    }

    fn is_end_stream(&self) -> bool {
        match self.state {
            State::Ended => true,
            State::Running(_) | State::Ending { .. } => self.inner.is_end_stream(),
        }
    }

    fn size_hint(&self) -> SizeHint {
        SizeHint::default()
    }
}
