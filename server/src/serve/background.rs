//! What goes on beside calls: telling whether the database answers, and ending overdue holds.

use crate::app::App;
use std::time::Duration;
use tenths_storage::Store;
use tokio::task::JoinHandle;
use tokio::time::{MissedTickBehavior, interval, timeout};
use tokio_util::sync::CancellationToken;
use tonic_health::ServingStatus;
use tonic_health::server::HealthReporter;

const READINESS_EVERY: Duration = Duration::from_secs(2);
const PING_MAX: Duration = Duration::from_secs(2);
const EXPIRY_EVERY: Duration = Duration::from_secs(5);
/// The process as such: alive, whatever its database does.
const PROCESS: &str = "";
/// The process together with its database.
const READINESS: &str = "readiness";

/// Keeps the health service true.
pub(super) struct Readiness {
    health: Health,
    stop: CancellationToken,
    task: JoinHandle<()>,
}

impl Readiness {
    /// Asks the database once before it returns, so that the first health check is answered truly.
    pub(super) async fn start(
        store: Store,
        reporter: HealthReporter,
        services: Vec<String>,
    ) -> Self {
        let mut health = Health { reporter, services, ready: None };
        health.ask(&store).await;
        let stop = CancellationToken::new();
        let task = tokio::spawn(keep_asking(health.clone(), store, stop.clone()));
        Self { health, stop, task }
    }

    /// Reports NOT_SERVING, and nothing else from then on.
    pub(super) async fn stop(&mut self) {
        self.stop.cancel();
        if let Err(error) = (&mut self.task).await {
            tracing::error!(error = %error, "the readiness task failed");
        }
        self.health.report(false).await;
        self.health.reporter.set_service_status(PROCESS, ServingStatus::NotServing).await;
    }
}

async fn keep_asking(mut health: Health, store: Store, stop: CancellationToken) {
    let mut ticks = interval(READINESS_EVERY);
    ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
    ticks.reset();
    loop {
        let asked = async {
            ticks.tick().await;
            health.ask(&store).await;
        };
        tokio::select! {
            biased;
            () = stop.cancelled() => return,
            () = asked => {}
        }
    }
}

#[derive(Clone)]
struct Health {
    reporter: HealthReporter,
    services: Vec<String>,
    ready: Option<bool>,
}

impl Health {
    async fn ask(&mut self, store: &Store) {
        let failure = match timeout(PING_MAX, store.ping()).await {
            Ok(Ok(())) => None,
            Ok(Err(error)) => Some(with_causes(&error)),
            Err(_) => Some(format!("no answer within {} s", PING_MAX.as_secs())),
        };
        let ready = failure.is_none();
        if self.ready == Some(ready) {
            return;
        }
        match failure {
            None => tracing::info!("ready: the database answers"),
            Some(error) => {
                tracing::warn!(error, "not ready: the database does not answer: {error}")
            }
        }
        self.report(ready).await;
        self.ready = Some(ready);
    }

    async fn report(&self, ready: bool) {
        let status = if ready { ServingStatus::Serving } else { ServingStatus::NotServing };
        self.reporter.set_service_status(READINESS, status).await;
        for service in &self.services {
            self.reporter.set_service_status(service, status).await;
        }
    }
}

/// Ends holds and claims whose time is over.
pub(super) struct Expiry {
    stop: CancellationToken,
    task: JoinHandle<()>,
}

impl Expiry {
    pub(super) fn start(app: App) -> Self {
        let stop = CancellationToken::new();
        let task = tokio::spawn(keep_expiring(app, stop.clone()));
        Self { stop, task }
    }

    /// Waits for a round that has begun.
    pub(super) async fn stop(&mut self) {
        self.stop.cancel();
        if let Err(error) = (&mut self.task).await {
            tracing::error!(error = %error, "the expiry task failed");
        }
    }
}

async fn keep_expiring(app: App, stop: CancellationToken) {
    let mut ticks = interval(EXPIRY_EVERY);
    ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
    let mut failing = false;
    loop {
        tokio::select! {
            biased;
            () = stop.cancelled() => return,
            _ = ticks.tick() => {}
        }
        match app.expire_due().await {
            Ok(0) => failing = false,
            Ok(expired) => {
                failing = false;
                tracing::info!(expired, "ended {expired} overdue holds and claims");
            }
            Err(error) if !failing => {
                failing = true;
                let error = with_causes(&error);
                tracing::warn!(error, "ending overdue holds failed; trying on: {error}");
            }
            Err(error) => tracing::debug!(error = %error, "ending overdue holds still fails"),
        }
    }
}

/// Keeps the stock in memory true.
pub(super) struct Following {
    stop: CancellationToken,
    task: JoinHandle<()>,
}

impl Following {
    /// Loads in the background: other calls are served meanwhile.
    pub(super) fn start(app: App, every: Duration) -> Self {
        let stop = CancellationToken::new();
        let task = tokio::spawn(keep_looking(app, every, stop.clone()));
        Self { stop, task }
    }

    /// Waits for a look that has begun.
    pub(super) async fn stop(&mut self) {
        self.stop.cancel();
        if let Err(error) = (&mut self.task).await {
            tracing::error!(error = %error, "the task that follows the stock failed");
        }
    }
}

async fn keep_looking(app: App, every: Duration, stop: CancellationToken) {
    let mut ticks = interval(every);
    ticks.set_missed_tick_behavior(MissedTickBehavior::Delay);
    let mut failing = false;
    loop {
        tokio::select! {
            biased;
            () = stop.cancelled() => return,
            () = app.feed().hurried() => {}
            _ = ticks.tick() => {}
        }
        let was_ready = app.feed().stand().is_ready;
        let began = std::time::Instant::now();
        match app.look_at_stock().await {
            Ok(()) => {
                let stand = app.feed().stand();
                if failing || !was_ready {
                    let (rows, millis) = (stand.rows, began.elapsed().as_millis() as u64);
                    tracing::info!(
                        rows,
                        millis,
                        "the index is ready: {rows} pieces and lots, {millis} ms"
                    );
                }
                failing = false;
            }
            Err(error) if !failing => {
                failing = true;
                let age = app.feed().stand().age().unwrap_or_default().as_secs();
                let error = with_causes(&error);
                tracing::warn!(
                    error,
                    age,
                    "the index cannot be brought up to date, {age} s old; trying on: {error}"
                );
            }
            Err(error) => {
                let age = app.feed().stand().age().unwrap_or_default().as_secs();
                tracing::debug!(error = %error, age, "the index still cannot be brought up to date");
            }
        }
    }
}

/// An error and what caused it, on one line.
pub(super) fn with_causes(error: &dyn std::error::Error) -> String {
    let causes = std::iter::successors(Some(error), |error| error.source());
    causes.map(ToString::to_string).collect::<Vec<_>>().join(": ")
}
