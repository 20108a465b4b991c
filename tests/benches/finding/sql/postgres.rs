//! The contestant on PostgreSQL: prepared statements, a connection for each question in flight, the
//! statements of one question sent together, in one round trip.

use std::sync::Arc;

use futures::future::try_join3;
use tokio_postgres::types::ToSql;
use tokio_postgres::{Client, Error, Row, Statement};

use super::{COUNT, Depth, FITS, MISSES, NEAREST, Parameters};
use crate::drive::Asker;
use crate::load::connect_postgres;

/// One connection with its statements.
struct PostgresAsker {
    client: Client,
    statements: Statements,
    questions: Arc<Vec<Parameters>>,
    depth: Depth,
}

struct Statements {
    fits: Statement,
    count: Statement,
    misses: Statement,
    nearest: Statement,
}

/// Connects and prepares.
///
/// # Errors
/// A server that does not answer.
pub(crate) async fn asker(
    url: &str,
    questions: Arc<Vec<Parameters>>,
    depth: Depth,
) -> Result<impl Asker, Error> {
    let client = connect_postgres(url).await?;
    let statements = Statements {
        fits: client.prepare(FITS).await?,
        count: client.prepare(COUNT).await?,
        misses: client.prepare(MISSES).await?,
        nearest: client.prepare(NEAREST).await?,
    };
    Ok(PostgresAsker { client, statements, questions, depth })
}

/// How many fit each question.
///
/// # Errors
/// A server that does not answer.
pub(crate) async fn counts(url: &str, questions: &[Parameters]) -> Result<Vec<i64>, Error> {
    let client = connect_postgres(url).await?;
    let count = client.prepare(COUNT).await?;
    let mut counts = Vec::new();
    for question in questions {
        counts.push(query(&client, &count, question.window()).await?[0].get(0));
    }
    Ok(counts)
}

/// The version and the memory that the server was given, as it says itself.
///
/// # Errors
/// A server that does not answer.
pub(crate) async fn facts(url: &str) -> Result<String, Error> {
    let client = connect_postgres(url).await?;
    let sql = "SELECT 'PostgreSQL ' || current_setting('server_version')
               || ', shared_buffers ' || current_setting('shared_buffers')";
    Ok(client.query_one(sql, &[]).await?.get(0))
}

async fn query<const N: usize>(
    client: &Client,
    statement: &Statement,
    parameters: [i64; N],
) -> Result<Vec<Row>, Error> {
    let parameters: Vec<&(dyn ToSql + Sync)> =
        parameters.iter().map(|number| number as &(dyn ToSql + Sync)).collect();
    client.query(statement, &parameters).await
}

impl Asker for PostgresAsker {
    async fn ask(&mut self, number: usize) -> bool {
        let (client, statements) = (&self.client, &self.statements);
        let question = self.questions[number];
        let answered = match self.depth {
            Depth::Whole => {
                let fits = query(client, &statements.fits, question.fits());
                let count = query(client, &statements.count, question.window());
                let misses = query(client, &statements.misses, question.window());
                try_join3(fits, count, misses).await.map(|(fits, ..)| fits)
            }
            Depth::NearestOnly => query(client, &statements.nearest, question.nearest()).await,
        };
        let fits = answered.expect("PostgreSQL answers");
        assert!(fits.len() <= 20, "no more than were asked for");
        true
    }
}
