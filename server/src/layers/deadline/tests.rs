//! Deadlines by method shape, and malformed ones.

use super::super::testing::{flooding, read, request, status_at_head, streaming, unary};
use super::*;
use tonic_types::StatusExt;
use tower::ServiceExt;

const UNARY: &str = "/tenths.v1.StockService/ListLots";
const IMPORT: &str = "/tenths.v1.TransferService/ImportRows";
const WATCH: &str = "/grpc.health.v1.Health/Watch";
const SHORT: Duration = Duration::from_millis(30);
const LONG: Duration = Duration::from_secs(3600);

fn hanging() -> impl super::super::testing::Answers {
    tower::service_fn(|_: http::Request<Body>| {
        std::future::pending::<Result<Response, Infallible>>()
    })
}

fn asking(path: &str, timeout: &'static [u8]) -> http::Request<Body> {
    let mut request = request(path);
    request.headers_mut().insert(HEADER, HeaderValue::from_bytes(timeout).unwrap());
    request
}

fn layer(unary_max: Duration) -> DeadlineLayer {
    DeadlineLayer::new(unary_max, Methods::served())
}

#[tokio::test]
async fn a_unary_call_ends_at_the_shorter_of_its_deadline_and_the_maximum() {
    for (unary_max, request, allowed_ms) in [
        (SHORT, request(UNARY), "30"),
        (SHORT, asking(UNARY, b"1H"), "30"),
        (LONG, asking(UNARY, b"20m"), "20"),
    ] {
        let started = Instant::now();
        let answered = layer(unary_max).layer(hanging()).oneshot(request).await.unwrap();
        let status = status_at_head(&answered);
        assert_eq!(status.code(), Code::DeadlineExceeded);
        let info = status.get_error_details().error_info().unwrap().clone();
        assert_eq!(
            (info.reason.as_str(), info.domain.as_str()),
            ("DEADLINE_EXCEEDED", "tenths.v1")
        );
        assert_eq!(info.metadata["allowed_ms"], allowed_ms);
        assert!(started.elapsed() >= Duration::from_millis(20));
    }
}

/// A timer as tonic puts it outside of our layers: what is inside is polled first, and the timer
/// starts once the call has been made.
async fn tonic_like(service: impl super::super::testing::Answers, timeout_ms: u64) -> Option<Code> {
    let mut service = service;
    let call = service.call(asking(UNARY, format!("{timeout_ms}m").leak().as_bytes()));
    let timer = tokio::time::sleep(Duration::from_millis(timeout_ms));
    tokio::select! {
        biased;
        answered = call => Some(status_at_head(&answered.unwrap()).code()),
        () = timer => None,
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn the_timer_around_our_layers_never_comes_first() {
    let timed = layer(LONG).layer(hanging());
    let calls: Vec<_> =
        (0..2000).map(|number| tokio::spawn(tonic_like(timed.clone(), 1 + number % 50))).collect();
    for call in calls {
        assert_eq!(call.await.unwrap(), Some(Code::DeadlineExceeded));
    }
}

#[tokio::test]
async fn an_answer_within_the_deadline_is_left_alone() {
    let answered = layer(LONG).layer(unary()).oneshot(asking(UNARY, b"10S")).await.unwrap();
    let (messages, status) = read(answered).await;
    assert_eq!((messages, status.code()), (1, Code::Ok));
}

#[tokio::test]
async fn a_stream_outlives_the_maximum() {
    for path in [IMPORT, WATCH] {
        let outlives = streaming(LateEnd { after: SHORT * 3 }.wait());
        let answered = layer(SHORT).layer(outlives).oneshot(request(path)).await.unwrap();
        let (messages, status) = read(answered).await;
        assert_eq!((messages, status.code()), (1, Code::Ok), "{path}");
    }
}

#[tokio::test]
async fn a_stream_ends_at_the_deadline_of_its_client_before_its_head_and_after() {
    for path in [IMPORT, WATCH] {
        let at_head = layer(LONG).layer(hanging()).oneshot(asking(path, b"20m")).await.unwrap();
        assert_eq!(status_at_head(&at_head).code(), Code::DeadlineExceeded, "{path}");
        let open = layer(LONG).layer(streaming(std::future::pending()));
        let (messages, status) = read(open.oneshot(asking(path, b"20m")).await.unwrap()).await;
        assert_eq!((messages, status.code()), (1, Code::DeadlineExceeded), "{path}");
        assert!(status.get_error_details().error_info().is_some(), "{path}");
        let flood = layer(LONG).layer(flooding()).oneshot(asking(path, b"20m")).await.unwrap();
        tokio::time::sleep(Duration::from_millis(40)).await;
        let (messages, status) = read(flood).await;
        assert_eq!((messages, status.code()), (1, Code::DeadlineExceeded), "{path}");
    }
}

#[tokio::test]
async fn no_time_left_does_not_start_the_call() {
    let untouched =
        tower::service_fn(|_: http::Request<Body>| async { panic!("the call was started") });
    let answered = layer(LONG).layer(untouched).oneshot(asking(UNARY, b"0m")).await.unwrap();
    assert_eq!(status_at_head(&answered).code(), Code::DeadlineExceeded);
}

#[test]
fn units_are_those_of_the_protocol() {
    for (text, nanoseconds) in [
        ("1H", 3_600_000_000_000_u128),
        ("2M", 120_000_000_000),
        ("3S", 3_000_000_000),
        ("4m", 4_000_000),
        ("5u", 5_000),
        ("6n", 6),
        ("99999999H", 359_999_996_400_000_000_000),
        ("00000001S", 1_000_000_000),
    ] {
        assert_eq!(parse(&HeaderValue::from_static(text)).unwrap().as_nanos(), nanoseconds);
    }
}

#[tokio::test]
async fn a_malformed_deadline_is_refused_and_not_taken_for_none() {
    let texts: [&[u8]; 12] = [
        b"",
        b"S",
        b"10",
        b"10s",
        b"-1S",
        b"+1S",
        b"1.5S",
        b"1 S",
        b"123456789S",
        b"1SS",
        b"\xff",
        b"1\xc3\xa9",
    ];
    for text in texts {
        let answered = layer(LONG).layer(unary()).oneshot(asking(IMPORT, text)).await.unwrap();
        let status = status_at_head(&answered);
        assert_eq!(status.code(), Code::InvalidArgument, "{text:?}");
        let info = status.get_error_details().error_info().unwrap().clone();
        assert_eq!(info.reason, "MALFORMED_GRPC_TIMEOUT");
    }
}

/// Ends well, but late.
#[derive(Clone, Copy)]
struct LateEnd {
    after: Duration,
}

impl LateEnd {
    fn wait(self) -> futures::future::Shared<futures::future::BoxFuture<'static, Status>> {
        async move {
            tokio::time::sleep(self.after).await;
            Status::ok("")
        }
        .boxed()
        .shared()
    }
}
