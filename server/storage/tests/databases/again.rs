//! Rows like those of the used shop, to be written once more.

use crate::used_shop::NOW;
use tenths_domain::disposition::Disposition;
use tenths_domain::ids::{LocationId, LotId, PieceId};
use tenths_domain::state::LedgerReason;
use tenths_storage::{
    Decision, LedgerSubject, NewLedgerEntry, NewRequest, ReadingVoid, StorageError, Tx,
};
pub(crate) async fn item(tx: &Tx, code: &str) -> Result<tenths_storage::Item, StorageError> {
    let mut item = tx.item_by_code("SH-30").await?.unwrap();
    item.code = code.to_owned();
    Ok(item)
}

pub(crate) async fn piece(tx: &Tx, tag: &str) -> Result<tenths_storage::Piece, StorageError> {
    let mut piece = tx.piece_by_tag("P-1").await?.unwrap();
    piece.tag = tag.to_owned();
    Ok(piece)
}

pub(crate) async fn lot(tx: &Tx, tag: &str) -> Result<tenths_storage::Lot, StorageError> {
    let mut lot = tx.lot_by_tag("L-1").await?.unwrap();
    lot.tag = tag.to_owned();
    Ok(lot)
}

pub(crate) fn request() -> NewRequest {
    NewRequest {
        request_id: "q-9".to_owned(),
        method: "Receive".to_owned(),
        person: "Mara".to_owned(),
        fingerprint: vec![1],
        answer: vec![2],
        created_at: NOW,
    }
}

pub(crate) fn void() -> ReadingVoid {
    ReadingVoid { reason: "misread".to_owned(), person: "Ilse".to_owned(), created_at: NOW }
}

pub(crate) fn decision() -> Decision {
    Decision {
        piece: PieceId(1),
        proposed: None,
        decided: Disposition::Reuse,
        reason: String::new(),
        person: "Mara".to_owned(),
        created_at: NOW,
    }
}

pub(crate) fn movement() -> NewLedgerEntry {
    NewLedgerEntry {
        created_at: NOW,
        person: "Mara".to_owned(),
        reason: LedgerReason::Receive,
        subject: LedgerSubject::Lot(LotId(1)),
        location: LocationId(2),
        quantity_delta: 1,
        rebuild: None,
        note: String::new(),
        request_id: "q1".to_owned(),
    }
}
