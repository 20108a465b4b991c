//! Rows of the used shop under another name, to be added.

use tenths_storage::{Item, Lot, Piece, StorageError, Tx};

pub(super) async fn item(tx: &Tx, code: &str) -> Result<Item, StorageError> {
    let mut item = tx.item_by_code("SH-30").await?.unwrap();
    item.code = code.to_owned();
    Ok(item)
}

pub(super) async fn piece(tx: &Tx, tag: &str) -> Result<Piece, StorageError> {
    let mut piece = tx.piece_by_tag("P-1").await?.unwrap();
    piece.tag = tag.to_owned();
    Ok(piece)
}

pub(super) async fn lot(tx: &Tx, tag: &str) -> Result<Lot, StorageError> {
    let mut lot = tx.lot_by_tag("L-1").await?.unwrap();
    lot.tag = tag.to_owned();
    Ok(lot)
}
