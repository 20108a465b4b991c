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
mod numbers;
mod order;
mod pick;
mod places;
mod put;
mod row;
mod sizes;
mod tally;
#[cfg(test)]
mod tests;
mod text;
mod view;

use ends::Pairs;
use family::{Family, FamilyKey, Member, Place, Size};
use numbers::Numbers;
use places::Places;
use put::{Alike, AlikeKey};
use row::Row;
use std::cmp::{Ordering, Reverse};
use std::collections::{BTreeSet, BinaryHeap, HashMap};
use std::sync::Arc;
use tenths_domain::ids::{ItemId, LocationId};
use tenths_domain::item::{FeatureKind, ItemKind, Limits};
use tenths_domain::units::Length;
use tenths_storage::Item;

pub use fits::{Ask, COUNT_MAX, DateRank, Found, Rank, matched_as};
pub use pick::{Filter, Key};
pub use row::StockId;
pub use sizes::{SizeAsk, SizeRank, SizeWindow, SizesFound};
pub use view::RowView;

/// The index.
#[derive(Debug, Default)]
pub struct StockIndex {
    items: HashMap<ItemId, Arc<Item>>,
    places: Places,
    /// The expanded uncertainty (k = 2) of every gauge, by tag, and when its calibration is due.
    gauges: HashMap<Box<str>, (Length, i64)>,
    rows: Vec<Option<Row>>,
    unused: Vec<u32>,
    by_id: Numbers,
    /// The rows of an item, in order.
    by_item: HashMap<ItemId, Vec<u32>>,
    /// What rows without sizes of their own have in common.
    alike: HashMap<AlikeKey, Alike>,
    /// While much is loaded nothing is in order yet: see [`StockIndex::loading`].
    is_loading: bool,
    families: Vec<Family>,
    family_of: HashMap<FamilyKey, u32>,
    by_kind: HashMap<(ItemKind, FeatureKind), Vec<u32>>,
    pairs: Pairs,
    /// Places left out because a gauge found wrong measured them, by where they would be.
    doubted: BTreeSet<(ItemKind, FeatureKind, i64, u32, u16)>,
    /// When holds run out; of rows that may have changed since.
    ends: BinaryHeap<Reverse<(i64, u32)>>,
}

impl StockIndex {
    /// An empty index.
    pub fn new() -> Self {
        StockIndex::default()
    }

    /// An empty index into which much is put before anything is asked: [`StockIndex::settle`] then
    /// puts all of it in order at once. Nothing is taken out before.
    pub fn loading() -> Self {
        StockIndex { is_loading: true, ..StockIndex::default() }
    }

    /// Ends loading.
    pub fn settle(&mut self) {
        self.is_loading = false;
        let ranks = self.ranks();
        let rows = &self.rows;
        // Among places of one row the feature decides, as everywhere.
        let order = |one: &Member, other: &Member| {
            let rank = |member: &Member| ranks[member.row as usize];
            rank(one).cmp(&rank(other)).then_with(|| compare(rows, one, other))
        };
        self.families.iter_mut().for_each(|family| family.settle(order));
        self.pairs.settle(order);
        self.by_item.values_mut().for_each(Vec::shrink_to_fit);
        self.rows.shrink_to_fit();
    }

    /// Where each row stands among all, if they were equals: compared once here, not once a place.
    fn ranks(&self) -> Vec<u32> {
        let mut in_order: Vec<(_, u32)> = self
            .rows
            .iter()
            .zip(0..)
            .filter_map(|(row, number)| Some((row.as_ref()?.order(), number)))
            .collect();
        in_order.sort_unstable();
        let mut ranks = vec![0; self.rows.len()];
        for ((_, number), rank) in in_order.into_iter().zip(0..) {
            ranks[number as usize] = rank;
        }
        ranks
    }

    /// Makes an item known; before its units are put, and again when it changed, after which its
    /// units must be put again.
    pub fn put_item(&mut self, item: Arc<Item>) {
        self.alike.retain(|key, _| key.item != item.id);
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
        self.places.put(id, code);
    }

    /// The location of this code, if it is known.
    pub fn location(&self, code: &str) -> Option<LocationId> {
        self.places.by_code(code)
    }

    /// Makes these the gauges that are known, by tag, with their expanded uncertainty (k = 2) and the
    /// time at which their calibration is due, in Unix microseconds.
    pub fn set_gauges(&mut self, gauges: impl IntoIterator<Item = (String, Length, i64)>) {
        let gauges = gauges.into_iter();
        self.gauges =
            gauges.map(|(tag, known, due)| (tag.into_boxed_str(), (known, due))).collect();
    }

    /// The expanded uncertainty (k = 2) of the gauge of this tag, if it is known and its calibration
    /// is not past due at `now`.
    pub fn gauge(&self, tag: &str, now: i64) -> Option<Length> {
        self.gauges.get(tag).filter(|(_, due)| *due >= now).map(|(known, _)| *known)
    }

    /// How many pieces and lots are in it.
    pub fn len(&self) -> usize {
        self.by_id.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// How many different sizes of places are in it.
    pub fn group_count(&self) -> usize {
        self.families.iter().map(Family::group_count).sum()
    }

    /// Takes a piece or lot out, if it is in.
    pub fn remove(&mut self, id: StockId) {
        let Some(number) = self.by_id.remove(id) else { return };
        self.take_pair(number);
        let row = self.row(number);
        let item = row.item.id;
        let places: Vec<Place> = row.at.iter().map(|at| at.place).collect();
        for (at, place) in places.into_iter().enumerate() {
            let member = Member { row: number, at: u16::try_from(at).unwrap_or(u16::MAX) };
            self.take(place, member);
        }
        if let Some(rows) = self.by_item.get_mut(&item)
            && let Ok(at) = rows.binary_search(&number)
        {
            rows.remove(at);
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
            self.row_mut(number).put_at(at, Place { group, ..place });
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
        self.families.push(Family::new(key, self.is_loading));
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
    let (tag, feature) = (row.tag.as_str(), &*feature.feature.name);
    Key { is_lot: row.is_lot(), tag, feature, row: member.row }
}

/// The order in which equals are told: free before held, dated before undated and the oldest first,
/// then by key.
fn compare(rows: &[Option<Row>], one: &Member, other: &Member) -> Ordering {
    let row = |member: &Member| {
        rows[member.row as usize].as_ref().expect("a number in the index is that of a row")
    };
    let (a, b) = (row(one), row(other));
    a.order().cmp(&b.order()).then_with(|| key_of(a, *one).feature.cmp(key_of(b, *other).feature))
}

/// Whether two ranges of size overlap.
fn overlaps(size: Size, look: Limits) -> bool {
    size.low <= look.upper.nm() && size.high >= look.lower.nm()
}
