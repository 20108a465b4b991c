//! Keeping the index of the stock true: loading it at start, then looking at the books again and
//! again.

use super::stand::{Stand, Standing};
use crate::app::index::{StockId, StockIndex};
use crate::app::measuring::check_gives_a_value;
use crate::app::{Error, View};
use std::sync::{Arc, PoisonError, RwLock, RwLockReadGuard, RwLockWriteGuard};
use std::time::{Duration, Instant};
use tenths_domain::ids::{ItemId, LocationId, LotId, PieceId};
use tenths_domain::units::Length;
use tenths_storage::{ChangeCursor, Changes, Page, Store, SubjectKind};
use tokio::sync::{Mutex, Notify};

/// Rows of a page while loading: what is loaded for a moment counts in the memory that is kept.
const PAGE: u64 = 4_000;
/// More changed subjects than this are not loaded one by one.
const SINGLY_MAX: usize = 200_000;

/// The index and where it stands. It does nothing by itself: somebody calls [`Feed::look`].
#[derive(Debug, Default)]
pub struct Feed {
    index: RwLock<StockIndex>,
    standing: Standing,
    /// Who waits for a write to be seen does not wait for the next round.
    hurry: Notify,
    /// One look at a time; where the next goes on.
    cursor: Mutex<Option<ChangeCursor>>,
}

impl Feed {
    /// The index as it is at a time; nothing changes while it is held.
    pub fn index(&self, now: i64) -> RwLockReadGuard<'_, StockIndex> {
        let index = self.index.read().unwrap_or_else(PoisonError::into_inner);
        if index.next_end().is_none_or(|end| end > now) {
            return index;
        }
        drop(index);
        self.index_mut().expire(now);
        self.index.read().unwrap_or_else(PoisonError::into_inner)
    }

    /// The expanded uncertainty of the gauge of this tag, if it was seen and is not overdue at `now`.
    pub(super) fn gauge(&self, tag: &str, now: i64) -> Option<Length> {
        self.index.read().unwrap_or_else(PoisonError::into_inner).gauge(tag, now)
    }

    fn index_mut(&self) -> RwLockWriteGuard<'_, StockIndex> {
        self.index.write().unwrap_or_else(PoisonError::into_inner)
    }

    /// Where it stands.
    pub fn stand(&self) -> Stand {
        self.standing.now()
    }

    /// Waits until a write of this revision is seen; whether it was, within the time.
    pub async fn wait_for(&self, revision: i64, at_most: Duration) -> bool {
        if self.standing.now().has_seen(revision, u64::MAX) {
            return true;
        }
        self.hurry.notify_one();
        self.standing.wait(revision, at_most).await
    }

    /// Ends when somebody waits for a write to be seen.
    pub async fn hurried(&self) {
        self.hurry.notified().await;
    }

    /// Looks at the books: loads everything the first time, then what changed.
    ///
    /// # Errors
    /// A database that does not answer; the index stays as it was.
    pub async fn look(self: &Arc<Self>, store: &Store, now: i64) -> Result<(), Error> {
        let mut cursor = self.cursor.lock().await;
        self.standing.change(|stand| stand.begun += 1);
        let number = self.standing.now().begun;
        let began = Instant::now();
        let (feed, before) = (Arc::clone(self), cursor.clone());
        let cursor_now = store
            .read(move |tx| Box::pin(async move { feed.catch_up(View { tx, now }, before).await }))
            .await?;
        self.standing.change(|stand| {
            stand.is_ready = true;
            (stand.revision, stand.newest) = (cursor_now.revision(), cursor_now.newest());
            (stand.ended, stand.looked_at) = (number, Some(began));
        });
        let rows = self.index.read().unwrap_or_else(PoisonError::into_inner).len() as u64;
        self.standing.change(|stand| stand.rows = rows);
        *cursor = Some(cursor_now);
        Ok(())
    }

    async fn catch_up(
        &self,
        view: View<'_>,
        before: Option<ChangeCursor>,
    ) -> Result<ChangeCursor, Error> {
        let Some(before) = before else {
            let cursor = view.tx.change_cursor().await?;
            self.load(view).await?;
            return Ok(cursor);
        };
        match view.tx.changes_after(&before, SINGLY_MAX).await? {
            Changes::Reload { cursor } => {
                tracing::info!("more changed than is looked at singly: loading the stock anew");
                self.standing.change(|stand| stand.reloads += 1);
                self.load(view).await?;
                Ok(cursor)
            }
            Changes::Since { subjects, cursor } => {
                if !subjects.is_empty() {
                    self.apply(view, &subjects).await?;
                }
                Ok(cursor)
            }
        }
    }

    /// Loads everything beside what is there, then puts it in its place at once.
    async fn load(&self, view: View<'_>) -> Result<(), Error> {
        let mut index = StockIndex::loading();
        let mut after = 0;
        loop {
            let page = view.tx.items_page(Page { after, limit: PAGE }, None).await?;
            let Some(last) = page.last().map(|item| item.id.0) else { break };
            page.into_iter().for_each(|item| index.put_item(Arc::new(item)));
            after = last;
        }
        let mut after = 0;
        loop {
            let page = view.tx.locations_page(Page { after, limit: PAGE }).await?;
            let Some(last) = page.last().map(|location| location.id.0) else { break };
            page.into_iter().for_each(|one| index.put_location(one.id, &one.code));
            after = last;
        }
        index.set_gauges(gauges(view).await?);
        let expected = view.tx.stocked_about().await?;
        self.standing.change(|stand| stand.expected = expected);
        self.load_stock(view, &mut index).await?;
        index.settle();
        *self.index_mut() = index;
        Ok(())
    }

    async fn load_stock(&self, view: View<'_>, index: &mut StockIndex) -> Result<(), Error> {
        let told = |rows: usize| {
            self.standing.change(|stand| {
                if !stand.is_ready {
                    stand.rows = rows as u64;
                }
            });
        };
        let mut after = PieceId(0);
        loop {
            let page = view.tx.stocked_pieces_after(after, PAGE).await?;
            let Some(last) = page.last().map(|piece| piece.id) else { break };
            page.into_iter().for_each(|piece| index.put_piece(piece, view.now));
            told(index.len());
            after = last;
        }
        let mut after = LotId(0);
        loop {
            let page = view.tx.stocked_lots_after(after, PAGE).await?;
            let Some(last) = page.last().map(|lot| lot.id) else { break };
            page.into_iter().for_each(|lot| index.put_lot(lot, view.now));
            told(index.len());
            after = last;
        }
        Ok(())
    }

    async fn apply(&self, view: View<'_>, subjects: &[(SubjectKind, i64)]) -> Result<(), Error> {
        let of = |wanted: SubjectKind| {
            subjects.iter().filter(move |(kind, _)| *kind == wanted).map(|(_, id)| *id)
        };
        let items = of(SubjectKind::Item).map(ItemId).collect::<Vec<_>>();
        let items = view.tx.items_by_ids(items).await?;
        let places = of(SubjectKind::Location).map(LocationId).collect::<Vec<_>>();
        let places = view.tx.location_codes(places).await?;
        // A shop has few gauges, and they change rarely: all of them are looked at again.
        let gauges = match of(SubjectKind::Gauge).next() {
            Some(_) => Some(gauges(view).await?),
            None => None,
        };
        let touched = view.tx.stock_touched_by(subjects).await?;
        let pieces = view.tx.stocked_pieces(&touched.pieces).await?;
        let lots = view.tx.stocked_lots(&touched.lots).await?;
        // Nothing can fail any more: the index changes whole or not at all.
        let mut index = self.index_mut();
        items.into_values().for_each(|item| index.put_item(Arc::new(item)));
        places.into_iter().for_each(|(id, code)| index.put_location(id, &code));
        if let Some(gauges) = gauges {
            index.set_gauges(gauges);
        }
        touched.pieces.iter().for_each(|id| index.remove(StockId::Piece(*id)));
        touched.lots.iter().for_each(|id| index.remove(StockId::Lot(*id)));
        pieces.into_iter().for_each(|piece| index.put_piece(piece, view.now));
        lots.into_iter().for_each(|lot| index.put_lot(lot, view.now));
        Ok(())
    }
}

/// The tag, the expanded uncertainty (k = 2) and the calibration's due time of every gauge that a
/// value may be read with; a question with another is answered from the books, which say why not.
async fn gauges(view: View<'_>) -> Result<Vec<(String, Length, i64)>, Error> {
    let (mut found, mut after) = (Vec::new(), 0);
    loop {
        let page = view.tx.gauges_page(Page { after, limit: PAGE }).await?;
        let Some(last) = page.last().map(|gauge| gauge.id.0) else { return Ok(found) };
        let usable = page.into_iter().filter(|gauge| check_gives_a_value(gauge).is_ok());
        found.extend(
            usable.map(|gauge| (gauge.tag, gauge.uncertainty.length, gauge.calibration_due_at)),
        );
        after = last;
    }
}
