//! Goal: every version of the policy is kept as it was sent, and each version is put in force once.

use crate::support::{TestDb, on_both};
use tenths_storage::{Page, PolicyVersion, RepairDecision, StorageError, Store, Tx};

on_both!(versions_are_kept_as_they_were_sent, one_version_is_put_in_force_once);

fn version(version: i64, document: &[u8]) -> PolicyVersion {
    PolicyVersion {
        id: 0,
        version,
        document: document.to_vec(),
        note: format!("version {version}"),
        person: "Mara".to_owned(),
        created_at: 1_790_000_000_000_000,
    }
}

async fn put(store: &Store, new: PolicyVersion) -> Result<PolicyVersion, StorageError> {
    store
        .write(move |tx| {
            let new = new.clone();
            Box::pin(async move { tx.insert_policy(new).await })
        })
        .await
}

/// Method: put three versions in force, one of them with bytes that are no text, and read them back
/// singly, the latest, and in pages.
async fn versions_are_kept_as_they_were_sent(db: TestDb) {
    let store = db.store().await;
    let latest = |store: Store| async move {
        let found: Result<_, StorageError> =
            store.read(|tx| Box::pin(async move { tx.latest_policy().await })).await;
        found.unwrap()
    };
    assert_eq!(latest(store.clone()).await, None);
    let mut kept = Vec::new();
    for (number, document) in [(1, &b"one"[..]), (2, &[0, 255, 10][..]), (3, &b""[..])] {
        kept.push(put(&store, version(number, document)).await.unwrap());
    }
    assert_eq!(latest(store.clone()).await.as_ref(), kept.last());
    let found: Result<_, StorageError> = store
        .read(|tx| {
            Box::pin(async move {
                let page = |after| Page { after, limit: 2 };
                let first = tx.policies_page(page(0)).await?;
                let second = tx.policies_page(page(first[1].id)).await?;
                let none = tx.policy_of_version(4).await?;
                Ok((first, second, tx.policy_of_version(2).await?, none))
            })
        })
        .await;
    let (first, second, two, none) = found.unwrap();
    assert_eq!([first, second].concat(), kept);
    assert_eq!((two.as_ref(), none), (Some(&kept[1]), None));
    store.close().await;
}

/// Method: two writers put the same next version in force; the second is told that it is there.
async fn one_version_is_put_in_force_once(db: TestDb) {
    let store = db.store().await;
    put(&store, version(1, b"mine")).await.unwrap();
    let again = put(&store, version(1, b"other")).await;
    assert!(matches!(again, Err(StorageError::Duplicate(_))), "{again:?}");
    let none = put(&store, version(0, b"built in")).await;
    assert!(none.is_err(), "version 0 is built in and never stored");
    store.close().await;
}

/// Puts what is in force in force again, as the next version.
pub(crate) async fn put_again(tx: &Tx) -> Result<PolicyVersion, StorageError> {
    let mut policy = tx.latest_policy().await?.unwrap();
    policy.version += 1;
    tx.insert_policy(policy).await
}

/// Records the first decision once more.
pub(crate) async fn decide_again(tx: &Tx) -> Result<RepairDecision, StorageError> {
    let page = Page { after: 0, limit: 1 };
    let found = tx.repair_decisions_page(page, None).await?.pop().unwrap();
    tx.insert_repair_decision(found).await
}
