//! One shop, from its empty database to its report.

use std::error::Error;
use std::sync::Arc;
use std::time::{Duration, Instant};

use futures::future::try_join_all;
use prost::bytes::Bytes;
use tenths_tests::{Clients, Database, Server, run_tenthsd};
use tonic::client::Grpc;
use tonic::transport::Channel;

use crate::arguments::{Arguments, Kind};
use crate::catalogue::{self, Sizes};
use crate::drive::{Asker, Span, Tickets, Timing, asynchronously, on_threads};
use crate::echo::Echo;
use crate::load::{Load, load_postgres, load_sqlite};
use crate::ours;
use crate::questions::{Mix, Question};
use crate::report::{Asked, Report};
use crate::sql::{self, Depth, Parameters};
use crate::wire;

/// What a fallible step of the benchmark answers.
type Outcome<T> = Result<T, Box<dyn Error>>;

/// How long a server may take to start on ten million rows.
const START_MAX: Duration = Duration::from_secs(600);
/// A unary call with next to no payload on the shop's own server.
const HEALTH_CHECK: &str = "/grpc.health.v1.Health/Check";
/// Questions asked before each measurement, so that caches are warm.
const WARM_UP: usize = 100;

/// A shop with its stock, and no server on it.
struct Filled {
    database: Database,
    sizes: Sizes,
    /// Memory of a server on it before there was stock.
    empty_kib: u64,
    loaded: Duration,
}

/// A server on it that has answered once.
struct Started {
    server: Server,
    listening: Duration,
    answering: Duration,
    resident_kib: u64,
}

/// Measures one shop.
///
/// # Errors
/// A database, a file or a process that fails.
pub(crate) async fn shop(arguments: &Arguments, kind: Kind, rows: u64) -> Outcome<Report> {
    let Filled { database, sizes, empty_kib, loaded } = fill(arguments, kind, rows).await?;
    let mix = Mix::new(&sizes, arguments.seed).take(usize::try_from(arguments.questions)?);
    let questions: Vec<Question> = mix.collect();
    let Started { server, listening, answering, resident_kib } =
        start(&database, &questions[0]).await;
    let messages: Arc<Vec<Bytes>> = Arc::new(questions.iter().map(ours::encoded).collect());
    let recorded = record(&server, &messages, arguments.span().most).await;
    let mut asked = served(arguments, &server, &messages).await;
    let after_kib = server.resident_memory_kib();
    asked.insert(1, empty_call(arguments, &database, &recorded).await?);
    // The shop's server has had its turn: SQL gets the machine to itself.
    drop(server);
    let parameters: Arc<Vec<_>> = Arc::new(questions.iter().map(Parameters::of).collect());
    for (name, depth) in [("SQL", Depth::Whole), ("SQL, nearest only", Depth::NearestOnly)] {
        let name = format!("{name}, {}", kind.name());
        let timings = queried(arguments, kind, &database, (&parameters, depth)).await?;
        asked.push(Asked { name, timings });
    }
    Ok(Report {
        rows,
        database: match kind {
            Kind::Sqlite => sql::sqlite_facts(),
            Kind::Postgres => sql::postgres_facts(database.url()).await?,
        },
        loaded,
        listening,
        answering,
        resident_kib: [empty_kib, resident_kib, after_kib],
        payload: payload(&recorded),
        agreed: agreed(kind, &database, &recorded, &parameters).await?,
        asked,
    })
}

/// Makes a shop of so many rows.
async fn fill(arguments: &Arguments, kind: Kind, rows: u64) -> Outcome<Filled> {
    let database = Database::create(kind.database());
    let (sizes, empty_kib) = furnished(&database).await;
    let start = Instant::now();
    let load = Load { sizes: &sizes, rows, seed: arguments.seed };
    match kind {
        Kind::Sqlite => load_sqlite(database.url(), load)?,
        Kind::Postgres => load_postgres(database.url(), load).await?,
    }
    let loaded = start.elapsed();
    if arguments.verify {
        run_tenthsd(&["verify", "--database", database.url()]).succeeded("tenthsd verify");
    }
    Ok(Filled { database, sizes, empty_kib, loaded })
}

/// Starts a server and waits for its first answer.
async fn start(database: &Database, question: &Question) -> Started {
    let start = Instant::now();
    let server = Server::start_within(database, &[], START_MAX);
    let listening = start.elapsed();
    first_answer(&server, question).await;
    let answering = start.elapsed();
    let resident_kib = server.resident_memory_kib();
    Started { server, listening, answering, resident_kib }
}

/// Makes the catalogue; answers with the sizes in it and the memory of a server with no stock.
async fn furnished(database: &Database) -> (Sizes, u64) {
    // Once to make the schema and the catalogue, once more for the memory that an idle start takes.
    let mut server = Server::start(database, &[]);
    let clients = Clients::connect(&server).await;
    let sizes = Sizes::ask(&clients).await;
    catalogue::furnish(&clients, &sizes).await;
    drop(clients);
    server.terminate(Duration::from_secs(20)).expect("an idle server stops when asked to");
    let question = Mix::new(&sizes, 0).next().expect("the mix has no end");
    let Started { mut server, resident_kib, .. } = start(database, &question).await;
    server.terminate(Duration::from_secs(20)).expect("an idle server stops when asked to");
    (sizes, resident_kib)
}

/// Asks until the first answer.
async fn first_answer(server: &Server, question: &Question) {
    let start = Instant::now();
    let mut channels = wire::connections(server.address(), 1).await;
    let mut client = Grpc::new(channels.remove(0));
    let message = ours::encoded(question);
    loop {
        match wire::call(&mut client, ours::PATH, message.clone()).await {
            Ok(_) => return,
            Err(status) => assert!(start.elapsed() < START_MAX, "no first answer: {status}"),
        }
        tokio::time::sleep(Duration::from_millis(2)).await;
    }
}

/// Asks each question once and keeps the bytes, until time runs out.
async fn record(server: &Server, messages: &[Bytes], patience: Duration) -> Vec<(Bytes, Bytes)> {
    let start = Instant::now();
    let mut channels = wire::connections(server.address(), 1).await;
    let mut client = Grpc::new(channels.remove(0));
    let mut recorded = Vec::new();
    for message in messages {
        let answer = wire::call(&mut client, ours::PATH, message.clone()).await;
        recorded.push((message.clone(), answer.expect("an answer to each question")));
        if start.elapsed() >= patience {
            break;
        }
    }
    recorded
}

fn payload(recorded: &[(Bytes, Bytes)]) -> (usize, usize) {
    let mean = |total: usize| total / recorded.len();
    let questions = recorded.iter().map(|(question, _)| question.len()).sum();
    let answers = recorded.iter().map(|(_, answer)| answer.len()).sum();
    (mean(questions), mean(answers))
}

/// Ours, and a health check of the same server.
async fn served(arguments: &Arguments, server: &Server, messages: &Arc<Vec<Bytes>>) -> Vec<Asked> {
    let nothing = Arc::new(vec![Bytes::new(); messages.len()]);
    let address = server.address();
    vec![
        called(arguments, "ours", address, ours::PATH, messages).await,
        called(arguments, "health check of ours", address, HEALTH_CHECK, &nothing).await,
    ]
}

/// The same questions to a server that looks up the recorded answers.
async fn empty_call(
    arguments: &Arguments,
    database: &Database,
    recorded: &[(Bytes, Bytes)],
) -> Outcome<Asked> {
    let echo = Echo::start(&database.folder().join("answers"), recorded)?;
    // Where ours was too slow to answer the whole mix, the answers that there are go round.
    let messages = Arc::new(recorded.iter().map(|(message, _)| message.clone()).collect());
    Ok(called(arguments, "empty call", echo.address(), ours::PATH, &messages).await)
}

/// Calls an rpc of a server with the questions, at each number in flight.
async fn called(
    arguments: &Arguments,
    name: &str,
    address: std::net::SocketAddr,
    path: &'static str,
    messages: &Arc<Vec<Bytes>>,
) -> Asked {
    let mut timings = Vec::new();
    for in_flight in &arguments.in_flight {
        let channels = wire::connections(address, usize::from(*in_flight)).await;
        let askers = || -> Vec<_> {
            let channels = channels.iter().cycle().take(usize::from(*in_flight));
            channels.map(|channel| Caller::new(channel, path, messages)).collect()
        };
        let few = messages.len().min(WARM_UP);
        asynchronously(askers(), Tickets::new(few, warm_up(arguments.span()))).await;
        let tickets = Tickets::new(messages.len(), arguments.span());
        timings.push(asynchronously(askers(), tickets).await);
    }
    Asked { name: name.to_owned(), timings }
}

/// Asks over gRPC.
struct Caller {
    client: Grpc<Channel>,
    path: &'static str,
    messages: Arc<Vec<Bytes>>,
}

impl Caller {
    fn new(channel: &Channel, path: &'static str, messages: &Arc<Vec<Bytes>>) -> Self {
        Self { client: Grpc::new(channel.clone()), path, messages: Arc::clone(messages) }
    }
}

impl Asker for Caller {
    async fn ask(&mut self, number: usize) -> bool {
        let answer = wire::call(&mut self.client, self.path, self.messages[number].clone()).await;
        // An overloaded server refuses, and the table says so.
        answer.is_ok()
    }
}

/// On how many questions SQL counts as many fits as the shop, of how many.
async fn agreed(
    kind: Kind,
    database: &Database,
    recorded: &[(Bytes, Bytes)],
    parameters: &[Parameters],
) -> Outcome<(usize, usize)> {
    // Each count may cost as much as a question: some are enough to see that both ask the same.
    let few = &parameters[..recorded.len().min(WARM_UP * 5)];
    let counts = match kind {
        Kind::Sqlite => sql::sqlite_counts(database.url(), few)?,
        Kind::Postgres => sql::postgres_counts(database.url(), few).await?,
    };
    let mut agreed = 0;
    for (count, (_, answer)) in counts.iter().zip(recorded) {
        agreed += usize::from(ours::fits_seen(answer)? == (*count).min(ours::PAGE));
    }
    Ok((agreed, counts.len()))
}

/// Asks SQL, at each number in flight.
async fn queried(
    arguments: &Arguments,
    kind: Kind,
    database: &Database,
    (parameters, depth): (&Arc<Vec<Parameters>>, Depth),
) -> Outcome<Vec<Timing>> {
    let span = arguments.span();
    let few = parameters.len().min(WARM_UP);
    let rounds = [(few, warm_up(span)), (parameters.len(), span)];
    let mut timings = Vec::new();
    for in_flight in &arguments.in_flight {
        let mut last = None;
        for (questions, span) in rounds {
            let tickets = || Tickets::new(questions, span);
            let url = database.url();
            last = Some(match kind {
                Kind::Sqlite => {
                    let asker = |_| sql::sqlite_asker(url, Arc::clone(parameters), depth);
                    let askers = (0..*in_flight).map(asker).collect::<rusqlite::Result<_>>()?;
                    on_threads(askers, &tickets())
                }
                Kind::Postgres => {
                    let asker = |_| sql::postgres_asker(url, Arc::clone(parameters), depth);
                    let askers = try_join_all((0..*in_flight).map(asker)).await?;
                    asynchronously(askers, tickets()).await
                }
            });
        }
        timings.extend(last);
    }
    Ok(timings)
}

/// As long as the few questions of a warm-up take, but no longer than a measurement.
fn warm_up(span: Span) -> Span {
    Span { least: Duration::ZERO, ..span }
}
