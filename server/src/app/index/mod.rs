//! The index of the stock: every place of every piece and lot in stock, in memory, in order of size,
//! so that a question looks at what is near and not at everything.
//!
//! It holds no rule. What fits, what misses and in which order is [`tenths_domain::matching`]; the
//! index picks the few rows that can be in an answer and lets [`tenths_domain::matching::answer`]
//! judge them, so an answer by the index is the answer by brute force. It does no I/O and has no
//! lock: its keeper feeds it and guards it (see `super::finding`).
//!
//! The search rests on two facts. Within a family (everything equal but the size) the distance from
//! the middle of the window grows as one walks outward from the ideal size, in either direction; and
//! no verdict is better than that of the narrowest size with the smallest uncertainty at the same
//! distance. So a walk can stop, exactly, as soon as enough is found that nothing further out beats.

mod ends;
mod family;
mod fits;
mod misses;
mod pick;
mod row;
mod sizes;
#[cfg(test)]
mod tests;
mod view;

use ends::Pairs;
use family::{Family, FamilyKey, Known, Member, Place, Size};
use row::{At, Row};
use std::cmp::{Ordering, Reverse};
use std::collections::{BTreeSet, BinaryHeap, HashMap};
use std::sync::Arc;
use tenths_domain::bearings::iso492::ToleranceClass;
use tenths_domain::ids::{ItemId, LocationId};
use tenths_domain::item::{FeatureKind, ItemKind, Limits, Side, Tolerance};
use tenths_domain::units::Length;
use tenths_storage::{Item, ItemFeature, StockedLot, StockedPiece, StockedSize};

pub use fits::{Ask, COUNT_MAX, DateRank, Found, Rank};
pub use pick::{Filter, Key};
pub use row::StockId;
pub use sizes::{SizeAsk, SizeRank, SizeWindow, SizesFound};
pub use view::RowView;

/// The index.
#[derive(Debug, Default)]
pub struct StockIndex {
    items: HashMap<ItemId, Arc<Item>>,
    locations: HashMap<LocationId, Box<str>>,
    rows: Vec<Option<Row>>,
    unused: Vec<u32>,
    by_id: HashMap<StockId, u32>,
    by_item: HashMap<ItemId, BTreeSet<u32>>,
    families: Vec<Family>,
    family_of: HashMap<FamilyKey, u32>,
    by_kind: HashMap<(ItemKind, FeatureKind), Vec<u32>>,
    pairs: Pairs,
    /// Places left out because a gauge found wrong measured them, by where they would be.
    doubted: BTreeSet<(ItemKind, FeatureKind, i64, u32, u16)>,
    /// When holds run out; of rows that may have changed since.
    ends: BinaryHeap<Reverse<(i64, u32)>>,
}

/// A place of a row, worked out from what storage says.
struct Put {
    feature: u16,
    key: FamilyKey,
    size: Size,
}

impl StockIndex {
    /// An empty index.
    pub fn new() -> Self {
        StockIndex::default()
    }

    /// Makes an item known; before its units are put, and again when it changed, after which its
    /// units must be put again.
    pub fn put_item(&mut self, item: Arc<Item>) {
        self.items.insert(item.id, item);
    }

    /// The item of this number, if it is known.
    pub fn item(&self, id: ItemId) -> Option<&Arc<Item>> {
        self.items.get(&id)
    }

    /// Every item that is known, in no order.
    pub fn items(&self) -> impl Iterator<Item = &Arc<Item>> {
        self.items.values()
    }

    /// Makes a location known.
    pub fn put_location(&mut self, id: LocationId, code: &str) {
        self.locations.insert(id, code.into());
    }

    /// The location of this code, if it is known.
    pub fn location(&self, code: &str) -> Option<LocationId> {
        self.locations.iter().find(|(_, known)| ***known == *code).map(|(id, _)| *id)
    }

    /// How many pieces and lots are in it.
    pub fn len(&self) -> usize {
        self.by_id.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.by_id.is_empty()
    }

    /// How many different sizes of places are in it.
    pub fn group_count(&self) -> usize {
        self.families.iter().map(Family::group_count).sum()
    }

    /// Puts a piece in, in the place of what stood under its number. A piece of an item that is not
    /// known is left out.
    pub fn put_piece(&mut self, piece: StockedPiece, now: i64) {
        let id = StockId::Piece(piece.id);
        self.remove(id);
        let Some(item) = self.items.get(&piece.item).cloned() else { return };
        let sizes: Vec<StockedSize> = piece.sizes.clone();
        let row = Row::of_piece(piece, item);
        self.put(row, &sizes, now);
    }

    /// Puts a lot in, in the place of what stood under its number; see [`StockIndex::put_piece`].
    pub fn put_lot(&mut self, lot: StockedLot, now: i64) {
        let id = StockId::Lot(lot.id);
        self.remove(id);
        let Some(item) = self.items.get(&lot.item).cloned() else { return };
        let row = Row::of_lot(lot, item);
        self.put(row, &[], now);
    }

    fn put(&mut self, mut row: Row, sizes: &[StockedSize], now: i64) {
        row.is_held = row.available(now) <= 0;
        let (id, item) = (row.id, row.item.id);
        let ends: Vec<i64> = row.ends(now).collect();
        let (puts, doubted) = places_of(&row, sizes);
        let number = self.store(row);
        self.by_id.insert(id, number);
        self.by_item.entry(item).or_default().insert(number);
        self.ends.extend(ends.into_iter().map(|end| Reverse((end, number))));
        self.doubted.extend(
            doubted
                .into_iter()
                .map(|(kind, feature, low, slot)| (kind, feature, low, number, slot)),
        );
        // The order among equals looks at a row's places, so they are known before they are put.
        let nowhere = Place { family: 0, group: 0 };
        self.row_mut(number).at =
            puts.iter().map(|put| At { feature: put.feature, place: nowhere }).collect();
        for (at, put) in puts.into_iter().enumerate() {
            let member = Member { row: number, at: u16::try_from(at).unwrap_or(u16::MAX) };
            let family = self.family(put.key);
            let group = self.insert(family, put.size, member);
            self.row_mut(number).at[at].place = Place { family, group };
        }
        self.put_pair(number);
    }

    /// Takes a piece or lot out, if it is in.
    pub fn remove(&mut self, id: StockId) {
        let Some(number) = self.by_id.remove(&id) else { return };
        self.take_pair(number);
        let row = self.row(number);
        let item = row.item.id;
        let places: Vec<Place> = row.at.iter().map(|at| at.place).collect();
        for (at, place) in places.into_iter().enumerate() {
            let member = Member { row: number, at: u16::try_from(at).unwrap_or(u16::MAX) };
            self.take(place, member);
        }
        if let Some(rows) = self.by_item.get_mut(&item) {
            rows.remove(&number);
        }
        if !self.doubted.is_empty() {
            self.doubted.retain(|(_, _, _, row, _)| *row != number);
        }
        self.rows[number as usize] = None;
        self.unused.push(number);
    }

    /// When the next hold runs out; a question at that time or later needs [`StockIndex::expire`]
    /// first.
    pub fn next_end(&self) -> Option<i64> {
        self.ends.peek().map(|Reverse((end, _))| *end)
    }

    /// Lets holds that ran out by `now` go.
    pub fn expire(&mut self, now: i64) {
        while let Some(Reverse((end, number))) = self.ends.peek().copied().filter(|e| e.0.0 <= now)
        {
            self.ends.pop();
            debug_assert!(end <= now);
            let Some(row) = self.rows.get(number as usize).and_then(Option::as_ref) else {
                continue;
            };
            let is_held = row.available(now) <= 0;
            if is_held != row.is_held {
                self.reorder(number, is_held);
            }
        }
    }

    /// Puts a row's places where they belong now that it is held, or no longer.
    fn reorder(&mut self, number: u32, is_held: bool) {
        let row = self.row(number);
        let places: Vec<Place> = row.at.iter().map(|at| at.place).collect();
        let sizes: Vec<Size> = places
            .iter()
            .map(|place| self.families[place.family as usize].group(place.group).size)
            .collect();
        self.take_pair(number);
        for (at, place) in places.iter().enumerate() {
            let member = Member { row: number, at: u16::try_from(at).unwrap_or(u16::MAX) };
            self.take(*place, member);
        }
        self.row_mut(number).is_held = is_held;
        for (at, (place, size)) in places.into_iter().zip(sizes).enumerate() {
            let member = Member { row: number, at: u16::try_from(at).unwrap_or(u16::MAX) };
            let group = self.insert(place.family, size, member);
            self.row_mut(number).at[at].place.group = group;
        }
        self.put_pair(number);
    }

    fn store(&mut self, row: Row) -> u32 {
        match self.unused.pop() {
            Some(number) => {
                self.rows[number as usize] = Some(row);
                number
            }
            None => {
                self.rows.push(Some(row));
                u32::try_from(self.rows.len() - 1).expect("fewer than 4,294,967,296 rows")
            }
        }
    }

    fn row(&self, number: u32) -> &Row {
        self.rows[number as usize].as_ref().expect("a number in the index is that of a row")
    }

    fn row_mut(&mut self, number: u32) -> &mut Row {
        self.rows[number as usize].as_mut().expect("a number in the index is that of a row")
    }

    fn family(&mut self, key: FamilyKey) -> u32 {
        if let Some(number) = self.family_of.get(&key) {
            return *number;
        }
        let number = u32::try_from(self.families.len()).expect("fewer families than rows");
        self.families.push(Family::new(key));
        self.family_of.insert(key, number);
        self.by_kind.entry((key.item, key.feature)).or_default().push(number);
        number
    }

    fn insert(&mut self, family: u32, size: Size, member: Member) -> u32 {
        let rows = &self.rows;
        let order = |one: &Member| compare(rows, one, &member);
        self.families[family as usize].insert(size, member, order)
    }

    fn take(&mut self, place: Place, member: Member) {
        let rows = &self.rows;
        let order = |one: &Member| compare(rows, one, &member);
        self.families[place.family as usize].remove(place.group, member, order);
    }

    fn key_of(&self, member: Member) -> Key<'_> {
        key_of(self.row(member.row), member)
    }
}

fn key_of(row: &Row, member: Member) -> Key<'_> {
    let feature = row.at[usize::from(member.at)].feature;
    let feature = &row.item.features[usize::from(feature)];
    let (tag, feature) = (&*row.tag, &*feature.feature.name);
    Key { is_lot: row.is_lot(), tag, feature, row: member.row }
}

/// The order in which equals are told: free before held, dated before undated and the oldest first,
/// then by key.
fn compare(rows: &[Option<Row>], one: &Member, other: &Member) -> Ordering {
    let row = |member: &Member| {
        rows[member.row as usize].as_ref().expect("a number in the index is that of a row")
    };
    let (a, b) = (row(one), row(other));
    let rank = |row: &'_ Row| (row.is_held, row.date_code().is_none());
    rank(a)
        .cmp(&rank(b))
        .then_with(|| a.date_code().cmp(&b.date_code()))
        .then_with(|| key_of(a, *one).cmp(&key_of(b, *other)))
}

/// A place left out because of a gauge found wrong: where it would be, and which feature.
type Doubted = (ItemKind, FeatureKind, i64, u16);

fn places_of(row: &Row, sizes: &[StockedSize]) -> (Vec<Put>, Vec<Doubted>) {
    let (mut puts, mut doubted) = (Vec::with_capacity(row.item.features.len()), Vec::new());
    for (slot, feature) in row.item.features.iter().enumerate() {
        let Ok(slot) = u16::try_from(slot) else { break };
        let size = sizes.iter().find(|size| size.feature == feature.id);
        let (key, found) = place_of(row, feature, size);
        if size.is_some_and(|size| size.is_doubted) {
            doubted.push((key.item, key.feature, found.low, slot));
        } else {
            puts.push(Put { feature: slot, key, size: found });
        }
    }
    (puts, doubted)
}

/// Where a feature of a row belongs: by its readings, else by its limits, else by its nominal size.
fn place_of(row: &Row, feature: &ItemFeature, size: Option<&StockedSize>) -> (FamilyKey, Size) {
    let own = &feature.feature;
    let target = size.and_then(|size| size.target);
    // A reconditioned place has a nominal size of its own: see `judging::effective_feature`.
    let nominal = match (target, own.kind.side()) {
        (None, _) => own.nominal,
        (Some(target), Side::External) => target.upper,
        (Some(target), Side::Internal) => target.lower,
    };
    let limits = target.or_else(|| own.limits().ok().flatten().map(|(limits, _)| limits));
    let readings = size.and_then(|size| Some((size.min?, size.max?, size.uncertainty?)));
    let (known, size) = match (readings, limits) {
        (Some((min, max, uncertainty)), _) => {
            (Known::Readings(digits(uncertainty)), (min, max, uncertainty))
        }
        (None, Some(limits)) => (Known::Limits, (limits.lower, limits.upper, Length::ZERO)),
        (None, None) => (Known::Nominal, (nominal, nominal, Length::ZERO)),
    };
    let key = FamilyKey {
        item: row.item.kind,
        feature: own.kind,
        nominal,
        ring: ring_of(&own.tolerance),
        material: row.material,
        condition: row.condition,
        known,
    };
    let (low, high, uncertainty) = size;
    (key, Size { low: low.nm(), high: high.nm(), uncertainty: uncertainty.nm() })
}

fn digits(uncertainty: Length) -> u8 {
    u8::try_from(uncertainty.nm().max(1).ilog2()).unwrap_or(u8::MAX)
}

fn ring_of(tolerance: &Tolerance) -> Option<ToleranceClass> {
    match tolerance {
        Tolerance::Iso492(class) => Some(*class),
        _ => None,
    }
}

/// Whether two ranges of size overlap.
fn overlaps(size: Size, look: Limits) -> bool {
    size.low <= look.upper.nm() && size.high >= look.lower.nm()
}
