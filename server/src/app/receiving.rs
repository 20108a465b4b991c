//! Receiving: cores in, graded, moved, torn down into pieces.

use super::act::{Act, View};
use super::error::{Error, check_etag};
use super::stock::{NewPiece, add_piece, ledger_entry};
use super::views::{CoreView, PieceView};
use tenths_domain::ids::CoreId;
use tenths_domain::money::Money;
use tenths_domain::state::{
    BuiltUp, CoreGrade, CoreState, LedgerReason, OwnerKind, PieceCondition,
};
use tenths_storage::{Core, LedgerSubject, Page};

/// Logs a core.
#[derive(Clone, Debug)]
pub struct LogCore {
    /// The label; none takes the next number.
    pub tag: Option<String>,
    /// The catalogue item.
    pub item_code: Option<String>,
    /// What it is, in words.
    pub description: String,
    /// What the nameplate says.
    pub nameplate: Vec<(String, String)>,
    /// Who owns it.
    pub owner: OwnerKind,
    /// The customer, or empty.
    pub customer: String,
    /// The grade given at the door.
    pub door_grade: CoreGrade,
    /// Why.
    pub grade_reasons: Vec<String>,
    /// The deposit.
    pub deposit: Option<Money>,
    /// Where it is put.
    pub location_code: String,
}

/// Records the grade found at teardown.
#[derive(Clone, Debug)]
pub struct RegradeCore {
    /// The core.
    pub tag: String,
    /// Its version as last read.
    pub etag: i64,
    /// The grade found.
    pub grade: CoreGrade,
    /// Why.
    pub reasons: Vec<String>,
}

/// Moves a core.
#[derive(Clone, Debug)]
pub struct MoveCore {
    /// The core.
    pub tag: String,
    /// Its version as last read.
    pub etag: i64,
    /// Where it goes.
    pub location_code: String,
}

/// One piece that a core yields.
#[derive(Clone, Debug)]
pub struct TeardownPiece {
    /// The tag; none takes the next number.
    pub tag: Option<String>,
    /// What the piece is.
    pub item_code: String,
    /// Where it is put.
    pub location_code: String,
    /// Whether it was built up before.
    pub built_up: BuiltUp,
    /// A note, or empty.
    pub note: String,
}

/// Turns a core into pieces.
#[derive(Clone, Debug)]
pub struct TearDownCore {
    /// The core.
    pub tag: String,
    /// Its version as last read, if that matters.
    pub etag: Option<i64>,
    /// What it yields.
    pub pieces: Vec<TeardownPiece>,
}

/// Logs a core at a location.
///
/// # Errors
/// [`Error::AlreadyExists`] if the tag was ever used; [`Error::NotFound`] for item or location.
pub async fn log_core(act: &Act<'_>, new: &LogCore) -> Result<CoreView, Error> {
    let view = act.view();
    let tag = act.label("C", new.tag.as_deref()).await?;
    let item = match &new.item_code {
        Some(code) => Some(view.find_item(code).await?),
        None => None,
    };
    let location = view.find_location(&new.location_code).await?;
    let description = match &item {
        Some(item) if new.description.is_empty() => item.description.clone(),
        _ => new.description.clone(),
    };
    let core = act
        .tx
        .insert_core(Core {
            id: CoreId(0),
            tag,
            item: item.map(|item| item.id),
            description,
            owner: new.owner,
            customer: new.customer.clone(),
            door_grade: new.door_grade,
            door_reasons: new.grade_reasons.clone(),
            teardown_grade: None,
            teardown_reasons: Vec::new(),
            deposit: new.deposit,
            location: Some(location.id),
            state: CoreState::Received,
            received_by: act.person.to_owned(),
            created_at: act.now,
            revision: 1,
            nameplate: new.nameplate.clone(),
        })
        .await?;
    let entry =
        ledger_entry(act, LedgerReason::Receive, LedgerSubject::Core(core.id), location.id, 1);
    act.tx.write_ledger(vec![entry]).await?;
    one_core(view, core).await
}

async fn one_core(view: View<'_>, core: Core) -> Result<CoreView, Error> {
    let tag = core.tag.clone();
    view.cores(vec![core]).await?.pop().ok_or(Error::NotFound { kind: "core", name: tag })
}

/// Reads one core.
///
/// # Errors
/// [`Error::NotFound`].
pub async fn get_core(view: View<'_>, tag: &str) -> Result<CoreView, Error> {
    let core = view.find_core(tag).await?;
    one_core(view, core).await
}

/// Lists cores in order of receipt.
///
/// # Errors
/// A database that does not answer.
pub async fn list_cores(
    view: View<'_>,
    page: Page,
    state: Option<CoreState>,
) -> Result<Vec<CoreView>, Error> {
    let cores = view.tx.cores_page(page, state).await?;
    view.cores(cores).await
}

/// Records the grade found at teardown beside the door grade.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Stale`].
pub async fn regrade_core(act: &Act<'_>, change: &RegradeCore) -> Result<CoreView, Error> {
    let mut core = act.view().find_core(&change.tag).await?;
    check_etag("core", &core.tag, core.revision, Some(change.etag))?;
    core.teardown_grade = Some(change.grade);
    core.teardown_reasons.clone_from(&change.reasons);
    act.tx.save_core(&mut core).await?;
    one_core(act.view(), core).await
}

/// Moves a core to another location.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Stale`]; [`Error::Forbidden`] once it is torn down.
pub async fn move_core(act: &Act<'_>, change: &MoveCore) -> Result<CoreView, Error> {
    let mut core = act.view().find_core(&change.tag).await?;
    check_etag("core", &core.tag, core.revision, Some(change.etag))?;
    let from = core.location.ok_or_else(|| torn_down(&core))?;
    let to = act.view().find_location(&change.location_code).await?.id;
    if from != to {
        let subject = LedgerSubject::Core(core.id);
        let out = ledger_entry(act, LedgerReason::Move, subject, from, -1);
        let into = ledger_entry(act, LedgerReason::Move, subject, to, 1);
        act.tx.write_ledger(vec![out, into]).await?;
        core.location = Some(to);
        act.tx.save_core(&mut core).await?;
    }
    one_core(act.view(), core).await
}

fn torn_down(core: &Core) -> Error {
    let description = format!("core {} is torn down: its pieces are what there is", core.tag);
    Error::forbidden("CORE_TORN_DOWN", core.tag.clone(), description)
}

/// Turns a core into tagged pieces, each to be inspected.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Stale`], [`Error::AlreadyExists`] for a tag;
/// [`Error::Forbidden`] if it is torn down already.
pub async fn tear_down_core(
    act: &Act<'_>,
    order: &TearDownCore,
) -> Result<(CoreView, Vec<PieceView>), Error> {
    let view = act.view();
    let mut core = view.find_core(&order.tag).await?;
    check_etag("core", &core.tag, core.revision, order.etag)?;
    let from = core.location.ok_or_else(|| torn_down(&core))?;
    let out = ledger_entry(act, LedgerReason::Teardown, LedgerSubject::Core(core.id), from, -1);
    act.tx.write_ledger(vec![out]).await?;
    core.location = None;
    core.state = CoreState::TornDown;
    act.tx.save_core(&mut core).await?;
    let mut pieces = Vec::with_capacity(order.pieces.len());
    for new in &order.pieces {
        let new = NewPiece {
            tag: new.tag.clone(),
            item_code: new.item_code.clone(),
            condition: PieceCondition::Used,
            location_code: new.location_code.clone(),
            material: None,
            hardness: String::new(),
            built_up: new.built_up,
            note: new.note.clone(),
        };
        pieces.push(add_piece(act, &new, Some(core.id), LedgerReason::Teardown).await?);
    }
    Ok((one_core(view, core).await?, view.pieces(pieces).await?))
}
