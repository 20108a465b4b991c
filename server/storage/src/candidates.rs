//! What in stock could mate with a measured part, by size; the fit itself is judged in the domain.

use crate::entities::{features, items, lot_stock, lots, piece_sizes, pieces};
use crate::error::StorageError;
use crate::rows::corrupt;
use crate::tx::Tx;
use sea_orm::sea_query::{Condition, Expr, Query};
use sea_orm::{
    ColumnTrait, EntityTrait, ExprTrait, JoinType, QueryFilter, QueryOrder, QuerySelect,
    RelationDef,
};
use std::collections::HashMap;
use tenths_domain::ids::{FeatureId, ItemId, PieceId};
use tenths_domain::item::{FeatureKind, ItemKind};
use tenths_domain::state::PieceState;
use tenths_domain::units::Length;

use crate::{Item, ItemFeature, Lot, LotStock, Piece, PieceSize};

/// Which stock is looked at.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CandidateQuery {
    /// Items of this kind.
    pub item_kind: ItemKind,
    /// Features of one of these kinds.
    pub feature_kinds: Vec<FeatureKind>,
    /// Smallest size looked at.
    pub size_min: Length,
    /// Largest size looked at.
    pub size_max: Length,
}

/// A piece in stock with the feature that would mate.
#[derive(Clone, Debug)]
pub struct PieceCandidate {
    /// The piece.
    pub piece: Piece,
    /// Its item.
    pub item: Item,
    /// The feature that would mate.
    pub feature: ItemFeature,
    /// The size of that feature.
    pub size: PieceSize,
}

/// A lot in stock with the feature that would mate.
#[derive(Clone, Debug)]
pub struct LotCandidate {
    /// The lot.
    pub lot: Lot,
    /// Its item.
    pub item: Item,
    /// The feature that would mate.
    pub feature: ItemFeature,
    /// How many are where.
    pub stock: Vec<LotStock>,
}

impl Tx {
    /// Lots with stock whose feature's nominal size is in the window, in order of lot and feature;
    /// holds that have run out at `now` are not counted.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn lot_candidates(
        &self,
        query: &CandidateQuery,
        now: i64,
    ) -> Result<Vec<LotCandidate>, StorageError> {
        let features = self.feature_pairs(query, nominal_within(query)).await?;
        let item_ids: Vec<i64> = features.iter().map(|(item, _)| item.0).collect();
        let in_stock = Query::select()
            .column(lot_stock::Column::LotId)
            .from(lot_stock::Entity)
            .and_where(Expr::col(lot_stock::Column::OnHand).gt(0))
            .to_owned();
        let mut found: Vec<Lot> = Vec::new();
        for batch in item_ids.chunks(500) {
            let rows = lots::Entity::find()
                .filter(lots::Column::ItemId.is_in(batch.iter().copied()))
                .filter(lots::Column::Id.in_subquery(in_stock.clone()))
                .order_by_asc(lots::Column::Id)
                .all(&self.inner)
                .await?;
            for row in rows {
                found.push(crate::lots::lot(row)?);
            }
        }
        let mut stock =
            self.lot_stock(found.iter().map(|lot| lot.id).collect::<Vec<_>>(), now).await?;
        let items = self.items_by_ids(found.iter().map(|lot| lot.item).collect::<Vec<_>>()).await?;
        let mut by_item: HashMap<ItemId, Vec<FeatureId>> = HashMap::new();
        for (item, feature) in features {
            by_item.entry(item).or_default().push(feature);
        }
        let mut candidates = Vec::new();
        for lot in found {
            let here: Vec<LotStock> = stock.remove(&lot.id).unwrap_or_default();
            for feature in by_item.get(&lot.item).into_iter().flatten() {
                let (item, feature) = item_and_feature(&items, lot.item, *feature)?;
                candidates.push(LotCandidate {
                    lot: lot.clone(),
                    item,
                    feature,
                    stock: here.clone(),
                });
            }
        }
        Ok(candidates)
    }

    /// Pieces in stock whose measured size, or nominal size where it was not measured, is in the
    /// window, in order of piece and feature.
    ///
    /// # Errors
    /// As [`Tx::lot_candidates`].
    pub async fn piece_candidates(
        &self,
        query: &CandidateQuery,
    ) -> Result<Vec<PieceCandidate>, StorageError> {
        // A reground piece is far from its item's nominal, so measured pieces are found by size.
        let mut ids = self.measured_pieces(query).await?;
        ids.extend(self.pieces_of_items_in_window(query).await?);
        ids.sort_unstable();
        ids.dedup();
        let pieces = self
            .pieces_by_ids(ids.iter().map(|(piece, _)| PieceId(*piece)).collect::<Vec<_>>())
            .await?;
        let items =
            self.items_by_ids(pieces.values().map(|piece| piece.item).collect::<Vec<_>>()).await?;
        let mut sizes = self.piece_sizes(pieces.keys().copied().collect::<Vec<_>>()).await?;
        let mut candidates = Vec::with_capacity(ids.len());
        for (piece, feature) in ids {
            let (piece, feature) = (PieceId(piece), FeatureId(feature));
            let Some(found) = pieces.get(&piece) else { continue };
            let (item, item_feature) = item_and_feature(&items, found.item, feature)?;
            let size = sizes
                .entry(piece)
                .or_default()
                .iter()
                .find(|size| size.feature == feature)
                .cloned();
            candidates.push(PieceCandidate {
                piece: found.clone(),
                item,
                feature: item_feature,
                size: size.unwrap_or_else(|| PieceSize::unmeasured(piece, feature)),
            });
        }
        Ok(candidates)
    }

    async fn measured_pieces(
        &self,
        query: &CandidateQuery,
    ) -> Result<Vec<(i64, i64)>, StorageError> {
        Ok(piece_sizes::Entity::find()
            .select_only()
            .columns([piece_sizes::Column::PieceId, piece_sizes::Column::FeatureId])
            .join(JoinType::InnerJoin, size_to_feature())
            .join(JoinType::InnerJoin, size_to_piece())
            .join(JoinType::InnerJoin, feature_to_item())
            .filter(kinds_of(query))
            .filter(pieces::Column::State.eq(PieceState::InStock.as_str()))
            .filter(piece_sizes::Column::MaxNm.gte(query.size_min.nm()))
            .filter(piece_sizes::Column::MinNm.lte(query.size_max.nm()))
            .into_tuple()
            .all(&self.inner)
            .await?)
    }

    async fn pieces_of_items_in_window(
        &self,
        query: &CandidateQuery,
    ) -> Result<Vec<(i64, i64)>, StorageError> {
        let measured = Query::select()
            .expr(Expr::value(1))
            .from(piece_sizes::Entity)
            .and_where(
                Expr::col((piece_sizes::Entity, piece_sizes::Column::PieceId))
                    .equals((pieces::Entity, pieces::Column::Id)),
            )
            .and_where(
                Expr::col((piece_sizes::Entity, piece_sizes::Column::FeatureId))
                    .equals((features::Entity, features::Column::Id)),
            )
            .and_where(Expr::col((piece_sizes::Entity, piece_sizes::Column::MinNm)).is_not_null())
            .to_owned();
        Ok(pieces::Entity::find()
            .select_only()
            .column(pieces::Column::Id)
            .column(features::Column::Id)
            .join(JoinType::InnerJoin, piece_to_item())
            .join(JoinType::InnerJoin, feature_to_item().rev())
            .filter(kinds_of(query))
            .filter(nominal_within(query))
            .filter(pieces::Column::State.eq(PieceState::InStock.as_str()))
            .filter(Expr::exists(measured).not())
            .into_tuple()
            .all(&self.inner)
            .await?)
    }

    async fn feature_pairs(
        &self,
        query: &CandidateQuery,
        window: Condition,
    ) -> Result<Vec<(ItemId, FeatureId)>, StorageError> {
        let pairs: Vec<(i64, i64)> = features::Entity::find()
            .select_only()
            .columns([features::Column::ItemId, features::Column::Id])
            .join(JoinType::InnerJoin, feature_to_item())
            .filter(kinds_of(query))
            .filter(window)
            .order_by_asc(features::Column::Id)
            .into_tuple()
            .all(&self.inner)
            .await?;
        Ok(pairs.into_iter().map(|(item, feature)| (ItemId(item), FeatureId(feature))).collect())
    }
}

fn kinds_of(query: &CandidateQuery) -> Condition {
    let kinds = query.feature_kinds.iter().map(|kind| kind.as_str());
    Condition::all()
        .add(items::Column::Kind.eq(query.item_kind.as_str()))
        .add(features::Column::Kind.is_in(kinds))
}

fn nominal_within(query: &CandidateQuery) -> Condition {
    Condition::all()
        .add(features::Column::NominalNm.between(query.size_min.nm(), query.size_max.nm()))
}

fn item_and_feature(
    items: &HashMap<ItemId, Item>,
    item: ItemId,
    feature: FeatureId,
) -> Result<(Item, ItemFeature), StorageError> {
    let found = items
        .get(&item)
        .and_then(|item| Some((item.clone(), item.feature_by_id(feature)?.clone())));
    found.ok_or_else(|| corrupt("features", feature.0, "its item does not hold it"))
}

fn size_to_feature() -> RelationDef {
    piece_sizes::Entity::belongs_to(features::Entity)
        .from(piece_sizes::Column::FeatureId)
        .to(features::Column::Id)
        .into()
}

fn size_to_piece() -> RelationDef {
    piece_sizes::Entity::belongs_to(pieces::Entity)
        .from(piece_sizes::Column::PieceId)
        .to(pieces::Column::Id)
        .into()
}

fn feature_to_item() -> RelationDef {
    features::Entity::belongs_to(items::Entity)
        .from(features::Column::ItemId)
        .to(items::Column::Id)
        .into()
}

fn piece_to_item() -> RelationDef {
    pieces::Entity::belongs_to(items::Entity)
        .from(pieces::Column::ItemId)
        .to(items::Column::Id)
        .into()
}
