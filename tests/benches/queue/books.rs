//! What the rows of the database say, and the one thing that is done to them behind the server's
//! back.

use tokio_postgres::Client;

use crate::Outcome;
use crate::worker::Abandoned;

/// What the rows say after the fight.
#[derive(Debug)]
pub(crate) struct Books {
    /// Operations that are done or rejected.
    pub(crate) ended: usize,
    /// Acts that ended one: each is a row of `requests` of its own.
    pub(crate) acts: usize,
    /// Jobs whose lease has run out and whose claim still stands.
    pub(crate) stuck: usize,
    /// Jobs that are not done.
    pub(crate) open: usize,
}

/// Now in microseconds, as the rows count.
const NOW: &str = "(extract(epoch FROM clock_timestamp()) * 1000000)::bigint";

impl Books {
    /// Reads them.
    ///
    /// # Errors
    /// A database that does not answer.
    pub(crate) async fn read(sql: &Client) -> Outcome<Self> {
        let stuck = format!("jobs WHERE state = 'claimed' AND lease_until_at <= {NOW}");
        let acts = "requests WHERE method IN ('FinishOperation', 'RejectOperation')";
        Ok(Self {
            ended: count(sql, "operations WHERE state IN ('done', 'rejected')").await?,
            acts: count(sql, acts).await?,
            stuck: count(sql, &stuck).await?,
            open: count(sql, "jobs WHERE state <> 'done'").await?,
        })
    }
}

async fn count(sql: &Client, of: &str) -> Outcome<usize> {
    let row = sql.query_one(&format!("SELECT count(*) FROM {of}"), &[]).await?;
    Ok(usize::try_from(row.get::<_, i64>(0))?)
}

/// Sets the leases of these claims back, so that they have run out a second ago.
///
/// # Errors
/// A database that does not answer.
pub(crate) async fn let_lapse(sql: &Client, claims: &[Abandoned]) -> Outcome<()> {
    let update = format!(
        "UPDATE jobs SET lease_until_at = {NOW} - 1000000
         WHERE tag = $1 AND fencing_token = $2 AND state = 'claimed'"
    );
    for claim in claims {
        sql.execute(&update, &[&claim.tag, &claim.token]).await?;
    }
    Ok(())
}
