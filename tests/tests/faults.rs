//! Goal: what was acknowledged survives a crash, what a client gave up leaks nothing, and a stop is
//! never waited for without end.
//! Method: kill -9 among writes and restart; calls dropped at random moments; SIGTERM with streams
//! open. Seeds and figures are printed.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use tenths_proto::v1::*;
use tenths_tests::{
    Bench, Chance, DatabaseKind, Shop, done, hold_lot, kill_tenths_midway, on_both_databases,
    patiently, request_id,
};
use tokio::task::JoinSet;
use tokio_stream::StreamExt;
use tonic::{Code, Request};
use tonic_health::pb::HealthCheckRequest;
use tonic_health::pb::health_client::HealthClient;

on_both_databases!(
    acknowledged_writes_survive_a_kill,
    cancelled_calls_leak_nothing,
    a_broken_import_saves_nothing,
    a_stop_does_not_wait_for_open_streams,
    a_stop_finishes_what_was_begun,
);

const WRITERS: usize = 8;

/// Eight writers, three kills. Each receipt that was answered with OK is there afterwards; each that
/// was not is there whole or not at all, and sending it again settles it.
async fn acknowledged_writes_survive_a_kill(kind: DatabaseKind) {
    let mut shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    let mut chance = Chance::new(7);
    let mut receipts: BTreeMap<String, (ReceiveLotRequest, bool)> = BTreeMap::new();
    drop(bench);
    for round in 0..3 {
        let stop = Arc::new(AtomicBool::new(false));
        let mut writers = JoinSet::new();
        for writer in 0..WRITERS {
            let bench = Bench::bare(&shop.another_client().await);
            let prefix = format!("L-{round}-{writer}");
            writers.spawn(write_until_refused(bench, prefix, stop.clone()));
        }
        tokio::time::sleep(Duration::from_millis(300 + chance.below(700))).await;
        shop.server_mut().kill();
        stop.store(true, Ordering::Relaxed);
        while let Some(writer) = writers.join_next().await {
            for (request, acknowledged) in writer.expect("no writer panics") {
                receipts.insert(request.tag.clone(), (request, acknowledged));
            }
        }
        let start = Instant::now();
        shop.restart().await;
        let acknowledged = receipts.values().filter(|(_, acknowledged)| *acknowledged).count();
        eprintln!(
            "{kind:?} round {round}: {acknowledged} acknowledged of {}, serving again after {} ms",
            receipts.len(),
            start.elapsed().as_millis()
        );
        assert!(acknowledged > 0, "the kill came before any write");
        shop.verify();
        settle(&shop, &mut receipts).await;
        shop.verify();
    }
}

/// Receives lots of their own tags until the server goes away; the last one's fate is unknown.
async fn write_until_refused(
    bench: Bench,
    prefix: String,
    stop: Arc<AtomicBool>,
) -> Vec<(ReceiveLotRequest, bool)> {
    let mut sent = Vec::new();
    for number in 0..100_000 {
        if stop.load(Ordering::Relaxed) {
            break;
        }
        let tag = format!("{prefix}-{number}");
        let request = ReceiveLotRequest { tag, ..bench.receipt(1 + number % 9) };
        let result = bench.clients().stock().receive_lot(request.clone()).await;
        let acknowledged = result.is_ok();
        sent.push((request, acknowledged));
        if let Err(status) = result {
            let gone = matches!(status.code(), Code::Unavailable | Code::Unknown | Code::Cancelled);
            assert!(gone, "a kill looks like a lost connection, not {status:?}");
            break;
        }
    }
    sent
}

async fn settle(shop: &Shop, receipts: &mut BTreeMap<String, (ReceiveLotRequest, bool)>) {
    let mut stored: BTreeMap<String, i64> = BTreeMap::new();
    let mut page_token = String::new();
    loop {
        let request = ListLotsRequest { page_size: 500, page_token, ..Default::default() };
        let page = done("list_lots", shop.clients().stock().list_lots(request).await);
        stored.extend(page.lots.into_iter().map(|lot| (lot.tag, lot.on_hand)));
        page_token = page.next_page_token;
        if page_token.is_empty() {
            break;
        }
    }
    let mut lost = Vec::new();
    for (tag, (request, acknowledged)) in receipts.iter_mut() {
        match stored.get(tag) {
            Some(on_hand) => assert_eq!(*on_hand, request.quantity, "{tag} is whole"),
            None if *acknowledged => lost.push(tag.clone()),
            None => {}
        }
        if !*acknowledged {
            let again = shop.clients().stock().receive_lot(request.clone()).await;
            let lot = done("the same request again", again).lot.expect("the lot");
            assert_eq!((lot.tag.as_str(), lot.on_hand), (tag.as_str(), request.quantity));
            *acknowledged = true;
        }
    }
    assert!(lost.is_empty(), "acknowledged and lost: {lost:?}");
}

/// 200 calls are dropped, or run into their deadline, after 0 to 64 ms. Afterwards no transaction is
/// left open, writes go through, and each dropped request sent again has one effect.
async fn cancelled_calls_leak_nothing(kind: DatabaseKind) {
    const CALLS: u64 = 200;
    let seed = 20_251_125;
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    bench.rebuild("R-1").await;
    let mut chance = Chance::new(seed);
    let mut calls = JoinSet::new();
    for number in 0..CALLS {
        let (clients, request) = (shop.clients().clone(), bench.receipt(1));
        // Half within the time of a write, half around it.
        let patience = Duration::from_micros(chance.below(8_000) * (1 + 7 * chance.below(2)));
        calls.spawn(async move {
            let mut stock = clients.stock();
            let ended = if number % 2 == 0 {
                // The future is dropped: the server sees the stream reset.
                let call = stock.receive_lot(request.clone());
                tokio::time::timeout(patience, call)
                    .await
                    .map_or_else(|_| false, |call| call.is_ok())
            } else {
                let mut timed = Request::new(request.clone());
                timed.set_timeout(patience);
                stock.receive_lot(timed).await.is_ok()
            };
            (request, ended)
        });
        // Spread over time, so that calls are cut at every stage and not only in a queue.
        tokio::time::sleep(Duration::from_micros(chance.below(15_000))).await;
    }
    let mut requests = Vec::new();
    while let Some(call) = calls.join_next().await {
        requests.push(call.expect("no call panics"));
    }
    let cut = requests.iter().filter(|(_, ended)| !ended).count();
    eprintln!("{kind:?}: {cut} of {CALLS} calls cut short (seed {seed})");
    assert!(cut > 10, "too few calls were cut for the test to say anything (seed {seed})");

    shop.database().no_transaction_stays_open().await;
    let start = Instant::now();
    bench.reserve("R-1", vec![hold_lot("L-1", 1)]).await;
    assert!(start.elapsed() < Duration::from_secs(5), "a write waited {:?}", start.elapsed());
    for (request, _) in &requests {
        let again = patiently(|| {
            let (mut stock, request) = (shop.clients().stock(), request.clone());
            async move { stock.receive_lot(request).await }
        });
        again.await.0.expect("the same request again");
    }
    let mut lots = 0;
    let mut page_token = String::new();
    loop {
        let request = ListLotsRequest { page_token, ..Default::default() };
        let page = done("list_lots", shop.clients().stock().list_lots(request).await);
        lots += page.lots.len() as u64;
        page_token = page.next_page_token;
        if page_token.is_empty() {
            break;
        }
    }
    assert_eq!(lots, CALLS + 1, "one lot a request, and L-1");
    shop.verify();
}

fn import_header() -> ImportRowsRequest {
    let columns = ["tag", "item", "quantity", "location", "date_code", "unit_cost"];
    let header = ImportHeader {
        request_id: request_id(),
        person: "mara".to_owned(),
        kind: TableKind::Lots.into(),
        columns: columns.map(str::to_owned).to_vec(),
        ..ImportHeader::default()
    };
    ImportRowsRequest { part: Some(import_rows_request::Part::Header(header)) }
}

fn import_batch(first: i64, count: i64) -> ImportRowsRequest {
    let rows = (first..first + count).map(|line| Row {
        line,
        values: [&format!("L-I-{line}"), "BRG-6205", "3", "A-1", "", ""]
            .map(str::to_owned)
            .to_vec(),
    });
    let batch = RowBatch { rows: rows.collect() };
    ImportRowsRequest { part: Some(import_rows_request::Part::Batch(batch)) }
}

/// A client that goes away in the middle of an import has saved nothing and blocks nobody.
async fn a_broken_import_saves_nothing(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    let mut text = "tag,item,quantity,location,date_code,unit_cost\n".to_owned();
    for number in 0..5_000 {
        text += &format!("L-I-{number},BRG-6205,3,A-1,,\n");
    }
    for _ in 0..3 {
        let arguments = ["--person", "oto", "import", "lots", "-"];
        let after = Duration::from_millis(300);
        kill_tenths_midway(shop.server().address(), &arguments, &text, after);
    }
    tokio::time::sleep(Duration::from_millis(500)).await;
    let start = Instant::now();
    bench.lot("L-2", "BRG-6205", 1).await;
    assert!(start.elapsed() < Duration::from_secs(5), "a write waited {:?}", start.elapsed());
    let lots = shop.clients().stock().list_lots(ListLotsRequest::default()).await;
    let tags: Vec<String> = done("list", lots).lots.into_iter().map(|lot| lot.tag).collect();
    assert_eq!(tags, ["L-1", "L-2"]);
    shop.database().no_transaction_stays_open().await;
    shop.verify();
}

/// A health watch and an import that sends nothing are both open; SIGTERM ends the server all the
/// same within ten seconds, with exit code 0.
async fn a_stop_does_not_wait_for_open_streams(kind: DatabaseKind) {
    let mut shop = Shop::start(kind).await;
    let _bench = Bench::furnished(shop.clients()).await;
    let mut health = HealthClient::new(shop.clients().channel());
    let request = HealthCheckRequest { service: String::new() };
    let mut watch = done("watch", health.watch(request).await);
    watch.next().await.expect("a first answer").expect("the state of the server");

    let (sender, receiver) = tokio::sync::mpsc::channel(8);
    sender.send(import_header()).await.expect("the stream is open");
    sender.send(import_batch(2, 10)).await.expect("the stream is open");
    let rows = tokio_stream::wrappers::ReceiverStream::new(receiver);
    let answers = done("import_rows", shop.clients().transfer().import_rows(rows).await);

    let start = Instant::now();
    let status = shop.server_mut().terminate(Duration::from_secs(10));
    eprintln!("{kind:?}: ended {} ms after SIGTERM", start.elapsed().as_millis());
    let status = status.expect("still running 10 s after SIGTERM");
    assert_eq!(status.code(), Some(0), "{}", shop.server().log_text());
    drop((watch, answers, sender));
    shop.restart().await;
    let lots = shop.clients().stock().list_lots(ListLotsRequest::default()).await;
    assert_eq!(done("list", lots).lots.len(), 1, "the import was not complete");
    shop.verify();
}

/// Writers are at work while SIGTERM arrives: what they were told is there after a restart.
async fn a_stop_finishes_what_was_begun(kind: DatabaseKind) {
    let mut shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    drop(bench);
    let stop = Arc::new(AtomicBool::new(false));
    let mut writers = JoinSet::new();
    for writer in 0..WRITERS {
        let bench = Bench::bare(&shop.another_client().await);
        writers.spawn(write_until_refused(bench, format!("L-S-{writer}"), stop.clone()));
    }
    tokio::time::sleep(Duration::from_millis(400)).await;
    let status = shop.server_mut().terminate(Duration::from_secs(10));
    assert_eq!(status.and_then(|status| status.code()), Some(0), "{}", shop.server().log_text());
    stop.store(true, Ordering::Relaxed);
    let mut receipts = BTreeMap::new();
    while let Some(writer) = writers.join_next().await {
        for (request, acknowledged) in writer.expect("no writer panics") {
            receipts.insert(request.tag.clone(), (request, acknowledged));
        }
    }
    assert!(receipts.values().any(|(_, acknowledged)| *acknowledged), "nobody wrote anything");
    shop.restart().await;
    settle(&shop, &mut receipts).await;
    shop.verify();
}
