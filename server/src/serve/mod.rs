//! The server from its first port to its last write.
//!
//! Start: bind, open the database, bring it up to date, listen, announce. Stop: report NOT_SERVING,
//! accept nothing more, end endless streams, wait for the rest for a bounded time, end the rest,
//! wait for writes that have begun for a bounded time. Nothing here waits for a client.

use crate::app::{App, Clock};
use crate::config::{Config, ConfigError};
use crate::layers::deadline::DeadlineLayer;
use crate::layers::drain::{DrainLayer, Stopping};
use crate::layers::failure::FailureLayer;
use crate::layers::limit::LimitLayer;
use crate::layers::methods::Methods;
use crate::layers::trace::{Counts, TraceLayer};
use crate::shutdown::Signals;
use background::{Expiry, Following, Readiness};
use std::net::SocketAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use tenths_storage::{StorageError, Store};
use tokio::net::TcpListener;
use tokio::task::JoinHandle;
use tokio::time::timeout;
use tonic::service::Routes;
use tonic::transport::Server;
use tonic::transport::server::TcpIncoming;
use trimming::Trimming;

mod background;

const KEEPALIVE_INTERVAL: Duration = Duration::from_secs(30);
const KEEPALIVE_TIMEOUT: Duration = Duration::from_secs(20);
const HEADER_LIST_BYTES_MAX: u32 = 16 * 1024;
const FRAME_BYTES_MAX: u32 = 64 * 1024;
/// For the statuses of ended calls to reach their clients.
const FAREWELL: Duration = Duration::from_secs(1);
/// For writes that have begun to end.
const CLOSE: Duration = Duration::from_secs(5);

/// How serving ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// After one request to stop: what could be finished was.
    Stopped,
    /// After a second request: at once.
    AtOnce,
}

/// Why the server cannot serve.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The address cannot be bound.
    #[error("cannot listen on {address}")]
    Bind {
        /// The address asked for.
        address: SocketAddr,
        /// Why not, such as that it is in use.
        source: std::io::Error,
    },
    /// A setting is missing.
    #[error(transparent)]
    Config(#[from] ConfigError),
    /// The database cannot be opened or brought up to date.
    #[error("cannot use the database")]
    Storage(#[from] StorageError),
    /// The schema is behind, and `--no-migrate` forbids to change that here.
    #[error("migrations are pending: {0}; run `tenthsd migrate`, or serve without --no-migrate")]
    Pending(usize),
    /// The bound address cannot be told.
    #[error("cannot write the port file {}", path.display())]
    PortFile {
        /// The file.
        path: PathBuf,
        /// Why not.
        source: std::io::Error,
    },
    /// Reflection cannot be offered.
    #[error("cannot offer reflection")]
    Reflection(#[from] tonic_reflection::server::Error),
    /// The transport gave up.
    #[error("serving ended unasked")]
    Transport(#[source] Option<tonic::transport::Error>),
}

/// Serves until told to stop.
///
/// # Errors
/// The server cannot start, or its transport ends by itself.
pub async fn run(config: &Config, signals: Signals) -> Result<Ended, ServeError> {
    run_services(config, signals, crate::grpc::routes).await
}

async fn run_services(
    config: &Config,
    mut signals: Signals,
    services: fn(App) -> Routes,
) -> Result<Ended, ServeError> {
    let listener = bind(config.listen).await?;
    let address = local_address(&listener, config.listen)?;
    let store = tokio::select! {
        prepared = prepare(config) => prepared?,
        // Another process may hold the migration lock for long. A migration that is given up here
        // is rolled back by the database.
        signal = signals.next() => {
            tracing::info!(signal, "{signal} before listening: nothing to finish");
            return Ok(Ended::Stopped);
        }
    };
    let mut running = Running::start(config, listener, store, services).await?;
    if let Some(path) = &config.port_file {
        write_port_file(path, address)?;
    }
    tracing::info!(listen.address = %address, "listening on {address}");
    tokio::select! {
        signal = signals.next() => tracing::info!(signal, "{signal}: stopping"),
        ended = &mut running.transport => {
            return Err(ServeError::Transport(ended.ok().and_then(Result::err)));
        }
    }
    tokio::select! {
        () = running.stop(config.drain()) => Ok(Ended::Stopped),
        signal = signals.next() => {
            tracing::warn!(signal, "{signal} again: ending at once");
            Ok(Ended::AtOnce)
        }
    }
}

async fn bind(address: SocketAddr) -> Result<TcpListener, ServeError> {
    TcpListener::bind(address).await.map_err(|source| ServeError::Bind { address, source })
}

fn local_address(listener: &TcpListener, asked: SocketAddr) -> Result<SocketAddr, ServeError> {
    listener.local_addr().map_err(|source| ServeError::Bind { address: asked, source })
}

/// Opens the database and brings its schema up to date, or insists that it is.
async fn prepare(config: &Config) -> Result<Store, ServeError> {
    let store = Store::open(config.database()?).await?;
    let pending = store.pending_migrations().await?;
    if pending > 0 && config.no_migrate {
        store.close().await;
        return Err(ServeError::Pending(pending));
    }
    if pending > 0 {
        store.migrate().await?;
        tracing::info!(
            migrations = pending,
            "database brought up to date; migrations run: {pending}"
        );
    }
    Ok(store)
}

/// Tells the bound address to whoever waits for the file. The file appears whole or not at all.
fn write_port_file(path: &Path, address: SocketAddr) -> Result<(), ServeError> {
    let mut unfinished = path.as_os_str().to_owned();
    unfinished.push(format!(".{}", std::process::id()));
    std::fs::write(&unfinished, format!("{address}\n"))
        .and_then(|()| std::fs::rename(&unfinished, path))
        .map_err(|source| ServeError::PortFile { path: path.to_owned(), source })
}

/// A server in operation.
struct Running {
    transport: JoinHandle<Result<(), tonic::transport::Error>>,
    readiness: Readiness,
    expiry: Expiry,
    following: Following,
    trimming: Trimming,
    stopping: Stopping,
    counts: Arc<Counts>,
    store: Store,
}

impl Running {
    async fn start(
        config: &Config,
        listener: TcpListener,
        store: Store,
        services: fn(App) -> Routes,
    ) -> Result<Self, ServeError> {
        let app = App::new(store.clone(), Clock::system()).with_policy(config.finding());
        let methods = Methods::served();
        let stopping = Stopping::default();
        let counts = Arc::new(Counts::default());
        let (reporter, health) = tonic_health::server::health_reporter();
        let routes = with_reflection(services(app.clone()).add_service(health))?;
        let readiness = Readiness::start(store.clone(), reporter, methods.shop_services()).await;
        let transport = transport(config, listener, routes, &methods, &stopping, &counts);
        let every = Duration::from_millis(config.index_poll_millis);
        let following = Following::start(app.clone(), every);
        let trimming = Trimming::start(app.clone(), config.trimming());
        let expiry = Expiry::start(app);
        Ok(Self { transport, readiness, expiry, following, trimming, stopping, counts, store })
    }

    /// Ends in bounded time, whatever clients do.
    async fn stop(&mut self, drain: Duration) {
        self.readiness.stop().await;
        self.stopping.begin();
        if timeout(drain, &mut self.transport).await.is_err() {
            let drain_seconds = drain.as_secs();
            tracing::warn!(
                drain_seconds,
                "calls still in progress after {drain_seconds} s end now"
            );
            self.stopping.overdue();
            if timeout(FAREWELL, &mut self.transport).await.is_err() {
                tracing::warn!("a client does not let go of its connection; it is cut");
            }
        }
        let writes_end = async {
            self.expiry.stop().await;
            self.following.stop().await;
            self.trimming.stop().await;
            self.store.close().await;
        };
        if timeout(CLOSE, writes_end).await.is_err() {
            let close_seconds = CLOSE.as_secs();
            tracing::warn!(close_seconds, "the database did not close within {close_seconds} s");
        }
        let (ended, dropped) = (self.counts.ended(), self.counts.dropped());
        tracing::info!(ended, dropped, "stopped after {ended} ended and {dropped} dropped calls");
    }
}

fn with_reflection(routes: Routes) -> Result<Routes, ServeError> {
    let describe = || {
        tonic_reflection::server::Builder::configure()
            .register_encoded_file_descriptor_set(tenths_proto::FILE_DESCRIPTOR_SET)
            .register_encoded_file_descriptor_set(tonic_health::pb::FILE_DESCRIPTOR_SET)
    };
    Ok(routes.add_service(describe().build_v1()?).add_service(describe().build_v1alpha()?))
}

/// Starts to accept connections. The outermost layer comes first.
fn transport(
    config: &Config,
    listener: TcpListener,
    routes: Routes,
    methods: &Methods,
    stopping: &Stopping,
    counts: &Arc<Counts>,
) -> JoinHandle<Result<(), tonic::transport::Error>> {
    let deadline_max = Duration::from_secs(config.deadline_seconds_max);
    let server = Server::builder()
        .http2_keepalive_interval(Some(KEEPALIVE_INTERVAL))
        .http2_keepalive_timeout(Some(KEEPALIVE_TIMEOUT))
        .http2_max_header_list_size(HEADER_LIST_BYTES_MAX)
        .max_frame_size(FRAME_BYTES_MAX)
        .max_concurrent_streams(config.max_streams_per_connection)
        .layer(TraceLayer::new(methods.clone(), Arc::clone(counts)))
        .layer(DrainLayer::new(stopping.clone(), methods.clone()))
        .layer(LimitLayer::new(config.max_in_flight))
        .layer(DeadlineLayer::new(deadline_max, methods.clone()))
        .layer(FailureLayer::new(methods.clone()))
        .add_routes(routes);
    let incoming = TcpIncoming::from(listener).with_nodelay(Some(true));
    tokio::spawn(server.serve_with_incoming_shutdown(incoming, stopping.clone().begun()))
}

#[cfg(test)]
mod tests;
mod trimming;
