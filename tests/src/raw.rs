//! Calls of an rpc by its name alone, with an empty message: for tests over every rpc there is.

use prost::bytes::Buf;
use tokio_stream::StreamExt;
use tonic::client::Grpc;
use tonic::codec::{Codec, DecodeBuf, Decoder, EncodeBuf, Encoder};
use tonic::codegen::http::uri::PathAndQuery;
use tonic::{Request, Status};

use crate::Clients;

/// Calls `package.Service/Method` with one empty message and reads its answer to the end.
pub async fn call_with_empty_message(clients: &Clients, rpc: &str) -> Result<(), Status> {
    let path = PathAndQuery::try_from(format!("/{rpc}")).expect("the name of an rpc is a path");
    let mut grpc = Grpc::new(clients.channel());
    grpc.ready().await.map_err(|error| Status::unavailable(error.to_string()))?;
    // One message either way: on the wire a unary call is a stream of one.
    let request = Request::new(tokio_stream::once(()));
    let mut answers = grpc.streaming(request, path, EmptyCodec).await?.into_inner();
    while let Some(answer) = answers.next().await {
        answer?;
    }
    Ok(())
}

/// Writes the message without fields and skips whatever comes back.
#[derive(Clone, Copy, Debug)]
struct EmptyCodec;

impl Codec for EmptyCodec {
    type Encode = ();
    type Decode = ();
    type Encoder = Self;
    type Decoder = Self;

    fn encoder(&mut self) -> Self {
        *self
    }

    fn decoder(&mut self) -> Self {
        *self
    }
}

impl Encoder for EmptyCodec {
    type Item = ();
    type Error = Status;

    fn encode(&mut self, (): (), _buffer: &mut EncodeBuf<'_>) -> Result<(), Status> {
        Ok(())
    }
}

impl Decoder for EmptyCodec {
    type Item = ();
    type Error = Status;

    fn decode(&mut self, buffer: &mut DecodeBuf<'_>) -> Result<Option<()>, Status> {
        buffer.advance(buffer.remaining());
        Ok(Some(()))
    }
}
