//! Holds that run out: seen at once by whoever reads, ended for good by the next act or the
//! background.

use crate::shop::{HOUR, Shop, accept, act, forbidden, look, lot, piece, reserve, used};
use crate::support::{TestDb, on_both};
use tenths_domain::state::{Method, PieceState, ReservationState};
use tenths_domain::units::Unit;
use tenths_server::app::error::Error;
use tenths_server::app::holds::{self, ExtendReservation, LineSubject, Until};
use tenths_server::app::reconditioning::{self, EnqueueJob};
use tenths_server::app::stock;
use tenths_server::app::views::ReservationView;
use tenths_storage::Page;

on_both!(
    a_hold_that_ran_out_is_expired_at_read,
    the_background_ends_each_hold_once,
    a_hold_is_extended_while_it_lives,
    an_end_in_the_past_is_refused,
    a_piece_whose_hold_ran_out_goes_on,
    more_holds_run_out_than_are_ended_at_once,
);

async fn get(shop: &Shop, tag: &'static str) -> ReservationView {
    look!(shop, holds::get_reservation, tag).unwrap()
}

/// Method: hold a piece and all bushings, let the hour pass to its last microsecond, then one more,
/// without any background work; look at the holds, the piece, the lot and the lists, then let
/// another rebuild take both.
async fn a_hold_that_ran_out_is_expired_at_read(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    shop.hold("R-1", vec![piece("P-1"), lot("L-1", 10)]).await;
    shop.pass(HOUR - 1);
    assert!(look!(shop, stock::get_piece, "P-1").unwrap().hold.is_some());
    forbidden(
        act!(shop, holds::reserve, reserve("R-2", vec![lot("L-1", 1)])),
        "NOT_ENOUGH_FREE",
        &["0 free", "10 for rebuild R-1 by Mara"],
    );
    shop.pass(1);
    let hold = get(&shop, "H-1").await;
    assert_eq!(hold.reservation.state_at(hold.now), ReservationState::Expired);
    assert!(look!(shop, stock::get_piece, "P-1").unwrap().hold.is_none());
    let free = look!(shop, stock::get_lot, "L-1").unwrap().stock[0].1.free();
    assert_eq!(free, 10);
    let page = Page { after: 0, limit: 10 };
    for (state, count) in [(ReservationState::Active, 0), (ReservationState::Expired, 2)] {
        let found = look!(shop, holds::list_reservations, page, Some(state), None).unwrap();
        assert_eq!(found.len(), count, "{state}");
    }
    shop.hold("R-2", vec![piece("P-1"), lot("L-1", 10)]).await;
    let hold = get(&shop, "H-1").await.reservation;
    assert_eq!((hold.state, hold.ended_at), (ReservationState::Expired, Some(shop.now())));
    shop.close().await;
}

/// Method: two holds that end at different times, the background called between and after.
async fn the_background_ends_each_hold_once(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    shop.hold("R-1", vec![piece("P-1")]).await;
    shop.pass(HOUR / 2);
    shop.hold("R-1", vec![lot("L-1", 3)]).await;
    assert_eq!(shop.app.expire_due().await.unwrap(), 0);
    for expected in [1, 0] {
        shop.pass(if expected == 1 { HOUR / 2 } else { 0 });
        assert_eq!(shop.app.expire_due().await.unwrap(), expected);
    }
    let first = get(&shop, "H-1").await.reservation;
    shop.pass(HOUR);
    assert_eq!(shop.app.expire_due().await.unwrap(), 1);
    assert_eq!(get(&shop, "H-1").await.reservation, first, "an ended hold changes no more");
    assert_eq!(look!(shop, stock::get_lot, "L-1").unwrap().stock[0].1.held, 0);
    shop.close().await;
}

/// Method: extend before the end, see it live past its first end, extend after the second: refused.
async fn a_hold_is_extended_while_it_lives(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    shop.hold("R-1", vec![piece("P-1")]).await;
    let until_at = shop.now() + 3 * HOUR;
    let extend = ExtendReservation {
        tag: "H-1".to_owned(),
        etag: None,
        until_at,
        reason: "seal is late".to_owned(),
    };
    shop.pass(HOUR - 1);
    let extended = act!(shop, holds::extend_reservation, extend.clone()).unwrap().reservation;
    assert_eq!((extended.until_at, extended.reason.as_str()), (until_at, "seal is late"));
    shop.pass(HOUR);
    assert!(look!(shop, stock::get_piece, "P-1").unwrap().hold.is_some());
    shop.pass(HOUR + 1);
    let late = ExtendReservation { until_at: shop.now() + HOUR, ..extend };
    forbidden(
        act!(shop, holds::extend_reservation, late),
        "HOLD_ENDED",
        &["H-1 is expired since 2026-09-21 17:13 UTC"],
    );
    assert_eq!(shop.app.expire_due().await.unwrap(), 1);
    shop.close().await;
}

/// Method: reserve until now and extend until now; both are invalid and name the field.
async fn an_end_in_the_past_is_refused(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let until = Until::At(shop.now());
    let order = holds::Reserve { until, ..reserve("R-1", vec![piece("P-1")]) };
    let extend = ExtendReservation {
        tag: "H-1".to_owned(),
        etag: None,
        until_at: shop.now(),
        reason: String::new(),
    };
    let reserved = act!(shop, holds::reserve, order).map(|_| ());
    shop.hold("R-1", vec![piece("P-1")]).await;
    let extended = act!(shop, holds::extend_reservation, extend).map(|_| ());
    for refused in [reserved, extended] {
        match refused {
            Err(Error::Invalid(found)) => assert_eq!(found[0].field, "until_time"),
            other => panic!("{other:?}"),
        }
    }
    shop.close().await;
}

/// Goal: a hold that ran out stands in nobody's way and is not left active on a piece that is no
/// longer in stock. Method: let holds run out, then queue the one piece; verify at that moment.
async fn a_piece_whose_hold_ran_out_goes_on(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    shop.hold("R-1", vec![piece("P-1")]).await;
    shop.pass(HOUR);
    let order = EnqueueJob {
        piece_tag: "P-1".to_owned(),
        feature: "journal".to_owned(),
        method: Method::Polish,
        target: None,
        target_unit: Unit::Inch,
        reason: "scored".to_owned(),
        due_at: None,
        location_code: None,
        at_vendor: false,
        rebuild_tag: None,
    };
    act!(shop, reconditioning::enqueue_job, order).unwrap();
    let queued = look!(shop, stock::get_piece, "P-1").unwrap();
    assert_eq!(queued.piece.state, PieceState::Reconditioning);
    shop.assert_sound().await;
    shop.close().await;
}

/// Goal: however many holds ran out, the next reservation of any of them works. Method: hold 520
/// pieces, more than are ended in one go, let them run out, and reserve the last one again, with no
/// background between.
async fn more_holds_run_out_than_are_ended_at_once(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let tags: Vec<String> = (100..620).map(|number| format!("P-{number}")).collect();
    let added = tags.clone();
    shop.act(move |act| {
        let tags = added.clone();
        Box::pin(async move {
            for tag in &tags {
                stock::create_piece(act, &used(tag, "BU-15")).await?;
                stock::accept_piece(act, &accept(tag, "counted")).await?;
            }
            Ok(())
        })
    })
    .await
    .unwrap();
    let kit: Vec<LineSubject> = tags.iter().map(|tag| piece(tag)).collect();
    shop.hold("R-1", kit).await;
    shop.pass(HOUR);
    let last = piece(tags.last().unwrap());
    let held = act!(shop, holds::reserve, reserve("R-2", vec![last])).unwrap();
    assert_eq!(held.len(), 1);
    while shop.app.expire_due().await.unwrap() > 0 {}
    shop.close().await;
}
