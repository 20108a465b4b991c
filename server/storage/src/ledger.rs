//! The ledger: one row for every movement of stock, never changed or removed.

use crate::entities::ledger;
use crate::error::StorageError;
use crate::page::Page;
use crate::rows::{corrupt, named};
use crate::tx::Tx;
use sea_orm::{
    ActiveValue::NotSet, ActiveValue::Set, ColumnTrait, EntityTrait, QueryFilter, QueryOrder,
    QuerySelect,
};
use tenths_domain::ids::{CoreId, LocationId, LotId, PieceId, RebuildId};
use tenths_domain::state::LedgerReason;

/// What moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LedgerSubject {
    /// A core.
    Core(CoreId),
    /// A piece.
    Piece(PieceId),
    /// Part of a lot.
    Lot(LotId),
}

/// A movement to be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewLedgerEntry {
    /// When, in Unix microseconds.
    pub created_at: i64,
    /// Who did it.
    pub person: String,
    /// Why.
    pub reason: LedgerReason,
    /// What moved.
    pub subject: LedgerSubject,
    /// Where.
    pub location: LocationId,
    /// By how much the quantity there changed; not 0.
    pub quantity_delta: i64,
    /// The rebuild it was for.
    pub rebuild: Option<RebuildId>,
    /// A note, or empty.
    pub note: String,
    /// The request that did it.
    pub request_id: String,
}

/// A movement as written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LedgerEntry {
    /// Number of the entry; rises.
    pub id: i64,
    /// What was written.
    pub entry: NewLedgerEntry,
}

impl Tx {
    /// Writes movements in the order given; answers with their numbers filled in.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn write_ledger(
        &self,
        entries: Vec<NewLedgerEntry>,
    ) -> Result<Vec<LedgerEntry>, StorageError> {
        let mut written = Vec::with_capacity(entries.len());
        for entry in entries {
            let row =
                ledger::Entity::insert(ledger_row(&entry)).exec_with_returning(&self.inner).await?;
            written.push(LedgerEntry { id: row.id, entry });
        }
        Ok(written)
    }

    /// Writes many movements at once, without their numbers; for imports.
    ///
    /// # Errors
    /// A database that does not answer.
    pub async fn write_ledger_bulk(&self, entries: &[NewLedgerEntry]) -> Result<(), StorageError> {
        if !entries.is_empty() {
            ledger::Entity::insert_many(entries.iter().map(ledger_row))
                .exec_without_returning(&self.inner)
                .await?;
        }
        Ok(())
    }

    /// Movements in order of writing.
    ///
    /// # Errors
    /// A database that does not answer, or a corrupt row.
    pub async fn ledger_page(
        &self,
        page: Page,
        subject: Option<LedgerSubject>,
        rebuild: Option<RebuildId>,
    ) -> Result<Vec<LedgerEntry>, StorageError> {
        let mut query = ledger::Entity::find().filter(ledger::Column::Id.gt(page.after));
        if let Some(subject) = subject {
            query = query.filter(match subject {
                LedgerSubject::Core(id) => ledger::Column::CoreId.eq(id.0),
                LedgerSubject::Piece(id) => ledger::Column::PieceId.eq(id.0),
                LedgerSubject::Lot(id) => ledger::Column::LotId.eq(id.0),
            });
        }
        if let Some(rebuild) = rebuild {
            query = query.filter(ledger::Column::RebuildId.eq(rebuild.0));
        }
        let rows =
            query.order_by_asc(ledger::Column::Id).limit(page.limit).all(&self.inner).await?;
        rows.into_iter().map(entry).collect()
    }
}

fn ledger_row(entry: &NewLedgerEntry) -> ledger::ActiveModel {
    let (core, piece, lot) = match entry.subject {
        LedgerSubject::Core(id) => (Some(id.0), None, None),
        LedgerSubject::Piece(id) => (None, Some(id.0), None),
        LedgerSubject::Lot(id) => (None, None, Some(id.0)),
    };
    ledger::ActiveModel {
        id: NotSet,
        created_at: Set(entry.created_at),
        person: Set(entry.person.clone()),
        reason: Set(entry.reason.as_str().to_owned()),
        core_id: Set(core),
        piece_id: Set(piece),
        lot_id: Set(lot),
        location_id: Set(entry.location.0),
        quantity_delta: Set(entry.quantity_delta),
        rebuild_id: Set(entry.rebuild.map(|id| id.0)),
        note: Set(entry.note.clone()),
        request_id: Set(entry.request_id.clone()),
    }
}

fn entry(row: ledger::Model) -> Result<LedgerEntry, StorageError> {
    let subject = match (row.core_id, row.piece_id, row.lot_id) {
        (Some(id), None, None) => LedgerSubject::Core(CoreId(id)),
        (None, Some(id), None) => LedgerSubject::Piece(PieceId(id)),
        (None, None, Some(id)) => LedgerSubject::Lot(LotId(id)),
        _ => return Err(corrupt("ledger", row.id, "it must name one thing that moved")),
    };
    Ok(LedgerEntry {
        id: row.id,
        entry: NewLedgerEntry {
            created_at: row.created_at,
            reason: named("ledger", row.id, &row.reason)?,
            person: row.person,
            subject,
            location: LocationId(row.location_id),
            quantity_delta: row.quantity_delta,
            rebuild: row.rebuild_id.map(RebuildId),
            note: row.note,
            request_id: row.request_id,
        },
    })
}
