//! Lots, one location a row.

use super::BadRow;
use super::apply::{Applying, absent, taken, unique};
use super::cell::{self, Cells, bad_row, shown};
use crate::app::act::View;
use crate::app::error::Error;
use crate::app::stock::ledger_entry;
use std::collections::{HashMap, HashSet};
use tenths_domain::ids::{ItemId, LocationId, LotId};
use tenths_domain::money::Money;
use tenths_domain::state::LedgerReason;
use tenths_storage::{LedgerSubject, Lot, LotStock, NewLedgerEntry, Page};

/// Most of a lot that one row receives, as in every other request.
const QUANTITY_MAX: i64 = 1_000_000;

/// A row that is good by itself.
#[derive(Clone, Debug)]
pub(super) struct LotRow {
    line: i64,
    tag: Option<String>,
    item: String,
    quantity: i64,
    location: String,
    date_code: String,
    unit_cost: Option<Money>,
}

/// Reads a row.
pub(super) fn read(mut cells: Cells<'_>, line: i64) -> Result<LotRow, Vec<BadRow>> {
    if !cells.fit() {
        return Err(cells.misfits());
    }
    let tag = cells.optional("tag", cell::tag);
    let item = cells.required("item", "an item's code", cell::tag);
    let quantity = cells.required("quantity", "a quantity", quantity);
    let location = cells.required("location", "a location's code", cell::tag);
    let date_code = cells.optional("date_code", date_code).unwrap_or_default();
    let unit_cost = cells.optional("unit_cost", unit_cost);
    let row = item.zip(quantity).zip(location).map(|((item, quantity), location)| LotRow {
        line,
        tag,
        item,
        quantity,
        location,
        date_code,
        unit_cost,
    });
    cells.finish(row)?.ok_or_else(Vec::new)
}

fn quantity(text: &str) -> Result<i64, String> {
    let plain = text.bytes().all(|byte| byte.is_ascii_digit());
    match text.parse() {
        Ok(quantity) if plain && (1..=QUANTITY_MAX).contains(&quantity) => Ok(quantity),
        _ => Err(format!(
            "{:?} is no quantity; allowed are whole numbers from 1 to {QUANTITY_MAX}",
            shown(text)
        )),
    }
}

fn date_code(text: &str) -> Result<String, String> {
    let digits = |part: &str| part.bytes().all(|byte| byte.is_ascii_digit());
    match text.split_once('-') {
        Some((year, month))
            if year.len() == 4 && month.len() == 2 && digits(year) && digits(month) =>
        {
            if (1..=12).contains(&month.parse().unwrap_or(0)) {
                return Ok(text.to_owned());
            }
            Err(format!("{text:?} has no month {month:?}; allowed are 01 to 12"))
        }
        _ => Err(format!(
            "{:?} is no date code; allowed: empty, or YYYY-MM such as 2025-03",
            shown(text)
        )),
    }
}

fn unit_cost(text: &str) -> Result<Money, String> {
    match Money::parse(text) {
        Ok(money) if money.minor < 0 => {
            Err(format!("{text:?} is below zero; 0 or more is allowed"))
        }
        parsed => parsed.map_err(|error| error.to_string()),
    }
}

impl LotRow {
    /// The tag that a person gave.
    pub(super) fn tag(&self) -> Option<&str> {
        self.tag.as_deref()
    }

    fn lot(&self, tag: String, item: ItemId, now: i64) -> Lot {
        Lot {
            id: LotId(0),
            tag,
            item,
            date_code: self.date_code.clone(),
            unit_cost: self.unit_cost,
            created_at: now,
            revision: 1,
        }
    }

    /// Where this row, which adds to a lot of the same file, differs from it.
    fn differences(&self, lot: &Lot, item: ItemId) -> Vec<BadRow> {
        let cost =
            |cost: Option<Money>| cost.map_or_else(|| "none".to_owned(), |cost| cost.to_string());
        let other = |what: &str| format!("lot {} is there with another {what}", lot.tag);
        let mut bad = Vec::new();
        if lot.item != item {
            bad.push(bad_row(self.line, "item", other("item")));
        }
        if lot.date_code != self.date_code {
            let reason = format!("{}: {:?}", other("date code"), lot.date_code);
            bad.push(bad_row(self.line, "date_code", reason));
        }
        if lot.unit_cost != self.unit_cost {
            let reason = format!("{}: {}", other("unit cost"), cost(lot.unit_cost));
            bad.push(bad_row(self.line, "unit_cost", reason));
        }
        bad
    }
}

/// What the shop knows of the things that a batch names, and the lots that come of it.
struct Batch {
    items: HashMap<String, ItemId>,
    locations: HashMap<String, LocationId>,
    /// Lots of these tags that were there before the batch.
    stored: HashMap<String, Lot>,
    /// Where earlier rows of this import put those lots.
    places: HashSet<(LotId, LocationId)>,
    new: Vec<Lot>,
    /// Which of `new` has a tag that a person gave.
    new_by_tag: HashMap<String, usize>,
    stock: Vec<NewStock>,
}

/// Stock of a lot that is there or of one that is new.
struct NewStock {
    of: Subject,
    location: LocationId,
    quantity: i64,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Subject {
    Stored(LotId),
    New(usize),
}

/// Looks up and writes rows.
pub(super) async fn apply(applying: &mut Applying<'_>, rows: Vec<LotRow>) -> Result<(), Error> {
    let mut batch = Batch::look_up(applying, &rows).await?;
    for row in &rows {
        let found = batch.take(row, applying.act.now);
        applying.note(row.line, found);
    }
    batch.write(applying).await
}

impl Batch {
    async fn look_up(applying: &Applying<'_>, rows: &[LotRow]) -> Result<Batch, Error> {
        let tx = applying.act.tx;
        let items = unique(rows.iter().map(|row| row.item.as_str()));
        let locations = unique(rows.iter().map(|row| row.location.as_str()));
        let tags = unique(rows.iter().filter_map(LotRow::tag));
        let stored = tx.lots_by_tags(&tags).await?;
        let ids: Vec<LotId> = stored.values().map(|lot| lot.id).collect();
        Ok(Batch {
            items: tx.item_ids(&items).await?,
            locations: tx.location_ids(&locations).await?,
            places: tx.lot_places_of_request(applying.act.request_id, &ids).await?,
            stored,
            new: Vec::new(),
            new_by_tag: HashMap::new(),
            stock: Vec::new(),
        })
    }

    fn take(&mut self, row: &LotRow, now: i64) -> Result<(), Vec<BadRow>> {
        let item = self.items.get(&row.item).copied();
        let location = self.locations.get(&row.location).copied();
        let mut bad = Vec::new();
        if item.is_none() {
            bad.push(absent(row.line, "item", "item", &row.item));
        }
        if location.is_none() {
            bad.push(absent(row.line, "location", "location", &row.location));
        }
        let earlier = row.tag().and_then(|tag| self.earlier(tag));
        if let Some((_, lot, ours)) = earlier {
            if !ours {
                bad.push(taken(row.line, "lot", &lot.tag));
            } else if let Some(item) = item {
                bad.extend(row.differences(lot, item));
            }
        }
        let of = earlier.map(|(subject, ..)| subject);
        if let (Some(of), Some(location)) = (of, location)
            && self.has_stock(of, location)
        {
            let reason = format!("the file puts this lot at {} in an earlier row", row.location);
            bad.push(bad_row(row.line, "location", reason));
        }
        let (Some(item), Some(location), true) = (item, location, bad.is_empty()) else {
            return Err(bad);
        };
        let of = of.unwrap_or_else(|| self.add(row, item, now));
        self.stock.push(NewStock { of, location, quantity: row.quantity });
        Ok(())
    }

    /// The lot of this tag that is there before a row, and whether this import received it.
    fn earlier(&self, tag: &str) -> Option<(Subject, &Lot, bool)> {
        if let Some(index) = self.new_by_tag.get(tag) {
            return Some((Subject::New(*index), &self.new[*index], true));
        }
        let lot = self.stored.get(tag)?;
        let ours = self.places.iter().any(|(id, _)| *id == lot.id);
        Some((Subject::Stored(lot.id), lot, ours))
    }

    fn has_stock(&self, of: Subject, location: LocationId) -> bool {
        let stored = matches!(of, Subject::Stored(lot) if self.places.contains(&(lot, location)));
        stored || self.stock.iter().any(|stock| stock.of == of && stock.location == location)
    }

    fn add(&mut self, row: &LotRow, item: ItemId, now: i64) -> Subject {
        let index = self.new.len();
        if let Some(tag) = row.tag() {
            self.new_by_tag.insert(tag.to_owned(), index);
        }
        // A lot without a tag gets its number when the batch is written.
        self.new.push(row.lot(row.tag.clone().unwrap_or_default(), item, now));
        Subject::New(index)
    }

    async fn write(mut self, applying: &Applying<'_>) -> Result<(), Error> {
        let act = &applying.act;
        let untagged: Vec<&mut Lot> =
            self.new.iter_mut().filter(|lot| lot.tag.is_empty()).collect();
        let mut numbers = Vec::new();
        while numbers.len() < untagged.len() {
            let more = applying.numbers("L", untagged.len() - numbers.len()).await?;
            let names: Vec<&str> = more.iter().map(String::as_str).collect();
            let taken = act.tx.lots_by_tags(&names).await?;
            numbers.extend(more.into_iter().filter(|tag| !taken.contains_key(tag)));
        }
        for (lot, tag) in untagged.into_iter().zip(numbers) {
            lot.tag = tag;
        }
        let ids = act.tx.insert_lots(&self.new).await?;
        let id = |of| match of {
            Subject::Stored(id) => Some(id),
            Subject::New(index) => ids.get(&self.new[index].tag).copied(),
        };
        let (mut stock, mut ledger) = (Vec::new(), Vec::<NewLedgerEntry>::new());
        for new in &self.stock {
            let Some(lot) = id(new.of) else { continue };
            let (location, on_hand) = (new.location, new.quantity);
            stock.push(LotStock { lot, location, on_hand, held: 0 });
            let subject = LedgerSubject::Lot(lot);
            ledger.push(ledger_entry(act, LedgerReason::Receive, subject, location, on_hand));
        }
        act.tx.insert_lot_stock(&stock).await?;
        Ok(act.tx.write_ledger_bulk(&ledger).await?)
    }
}

/// A page of lots as rows, and the last lot's number. Lots of which none is left are left out.
pub(super) async fn export(
    view: View<'_>,
    page: Page,
) -> Result<(Vec<Vec<String>>, Option<i64>), Error> {
    let lots = view.tx.lots_page(page, None).await?;
    let last = lots.last().map(|lot| lot.id.0);
    let mut rows = Vec::new();
    for mut shown in view.lots(lots).await? {
        // In a new shop the same places may have been made in another order.
        shown.stock.sort_by(|one, other| one.0.cmp(&other.0));
        for (location, here) in shown.stock.iter().filter(|(_, here)| here.on_hand > 0) {
            rows.push(vec![
                shown.lot.tag.clone(),
                shown.item_code.clone(),
                here.on_hand.to_string(),
                location.clone(),
                shown.lot.date_code.clone(),
                shown.lot.unit_cost.map(|cost| cost.to_string()).unwrap_or_default(),
            ]);
        }
    }
    Ok((rows, last))
}
