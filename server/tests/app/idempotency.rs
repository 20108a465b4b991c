//! The same request again: one effect, the same answer.

use crate::shop::{Shop, act, forbidden, look, piece, reserve};
use crate::support::{TestDb, on_both};
use tenths_server::app::error::Error;
use tenths_server::app::holds::{self, ReleaseReservations, Reserve};
use tenths_server::app::stock;
use tenths_storage::Page;

on_both!(
    a_repeat_is_answered_and_does_nothing,
    another_payload_under_the_same_id_is_refused,
    ten_at_once_have_one_effect_and_one_answer,
    a_refused_request_leaves_no_trace,
);

/// Reserves under a given request; answers with the encoded answer.
async fn reserve_as(shop: &Shop, id: &str, digest: u8, order: Reserve) -> Result<Vec<u8>, Error> {
    shop.app
        .once(shop.request(id, digest), move |act| {
            let order = order.clone();
            Box::pin(async move {
                let held = holds::reserve(act, &order).await?;
                Ok(format!("{held:?}").into_bytes())
            })
        })
        .await
        .map(|done| done.answer)
}

async fn holds(shop: &Shop) -> usize {
    let page = Page { after: 0, limit: 100 };
    look!(shop, holds::list_reservations, page, None, None).unwrap().len()
}

/// Method: reserve, release, then send the first request again, later and after the release: the
/// bytes are the same, and nothing is held by it.
async fn a_repeat_is_answered_and_does_nothing(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let order = reserve("R-1", vec![piece("P-1")]);
    let first = reserve_as(&shop, "once", 1, order.clone()).await.unwrap();
    assert_eq!(reserve_as(&shop, "once", 1, order.clone()).await.unwrap(), first);
    let release = ReleaseReservations { tags: vec!["H-1".to_owned()], reason: String::new() };
    act!(shop, holds::release_reservations, release).unwrap();
    shop.pass(1_000_000);
    assert_eq!(reserve_as(&shop, "once", 1, order).await.unwrap(), first);
    assert_eq!(holds(&shop).await, 1);
    assert!(look!(shop, stock::get_piece, "P-1").unwrap().hold.is_none());
    shop.close().await;
}

/// Method: the same id with another digest, and with the same digest for another rpc.
async fn another_payload_under_the_same_id_is_refused(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    reserve_as(&shop, "once", 1, reserve("R-1", vec![piece("P-1")])).await.unwrap();
    let other = reserve_as(&shop, "once", 2, reserve("R-1", vec![piece("P-2")])).await;
    let mut request = shop.request("once", 1);
    request.method = "Other";
    let method = shop.app.once(request, |_| Box::pin(async { Ok(Vec::new()) })).await;
    let method = method.map(|done| done.answer);
    for refused in [other, method] {
        match refused {
            Err(Error::Invalid(found)) => {
                assert_eq!(found[0].field, "request_id");
                assert!(found[0].problem.contains("(Test)"), "{found:?}");
            }
            other => panic!("{other:?}"),
        }
    }
    assert_eq!(holds(&shop).await, 1);
    shop.close().await;
}

/// Method: ten tasks send the same request at the same moment, three times over; every one must be
/// answered, and alike, although nine of each ten come when the piece is held already.
async fn ten_at_once_have_one_effect_and_one_answer(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    for (round, tag) in ["P-1", "P-2", "P-3"].into_iter().enumerate() {
        let tasks: Vec<_> = (0..10)
            .map(|_| {
                let shop = shop.clone();
                tokio::spawn(async move {
                    let order = reserve("R-1", vec![piece(tag)]);
                    reserve_as(&shop, &format!("at once {round}"), 1, order).await
                })
            })
            .collect();
        let mut answers = Vec::new();
        for task in tasks {
            answers.push(task.await.unwrap().unwrap());
        }
        answers.dedup();
        assert_eq!(answers.len(), 1, "the answers to one request differ");
        assert_eq!(holds(&shop).await, round + 1);
    }
    shop.close().await;
}

/// Goal: what was refused can be asked again under the same id. Method: reserve a held piece, take
/// the obstacle away, send the very same request.
async fn a_refused_request_leaves_no_trace(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    shop.hold("R-2", vec![piece("P-1")]).await;
    let order = reserve("R-1", vec![piece("P-2"), piece("P-1")]);
    let refused = reserve_as(&shop, "again", 1, order.clone()).await;
    forbidden(refused, "HELD", &["P-1"]);
    assert_eq!(holds(&shop).await, 1);
    let release = ReleaseReservations { tags: vec!["H-1".to_owned()], reason: String::new() };
    act!(shop, holds::release_reservations, release).unwrap();
    let held = reserve_as(&shop, "again", 1, order).await.unwrap();
    let text = String::from_utf8(held).unwrap();
    // The tags that the refused try counted were given back.
    assert!(text.contains("\"H-2\"") && text.contains("\"H-3\""), "{text}");
    assert_eq!(holds(&shop).await, 3);
    shop.close().await;
}
