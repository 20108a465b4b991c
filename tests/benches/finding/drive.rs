//! Asks questions with so many in flight, each asked when the one before it is answered, and keeps
//! how long each took.

use std::future::Future;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;
use std::time::{Duration, Instant};

/// What one measurement found.
#[derive(Clone, Debug)]
pub(crate) struct Timing {
    /// How long all of it took.
    elapsed: Duration,
    /// How long each question took, shortest first.
    latencies: Vec<Duration>,
}

impl Timing {
    fn new(elapsed: Duration, mut latencies: Vec<Duration>) -> Self {
        latencies.sort_unstable();
        Self { elapsed, latencies }
    }

    /// How many were asked.
    pub(crate) fn asked(&self) -> usize {
        self.latencies.len()
    }

    /// How many were answered a second.
    pub(crate) fn rate(&self) -> f64 {
        self.asked() as f64 / self.elapsed.as_secs_f64()
    }

    /// The latency that this share of the questions kept to, in milliseconds.
    pub(crate) fn percentile_ms(&self, share: f64) -> f64 {
        let place = (self.asked() as f64 * share).ceil() as usize;
        self.latencies[place.clamp(1, self.asked()) - 1].as_secs_f64() * 1_000.0
    }
}

/// Hands out the numbers of the questions until they or the time run out.
#[derive(Clone)]
pub(crate) struct Tickets {
    next: Arc<AtomicUsize>,
    end: usize,
    start: Instant,
    patience: Duration,
}

impl Tickets {
    /// For so many questions.
    pub(crate) fn new(questions: usize, patience: Duration) -> Self {
        Self { next: Arc::default(), end: questions, start: Instant::now(), patience }
    }

    fn take(&self) -> Option<usize> {
        if self.start.elapsed() >= self.patience {
            return None;
        }
        let number = self.next.fetch_add(1, Ordering::Relaxed);
        (number < self.end).then_some(number)
    }
}

/// Something that answers one question at a time, without blocking the thread.
pub(crate) trait Asker: Send + 'static {
    /// Asks the question of this number; panics if there is no answer.
    fn ask(&mut self, number: usize) -> impl Future<Output = ()> + Send;
}

/// Asks with one question of each asker in flight.
pub(crate) async fn asynchronously(askers: Vec<impl Asker>, tickets: Tickets) -> Timing {
    let start = tickets.start;
    let mut tasks = Vec::new();
    for mut asker in askers {
        let tickets = tickets.clone();
        tasks.push(tokio::spawn(async move {
            let mut latencies = Vec::new();
            while let Some(number) = tickets.take() {
                let asked = Instant::now();
                asker.ask(number).await;
                latencies.push(asked.elapsed());
            }
            latencies
        }));
    }
    let mut latencies = Vec::new();
    for task in tasks {
        latencies.extend(task.await.expect("every question is answered"));
    }
    Timing::new(start.elapsed(), latencies)
}

/// The same for askers that block, each on a thread of its own.
pub(crate) fn on_threads(askers: Vec<impl FnMut(usize) + Send>, tickets: &Tickets) -> Timing {
    let latencies = thread::scope(|scope| {
        let threads: Vec<_> = askers
            .into_iter()
            .map(|mut ask| {
                scope.spawn(move || {
                    let mut latencies = Vec::new();
                    while let Some(number) = tickets.take() {
                        let asked = Instant::now();
                        ask(number);
                        latencies.push(asked.elapsed());
                    }
                    latencies
                })
            })
            .collect();
        let answers = threads.into_iter().map(|thread| thread.join().expect("an answer to each"));
        answers.flatten().collect()
    });
    Timing::new(tickets.start.elapsed(), latencies)
}
