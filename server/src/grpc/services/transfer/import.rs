//! An import: the rows in, the answers out.
//!
//! While rows come in, answers are only offered: a client that sends its whole file before it reads
//! must not be waited for while it waits. What it does not take is kept, and there is little of it:
//! at most the bad rows that are reported. Once the rows are in, the database's transaction waits for
//! no client either; only after it do the answers.

use crate::app::transfer::{BATCH_ROWS_MAX, Finished, Import};
use crate::app::{App, Error};
use crate::grpc::convert::transfer as convert;
use crate::grpc::once::decoded;
use std::collections::VecDeque;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::Duration;
use tenths_proto::v1::import_rows_request::Part;
use tenths_proto::v1::{ImportHeader, ImportRowsRequest, ImportRowsResponse};
use tokio::sync::mpsc::Sender;
use tokio::sync::mpsc::error::TrySendError;
use tokio::time::Instant;
use tonic::{Status, Streaming};

/// How often progress is told.
const PROGRESS_EVERY: Duration = Duration::from_millis(500);

/// Takes a whole import. It ends when the client goes away, and saves nothing if that was before the
/// end of its rows.
pub(super) async fn run(
    app: App,
    rows: Streaming<ImportRowsRequest>,
    answers: Sender<Result<ImportRowsResponse, Status>>,
) {
    let mut answers = Answers { sender: answers, kept: VecDeque::new(), told: Instant::now() };
    if let Err(status) = import(app, rows, &mut answers).await {
        // Nobody is left to be told if this fails.
        let _ = answers.sender.send(Err(status)).await;
    }
}

async fn import(
    app: App,
    mut rows: Streaming<ImportRowsRequest>,
    answers: &mut Answers,
) -> Result<(), Status> {
    let first = next(&mut rows, answers).await?;
    if answers.sender.is_closed() {
        return Ok(());
    }
    let order = convert::import_order(header_in(first)?)?;
    let mut import = Import::begin(app, order).await?;
    while let Some(message) = next(&mut rows, answers).await? {
        let found = import.take(rows_in(message)?).await?;
        answers.kept.extend(found.into_iter().map(convert::bad_row));
        answers.offer();
        answers.progress(import.received(), 0);
    }
    if answers.sender.is_closed() {
        return Ok(());
    }
    let finished = finish(import, answers).await?;
    let summary = match finished {
        Finished::Before(answer) => decoded(&answer)?,
        Finished::Now { summary, bad_rows } => {
            answers.kept.extend(bad_rows.into_iter().map(convert::bad_row));
            convert::summary(summary)
        }
    };
    answers.kept.push_back(convert::ended(summary));
    answers.send_kept().await;
    Ok(())
}

/// The next message; none at the end of the rows, or when nobody waits for an answer any more.
async fn next(
    rows: &mut Streaming<ImportRowsRequest>,
    answers: &Answers,
) -> Result<Option<Part>, Status> {
    let message = tokio::select! {
        biased;
        () = answers.sender.closed() => return Ok(None),
        message = rows.message() => message?,
    };
    let missing = || Error::invalid("part", "the message is empty: send a header or a batch");
    match message {
        Some(message) => Ok(Some(message.part.ok_or_else(missing)?)),
        None => Ok(None),
    }
}

fn header_in(first: Option<Part>) -> Result<ImportHeader, Error> {
    match first {
        Some(Part::Header(header)) => Ok(header),
        Some(Part::Batch(_)) | None => {
            Err(Error::invalid("header", "the header comes first, before any rows"))
        }
    }
}

fn rows_in(message: Part) -> Result<Vec<crate::app::transfer::Row>, Error> {
    match message {
        Part::Batch(batch) if batch.rows.len() > BATCH_ROWS_MAX => {
            let count = batch.rows.len();
            let problem =
                format!("it has {count} rows; at most {BATCH_ROWS_MAX} are allowed in one batch");
            Err(Error::invalid("batch.rows", problem))
        }
        Part::Batch(batch) => Ok(batch.rows.into_iter().map(convert::row).collect()),
        Part::Header(_) => Err(Error::invalid("header", "the header comes once, before the rows")),
    }
}

/// Applies the rows, and tells of progress meanwhile.
async fn finish(import: Import, answers: &mut Answers) -> Result<Finished, Error> {
    let received = import.received();
    let applied = Arc::new(AtomicI64::new(0));
    let mut finishing = std::pin::pin!(import.finish(Arc::clone(&applied)));
    let mut ticks = tokio::time::interval(PROGRESS_EVERY);
    loop {
        tokio::select! {
            biased;
            finished = &mut finishing => return finished,
            _ = ticks.tick() => {
                answers.offer();
                answers.progress(received, applied.load(Ordering::Relaxed));
            }
        }
    }
}

/// Answers on their way to the client.
struct Answers {
    sender: Sender<Result<ImportRowsResponse, Status>>,
    /// What the client has not taken yet.
    kept: VecDeque<ImportRowsResponse>,
    /// When progress was last told.
    told: Instant,
}

impl Answers {
    /// Sends as much as the client takes now.
    fn offer(&mut self) {
        while let Some(answer) = self.kept.pop_front() {
            match self.sender.try_send(Ok(answer)) {
                Ok(()) => {}
                Err(TrySendError::Full(Ok(answer))) => return self.kept.push_front(answer),
                Err(_) => return,
            }
        }
    }

    /// Tells of progress, if it is time and the client takes it now: it will soon be old.
    fn progress(&mut self, received: i64, applied: i64) {
        if self.kept.is_empty() && self.told.elapsed() >= PROGRESS_EVERY {
            let _ = self.sender.try_send(Ok(convert::progress(received, applied)));
            self.told = Instant::now();
        }
    }

    /// Sends everything, at the pace of the client.
    async fn send_kept(&mut self) {
        while let Some(answer) = self.kept.pop_front() {
            if self.sender.send(Ok(answer)).await.is_err() {
                return;
            }
        }
    }
}
