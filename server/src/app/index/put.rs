//! Putting pieces and lots in: which places a row has, and where in the index each belongs.

use super::StockIndex;
use super::family::{FamilyKey, Known, Member, Place, Size};
use super::row::{At, Row, StockId};
use std::cmp::Reverse;
use std::sync::Arc;
use tenths_domain::bearings::iso492::ToleranceClass;
use tenths_domain::ids::ItemId;
use tenths_domain::item::{FeatureKind, ItemKind, Side, Tolerance};
use tenths_domain::state::PieceCondition;
use tenths_domain::temperature::Material;
use tenths_domain::units::Length;
use tenths_storage::{ItemFeature, StockedLot, StockedPiece, StockedSize};

/// A place of a row, worked out from what storage says.
#[derive(Clone, Copy, Debug)]
struct Put {
    feature: u16,
    key: FamilyKey,
    size: Size,
}

/// What tells rows without sizes of their own apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct AlikeKey {
    pub(super) item: ItemId,
    condition: PieceCondition,
    material: Option<Material>,
}

/// What such rows have in common, worked out for the first of them.
#[derive(Clone, Debug)]
pub(super) struct Alike {
    puts: Arc<[Put]>,
    /// Where the last of them was put: most stand together.
    at: Arc<[At]>,
}

/// A place left out because of a gauge found wrong: where it would be, and which feature.
type Doubted = (ItemKind, FeatureKind, i64, u16);

impl StockIndex {
    /// Puts a piece in, in the place of what stood under its number. A piece of an item that is not
    /// known is left out.
    pub fn put_piece(&mut self, mut piece: StockedPiece, now: i64) {
        self.remove(StockId::Piece(piece.id));
        let Some(item) = self.items.get(&piece.item).cloned() else { return };
        let sizes = std::mem::take(&mut piece.sizes);
        let row = Row::of_piece(piece, item, &mut self.places);
        self.put(row, &sizes, now);
    }

    /// Puts a lot in, in the place of what stood under its number; see [`StockIndex::put_piece`].
    pub fn put_lot(&mut self, lot: StockedLot, now: i64) {
        self.remove(StockId::Lot(lot.id));
        let Some(item) = self.items.get(&lot.item).cloned() else { return };
        let row = Row::of_lot(&lot, item, &mut self.places);
        self.put(row, &[], now);
    }

    fn put(&mut self, mut row: Row, sizes: &[StockedSize], now: i64) {
        row.is_held = row.available(now) <= 0;
        let ends: Vec<i64> = row.ends(now).collect();
        let alike = sizes.is_empty().then(|| self.alike(&row));
        let (puts, doubted) = match &alike {
            Some((_, alike)) => (Arc::clone(&alike.puts), Vec::new()),
            None => places_of(&row, sizes),
        };
        // The order among equals looks at a row's places, so they are known before they are put.
        row.at = match &alike {
            Some((_, alike)) => Arc::clone(&alike.at),
            None => nowhere(&puts),
        };
        let number = self.enter(row);
        self.ends.extend(ends.into_iter().map(|end| Reverse((end, number))));
        self.doubted.extend(
            doubted
                .into_iter()
                .map(|(kind, feature, low, slot)| (kind, feature, low, number, slot)),
        );
        for (at, put) in puts.iter().enumerate() {
            let member = Member { row: number, at: u16::try_from(at).unwrap_or(u16::MAX) };
            let family = self.family(put.key);
            let group = self.insert(family, put.size, member);
            self.row_mut(number).put_at(at, Place { family, group });
        }
        if let Some((key, alike)) = alike {
            let at = Arc::clone(&self.row(number).at);
            self.alike.insert(key, Alike { at, ..alike });
        }
        self.put_pair(number);
    }

    /// Stores a row under a number, and by what it is found; its places are not put yet.
    fn enter(&mut self, row: Row) -> u32 {
        let (id, item) = (row.id(), row.item.id);
        let number = self.store(row);
        self.by_id.insert(id, number);
        let rows = self.by_item.entry(item).or_default();
        let at = rows.partition_point(|one| *one < number);
        rows.insert(at, number);
        number
    }

    /// What a row without sizes of its own has in common with others.
    fn alike(&self, row: &Row) -> (AlikeKey, Alike) {
        let key = AlikeKey { item: row.item.id, condition: row.condition, material: row.material };
        let known = self.alike.get(&key).cloned();
        let alike = known.unwrap_or_else(|| {
            let (puts, _) = places_of(row, &[]);
            Alike { at: nowhere(&puts), puts }
        });
        (key, alike)
    }
}

impl Row {
    /// Notes where one of its places was put. Rows that are alike go on sharing where they can.
    pub(super) fn put_at(&mut self, at: usize, place: Place) {
        if self.at[at].place != place {
            Arc::make_mut(&mut self.at)[at].place = place;
        }
    }
}

fn nowhere(puts: &[Put]) -> Arc<[At]> {
    let place = Place { family: u32::MAX, group: u32::MAX };
    puts.iter().map(|put| At { feature: put.feature, place }).collect()
}

fn places_of(row: &Row, sizes: &[StockedSize]) -> (Arc<[Put]>, Vec<Doubted>) {
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
    (puts.into(), doubted)
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
    let limits = || target.or_else(|| own.known_limits());
    let readings = size.and_then(|size| Some((size.min?, size.max?, size.uncertainty?)));
    let (known, size) = match readings {
        Some((min, max, uncertainty)) => {
            (Known::Readings(digits(uncertainty)), (min, max, uncertainty))
        }
        None => match limits() {
            Some(limits) => (Known::Limits, (limits.lower, limits.upper, Length::ZERO)),
            None => (Known::Nominal, (nominal, nominal, Length::ZERO)),
        },
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
