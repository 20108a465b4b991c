//! A piece or lot as an answer shows it.

use crate::app::index::{RowView, StockId};
use std::sync::Arc;
use tenths_domain::fit::SizeBelief;
use tenths_domain::money::Money;
use tenths_domain::state::PieceCondition;
use tenths_domain::temperature::Material;
use tenths_domain::units::Length;
use tenths_storage::{Item, ItemFeature, StockedHold};

/// How much is at a location, and how much of it is held.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlaceOf {
    /// The location's code.
    pub code: String,
    /// How many are there.
    pub on_hand: i64,
    /// How many of them are held.
    pub held: i64,
}

/// A piece or lot with the place that was looked at, where it is and who holds it.
#[derive(Clone, Debug)]
pub struct Shown {
    /// Whether it is a lot.
    pub is_lot: bool,
    /// Its tag.
    pub tag: String,
    /// What it is one of.
    pub item: Arc<Item>,
    /// The place on it.
    pub place: ShownPlace,
    /// Where how many are.
    pub places: Vec<PlaceOf>,
    /// How many can be had without splitting a matched set.
    pub available: i64,
    /// The hold on a piece.
    pub hold: Option<StockedHold>,
    /// The holds on a lot: location, quantity, until when in Unix microseconds.
    pub lot_holds: Vec<(String, i64, i64)>,
    /// Date code of a lot; empty if it has none.
    pub date_code: String,
    /// Cost of one, if known.
    pub unit_cost: Option<Money>,
    /// When it came in, in Unix microseconds.
    pub created_at: i64,
    /// New, used or reconditioned.
    pub condition: PieceCondition,
    /// What it is made of, if known.
    pub material: Option<Material>,
}

/// A place on a part in stock.
#[derive(Clone, Debug)]
pub struct ShownPlace {
    item: Arc<Item>,
    /// Which of the item's features.
    slot: usize,
    /// Its nominal size.
    pub nominal: Length,
    /// What is believed of its size; nothing if only the nominal size is known.
    pub belief: Option<SizeBelief>,
}

impl ShownPlace {
    /// The place of this name on a row.
    pub(super) fn of(row: RowView<'_>, name: &str) -> Option<Self> {
        let item = row.item();
        let slot = item.features.iter().position(|one| one.feature.name == name)?;
        let size = row.size_at(slot)?;
        Some(ShownPlace {
            item: Arc::clone(item),
            slot,
            nominal: size.nominal,
            belief: size.belief,
        })
    }

    /// What the catalogue says of it.
    pub fn feature(&self) -> &ItemFeature {
        &self.item.features[self.slot]
    }

    /// Where its size is known from.
    pub(super) fn source(&self) -> String {
        if self.belief.is_some_and(|size| size.is_measured()) {
            return "readings, at 20 C".to_owned();
        }
        let limits = self.feature().feature.limits().ok().flatten();
        limits.map_or_else(|| "nominal size".to_owned(), |(_, source)| source)
    }
}

impl Shown {
    /// Looks up what is shown of a row at a time.
    pub(super) fn new(row: RowView<'_>, place: ShownPlace, at: i64) -> Self {
        let item = Arc::clone(row.item());
        let here = row.stock(at);
        let free = here.iter().map(|one| item.set.whole(one.on_hand - one.held)).sum();
        Shown {
            is_lot: matches!(row.id(), StockId::Lot(_)),
            tag: row.tag().to_owned(),
            item,
            place,
            places: here
                .iter()
                .map(|one| PlaceOf {
                    code: one.code.to_owned(),
                    on_hand: one.on_hand,
                    held: one.held,
                })
                .collect(),
            available: free,
            hold: row.hold(at).cloned(),
            lot_holds: row.lot_holds(at),
            date_code: row.date_code().unwrap_or_default().to_owned(),
            unit_cost: row.unit_cost(),
            created_at: row.created_at(),
            condition: row.condition(),
            material: row.material(),
        }
    }
}
