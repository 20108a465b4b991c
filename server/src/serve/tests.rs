//! A whole server in this process, over a real port and a real database file.

use super::*;
use crate::config::Overrides;
use std::convert::Infallible;
use std::task::{Context, Poll};
use std::time::Instant;
use tenths_proto::v1::transfer_service_client::TransferServiceClient;
use tokio::sync::mpsc;
use tonic::Code;
use tonic::body::Body;
use tonic::server::NamedService;
use tonic::transport::Channel;
use tonic_health::pb::HealthCheckRequest;
use tonic_health::pb::health_check_response::ServingStatus;
use tonic_health::pb::health_client::HealthClient;
use tonic_types::StatusExt;
use tower::Service;

struct Started {
    folder: tempfile::TempDir,
    address: SocketAddr,
    stop: mpsc::Sender<&'static str>,
    ended: JoinHandle<Result<Ended, ServeError>>,
}

fn settings(folder: &Path) -> Overrides {
    Overrides {
        database: Some(format!("sqlite://{}", folder.join("shop.db").display())),
        listen: Some("127.0.0.1:0".into()),
        port_file: Some(folder.join("port")),
        ..Overrides::default()
    }
}

async fn start(drain_seconds: u64) -> Started {
    let folder = tempfile::tempdir().unwrap();
    let given = Overrides { drain_seconds: Some(drain_seconds), ..settings(folder.path()) };
    start_with(folder, Config::resolve(given).unwrap(), crate::grpc::routes).await
}

async fn start_with(
    folder: tempfile::TempDir,
    config: Config,
    services: fn(App) -> Routes,
) -> Started {
    let (stop, signals) = Signals::manual();
    let ended = tokio::spawn(async move { run_services(&config, signals, services).await });
    let port_file = folder.path().join("port");
    let began = Instant::now();
    let address = loop {
        if let Ok(text) = std::fs::read_to_string(&port_file) {
            break text.trim_end().parse().expect("the port file appears whole");
        }
        assert!(began.elapsed() < Duration::from_secs(20), "the server did not start");
        tokio::time::sleep(Duration::from_millis(10)).await;
    };
    Started { folder, address, stop, ended }
}

async fn connect(address: SocketAddr) -> Result<Channel, tonic::transport::Error> {
    Channel::from_shared(format!("http://{address}")).unwrap().connect().await
}

async fn health(address: SocketAddr) -> HealthClient<Channel> {
    HealthClient::new(connect(address).await.unwrap())
}

/// Waits for rows and answers nothing before it has them.
#[derive(Clone)]
struct WaitingTransfer;

impl NamedService for WaitingTransfer {
    const NAME: &'static str = "tenths.v1.TransferService";
}

impl Service<http::Request<Body>> for WaitingTransfer {
    type Response = http::Response<Body>;
    type Error = Infallible;
    type Future = std::future::Pending<Result<Self::Response, Infallible>>;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, _: http::Request<Body>) -> Self::Future {
        std::future::pending()
    }
}

fn about(service: &str) -> HealthCheckRequest {
    HealthCheckRequest { service: service.to_owned() }
}

#[tokio::test]
async fn health_names_the_process_readiness_and_every_service() {
    let server = start(1).await;
    let mut client = health(server.address).await;
    for service in ["", "readiness", "tenths.v1.StockService", "tenths.v1.TransferService"] {
        let answer = client.check(about(service)).await.unwrap().into_inner();
        assert_eq!(answer.status(), ServingStatus::Serving, "{service:?}");
    }
    let unknown = client.check(about("tenths.v1.Nothing")).await.unwrap_err();
    assert_eq!(unknown.code(), Code::NotFound);
}

#[tokio::test]
async fn a_watch_hears_that_the_server_stops_and_does_not_hold_it_up() {
    let server = start(60).await;
    let mut client = health(server.address).await;
    let mut watch = client.watch(about("readiness")).await.unwrap().into_inner();
    assert_eq!(watch.message().await.unwrap().unwrap().status(), ServingStatus::Serving);
    let told = Instant::now();
    server.stop.send("SIGTERM").await.unwrap();
    assert_eq!(watch.message().await.unwrap().unwrap().status(), ServingStatus::NotServing);
    assert_eq!(watch.message().await.unwrap_err().code(), Code::Unavailable);
    assert_eq!(server.ended.await.unwrap().unwrap(), Ended::Stopped);
    assert!(
        told.elapsed() < Duration::from_secs(20),
        "it waited for the watch: {:?}",
        told.elapsed()
    );
    assert!(connect(server.address).await.is_err(), "it still listens");
    drop(server.folder);
}

#[tokio::test]
async fn an_idle_import_is_told_when_the_drain_is_over() {
    let folder = tempfile::tempdir().unwrap();
    let given = Overrides { drain_seconds: Some(1), ..settings(folder.path()) };
    let waiting: fn(App) -> Routes = |_| Routes::default().add_service(WaitingTransfer);
    let server = start_with(folder, Config::resolve(given).unwrap(), waiting).await;
    let mut client = TransferServiceClient::new(connect(server.address).await.unwrap());
    let import = tokio::spawn(async move {
        client.import_rows(futures::stream::pending()).await.map(drop).unwrap_err()
    });
    tokio::time::sleep(Duration::from_millis(200)).await;
    server.stop.send("SIGTERM").await.unwrap();
    let status = timeout(Duration::from_secs(20), import).await.expect("it is told").unwrap();
    assert_eq!(status.code(), Code::Unavailable);
    let info = status.get_error_details().error_info().unwrap().clone();
    assert_eq!(info.reason, "SERVER_STOPPING");
    assert_eq!(server.ended.await.unwrap().unwrap(), Ended::Stopped);
}

#[tokio::test]
async fn a_client_that_never_reads_does_not_hold_the_server_up() {
    let server = start(1).await;
    let silent = tokio::net::TcpStream::connect(server.address).await.unwrap();
    silent.writable().await.unwrap();
    silent.try_write(b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n\0\0\0\x04\0\0\0\0\0").unwrap();
    tokio::time::sleep(Duration::from_millis(50)).await;
    let told = Instant::now();
    server.stop.send("SIGTERM").await.unwrap();
    assert_eq!(server.ended.await.unwrap().unwrap(), Ended::Stopped);
    assert!(
        told.elapsed() < Duration::from_secs(20),
        "drain 1 s, farewell 1 s: {:?}",
        told.elapsed()
    );
    drop(silent);
}

#[tokio::test]
async fn a_second_request_to_stop_ends_at_once() {
    let server = start(60).await;
    let silent = tokio::net::TcpStream::connect(server.address).await.unwrap();
    silent.writable().await.unwrap();
    silent.try_write(b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n\0\0\0\x04\0\0\0\0\0").unwrap();
    tokio::time::sleep(Duration::from_millis(50)).await;
    let told = Instant::now();
    server.stop.send("SIGTERM").await.unwrap();
    server.stop.send("SIGTERM").await.unwrap();
    assert_eq!(server.ended.await.unwrap().unwrap(), Ended::AtOnce);
    assert!(told.elapsed() < Duration::from_secs(20), "it drained: {:?}", told.elapsed());
    drop(silent);
}

#[tokio::test]
async fn an_address_in_use_is_named() {
    let server = start(1).await;
    let other = tempfile::tempdir().unwrap();
    let listen = Some(server.address.to_string());
    let config = Config::resolve(Overrides { listen, ..settings(other.path()) }).unwrap();
    let (_stop, signals) = Signals::manual();
    let refused = run(&config, signals).await.unwrap_err();
    assert_eq!(refused.to_string(), format!("cannot listen on {}", server.address));
    assert!(!other.path().join("shop.db").exists(), "no database is made in vain");
}

#[tokio::test]
async fn no_migrate_refuses_a_schema_that_is_behind_and_takes_one_that_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let insisting = Overrides { no_migrate: Some(true), ..settings(folder.path()) };
    let config = Config::resolve(insisting).unwrap();
    let (_stop, signals) = Signals::manual();
    let refused = run(&config, signals).await.unwrap_err();
    assert!(matches!(refused, ServeError::Pending(1..)), "{refused}");
    assert!(refused.to_string().contains("tenthsd migrate"), "{refused}");

    let store = Store::open(config.database().unwrap()).await.unwrap();
    store.migrate().await.unwrap();
    store.close().await;
    let server = start_with(folder, config, crate::grpc::routes).await;
    server.stop.send("SIGTERM").await.unwrap();
    assert_eq!(server.ended.await.unwrap().unwrap(), Ended::Stopped);
}

#[tokio::test]
async fn a_request_to_stop_before_listening_is_heard() {
    let folder = tempfile::tempdir().unwrap();
    let config = Config::resolve(settings(folder.path())).unwrap();
    let (stop, signals) = Signals::manual();
    stop.send("SIGTERM").await.unwrap();
    assert_eq!(run(&config, signals).await.unwrap(), Ended::Stopped);
    assert!(!folder.path().join("port").exists(), "it never listened");
}
