//! Which job is next. Each question is one look into an index (see migration 000007), so that a
//! long queue costs as a short one.

use crate::entities::jobs;
use crate::error::StorageError;
use crate::jobs::{Job, job};
use crate::tx::Tx;
use sea_orm::{ConnectionTrait, EntityTrait, IdenStatic, Iterable, Statement, Value};
use tenths_domain::route::Machine;

/// Most lapsed claims that one look brings back into the queue; the next look takes the rest.
const LAPSED_MAX: i64 = 100;

/// Held by who counts jobs in work ("queue" in ASCII).
const QUEUE_LOCK: i64 = 0x7175657565;

/// What the indexes of the queue hold; written out, because a partial index is only used where the
/// question says the same in literals.
pub(crate) const WAITS: &str = "state = 'queued' AND site = 'in_house'";
const BY_PLAN: &str = "COALESCE(plan_rank, 9223372036854775807), \
                       COALESCE(due_at, 9223372036854775807), id";

impl Tx {
    /// The job that is next: a forced one first, the earliest first, then in the order of the plan,
    /// then of due dates, then of queueing. Only of `machine` if one is given, and of none of
    /// `full`. It is locked until the end; one that another transaction has locked is passed over.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn next_job(
        &self,
        now: i64,
        machine: Option<Machine>,
        full: &[Machine],
    ) -> Result<Option<Job>, StorageError> {
        let mut among = WAITS.to_owned();
        if let Some(machine) = machine {
            among = format!("{among} AND machine = '{machine}'");
        } else if !full.is_empty() {
            let names: Vec<String> = full.iter().map(|one| format!("'{one}'")).collect();
            among = format!("{among} AND machine NOT IN ({})", names.join(", "));
        }
        let by_force = if machine.is_some() { "machine, force_at, id" } else { "force_at, id" };
        let forced = format!("{among} AND force_at IS NOT NULL AND force_at <= $1");
        if let Some(found) = self.first_job(&forced, by_force, vec![now.into()]).await? {
            return Ok(Some(found));
        }
        let by_machine = format!("machine, {BY_PLAN}");
        let order = if machine.is_some() { by_machine.as_str() } else { BY_PLAN };
        self.first_job(&among, order, Vec::new()).await
    }

    /// The claimed jobs whose lease has ended, locked until the end, a hundred at most; one that
    /// another transaction has locked is passed over.
    ///
    /// # Errors
    /// As [`Tx::next_job`].
    pub async fn lapsed_jobs(&self, now: i64) -> Result<Vec<Job>, StorageError> {
        let among = "state = 'claimed' AND lease_until_at <= $1";
        let sql = self.locking(jobs_sql(among, "lease_until_at", LAPSED_MAX));
        self.jobs_by(&sql, vec![now.into()]).await
    }

    /// The jobs in front of a machine, in the order in which they are done: those that are claimed,
    /// then those that wait, in the order of [`Tx::next_job`]. Nothing is locked.
    ///
    /// # Errors
    /// As [`Tx::next_job`].
    pub async fn jobs_at(
        &self,
        now: i64,
        machine: Machine,
        limit: i64,
    ) -> Result<Vec<Job>, StorageError> {
        let here = format!("machine = '{machine}'");
        let forced = format!("{WAITS} AND {here} AND force_at IS NOT NULL AND force_at <= $1");
        let by_plan = format!("machine, {BY_PLAN}");
        let mut found: Vec<Job> = Vec::new();
        for (among, order, values) in [
            (format!("state = 'claimed' AND {here}"), "lease_until_at, id", Vec::new()),
            (forced, "machine, force_at, id", vec![now.into()]),
            (format!("{WAITS} AND {here}"), by_plan.as_str(), Vec::new()),
        ] {
            for job in self.jobs_by(&jobs_sql(&among, order, limit), values).await? {
                if found.iter().all(|other| other.id != job.id) {
                    found.push(job);
                }
            }
        }
        found.truncate(usize::try_from(limit).unwrap_or_default());
        Ok(found)
    }

    /// How many jobs are under a live claim on each machine that has any.
    ///
    /// # Errors
    /// As [`Tx::next_job`].
    pub async fn claimed_by_machine(&self, now: i64) -> Result<Vec<(Machine, i64)>, StorageError> {
        let sql = "SELECT machine, COUNT(*) FROM jobs WHERE state = 'claimed' \
                   AND lease_until_at > $1 AND machine IS NOT NULL GROUP BY machine";
        let rows: Vec<(String, i64)> = self.tuples(sql, [now.into()]).await?;
        rows.into_iter()
            .map(|(machine, count)| Ok((crate::rows::named("jobs", 0, &machine)?, count)))
            .collect()
    }

    /// Lets one transaction at a time look how many jobs are in work and add one.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn lock_queue(&self) -> Result<(), StorageError> {
        if !self.is_sqlite() {
            let lock = format!("SELECT pg_advisory_xact_lock({QUEUE_LOCK})");
            self.inner.execute_unprepared(&lock).await?;
        }
        Ok(())
    }

    async fn first_job(
        &self,
        among: &str,
        order: &str,
        values: Vec<Value>,
    ) -> Result<Option<Job>, StorageError> {
        let sql = self.locking(jobs_sql(among, order, 1));
        Ok(self.jobs_by(&sql, values).await?.pop())
    }

    /// Locks what a statement finds and passes over what is locked. SQLite has one writer: what it
    /// reads in a write nobody else can take.
    fn locking(&self, sql: String) -> String {
        if self.is_sqlite() { sql } else { sql + " FOR UPDATE SKIP LOCKED" }
    }

    pub(crate) async fn jobs_by(
        &self,
        sql: &str,
        values: Vec<Value>,
    ) -> Result<Vec<Job>, StorageError> {
        let statement = Statement::from_sql_and_values(self.backend(), sql, values);
        let rows = jobs::Entity::find().from_raw_sql(statement).all(&self.inner).await?;
        rows.into_iter().map(job).collect()
    }
}

/// The columns are named: a prepared `SELECT *` would fail once a later migration adds one.
pub(crate) fn jobs_sql(among: &str, order: &str, limit: i64) -> String {
    let columns: Vec<&str> = jobs::Column::iter().map(|column| column.as_str()).collect();
    let columns = columns.join(", ");
    format!("SELECT {columns} FROM jobs WHERE {among} ORDER BY {order} LIMIT {limit}")
}
