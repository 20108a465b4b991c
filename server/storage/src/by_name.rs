//! Finding many rows at once by their codes and tags, a batch to a statement.

use crate::entities::{gauges, items, ledger, locations, lots, pieces, readings};
use crate::error::StorageError;
use crate::gauges::{Gauge, gauge};
use crate::items::Item;
use crate::lots::{Lot, lot};
use crate::readings::Reading;
use crate::rows::BATCH_MAX;
use crate::tx::Tx;
use sea_orm::{ColumnTrait, EntityTrait, QueryFilter, QueryOrder, QuerySelect};
use std::collections::{HashMap, HashSet};
use tenths_domain::ids::{ItemId, LocationId, LotId, PieceId};

impl Tx {
    /// The items of these codes, by code.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn items_by_codes(
        &self,
        codes: &[&str],
    ) -> Result<HashMap<String, Item>, StorageError> {
        let rows = self.rows_named::<items::Entity>(items::Column::Code, codes).await?;
        let items = self.with_features(rows).await?;
        Ok(items.into_iter().map(|item| (item.code.clone(), item)).collect())
    }

    /// The numbers of the items of these codes, by code.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn item_ids(&self, codes: &[&str]) -> Result<HashMap<String, ItemId>, StorageError> {
        let rows = self.rows_named::<items::Entity>(items::Column::Code, codes).await?;
        Ok(rows.into_iter().map(|row| (row.code, ItemId(row.id))).collect())
    }

    /// The numbers of the locations of these codes, by code.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn location_ids(
        &self,
        codes: &[&str],
    ) -> Result<HashMap<String, LocationId>, StorageError> {
        let rows = self.rows_named::<locations::Entity>(locations::Column::Code, codes).await?;
        Ok(rows.into_iter().map(|row| (row.code, LocationId(row.id))).collect())
    }

    /// The gauges of these tags, by tag.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn gauges_by_tags(
        &self,
        tags: &[&str],
    ) -> Result<HashMap<String, Gauge>, StorageError> {
        let rows = self.rows_named::<gauges::Entity>(gauges::Column::Tag, tags).await?;
        rows.into_iter().map(|row| Ok((row.tag.clone(), gauge(row)?))).collect()
    }

    /// The lots of these tags, by tag.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn lots_by_tags(&self, tags: &[&str]) -> Result<HashMap<String, Lot>, StorageError> {
        let rows = self.rows_named::<lots::Entity>(lots::Column::Tag, tags).await?;
        rows.into_iter().map(|row| Ok((row.tag.clone(), lot(row)?))).collect()
    }

    /// Which of these tags a piece has or had.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn piece_tags_taken(&self, tags: &[&str]) -> Result<HashSet<String>, StorageError> {
        let mut taken = HashSet::new();
        for batch in tags.chunks(BATCH_MAX) {
            let found: Vec<String> = pieces::Entity::find()
                .select_only()
                .column(pieces::Column::Tag)
                .filter(pieces::Column::Tag.is_in(batch.iter().copied()))
                .into_tuple()
                .all(&self.inner)
                .await?;
            taken.extend(found);
        }
        Ok(taken)
    }

    /// Where these lots were put by one request.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn lot_places_of_request(
        &self,
        request_id: &str,
        ids: &[LotId],
    ) -> Result<HashSet<(LotId, LocationId)>, StorageError> {
        let mut places = HashSet::new();
        for batch in ids.chunks(BATCH_MAX) {
            let found: Vec<(i64, i64)> = ledger::Entity::find()
                .select_only()
                .column(ledger::Column::LotId)
                .column(ledger::Column::LocationId)
                .filter(ledger::Column::LotId.is_in(batch.iter().map(|id| id.0)))
                .filter(ledger::Column::RequestId.eq(request_id))
                .into_tuple()
                .all(&self.inner)
                .await?;
            places.extend(found.into_iter().map(|(lot, place)| (LotId(lot), LocationId(place))));
        }
        Ok(places)
    }

    /// Every reading of these pieces by piece, voided ones too, in order of recording.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn readings_of_pieces(
        &self,
        ids: &[PieceId],
    ) -> Result<HashMap<PieceId, Vec<Reading>>, StorageError> {
        let mut by_piece: HashMap<PieceId, Vec<Reading>> = HashMap::new();
        for batch in ids.chunks(BATCH_MAX) {
            let rows = readings::Entity::find()
                .filter(readings::Column::PieceId.is_in(batch.iter().map(|id| id.0)))
                .order_by_asc(readings::Column::Id)
                .all(&self.inner)
                .await?;
            for reading in self.with_voids(rows).await? {
                by_piece.entry(reading.piece).or_default().push(reading);
            }
        }
        Ok(by_piece)
    }

    /// The rows whose text `column` is one of `names`, in batches.
    async fn rows_named<E: EntityTrait>(
        &self,
        column: E::Column,
        names: &[&str],
    ) -> Result<Vec<E::Model>, StorageError> {
        let mut rows = Vec::with_capacity(names.len());
        for batch in names.chunks(BATCH_MAX) {
            let query = E::find().filter(column.is_in(batch.iter().copied()));
            rows.extend(query.all(&self.inner).await?);
        }
        Ok(rows)
    }
}
