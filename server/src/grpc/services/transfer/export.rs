//! An export: pages in, messages out, at the pace of the client.

use crate::app::App;
use crate::app::transfer::Table;
use crate::grpc::convert::transfer as convert;
use tenths_proto::v1::ExportRowsResponse;
use tokio::sync::mpsc::Sender;
use tonic::Status;

/// Sends every row. It ends when the client goes away.
pub(super) async fn run(
    app: App,
    table: Table,
    answers: Sender<Result<ExportRowsResponse, Status>>,
) {
    if let Err(status) = send_all(app, table, &answers).await {
        // Nobody is left to be told if this fails.
        let _ = answers.send(Err(status)).await;
    }
}

async fn send_all(
    app: App,
    table: Table,
    answers: &Sender<Result<ExportRowsResponse, Status>>,
) -> Result<(), Status> {
    let mut columns = Some(convert::columns(table));
    let (mut after, mut line) = (Some(0), 0);
    while let Some(number) = after {
        let page = app.export(table, number).await?;
        after = page.next;
        let mut messages = convert::exported(page.rows, &mut line);
        if messages.is_empty() && columns.is_some() {
            messages.push(ExportRowsResponse::default());
        }
        for mut message in messages {
            message.columns = columns.take().unwrap_or_default();
            if answers.send(Ok(message)).await.is_err() {
                return Ok(());
            }
        }
    }
    Ok(())
}
