//! Goal: whoever fights for the same parts, each part is held once, and no lot is promised twice.
//! Method: 32 clients on connections of their own, all let go at the same moment, on both databases.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Instant;

use tenths_tests::{
    Bench, Chance, DatabaseKind, Expected, Shop, hold_lot, hold_piece, on_both_databases,
};
use tokio::sync::Barrier;
use tokio::task::JoinSet;
use tonic::Code;

#[path = "contention/operations.rs"]
mod operations;
use operations::each_operation_ends_once;

on_both_databases!(
    each_operation_ends_once,
    each_piece_is_held_once,
    a_lot_is_never_promised_twice,
    each_job_is_claimed_once,
    kits_in_any_order_do_not_block_each_other,
);

const CLIENTS: usize = 32;
const PIECES: usize = 8;

async fn each_piece_is_held_once(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    let tags: Vec<String> = (0..PIECES).map(|number| format!("P-{number}")).collect();
    for tag in &tags {
        bench.stocked_shaft(tag).await;
    }
    for number in 0..CLIENTS {
        bench.rebuild(&format!("R-{number}")).await;
    }
    let barrier = Arc::new(Barrier::new(CLIENTS));
    let mut fighters = JoinSet::new();
    let start = Instant::now();
    for number in 0..CLIENTS {
        let bench = Bench::bare(&shop.another_client().await);
        let (barrier, tags) = (barrier.clone(), tags.clone());
        fighters.spawn(async move {
            barrier.wait().await;
            fight_for_each(&bench, &format!("R-{number}"), &tags, number).await
        });
    }
    let mut holders: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let (mut refusals, mut retries) = (0, 0);
    while let Some(fighter) = fighters.join_next().await {
        let (won, refused, busy) = fighter.expect("no fighter panics");
        refusals += refused;
        retries += busy;
        for (piece, rebuild) in won {
            holders.entry(piece).or_default().push(rebuild);
        }
    }
    eprintln!(
        "{kind:?}: {CLIENTS} clients, {PIECES} pieces: {} held, {refusals} refused, {retries} retries, \
         {} ms",
        holders.len(),
        start.elapsed().as_millis()
    );
    assert_eq!(holders.len(), PIECES, "every piece is held");
    assert_eq!(refusals, CLIENTS * PIECES - PIECES, "everybody else was told so");
    for (piece, rebuilds) in holders {
        assert_eq!(rebuilds.len(), 1, "{piece} is held by {rebuilds:?}");
        let hold = bench.get_piece(&piece).await.hold.expect("the hold");
        assert_eq!(hold.rebuild_tag, rebuilds[0]);
    }
    shop.verify();
}

/// Tries every piece once, from a place of its own on; answers with what it got, how often it was
/// refused and how often it had to try again.
async fn fight_for_each(
    bench: &Bench,
    rebuild: &str,
    tags: &[String],
    number: usize,
) -> (Vec<(String, String)>, usize, usize) {
    let (mut won, mut refused, mut retries) = (Vec::new(), 0, 0);
    for step in 0..tags.len() {
        let tag = &tags[(number + step) % tags.len()];
        let request = bench.reserve_request(rebuild, vec![hold_piece(tag)]);
        let (result, busy) = bench.try_reserve(request).await;
        retries += busy;
        match result {
            Ok(_) => won.push((tag.clone(), rebuild.to_owned())),
            Err(status) => {
                let expected = Expected {
                    code: Code::FailedPrecondition,
                    precondition: &[tag.as_str(), "mara"],
                    ..Expected::default()
                };
                expected.judge(&status).expect("the loser is told who holds it");
                refused += 1;
            }
        }
    }
    (won, refused, retries)
}

/// 32 clients want 3 of 20 each: six get them, two are left over.
async fn a_lot_is_never_promised_twice(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    bench.rebuild("R-1").await;
    let barrier = Arc::new(Barrier::new(CLIENTS));
    let mut fighters = JoinSet::new();
    for _ in 0..CLIENTS {
        let bench = Bench::bare(&shop.another_client().await);
        let barrier = barrier.clone();
        fighters.spawn(async move {
            let request = bench.reserve_request("R-1", vec![hold_lot("L-1", 3)]);
            barrier.wait().await;
            let (result, _) = bench.try_reserve(request).await;
            if let Err(status) = &result {
                assert_eq!(status.code(), Code::FailedPrecondition, "{status:?}");
            }
            result.is_ok()
        });
    }
    let mut winners = 0;
    while let Some(fighter) = fighters.join_next().await {
        winners += usize::from(fighter.expect("no fighter panics"));
    }
    assert_eq!(winners, 6);
    let lot = bench.get_lot("L-1").await;
    assert_eq!((lot.on_hand, lot.held), (20, 18));
    shop.verify();
}

async fn each_job_is_claimed_once(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    for number in 0..PIECES {
        let tag = format!("P-{number}");
        bench.piece(&tag, "SH-25").await;
        bench.enqueue(&tag).await;
    }
    let barrier = Arc::new(Barrier::new(CLIENTS));
    let mut workers = JoinSet::new();
    for _ in 0..CLIENTS {
        let bench = Bench::bare(&shop.another_client().await);
        let barrier = barrier.clone();
        workers.spawn(async move {
            barrier.wait().await;
            match bench.try_claim_next().await {
                Ok(answer) => Some((answer.job.expect("the job").tag, answer.fencing_token)),
                Err(status) => {
                    assert_eq!(status.code(), Code::FailedPrecondition, "{status:?}");
                    None
                }
            }
        });
    }
    let mut claims = BTreeMap::new();
    while let Some(worker) = workers.join_next().await {
        if let Some((job, token)) = worker.expect("no worker panics") {
            assert_eq!(claims.insert(job, token), None, "a job has one live claim");
        }
    }
    assert_eq!(claims.len(), PIECES, "every job found a worker");
    shop.verify();
}

/// Kits that name the same pieces in different orders must not lock each other out for good.
async fn kits_in_any_order_do_not_block_each_other(kind: DatabaseKind) {
    let seed = 20_251_125;
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    let tags: Vec<String> = (0..PIECES).map(|number| format!("P-{number}")).collect();
    for tag in &tags {
        bench.stocked_shaft(tag).await;
    }
    bench.rebuild("R-1").await;
    let barrier = Arc::new(Barrier::new(CLIENTS));
    let mut fighters = JoinSet::new();
    for number in 0..CLIENTS {
        let bench = Bench::bare(&shop.another_client().await);
        let barrier = barrier.clone();
        let mut chance = Chance::new(seed + number as u64);
        let mut left = tags.clone();
        let mut kit = vec![hold_lot("L-1", 1)];
        while !left.is_empty() {
            let picked = left.swap_remove(chance.below(left.len() as u64) as usize);
            kit.push(hold_piece(&picked));
        }
        fighters.spawn(async move {
            let request = bench.reserve_request("R-1", kit);
            barrier.wait().await;
            match bench.try_reserve(request).await.0 {
                Ok(answer) => answer.reservations.len(),
                Err(status) => {
                    assert_eq!(status.code(), Code::FailedPrecondition, "{status:?}");
                    0
                }
            }
        });
    }
    let mut kits = Vec::new();
    while let Some(fighter) = fighters.join_next().await {
        kits.push(fighter.expect("no fighter panics"));
    }
    kits.retain(|size| *size > 0);
    assert_eq!(kits, [PIECES + 1], "one kit, whole (seed {seed})");
    assert_eq!(bench.get_lot("L-1").await.held, 1, "the losers hold nothing (seed {seed})");
    shop.verify();
}
