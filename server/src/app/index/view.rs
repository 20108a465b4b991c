//! What is told of a row.

use super::StockIndex;
use super::row::{Kind, Row, StockId};
use std::sync::Arc;
use tenths_domain::fit::SizeBelief;
use tenths_domain::ids::LocationId;
use tenths_domain::money::Money;
use tenths_domain::state::PieceCondition;
use tenths_domain::temperature::Material;
use tenths_domain::units::Length;
use tenths_storage::{Item, StockedHold};

/// A piece or lot of the index.
#[derive(Clone, Copy, Debug)]
pub struct RowView<'a> {
    pub(super) index: &'a StockIndex,
    pub(super) number: u32,
}

/// How much of a row is where.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HereView<'a> {
    /// The location.
    pub location: LocationId,
    /// Its code; empty if it is not known yet.
    pub code: &'a str,
    /// How many are there.
    pub on_hand: i64,
    /// How many of them are held.
    pub held: i64,
}

/// The size of a place of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SizeView {
    /// What is believed of it; nothing if only its nominal size is known.
    pub belief: Option<SizeBelief>,
    /// Its nominal size; of a reconditioned place the one it was finished to.
    pub nominal: Length,
}

impl<'a> RowView<'a> {
    fn row(self) -> &'a Row {
        self.index.row(self.number)
    }

    /// Which piece or lot it is.
    pub fn id(self) -> StockId {
        self.row().id()
    }

    /// Its tag.
    pub fn tag(self) -> &'a str {
        self.row().tag.as_str()
    }

    /// What it is one of.
    pub fn item(self) -> &'a Arc<Item> {
        &self.row().item
    }

    /// Its condition; a lot is new.
    pub fn condition(self) -> PieceCondition {
        self.row().condition
    }

    /// What it is made of, if known.
    pub fn material(self) -> Option<Material> {
        self.row().material
    }

    /// When it was tagged or received, in Unix microseconds.
    pub fn created_at(self) -> i64 {
        self.row().created_at
    }

    /// What one costs, if known.
    pub fn unit_cost(self) -> Option<Money> {
        self.row().unit_cost()
    }

    /// The date code of a lot, if it has one.
    pub fn date_code(self) -> Option<&'a str> {
        self.row().date_code()
    }

    /// How many are free at `now`.
    pub fn available(self, now: i64) -> i64 {
        self.row().available(now)
    }

    /// The hold on a piece that is live at `now`.
    pub fn hold(self, now: i64) -> Option<&'a StockedHold> {
        match &self.row().kind {
            Kind::Piece { hold, .. } => hold.as_deref().filter(|hold| hold.until_at > now),
            Kind::Lot(_) => None,
        }
    }

    /// The holds on a lot that are live at `now`: location, quantity, until when in Unix microseconds.
    pub fn lot_holds(self, now: i64) -> Vec<(String, i64, i64)> {
        let Kind::Lot(lot) = &self.row().kind else { return Vec::new() };
        let code = |location: u32| self.index.places.at(location).1.to_owned();
        let live = lot.holds().iter().filter(|hold| hold.until_at > now);
        live.map(|hold| (code(hold.location), hold.quantity, hold.until_at)).collect()
    }

    /// Where it is, and how many are free there at `now`.
    pub fn stock(self, now: i64) -> Vec<HereView<'a>> {
        let view = |location: u32, on_hand: i64, held: i64| {
            let (location, code) = self.index.places.at(location);
            HereView { location, code, on_hand, held }
        };
        match &self.row().kind {
            Kind::Piece { location, .. } => {
                vec![view(*location, 1, 1 - self.row().available(now))]
            }
            Kind::Lot(lot) => {
                let held = |location: u32| {
                    let here = lot.holds().iter().filter(|hold| hold.location == location);
                    here.filter(|hold| hold.until_at > now).map(|hold| hold.quantity).sum()
                };
                lot.stock().map(|(location, n)| view(location, n, held(location))).collect()
            }
        }
    }

    /// The size of this feature of the item; nothing if it has no such feature, or one that a gauge
    /// found wrong measured.
    pub fn size_at(self, feature: usize) -> Option<SizeView> {
        let row = self.row();
        let at = row.at.iter().find(|at| usize::from(at.feature) == feature)?;
        let family = &self.index.families[at.place.family as usize];
        let size = family.group(at.place.group).size;
        Some(SizeView { belief: size.belief(family.key.known), nominal: family.key.nominal })
    }
}
