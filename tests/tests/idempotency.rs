//! Goal: a request that is sent again has one effect and one answer; under another payload its id is
//! refused and has none.
//! Method: the same request ten times at once, over ten connections, on both databases.

use tenths_proto::v1::*;
use tenths_tests::{
    Bench, DatabaseKind, Expected, Shop, done, hold_lot, hold_piece, on_both_databases,
};
use tokio::task::JoinSet;
use tonic::Code;

on_both_databases!(
    ten_receipts_at_once_are_one,
    ten_holds_at_once_are_one,
    another_payload_is_refused,
    a_refusal_leaves_the_id_free,
    an_answer_outlives_a_restart,
);

const TIMES: usize = 10;

async fn ten_receipts_at_once_are_one(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    let request = bench.receipt(7);
    let mut calls = JoinSet::new();
    for _ in 0..TIMES {
        let (clients, request) = (shop.another_client().await, request.clone());
        calls.spawn(async move { clients.stock().receive_lot(request).await });
    }
    let mut answers = Vec::new();
    while let Some(call) = calls.join_next().await {
        answers.push(done("receive_lot", call.expect("no call panics")).lot.expect("the lot"));
    }
    assert_eq!(answers.len(), TIMES);
    assert!(answers.iter().all(|lot| *lot == answers[0]), "{answers:#?}");
    let request = ListLotsRequest { item_code: "BRG-6205".to_owned(), ..Default::default() };
    let lots = done("list_lots", shop.clients().stock().list_lots(request).await).lots;
    assert_eq!(lots.len(), 2, "L-1 and one more");
    assert_eq!(bench.ledger(&answers[0].tag).await.len(), 1);
    shop.verify();
}

async fn ten_holds_at_once_are_one(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    bench.stocked_shaft("P-104").await;
    bench.rebuild("R-1").await;
    let request = bench.reserve_request("R-1", vec![hold_piece("P-104"), hold_lot("L-1", 3)]);
    let mut calls = JoinSet::new();
    for _ in 0..TIMES {
        let (clients, request) = (shop.another_client().await, request.clone());
        calls.spawn(async move { clients.rebuilds().reserve(request).await });
    }
    let mut answers = Vec::new();
    while let Some(call) = calls.join_next().await {
        answers.push(done("reserve", call.expect("no call panics")).reservations);
    }
    assert!(answers.iter().all(|holds| *holds == answers[0]), "{answers:#?}");
    assert_eq!(bench.get_lot("L-1").await.held, 3);
    shop.verify();
}

async fn another_payload_is_refused(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    let mut stock = shop.clients().stock();
    let request = bench.receipt(7);
    let lot = done("receive_lot", stock.receive_lot(request.clone()).await).lot.expect("the lot");

    let other = ReceiveLotRequest { quantity: 8, ..request.clone() };
    let expected =
        Expected { code: Code::InvalidArgument, fields: &["request_id"], ..Expected::default() };
    let status = stock.receive_lot(other).await.expect_err("another quantity");
    expected.judge(&status).expect("names request_id");
    // An id belongs to one act: another rpc may not use it either.
    let core =
        LogCoreRequest { request_id: request.request_id.clone(), ..bench.core_request("C-1") };
    let status = shop.clients().receiving().log_core(core).await.expect_err("another rpc");
    expected.judge(&status).expect("names request_id");

    assert_eq!(bench.get_lot(&lot.tag).await, lot, "no effect");
    let cores = shop.clients().receiving().list_cores(ListCoresRequest::default()).await;
    assert!(done("list_cores", cores).cores.is_empty(), "no effect");
    let again = done("receive_lot", stock.receive_lot(request).await).lot.expect("the lot");
    assert_eq!(again, lot, "the first payload still has its answer");
    shop.verify();
}

/// What was refused had no effect, so the same id may carry the corrected request.
async fn a_refusal_leaves_the_id_free(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    let mut stock = shop.clients().stock();
    let wrong = ReceiveLotRequest { location_code: "NOWHERE".to_owned(), ..bench.receipt(7) };
    stock.receive_lot(wrong.clone()).await.expect_err("an unknown location");
    let right = ReceiveLotRequest { location_code: "A-1".to_owned(), ..wrong };
    let lot = done("receive_lot", stock.receive_lot(right).await).lot.expect("the lot");
    assert_eq!(bench.get_lot(&lot.tag).await.on_hand, 7);
}

async fn an_answer_outlives_a_restart(kind: DatabaseKind) {
    let mut shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    let request = bench.receipt(7);
    let first = done("receive_lot", shop.clients().stock().receive_lot(request.clone()).await);
    shop.server_mut().kill();
    shop.restart().await;
    let again = done("receive_lot", shop.clients().stock().receive_lot(request).await);
    assert_eq!(again, first);
    shop.verify();
}
