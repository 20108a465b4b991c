//! Rebuilds.

use crate::entities::rebuilds;
use crate::error::StorageError;
use crate::page::Page;
use crate::rows::{money, named, one_row};
use crate::tx::Tx;
use sea_orm::{
    ActiveModelTrait, ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter,
    QueryOrder, QuerySelect,
};
use std::collections::HashMap;
use tenths_domain::ids::{CoreId, RebuildId};
use tenths_domain::money::Money;
use tenths_domain::state::RebuildState;

/// A unit being rebuilt.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rebuild {
    /// Row number; 0 before it is stored.
    pub id: RebuildId,
    /// The tag.
    pub tag: String,
    /// What is being rebuilt, in words.
    pub description: String,
    /// For whom, or empty.
    pub customer: String,
    /// The core that it started from.
    pub core: Option<CoreId>,
    /// When it is due, in Unix microseconds.
    pub due_at: Option<i64>,
    /// Where it stands.
    pub state: RebuildState,
    /// What it is worth to complete it.
    pub value: Option<Money>,
    /// When it was opened, in Unix microseconds.
    pub created_at: i64,
    /// Version.
    pub revision: i64,
}

impl Tx {
    /// The rebuild of this tag; in a write, locked until the transaction ends.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn rebuild_by_tag(&self, tag: &str) -> Result<Option<Rebuild>, StorageError> {
        let query = self.locked(rebuilds::Entity::find().filter(rebuilds::Column::Tag.eq(tag)));
        query.one(&self.inner).await?.map(rebuild).transpose()
    }

    /// Rebuilds in order of opening.
    ///
    /// # Errors
    /// As [`Tx::rebuild_by_tag`].
    pub async fn rebuilds_page(
        &self,
        page: Page,
        state: Option<RebuildState>,
    ) -> Result<Vec<Rebuild>, StorageError> {
        let mut query = rebuilds::Entity::find().filter(rebuilds::Column::Id.gt(page.after));
        if let Some(state) = state {
            query = query.filter(rebuilds::Column::State.eq(state.as_str()));
        }
        let rows =
            query.order_by_asc(rebuilds::Column::Id).limit(page.limit).all(&self.inner).await?;
        rows.into_iter().map(rebuild).collect()
    }

    /// The tags of these rebuilds.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn rebuild_tags(
        &self,
        ids: impl Into<Vec<RebuildId>>,
    ) -> Result<HashMap<RebuildId, String>, StorageError> {
        let ids: Vec<i64> = ids.into().into_iter().map(|id| id.0).collect();
        let tags = self
            .texts::<rebuilds::Entity>(rebuilds::Column::Id, rebuilds::Column::Tag, ids)
            .await?;
        Ok(tags.into_iter().map(|(id, tag)| (RebuildId(id), tag)).collect())
    }

    /// Adds a rebuild; answers with its number filled in.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if the tag was ever used.
    pub async fn insert_rebuild(&self, mut new: Rebuild) -> Result<Rebuild, StorageError> {
        let mut row = rebuild_row(&new);
        row.id = NotSet;
        new.id = RebuildId(row.insert(&self.inner).await?.id);
        Ok(new)
    }

    /// Saves a rebuild, guarded by its revision, which rises.
    ///
    /// # Errors
    /// [`StorageError::Conflict`] if it was changed meanwhile.
    pub async fn save_rebuild(&self, rebuild: &mut Rebuild) -> Result<(), StorageError> {
        let mut row = rebuild_row(rebuild);
        row.revision = Set(rebuild.revision + 1);
        let result = rebuilds::Entity::update_many()
            .set(row)
            .filter(rebuilds::Column::Id.eq(rebuild.id.0))
            .filter(rebuilds::Column::Revision.eq(rebuild.revision))
            .exec(&self.inner)
            .await?;
        one_row(&result)?;
        rebuild.revision += 1;
        Ok(())
    }
}

fn rebuild(row: rebuilds::Model) -> Result<Rebuild, StorageError> {
    let value = money("rebuilds", row.id, row.value_minor, row.value_currency.as_deref())?;
    Ok(Rebuild {
        id: RebuildId(row.id),
        state: named("rebuilds", row.id, &row.state)?,
        tag: row.tag,
        description: row.description,
        customer: row.customer,
        core: row.core_id.map(CoreId),
        due_at: row.due_at,
        value,
        created_at: row.created_at,
        revision: row.revision,
    })
}

fn rebuild_row(rebuild: &Rebuild) -> rebuilds::ActiveModel {
    rebuilds::ActiveModel {
        id: Set(rebuild.id.0),
        tag: Set(rebuild.tag.clone()),
        description: Set(rebuild.description.clone()),
        customer: Set(rebuild.customer.clone()),
        core_id: Set(rebuild.core.map(|id| id.0)),
        due_at: Set(rebuild.due_at),
        state: Set(rebuild.state.as_str().to_owned()),
        created_at: Set(rebuild.created_at),
        revision: Set(rebuild.revision),
        value_minor: Set(rebuild.value.map(|value| value.minor)),
        value_currency: Set(rebuild.value.map(|value| value.currency.as_str().to_owned())),
    }
}
