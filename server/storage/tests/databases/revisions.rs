//! Goal: every guarded resource is saved only by whoever read its newest version, and its version
//! only rises.

use crate::support::{TestDb, on_both};
use crate::used_shop;
use tenths_storage::{StorageError, Store};

on_both!(a_stale_version_is_never_saved);

/// Loads a resource twice in one write, saves both, and answers with the version before, the
/// version after the first save, and whether the second save was a conflict.
macro_rules! saved_twice {
    ($store:expr, $find:ident, $name:literal, $save:ident) => {{
        let done: Result<(i64, i64, bool), StorageError> = $store
            .write(|tx| {
                Box::pin(async move {
                    let mut first = tx.$find($name).await?.unwrap();
                    let mut stale = first.clone();
                    let before = first.revision;
                    tx.$save(&mut first).await?;
                    let refused = tx.$save(&mut stale).await;
                    assert_eq!(stale.revision, before, "a refused save changes nothing");
                    Ok((before, first.revision, refused.is_err_and(|e| e.is_conflict())))
                })
            })
            .await;
        (stringify!($save), done.unwrap(), stored!($store, $find, $name))
    }};
}

macro_rules! stored {
    ($store:expr, $find:ident, $name:literal) => {{
        let found: Result<_, StorageError> =
            $store.read(|tx| Box::pin(async move { tx.$find($name).await })).await;
        found.unwrap().unwrap().revision
    }};
}

/// Method: for every resource with a version, load it twice, save both copies: the first must be
/// saved with the version one higher, the second must be a conflict and change nothing.
async fn a_stale_version_is_never_saved(db: TestDb) {
    used_shop::fill(&db).await;
    let store: Store = db.store().await;
    for (save, (before, after, refused), stored) in [
        saved_twice!(store, item_by_code, "SH-30", save_item),
        saved_twice!(store, core_by_tag, "C-1", save_core),
        saved_twice!(store, piece_by_tag, "P-1", save_piece),
        saved_twice!(store, lot_by_tag, "L-1", touch_lot),
        saved_twice!(store, gauge_by_tag, "M-07", save_gauge),
        saved_twice!(store, job_by_tag, "J-1", save_job),
        saved_twice!(store, rebuild_by_tag, "R-1", save_rebuild),
        saved_twice!(store, reservation_by_tag, "H-1", save_reservation),
    ] {
        assert!(refused, "{save}: a stale copy was saved");
        assert_eq!((after, stored), (before + 1, before + 1), "{save}");
    }
    store.close().await;
}
