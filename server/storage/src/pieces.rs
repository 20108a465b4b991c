//! Tagged pieces and the sizes of their features.

use crate::entities::{piece_sizes, pieces};
use crate::error::StorageError;
use crate::page::Page;
use crate::rows::{corrupt, length, named, named_option, one_row};
use crate::tx::Tx;
use sea_orm::{
    ActiveModelTrait, ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter,
    QueryOrder, QuerySelect,
};
use std::collections::HashMap;
use tenths_domain::ids::{CoreId, FeatureId, ItemId, LocationId, PieceId, RebuildId};
use tenths_domain::item::Limits;
use tenths_domain::state::{BuiltUp, PieceCondition, PieceState};
use tenths_domain::temperature::Material;
use tenths_domain::units::Length;

/// One tagged physical part.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece {
    /// Row number; 0 before it is stored.
    pub id: PieceId,
    /// The tag on it.
    pub tag: String,
    /// What it is one of.
    pub item: ItemId,
    /// The core it came from.
    pub core: Option<CoreId>,
    /// Where it stands.
    pub state: PieceState,
    /// Its condition.
    pub condition: PieceCondition,
    /// Where it is; none once consumed or scrapped.
    pub location: Option<LocationId>,
    /// The rebuild that consumed it.
    pub rebuild: Option<RebuildId>,
    /// Its material, where known to differ from the item's.
    pub material: Option<Material>,
    /// Hardness in words, or empty.
    pub hardness: String,
    /// Whether it was built up before.
    pub built_up: BuiltUp,
    /// A note, or empty.
    pub note: String,
    /// When it was tagged, in Unix microseconds.
    pub created_at: i64,
    /// Version.
    pub revision: i64,
}

/// What the standing readings of the current round say of one feature of a piece.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PieceSize {
    /// Row number; 0 before it is stored.
    pub id: i64,
    /// The piece.
    pub piece: PieceId,
    /// The feature.
    pub feature: FeatureId,
    /// How often the feature was reconditioned.
    pub round: i64,
    /// The limits that it was reconditioned to, if other than the item's.
    pub target: Option<Limits>,
    /// Smallest reading at 20 C.
    pub min: Option<Length>,
    /// Largest reading at 20 C.
    pub max: Option<Length>,
    /// Expanded uncertainty (k=2) of the worst of those readings.
    pub uncertainty: Option<Length>,
    /// How many readings stand.
    pub reading_count: i64,
}

impl PieceSize {
    /// An unmeasured feature.
    pub fn unmeasured(piece: PieceId, feature: FeatureId) -> Self {
        PieceSize {
            id: 0,
            piece,
            feature,
            round: 0,
            target: None,
            min: None,
            max: None,
            uncertainty: None,
            reading_count: 0,
        }
    }
}

impl Tx {
    /// The piece of this tag; in a write, locked until the transaction ends.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn piece_by_tag(&self, tag: &str) -> Result<Option<Piece>, StorageError> {
        let query = self.locked(pieces::Entity::find().filter(pieces::Column::Tag.eq(tag)));
        query.one(&self.inner).await?.map(piece).transpose()
    }

    /// The pieces of these numbers; in a write, locked in the order of their numbers.
    ///
    /// # Errors
    /// As [`Tx::piece_by_tag`].
    pub async fn pieces_by_ids(
        &self,
        ids: impl Into<Vec<PieceId>>,
    ) -> Result<HashMap<PieceId, Piece>, StorageError> {
        let mut ids: Vec<i64> = ids.into().into_iter().map(|id| id.0).collect();
        ids.sort_unstable();
        let mut found = HashMap::new();
        for batch in ids.chunks(500) {
            let query = pieces::Entity::find()
                .filter(pieces::Column::Id.is_in(batch.iter().copied()))
                .order_by_asc(pieces::Column::Id);
            for row in self.locked(query).all(&self.inner).await? {
                found.insert(PieceId(row.id), piece(row)?);
            }
        }
        Ok(found)
    }

    /// Pieces in order of creation.
    ///
    /// # Errors
    /// As [`Tx::piece_by_tag`].
    pub async fn pieces_page(
        &self,
        page: Page,
        state: Option<PieceState>,
        item: Option<ItemId>,
        core: Option<CoreId>,
    ) -> Result<Vec<Piece>, StorageError> {
        let mut query = pieces::Entity::find().filter(pieces::Column::Id.gt(page.after));
        if let Some(state) = state {
            query = query.filter(pieces::Column::State.eq(state.as_str()));
        }
        if let Some(item) = item {
            query = query.filter(pieces::Column::ItemId.eq(item.0));
        }
        if let Some(core) = core {
            query = query.filter(pieces::Column::CoreId.eq(core.0));
        }
        let rows =
            query.order_by_asc(pieces::Column::Id).limit(page.limit).all(&self.inner).await?;
        rows.into_iter().map(piece).collect()
    }

    /// The tags of these pieces.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn piece_tags(
        &self,
        ids: impl Into<Vec<PieceId>>,
    ) -> Result<HashMap<PieceId, String>, StorageError> {
        let ids: Vec<i64> = ids.into().into_iter().map(|id| id.0).collect();
        let tags =
            self.texts::<pieces::Entity>(pieces::Column::Id, pieces::Column::Tag, ids).await?;
        Ok(tags.into_iter().map(|(id, tag)| (PieceId(id), tag)).collect())
    }

    /// Adds a piece; answers with its number filled in.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if the tag was ever used.
    pub async fn insert_piece(&self, mut new: Piece) -> Result<Piece, StorageError> {
        let mut row = piece_row(&new);
        row.id = NotSet;
        new.id = PieceId(row.insert(&self.inner).await?.id);
        Ok(new)
    }

    /// Saves a piece, guarded by its revision, which rises.
    ///
    /// # Errors
    /// [`StorageError::Conflict`] if it was changed meanwhile.
    pub async fn save_piece(&self, piece: &mut Piece) -> Result<(), StorageError> {
        let mut row = piece_row(piece);
        row.revision = Set(piece.revision + 1);
        let result = pieces::Entity::update_many()
            .set(row)
            .filter(pieces::Column::Id.eq(piece.id.0))
            .filter(pieces::Column::Revision.eq(piece.revision))
            .exec(&self.inner)
            .await?;
        one_row(&result)?;
        piece.revision += 1;
        Ok(())
    }

    /// The sizes of these pieces, by piece, in the order of their features.
    ///
    /// # Errors
    /// As [`Tx::piece_by_tag`].
    pub async fn piece_sizes(
        &self,
        ids: impl Into<Vec<PieceId>>,
    ) -> Result<HashMap<PieceId, Vec<PieceSize>>, StorageError> {
        let ids: Vec<i64> = ids.into().into_iter().map(|id| id.0).collect();
        let mut rows =
            self.rows_in::<piece_sizes::Entity>(piece_sizes::Column::PieceId, &ids).await?;
        rows.sort_by_key(|row| row.feature_id);
        let mut sizes: HashMap<PieceId, Vec<PieceSize>> = HashMap::new();
        for row in rows {
            let size = piece_size(row)?;
            sizes.entry(size.piece).or_default().push(size);
        }
        Ok(sizes)
    }

    /// The size of one feature of a piece, or an unmeasured one.
    ///
    /// # Errors
    /// As [`Tx::piece_by_tag`].
    pub async fn piece_size(
        &self,
        piece: PieceId,
        feature: FeatureId,
    ) -> Result<PieceSize, StorageError> {
        let row = piece_sizes::Entity::find()
            .filter(piece_sizes::Column::PieceId.eq(piece.0))
            .filter(piece_sizes::Column::FeatureId.eq(feature.0))
            .one(&self.inner)
            .await?;
        Ok(row
            .map(piece_size)
            .transpose()?
            .unwrap_or_else(|| PieceSize::unmeasured(piece, feature)))
    }

    /// Saves the size of a feature. Its piece must be locked or saved in the same transaction.
    ///
    /// # Errors
    /// [`StorageError::Conflict`] if it was added meanwhile.
    pub async fn save_piece_size(&self, size: &PieceSize) -> Result<(), StorageError> {
        let row = piece_size_row(size);
        if size.id == 0 {
            row.insert(&self.inner).await?;
        } else {
            row.update(&self.inner).await?;
        }
        Ok(())
    }
}

fn piece(row: pieces::Model) -> Result<Piece, StorageError> {
    let id = row.id;
    let state: PieceState = named("pieces", id, &row.state)?;
    if state.is_in_shop() != row.location_id.is_some() {
        return Err(corrupt("pieces", id, "its location does not go with its state"));
    }
    Ok(Piece {
        id: PieceId(id),
        item: ItemId(row.item_id),
        core: row.core_id.map(CoreId),
        state,
        condition: named("pieces", id, &row.condition)?,
        location: row.location_id.map(LocationId),
        rebuild: row.rebuild_id.map(RebuildId),
        material: named_option("pieces", id, row.material.as_deref())?,
        built_up: named("pieces", id, &row.built_up)?,
        tag: row.tag,
        hardness: row.hardness,
        note: row.note,
        created_at: row.created_at,
        revision: row.revision,
    })
}

fn piece_size(row: piece_sizes::Model) -> Result<PieceSize, StorageError> {
    let target = target(row.id, row.target_lower_nm, row.target_upper_nm)?;
    Ok(PieceSize {
        id: row.id,
        piece: PieceId(row.piece_id),
        feature: FeatureId(row.feature_id),
        round: row.round,
        target,
        min: length(row.min_nm),
        max: length(row.max_nm),
        uncertainty: length(row.uncertainty_nm),
        reading_count: row.reading_count,
    })
}

/// The limits that the feature of size row `id` was reconditioned to.
pub(crate) fn target(
    id: i64,
    lower_nm: Option<i64>,
    upper_nm: Option<i64>,
) -> Result<Option<Limits>, StorageError> {
    match (lower_nm, upper_nm) {
        (Some(lower), Some(upper)) => {
            Ok(Some(Limits { lower: Length::from_nm(lower), upper: Length::from_nm(upper) }))
        }
        (None, None) => Ok(None),
        _ => Err(corrupt("piece_sizes", id, "half a target")),
    }
}

pub(crate) fn piece_row(piece: &Piece) -> pieces::ActiveModel {
    pieces::ActiveModel {
        id: Set(piece.id.0),
        tag: Set(piece.tag.clone()),
        item_id: Set(piece.item.0),
        core_id: Set(piece.core.map(|id| id.0)),
        state: Set(piece.state.as_str().to_owned()),
        condition: Set(piece.condition.as_str().to_owned()),
        location_id: Set(piece.location.map(|id| id.0)),
        rebuild_id: Set(piece.rebuild.map(|id| id.0)),
        material: Set(piece.material.map(|material| material.as_str().to_owned())),
        hardness: Set(piece.hardness.clone()),
        built_up: Set(piece.built_up.as_str().to_owned()),
        note: Set(piece.note.clone()),
        created_at: Set(piece.created_at),
        revision: Set(piece.revision),
    }
}

pub(crate) fn piece_size_row(size: &PieceSize) -> piece_sizes::ActiveModel {
    piece_sizes::ActiveModel {
        id: if size.id == 0 { NotSet } else { Set(size.id) },
        piece_id: Set(size.piece.0),
        feature_id: Set(size.feature.0),
        round: Set(size.round),
        target_lower_nm: Set(size.target.map(|limits| limits.lower.nm())),
        target_upper_nm: Set(size.target.map(|limits| limits.upper.nm())),
        min_nm: Set(size.min.map(Length::nm)),
        max_nm: Set(size.max.map(Length::nm)),
        uncertainty_nm: Set(size.uncertainty.map(Length::nm)),
        reading_count: Set(size.reading_count),
    }
}
