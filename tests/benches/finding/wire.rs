//! Unary calls whose messages stay bytes: the client's own work is the same for every contestant,
//! and as small as can be.

use std::net::SocketAddr;
use std::time::Duration;

use prost::bytes::{Buf, BufMut, Bytes};
use tonic::client::Grpc;
use tonic::codec::{Codec, DecodeBuf, Decoder, EncodeBuf, Encoder};
use tonic::codegen::http::uri::PathAndQuery;
use tonic::transport::{Channel, Endpoint};
use tonic::{Request, Status};

/// Passes messages through as they are.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct BytesCodec;

impl Codec for BytesCodec {
    type Encode = Bytes;
    type Decode = Bytes;
    type Encoder = Self;
    type Decoder = Self;

    fn encoder(&mut self) -> Self {
        *self
    }

    fn decoder(&mut self) -> Self {
        *self
    }
}

impl Encoder for BytesCodec {
    type Item = Bytes;
    type Error = Status;

    fn encode(&mut self, message: Bytes, buffer: &mut EncodeBuf<'_>) -> Result<(), Status> {
        buffer.put(message);
        Ok(())
    }
}

impl Decoder for BytesCodec {
    type Item = Bytes;
    type Error = Status;

    fn decode(&mut self, buffer: &mut DecodeBuf<'_>) -> Result<Option<Bytes>, Status> {
        Ok(Some(buffer.copy_to_bytes(buffer.remaining())))
    }
}

/// How many questions in flight share a connection: as many as a few busy clerks would have.
const STREAMS_PER_CONNECTION: usize = 8;

/// Opens as many connections as so many questions in flight need.
pub(crate) async fn connections(address: SocketAddr, in_flight: usize) -> Vec<Channel> {
    let mut channels = Vec::new();
    for _ in 0..in_flight.div_ceil(STREAMS_PER_CONNECTION) {
        let endpoint = Endpoint::from_shared(format!("http://{address}"))
            .expect("a loopback address makes a URL")
            .connect_timeout(Duration::from_secs(5))
            .tcp_nodelay(true);
        channels.push(endpoint.connect().await.expect("a server that listens takes a connection"));
    }
    channels
}

/// Calls a unary rpc.
///
/// # Errors
/// What the server answers.
pub(crate) async fn call(
    channel: &mut Grpc<Channel>,
    path: &'static str,
    message: Bytes,
) -> Result<Bytes, Status> {
    channel.ready().await.map_err(|error| Status::unavailable(error.to_string()))?;
    let path = PathAndQuery::from_static(path);
    Ok(channel.unary(Request::new(message), path, BytesCodec).await?.into_inner())
}
