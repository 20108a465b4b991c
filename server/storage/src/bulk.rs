//! Writing many rows at once, many to a statement: an import of 100,000 rows holds the one writer of
//! a SQLite shop for seconds, not minutes.

use crate::entities::{counters, features, items, lot_stock, lots, piece_sizes, pieces, readings};
use crate::error::StorageError;
use crate::items::{Item, ItemFeature, feature_row, item_row};
use crate::lots::{Lot, LotStock, lot_row, lot_stock_row};
use crate::pieces::{Piece, PieceSize, piece_row, piece_size_row};
use crate::readings::{Reading, reading_row};
use crate::rows::BATCH_MAX;
use crate::tx::Tx;
use sea_orm::sea_query::{Expr, OnConflict};
use sea_orm::{
    ActiveModelTrait, ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait, ExprTrait,
    IntoActiveModel, QueryFilter,
};
use std::collections::HashMap;
use tenths_domain::ids::{ItemId, LotId, PieceId};

impl Tx {
    /// Takes the next `count` numbers of a kind of tag; answers with the first of them.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn next_numbers(&self, name: &str, count: i64) -> Result<i64, StorageError> {
        let first = counters::ActiveModel { name: Set(name.to_owned()), next: Set(count) };
        let last = Expr::col((counters::Entity, counters::Column::Next)).add(count);
        let row = counters::Entity::insert(first)
            .on_conflict(
                OnConflict::column(counters::Column::Name)
                    .value(counters::Column::Next, last)
                    .to_owned(),
            )
            .exec_with_returning(&self.inner)
            .await?;
        Ok(row.next - count + 1)
    }

    /// Adds items with their features, in the order given.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if a code is taken.
    pub async fn insert_items(&self, new: &[&Item]) -> Result<(), StorageError> {
        let rows = new.iter().map(|item| item_row(item)).collect();
        let ids: HashMap<String, i64> = self
            .insert_rows::<items::Entity, _>(rows)
            .await?
            .into_iter()
            .map(|row| (row.code, row.id))
            .collect();
        let features = new.iter().flat_map(|item| {
            let id = ids.get(&item.code).copied().map(ItemId);
            item.features.iter().filter_map(move |feature| Some((id?, feature)))
        });
        self.insert_features(&features.collect::<Vec<_>>()).await
    }

    /// Adds features to items that are there, in the order given.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if an item has a feature of that name.
    pub async fn insert_features(
        &self,
        new: &[(ItemId, &ItemFeature)],
    ) -> Result<(), StorageError> {
        for batch in new.chunks(BATCH_MAX) {
            features::Entity::insert_many(batch.iter().map(|(item, new)| feature_row(*item, new)))
                .exec_without_returning(&self.inner)
                .await?;
        }
        Ok(())
    }

    /// Raises the versions of these items.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn touch_items(&self, ids: &[ItemId]) -> Result<(), StorageError> {
        for batch in ids.chunks(BATCH_MAX) {
            items::Entity::update_many()
                .col_expr(items::Column::Revision, Expr::col(items::Column::Revision).add(1_i64))
                .filter(items::Column::Id.is_in(batch.iter().map(|id| id.0)))
                .exec(&self.inner)
                .await?;
        }
        Ok(())
    }

    /// Adds lots without stock, in the order given; answers with their numbers by tag.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if a tag was ever used.
    pub async fn insert_lots(&self, new: &[Lot]) -> Result<HashMap<String, LotId>, StorageError> {
        let rows = self.insert_rows::<lots::Entity, _>(new.iter().map(lot_row).collect()).await?;
        Ok(rows.into_iter().map(|row| (row.tag, LotId(row.id))).collect())
    }

    /// Puts stock of lots where there is none of them yet. The ledger rows are the caller's.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if a lot has stock at that location.
    pub async fn insert_lot_stock(&self, new: &[LotStock]) -> Result<(), StorageError> {
        for batch in new.chunks(BATCH_MAX) {
            lot_stock::Entity::insert_many(batch.iter().map(lot_stock_row))
                .exec_without_returning(&self.inner)
                .await?;
        }
        Ok(())
    }

    /// Adds pieces, in the order given; answers with their numbers by tag.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if a tag was ever used.
    pub async fn insert_pieces(
        &self,
        new: &[Piece],
    ) -> Result<HashMap<String, PieceId>, StorageError> {
        let rows = new.iter().map(|new| pieces::ActiveModel { id: NotSet, ..piece_row(new) });
        let rows = self.insert_rows::<pieces::Entity, _>(rows.collect()).await?;
        Ok(rows.into_iter().map(|row| (row.tag, PieceId(row.id))).collect())
    }

    /// Adds the sizes of features that had none.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if a feature of a piece has a size.
    pub async fn insert_piece_sizes(&self, new: &[PieceSize]) -> Result<(), StorageError> {
        for batch in new.chunks(BATCH_MAX) {
            piece_sizes::Entity::insert_many(batch.iter().map(piece_size_row))
                .exec_without_returning(&self.inner)
                .await?;
        }
        Ok(())
    }

    /// Records readings in the order given, without answering their numbers.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn insert_readings_bulk(&self, new: &[Reading]) -> Result<(), StorageError> {
        for batch in new.chunks(BATCH_MAX) {
            readings::Entity::insert_many(batch.iter().map(reading_row))
                .exec_without_returning(&self.inner)
                .await?;
        }
        Ok(())
    }

    /// Inserts rows and answers with them; in which order is the database's affair.
    async fn insert_rows<E, A>(&self, rows: Vec<A>) -> Result<Vec<E::Model>, StorageError>
    where
        E: EntityTrait,
        E::Model: IntoActiveModel<A>,
        A: ActiveModelTrait<Entity = E> + Send,
    {
        let mut inserted = Vec::with_capacity(rows.len());
        let mut rows = rows.into_iter().peekable();
        while rows.peek().is_some() {
            let batch: Vec<A> = rows.by_ref().take(BATCH_MAX).collect();
            inserted.extend(E::insert_many(batch).exec_with_returning(&self.inner).await?);
        }
        Ok(inserted)
    }
}
