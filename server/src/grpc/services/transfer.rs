//! Imports and exports: both are conversations, so both are tasks of their own.

mod export;
mod import;
#[cfg(test)]
mod tests;
mod whole;

pub use whole::WholeRequests;

use crate::app::App;
use crate::grpc::convert::transfer as convert;
use tenths_proto::v1 as pb;
use tenths_proto::v1::transfer_service_server::{TransferService, TransferServiceServer};
use tokio::sync::mpsc;
use tokio_stream::wrappers::ReceiverStream;
use tonic::{Request, Response, Status, Streaming};
use tracing::Instrument;

/// The largest message of an import that is decoded: 4 MiB, since a batch is many rows.
const IMPORT_BYTES_MAX: usize = 4 << 20;
/// How many answers wait for a client that reads slowly.
const ANSWERS_WAITING_MAX: usize = 8;

/// Serves imports and exports.
pub struct Transfer {
    app: App,
}

impl Transfer {
    /// The service over these use cases.
    pub fn new(app: App) -> Self {
        Transfer { app }
    }
}

/// The service as it is to be served. Only behind [`WholeRequests`] is a file that broke off told
/// from a file that ended.
pub fn server(app: App) -> WholeRequests<TransferServiceServer<Transfer>> {
    let server = TransferServiceServer::new(Transfer::new(app));
    WholeRequests::new(server.max_decoding_message_size(IMPORT_BYTES_MAX))
}

#[tonic::async_trait]
impl TransferService for Transfer {
    type ImportRowsStream = ReceiverStream<Result<pb::ImportRowsResponse, Status>>;
    type ExportRowsStream = ReceiverStream<Result<pb::ExportRowsResponse, Status>>;

    async fn import_rows(
        &self,
        request: Request<Streaming<pb::ImportRowsRequest>>,
    ) -> Result<Response<Self::ImportRowsStream>, Status> {
        let (answers, waiting) = mpsc::channel(ANSWERS_WAITING_MAX);
        let import = import::run(self.app.clone(), request.into_inner(), answers);
        tokio::spawn(import.in_current_span());
        Ok(Response::new(ReceiverStream::new(waiting)))
    }

    async fn export_rows(
        &self,
        request: Request<pb::ExportRowsRequest>,
    ) -> Result<Response<Self::ExportRowsStream>, Status> {
        let table = convert::export_table(request.get_ref())?;
        let (answers, waiting) = mpsc::channel(ANSWERS_WAITING_MAX);
        tokio::spawn(export::run(self.app.clone(), table, answers).in_current_span());
        Ok(Response::new(ReceiverStream::new(waiting)))
    }
}
