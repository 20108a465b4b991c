//! Lines and counts of calls that end, fail, and are given up.

use super::super::testing::{read, request, streaming, unary};
use super::*;
use std::io::Write;
use std::sync::Mutex;
use std::time::Duration;
use tower::ServiceExt;
use tracing_subscriber::fmt::MakeWriter;

const UNARY: &str = "/tenths.v1.StockService/ListLots";
const IMPORT: &str = "/tenths.v1.TransferService/ImportRows";

/// What was logged on this thread while it lives.
#[derive(Clone, Default)]
struct Log(Arc<Mutex<Vec<u8>>>);

impl Log {
    fn start() -> (Self, tracing::subscriber::DefaultGuard) {
        let log = Self::default();
        let subscriber = tracing_subscriber::fmt()
            .json()
            .flatten_event(true)
            .with_max_level(tracing::Level::TRACE)
            .with_writer(log.clone())
            .finish();
        (log, tracing::subscriber::set_default(subscriber))
    }

    fn lines(&self) -> Vec<String> {
        let bytes = self.0.lock().unwrap().clone();
        String::from_utf8(bytes).unwrap().lines().map(str::to_owned).collect()
    }
}

impl Write for Log {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.0.lock().unwrap().extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

impl<'a> MakeWriter<'a> for Log {
    type Writer = Self;

    fn make_writer(&'a self) -> Self {
        self.clone()
    }
}

fn layer() -> (TraceLayer, Arc<Counts>) {
    let counts = Arc::new(Counts::default());
    (TraceLayer::new(Methods::served(), Arc::clone(&counts)), counts)
}

fn assert_line(lines: &[String], parts: &[&str]) {
    assert_eq!(lines.len(), 1, "one line a call: {lines:#?}");
    for part in parts {
        assert!(lines[0].contains(part), "{part} is not in {}", lines[0]);
    }
}

#[tokio::test]
async fn a_call_is_logged_once_when_its_trailers_pass() {
    let (log, _guard) = Log::start();
    let (layer, counts) = layer();
    let answered = layer.layer(unary()).oneshot(request(UNARY)).await.unwrap();
    assert_eq!(log.lines(), [""; 0], "not before it has ended");
    assert_eq!(read(answered).await.1.code(), Code::Ok);
    let parts = [
        r#""level":"INFO""#,
        r#""rpc.method":"/tenths.v1.StockService/ListLots""#,
        r#""rpc.code":"OK""#,
        r#""rpc.dropped":false"#,
        r#""duration_ms":"#,
    ];
    assert_line(&log.lines(), &parts);
    assert_eq!((counts.ended(), counts.dropped()), (1, 0));
}

#[tokio::test]
async fn a_status_at_the_head_is_logged_at_once() {
    let (log, _guard) = Log::start();
    let (layer, counts) = layer();
    let failing = tower::service_fn(|_: http::Request<Body>| async {
        Ok(Status::internal("secret").into_http())
    });
    drop(layer.layer(failing).oneshot(request(UNARY)).await.unwrap());
    assert_line(&log.lines(), &[r#""level":"WARN""#, r#""rpc.code":"INTERNAL""#]);
    assert!(!log.lines()[0].contains("secret"), "the message is not for the log");
    assert_eq!((counts.ended(), counts.dropped()), (1, 0));
}

#[tokio::test]
async fn a_stream_that_fails_is_logged_with_the_code_in_its_trailers() {
    let (log, _guard) = Log::start();
    let (layer, _) = layer();
    let failing = streaming(std::future::ready(Status::not_found("no such lot")));
    read(layer.layer(failing).oneshot(request(IMPORT)).await.unwrap()).await;
    assert_line(&log.lines(), &[r#""rpc.code":"NOT_FOUND""#, r#""level":"INFO""#]);
}

#[tokio::test]
async fn calls_given_up_before_or_after_their_head_are_counted_as_dropped() {
    let (log, _guard) = Log::start();
    let (layer, counts) = layer();
    let hanging = tower::service_fn(|_: http::Request<Body>| {
        std::future::pending::<Result<Response, Infallible>>()
    });
    let mut call = Box::pin(layer.layer(hanging).oneshot(request(UNARY)));
    assert!(tokio::time::timeout(Duration::from_millis(5), &mut call).await.is_err());
    drop(call);
    assert_line(&log.lines(), &[r#""rpc.code":"CANCELLED""#, r#""rpc.dropped":true"#]);
    let open = layer.layer(streaming(std::future::pending()));
    drop(open.oneshot(request(IMPORT)).await.unwrap());
    assert_eq!(log.lines().len(), 2);
    assert_eq!((counts.ended(), counts.dropped()), (0, 2));
}

#[tokio::test]
async fn health_checks_are_quiet_and_unknown_paths_are_not_repeated() {
    let (log, _guard) = Log::start();
    let (layer, _) = layer();
    let service = layer.layer(unary());
    let check = service.clone().oneshot(request("/grpc.health.v1.Health/Check")).await.unwrap();
    read(check).await;
    assert_line(&log.lines(), &[r#""level":"DEBUG""#]);
    read(service.oneshot(request("/made/up")).await.unwrap()).await;
    assert!(log.lines()[1].contains(UNKNOWN_METHOD), "{:?}", log.lines());
    assert!(!log.lines()[1].contains("made"), "{:?}", log.lines());
}
