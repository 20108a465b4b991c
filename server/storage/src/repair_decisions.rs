//! What was decided for worn features, beside what was proposed: never changed.

use crate::entities::repair_decisions;
use crate::error::StorageError;
use crate::page::Page;
use crate::tx::Tx;
use sea_orm::{
    ActiveModelTrait, ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter,
    QueryOrder, QuerySelect,
};
use tenths_domain::ids::{FeatureId, JobId, PieceId};

/// A decision for one repair of a worn feature.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RepairDecision {
    /// Row number; 0 before it is stored.
    pub id: i64,
    /// The piece.
    pub piece: PieceId,
    /// The feature.
    pub feature: FeatureId,
    /// How often the feature had been reconditioned.
    pub round: i64,
    /// The version of the policy that it was proposed by; 0 is the built-in one.
    pub policy_version: i64,
    /// What was known beside the readings, as it was sent; it means nothing here.
    pub details: Vec<u8>,
    /// The first of the ranking, by its name.
    pub proposed: String,
    /// What was chosen, by its name.
    pub chosen: String,
    /// What was chosen, in words.
    pub text: String,
    /// Why, or empty.
    pub reason: String,
    /// Who decided.
    pub person: String,
    /// When, in Unix microseconds.
    pub created_at: i64,
    /// The job that it opened.
    pub job: Option<JobId>,
}

impl Tx {
    /// Decisions, oldest first.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn repair_decisions_page(
        &self,
        page: Page,
        piece: Option<PieceId>,
    ) -> Result<Vec<RepairDecision>, StorageError> {
        let mut query =
            repair_decisions::Entity::find().filter(repair_decisions::Column::Id.gt(page.after));
        if let Some(piece) = piece {
            query = query.filter(repair_decisions::Column::PieceId.eq(piece.0));
        }
        let query = query.order_by_asc(repair_decisions::Column::Id).limit(page.limit);
        Ok(query.all(&self.inner).await?.into_iter().map(decision).collect())
    }

    /// Adds a decision; answers with its number filled in.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn insert_repair_decision(
        &self,
        mut new: RepairDecision,
    ) -> Result<RepairDecision, StorageError> {
        let row = repair_decisions::ActiveModel {
            id: NotSet,
            piece_id: Set(new.piece.0),
            feature_id: Set(new.feature.0),
            round: Set(new.round),
            policy_version: Set(new.policy_version),
            details: Set(new.details.clone()),
            proposed: Set(new.proposed.clone()),
            chosen: Set(new.chosen.clone()),
            text: Set(new.text.clone()),
            reason: Set(new.reason.clone()),
            person: Set(new.person.clone()),
            created_at: Set(new.created_at),
            job_id: Set(new.job.map(|job| job.0)),
        };
        new.id = row.insert(&self.inner).await?.id;
        Ok(new)
    }
}

fn decision(row: repair_decisions::Model) -> RepairDecision {
    RepairDecision {
        id: row.id,
        piece: PieceId(row.piece_id),
        feature: FeatureId(row.feature_id),
        round: row.round,
        policy_version: row.policy_version,
        details: row.details,
        proposed: row.proposed,
        chosen: row.chosen,
        text: row.text,
        reason: row.reason,
        person: row.person,
        created_at: row.created_at,
        job: row.job_id.map(JobId),
    }
}
