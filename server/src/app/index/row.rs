//! One piece or lot as the index keeps it: small, since there are millions.

use super::family::Place;
use super::places::Places;
use super::text::Text;
use std::sync::Arc;
use tenths_domain::ids::{LotId, PieceId};
use tenths_domain::money::Money;
use tenths_domain::state::PieceCondition;
use tenths_domain::temperature::Material;
use tenths_storage::{Item, StockedHold, StockedLot, StockedPiece};

/// A piece or a lot.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StockId {
    /// A piece.
    Piece(PieceId),
    /// A lot.
    Lot(LotId),
}

/// Where in the index a place of a row stands, so that it is found again to be taken out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct At {
    /// Which feature of the item.
    pub(super) feature: u16,
    /// Where it was put.
    pub(super) place: Place,
}

/// What is told of a row and only one of the two kinds has. Locations by the number that
/// [`Places`] gives them.
#[derive(Debug)]
pub(super) enum Kind {
    /// A piece: where it is and the hold on it.
    Piece { location: u32, hold: Option<Box<StockedHold>> },
    /// A lot: its date code, what one costs, where there are some, and the holds on them.
    Lot(Box<LotPart>),
}

#[derive(Debug)]
pub(super) struct LotPart {
    pub(super) date_code: Text,
    pub(super) unit_cost: Option<Money>,
    stock: Stock,
    holds: Option<Box<Holds>>,
}

/// Where how many of a lot are: nearly always at one location.
#[derive(Debug)]
enum Stock {
    One { location: u32, on_hand: i64 },
    Many(Box<Heres>),
}

/// Locations with how many are there. In a box of its own, which is one word where a slice is two.
#[derive(Debug)]
struct Heres(Vec<(u32, i64)>);

/// The holds on a lot, likewise.
#[derive(Debug)]
struct Holds(Vec<LotHold>);

/// A hold on a quantity of a lot.
#[derive(Clone, Copy, Debug)]
pub(super) struct LotHold {
    pub(super) location: u32,
    pub(super) quantity: i64,
    pub(super) until_at: i64,
}

impl LotPart {
    fn new(lot: &StockedLot, places: &mut Places) -> Self {
        let mut here: Vec<(u32, i64)> =
            lot.stock.iter().map(|here| (places.slot(here.location), here.on_hand)).collect();
        let holds: Vec<LotHold> = lot
            .holds
            .iter()
            .map(|hold| LotHold {
                location: places.slot(hold.location),
                quantity: hold.quantity,
                until_at: hold.until_at,
            })
            .collect();
        let stock = match here[..] {
            [(location, on_hand)] => Stock::One { location, on_hand },
            _ => Stock::Many(Box::new(Heres(std::mem::take(&mut here)))),
        };
        LotPart {
            date_code: lot.date_code.as_str().into(),
            unit_cost: lot.unit_cost,
            stock,
            holds: (!holds.is_empty()).then(|| Box::new(Holds(holds))),
        }
    }

    /// Where how many are, in order of the location's number in the books.
    pub(super) fn stock(&self) -> impl Iterator<Item = (u32, i64)> {
        let (one, many) = match &self.stock {
            Stock::One { location, on_hand } => (Some((*location, *on_hand)), &[][..]),
            Stock::Many(heres) => (None, &heres.0[..]),
        };
        one.into_iter().chain(many.iter().copied())
    }

    pub(super) fn holds(&self) -> &[LotHold] {
        self.holds.as_ref().map_or(&[], |holds| &holds.0)
    }
}

/// A piece or lot in stock.
#[derive(Debug)]
pub(super) struct Row {
    /// Its number in the books, among pieces or among lots.
    number: i64,
    pub(super) tag: Text,
    pub(super) item: Arc<Item>,
    pub(super) created_at: i64,
    pub(super) kind: Kind,
    /// Rows that are alike in all places share this.
    pub(super) at: Arc<[At]>,
    pub(super) condition: PieceCondition,
    pub(super) material: Option<Material>,
    /// Whether nothing of it was free when it was put or when a hold on it last ran out.
    pub(super) is_held: bool,
}

impl Row {
    pub(super) fn of_piece(piece: StockedPiece, item: Arc<Item>, places: &mut Places) -> Self {
        Row {
            number: piece.id.0,
            tag: piece.tag.as_str().into(),
            material: piece.material.or(item.material),
            item,
            condition: piece.condition,
            created_at: piece.created_at,
            kind: Kind::Piece {
                location: places.slot(piece.location),
                hold: piece.hold.map(Box::new),
            },
            is_held: false,
            at: Arc::default(),
        }
    }

    pub(super) fn of_lot(lot: &StockedLot, item: Arc<Item>, places: &mut Places) -> Self {
        Row {
            number: lot.id.0,
            tag: lot.tag.as_str().into(),
            material: item.material,
            item,
            condition: PieceCondition::New,
            created_at: lot.created_at,
            kind: Kind::Lot(Box::new(LotPart::new(lot, places))),
            is_held: false,
            at: Arc::default(),
        }
    }

    pub(super) fn id(&self) -> StockId {
        match self.kind {
            Kind::Piece { .. } => StockId::Piece(PieceId(self.number)),
            Kind::Lot(_) => StockId::Lot(LotId(self.number)),
        }
    }

    pub(super) fn is_lot(&self) -> bool {
        matches!(self.kind, Kind::Lot(_))
    }

    /// How many are free at `now`: holds that have run out by then do not count.
    pub(super) fn available(&self, now: i64) -> i64 {
        match &self.kind {
            Kind::Piece { hold, .. } => {
                i64::from(hold.as_ref().is_none_or(|hold| hold.until_at <= now))
            }
            Kind::Lot(lot) => {
                let live = lot.holds().iter().filter(|hold| hold.until_at > now);
                let held: i64 = live.map(|hold| hold.quantity).sum();
                lot.stock().map(|(_, on_hand)| on_hand).sum::<i64>() - held
            }
        }
    }

    /// When the holds that are live at `now` run out.
    pub(super) fn ends(&self, now: i64) -> impl Iterator<Item = i64> {
        let (piece, lot) = match &self.kind {
            Kind::Piece { hold, .. } => (hold.as_ref().map(|hold| hold.until_at), &[][..]),
            Kind::Lot(lot) => (None, lot.holds()),
        };
        piece.into_iter().chain(lot.iter().map(|hold| hold.until_at)).filter(move |end| *end > now)
    }

    pub(super) fn date_code(&self) -> Option<&str> {
        match &self.kind {
            Kind::Piece { .. } => None,
            Kind::Lot(lot) => Some(lot.date_code.as_str()).filter(|code| !code.is_empty()),
        }
    }

    pub(super) fn unit_cost(&self) -> Option<Money> {
        match &self.kind {
            Kind::Piece { .. } => None,
            Kind::Lot(lot) => lot.unit_cost,
        }
    }

    pub(super) fn is_at(&self, location: u32) -> bool {
        match &self.kind {
            Kind::Piece { location: here, .. } => *here == location,
            Kind::Lot(lot) => lot.stock().any(|(here, _)| here == location),
        }
    }

    /// Where it stands among equals: free before held, dated before undated and the oldest first,
    /// pieces before lots, then by tag.
    pub(super) fn order(&self) -> (bool, bool, Option<&Text>, bool, &Text) {
        let date = match &self.kind {
            Kind::Piece { .. } => None,
            Kind::Lot(lot) => Some(&lot.date_code).filter(|code| !code.is_empty()),
        };
        (self.is_held, date.is_none(), date, self.is_lot(), &self.tag)
    }
}
