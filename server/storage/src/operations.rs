//! The operations of recon jobs: the route as it was laid out, and what became of each step.

use crate::entities::operations;
use crate::error::StorageError;
use crate::rows::{corrupt, length, lines, named, named_option};
use crate::tx::Tx;
use sea_orm::{
    ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter, QueryOrder,
};
use tenths_domain::ids::{JobId, OperationId};
use tenths_domain::item::Limits;
use tenths_domain::policy::Site;
use tenths_domain::route::{Amount, Machine, Operation, OperationKind, WorkCaution};
use tenths_domain::state::{OperationState, RejectReason};
use tenths_domain::units::Length;

/// One operation of a job.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobOperation {
    /// Row number.
    pub id: OperationId,
    /// The job.
    pub job: JobId,
    /// Its place in the route, from 1.
    pub position: i64,
    /// What is done.
    pub kind: OperationKind,
    /// On what.
    pub machine: Machine,
    /// Jobs of one family share a set-up.
    pub setup_family: String,
    /// Where.
    pub site: Site,
    /// The vendor: the one that the policy names, later the location that it was sent to.
    pub vendor: Option<String>,
    /// The size that it starts from.
    pub from: Option<Length>,
    /// The size that it ends at.
    pub to: Option<Limits>,
    /// How much is taken off or put on, at most.
    pub change: Option<Amount>,
    /// Time of one place without set-up, in minutes.
    pub minutes: Option<i64>,
    /// What to mind.
    pub cautions: Vec<WorkCaution>,
    /// The operation in words.
    pub text: String,
    /// Where it stands.
    pub state: OperationState,
    /// Who worked on it last, or empty.
    pub worker: String,
    /// When it was first started, in Unix microseconds.
    pub started_at: Option<i64>,
    /// When it was last started, while it is.
    pub resumed_at: Option<i64>,
    /// How long it was worked on before that, in microseconds.
    pub worked_micros: i64,
    /// When it ended.
    pub finished_at: Option<i64>,
    /// Whether it was good the first time; none if that is not known yet, or never will be.
    pub passed: Option<bool>,
    /// Why it was rejected.
    pub reject_reason: Option<RejectReason>,
    /// A note, or empty.
    pub note: String,
}

impl Tx {
    /// Adds the route of a job: its first operation is ready, the others wait.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if the job has a route.
    pub async fn insert_operations(
        &self,
        job: JobId,
        route: &[Operation],
    ) -> Result<(), StorageError> {
        let rows = (1..).zip(route).map(|(position, operation)| new_row(job, position, operation));
        if !route.is_empty() {
            operations::Entity::insert_many(rows).exec_without_returning(&self.inner).await?;
        }
        Ok(())
    }

    /// The operations of these jobs, by job and position.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn operations_of(
        &self,
        jobs: impl Into<Vec<JobId>>,
    ) -> Result<Vec<JobOperation>, StorageError> {
        let jobs: Vec<i64> = jobs.into().into_iter().map(|id| id.0).collect();
        let mut rows = self.rows_in::<operations::Entity>(operations::Column::JobId, &jobs).await?;
        rows.sort_by_key(|row| (row.job_id, row.position));
        rows.into_iter().map(operation).collect()
    }

    /// The operation of a job at a position.
    ///
    /// # Errors
    /// As [`Tx::operations_of`]; a job without that operation is corrupt.
    pub async fn operation_at(
        &self,
        job: JobId,
        position: i64,
    ) -> Result<JobOperation, StorageError> {
        let query = operations::Entity::find()
            .filter(operations::Column::JobId.eq(job.0))
            .filter(operations::Column::Position.eq(position))
            .order_by_asc(operations::Column::Id);
        let row = query.one(&self.inner).await?;
        row.map(operation).transpose()?.ok_or_else(|| corrupt("jobs", job.0, "no such operation"))
    }

    /// Saves what became of an operation. Its job's row is the lock: whoever saves an operation
    /// has locked or changes that row too.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn save_operation(&self, saved: &JobOperation) -> Result<(), StorageError> {
        let row = operations::ActiveModel {
            vendor: Set(saved.vendor.clone()),
            state: Set(saved.state.as_str().to_owned()),
            worker: Set(saved.worker.clone()),
            started_at: Set(saved.started_at),
            resumed_at: Set(saved.resumed_at),
            worked_micros: Set(saved.worked_micros),
            finished_at: Set(saved.finished_at),
            passed: Set(saved.passed.map(i64::from)),
            reject_reason: Set(saved.reject_reason.map(|reason| reason.as_str().to_owned())),
            note: Set(saved.note.clone()),
            ..Default::default()
        };
        operations::Entity::update_many()
            .set(row)
            .filter(operations::Column::Id.eq(saved.id.0))
            .exec(&self.inner)
            .await?;
        Ok(())
    }
}

fn new_row(job: JobId, position: i64, operation: &Operation) -> operations::ActiveModel {
    let state = if position == 1 { OperationState::Ready } else { OperationState::Waiting };
    let cautions: Vec<&str> = operation.cautions.iter().map(|one| one.as_str()).collect();
    operations::ActiveModel {
        id: NotSet,
        job_id: Set(job.0),
        position: Set(position),
        kind: Set(operation.kind.as_str().to_owned()),
        machine: Set(operation.machine.as_str().to_owned()),
        setup_family: Set(operation.setup_family.to_owned()),
        site: Set(operation.site.as_str().to_owned()),
        vendor: Set(operation.vendor.clone()),
        from_nm: Set(operation.from.map(Length::nm)),
        to_lower_nm: Set(operation.to.map(|limits| limits.lower.nm())),
        to_upper_nm: Set(operation.to.map(|limits| limits.upper.nm())),
        change_on_diameter_nm: Set(operation.change.map(|amount| amount.on_diameter.nm())),
        minutes: Set(operation.minutes.map(i64::from)),
        cautions: Set(cautions.join("\n")),
        text: Set(operation.text.clone()),
        state: Set(state.as_str().to_owned()),
        worker: Set(String::new()),
        started_at: Set(None),
        resumed_at: Set(None),
        worked_micros: Set(0),
        finished_at: Set(None),
        passed: Set(None),
        reject_reason: Set(None),
        note: Set(String::new()),
    }
}

fn operation(row: operations::Model) -> Result<JobOperation, StorageError> {
    let id = row.id;
    let to = match (length(row.to_lower_nm), length(row.to_upper_nm)) {
        (Some(lower), Some(upper)) => Some(Limits { lower, upper }),
        (None, None) => None,
        _ => return Err(corrupt("operations", id, "half a size")),
    };
    let cautions = lines(&row.cautions);
    let cautions = cautions.iter().map(|one| named("operations", id, one));
    Ok(JobOperation {
        id: OperationId(id),
        job: JobId(row.job_id),
        position: row.position,
        kind: named("operations", id, &row.kind)?,
        machine: named("operations", id, &row.machine)?,
        setup_family: row.setup_family,
        site: named("operations", id, &row.site)?,
        vendor: row.vendor,
        from: length(row.from_nm),
        to,
        change: length(row.change_on_diameter_nm).map(Amount::on_diameter),
        minutes: row.minutes,
        cautions: cautions.collect::<Result<_, StorageError>>()?,
        text: row.text,
        state: named("operations", id, &row.state)?,
        worker: row.worker,
        started_at: row.started_at,
        resumed_at: row.resumed_at,
        worked_micros: row.worked_micros,
        finished_at: row.finished_at,
        passed: row.passed.map(|passed| passed == 1),
        reject_reason: named_option("operations", id, row.reject_reason.as_deref())?,
        note: row.note,
    })
}
