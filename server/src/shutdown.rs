//! Being told to stop: once to finish what is in progress, twice to end at once.

use tokio::signal::unix::{SignalKind, signal};
use tokio::sync::mpsc;

/// Requests to stop, in the order in which they came.
#[derive(Debug)]
pub struct Signals {
    received: mpsc::Receiver<&'static str>,
}

impl Signals {
    /// Listens to SIGTERM and SIGINT. From here on they no longer end the process by themselves.
    ///
    /// # Errors
    /// The operating system refuses the handler.
    pub fn install() -> std::io::Result<Self> {
        let (sender, signals) = Self::manual();
        for (kind, name) in
            [(SignalKind::terminate(), "SIGTERM"), (SignalKind::interrupt(), "SIGINT")]
        {
            let mut arrivals = signal(kind)?;
            let sender = sender.clone();
            tokio::spawn(async move {
                while arrivals.recv().await.is_some() {
                    if sender.send(name).await.is_err() {
                        break;
                    }
                }
            });
        }
        Ok(signals)
    }

    /// Requests that are sent by the caller, for a server inside another process.
    #[must_use]
    pub fn manual() -> (mpsc::Sender<&'static str>, Self) {
        let (sender, received) = mpsc::channel(4);
        (sender, Self { received })
    }

    /// The next request; never, once nobody can send any.
    pub async fn next(&mut self) -> &'static str {
        match self.received.recv().await {
            Some(name) => name,
            None => std::future::pending().await,
        }
    }
}
