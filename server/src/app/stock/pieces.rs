//! Pieces: added, moved, accepted, scrapped.

use super::ledger_entry;
use crate::app::act::{Act, View};
use crate::app::error::{Error, check_etag};
use crate::app::holds;
use crate::app::judging::{decide, proposed};
use crate::app::views::PieceView;
use tenths_domain::disposition::Disposition;
use tenths_domain::ids::{CoreId, LocationId, PieceId};
use tenths_domain::item::ItemKind;
use tenths_domain::state::{
    BuiltUp, JobState, LedgerReason, PieceCondition, PieceState, ScrapReason,
};
use tenths_domain::temperature::Material;
use tenths_storage::{Item, LedgerSubject, Page, Piece};

/// Adds a piece.
#[derive(Clone, Debug)]
pub struct NewPiece {
    /// The tag; none takes the next number.
    pub tag: Option<String>,
    /// What it is one of.
    pub item_code: String,
    /// Its condition.
    pub condition: PieceCondition,
    /// Where it is put.
    pub location_code: String,
    /// Its material, if it differs from the item's.
    pub material: Option<Material>,
    /// Hardness, or empty.
    pub hardness: String,
    /// Whether it was built up before.
    pub built_up: BuiltUp,
    /// A note, or empty.
    pub note: String,
}

/// Replaces what is known of a piece.
#[derive(Clone, Debug)]
pub struct UpdatePiece {
    /// The piece.
    pub tag: String,
    /// Its version as last read.
    pub etag: i64,
    /// The new material.
    pub material: Option<Material>,
    /// The new hardness.
    pub hardness: String,
    /// Whether it was built up before.
    pub built_up: BuiltUp,
    /// The new note.
    pub note: String,
}

/// Moves a piece.
#[derive(Clone, Debug)]
pub struct MovePiece {
    /// The piece.
    pub tag: String,
    /// Its version as last read, if that matters.
    pub etag: Option<i64>,
    /// Where it goes.
    pub location_code: String,
}

/// The rule of the trade: a rolling bearing that was pulled off is not used again.
pub(crate) fn check_not_removed_bearing(piece: &Piece, item: &Item) -> Result<(), Error> {
    if item.kind != ItemKind::RollingBearing || piece.condition == PieceCondition::New {
        return Ok(());
    }
    let description = format!(
        "piece {} is a removed rolling bearing: it is kept for reading its damage and is never reused",
        piece.tag
    );
    Err(Error::forbidden("REMOVED_BEARING", piece.tag.clone(), description))
}

/// Puts an inspected piece into stock.
#[derive(Clone, Debug)]
pub struct AcceptPiece {
    /// The piece.
    pub tag: String,
    /// Its version as last read, if that matters.
    pub etag: Option<i64>,
    /// Where it goes; none leaves it where it is.
    pub location_code: Option<String>,
    /// Why, although its assessment does not say reuse.
    pub override_reason: String,
}

/// Scraps a piece.
#[derive(Clone, Debug)]
pub struct ScrapPiece {
    /// The piece.
    pub tag: String,
    /// Its version as last read, if that matters.
    pub etag: Option<i64>,
    /// The reason code.
    pub reason: ScrapReason,
    /// A note, or empty.
    pub note: String,
}

/// Adds a piece that came from no core.
///
/// # Errors
/// [`Error::AlreadyExists`] if the tag was ever used; [`Error::NotFound`] for item or location.
pub async fn create_piece(act: &Act<'_>, new: &NewPiece) -> Result<PieceView, Error> {
    let piece = add_piece(act, new, None, LedgerReason::Receive).await?;
    act.view().piece(piece).await
}

/// Adds a piece to be inspected, with its ledger entry.
pub(crate) async fn add_piece(
    act: &Act<'_>,
    new: &NewPiece,
    core: Option<CoreId>,
    reason: LedgerReason,
) -> Result<Piece, Error> {
    let view = act.view();
    let item = view.find_item(&new.item_code).await?;
    if item.kind == ItemKind::RollingBearing
        && new.condition != PieceCondition::New
        && core.is_none()
    {
        return Err(Error::invalid(
            "condition",
            "a used rolling bearing is not taken into stock: a removed bearing is never offered for reuse; \
             allowed for rolling bearings: new",
        ));
    }
    let location = view.place_in_shop(&new.location_code).await?;
    let tag = act.label("P", new.tag.as_deref()).await?;
    let piece = act
        .tx
        .insert_piece(Piece {
            id: PieceId(0),
            tag,
            item: item.id,
            core,
            state: PieceState::Inspection,
            condition: new.condition,
            location: Some(location.id),
            rebuild: None,
            material: new.material,
            hardness: new.hardness.clone(),
            built_up: new.built_up,
            note: new.note.clone(),
            created_at: act.now,
            revision: 1,
        })
        .await?;
    let entry = ledger_entry(act, reason, LedgerSubject::Piece(piece.id), location.id, 1);
    act.tx.write_ledger(vec![entry]).await?;
    Ok(piece)
}

/// Reads one piece.
///
/// # Errors
/// [`Error::NotFound`].
pub async fn get_piece(view: View<'_>, tag: &str) -> Result<PieceView, Error> {
    let piece = view.find_piece(tag).await?;
    view.piece(piece).await
}

/// Which pieces are listed; nothing means any.
#[derive(Clone, Debug, Default)]
pub struct PiecesFilter {
    /// In this state.
    pub state: Option<PieceState>,
    /// Of this item.
    pub item_code: Option<String>,
    /// From this core.
    pub core_tag: Option<String>,
}

/// Lists pieces in order of creation.
///
/// # Errors
/// [`Error::NotFound`] for an item or core that the filter names.
pub async fn list_pieces(
    view: View<'_>,
    page: Page,
    filter: PiecesFilter,
) -> Result<Vec<PieceView>, Error> {
    let item = match &filter.item_code {
        Some(code) => Some(view.find_item(code).await?.id),
        None => None,
    };
    let core = match &filter.core_tag {
        Some(tag) => Some(view.find_core(tag).await?.id),
        None => None,
    };
    let pieces = view.tx.pieces_page(page, filter.state, item, core).await?;
    view.pieces(pieces).await
}

/// Replaces what is known of a piece.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Stale`].
pub async fn update_piece(act: &Act<'_>, change: &UpdatePiece) -> Result<PieceView, Error> {
    let mut piece = act.view().find_piece(&change.tag).await?;
    check_etag("piece", &piece.tag, piece.revision, Some(change.etag))?;
    piece.material = change.material;
    piece.hardness.clone_from(&change.hardness);
    piece.built_up = change.built_up;
    piece.note.clone_from(&change.note);
    act.tx.save_piece(&mut piece).await?;
    act.view().piece(piece).await
}

/// Where a piece is, or why it is nowhere.
pub(crate) fn place_of(piece: &Piece) -> Result<LocationId, Error> {
    piece.location.ok_or_else(|| {
        let description =
            format!("piece {} is {}: it is no longer in the shop", piece.tag, piece.state);
        Error::forbidden("PIECE_GONE", piece.tag.clone(), description)
    })
}

/// Writes the two ledger entries of a move and changes the piece, which the caller saves.
pub(crate) async fn relocate(
    act: &Act<'_>,
    piece: &mut Piece,
    to: LocationId,
) -> Result<(), Error> {
    let from = place_of(piece)?;
    if from != to {
        let subject = LedgerSubject::Piece(piece.id);
        let out = ledger_entry(act, LedgerReason::Move, subject, from, -1);
        let into = ledger_entry(act, LedgerReason::Move, subject, to, 1);
        act.tx.write_ledger(vec![out, into]).await?;
        piece.location = Some(to);
        // A hold goes with its piece.
        if let Some(hold) = act.tx.holds_on_pieces([piece.id], act.now).await?.remove(&piece.id) {
            let mut reservation = hold.reservation;
            reservation.location = to;
            act.tx.save_reservation(&mut reservation).await?;
        }
    }
    Ok(())
}

/// Moves a piece to another location; a hold on it goes with it.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Stale`]; [`Error::Forbidden`] once it is consumed or scrapped.
pub async fn move_piece(act: &Act<'_>, change: &MovePiece) -> Result<PieceView, Error> {
    let view = act.view();
    let mut piece = view.find_piece(&change.tag).await?;
    check_etag("piece", &piece.tag, piece.revision, change.etag)?;
    let to = view.place_in_shop(&change.location_code).await?.id;
    check_not_away(act, &piece).await?;
    relocate(act, &mut piece, to).await?;
    act.tx.save_piece(&mut piece).await?;
    view.piece(piece).await
}

/// Refuses what cannot be done with a piece that a vendor has.
pub(crate) async fn check_not_away(act: &Act<'_>, piece: &Piece) -> Result<(), Error> {
    match act.tx.open_job_of(piece.id).await? {
        Some(job) if job.state == JobState::Away => {
            let description = format!(
                "piece {} is away in job {}: return it from its send-out, or as short",
                piece.tag, job.tag
            );
            Err(Error::forbidden("AWAY", piece.tag.clone(), description))
        }
        _ => Ok(()),
    }
}

/// Refuses a step that a piece's state does not allow.
pub(crate) fn check_step(piece: &Piece, next: PieceState, doing: &str) -> Result<(), Error> {
    if piece.state.may_become(next) {
        return Ok(());
    }
    let description = format!("piece {} is {}: it cannot be {doing}", piece.tag, piece.state);
    Err(Error::forbidden("PIECE_STATE", piece.tag.clone(), description))
}

/// Refuses a step while somebody holds the piece; a hold that ran out is ended first.
pub(crate) async fn check_not_held(act: &Act<'_>, piece: &Piece) -> Result<(), Error> {
    holds::expire_lapsed(act.tx, act.now).await?;
    let holds = act.tx.holds_on_pieces([piece.id], act.now).await?;
    match holds.get(&piece.id) {
        Some(hold) => Err(Error::Forbidden(vec![holds::held(&piece.tag, hold)])),
        None => Ok(()),
    }
}

/// Puts an inspected piece into stock, with the decision beside what was proposed.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Stale`]; [`Error::Forbidden`] if it is not under inspection, or
/// its assessment does not say reuse and no reason is given.
pub async fn accept_piece(act: &Act<'_>, order: &AcceptPiece) -> Result<PieceView, Error> {
    let view = act.view();
    let mut piece = view.find_piece(&order.tag).await?;
    check_etag("piece", &piece.tag, piece.revision, order.etag)?;
    if piece.state != PieceState::Inspection {
        check_step(&piece, PieceState::Consumed, "accepted").and_then(|()| {
            let description = format!("piece {} is in stock already", piece.tag);
            Err(Error::forbidden("PIECE_STATE", piece.tag.clone(), description))
        })?;
    }
    let item = view.item_of(&piece).await?;
    check_not_removed_bearing(&piece, &item)?;
    let proposal = proposed(view, &piece, &item).await?;
    if !proposal.allows_reuse && order.override_reason.is_empty() {
        let description = format!(
            "piece {}: {}; give override_reason to accept it all the same",
            piece.tag, proposal.why
        );
        return Err(Error::forbidden("NOT_FOR_REUSE", piece.tag.clone(), description));
    }
    decide(act, &piece, proposal.disposition, Disposition::Reuse, &order.override_reason).await?;
    if let Some(to) = view.place_if_given(order.location_code.as_deref()).await? {
        relocate(act, &mut piece, to).await?;
    }
    piece.state = PieceState::InStock;
    act.tx.save_piece(&mut piece).await?;
    view.piece(piece).await
}

/// Scraps a piece with a reason code: it leaves the shop's stock for good.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Stale`]; [`Error::Forbidden`] while it is held or has an open job.
pub async fn scrap_piece(act: &Act<'_>, order: &ScrapPiece) -> Result<PieceView, Error> {
    let view = act.view();
    let mut piece = view.find_piece(&order.tag).await?;
    check_etag("piece", &piece.tag, piece.revision, order.etag)?;
    check_step(&piece, PieceState::Scrapped, "scrapped")?;
    check_not_held(act, &piece).await?;
    check_not_away(act, &piece).await?;
    if let Some(job) = act.tx.open_job_of(piece.id).await? {
        let description =
            format!("piece {} is in job {}: end the job by scrapping", piece.tag, job.tag);
        return Err(Error::forbidden("OPEN_JOB", piece.tag.clone(), description));
    }
    let item = view.item_of(&piece).await?;
    let proposal = proposed(view, &piece, &item).await?;
    let reason = [order.reason.as_str(), order.note.as_str()].join(" ").trim().to_owned();
    decide(act, &piece, proposal.disposition, Disposition::Scrap, &reason).await?;
    write_off(act, &mut piece, &reason).await?;
    view.piece(piece).await
}

/// Takes a scrapped piece out of the ledger and saves it.
pub(crate) async fn write_off(act: &Act<'_>, piece: &mut Piece, note: &str) -> Result<(), Error> {
    let from = place_of(piece)?;
    let mut entry =
        ledger_entry(act, LedgerReason::Scrap, LedgerSubject::Piece(piece.id), from, -1);
    entry.note = note.to_owned();
    act.tx.write_ledger(vec![entry]).await?;
    piece.location = None;
    piece.state = PieceState::Scrapped;
    Ok(act.tx.save_piece(piece).await?)
}
