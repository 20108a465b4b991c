//! Loading the stock for the index of matches: pages by key, a few statements to a page.
//!
//! Read within [`crate::Store::read`], whose one snapshot makes the statements of a page agree.

use crate::error::StorageError;
use crate::pieces::target;
use crate::rows::{Among, corrupt, length, money, named, named_option};
use crate::tx::Tx;
use std::collections::HashSet;
use tenths_domain::ids::{FeatureId, ItemId, LocationId, LotId, PieceId};
use tenths_domain::item::Limits;
use tenths_domain::money::Money;
use tenths_domain::state::PieceCondition;
use tenths_domain::temperature::Material;
use tenths_domain::units::Length;

/// Most ids that one statement asks for.
const IDS_MAX: usize = 10_000;

/// A piece that is in stock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StockedPiece {
    /// Row number.
    pub id: PieceId,
    /// The tag on it.
    pub tag: String,
    /// What it is one of.
    pub item: ItemId,
    /// Its condition.
    pub condition: PieceCondition,
    /// Its material, where known to differ from the item's.
    pub material: Option<Material>,
    /// Where it is.
    pub location: LocationId,
    /// When it was tagged, in Unix microseconds.
    pub created_at: i64,
    /// What is known of its features, in order of the feature's number; a feature that was never
    /// measured or reconditioned is not among them.
    pub sizes: Vec<StockedSize>,
    /// The hold on it that was not ended yet.
    pub hold: Option<StockedHold>,
}

/// What the standing readings of the current round say of one feature of a piece in stock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StockedSize {
    /// The feature.
    pub feature: FeatureId,
    /// How often the feature was reconditioned.
    pub round: i64,
    /// Smallest reading at 20 C.
    pub min: Option<Length>,
    /// Largest reading at 20 C.
    pub max: Option<Length>,
    /// Expanded uncertainty (k=2) of the worst of those readings.
    pub uncertainty: Option<Length>,
    /// The limits that it was reconditioned to, if other than the item's.
    pub target: Option<Limits>,
    /// Whether a reading that speaks was taken with a gauge that was found wrong.
    pub is_doubted: bool,
}

/// A hold on a piece.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StockedHold {
    /// The tag of the hold.
    pub tag: String,
    /// The tag of the rebuild that it is for.
    pub rebuild_tag: String,
    /// Who holds it.
    pub person: String,
    /// Until when, in Unix microseconds; it may have run out without having been ended.
    pub until_at: i64,
}

/// A lot of which there are some in stock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StockedLot {
    /// Row number.
    pub id: LotId,
    /// The tag.
    pub tag: String,
    /// What it is a quantity of.
    pub item: ItemId,
    /// Date code as YYYY-MM, or empty.
    pub date_code: String,
    /// Cost of one.
    pub unit_cost: Option<Money>,
    /// When it was received, in Unix microseconds.
    pub created_at: i64,
    /// Where there are some, in order of the location's number.
    pub stock: Vec<StockedAt>,
    /// The holds on it that were not ended yet, in order of holding.
    pub holds: Vec<StockedLotHold>,
}

/// How many of a lot are at a location.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StockedAt {
    /// The location.
    pub location: LocationId,
    /// How many are there, held or not; at least 1.
    pub on_hand: i64,
}

/// A hold on a quantity of a lot.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StockedLotHold {
    /// Where it is held.
    pub location: LocationId,
    /// How many.
    pub quantity: i64,
    /// Until when, in Unix microseconds; it may have run out without having been ended.
    pub until_at: i64,
}

type PieceRow = (i64, String, i64, String, Option<String>, Option<i64>, i64);
type SizeRow =
    (i64, i64, i64, i64, Option<i64>, Option<i64>, Option<i64>, Option<i64>, Option<i64>);
type LotRow = (i64, String, i64, String, Option<i64>, Option<String>, i64);

impl Tx {
    /// About how many pieces and lots there are, from above: their highest numbers.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn stocked_about(&self) -> Result<u64, StorageError> {
        let sql = "SELECT COALESCE((SELECT MAX(id) FROM pieces), 0) \
                   + COALESCE((SELECT MAX(id) FROM lots), 0)";
        Ok(u64::try_from(self.number(sql, []).await?).unwrap_or(0))
    }

    /// The next pieces in stock after this one, in order of their numbers: fewer than `limit` only
    /// where they end.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn stocked_pieces_after(
        &self,
        after: PieceId,
        limit: u64,
    ) -> Result<Vec<StockedPiece>, StorageError> {
        let sql = format!("{PIECES} p.id > $1 ORDER BY p.id LIMIT $2");
        let rows: Vec<PieceRow> = self.tuples(&sql, [after.0.into(), limit_value(limit)]).await?;
        let (Some(first), Some(last)) = (rows.first(), rows.last()) else { return Ok(Vec::new()) };
        let among = Among::Between(first.0, last.0);
        self.pieces_of_rows(rows, &among).await
    }

    /// Those of these pieces that are in stock, in order of their numbers.
    ///
    /// # Errors
    /// As [`Tx::stocked_pieces_after`].
    pub async fn stocked_pieces(&self, ids: &[PieceId]) -> Result<Vec<StockedPiece>, StorageError> {
        let mut found = Vec::with_capacity(ids.len());
        for batch in in_order(ids.iter().map(|id| id.0)).chunks(IDS_MAX) {
            let among = self.among(batch);
            let sql = format!("{PIECES} {} ORDER BY p.id", among.condition("p.id"));
            let rows: Vec<PieceRow> = self.tuples(&sql, among.values()).await?;
            found.extend(self.pieces_of_rows(rows, &among).await?);
        }
        Ok(found)
    }

    /// The next lots in stock after this one, in order of their numbers: fewer than `limit` only
    /// where they end.
    ///
    /// # Errors
    /// As [`Tx::stocked_pieces_after`].
    pub async fn stocked_lots_after(
        &self,
        after: LotId,
        limit: u64,
    ) -> Result<Vec<StockedLot>, StorageError> {
        let sql = format!("{LOTS} l.id > $1 ORDER BY l.id LIMIT $2");
        let rows: Vec<LotRow> = self.tuples(&sql, [after.0.into(), limit_value(limit)]).await?;
        let (Some(first), Some(last)) = (rows.first(), rows.last()) else { return Ok(Vec::new()) };
        let among = Among::Between(first.0, last.0);
        self.lots_of_rows(rows, &among).await
    }

    /// Those of these lots of which there are some in stock, in order of their numbers.
    ///
    /// # Errors
    /// As [`Tx::stocked_pieces_after`].
    pub async fn stocked_lots(&self, ids: &[LotId]) -> Result<Vec<StockedLot>, StorageError> {
        let mut found = Vec::with_capacity(ids.len());
        for batch in in_order(ids.iter().map(|id| id.0)).chunks(IDS_MAX) {
            let among = self.among(batch);
            let sql = format!("{LOTS} {} ORDER BY l.id", among.condition("l.id"));
            let rows: Vec<LotRow> = self.tuples(&sql, among.values()).await?;
            found.extend(self.lots_of_rows(rows, &among).await?);
        }
        Ok(found)
    }

    async fn pieces_of_rows(
        &self,
        rows: Vec<PieceRow>,
        among: &Among,
    ) -> Result<Vec<StockedPiece>, StorageError> {
        let mut pieces = rows.into_iter().map(piece).collect::<Result<Vec<_>, _>>()?;
        let doubted = self.doubted(among).await?;
        let sql = format!("{SIZES} {} {SIZES_ORDER}", among.condition("s.piece_id"));
        let sizes: Vec<SizeRow> = self.tuples(&sql, among.values()).await?;
        let mut at = 0;
        for row in sizes {
            if let Some(piece) = owner(&mut pieces, &mut at, row.0, |piece| piece.id.0) {
                let is_doubted = doubted.contains(&(row.0, row.1));
                piece.sizes.push(size(row, is_doubted)?);
            }
        }
        let sql = format!("{PIECE_HOLDS} {} ORDER BY r.piece_id", among.condition("r.piece_id"));
        let holds: Vec<(i64, String, String, String, i64)> =
            self.tuples(&sql, among.values()).await?;
        let mut at = 0;
        for (id, tag, rebuild_tag, person, until_at) in holds {
            if let Some(piece) = owner(&mut pieces, &mut at, id, |piece| piece.id.0) {
                piece.hold = Some(StockedHold { tag, rebuild_tag, person, until_at });
            }
        }
        Ok(pieces)
    }

    async fn lots_of_rows(
        &self,
        rows: Vec<LotRow>,
        among: &Among,
    ) -> Result<Vec<StockedLot>, StorageError> {
        let mut lots = rows.into_iter().map(lot).collect::<Result<Vec<_>, _>>()?;
        let sql = format!("{LOT_STOCK} {} {LOT_STOCK_ORDER}", among.condition("s.lot_id"));
        let stock: Vec<(i64, i64, i64)> = self.tuples(&sql, among.values()).await?;
        let mut at = 0;
        for (id, location, on_hand) in stock {
            if let Some(lot) = owner(&mut lots, &mut at, id, |lot| lot.id.0) {
                lot.stock.push(StockedAt { location: LocationId(location), on_hand });
            }
        }
        let sql = format!("{LOT_HOLDS} {} ORDER BY r.lot_id, r.id", among.condition("r.lot_id"));
        let holds: Vec<(i64, i64, i64, i64)> = self.tuples(&sql, among.values()).await?;
        let mut at = 0;
        for (id, location, quantity, until_at) in holds {
            if let Some(lot) = owner(&mut lots, &mut at, id, |lot| lot.id.0) {
                let location = LocationId(location);
                lot.holds.push(StockedLotHold { location, quantity, until_at });
            }
        }
        Ok(lots)
    }

    /// Pieces and features where a reading that speaks was taken with a gauge that was found wrong.
    async fn doubted(&self, among: &Among) -> Result<HashSet<(i64, i64)>, StorageError> {
        let wrong =
            self.number("SELECT COUNT(*) FROM gauges WHERE state = 'found_wrong'", []).await?;
        if wrong == 0 {
            return Ok(HashSet::new());
        }
        let sql = format!("{DOUBTED} AND {}", among.condition("r.piece_id"));
        let found: Vec<(i64, i64)> = self.tuples(&sql, among.values()).await?;
        Ok(found.into_iter().collect())
    }
}

/// The one that a row belongs to; owners and rows both come in the order of the owner's number.
fn owner<'o, O>(
    owners: &'o mut [O],
    at: &mut usize,
    id: i64,
    number: impl Fn(&O) -> i64,
) -> Option<&'o mut O> {
    while owners.get(*at).is_some_and(|one| number(one) < id) {
        *at += 1;
    }
    owners.get_mut(*at).filter(|one| number(one) == id)
}

fn in_order(ids: impl Iterator<Item = i64>) -> Vec<i64> {
    let mut ids: Vec<i64> = ids.collect();
    ids.sort_unstable();
    ids.dedup();
    ids
}

fn limit_value(limit: u64) -> sea_orm::Value {
    i64::try_from(limit).unwrap_or(i64::MAX).into()
}

fn piece(row: PieceRow) -> Result<StockedPiece, StorageError> {
    let (id, tag, item, condition, material, location, created_at) = row;
    let location =
        location.ok_or_else(|| corrupt("pieces", id, "its location does not go with its state"))?;
    Ok(StockedPiece {
        id: PieceId(id),
        tag,
        item: ItemId(item),
        condition: named("pieces", id, &condition)?,
        material: named_option("pieces", id, material.as_deref())?,
        location: LocationId(location),
        created_at,
        sizes: Vec::new(),
        hold: None,
    })
}

fn size(row: SizeRow, is_doubted: bool) -> Result<StockedSize, StorageError> {
    let (_, feature, id, round, lower, upper, min, max, uncertainty) = row;
    Ok(StockedSize {
        feature: FeatureId(feature),
        round,
        min: length(min),
        max: length(max),
        uncertainty: length(uncertainty),
        target: target(id, lower, upper)?,
        is_doubted,
    })
}

fn lot(row: LotRow) -> Result<StockedLot, StorageError> {
    let (id, tag, item, date_code, minor, currency, created_at) = row;
    Ok(StockedLot {
        id: LotId(id),
        tag,
        item: ItemId(item),
        date_code,
        unit_cost: money("lots", id, minor, currency.as_deref())?,
        created_at,
        stock: Vec::new(),
        holds: Vec::new(),
    })
}

// States stand in the text, not beside it: a partial index serves only a condition that it can see.

const PIECES: &str = "
SELECT p.id, p.tag, p.item_id, p.condition, p.material, p.location_id, p.created_at FROM pieces p
WHERE p.state = 'in_stock' AND";

const SIZES: &str = "
SELECT s.piece_id, s.feature_id, s.id, s.round, s.target_lower_nm, s.target_upper_nm, s.min_nm,
    s.max_nm, s.uncertainty_nm
FROM piece_sizes s JOIN pieces p ON p.id = s.piece_id AND p.state = 'in_stock' WHERE";
const SIZES_ORDER: &str = "ORDER BY s.piece_id, s.feature_id";

const PIECE_HOLDS: &str = "
SELECT r.piece_id, r.tag, b.tag, r.person, r.until_at
FROM reservations r JOIN rebuilds b ON b.id = r.rebuild_id WHERE r.state = 'active' AND";

const LOTS: &str = "
SELECT l.id, l.tag, l.item_id, l.date_code, l.cost_minor, l.cost_currency, l.created_at FROM lots l
WHERE EXISTS (SELECT 1 FROM lot_stock s WHERE s.lot_id = l.id AND s.on_hand > 0) AND";

const LOT_STOCK: &str = "
SELECT s.lot_id, s.location_id, s.on_hand FROM lot_stock s WHERE s.on_hand > 0 AND";
const LOT_STOCK_ORDER: &str = "ORDER BY s.lot_id, s.location_id";

const LOT_HOLDS: &str = "
SELECT r.lot_id, r.location_id, r.quantity, r.until_at FROM reservations r
WHERE r.state = 'active' AND";

/// A reading speaks if it is of the current round, not void, and of the request that read its place
/// (station and orientation) last, as the app judges it.
const DOUBTED: &str = "
SELECT DISTINCT r.piece_id, r.feature_id
FROM readings r
JOIN gauges g ON g.id = r.gauge_id AND g.state = 'found_wrong'
JOIN piece_sizes s ON s.piece_id = r.piece_id AND s.feature_id = r.feature_id AND s.round = r.round
WHERE NOT EXISTS (SELECT 1 FROM reading_voids v WHERE v.reading_id = r.id)
    AND r.request_id = (
        SELECT l.request_id FROM readings l
        WHERE l.piece_id = r.piece_id AND l.feature_id = r.feature_id AND l.round = r.round
            AND l.station = r.station AND l.orientation_deg = r.orientation_deg
            AND NOT EXISTS (SELECT 1 FROM reading_voids v WHERE v.reading_id = l.id)
        ORDER BY l.id DESC LIMIT 1)";
