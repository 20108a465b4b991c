//! A server for tests: it notes what was asked, answers every unary rpc with a prepared or an
//! empty message, and takes imports like the real one, without a shop behind it.

use prost::Message;
use prost::bytes::{Buf, BufMut};
use std::collections::BTreeMap;
use std::convert::Infallible;
use std::future::{Future, Ready, ready};
use std::pin::Pin;
use std::sync::{Arc, Mutex};
use std::task::{Context, Poll};
use tenths_proto::v1::import_rows_request::Part;
use tenths_proto::v1::transfer_service_server::{TransferService, TransferServiceServer};
use tenths_proto::v1::{self, ExportRowsRequest, ExportRowsResponse};
use tokio_stream::wrappers::TcpListenerStream;
use tonic::body::Body;
use tonic::codec::{Codec, DecodeBuf, Decoder, EncodeBuf, Encoder};
use tonic::server::{Grpc, NamedService, UnaryService};
use tonic::{Request, Response, Status, Streaming};
use tower::Service;

/// What the double saw, and what it answers.
#[derive(Clone, Default)]
pub(crate) struct ShopDouble(Arc<Mutex<Seen>>);

#[derive(Default)]
struct Seen {
    calls: Vec<(String, Vec<u8>)>,
    answers: BTreeMap<String, Vec<u8>>,
    import_ended: Option<bool>,
    rows_received: i64,
}

impl ShopDouble {
    /// Prepares the answer of an rpc, named as `CatalogueService/GetItem`.
    pub(crate) fn answer(&self, rpc: &str, message: &impl Message) {
        let path = format!("/tenths.v1.{rpc}");
        self.0.lock().unwrap().answers.insert(path, message.encode_to_vec());
    }

    /// The paths and payloads of all calls so far.
    pub(crate) fn calls(&self) -> Vec<(String, Vec<u8>)> {
        self.0.lock().unwrap().calls.clone()
    }

    /// Whether an import came to its end in good order; nothing while it is open.
    pub(crate) fn import_ended(&self) -> Option<bool> {
        self.0.lock().unwrap().import_ended
    }

    /// How many rows of an import have come in.
    pub(crate) fn rows_received(&self) -> i64 {
        self.0.lock().unwrap().rows_received
    }

    /// Serves on a free port until the test ends; gives its address.
    pub(crate) async fn serve(&self) -> String {
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap().to_string();
        let server = tonic::transport::Server::builder()
            .add_service(Catalogue(self.clone()))
            .add_service(Receiving(self.clone()))
            .add_service(Measuring(self.clone()))
            .add_service(Stock(self.clone()))
            .add_service(Finding(self.clone()))
            .add_service(Fits(self.clone()))
            .add_service(Standards(self.clone()))
            .add_service(Assembly(self.clone()))
            .add_service(Reconditioning(self.clone()))
            .add_service(Policies(self.clone()))
            .add_service(Repairs(self.clone()))
            .add_service(Planning(self.clone()))
            .add_service(Rebuilds(self.clone()))
            .add_service(Health(self.clone()))
            .add_service(TransferServiceServer::new(self.clone()));
        tokio::spawn(server.serve_with_incoming(TcpListenerStream::new(listener)));
        address
    }

    fn note(&self, path: &str, payload: Vec<u8>) -> Vec<u8> {
        let mut seen = self.0.lock().unwrap();
        seen.calls.push((path.to_owned(), payload));
        seen.answers.get(path).cloned().unwrap_or_default()
    }
}

/// Messages as the bytes that they are.
#[derive(Clone, Default)]
struct Bytes;

impl Codec for Bytes {
    type Encode = Vec<u8>;
    type Decode = Vec<u8>;
    type Encoder = Bytes;
    type Decoder = Bytes;

    fn encoder(&mut self) -> Bytes {
        Bytes
    }

    fn decoder(&mut self) -> Bytes {
        Bytes
    }
}

impl Encoder for Bytes {
    type Item = Vec<u8>;
    type Error = Status;

    fn encode(&mut self, message: Vec<u8>, buffer: &mut EncodeBuf<'_>) -> Result<(), Status> {
        buffer.put_slice(&message);
        Ok(())
    }
}

impl Decoder for Bytes {
    type Item = Vec<u8>;
    type Error = Status;

    fn decode(&mut self, buffer: &mut DecodeBuf<'_>) -> Result<Option<Vec<u8>>, Status> {
        Ok(Some(buffer.copy_to_bytes(buffer.remaining()).to_vec()))
    }
}

/// One call on its way to [`ShopDouble::note`].
struct Call(ShopDouble, String);

impl UnaryService<Vec<u8>> for Call {
    type Response = Vec<u8>;
    type Future = Ready<Result<Response<Vec<u8>>, Status>>;

    fn call(&mut self, request: Request<Vec<u8>>) -> Self::Future {
        ready(Ok(Response::new(self.0.note(&self.1, request.into_inner()))))
    }
}

macro_rules! services {
    ($($service:ident = $name:literal;)*) => { $(
        #[derive(Clone)]
        struct $service(ShopDouble);

        impl NamedService for $service {
            const NAME: &'static str = $name;
        }

        impl Service<http::Request<Body>> for $service {
            type Response = http::Response<Body>;
            type Error = Infallible;
            type Future = Pin<Box<dyn Future<Output = Result<Self::Response, Infallible>> + Send>>;

            fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
                Poll::Ready(Ok(()))
            }

            fn call(&mut self, request: http::Request<Body>) -> Self::Future {
                let call = Call(self.0.clone(), request.uri().path().to_owned());
                Box::pin(async move { Ok(Grpc::new(Bytes).unary(call, request).await) })
            }
        }
    )* };
}

services! {
    Catalogue = "tenths.v1.CatalogueService";
    Receiving = "tenths.v1.ReceivingService";
    Measuring = "tenths.v1.MeasuringService";
    Stock = "tenths.v1.StockService";
    Finding = "tenths.v1.FindingService";
    Fits = "tenths.v1.FitsService";
    Standards = "tenths.v1.StandardsService";
    Assembly = "tenths.v1.AssemblyService";
    Reconditioning = "tenths.v1.ReconditioningService";
    Policies = "tenths.v1.PolicyService";
    Repairs = "tenths.v1.RepairsService";
    Planning = "tenths.v1.PlanningService";
    Rebuilds = "tenths.v1.RebuildsService";
    Health = "grpc.health.v1.Health";
}

#[tonic::async_trait]
impl TransferService for ShopDouble {
    type ImportRowsStream = tokio_stream::wrappers::ReceiverStream<ImportAnswer>;
    type ExportRowsStream = tokio_stream::Iter<std::vec::IntoIter<ExportAnswer>>;

    async fn import_rows(
        &self,
        request: Request<Streaming<v1::ImportRowsRequest>>,
    ) -> Result<Response<Self::ImportRowsStream>, Status> {
        self.note("/tenths.v1.TransferService/ImportRows", Vec::new());
        let (answers, receiver) = tokio::sync::mpsc::channel(4);
        tokio::spawn(take_rows(self.clone(), request.into_inner(), answers));
        Ok(Response::new(receiver.into()))
    }

    async fn export_rows(
        &self,
        _: Request<ExportRowsRequest>,
    ) -> Result<Response<Self::ExportRowsStream>, Status> {
        self.note("/tenths.v1.TransferService/ExportRows", Vec::new());
        let row = v1::Row { line: 1, values: vec!["L-1".into(), "BRG-05".into()] };
        let columns = vec!["tag".into(), "item".into()];
        let answer = ExportRowsResponse { columns, rows: vec![row] };
        Ok(Response::new(tokio_stream::iter(vec![Ok(answer)])))
    }
}

type ImportAnswer = Result<v1::ImportRowsResponse, Status>;
type ExportAnswer = Result<ExportRowsResponse, Status>;

/// Counts the rows; a row that says "bad" is bad.
async fn take_rows(
    double: ShopDouble,
    mut parts: Streaming<v1::ImportRowsRequest>,
    answers: tokio::sync::mpsc::Sender<ImportAnswer>,
) {
    use v1::import_rows_response::Part as Answer;
    let (mut received, mut bad) = (0, 0);
    loop {
        let part = match parts.message().await {
            Ok(Some(message)) => message.part,
            ended => {
                double.0.lock().unwrap().import_ended = Some(ended.is_ok());
                break;
            }
        };
        let Some(Part::Batch(batch)) = part else { continue };
        received += i64::try_from(batch.rows.len()).unwrap();
        double.0.lock().unwrap().rows_received = received;
        for row in batch.rows.iter().filter(|row| row.values.contains(&"bad".to_owned())) {
            bad += 1;
            let row = v1::BadRow { line: row.line, column: "code".into(), reason: "is bad".into() };
            let _ =
                answers.send(Ok(v1::ImportRowsResponse { part: Some(Answer::BadRow(row)) })).await;
        }
        let progress = v1::ImportProgress { received, applied: received };
        let part = Some(Answer::Progress(progress));
        let _ = answers.send(Ok(v1::ImportRowsResponse { part })).await;
    }
    let saved = if bad == 0 { received } else { 0 };
    let summary = v1::ImportSummary { received, saved, bad, committed: saved > 0 };
    let part = Some(Answer::Summary(summary));
    let _ = answers.send(Ok(v1::ImportRowsResponse { part })).await;
}
