//! Rebuilds: opened, listed, closed.

use super::act::{Act, View};
use super::error::{Error, check_etag};
use super::holds;
use super::reconditioning::check_due;
use super::views::{RebuildView, ReservationView};
use tenths_domain::ids::RebuildId;
use tenths_domain::money::Money;
use tenths_domain::state::RebuildState;
use tenths_storage::{Page, Rebuild};

/// Opens a rebuild.
#[derive(Clone, Debug)]
pub struct OpenRebuild {
    /// The tag; none takes the next number.
    pub tag: Option<String>,
    /// What is being rebuilt.
    pub description: String,
    /// For whom, or empty.
    pub customer: String,
    /// The core that it starts from.
    pub core_tag: Option<String>,
    /// When it is due, in Unix microseconds.
    pub due_at: Option<i64>,
    /// What it is worth to complete it.
    pub value: Option<Money>,
}

/// Replaces what is said of an open rebuild.
#[derive(Clone, Debug)]
pub struct UpdateRebuild {
    /// The rebuild.
    pub tag: String,
    /// Its version as last read.
    pub etag: i64,
    /// What is being rebuilt.
    pub description: String,
    /// For whom, or empty.
    pub customer: String,
    /// When it is due, in Unix microseconds.
    pub due_at: Option<i64>,
    /// What it is worth to complete it.
    pub value: Option<Money>,
}

/// Closes a rebuild.
#[derive(Clone, Debug)]
pub struct CloseRebuild {
    /// The rebuild.
    pub tag: String,
    /// Its version as last read, if that matters.
    pub etag: Option<i64>,
    /// Shipped or cancelled.
    pub state: RebuildState,
}

/// Opens a rebuild.
///
/// # Errors
/// [`Error::AlreadyExists`] if the tag was ever used; [`Error::NotFound`] for the core.
pub async fn open_rebuild(act: &Act<'_>, new: &OpenRebuild) -> Result<RebuildView, Error> {
    let view = act.view();
    check_due(act, "due_time", new.due_at)?;
    let core = match &new.core_tag {
        Some(tag) => Some(view.find_core(tag).await?.id),
        None => None,
    };
    let rebuild = act
        .tx
        .insert_rebuild(Rebuild {
            id: RebuildId(0),
            tag: rebuild_tag(act, new.tag.as_deref()).await?,
            description: new.description.clone(),
            customer: new.customer.clone(),
            core,
            due_at: new.due_at,
            value: new.value,
            state: RebuildState::Open,
            created_at: act.now,
            revision: 1,
        })
        .await?;
    one(view, rebuild).await
}

async fn rebuild_tag(act: &Act<'_>, given: Option<&str>) -> Result<String, Error> {
    if let Some(tag) = given {
        if act.tx.rebuild_by_tag(tag).await?.is_some() {
            return Err(Error::AlreadyExists { kind: "rebuild", name: tag.to_owned() });
        }
        act.note_tag("R", tag).await?;
        return Ok(tag.to_owned());
    }
    loop {
        let tag = act.next_tag("R").await?;
        if act.tx.rebuild_by_tag(&tag).await?.is_none() {
            return Ok(tag);
        }
    }
}

async fn one(view: View<'_>, rebuild: Rebuild) -> Result<RebuildView, Error> {
    let name = rebuild.tag.clone();
    view.rebuilds(vec![rebuild]).await?.pop().ok_or(Error::NotFound { kind: "rebuild", name })
}

/// Reads one rebuild.
///
/// # Errors
/// [`Error::NotFound`].
pub async fn get_rebuild(view: View<'_>, tag: &str) -> Result<RebuildView, Error> {
    let rebuild = view.find_rebuild(tag).await?;
    one(view, rebuild).await
}

/// Lists rebuilds in order of opening.
///
/// # Errors
/// A database that does not answer.
pub async fn list_rebuilds(
    view: View<'_>,
    page: Page,
    state: Option<RebuildState>,
) -> Result<Vec<RebuildView>, Error> {
    let rebuilds = view.tx.rebuilds_page(page, state).await?;
    view.rebuilds(rebuilds).await
}

/// Replaces what is said of an open rebuild: what it is worth is often known only once it is torn
/// down, and plans go by it.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Stale`]; [`Error::Forbidden`] if it is closed.
pub async fn update_rebuild(act: &Act<'_>, change: &UpdateRebuild) -> Result<RebuildView, Error> {
    let mut rebuild = still_open(act, &change.tag, Some(change.etag)).await?;
    if change.due_at != rebuild.due_at {
        check_due(act, "due_time", change.due_at)?;
    }
    change.description.clone_into(&mut rebuild.description);
    change.customer.clone_into(&mut rebuild.customer);
    rebuild.due_at = change.due_at;
    rebuild.value = change.value;
    act.tx.save_rebuild(&mut rebuild).await?;
    one(act.view(), rebuild).await
}

/// The rebuild, if it is open and as it was last read.
async fn still_open(act: &Act<'_>, tag: &str, etag: Option<i64>) -> Result<Rebuild, Error> {
    let rebuild = act.view().find_rebuild(tag).await?;
    check_etag("rebuild", &rebuild.tag, rebuild.revision, etag)?;
    if rebuild.state != RebuildState::Open {
        let description = format!("rebuild {} is {} already", rebuild.tag, rebuild.state);
        return Err(Error::forbidden("REBUILD_CLOSED", rebuild.tag, description));
    }
    Ok(rebuild)
}

/// Closes a rebuild and releases what it still holds.
///
/// # Errors
/// [`Error::NotFound`], [`Error::Stale`]; [`Error::Forbidden`] if it is closed already.
pub async fn close_rebuild(
    act: &Act<'_>,
    order: &CloseRebuild,
) -> Result<(RebuildView, Vec<ReservationView>, Vec<String>), Error> {
    let mut rebuild = still_open(act, &order.tag, order.etag).await?;
    let reason = format!("rebuild {} {}", rebuild.tag, order.state);
    let released = holds::release_all(act, &rebuild, &reason).await?;
    rebuild.state = order.state;
    act.tx.save_rebuild(&mut rebuild).await?;
    let waiting = act.tx.open_jobs_for(rebuild.id).await?;
    let note =
        format!("{waiting} of the jobs in the queue were for it: they go on, without its value");
    let notes = Some(note).filter(|_| waiting > 0);
    Ok((one(act.view(), rebuild).await?, released, notes.into_iter().collect()))
}
