//! Stock: locations, pieces, lots and the ledger.

mod lots;
mod pieces;

pub use lots::*;
pub use pieces::*;

use super::act::{Act, View};
use super::error::Error;
use super::views::LedgerView;
use tenths_domain::ids::LocationId;
use tenths_domain::state::{LedgerReason, LocationKind};
use tenths_storage::{LedgerSubject, Location, NewLedgerEntry, Page};

/// Adds a location.
#[derive(Clone, Debug)]
pub struct CreateLocation {
    /// The code.
    pub code: String,
    /// What it is for.
    pub kind: LocationKind,
    /// What it is, in words.
    pub description: String,
}

/// A movement by whoever acts, now.
pub(crate) fn ledger_entry(
    act: &Act<'_>,
    reason: LedgerReason,
    subject: LedgerSubject,
    location: LocationId,
    quantity_delta: i64,
) -> NewLedgerEntry {
    NewLedgerEntry {
        created_at: act.now,
        person: act.person.to_owned(),
        reason,
        subject,
        location,
        quantity_delta,
        rebuild: None,
        note: String::new(),
        request_id: act.request_id.to_owned(),
    }
}

/// Adds a location.
///
/// # Errors
/// [`Error::AlreadyExists`] if the code is taken.
pub async fn create_location(act: &Act<'_>, new: &CreateLocation) -> Result<Location, Error> {
    if act.tx.location_by_code(&new.code).await?.is_some() {
        return Err(Error::AlreadyExists { kind: "location", name: new.code.clone() });
    }
    let location = Location {
        id: LocationId(0),
        code: new.code.clone(),
        kind: new.kind,
        description: new.description.clone(),
        created_at: act.now,
    };
    Ok(act.tx.insert_location(location).await?)
}

/// Lists locations in order of creation.
///
/// # Errors
/// A database that does not answer.
pub async fn list_locations(view: View<'_>, page: Page) -> Result<Vec<Location>, Error> {
    Ok(view.tx.locations_page(page).await?)
}

/// Lists ledger entries in order of writing.
///
/// # Errors
/// [`Error::NotFound`] for a tag that the filter names.
pub async fn list_ledger(
    view: View<'_>,
    page: Page,
    tag: Option<String>,
    rebuild_tag: Option<String>,
) -> Result<Vec<LedgerView>, Error> {
    let subject = match &tag {
        Some(tag) => Some(subject_of(view, tag).await?),
        None => None,
    };
    let rebuild = match &rebuild_tag {
        Some(tag) => Some(view.find_rebuild(tag).await?.id),
        None => None,
    };
    let entries = view.tx.ledger_page(page, subject, rebuild).await?;
    view.ledger(entries).await
}

async fn subject_of(view: View<'_>, tag: &str) -> Result<LedgerSubject, Error> {
    if let Some(piece) = view.tx.piece_by_tag(tag).await? {
        return Ok(LedgerSubject::Piece(piece.id));
    }
    if let Some(lot) = view.tx.lot_by_tag(tag).await? {
        return Ok(LedgerSubject::Lot(lot.id));
    }
    match view.tx.core_by_tag(tag).await? {
        Some(core) => Ok(LedgerSubject::Core(core.id)),
        None => Err(Error::NotFound { kind: "core, piece or lot", name: tag.to_owned() }),
    }
}
