//! Jobs of several operations: one after another, in the shop and at vendors.

use crate::shop::{HOUR, Shop, act, forbidden, look, read, used};
use crate::support::{TestDb, on_both};
use std::collections::BTreeMap;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use tenths_domain::item::FeatureKind;
use tenths_domain::policy::Site;
use tenths_domain::route::{Machine, Operation, OperationKind, single};
use tenths_domain::state::{
    BuiltUp, JobOutcome, JobState, LocationKind, Method, OperationState, PieceState, RejectReason,
    SendOutLineState,
};
use tenths_domain::units::Unit;
use tenths_server::app::error::Error;
use tenths_server::app::planning::{ListYields, list_yields};
use tenths_server::app::reconditioning::{
    self, ClaimJob, CreateSendOut, FinishJob, FinishOperation, NewJob, OnClaim, RejectOperation,
    ReturnSendOut, ReturnedLine, SendOutsFilter, start_job,
};
use tenths_server::app::stock;
use tenths_storage::{Job, Page};
use tokio::sync::Barrier;

on_both!(
    a_route_is_done_one_operation_after_another,
    a_rejected_operation_ends_its_job,
    a_piece_that_leaves_half_built_up_is_remembered_as_built_up,
    a_fault_that_shows_later_is_that_of_the_work_that_made_it,
    the_next_job_is_the_forced_then_the_planned_then_the_earliest_due,
    an_operation_that_was_dropped_is_laid_aside,
    what_is_sent_out_is_at_the_vendor_until_it_is_taken_back,
    what_cannot_be_sent_or_taken_back_is_said_all_at_once,
    every_operation_is_finished_once,
);

const MINUTE: i64 = 60_000_000;

fn operation(kind: OperationKind, machine: Machine, site: Site) -> Operation {
    let setup_family = machine.setup_family();
    let text = kind.as_str().replace('_', " ");
    let any = single(Method::Polish, FeatureKind::Journal, None);
    Operation { kind, machine, setup_family, site, text, ..any }
}

fn in_house(kind: OperationKind, machine: Machine) -> Operation {
    operation(kind, machine, Site::InHouse)
}

fn inspect() -> Operation {
    in_house(OperationKind::Inspect, Machine::InspectionBench)
}

/// Clean, grind, inspect.
fn ground() -> Vec<Operation> {
    let clean = in_house(OperationKind::Clean, Machine::Wash);
    let grind = in_house(OperationKind::FinishGrind, Machine::CylindricalGrinder);
    vec![clean, grind, inspect()]
}

/// Plate and bake at a vendor, then inspect.
fn plated() -> Vec<Operation> {
    let plate = operation(OperationKind::Plate, Machine::BuildUpPlant, Site::Vendor);
    let bake = operation(OperationKind::Bake, Machine::Oven, Site::Vendor);
    let back = in_house(OperationKind::ReturnInspect, Machine::InspectionBench);
    vec![plate, bake, back, inspect()]
}

/// Opens a job on the journal of a piece; answers with it.
async fn routed(shop: &Shop, piece: &str, route: Vec<Operation>, due_at: Option<i64>) -> Job {
    let piece = piece.to_owned();
    let started = shop.act(move |act| {
        let (piece, route) = (piece.clone(), route.clone());
        Box::pin(async move {
            let mut piece = act.tx.piece_by_tag(&piece).await?.unwrap();
            piece.state = PieceState::Reconditioning;
            act.tx.save_piece(&mut piece).await?;
            let item = act.tx.items_by_ids([piece.item]).await?.remove(&piece.item).unwrap();
            let new = NewJob {
                piece: piece.id,
                feature: item.feature("journal").unwrap().id,
                method: Method::Polish,
                target: None,
                target_unit: Unit::Inch,
                reason: "worn".to_owned(),
                due_at,
                rework_of: None,
                rebuild: None,
                value_minor: None,
                policy_version: None,
                route,
            };
            start_job(act, new).await
        })
    });
    started.await.unwrap()
}

fn next(machine: Option<Machine>) -> ClaimJob {
    ClaimJob { tag: None, machine, lease: HOUR }
}

fn on(tag: &str, fencing_token: i64) -> OnClaim {
    OnClaim { tag: tag.to_owned(), fencing_token }
}

fn finished(tag: &str, token: i64) -> FinishOperation {
    FinishOperation { claim: on(tag, token), note: String::new() }
}

async fn vendor(shop: &Shop) {
    let code = "PLATER".to_owned();
    let order =
        stock::CreateLocation { code, kind: LocationKind::Vendor, description: String::new() };
    act!(shop, stock::create_location, order).unwrap();
}

/// Method: claim by machine, so that only the current operation can be claimed; start, pause, start
/// and finish it; try the old token and the ends that are not due; re-measure at the last.
async fn a_route_is_done_one_operation_after_another(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    shop.measure_well("P-1").await;
    let tag = routed(&shop, "P-1", ground(), None).await.tag;
    let grinder = next(Some(Machine::CylindricalGrinder));
    let words = ["no job waits in the queue for cylindrical_grinder"];
    forbidden(act!(shop, reconditioning::claim_job, grinder.clone()), "NOTHING_WAITS", &words);
    let wash = next(Some(Machine::Wash));
    let (_, token) = act!(shop, reconditioning::claim_job, wash).unwrap();
    let words = ["only one that is started can be paused"];
    let paused = act!(shop, reconditioning::pause_operation, on(&tag, token));
    forbidden(paused, "OPERATION_STATE", &words);
    act!(shop, reconditioning::start_operation, on(&tag, token)).unwrap();
    let again = act!(shop, reconditioning::start_operation, on(&tag, token));
    forbidden(again, "OPERATION_STATE", &["operation 1 (clean) of job J-1 is started"]);
    shop.pass(10 * MINUTE);
    act!(shop, reconditioning::pause_operation, on(&tag, token)).unwrap();
    shop.pass(5 * MINUTE);
    act!(shop, reconditioning::start_operation, on(&tag, token)).unwrap();
    shop.pass(MINUTE);
    let early = FinishJob {
        claim: on(&tag, token),
        readings: read("journal", "M-07", "A0 0.9374 B0 0.9374"),
        override_reason: String::new(),
        location_code: None,
        run_out_tir: None,
    };
    let words = ["job J-1 is at operation 1 of 3 (clean)"];
    forbidden(act!(shop, reconditioning::finish_job, early.clone()), "OPERATIONS_LEFT", &words);
    let job = act!(shop, reconditioning::finish_operation, finished(&tag, token)).unwrap();
    let clean = &job.operations[0];
    assert_eq!((clean.state, clean.passed), (OperationState::Done, Some(true)));
    assert_eq!(clean.worked_micros, 11 * MINUTE, "the pause does not count");
    assert_eq!((job.job.state, job.job.worker.as_str()), (JobState::Queued, ""));
    let late = act!(shop, reconditioning::finish_operation, finished(&tag, token));
    forbidden(late, "STALE_CLAIM", &["token 1"]);
    let (_, token) = act!(shop, reconditioning::claim_job, grinder).unwrap();
    act!(shop, reconditioning::finish_operation, finished(&tag, token)).unwrap();
    let (_, token) = act!(shop, reconditioning::claim_job, next(None)).unwrap();
    let last = act!(shop, reconditioning::finish_operation, finished(&tag, token));
    forbidden(last, "LAST_OPERATION", &["operation 3 is the last"]);
    let order = FinishJob { claim: on(&tag, token), ..early };
    let done = act!(shop, reconditioning::finish_job, order).unwrap();
    assert_eq!(done.job.job.outcome, Some(JobOutcome::ToStock), "{:?}", done.notes);
    assert!(done.job.operations.iter().all(|one| one.state == OperationState::Done));
    shop.close().await;
}

/// Method: reject the second of three operations; the job ends for decision, the third is skipped,
/// the piece is under inspection and may be queued again as another job.
async fn a_rejected_operation_ends_its_job(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let tag = routed(&shop, "P-1", ground(), None).await.tag;
    let (_, token) = act!(shop, reconditioning::claim_job, next(None)).unwrap();
    act!(shop, reconditioning::finish_operation, finished(&tag, token)).unwrap();
    let (_, token) = act!(shop, reconditioning::claim_job, next(None)).unwrap();
    let order = RejectOperation {
        claim: on(&tag, token),
        reason: RejectReason::Other,
        note: String::new(),
    };
    match act!(shop, reconditioning::reject_operation, order.clone()) {
        Err(Error::Invalid(found)) => assert_eq!(found[0].field, "note"),
        other => panic!("{other:?}"),
    }
    let order = RejectOperation { reason: RejectReason::GrindingBurn, ..order };
    let job = act!(shop, reconditioning::reject_operation, order.clone()).unwrap();
    let states: Vec<_> = job.operations.iter().map(|one| one.state).collect();
    assert_eq!(states, [OperationState::Done, OperationState::Rejected, OperationState::Skipped]);
    assert_eq!(job.operations[1].passed, Some(false));
    assert_eq!(job.job.outcome, Some(JobOutcome::ForDecision));
    forbidden(act!(shop, reconditioning::reject_operation, order), "JOB_ENDED", &[]);
    let piece = look!(shop, stock::get_piece, "P-1").unwrap().piece;
    assert_eq!(piece.state, PieceState::Inspection);
    // The wheel may have touched it: what was read before no longer speaks, nothing was put on.
    assert_ne!(piece.built_up, BuiltUp::Yes);
    let (piece, feature) = (piece.id, job.job.feature);
    let size = shop
        .look(move |view| Box::pin(async move { Ok(view.tx.piece_size(piece, feature).await?) }))
        .await
        .unwrap();
    assert_eq!((size.round, size.min, size.reading_count), (1, None, 0));
    shop.close().await;
}

/// Method: plating that is given up, and polishing that is; only the first put metal on.
async fn a_piece_that_leaves_half_built_up_is_remembered_as_built_up(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let plate = in_house(OperationKind::Plate, Machine::BuildUpPlant);
    let polish = in_house(OperationKind::Polish, Machine::Lathe);
    for (piece, first, expected) in [("P-1", plate, true), ("P-2", polish, false)] {
        let tag = routed(&shop, piece, vec![first, inspect()], None).await.tag;
        let (_, token) = act!(shop, reconditioning::claim_job, next(None)).unwrap();
        let order = RejectOperation {
            claim: on(&tag, token),
            reason: RejectReason::PoorBond,
            note: String::new(),
        };
        act!(shop, reconditioning::reject_operation, order).unwrap();
        let found = look!(shop, stock::get_piece, piece).unwrap().piece;
        assert_eq!(found.built_up == BuiltUp::Yes, expected, "{piece}");
    }
    shop.close().await;
}

/// Method: five jobs queued in an order that is none of the reasons; claims come in the order of the
/// reasons.
async fn the_next_job_is_the_forced_then_the_planned_then_the_earliest_due(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let now = shop.now();
    let mut jobs = Vec::new();
    for (number, due) in
        [None, Some(now + 9 * HOUR), Some(now + HOUR), None, None].iter().enumerate()
    {
        let piece = format!("P-6{number}");
        act!(shop, stock::create_piece, used(&piece, "SH-30")).unwrap();
        jobs.push(routed(&shop, &piece, ground(), *due).await);
    }
    for (index, rank, force_at) in [
        (3, Some(1), None),
        (1, Some(0), None),
        (4, Some(2), Some(now)),
        (0, None, Some(now + HOUR)),
    ] {
        let mut job = jobs[index].clone();
        (job.plan_rank, job.force_at) = (rank, force_at);
        let saved = shop.act(move |act| {
            let mut job = job.clone();
            Box::pin(async move { Ok(act.tx.save_job(&mut job).await?) })
        });
        saved.await.unwrap();
    }
    let mut order = Vec::new();
    for _ in 0..5 {
        let (job, _) = act!(shop, reconditioning::claim_job, next(Some(Machine::Wash))).unwrap();
        order.push(job.job.tag);
    }
    assert_eq!(order, ["J-5", "J-2", "J-4", "J-3", "J-1"]);
    shop.close().await;
}

/// Method: start an operation and let the lease end; the next claim finds it paused, its time counted
/// until the lease ended, and the old token refused.
async fn an_operation_that_was_dropped_is_laid_aside(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let tag = routed(&shop, "P-1", ground(), None).await.tag;
    act!(shop, reconditioning::claim_job, next(None)).unwrap();
    shop.pass(20 * MINUTE);
    act!(shop, reconditioning::start_operation, on(&tag, 1)).unwrap();
    shop.pass(2 * HOUR);
    let (job, token) = act!(shop, reconditioning::claim_job, next(None)).unwrap();
    assert_eq!((job.job.tag.as_str(), token), (tag.as_str(), 2));
    let clean = &job.operations[0];
    assert_eq!((clean.state, clean.worked_micros), (OperationState::Paused, 40 * MINUTE));
    let late = act!(shop, reconditioning::finish_operation, finished(&tag, 1));
    forbidden(late, "STALE_CLAIM", &["token 1"]);
    shop.close().await;
}

fn send(jobs: &[&str]) -> CreateSendOut {
    CreateSendOut {
        location_code: "PLATER".to_owned(),
        order_number: "PO-7".to_owned(),
        due_back_at: None,
        note: String::new(),
        job_tags: jobs.iter().map(|tag| (*tag).to_owned()).collect(),
    }
}

fn take_back(lines: &[(i64, SendOutLineState)]) -> ReturnSendOut {
    let lines = lines.iter().map(|(line, state)| ReturnedLine {
        line: *line,
        state: *state,
        note: String::new(),
    });
    let lines = lines.collect();
    ReturnSendOut { tag: "S-1".to_owned(), etag: None, lines, location_code: None }
}

/// Goal: whose work failed is not whoever found it. Method: a layer from a vendor passes the return
/// inspection and flakes in the grinder; then the grinder burns another one by itself.
async fn a_fault_that_shows_later_is_that_of_the_work_that_made_it(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    vendor(&shop).await;
    let mut route = plated();
    route.insert(3, in_house(OperationKind::FinishGrind, Machine::CylindricalGrinder));
    let returned = SendOutLineState::Returned;
    let mut found = Vec::new();
    for (piece, send_out, reason) in
        [("P-1", "S-1", RejectReason::PoorBond), ("P-2", "S-2", RejectReason::GrindingBurn)]
    {
        let tag = routed(&shop, piece, route.clone(), None).await.tag;
        act!(shop, reconditioning::create_send_out, send(&[&tag])).unwrap();
        let back = ReturnSendOut { tag: send_out.to_owned(), ..take_back(&[(1, returned)]) };
        act!(shop, reconditioning::return_send_out, back).unwrap();
        let (_, token) = act!(shop, reconditioning::claim_job, next(None)).unwrap();
        act!(shop, reconditioning::finish_operation, finished(&tag, token)).unwrap();
        let (_, token) = act!(shop, reconditioning::claim_job, next(None)).unwrap();
        let order = RejectOperation { claim: on(&tag, token), reason, note: String::new() };
        let job = act!(shop, reconditioning::reject_operation, order).unwrap();
        assert_eq!(job.operations[3].state, OperationState::Rejected);
        found.push(job.operations.iter().map(|one| one.passed).collect::<Vec<_>>());
    }
    let [good, bad] = [Some(true), Some(false)];
    // Plate, bake, return inspection, grind, inspect: an inspection has no yield of its own.
    assert_eq!(found, [[bad, good, None, None, None], [good, good, None, bad, None]]);
    let every = ListYields { operation: None, vendor: Some("PLATER".to_owned()) };
    let yields = shop.look(move |view| Box::pin(async move { list_yields(view, &every).await }));
    let counted = yields.await.unwrap().yields.into_iter();
    let counted: Vec<_> =
        counted.map(|one| (one.counted.kind, one.counted.passed, one.counted.failed)).collect();
    assert_eq!(counted, [(OperationKind::Plate, 1, 1), (OperationKind::Bake, 2, 0)]);
    shop.close().await;
}

/// Method: send two pieces; the ledger has them at the vendor's and nothing else may move them. One
/// comes back and is inspected, the other does not and is written off.
async fn what_is_sent_out_is_at_the_vendor_until_it_is_taken_back(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    vendor(&shop).await;
    for piece in ["P-1", "P-2"] {
        routed(&shop, piece, plated(), None).await;
    }
    forbidden(act!(shop, reconditioning::claim_job, next(None)), "NOTHING_WAITS", &[]);
    let by_name = ClaimJob { tag: Some("J-1".to_owned()), ..next(None) };
    let words = ["operation 1 of job J-1 is done by a vendor"];
    forbidden(act!(shop, reconditioning::claim_job, by_name), "VENDOR_OPERATION", &words);
    let (sent, notes) = act!(shop, reconditioning::create_send_out, send(&["J-2", "J-1"])).unwrap();
    assert!(notes.is_empty(), "{notes:?}");
    assert_eq!(
        sent.lines.iter().map(|line| line.job_tag.as_str()).collect::<Vec<_>>(),
        ["J-2", "J-1"]
    );
    assert_eq!(sent.lines[0].work, ["plate", "bake"], "the whole run of the vendor's work");
    let piece = look!(shop, stock::get_piece, "P-1").unwrap();
    assert_eq!(piece.location_code, "PLATER");
    let away =
        stock::MovePiece { tag: "P-1".to_owned(), etag: None, location_code: "A-01".to_owned() };
    forbidden(act!(shop, stock::move_piece, away), "AWAY", &["P-1 is away in job J-1"]);
    shop.assert_sound().await;
    let page = Page { after: 0, limit: 10 };
    let open = SendOutsFilter { only_open: true, location_code: Some("PLATER".to_owned()) };
    let same = open.clone();
    let listed = look!(shop, reconditioning::list_send_outs, page, same).unwrap();
    assert_eq!(listed.len(), 1);
    let back = take_back(&[(2, SendOutLineState::Returned)]);
    let after = act!(shop, reconditioning::return_send_out, back.clone()).unwrap();
    assert_eq!(after.send_out.closed_at, None, "one line is still out");
    let again = act!(shop, reconditioning::return_send_out, back);
    forbidden(again, "LINE_ENDED", &["line 2 of S-1 is returned already"]);
    let piece = look!(shop, stock::get_piece, "P-1").unwrap();
    assert_ne!(piece.location_code, "PLATER", "it is where it was sent from");
    let (job, token) = act!(shop, reconditioning::claim_job, next(None)).unwrap();
    assert_eq!((job.job.tag.as_str(), job.operations[0].passed), ("J-1", None));
    let job = act!(shop, reconditioning::finish_operation, finished("J-1", token)).unwrap();
    let vendors: Vec<_> = job.operations[..2].iter().map(|one| one.passed).collect();
    assert_eq!(vendors, [Some(true), Some(true)], "the return inspection judges the vendor");
    let short = take_back(&[(1, SendOutLineState::Short)]);
    let after = act!(shop, reconditioning::return_send_out, short).unwrap();
    assert!(after.send_out.closed_at.is_some());
    let lost = look!(shop, stock::get_piece, "P-2").unwrap();
    assert_eq!((lost.piece.state, lost.location_code.as_str()), (PieceState::Scrapped, ""));
    assert!(look!(shop, reconditioning::list_send_outs, page, open).unwrap().is_empty());
    shop.close().await;
}

/// Method: orders with everything wrong with them; each is refused whole, and nothing has moved.
async fn what_cannot_be_sent_or_taken_back_is_said_all_at_once(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    vendor(&shop).await;
    routed(&shop, "P-1", plated(), None).await;
    routed(&shop, "P-2", ground(), None).await;
    let (_, _) = act!(shop, reconditioning::claim_job, next(None)).unwrap();
    routed(&shop, "P-3", ground(), None).await;
    let refused = act!(shop, reconditioning::create_send_out, send(&["J-1", "J-2", "J-3"]));
    match refused {
        Err(Error::Forbidden(found)) => {
            let kinds: Vec<_> = found.iter().map(|one| (one.kind, one.subject.as_str())).collect();
            assert_eq!(kinds, [("CLAIMED", "J-2"), ("IN_HOUSE_OPERATION", "J-3")]);
        }
        other => panic!("{other:?}"),
    }
    for (order, field) in [
        (send(&["J-1", "J-1"]), "job_tags[1]"),
        (CreateSendOut { location_code: "A-01".to_owned(), ..send(&["J-1"]) }, "location_code"),
    ] {
        match act!(shop, reconditioning::create_send_out, order) {
            Err(Error::Invalid(found)) => assert_eq!(found[0].field, field),
            other => panic!("{field}: {other:?}"),
        }
    }
    assert_ne!(look!(shop, stock::get_piece, "P-1").unwrap().location_code, "PLATER");
    act!(shop, reconditioning::create_send_out, send(&["J-1"])).unwrap();
    let returned = SendOutLineState::Returned;
    match act!(shop, reconditioning::return_send_out, take_back(&[(1, returned), (5, returned)])) {
        Err(Error::Invalid(found)) => {
            assert_eq!(found[0].field, "lines[1].line");
            assert_eq!(found[0].problem, "S-1 has no line 5; allowed: 1 to 1");
        }
        other => panic!("{other:?}"),
    }
    let to_vendor =
        ReturnSendOut { location_code: Some("PLATER".to_owned()), ..take_back(&[(1, returned)]) };
    match act!(shop, reconditioning::return_send_out, to_vendor) {
        Err(Error::Invalid(found)) => assert_eq!(found[0].field, "location_code"),
        other => panic!("{other:?}"),
    }
    shop.close().await;
}

const WORKERS: usize = 12;
const JOBS: usize = 10;

/// Goal: whoever works at once, each operation is finished exactly once, a late token never counts,
/// and what a worker dropped is done by another once the lease has ended. Method: twelve workers take
/// the next operation until none is left; every fifth claim is dropped, its lease runs out, and its
/// token is tried afterwards.
async fn every_operation_is_finished_once(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let route = || {
        let mut route = ground();
        route.truncate(2);
        route.push(in_house(OperationKind::Balance, Machine::BalancingStand));
        route.push(inspect());
        route
    };
    for number in 0..JOBS {
        let piece = format!("P-7{number}");
        act!(shop, stock::create_piece, used(&piece, "SH-30")).unwrap();
        routed(&shop, &piece, route(), None).await;
    }
    let (claims, barrier) = (Arc::new(AtomicUsize::new(0)), Arc::new(Barrier::new(WORKERS)));
    let (mut finishes, mut dropped) = (BTreeMap::<(String, i64), usize>::new(), Vec::new());
    // Each round ends when nothing waits; then the leases of those who dropped out run out.
    for drops in [true, false] {
        let workers: Vec<_> = (0..WORKERS)
            .map(|_| {
                let (shop, claims) = (shop.clone(), Arc::clone(&claims));
                let barrier = Arc::clone(&barrier);
                tokio::spawn(async move {
                    barrier.wait().await;
                    work(&shop, &claims, drops).await
                })
            })
            .collect();
        for worker in workers {
            let (done, left) = worker.await.unwrap();
            for operation in done {
                *finishes.entry(operation).or_default() += 1;
            }
            dropped.extend(left);
        }
        shop.pass(HOUR);
        shop.assert_sound().await;
    }
    assert!(!dropped.is_empty());
    for (tag, token) in dropped {
        let late = act!(shop, reconditioning::finish_operation, finished(&tag, token));
        assert!(matches!(late, Err(Error::Forbidden(_))), "{tag} {token}: {late:?}");
    }
    let expected = JOBS * 3;
    assert_eq!(finishes.len(), expected, "none is stuck: {finishes:?}");
    assert!(finishes.values().all(|times| *times == 1), "{finishes:?}");
    shop.close().await;
}

/// Takes the next operation until nothing waits; answers with what was finished and what dropped.
async fn work(
    shop: &Shop,
    claims: &AtomicUsize,
    drops: bool,
) -> (Vec<(String, i64)>, Vec<(String, i64)>) {
    let (mut done, mut dropped) = (Vec::new(), Vec::new());
    loop {
        let (job, token) = match act!(shop, reconditioning::claim_job, next(None)) {
            Ok(claimed) => claimed,
            Err(Error::Forbidden(_)) => return (done, dropped),
            Err(other) => panic!("{other:?}"),
        };
        let at = job.job.current.as_ref().unwrap().position;
        let tag = job.job.tag;
        if at == 4 {
            // The inspection needs readings; it stays claimed.
            continue;
        }
        if drops && claims.fetch_add(1, Ordering::SeqCst) % 5 == 4 {
            dropped.push((tag, token));
            continue;
        }
        act!(shop, reconditioning::finish_operation, finished(&tag, token)).unwrap();
        done.push((tag, at));
    }
}
