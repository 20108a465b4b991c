//! A queue of so many jobs: one piece is added and queued through the server, then its rows are
//! copied in the database.

use tenths_proto::v1::{EnqueueJobRequest, Method};
use tenths_tests::{Bench, Clients, Database, DatabaseKind, Server, done, request_id};
use tokio_postgres::{Client, NoTls};

use crate::Outcome;

/// Copies the one piece, its job and the job's operations; `$1` is the number of copies.
const COPIES: [&str; 3] = [
    "INSERT INTO pieces SELECT (jsonb_populate_record(p, jsonb_build_object(
        'id', p.id + n, 'tag', 'COPY-' || n))).*
     FROM pieces p, generate_series(1, $1::bigint) n",
    "INSERT INTO jobs SELECT (jsonb_populate_record(j, jsonb_build_object(
        'id', j.id + n, 'tag', 'JOB-' || n, 'piece_id', j.piece_id + n))).*
     FROM jobs j, generate_series(1, $1::bigint) n",
    "INSERT INTO operations SELECT (jsonb_populate_record(o, jsonb_build_object(
        'id', o.id + n * route.length, 'job_id', o.job_id + n))).*
     FROM operations o,
        (SELECT count(*) AS length FROM operations) route, generate_series(1, $1::bigint) n",
];

/// A filled database, with no server on it.
pub(crate) struct Filled {
    /// For SQL of the benchmark's own.
    pub(crate) sql: Client,
    /// Operations in the route of each job, all done in house.
    pub(crate) route: u32,
    pub(crate) database: Database,
}

/// Makes a database with one job in the queue.
///
/// # Errors
/// A statement that PostgreSQL refuses.
pub(crate) async fn one_job() -> Outcome<Filled> {
    let database = Database::create(DatabaseKind::Postgres);
    let server = Server::start(&database, &[]);
    let bench = Bench::furnished(&Clients::connect(&server).await).await;
    bench.piece("P-0", "SH-25").await;
    enqueue(&bench).await;
    drop(server);
    let (sql, connection) = tokio_postgres::connect(database.url(), NoTls).await?;
    tokio::spawn(async move {
        // It ends with the client.
        let _ = connection.await;
    });
    // Nobody sends these pieces out: every operation is for the workers.
    sql.batch_execute("UPDATE operations SET site = 'in_house'; UPDATE jobs SET site = 'in_house'")
        .await?;
    let route: i64 = sql.query_one("SELECT count(*) FROM operations", &[]).await?.get(0);
    Ok(Filled { sql, route: u32::try_from(route)?, database })
}

/// Queues the piece for the longest route that needs no readings: that of a vendor's work.
async fn enqueue(bench: &Bench) {
    let request = EnqueueJobRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        piece_tag: "P-0".to_owned(),
        feature: "seat-a".to_owned(),
        method: Method::BuildUp.into(),
        reason: "seat worn".to_owned(),
        at_vendor: true,
        ..Default::default()
    };
    done("enqueue_job", bench.clients().reconditioning().enqueue_job(request).await);
}

impl Filled {
    /// Copies the one job until there are so many.
    ///
    /// # Errors
    /// A statement that PostgreSQL refuses.
    pub(crate) async fn copy_to(&self, jobs: u32) -> Outcome<()> {
        for copy in COPIES {
            self.sql.execute(copy, &[&(i64::from(jobs) - 1)]).await?;
        }
        self.sql.batch_execute("VACUUM ANALYZE").await?;
        Ok(())
    }
}
