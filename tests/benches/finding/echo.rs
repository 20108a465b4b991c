//! The empty call: a server that does nothing but look up the recorded answer of a request.
//!
//! It is built from the same parts as `tenthsd` (tonic, the same transport settings, a process of
//! its own, the same allocator and runtime), takes the same request bytes and answers with the same
//! answer bytes, but parses nothing, renders nothing and has no layers. So everything that the shop
//! does for a question, its layers too, counts as the shop's.

use std::collections::HashMap;
use std::convert::Infallible;
use std::env;
use std::fs;
use std::future::{Ready, ready};
use std::io::{self, BufRead, BufReader};
use std::net::{Ipv4Addr, SocketAddr};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use futures::FutureExt;
use futures::future::BoxFuture;
use prost::bytes::Bytes;
use tokio::net::TcpListener;
use tonic::body::Body;
use tonic::codegen::{Service, http};
use tonic::server::{Grpc, NamedService, UnaryService};
use tonic::transport::Server;
use tonic::transport::server::TcpIncoming;
use tonic::{Request, Response, Status};

use crate::ours;
use crate::wire::BytesCodec;

/// Answers by request.
type Answers = HashMap<Bytes, Bytes>;

/// The process that answers; ended when dropped.
pub(crate) struct Echo {
    child: Child,
    address: SocketAddr,
}

impl Echo {
    /// Starts it on recorded answers, which it reads from `file`.
    ///
    /// # Errors
    /// A file that cannot be written, or a process that does not start.
    pub(crate) fn start(file: &Path, answers: &[(Bytes, Bytes)]) -> io::Result<Self> {
        let mut recorded = Vec::new();
        for part in answers.iter().flat_map(|(request, answer)| [request, answer]) {
            recorded.extend(u32::try_from(part.len()).map_err(io::Error::other)?.to_le_bytes());
            recorded.extend_from_slice(part);
        }
        fs::write(file, recorded)?;
        let mut child = Command::new(env::current_exe()?)
            .arg("--echo")
            .arg(file)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .spawn()?;
        let stdout = child.stdout.take().expect("a piped stdout");
        let mut line = String::new();
        // Owned before the wait, so that a process that says nothing is still ended.
        let mut echo = Self { child, address: SocketAddr::from((Ipv4Addr::LOCALHOST, 0)) };
        BufReader::new(stdout).read_line(&mut line)?;
        echo.address = line.trim().parse().map_err(io::Error::other)?;
        Ok(echo)
    }

    /// Where it listens.
    pub(crate) fn address(&self) -> SocketAddr {
        self.address
    }
}

impl Drop for Echo {
    fn drop(&mut self) {
        // Ending a process that has ended already is no failure.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Serves the answers in `file` until it is killed; says where on its standard output.
///
/// # Errors
/// A file that cannot be read, or an address that cannot be bound.
pub(crate) async fn serve(file: &Path) -> io::Result<()> {
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).await?;
    let answers = Arc::new(read(file)?);
    println!("{}", listener.local_addr()?);
    // As server/src/serve/mod.rs sets them.
    Server::builder()
        .http2_keepalive_interval(Some(Duration::from_secs(30)))
        .http2_keepalive_timeout(Some(Duration::from_secs(20)))
        .http2_max_header_list_size(16 * 1024)
        .max_frame_size(64 * 1024)
        .add_service(Recorded(answers))
        .serve_with_incoming(TcpIncoming::from(listener).with_nodelay(Some(true)))
        .await
        .map_err(io::Error::other)
}

fn read(file: &Path) -> io::Result<Answers> {
    let mut rest = Bytes::from(fs::read(file)?);
    let mut part = || {
        (rest.len() >= 4).then(|| {
            let length = rest.split_to(4);
            let length = u32::from_le_bytes([length[0], length[1], length[2], length[3]]);
            rest.split_to(length as usize)
        })
    };
    let mut answers = Answers::new();
    while let (Some(request), Some(answer)) = (part(), part()) {
        answers.insert(request, answer);
    }
    Ok(answers)
}

/// The service with the recorded answers.
#[derive(Clone)]
struct Recorded(Arc<Answers>);

impl NamedService for Recorded {
    const NAME: &'static str = ours::SERVICE;
}

impl Service<http::Request<Body>> for Recorded {
    type Response = http::Response<Body>;
    type Error = Infallible;
    type Future = BoxFuture<'static, Result<Self::Response, Infallible>>;

    fn poll_ready(&mut self, _: &mut Context<'_>) -> Poll<Result<(), Infallible>> {
        Poll::Ready(Ok(()))
    }

    fn call(&mut self, request: http::Request<Body>) -> Self::Future {
        let lookup = self.clone();
        async move { Ok(Grpc::new(BytesCodec).unary(lookup, request).await) }.boxed()
    }
}

impl UnaryService<Bytes> for Recorded {
    type Response = Bytes;
    type Future = Ready<Result<Response<Bytes>, Status>>;

    fn call(&mut self, request: Request<Bytes>) -> Self::Future {
        let answer = self.0.get(request.get_ref()).cloned();
        ready(answer.map(Response::new).ok_or_else(|| Status::not_found("it was not recorded")))
    }
}
