//! Lots, and how many of them are where.

use crate::entities::{lot_stock, lots, reservations};
use crate::error::StorageError;
use crate::page::Page;
use crate::rows::{money, one_row};
use crate::tx::Tx;
use sea_orm::sea_query::Expr;
use sea_orm::{
    ActiveModelTrait, ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait, ExprTrait,
    QueryFilter, QueryOrder, QuerySelect,
};
use std::collections::HashMap;
use tenths_domain::ids::{ItemId, LocationId, LotId};
use tenths_domain::money::Money;
use tenths_domain::state::ReservationState;

/// A counted quantity of interchangeable new stock.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lot {
    /// Row number; 0 before it is stored.
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
    /// Version.
    pub revision: i64,
}

/// How many of a lot are at a location.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LotStock {
    /// The lot.
    pub lot: LotId,
    /// The location.
    pub location: LocationId,
    /// How many are there.
    pub on_hand: i64,
    /// How many of them are held.
    pub held: i64,
}

impl LotStock {
    /// How many are there and free.
    pub const fn free(self) -> i64 {
        self.on_hand - self.held
    }
}

impl Tx {
    /// The lot of this tag; in a write, locked until the transaction ends.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn lot_by_tag(&self, tag: &str) -> Result<Option<Lot>, StorageError> {
        let query = self.locked(lots::Entity::find().filter(lots::Column::Tag.eq(tag)));
        query.one(&self.inner).await?.map(lot).transpose()
    }

    /// Lots in order of receipt.
    ///
    /// # Errors
    /// As [`Tx::lot_by_tag`].
    pub async fn lots_page(
        &self,
        page: Page,
        item: Option<ItemId>,
    ) -> Result<Vec<Lot>, StorageError> {
        let mut query = lots::Entity::find().filter(lots::Column::Id.gt(page.after));
        if let Some(item) = item {
            query = query.filter(lots::Column::ItemId.eq(item.0));
        }
        let rows = query.order_by_asc(lots::Column::Id).limit(page.limit).all(&self.inner).await?;
        rows.into_iter().map(lot).collect()
    }

    /// The tags of these lots.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn lot_tags(
        &self,
        ids: impl Into<Vec<LotId>>,
    ) -> Result<HashMap<LotId, String>, StorageError> {
        let ids: Vec<i64> = ids.into().into_iter().map(|id| id.0).collect();
        let tags = self.texts::<lots::Entity>(lots::Column::Id, lots::Column::Tag, ids).await?;
        Ok(tags.into_iter().map(|(id, tag)| (LotId(id), tag)).collect())
    }

    /// How many of these lots are where, by lot, in order of the location's number, holds that have
    /// run out at `now` not counted. Places where there are none are left out.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn lot_stock(
        &self,
        ids: impl Into<Vec<LotId>>,
        now: i64,
    ) -> Result<HashMap<LotId, Vec<LotStock>>, StorageError> {
        let ids: Vec<i64> = ids.into().into_iter().map(|id| id.0).collect();
        let mut rows = self.rows_in::<lot_stock::Entity>(lot_stock::Column::LotId, &ids).await?;
        rows.retain(|row| row.on_hand != 0 || row.held != 0);
        rows.sort_by_key(|row| row.location_id);
        let mut lapsed: HashMap<(i64, i64), i64> = HashMap::new();
        for (lot, location, quantity) in self.lapsed_on_lots(now).await? {
            *lapsed.entry((lot, location)).or_default() += quantity;
        }
        let mut stock: HashMap<LotId, Vec<LotStock>> = HashMap::new();
        for row in rows {
            let run_out = lapsed.get(&(row.lot_id, row.location_id)).copied().unwrap_or(0);
            let here = LotStock {
                lot: LotId(row.lot_id),
                location: LocationId(row.location_id),
                on_hand: row.on_hand,
                held: row.held - run_out,
            };
            stock.entry(here.lot).or_default().push(here);
        }
        Ok(stock)
    }

    /// Lot, location and quantity of holds that have run out and were not ended yet: few, since a
    /// background task ends them.
    async fn lapsed_on_lots(&self, now: i64) -> Result<Vec<(i64, i64, i64)>, StorageError> {
        Ok(reservations::Entity::find()
            .select_only()
            .columns([
                reservations::Column::LotId,
                reservations::Column::LocationId,
                reservations::Column::Quantity,
            ])
            .filter(reservations::Column::State.eq(ReservationState::Active.as_str()))
            .filter(reservations::Column::UntilAt.lte(now))
            .filter(reservations::Column::LotId.is_not_null())
            .into_tuple()
            .all(&self.inner)
            .await?)
    }

    /// Adds a lot without stock; answers with its number filled in.
    ///
    /// # Errors
    /// [`StorageError::Duplicate`] if the tag was ever used.
    pub async fn insert_lot(&self, mut new: Lot) -> Result<Lot, StorageError> {
        new.id = LotId(lot_row(&new).insert(&self.inner).await?.id);
        Ok(new)
    }

    /// Raises a lot's version, guarded by it.
    ///
    /// # Errors
    /// [`StorageError::Conflict`] if it was changed meanwhile.
    pub async fn touch_lot(&self, lot: &mut Lot) -> Result<(), StorageError> {
        let result = lots::Entity::update_many()
            .col_expr(lots::Column::Revision, Expr::value(lot.revision + 1))
            .filter(lots::Column::Id.eq(lot.id.0))
            .filter(lots::Column::Revision.eq(lot.revision))
            .exec(&self.inner)
            .await?;
        one_row(&result)?;
        lot.revision += 1;
        Ok(())
    }

    /// Changes how many of a lot are at a location and how many of those are held. The ledger row
    /// that goes with a change on hand is the caller's.
    ///
    /// # Errors
    /// [`StorageError::Conflict`] if that would leave fewer on hand than held, or fewer than none.
    pub async fn change_lot_stock(
        &self,
        lot: LotId,
        location: LocationId,
        on_hand_delta: i64,
        held_delta: i64,
    ) -> Result<(), StorageError> {
        let none = lot_stock_row(&LotStock { lot, location, on_hand: 0, held: 0 });
        let keys = [lot_stock::Column::LotId, lot_stock::Column::LocationId];
        lot_stock::Entity::insert(none)
            .on_conflict_do_nothing_on(keys)
            .exec_without_returning(&self.inner)
            .await?;
        let on_hand = Expr::col(lot_stock::Column::OnHand).add(on_hand_delta);
        let held = Expr::col(lot_stock::Column::Held).add(held_delta);
        let result = lot_stock::Entity::update_many()
            .col_expr(lot_stock::Column::OnHand, on_hand.clone())
            .col_expr(lot_stock::Column::Held, held.clone())
            .filter(lot_stock::Column::LotId.eq(lot.0))
            .filter(lot_stock::Column::LocationId.eq(location.0))
            .filter(held.clone().gte(0))
            .filter(held.lte(on_hand))
            .exec(&self.inner)
            .await?;
        one_row(&result)
    }
}

pub(crate) fn lot(row: lots::Model) -> Result<Lot, StorageError> {
    let unit_cost = money("lots", row.id, row.cost_minor, row.cost_currency.as_deref())?;
    Ok(Lot {
        id: LotId(row.id),
        tag: row.tag,
        item: ItemId(row.item_id),
        date_code: row.date_code,
        unit_cost,
        created_at: row.created_at,
        revision: row.revision,
    })
}

pub(crate) fn lot_row(lot: &Lot) -> lots::ActiveModel {
    lots::ActiveModel {
        id: NotSet,
        tag: Set(lot.tag.clone()),
        item_id: Set(lot.item.0),
        date_code: Set(lot.date_code.clone()),
        cost_minor: Set(lot.unit_cost.map(|cost| cost.minor)),
        cost_currency: Set(lot.unit_cost.map(|cost| cost.currency.as_str().to_owned())),
        created_at: Set(lot.created_at),
        revision: Set(lot.revision),
    }
}

pub(crate) fn lot_stock_row(stock: &LotStock) -> lot_stock::ActiveModel {
    lot_stock::ActiveModel {
        id: NotSet,
        lot_id: Set(stock.lot.0),
        location_id: Set(stock.location.0),
        on_hand: Set(stock.on_hand),
        held: Set(stock.held),
    }
}
