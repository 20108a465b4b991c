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
    /// How long each question took that was answered, shortest first.
    latencies: Vec<Duration>,
    /// How many were not answered.
    failed: usize,
}

impl Timing {
    fn new(elapsed: Duration, logs: impl IntoIterator<Item = Log>) -> Self {
        let mut timing = Self { elapsed, latencies: Vec::new(), failed: 0 };
        for log in logs {
            timing.latencies.extend(log.latencies);
            timing.failed += log.failed;
        }
        timing.latencies.sort_unstable();
        timing
    }

    /// How many were answered.
    pub(crate) fn answered(&self) -> usize {
        self.latencies.len()
    }

    /// How many were not.
    pub(crate) fn failed(&self) -> usize {
        self.failed
    }

    /// How many were answered a second.
    pub(crate) fn rate(&self) -> f64 {
        self.answered() as f64 / self.elapsed.as_secs_f64()
    }

    /// The latency that this share of the answers kept to, in milliseconds; not a number if there
    /// was none.
    pub(crate) fn percentile_ms(&self, share: f64) -> f64 {
        let place = (self.answered() as f64 * share).ceil() as usize;
        let latency = self.latencies.get(place.saturating_sub(1));
        latency.map_or(f64::NAN, |latency| latency.as_secs_f64() * 1_000.0)
    }
}

/// What one asker saw.
#[derive(Clone, Debug, Default)]
struct Log {
    latencies: Vec<Duration>,
    failed: usize,
}

impl Log {
    fn note(&mut self, asked: Instant, is_answered: bool) {
        if is_answered {
            self.latencies.push(asked.elapsed());
        } else {
            self.failed += 1;
        }
    }
}

/// How long to ask for.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Span {
    /// The mix is asked again from its start until this has passed: a rate over less is noise.
    pub(crate) least: Duration,
    /// The mix is cut short here.
    pub(crate) most: Duration,
}

/// Hands out the numbers of the questions, all of them at least once if the time allows.
#[derive(Clone)]
pub(crate) struct Tickets {
    next: Arc<AtomicUsize>,
    questions: usize,
    start: Instant,
    span: Span,
}

impl Tickets {
    /// For so many questions.
    pub(crate) fn new(questions: usize, span: Span) -> Self {
        Self { next: Arc::default(), questions, start: Instant::now(), span }
    }

    fn take(&self) -> Option<usize> {
        let elapsed = self.start.elapsed();
        let number = self.next.fetch_add(1, Ordering::Relaxed);
        let is_done = number >= self.questions && elapsed >= self.span.least;
        (elapsed < self.span.most && !is_done).then_some(number % self.questions)
    }
}

/// Something that answers one question at a time, without blocking the thread.
pub(crate) trait Asker: Send + 'static {
    /// Asks the question of this number; whether there was an answer.
    fn ask(&mut self, number: usize) -> impl Future<Output = bool> + Send;
}

/// Asks with one question of each asker in flight.
pub(crate) async fn asynchronously(askers: Vec<impl Asker>, tickets: Tickets) -> Timing {
    let mut tasks = Vec::new();
    for mut asker in askers {
        let tickets = tickets.clone();
        tasks.push(tokio::spawn(async move {
            let mut log = Log::default();
            while let Some(number) = tickets.take() {
                let asked = Instant::now();
                let is_answered = asker.ask(number).await;
                log.note(asked, is_answered);
            }
            log
        }));
    }
    let mut logs = Vec::new();
    for task in tasks {
        logs.push(task.await.expect("an asker does not panic"));
    }
    Timing::new(tickets.start.elapsed(), logs)
}

/// The same for askers that block, each on a thread of its own.
pub(crate) fn on_threads(askers: Vec<impl FnMut(usize) + Send>, tickets: &Tickets) -> Timing {
    let logs: Vec<Log> = thread::scope(|scope| {
        let start = |ask| scope.spawn(|| ask_all(ask, tickets));
        let threads: Vec<_> = askers.into_iter().map(start).collect();
        threads.into_iter().map(|thread| thread.join().expect("SQLite answers")).collect()
    });
    Timing::new(tickets.start.elapsed(), logs)
}

fn ask_all(mut ask: impl FnMut(usize), tickets: &Tickets) -> Log {
    let mut log = Log::default();
    while let Some(number) = tickets.take() {
        let asked = Instant::now();
        ask(number);
        log.note(asked, true);
    }
    log
}
