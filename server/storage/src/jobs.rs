//! Recon jobs.

use crate::entities::jobs;
use crate::error::StorageError;
use crate::page::Page;
use crate::rows::{corrupt, length, named, named_option, one_row};
use crate::tx::Tx;
use sea_orm::sea_query::Condition;
use sea_orm::{
    ActiveModelTrait, ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter,
    QueryOrder, QuerySelect,
};
use std::collections::HashMap;
use tenths_domain::ids::{FeatureId, JobId, PieceId, RebuildId};
use tenths_domain::item::Limits;
use tenths_domain::policy::Site;
use tenths_domain::route::Machine;
use tenths_domain::state::{JobOutcome, JobState, Method, ScrapReason};
use tenths_domain::units::{Length, Unit};

/// The operation of a job that is next or in work, as far as claiming needs it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CurrentOperation {
    /// Its position in the route, from 1.
    pub position: i64,
    /// On what it is done.
    pub machine: Machine,
    /// Which set-up it needs.
    pub setup_family: String,
    /// Where it is done.
    pub site: Site,
}

/// One piece's way through reconditioning.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Job {
    /// Row number; 0 before it is stored.
    pub id: JobId,
    /// The tag.
    pub tag: String,
    /// The piece.
    pub piece: PieceId,
    /// The feature to be reconditioned.
    pub feature: FeatureId,
    /// How.
    pub method: Method,
    /// The finished size, if other than the item's limits.
    pub target: Option<Limits>,
    /// The unit that the target was written in.
    pub target_unit: Unit,
    /// Why it was queued.
    pub reason: String,
    /// When it is due, in Unix microseconds.
    pub due_at: Option<i64>,
    /// Where it stands, a lease that ran out not yet noticed.
    pub state: JobState,
    /// Who works on it, or empty.
    pub worker: String,
    /// When the lease ends, in Unix microseconds.
    pub lease_until_at: Option<i64>,
    /// The token of the latest claim; rises with each.
    pub fencing_token: i64,
    /// How often it was claimed.
    pub attempt: i64,
    /// How it ended.
    pub outcome: Option<JobOutcome>,
    /// The reason code, if scrapped.
    pub scrap_reason: Option<ScrapReason>,
    /// The job that it reworks.
    pub rework_of: Option<JobId>,
    /// When it was queued, in Unix microseconds.
    pub created_at: i64,
    /// Version.
    pub revision: i64,
    /// The operation that is next or in work; none once the job has ended.
    pub current: Option<CurrentOperation>,
    /// The size that the route comes to, for the size band of a set-up.
    pub finish_size: Option<Length>,
    /// The rebuild that waits for the piece.
    pub rebuild: Option<RebuildId>,
    /// What of that rebuild's value falls to the piece, in minor units.
    pub value_minor: Option<i64>,
    /// The version of the policy that the route was proposed by.
    pub policy_version: Option<i64>,
    /// Its place in the plan of its machine, from 0; none is behind all that are planned.
    pub plan_rank: Option<i64>,
    /// From when on it goes ahead of every plan, in Unix microseconds.
    pub force_at: Option<i64>,
}

impl Job {
    /// Whether somebody holds a live claim at `now`.
    pub fn is_claimed_at(&self, now: i64) -> bool {
        self.state == JobState::Claimed && self.lease_until_at.is_some_and(|until| until > now)
    }

    /// Where it stands at `now`: a claim whose lease has ended is a queued job again.
    pub fn state_at(&self, now: i64) -> JobState {
        match self.state {
            JobState::Claimed if !self.is_claimed_at(now) => JobState::Queued,
            state => state,
        }
    }
}

impl Tx {
    /// The job of this tag; in a write, locked until the transaction ends.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn job_by_tag(&self, tag: &str) -> Result<Option<Job>, StorageError> {
        let query = self.locked(jobs::Entity::find().filter(jobs::Column::Tag.eq(tag)));
        query.one(&self.inner).await?.map(job).transpose()
    }

    /// These jobs by their numbers; in a write, locked until the transaction ends.
    ///
    /// # Errors
    /// As [`Tx::job_by_tag`].
    pub async fn jobs_by_ids(&self, ids: impl Into<Vec<JobId>>) -> Result<Vec<Job>, StorageError> {
        let ids: Vec<i64> = ids.into().into_iter().map(|id| id.0).collect();
        let query = jobs::Entity::find().filter(jobs::Column::Id.is_in(ids));
        let rows = self.locked(query.order_by_asc(jobs::Column::Id)).all(&self.inner).await?;
        rows.into_iter().map(job).collect()
    }

    /// The open job of a piece, if it has one.
    ///
    /// # Errors
    /// As [`Tx::job_by_tag`].
    pub async fn open_job_of(&self, piece: PieceId) -> Result<Option<Job>, StorageError> {
        let query = jobs::Entity::find()
            .filter(jobs::Column::PieceId.eq(piece.0))
            .filter(jobs::Column::State.ne(JobState::Done.as_str()));
        query.one(&self.inner).await?.map(job).transpose()
    }

    /// The jobs of a piece that have ended, the last first.
    ///
    /// # Errors
    /// As [`Tx::job_by_tag`].
    pub async fn ended_jobs_of(&self, piece: PieceId) -> Result<Vec<Job>, StorageError> {
        let query = jobs::Entity::find()
            .filter(jobs::Column::PieceId.eq(piece.0))
            .filter(jobs::Column::State.eq(JobState::Done.as_str()))
            .order_by_desc(jobs::Column::Id);
        query.all(&self.inner).await?.into_iter().map(job).collect()
    }

    /// How many jobs that have not ended wait for a rebuild's sake.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn open_jobs_for(&self, rebuild: RebuildId) -> Result<i64, StorageError> {
        let sql = "SELECT COUNT(*) FROM jobs WHERE rebuild_id = $1 AND state <> 'done'";
        self.number(sql, [rebuild.0.into()]).await
    }

    /// Jobs in order of queueing, in the state that they have at `now`.
    ///
    /// # Errors
    /// As [`Tx::job_by_tag`].
    pub async fn jobs_page(
        &self,
        page: Page,
        state: Option<JobState>,
        piece: Option<PieceId>,
        now: i64,
    ) -> Result<Vec<Job>, StorageError> {
        let mut query = jobs::Entity::find().filter(jobs::Column::Id.gt(page.after));
        match state {
            None => {}
            Some(JobState::Queued) => query = query.filter(waiting_at(now)),
            Some(JobState::Claimed) => {
                query = query
                    .filter(jobs::Column::State.eq(JobState::Claimed.as_str()))
                    .filter(jobs::Column::LeaseUntilAt.gt(now));
            }
            Some(state @ (JobState::Away | JobState::Done)) => {
                query = query.filter(jobs::Column::State.eq(state.as_str()));
            }
        }
        if let Some(piece) = piece {
            query = query.filter(jobs::Column::PieceId.eq(piece.0));
        }
        let rows = query.order_by_asc(jobs::Column::Id).limit(page.limit).all(&self.inner).await?;
        rows.into_iter().map(job).collect()
    }

    /// The tags of these jobs.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn job_tags(
        &self,
        ids: impl Into<Vec<JobId>>,
    ) -> Result<HashMap<JobId, String>, StorageError> {
        let ids: Vec<i64> = ids.into().into_iter().map(|id| id.0).collect();
        let tags = self.texts::<jobs::Entity>(jobs::Column::Id, jobs::Column::Tag, ids).await?;
        Ok(tags.into_iter().map(|(id, tag)| (JobId(id), tag)).collect())
    }

    /// Adds a job; answers with its number filled in.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if the piece has an open job.
    pub async fn insert_job(&self, mut new: Job) -> Result<Job, StorageError> {
        let mut row = job_row(&new);
        row.id = NotSet;
        new.id = JobId(row.insert(&self.inner).await?.id);
        Ok(new)
    }

    /// Saves a job, guarded by its revision, which rises.
    ///
    /// # Errors
    /// [`StorageError::Conflict`] if it was changed meanwhile.
    pub async fn save_job(&self, job: &mut Job) -> Result<(), StorageError> {
        let mut row = job_row(job);
        row.revision = Set(job.revision + 1);
        let result = jobs::Entity::update_many()
            .set(row)
            .filter(jobs::Column::Id.eq(job.id.0))
            .filter(jobs::Column::Revision.eq(job.revision))
            .exec(&self.inner)
            .await?;
        one_row(&result)?;
        job.revision += 1;
        Ok(())
    }
}

fn waiting_at(now: i64) -> Condition {
    Condition::any().add(jobs::Column::State.eq(JobState::Queued.as_str())).add(
        Condition::all()
            .add(jobs::Column::State.eq(JobState::Claimed.as_str()))
            .add(jobs::Column::LeaseUntilAt.lte(now)),
    )
}

pub(crate) fn job(row: jobs::Model) -> Result<Job, StorageError> {
    let id = row.id;
    let current = current(&row)?;
    let target = match (length(row.target_lower_nm), length(row.target_upper_nm)) {
        (Some(lower), Some(upper)) => Some(Limits { lower, upper }),
        (None, None) => None,
        _ => return Err(corrupt("jobs", id, "half a target")),
    };
    Ok(Job {
        id: JobId(id),
        piece: PieceId(row.piece_id),
        feature: FeatureId(row.feature_id),
        method: named("jobs", id, &row.method)?,
        target,
        target_unit: named("jobs", id, &row.target_unit)?,
        due_at: row.due_at,
        state: named("jobs", id, &row.state)?,
        lease_until_at: row.lease_until_at,
        fencing_token: row.fencing_token,
        attempt: row.attempt,
        outcome: named_option("jobs", id, row.outcome.as_deref())?,
        scrap_reason: named_option("jobs", id, row.scrap_reason.as_deref())?,
        rework_of: row.rework_of.map(JobId),
        tag: row.tag,
        reason: row.reason,
        worker: row.worker,
        created_at: row.created_at,
        revision: row.revision,
        current,
        finish_size: length(row.finish_size_nm),
        rebuild: row.rebuild_id.map(RebuildId),
        value_minor: row.value_minor,
        policy_version: row.policy_version,
        plan_rank: row.plan_rank,
        force_at: row.force_at,
    })
}

fn current(row: &jobs::Model) -> Result<Option<CurrentOperation>, StorageError> {
    match (row.operation_position, &row.machine, &row.setup_family, &row.site) {
        (Some(position), Some(machine), Some(setup_family), Some(site)) => {
            Ok(Some(CurrentOperation {
                position,
                machine: named("jobs", row.id, machine)?,
                setup_family: setup_family.clone(),
                site: named("jobs", row.id, site)?,
            }))
        }
        (None, None, None, None) => Ok(None),
        _ => Err(corrupt("jobs", row.id, "half an operation")),
    }
}

fn job_row(job: &Job) -> jobs::ActiveModel {
    let current = job.current.as_ref();
    jobs::ActiveModel {
        id: Set(job.id.0),
        tag: Set(job.tag.clone()),
        piece_id: Set(job.piece.0),
        feature_id: Set(job.feature.0),
        method: Set(job.method.as_str().to_owned()),
        target_lower_nm: Set(job.target.map(|limits| limits.lower.nm())),
        target_upper_nm: Set(job.target.map(|limits| limits.upper.nm())),
        target_unit: Set(job.target_unit.as_str().to_owned()),
        reason: Set(job.reason.clone()),
        due_at: Set(job.due_at),
        state: Set(job.state.as_str().to_owned()),
        worker: Set(job.worker.clone()),
        lease_until_at: Set(job.lease_until_at),
        fencing_token: Set(job.fencing_token),
        attempt: Set(job.attempt),
        outcome: Set(job.outcome.map(|outcome| outcome.as_str().to_owned())),
        scrap_reason: Set(job.scrap_reason.map(|reason| reason.as_str().to_owned())),
        rework_of: Set(job.rework_of.map(|id| id.0)),
        created_at: Set(job.created_at),
        revision: Set(job.revision),
        operation_position: Set(current.map(|one| one.position)),
        machine: Set(current.map(|one| one.machine.as_str().to_owned())),
        setup_family: Set(current.map(|one| one.setup_family.clone())),
        site: Set(current.map(|one| one.site.as_str().to_owned())),
        finish_size_nm: Set(job.finish_size.map(Length::nm)),
        rebuild_id: Set(job.rebuild.map(|id| id.0)),
        value_minor: Set(job.value_minor),
        policy_version: Set(job.policy_version),
        plan_rank: Set(job.plan_rank),
        force_at: Set(job.force_at),
    }
}
