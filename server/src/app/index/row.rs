//! One piece or lot as the index keeps it: small, since there are millions.

use super::family::Place;
use std::sync::Arc;
use tenths_domain::ids::{LocationId, LotId, PieceId};
use tenths_domain::money::Money;
use tenths_domain::state::PieceCondition;
use tenths_domain::temperature::Material;
use tenths_storage::{Item, StockedAt, StockedHold, StockedLot, StockedLotHold, StockedPiece};

/// A piece or a lot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StockId {
    /// A piece.
    Piece(PieceId),
    /// A lot.
    Lot(LotId),
}

/// Where in the index a place of a row stands, so that it is found again to be taken out.
#[derive(Clone, Copy, Debug)]
pub(super) struct At {
    /// Which feature of the item.
    pub(super) feature: u16,
    /// Where it was put.
    pub(super) place: Place,
}

/// What is told of a row and only one of the two kinds has.
#[derive(Debug)]
pub(super) enum Kind {
    /// A piece: where it is and the hold on it.
    Piece { location: LocationId, hold: Option<Box<StockedHold>> },
    /// A lot: its date code, what one costs, where there are some, and the holds on them.
    Lot(Box<LotPart>),
}

#[derive(Debug)]
pub(super) struct LotPart {
    pub(super) date_code: Box<str>,
    pub(super) unit_cost: Option<Money>,
    pub(super) stock: Box<[StockedAt]>,
    pub(super) holds: Box<[StockedLotHold]>,
}

/// A piece or lot in stock.
#[derive(Debug)]
pub(super) struct Row {
    pub(super) id: StockId,
    pub(super) tag: Box<str>,
    pub(super) item: Arc<Item>,
    pub(super) condition: PieceCondition,
    pub(super) material: Option<Material>,
    pub(super) created_at: i64,
    pub(super) kind: Kind,
    /// Whether nothing of it was free when it was put or when a hold on it last ran out.
    pub(super) is_held: bool,
    pub(super) at: Box<[At]>,
}

impl Row {
    pub(super) fn of_piece(piece: StockedPiece, item: Arc<Item>) -> Self {
        Row {
            id: StockId::Piece(piece.id),
            tag: piece.tag.into_boxed_str(),
            material: piece.material.or(item.material),
            item,
            condition: piece.condition,
            created_at: piece.created_at,
            kind: Kind::Piece { location: piece.location, hold: piece.hold.map(Box::new) },
            is_held: false,
            at: Box::default(),
        }
    }

    pub(super) fn of_lot(lot: StockedLot, item: Arc<Item>) -> Self {
        let part = LotPart {
            date_code: lot.date_code.into_boxed_str(),
            unit_cost: lot.unit_cost,
            stock: lot.stock.into_boxed_slice(),
            holds: lot.holds.into_boxed_slice(),
        };
        Row {
            id: StockId::Lot(lot.id),
            tag: lot.tag.into_boxed_str(),
            material: item.material,
            item,
            condition: PieceCondition::New,
            created_at: lot.created_at,
            kind: Kind::Lot(Box::new(part)),
            is_held: false,
            at: Box::default(),
        }
    }

    pub(super) fn is_lot(&self) -> bool {
        matches!(self.id, StockId::Lot(_))
    }

    /// How many are free at `now`: holds that have run out by then do not count.
    pub(super) fn available(&self, now: i64) -> i64 {
        match &self.kind {
            Kind::Piece { hold, .. } => {
                i64::from(hold.as_ref().is_none_or(|hold| hold.until_at <= now))
            }
            Kind::Lot(lot) => {
                let live = lot.holds.iter().filter(|hold| hold.until_at > now);
                let held: i64 = live.map(|hold| hold.quantity).sum();
                lot.stock.iter().map(|here| here.on_hand).sum::<i64>() - held
            }
        }
    }

    /// When the holds that are live at `now` run out.
    pub(super) fn ends(&self, now: i64) -> impl Iterator<Item = i64> {
        let (piece, lot) = match &self.kind {
            Kind::Piece { hold, .. } => (hold.as_ref().map(|hold| hold.until_at), &[][..]),
            Kind::Lot(lot) => (None, &lot.holds[..]),
        };
        piece.into_iter().chain(lot.iter().map(|hold| hold.until_at)).filter(move |end| *end > now)
    }

    pub(super) fn date_code(&self) -> Option<&str> {
        match &self.kind {
            Kind::Piece { .. } => None,
            Kind::Lot(lot) => Some(&*lot.date_code).filter(|code| !code.is_empty()),
        }
    }

    pub(super) fn unit_cost(&self) -> Option<Money> {
        match &self.kind {
            Kind::Piece { .. } => None,
            Kind::Lot(lot) => lot.unit_cost,
        }
    }

    pub(super) fn is_at(&self, location: LocationId) -> bool {
        match &self.kind {
            Kind::Piece { location: here, .. } => *here == location,
            Kind::Lot(lot) => lot.stock.iter().any(|here| here.location == location),
        }
    }
}
