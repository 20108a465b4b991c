//! Several `tenthsd` on one database, of which any may be killed and started again.

use std::sync::{Arc, RwLock};

use tenths_tests::{Chance, Clients, Database, Server};
use tonic::{Code, Response, Status};

/// A call is tried so often, each time on a replica chosen by chance.
const TRIES_MAX: usize = 500;
/// Between two tries.
const PAUSE: std::time::Duration = std::time::Duration::from_millis(20);

/// The servers, and a connection to each.
pub(crate) struct Replicas {
    servers: Vec<Server>,
    doors: Doors,
}

/// The connections; a clone sees what is exchanged later.
#[derive(Clone)]
pub(crate) struct Doors(Arc<RwLock<Vec<Clients>>>);

impl Replicas {
    /// Starts so many.
    pub(crate) async fn start(database: &Database, count: usize) -> Self {
        let servers: Vec<Server> = (0..count).map(|_| Server::start(database, &[])).collect();
        let mut clients = Vec::new();
        for server in &servers {
            clients.push(Clients::connect(server).await);
        }
        Self { servers, doors: Doors(Arc::new(RwLock::new(clients))) }
    }

    /// The way to them.
    pub(crate) fn doors(&self) -> Doors {
        self.doors.clone()
    }

    /// Kills one with SIGKILL and starts another in its place.
    pub(crate) async fn crash(&mut self, number: usize, database: &Database) {
        self.servers[number].kill();
        self.servers[number] = Server::start(database, &[]);
        let clients = Clients::connect(&self.servers[number]).await;
        self.doors.0.write().expect("no holder of the doors panics")[number] = clients;
    }
}

impl Doors {
    /// Calls until a replica answers or refuses: one that is busy, lost a race or went away is
    /// asked again under the same request id, on whichever replica chance says.
    pub(crate) async fn call<T, F>(
        &self,
        chance: &mut Chance,
        call: impl Fn(Clients) -> F,
    ) -> Result<T, Status>
    where
        F: Future<Output = Result<Response<T>, Status>>,
    {
        let mut last = Status::unknown("never tried");
        for _ in 0..TRIES_MAX {
            match call(self.any(chance)).await {
                Ok(answer) => return Ok(answer.into_inner()),
                Err(status) if is_refusal(status.code()) => return Err(status),
                Err(status) => last = status,
            }
            tokio::time::sleep(PAUSE).await;
        }
        Err(last)
    }

    fn any(&self, chance: &mut Chance) -> Clients {
        let clients = self.0.read().expect("no holder of the doors panics");
        let number = chance.below(clients.len() as u64);
        clients[usize::try_from(number).expect("a small number")].clone()
    }
}

/// Whether the shop said no; anything else may be the replica or the connection.
fn is_refusal(code: Code) -> bool {
    matches!(code, Code::FailedPrecondition | Code::InvalidArgument | Code::NotFound)
}
