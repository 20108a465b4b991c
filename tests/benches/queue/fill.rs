//! A queue of so many jobs: one piece is added and queued through the server, then its rows are
//! copied in the database.

use tenths_tests::{Bench, Clients, Database, DatabaseKind, Server};
use tokio_postgres::{Client, NoTls};

use crate::Outcome;

/// Copies the first piece, its job and the job's operations; `$1` is the number of copies.
const COPIES: [&str; 3] = [
    "INSERT INTO pieces SELECT (jsonb_populate_record(p, jsonb_build_object(
        'id', p.id + n, 'tag', 'COPY-' || n))).*
     FROM (SELECT * FROM pieces ORDER BY id LIMIT 1) p, generate_series(1, $1::bigint) n",
    "INSERT INTO jobs SELECT (jsonb_populate_record(j, jsonb_build_object(
        'id', j.id + n, 'tag', 'JOB-' || n, 'piece_id', j.piece_id + n))).*
     FROM (SELECT * FROM jobs ORDER BY id LIMIT 1) j, generate_series(1, $1::bigint) n",
    "INSERT INTO operations SELECT (jsonb_populate_record(o, jsonb_build_object(
        'id', o.id + n * route.length, 'job_id', o.job_id + n))).*
     FROM (SELECT * FROM operations ORDER BY id) o,
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
/// A statement that PostgreSQL refuses, or a route that is not all in house.
pub(crate) async fn one_job() -> Outcome<Filled> {
    let database = Database::create(DatabaseKind::Postgres);
    let server = Server::start(&database, &[]);
    let bench = Bench::furnished(&Clients::connect(&server).await).await;
    bench.piece("P-0", "SH-25").await;
    bench.enqueue("P-0").await;
    drop(server);
    let (sql, connection) = tokio_postgres::connect(database.url(), NoTls).await?;
    tokio::spawn(async move {
        // It ends with the client.
        let _ = connection.await;
    });
    let question = "SELECT count(*), count(*) FILTER (WHERE site = 'in_house') FROM operations";
    let row = sql.query_one(question, &[]).await?;
    let (route, in_house): (i64, i64) = (row.get(0), row.get(1));
    if in_house != route {
        return Err(format!("{in_house} of {route} operations are done in house").into());
    }
    Ok(Filled { sql, route: u32::try_from(route)?, database })
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
