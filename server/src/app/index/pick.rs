//! Which rows count, and what they are told apart by.

use super::places::Places;
use super::row::Row;
use std::cell::RefCell;
use std::collections::HashMap;
use tenths_domain::ids::LocationId;
use tenths_domain::money::Money;
use tenths_domain::state::PieceCondition;
use tenths_domain::temperature::Material;
use tenths_storage::Item;

/// A place of a piece or lot: what it is told apart by, and the last word in the order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Key<'a> {
    /// Whether it is a lot; pieces come first.
    pub is_lot: bool,
    /// Its tag.
    pub tag: &'a str,
    /// The name of the feature.
    pub feature: &'a str,
    /// The number of its row; the rest tells all keys apart already.
    pub(super) row: u32,
}

/// Which stock is asked about; what is empty or absent does not narrow.
#[derive(Default)]
pub struct Filter<'a> {
    /// In one of these conditions.
    pub conditions: Vec<PieceCondition>,
    /// Of one of these materials.
    pub materials: Vec<Material>,
    /// At one of these locations.
    pub locations: Vec<LocationId>,
    /// Costing at most this, in the same currency; stock whose cost is not known is left out.
    pub price_max: Option<Money>,
    /// With some free at this time, in Unix microseconds.
    pub free_at: Option<i64>,
    /// Of items for which this is true.
    pub item: Option<&'a dyn Fn(&Item) -> bool>,
}

/// A filter at work: it remembers what it said of each item.
pub(super) struct Picker<'f, 'a> {
    filter: &'f Filter<'a>,
    /// The filter's locations by the numbers of the index; what the index does not know holds
    /// nothing.
    locations: Vec<u32>,
    items: RefCell<HashMap<*const Item, bool>>,
}

impl<'f, 'a> Picker<'f, 'a> {
    pub(super) fn new(filter: &'f Filter<'a>, places: &Places) -> Self {
        let locations = filter.locations.iter().filter_map(|id| places.find(*id)).collect();
        Picker { filter, locations, items: RefCell::default() }
    }

    pub(super) fn takes(&self, row: &Row) -> bool {
        self.takes_kind(row.condition, row.material)
            && self.takes_place(row)
            && self.takes_price(row)
            && self.filter.free_at.is_none_or(|at| row.available(at) > 0)
            && self.takes_item(&row.item)
    }

    /// What is the same for a whole family.
    pub(super) fn takes_kind(&self, condition: PieceCondition, material: Option<Material>) -> bool {
        let Filter { conditions, materials, .. } = self.filter;
        (conditions.is_empty() || conditions.contains(&condition))
            && (materials.is_empty() || material.is_some_and(|one| materials.contains(&one)))
    }

    fn takes_place(&self, row: &Row) -> bool {
        self.filter.locations.is_empty() || self.locations.iter().any(|one| row.is_at(*one))
    }

    fn takes_price(&self, row: &Row) -> bool {
        let Some(most) = self.filter.price_max else { return true };
        row.unit_cost()
            .is_some_and(|cost| cost.currency == most.currency && cost.minor <= most.minor)
    }

    fn takes_item(&self, item: &std::sync::Arc<Item>) -> bool {
        let Some(takes) = self.filter.item else { return true };
        let known = std::sync::Arc::as_ptr(item);
        *self.items.borrow_mut().entry(known).or_insert_with(|| takes(item))
    }
}
