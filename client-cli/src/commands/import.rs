//! `tenths import`: a CSV file streamed to the server, at the pace that the server takes it.
//!
//! A fault in the file breaks the call off: an end in good order would mean "save what you have".

use crate::args::Import;
use crate::connect::Session;
use crate::entry::rows::{self, Part};
use crate::failure::{Failure, broken_answer};
use crate::output::{Format, json_of};
use anyhow::Context as _;
use indicatif::{ProgressBar, ProgressStyle};
use serde_json::json;
use std::fs::File;
use std::io::{self, Read};
use std::path::Path;
use std::thread;
use std::time::Duration;
use tenths_proto::v1::import_rows_request::Part as SentPart;
use tenths_proto::v1::import_rows_response::Part as AnswerPart;
use tenths_proto::v1::transfer_service_client::TransferServiceClient;
use tenths_proto::v1::{BadRow, ImportHeader, ImportRowsRequest, ImportSummary, RowBatch};
use tokio::sync::{mpsc, oneshot};
use tokio_stream::wrappers::ReceiverStream;
use tonic::Request;

/// Batches that wait between file and network; with 500 rows each this bounds the memory.
const BATCHES_WAITING_MAX: usize = 4;
/// Bad rows kept for JSON; the server reports no more than these one by one.
const BAD_ROWS_MAX: usize = 1_000;

pub(crate) async fn run(
    session: &mut Session,
    arguments: Import,
    time_limit: Option<Duration>,
) -> Result<(), Failure> {
    let header = ImportHeader {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        kind: arguments.kind.into(),
        columns: Vec::new(),
        dry_run: arguments.dry_run,
        skip_bad_rows: arguments.skip_bad,
    };
    let (source, bar) = open(&arguments.file)?;
    let (sender, receiver) = mpsc::channel(BATCHES_WAITING_MAX);
    let (fault_sender, fault) = oneshot::channel();
    // Not the runtime's own thread pool: it would wait for a terminal that nobody types into.
    thread::spawn(move || send_file(source, &arguments.file, header, sender, fault_sender));
    let mut request = Request::new(ReceiverStream::new(receiver));
    if let Some(limit) = time_limit {
        request.set_timeout(limit);
    }
    let outcome = tokio::select! {
        biased;
        Ok((failure, sender)) = fault => {
            // Never dropped, on purpose: the stream would end in good order and be saved. It is
            // broken off when the program exits.
            std::mem::forget(sender);
            Err(failure)
        }
        outcome = exchange(session, request, &bar) => outcome,
    };
    bar.finish_and_clear();
    let (summary, bad_rows) = outcome?;
    tell(session, &summary, &bad_rows)?;
    if summary.bad > 0 { Err(Failure::BadRows { bad: summary.bad }) } else { Ok(()) }
}

/// The file, or standard input for `-`, and a bar that shows how far it is read.
fn open(path: &Path) -> Result<(Box<dyn Read + Send>, ProgressBar), Failure> {
    if path == Path::new("-") {
        // Nobody knows how long it will be.
        return Ok((Box::new(io::stdin()), ProgressBar::hidden()));
    }
    let refused = || format!("cannot read {}", path.display());
    let file = File::open(path).with_context(refused)?;
    let size = file.metadata().with_context(refused)?.len();
    // Hidden by itself where standard error is no terminal.
    let bar = ProgressBar::new(size);
    if let Ok(style) = ProgressStyle::with_template("[{bar:30}] {percent}% {msg}") {
        bar.set_style(style.progress_chars("=> "));
    }
    Ok((Box::new(bar.wrap_read(file)), bar))
}

/// What is wrong with the file, and the sender that keeps the call from ending in good order.
type Fault = (Failure, mpsc::Sender<ImportRowsRequest>);

/// Reads the file into the channel; a full channel makes it wait, a closed one makes it stop.
fn send_file(
    source: Box<dyn Read + Send>,
    path: &Path,
    header: ImportHeader,
    sender: mpsc::Sender<ImportRowsRequest>,
    fault: oneshot::Sender<Fault>,
) {
    let mut header = Some(header);
    let outcome = rows::read(source, |part| {
        let part = match part {
            Part::Columns(columns) => {
                header.take().map(|header| SentPart::Header(ImportHeader { columns, ..header }))
            }
            Part::Rows(rows) => Some(SentPart::Batch(RowBatch { rows })),
        };
        sender.blocking_send(ImportRowsRequest { part }).is_ok()
    });
    if let Err(error) = outcome.with_context(|| format!("cannot import {}", path.display())) {
        // If nobody listens any more, the call has failed and said why.
        let _ = fault.send((Failure::Local(error), sender));
    }
}

/// Sends the rows and takes what comes back: progress, bad rows, and last the summary.
async fn exchange(
    session: &mut Session,
    request: Request<ReceiverStream<ImportRowsRequest>>,
    bar: &ProgressBar,
) -> Result<(ImportSummary, Vec<BadRow>), Failure> {
    let mut client = TransferServiceClient::new(session.channel());
    let answer = client.import_rows(request).await;
    let mut parts = answer.map_err(|status| session.stream_failed(status))?.into_inner();
    let mut bad_rows = Vec::new();
    loop {
        let message = parts.message().await.map_err(|status| session.stream_failed(status))?;
        match message.and_then(|message| message.part) {
            Some(AnswerPart::Progress(progress)) => bar.set_message(format!(
                "{} rows received, {} applied",
                progress.received, progress.applied
            )),
            Some(AnswerPart::BadRow(row)) => {
                let line = format!("line {}, {}: {}", row.line, row.column, row.reason);
                bar.suspend(|| session.printer.aside(&line))?;
                if bad_rows.len() < BAD_ROWS_MAX {
                    bad_rows.push(row);
                }
            }
            Some(AnswerPart::Summary(summary)) => return Ok((summary, bad_rows)),
            None => return Err(broken_answer("summary")),
        }
    }
}

fn tell(session: &mut Session, summary: &ImportSummary, bad: &[BadRow]) -> Result<(), Failure> {
    if session.printer.format != Format::Json {
        return session.printer.rows(summary, &[""]);
    }
    let row = |row: &BadRow| json!({"line": row.line, "column": row.column, "reason": row.reason});
    let bad_rows: Vec<_> = bad.iter().map(row).collect();
    let summary = json_of(summary)?;
    session.printer.json(&json!({ "summary": summary, "bad_rows": bad_rows }))
}

#[cfg(test)]
mod tests;
