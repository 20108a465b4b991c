//! Narrowing what is looked at.

use crate::app::index::{Filter, StockIndex};
use crate::app::{Error, Violation};
use tenths_domain::bearings::designation::{self, ClearanceGroup, Closure};
use tenths_domain::item::ItemKind;
use tenths_domain::money::Money;
use tenths_domain::state::PieceCondition;
use tenths_domain::temperature::Material;
use tenths_storage::Item;

/// What is looked at; every list that is empty means any.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StockFilter {
    /// In one of these conditions.
    pub conditions: Vec<PieceCondition>,
    /// At one of these locations.
    pub locations: Vec<String>,
    /// Of one of these materials.
    pub materials: Vec<Material>,
    /// Rolling bearings of one of these groups; a number that says none is CN.
    pub clearances: Vec<ClearanceGroup>,
    /// Rolling bearings closed like one of these; a number that says none is open.
    pub closures: Vec<Closure>,
    /// Most that one may cost; what has no cost, or another currency, is left out.
    pub price_max: Option<Money>,
    /// Only what is free.
    pub free_only: bool,
    /// When holds are looked at, in Unix microseconds; now if nothing is said.
    pub available_at: Option<i64>,
}

impl StockFilter {
    /// When holds are looked at.
    pub fn at(&self, now: i64) -> i64 {
        self.available_at.unwrap_or(now)
    }

    /// Whether it leaves anything out.
    pub(super) fn narrows(&self) -> bool {
        let all = StockFilter { available_at: self.available_at, ..StockFilter::default() };
        *self != all
    }

    /// Whether it says anything of an item's own.
    pub fn names_bearings(&self) -> bool {
        !self.clearances.is_empty() || !self.closures.is_empty()
    }

    /// The filter as the index takes it; `takes` tells of each item whether it counts.
    ///
    /// # Errors
    /// [`Error::Invalid`] with every location that does not exist, or for a time that is past.
    pub(super) fn at_work<'a>(
        &self,
        index: &StockIndex,
        now: i64,
        takes: Option<&'a dyn Fn(&Item) -> bool>,
    ) -> Result<Filter<'a>, Error> {
        const DAY: i64 = 86_400_000_000;
        let past = self.available_at.map_or(0, |at| now.saturating_sub(at) / DAY);
        if past > 0 {
            let problem = format!("it is {past} days past; allowed: from now on");
            return Err(Error::invalid("filter.available_at", problem));
        }
        let mut locations = Vec::with_capacity(self.locations.len());
        let mut unknown = Vec::new();
        for (at, code) in self.locations.iter().enumerate() {
            match index.location(code) {
                Some(id) => locations.push(id),
                None => unknown.push(Violation::new(
                    format!("filter.location_codes[{at}]"),
                    format!("there is no location {code:?}"),
                )),
            }
        }
        if !unknown.is_empty() {
            return Err(Error::Invalid(unknown));
        }
        Ok(Filter {
            conditions: self.conditions.clone(),
            materials: self.materials.clone(),
            locations,
            price_max: self.price_max,
            free_at: self.free_only.then(|| self.at(now)),
            item: takes,
        })
    }

    /// Whether an item counts: groups and closures narrow rolling bearings alone, nothing else has
    /// them.
    pub(super) fn takes_item(&self, item: &Item) -> bool {
        if !self.names_bearings() {
            return true;
        }
        if item.kind != ItemKind::RollingBearing {
            return false;
        }
        let Ok(number) = designation::parse(&item.designation) else { return false };
        let group = number.clearance.unwrap_or(ClearanceGroup::Cn);
        let closure = number.closure.unwrap_or(Closure::Open);
        (self.clearances.is_empty() || self.clearances.contains(&group))
            && (self.closures.is_empty() || self.closures.contains(&closure))
    }
}
