//! Which row has which piece or lot: numbers of the books, which are dense, to numbers of rows.

use super::row::StockId;
use std::collections::HashMap;

/// How many numbers of the books share a page.
const PAGE: i64 = 256;
/// No row.
const NONE: u32 = u32::MAX;

/// Rows by piece and lot: four bytes a number, where a hash table takes about thirty.
#[derive(Debug, Default)]
pub(super) struct Numbers {
    pages: HashMap<(bool, i64), Page>,
    count: usize,
}

#[derive(Debug)]
struct Page {
    rows: Box<[u32; PAGE as usize]>,
    used: u16,
}

impl Numbers {
    pub(super) fn len(&self) -> usize {
        self.count
    }

    /// Notes the row of a piece or lot that has none.
    pub(super) fn insert(&mut self, id: StockId, row: u32) {
        let (page, slot) = place(id);
        let empty = || Page { rows: Box::new([NONE; PAGE as usize]), used: 0 };
        let page = self.pages.entry(page).or_insert_with(empty);
        let was = std::mem::replace(&mut page.rows[slot], row);
        debug_assert_eq!(was, NONE, "what has a row is removed first");
        page.used += 1;
        self.count += 1;
    }

    /// Forgets a piece or lot; answers with its row, if it had one.
    pub(super) fn remove(&mut self, id: StockId) -> Option<u32> {
        let (number, slot) = place(id);
        let page = self.pages.get_mut(&number)?;
        let row = std::mem::replace(&mut page.rows[slot], NONE);
        if row == NONE {
            return None;
        }
        self.count -= 1;
        page.used -= 1;
        if page.used == 0 {
            self.pages.remove(&number);
        }
        Some(row)
    }
}

fn place(id: StockId) -> ((bool, i64), usize) {
    let (is_lot, number) = match id {
        StockId::Piece(piece) => (false, piece.0),
        StockId::Lot(lot) => (true, lot.0),
    };
    let slot = usize::try_from(number.rem_euclid(PAGE)).expect("a remainder is small");
    ((is_lot, number.div_euclid(PAGE)), slot)
}

#[cfg(test)]
mod tests {
    use super::*;
    use tenths_domain::ids::{LotId, PieceId};

    /// Goal: each piece and each lot has its own row, wherever its number lies. Method: numbers on
    /// both sides of the ends of pages and of zero, put and taken.
    #[test]
    fn rows_are_found_and_forgotten() {
        let ids = || {
            let numbers = [i64::MIN, -257, -1, 0, 1, 255, 256, 257, 70_000, i64::MAX];
            numbers.into_iter().flat_map(|n| [StockId::Piece(PieceId(n)), StockId::Lot(LotId(n))])
        };
        let mut numbers = Numbers::default();
        ids().zip(0..).for_each(|(id, row)| numbers.insert(id, row));
        assert_eq!(numbers.len(), ids().count());
        for (id, row) in ids().zip(0..) {
            assert_eq!((numbers.remove(id), numbers.remove(id)), (Some(row), None));
        }
        assert!(numbers.len() == 0 && numbers.pages.is_empty());
    }
}
