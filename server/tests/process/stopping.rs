//! SIGTERM and SIGINT with an open stream.
//!
//! The client runs on threads of its own, so that it answers while a test waits for the process.

use crate::support::Server;
use std::time::Duration;
use tonic::Code;
use tonic::transport::Channel;
use tonic_health::pb::HealthCheckRequest;
use tonic_health::pb::health_check_response::ServingStatus;
use tonic_health::pb::health_client::HealthClient;

/// How far beyond its drain a stop may take on a busy machine.
const SLACK: Duration = Duration::from_secs(10);

async fn connect(server: &Server) -> HealthClient<Channel> {
    let address = format!("http://{}", server.address);
    HealthClient::new(Channel::from_shared(address).unwrap().connect().await.unwrap())
}

#[tokio::test(flavor = "multi_thread")]
async fn a_signal_ends_the_process_with_a_watch_open() {
    for signal in ["TERM", "INT"] {
        let folder = tempfile::tempdir().unwrap();
        let server = Server::start(folder.path(), &["--drain-seconds", "60"]);
        let mut client = connect(&server).await;
        let about = HealthCheckRequest { service: "readiness".into() };
        let mut watch = client.watch(about).await.unwrap().into_inner();
        assert_eq!(watch.message().await.unwrap().unwrap().status(), ServingStatus::Serving);
        server.signal(signal);
        assert_eq!(watch.message().await.unwrap().unwrap().status(), ServingStatus::NotServing);
        assert_eq!(watch.message().await.unwrap_err().code(), Code::Unavailable);
        let (code, log, took) = server.wait();
        assert_eq!(code, Some(0), "{log}");
        assert!(took < SLACK, "SIG{signal}: {took:?}");
        assert!(log.contains("listening on 127.0.0.1:"), "{log}");
        assert!(log.contains(&format!("SIG{signal}: stopping")), "{log}");
        assert!(log.contains("stopped after"), "{log}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_connection_that_never_answers_costs_the_drain_and_no_more() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(folder.path(), &["--drain-seconds", "1"]);
    let silent = open_and_fall_silent(&server).await;
    server.signal("TERM");
    let (code, log, took) = server.wait();
    assert_eq!(code, Some(0), "{log}");
    assert!(took < Duration::from_secs(2) + SLACK, "{took:?}");
    assert!(log.contains("still in progress after 1 s"), "{log}");
    drop(silent);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_second_signal_ends_the_process_at_once() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(folder.path(), &["--drain-seconds", "60"]);
    let silent = open_and_fall_silent(&server).await;
    server.signal("TERM");
    tokio::time::sleep(Duration::from_millis(200)).await;
    server.signal("INT");
    let (code, log, took) = server.wait();
    assert_eq!(code, Some(130), "{log}");
    assert!(took < SLACK, "{took:?}");
    drop(silent);
}

/// An HTTP/2 preface and settings, and nothing more.
async fn open_and_fall_silent(server: &Server) -> tokio::net::TcpStream {
    let silent = tokio::net::TcpStream::connect(&server.address).await.unwrap();
    silent.writable().await.unwrap();
    silent.try_write(b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n\0\0\0\x04\0\0\0\0\0").unwrap();
    tokio::time::sleep(Duration::from_millis(200)).await;
    silent
}
