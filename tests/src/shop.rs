//! A shop of a test's own: a database, a server on it, and typed clients.

use std::collections::BTreeSet;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use tenths_proto::v1::GetIndexStatusRequest;
use tenths_proto::v1::assembly_service_client::AssemblyServiceClient;
use tenths_proto::v1::catalogue_service_client::CatalogueServiceClient;
use tenths_proto::v1::finding_service_client::FindingServiceClient;
use tenths_proto::v1::fits_service_client::FitsServiceClient;
use tenths_proto::v1::measuring_service_client::MeasuringServiceClient;
use tenths_proto::v1::planning_service_client::PlanningServiceClient;
use tenths_proto::v1::policy_service_client::PolicyServiceClient;
use tenths_proto::v1::rebuilds_service_client::RebuildsServiceClient;
use tenths_proto::v1::receiving_service_client::ReceivingServiceClient;
use tenths_proto::v1::reconditioning_service_client::ReconditioningServiceClient;
use tenths_proto::v1::repairs_service_client::RepairsServiceClient;
use tenths_proto::v1::standards_service_client::StandardsServiceClient;
use tenths_proto::v1::stock_service_client::StockServiceClient;
use tenths_proto::v1::transfer_service_client::TransferServiceClient;
use tonic::service::Interceptor;
use tonic::service::interceptor::InterceptedService;
use tonic::transport::{Channel, Endpoint};
use tonic::{GrpcMethod, Request, Status};

use crate::{Database, DatabaseKind, Finished, Server, run_tenths, run_tenthsd};

/// A channel that notes which rpcs were called over it.
pub type Wire = InterceptedService<Channel, Recorder>;

/// Notes the full name of every rpc that is called, for the proof that each one is exercised.
#[derive(Clone, Debug, Default)]
pub struct Recorder(Arc<Mutex<BTreeSet<String>>>);

impl Recorder {
    /// The rpcs called so far, as `tenths.v1.Service/Method`.
    pub fn called(&self) -> BTreeSet<String> {
        self.0.lock().expect("no call panics while it is noted").clone()
    }
}

impl Interceptor for Recorder {
    fn call(&mut self, request: Request<()>) -> Result<Request<()>, Status> {
        if let Some(method) = request.extensions().get::<GrpcMethod<'_>>() {
            let name = format!("{}/{}", method.service(), method.method());
            self.0.lock().expect("no call panics while it is noted").insert(name);
        }
        Ok(request)
    }
}

/// Clients of every service over one connection; a clone may act at the same time.
#[derive(Clone, Debug)]
pub struct Clients {
    channel: Channel,
    recorder: Recorder,
}

macro_rules! clients {
    ($($name:ident: $client:ident),+ $(,)?) => {
        impl Clients {
            $(
                /// A client of the service of this name.
                pub fn $name(&self) -> $client<Wire> {
                    $client::with_interceptor(self.channel.clone(), self.recorder.clone())
                        .max_decoding_message_size(64 << 20)
                }
            )+
        }
    };
}

clients! {
    assembly: AssemblyServiceClient,
    catalogue: CatalogueServiceClient,
    finding: FindingServiceClient,
    fits: FitsServiceClient,
    measuring: MeasuringServiceClient,
    policies: PolicyServiceClient,
    planning: PlanningServiceClient,
    rebuilds: RebuildsServiceClient,
    receiving: ReceivingServiceClient,
    reconditioning: ReconditioningServiceClient,
    repairs: RepairsServiceClient,
    standards: StandardsServiceClient,
    stock: StockServiceClient,
    transfer: TransferServiceClient,
}

impl Clients {
    /// Connects to a server.
    pub async fn connect(server: &Server) -> Self {
        let endpoint = Endpoint::from_shared(format!("http://{}", server.address()))
            .expect("a loopback address makes a URL")
            .connect_timeout(Duration::from_secs(5));
        let channel = endpoint.connect().await.expect("a server that listens takes a connection");
        Self { channel, recorder: Recorder::default() }
    }

    /// The connection itself, for services that are not ours.
    pub fn channel(&self) -> Channel {
        self.channel.clone()
    }

    /// Waits until what is searched was compared with the books after now, so that the next
    /// question sees everything that was answered before.
    pub async fn settle(&self) {
        let since = std::time::Instant::now();
        loop {
            // Taken before the question: what is younger than this began after the call.
            let waited = since.elapsed();
            let status = self.finding().get_index_status(GetIndexStatusRequest {}).await;
            let status = status.expect("the index tells where it stands").into_inner();
            let age = status.freshness.and_then(|fresh| Duration::try_from(fresh.age?).ok());
            if age.is_some_and(|age| age < waited) {
                return;
            }
            assert!(since.elapsed() < Duration::from_secs(20), "the index does not follow");
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
    }

    /// The rpcs called so far over this connection.
    pub fn called(&self) -> BTreeSet<String> {
        self.recorder.called()
    }
}

/// A running shop. The server is stopped before its database goes.
#[derive(Debug)]
pub struct Shop {
    server: Server,
    database: Database,
    clients: Clients,
}

impl Shop {
    /// Starts a server on an empty database of the given kind.
    pub async fn start(kind: DatabaseKind) -> Self {
        Self::start_with(kind, &[]).await
    }

    /// The same with settings of its own, as flags of `tenthsd serve`.
    pub async fn start_with(kind: DatabaseKind, arguments: &[&str]) -> Self {
        let database = Database::create(kind);
        let server = Server::start(&database, arguments);
        let clients = Clients::connect(&server).await;
        Self { server, database, clients }
    }

    /// Starts the server again, on the same database and another port.
    pub async fn restart(&mut self) {
        self.server = Server::start(&self.database, &[]);
        self.clients = Clients::connect(&self.server).await;
    }

    /// The clients.
    pub fn clients(&self) -> &Clients {
        &self.clients
    }

    /// A connection of its own, as another person's program would have.
    pub async fn another_client(&self) -> Clients {
        Clients::connect(&self.server).await
    }

    /// The server's process.
    pub fn server(&self) -> &Server {
        &self.server
    }

    /// The server's process, to be stopped.
    pub fn server_mut(&mut self) -> &mut Server {
        &mut self.server
    }

    /// The database.
    pub fn database(&self) -> &Database {
        &self.database
    }

    /// Runs `tenths` against this shop.
    pub fn tenths(&self, arguments: &[&str]) -> Finished {
        run_tenths(self.server.address(), arguments)
    }

    /// Runs `tenthsd verify` on this shop's database; panics if it finds a broken invariant.
    #[track_caller]
    pub fn verify(&self) -> Finished {
        run_tenthsd(&["verify", "--database", self.database.url()]).succeeded("tenthsd verify")
    }
}
