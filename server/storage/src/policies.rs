//! The versions of the shop's policy: kept whole, never changed.

use crate::entities::policies;
use crate::error::StorageError;
use crate::page::Page;
use crate::tx::Tx;
use sea_orm::{
    ActiveModelTrait, ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter,
    QueryOrder, QuerySelect,
};

/// A version of the policy.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PolicyVersion {
    /// Row number; 0 before it is stored.
    pub id: i64,
    /// The version, from 1.
    pub version: i64,
    /// What it says, as it was sent; it means nothing here.
    pub document: Vec<u8>,
    /// Why it was changed.
    pub note: String,
    /// Who put it in force.
    pub person: String,
    /// When, in Unix microseconds.
    pub created_at: i64,
}

impl Tx {
    /// The version in force: the latest. Nothing if the shop has none of its own yet.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn latest_policy(&self) -> Result<Option<PolicyVersion>, StorageError> {
        let query = policies::Entity::find().order_by_desc(policies::Column::Version).limit(1);
        Ok(query.one(&self.inner).await?.map(policy))
    }

    /// A version.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn policy_of_version(
        &self,
        version: i64,
    ) -> Result<Option<PolicyVersion>, StorageError> {
        let query = policies::Entity::find().filter(policies::Column::Version.eq(version));
        Ok(query.one(&self.inner).await?.map(policy))
    }

    /// Versions, oldest first.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn policies_page(&self, page: Page) -> Result<Vec<PolicyVersion>, StorageError> {
        let query = policies::Entity::find()
            .filter(policies::Column::Id.gt(page.after))
            .order_by_asc(policies::Column::Id)
            .limit(page.limit);
        Ok(query.all(&self.inner).await?.into_iter().map(policy).collect())
    }

    /// Adds a version; answers with its number filled in.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if somebody else put the same version in force meanwhile.
    pub async fn insert_policy(
        &self,
        mut new: PolicyVersion,
    ) -> Result<PolicyVersion, StorageError> {
        let row = policies::ActiveModel {
            id: NotSet,
            version: Set(new.version),
            document: Set(new.document.clone()),
            note: Set(new.note.clone()),
            person: Set(new.person.clone()),
            created_at: Set(new.created_at),
        };
        new.id = row.insert(&self.inner).await?.id;
        Ok(new)
    }
}

fn policy(row: policies::Model) -> PolicyVersion {
    PolicyVersion {
        id: row.id,
        version: row.version,
        document: row.document,
        note: row.note,
        person: row.person,
        created_at: row.created_at,
    }
}
