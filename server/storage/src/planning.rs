//! What the plan of a machine is made of, and the plan itself on the jobs.

use crate::error::StorageError;
use crate::jobs::Job;
use crate::queue::{WAITS, jobs_sql};
use crate::rows::{length, money, named};
use crate::tx::Tx;
use sea_orm::{ConnectionTrait, Statement, Value};
use std::collections::HashMap;
use tenths_domain::ids::{JobId, RebuildId};
use tenths_domain::money::Money;
use tenths_domain::policy::Site;
use tenths_domain::route::{Machine, OperationKind};
use tenths_domain::units::Length;

/// How often an operation at one place was good the first time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JudgedOperations {
    /// The operation.
    pub kind: OperationKind,
    /// Where it was done.
    pub site: Site,
    /// The vendor, if one was named.
    pub vendor: Option<String>,
    /// How many were good the first time.
    pub passed: u64,
    /// How many were not.
    pub failed: u64,
}

/// An open rebuild that waits for pieces in reconditioning.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WaitingRebuild {
    /// What it is worth to complete it.
    pub value: Option<Money>,
    /// How many of its pieces are in reconditioning.
    pub missing: u32,
}

/// A job's place in a plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PlannedJob {
    /// The job.
    pub job: JobId,
    /// Its place, from 0.
    pub rank: i64,
    /// From when on it goes ahead of every plan, in Unix microseconds.
    pub force_at: Option<i64>,
}

impl Tx {
    /// How many jobs wait for a machine, and of these the `most` due first, the `most` longest in the
    /// queue and the `most` of most value, each once.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn waiting_on(
        &self,
        machine: Machine,
        now: i64,
        most: u32,
    ) -> Result<(i64, Vec<Job>), StorageError> {
        let here = format!("{WAITS} AND machine = '{machine}'");
        let lapsed =
            format!("state = 'claimed' AND lease_until_at <= $1 AND machine = '{machine}'");
        let most = i64::from(most);
        let lapsed = self.jobs_by(&jobs_sql(&lapsed, "id", most), vec![now.into()]).await?;
        let counted = format!("SELECT COUNT(*) FROM jobs WHERE {here}");
        let waiting = self.number(&counted, []).await? + lapsed.len() as i64;
        let mut found: HashMap<JobId, Job> = lapsed.into_iter().map(|job| (job.id, job)).collect();
        let worth = "COALESCE(value_minor, (SELECT r.value_minor FROM rebuilds r \
                     WHERE r.id = jobs.rebuild_id AND r.state = 'open'), 0) DESC, id";
        for order in ["COALESCE(due_at, 9223372036854775807), id", "id", worth] {
            let jobs = self.jobs_by(&jobs_sql(&here, order, most), Vec::new()).await?;
            found.extend(jobs.into_iter().map(|job| (job.id, job)));
        }
        let mut jobs: Vec<Job> = found.into_values().collect();
        jobs.sort_by_key(|job| job.id);
        Ok((waiting, jobs))
    }

    /// The open rebuilds among these, with how many of their pieces are in reconditioning.
    ///
    /// # Errors
    /// As [`Tx::waiting_on`].
    pub async fn waiting_rebuilds(
        &self,
        ids: impl Into<Vec<RebuildId>>,
    ) -> Result<HashMap<RebuildId, WaitingRebuild>, StorageError> {
        let ids: Vec<i64> = ids.into().into_iter().map(|id| id.0).collect();
        let among = self.among(&ids);
        let sql = format!(
            "SELECT r.id, r.value_minor, r.value_currency, (SELECT COUNT(*) FROM jobs j \
             WHERE j.rebuild_id = r.id AND j.state <> 'done') FROM rebuilds r \
             WHERE r.state = 'open' AND {}",
            among.condition("r.id")
        );
        let rows: Vec<(i64, Option<i64>, Option<String>, i64)> =
            self.tuples(&sql, among.values()).await?;
        let waiting = |(id, minor, currency, missing): (i64, Option<i64>, Option<String>, i64)| {
            let value = money("rebuilds", id, minor, currency.as_deref())?;
            let missing = u32::try_from(missing).unwrap_or(u32::MAX);
            Ok((RebuildId(id), WaitingRebuild { value, missing }))
        };
        rows.into_iter().map(waiting).collect()
    }

    /// How often each operation was good the first time, by operation, site and vendor. Rework is
    /// not the first time.
    ///
    /// # Errors
    /// As [`Tx::waiting_on`].
    pub async fn judged_operations(&self) -> Result<Vec<JudgedOperations>, StorageError> {
        // A sum of BIGINT is NUMERIC on PostgreSQL.
        let sql = "SELECT o.kind, o.site, o.vendor, CAST(SUM(o.passed) AS BIGINT), COUNT(*) \
                   FROM operations o JOIN jobs j ON j.id = o.job_id \
                   WHERE o.passed IS NOT NULL AND j.rework_of IS NULL \
                   GROUP BY o.kind, o.site, o.vendor";
        let rows: Vec<(String, String, Option<String>, i64, i64)> = self.tuples(sql, []).await?;
        let judged = |(kind, site, vendor, passed, all): (String, String, _, i64, i64)| {
            Ok(JudgedOperations {
                kind: named("operations", 0, &kind)?,
                site: named("operations", 0, &site)?,
                vendor,
                passed: u64::try_from(passed).unwrap_or(0),
                failed: u64::try_from(all - passed).unwrap_or(0),
            })
        };
        let mut all: Vec<JudgedOperations> =
            rows.into_iter().map(judged).collect::<Result<_, StorageError>>()?;
        all.sort_by(|a, b| (a.kind, a.site, &a.vendor).cmp(&(b.kind, b.site, &b.vendor)));
        Ok(all)
    }

    /// What a machine was set up for last: the family of the operation started last on it, and the
    /// size that its job finishes at.
    ///
    /// # Errors
    /// As [`Tx::waiting_on`].
    pub async fn last_set_up(
        &self,
        machine: Machine,
    ) -> Result<Option<(String, Option<Length>)>, StorageError> {
        let sql = "SELECT o.setup_family, j.finish_size_nm FROM operations o \
                   JOIN jobs j ON j.id = o.job_id \
                   WHERE o.machine = $1 AND o.site = 'in_house' AND o.started_at IS NOT NULL \
                   ORDER BY o.started_at DESC, o.id DESC LIMIT 1";
        let rows: Vec<(String, Option<i64>)> = self.tuples(sql, [machine.as_str().into()]).await?;
        Ok(rows.into_iter().next().map(|(family, size)| (family, length(size))))
    }

    /// Writes the plan of a machine on its jobs; those that wait and are not in it lose their places,
    /// not their floors.
    /// The caller holds the lock of the queue, so that two plans never meet.
    ///
    /// # Errors
    /// As [`Tx::waiting_on`].
    pub async fn save_plan(
        &self,
        machine: Machine,
        plan: &[PlannedJob],
    ) -> Result<(), StorageError> {
        let ids: Vec<String> = plan.iter().map(|one| one.job.0.to_string()).collect();
        let clear = format!(
            "UPDATE jobs SET plan_rank = NULL, revision = revision + 1 \
             WHERE {WAITS} AND machine = $1 AND plan_rank IS NOT NULL AND id NOT IN ({})",
            if ids.is_empty() { "0".to_owned() } else { ids.join(", ") }
        );
        let values = [Value::from(machine.as_str())];
        self.inner
            .execute_raw(Statement::from_sql_and_values(self.backend(), &clear, values))
            .await?;
        let (rows, values) = self.plan_rows(plan);
        let place = format!(
            "UPDATE jobs SET plan_rank = p.place, force_at = p.forced, revision = revision + 1 \
             FROM ({rows}) AS p WHERE jobs.id = p.job AND jobs.state IN ('queued', 'claimed') \
             AND (plan_rank IS DISTINCT FROM p.place OR force_at IS DISTINCT FROM p.forced)"
        );
        let place = Statement::from_sql_and_values(self.backend(), &place, values);
        self.inner.execute_raw(place).await?;
        Ok(())
    }

    /// The lines of a plan as rows of a statement, in one text however many they are.
    fn plan_rows(&self, plan: &[PlannedJob]) -> (&'static str, Vec<Value>) {
        let shown = |number: Option<i64>, nothing: &str| {
            number.map_or_else(|| nothing.to_owned(), |number| number.to_string())
        };
        if self.is_sqlite() {
            let lines = plan
                .iter()
                .map(|one| format!("[{},{},{}]", one.job.0, one.rank, shown(one.force_at, "null")));
            let text = format!("[{}]", lines.collect::<Vec<_>>().join(","));
            let rows = "SELECT json_extract(value, '$[0]') AS job, \
                        json_extract(value, '$[1]') AS place, \
                        json_extract(value, '$[2]') AS forced FROM json_each($1)";
            return (rows, vec![text.into()]);
        }
        let column = |one: &dyn Fn(&PlannedJob) -> Option<i64>| {
            let cells: Vec<String> = plan.iter().map(|line| shown(one(line), "NULL")).collect();
            Value::from(format!("{{{}}}", cells.join(",")))
        };
        let rows = "SELECT * FROM unnest($1::text::bigint[], $2::text::bigint[], \
                    $3::text::bigint[]) AS u (job, place, forced)";
        let columns = vec![
            column(&|line| Some(line.job.0)),
            column(&|line| Some(line.rank)),
            column(&|line| line.force_at),
        ];
        (rows, columns)
    }
}
