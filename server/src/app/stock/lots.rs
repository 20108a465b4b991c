//! Lots: received, moved, counted.

use super::ledger_entry;
use crate::app::act::{Act, View};
use crate::app::error::{Error, check_etag};
use crate::app::holds;
use crate::app::views::LotView;
use tenths_domain::ids::{LocationId, LotId};
use tenths_domain::money::Money;
use tenths_domain::state::LedgerReason;
use tenths_storage::{LedgerSubject, Lot, Page};

/// Receives a lot.
#[derive(Clone, Debug)]
pub struct ReceiveLot {
    /// The tag; none takes the next number.
    pub tag: Option<String>,
    /// What it is a quantity of.
    pub item_code: String,
    /// How many.
    pub quantity: i64,
    /// Where they are put.
    pub location_code: String,
    /// Date code as YYYY-MM, or empty.
    pub date_code: String,
    /// Cost of one.
    pub unit_cost: Option<Money>,
}

/// Moves part of a lot.
#[derive(Clone, Debug)]
pub struct MoveLot {
    /// The lot.
    pub tag: String,
    /// Its version as last read, if that matters.
    pub etag: Option<i64>,
    /// From where.
    pub from_location_code: String,
    /// To where.
    pub to_location_code: String,
    /// How many.
    pub quantity: i64,
}

/// Corrects a count.
#[derive(Clone, Debug)]
pub struct AdjustLot {
    /// The lot.
    pub tag: String,
    /// Its version as last read, if that matters.
    pub etag: Option<i64>,
    /// Where it was counted.
    pub location_code: String,
    /// How many were counted.
    pub counted: i64,
    /// Why it differs.
    pub reason: String,
}

/// Receives a quantity of new stock as a lot.
///
/// # Errors
/// [`Error::AlreadyExists`] if the tag was ever used; [`Error::NotFound`] for item or location.
pub async fn receive_lot(act: &Act<'_>, new: &ReceiveLot) -> Result<LotView, Error> {
    let view = act.view();
    let item = view.find_item(&new.item_code).await?;
    let location = view.find_location(&new.location_code).await?;
    let tag = act.label("L", new.tag.as_deref()).await?;
    let lot = act
        .tx
        .insert_lot(Lot {
            id: LotId(0),
            tag,
            item: item.id,
            date_code: new.date_code.clone(),
            unit_cost: new.unit_cost,
            created_at: act.now,
            revision: 1,
        })
        .await?;
    act.tx.change_lot_stock(lot.id, location.id, new.quantity, 0).await?;
    let subject = LedgerSubject::Lot(lot.id);
    let entry = ledger_entry(act, LedgerReason::Receive, subject, location.id, new.quantity);
    act.tx.write_ledger(vec![entry]).await?;
    view.lot(lot).await
}

/// Reads one lot.
///
/// # Errors
/// [`Error::NotFound`].
pub async fn get_lot(view: View<'_>, tag: &str) -> Result<LotView, Error> {
    let lot = view.find_lot(tag).await?;
    view.lot(lot).await
}

/// Lists lots in order of receipt.
///
/// # Errors
/// [`Error::NotFound`] for an item that the filter names.
pub async fn list_lots(
    view: View<'_>,
    page: Page,
    item_code: Option<String>,
) -> Result<Vec<LotView>, Error> {
    let item = match &item_code {
        Some(code) => Some(view.find_item(code).await?.id),
        None => None,
    };
    let lots = view.tx.lots_page(page, item).await?;
    view.lots(lots).await
}

/// Moves part of a lot; what is held stays.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Forbidden`] if fewer are free there.
pub async fn move_lot(act: &Act<'_>, order: &MoveLot) -> Result<LotView, Error> {
    let view = act.view();
    holds::expire_lapsed(act.tx, act.now).await?;
    let mut lot = view.find_lot(&order.tag).await?;
    check_etag("lot", &lot.tag, lot.revision, order.etag)?;
    let from = view.find_location(&order.from_location_code).await?;
    let to = view.find_location(&order.to_location_code).await?;
    let (on_hand, held) = counts_at(act, lot.id, from.id).await?;
    if on_hand - held < order.quantity {
        let description = format!(
            "lot {} has {on_hand} at {}, {held} of them held: at most {} can be moved, not {}",
            lot.tag,
            from.code,
            on_hand - held,
            order.quantity
        );
        return Err(Error::forbidden("NOT_ENOUGH_FREE", lot.tag.clone(), description));
    }
    act.tx.change_lot_stock(lot.id, from.id, -order.quantity, 0).await?;
    act.tx.change_lot_stock(lot.id, to.id, order.quantity, 0).await?;
    let subject = LedgerSubject::Lot(lot.id);
    let out = ledger_entry(act, LedgerReason::Move, subject, from.id, -order.quantity);
    let into = ledger_entry(act, LedgerReason::Move, subject, to.id, order.quantity);
    act.tx.write_ledger(vec![out, into]).await?;
    act.tx.touch_lot(&mut lot).await?;
    view.lot(lot).await
}

async fn counts_at(act: &Act<'_>, lot: LotId, location: LocationId) -> Result<(i64, i64), Error> {
    let stock = act.tx.lot_stock([lot], act.now).await?;
    let here = stock.get(&lot).into_iter().flatten().find(|here| here.location == location);
    Ok(here.map_or((0, 0), |here| (here.on_hand, here.held)))
}

/// Corrects a count at a location.
///
/// # Errors
/// [`Error::NotFound`]; [`Error::Forbidden`] if fewer were counted than are held there.
pub async fn adjust_lot(act: &Act<'_>, order: &AdjustLot) -> Result<LotView, Error> {
    let view = act.view();
    holds::expire_lapsed(act.tx, act.now).await?;
    let mut lot = view.find_lot(&order.tag).await?;
    check_etag("lot", &lot.tag, lot.revision, order.etag)?;
    let location = view.find_location(&order.location_code).await?;
    let (on_hand, held) = counts_at(act, lot.id, location.id).await?;
    if order.counted < held {
        let description = format!(
            "{held} of lot {} are held at {}: release holds before counting only {}",
            lot.tag, location.code, order.counted
        );
        return Err(Error::forbidden("FEWER_THAN_HELD", lot.tag.clone(), description));
    }
    let delta = order.counted - on_hand;
    if delta != 0 {
        act.tx.change_lot_stock(lot.id, location.id, delta, 0).await?;
        let subject = LedgerSubject::Lot(lot.id);
        let mut entry = ledger_entry(act, LedgerReason::Adjust, subject, location.id, delta);
        entry.note.clone_from(&order.reason);
        act.tx.write_ledger(vec![entry]).await?;
        act.tx.touch_lot(&mut lot).await?;
    }
    view.lot(lot).await
}
