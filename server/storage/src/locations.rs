//! Places.

use crate::entities::locations;
use crate::error::StorageError;
use crate::page::Page;
use crate::rows::named;
use crate::tx::Tx;
use sea_orm::{
    ActiveModelTrait, ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter,
    QueryOrder, QuerySelect,
};
use std::collections::HashMap;
use tenths_domain::ids::LocationId;
use tenths_domain::state::LocationKind;

/// A place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Location {
    /// Row number; 0 before it is stored.
    pub id: LocationId,
    /// The code.
    pub code: String,
    /// What it is for.
    pub kind: LocationKind,
    /// What it is, in words.
    pub description: String,
    /// When it was created, in Unix microseconds.
    pub created_at: i64,
}

impl Tx {
    /// The location of this code.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn location_by_code(&self, code: &str) -> Result<Option<Location>, StorageError> {
        let query = locations::Entity::find().filter(locations::Column::Code.eq(code));
        query.one(&self.inner).await?.map(location).transpose()
    }

    /// Locations in order of creation.
    ///
    /// # Errors
    /// As [`Tx::location_by_code`].
    pub async fn locations_page(&self, page: Page) -> Result<Vec<Location>, StorageError> {
        let query = locations::Entity::find()
            .filter(locations::Column::Id.gt(page.after))
            .order_by_asc(locations::Column::Id)
            .limit(page.limit);
        query.all(&self.inner).await?.into_iter().map(location).collect()
    }

    /// The codes of these locations.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn location_codes(
        &self,
        ids: impl Into<Vec<LocationId>>,
    ) -> Result<HashMap<LocationId, String>, StorageError> {
        let ids: Vec<i64> = ids.into().into_iter().map(|id| id.0).collect();
        let codes = self
            .texts::<locations::Entity>(locations::Column::Id, locations::Column::Code, ids)
            .await?;
        Ok(codes.into_iter().map(|(id, code)| (LocationId(id), code)).collect())
    }

    /// Adds a location; answers with its number filled in.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if the code is taken.
    pub async fn insert_location(&self, mut new: Location) -> Result<Location, StorageError> {
        let row = locations::ActiveModel {
            id: NotSet,
            code: Set(new.code.clone()),
            kind: Set(new.kind.as_str().to_owned()),
            description: Set(new.description.clone()),
            created_at: Set(new.created_at),
        };
        new.id = LocationId(row.insert(&self.inner).await?.id);
        Ok(new)
    }
}

fn location(row: locations::Model) -> Result<Location, StorageError> {
    Ok(Location {
        id: LocationId(row.id),
        kind: named("locations", row.id, &row.kind)?,
        code: row.code,
        description: row.description,
        created_at: row.created_at,
    })
}
