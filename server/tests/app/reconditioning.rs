//! The reconditioning queue: claims under a lease, and how a job ends.

use crate::shop::{HOUR, Shop, act, forbidden, length, look, read, used};
use crate::support::{TestDb, on_both};
use std::collections::BTreeSet;
use tenths_domain::item::Limits;
use tenths_domain::state::{JobOutcome, JobState, Method, PieceCondition, PieceState, ScrapReason};
use tenths_domain::units::Unit;
use tenths_server::app::error::Error;
use tenths_server::app::measuring::NewReadings;
use tenths_server::app::reconditioning::{
    self, ClaimJob, EnqueueJob, FinishJob, OnClaim, RenewClaim, ScrapJob,
};
use tenths_server::app::stock;
use tenths_storage::Page;

on_both!(
    a_claim_is_one_workers_until_its_lease_ends,
    a_late_workers_token_is_refused,
    finished_work_goes_to_stock_rework_or_decision,
    a_job_ends_by_scrapping_its_piece,
    the_trades_rules_for_work_hold,
    sixteen_workers_claim_different_jobs,
);

fn queue(piece: &str, method: Method, target: Option<(&str, &str)>) -> EnqueueJob {
    let inch = |text: &str| length(text, Unit::Inch);
    EnqueueJob {
        piece_tag: piece.to_owned(),
        feature: "journal".to_owned(),
        method,
        target: target.map(|(lower, upper)| Limits { lower: inch(lower), upper: inch(upper) }),
        target_unit: Unit::Inch,
        reason: "worn".to_owned(),
        due_at: None,
        location_code: None,
        at_vendor: false,
        rebuild_tag: None,
    }
}

fn claim(tag: &str) -> ClaimJob {
    ClaimJob { tag: Some(tag.to_owned()), machine: None, lease: HOUR }
}

fn on(tag: &str, fencing_token: i64) -> OnClaim {
    OnClaim { tag: tag.to_owned(), fencing_token }
}

fn finish(claim: OnClaim, readings: NewReadings) -> FinishJob {
    FinishJob {
        claim,
        readings,
        override_reason: String::new(),
        location_code: None,
        run_out_tir: None,
    }
}

async fn queued(shop: &Shop, piece: &str, method: Method, target: Option<(&str, &str)>) -> String {
    let (job, cautions) =
        act!(shop, reconditioning::enqueue_job, queue(piece, method, target)).unwrap();
    assert!(!cautions.is_empty());
    job.job.tag
}

/// Method: claim, let a second worker try by name and by "next", renew, let the lease run to its
/// end, and let the second worker have it with a higher token.
async fn a_claim_is_one_workers_until_its_lease_ends(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let tag = queued(&shop, "P-1", Method::Polish, None).await;
    let (ilse, tomas) = (shop.as_person("Ilse"), shop.as_person("Tomas"));
    let (job, token) = act!(ilse, reconditioning::claim_job, claim(&tag)).unwrap();
    assert_eq!((job.job.worker.as_str(), token), ("Ilse", 1));
    let words = ["claimed by Ilse until 2026-09-21 15:13 UTC"];
    forbidden(act!(tomas, reconditioning::claim_job, claim(&tag)), "CLAIMED", &words);
    let next = ClaimJob { tag: None, machine: None, lease: HOUR };
    forbidden(act!(tomas, reconditioning::claim_job, next.clone()), "NOTHING_WAITS", &[]);
    shop.pass(HOUR / 2);
    let renew = RenewClaim { claim: on(&tag, 1), lease: HOUR };
    act!(ilse, reconditioning::renew_claim, renew).unwrap();
    shop.pass(HOUR - 1);
    forbidden(act!(tomas, reconditioning::claim_job, claim(&tag)), "CLAIMED", &["15:43"]);
    shop.pass(1);
    let page = Page { after: 0, limit: 10 };
    let waiting =
        look!(shop, reconditioning::list_jobs, page, Some(JobState::Queued), None).unwrap();
    assert_eq!(waiting.len(), 1, "a lease that ended is a job that waits");
    let (job, token) = act!(tomas, reconditioning::claim_job, next).unwrap();
    assert_eq!((job.job.worker.as_str(), token, job.job.attempt), ("Tomas", 2, 2));
    let released = act!(tomas, reconditioning::release_claim, on(&tag, 2)).unwrap();
    assert_eq!((released.job.state, released.job.worker.as_str()), (JobState::Queued, ""));
    let (_, token) = act!(ilse, reconditioning::claim_job, claim(&tag)).unwrap();
    assert_eq!(token, 3, "a token is never given twice");
    shop.close().await;
}

/// Goal: who comes back after the lease ended changes nothing. Method: one worker's lease ends,
/// another claims; the first tries every act with the old token, before and after that claim.
async fn a_late_workers_token_is_refused(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let tag = queued(&shop, "P-1", Method::Polish, None).await;
    let (late, other) = (shop.as_person("Ilse"), shop.as_person("Tomas"));
    act!(late, reconditioning::claim_job, claim(&tag)).unwrap();
    shop.pass(HOUR);
    for claimed_again in [false, true] {
        if claimed_again {
            act!(other, reconditioning::claim_job, claim(&tag)).unwrap();
        }
        let words = ["token 1 is not the live claim of job J-1"];
        let renew = RenewClaim { claim: on(&tag, 1), lease: HOUR };
        forbidden(act!(late, reconditioning::renew_claim, renew), "STALE_CLAIM", &words);
        forbidden(act!(late, reconditioning::release_claim, on(&tag, 1)), "STALE_CLAIM", &words);
        let done = finish(on(&tag, 1), read("journal", "M-07", "A0 0.9378"));
        forbidden(act!(late, reconditioning::finish_job, done), "STALE_CLAIM", &words);
        let scrap = ScrapJob { claim: on(&tag, 1), reason: ScrapReason::Bent, note: String::new() };
        forbidden(act!(late, reconditioning::scrap_job, scrap), "STALE_CLAIM", &words);
    }
    let job = look!(shop, reconditioning::get_job, "J-1").unwrap().job;
    assert_eq!((job.worker.as_str(), job.state), ("Tomas", JobState::Claimed));
    let piece = look!(shop, stock::get_piece, "P-1").unwrap();
    assert_eq!(piece.piece.state, PieceState::Reconditioning);
    assert!(piece.sizes.iter().all(|(_, size)| size.reading_count == 0));
    shop.close().await;
}

/// Goal: the re-measurement decides. Method: three shafts whose other places are measured well are
/// reground; one reads within the target, one beyond it, one within it while its seat is not
/// measured.
async fn finished_work_goes_to_stock_rework_or_decision(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    for tag in ["P-1", "P-2"] {
        shop.measure_well(tag).await;
    }
    let target = Some(("0.9270", "0.9275"));
    for (piece, line, outcome, state) in [
        ("P-1", "A0 0.9272 A90 0.9273 B0 0.9273", JobOutcome::ToStock, PieceState::InStock),
        ("P-2", "A0 0.9272 A90 0.9273 B0 0.9279", JobOutcome::Rework, PieceState::Reconditioning),
        ("P-3", "A0 0.9272 A90 0.9273 B0 0.9273", JobOutcome::ForDecision, PieceState::Inspection),
    ] {
        let tag = queued(&shop, piece, Method::Regrind, target).await;
        let (_, token) = act!(shop, reconditioning::claim_job, claim(&tag)).unwrap();
        let order = finish(on(&tag, token), read("journal", "M-07", line));
        let done = act!(shop, reconditioning::finish_job, order.clone()).unwrap();
        assert_eq!(
            done.job.job.outcome,
            Some(outcome),
            "{piece}: {:?}",
            done.assessment.assessment.record.reasons
        );
        let found = look!(shop, stock::get_piece, piece).unwrap();
        // Only a piece that came out good is a reconditioned one.
        let condition = match outcome {
            JobOutcome::ToStock => PieceCondition::Reconditioned,
            _ => PieceCondition::Used,
        };
        assert_eq!((found.piece.state, found.piece.condition), (state, condition));
        let (_, size) = &found.sizes[0];
        assert_eq!((size.round, size.reading_count), (1, 3));
        assert_eq!(size.target.map(|limits| limits.upper), Some(length("0.9275", Unit::Inch)));
        assert_eq!(done.rework.is_some(), outcome == JobOutcome::Rework);
        if let Some(rework) = done.rework {
            assert_eq!(
                (rework.rework_of.as_str(), rework.job.state),
                (tag.as_str(), JobState::Queued)
            );
            assert!(rework.job.reason.contains("rework of"), "{}", rework.job.reason);
        }
        forbidden(act!(shop, reconditioning::finish_job, order), "JOB_ENDED", &[outcome.as_str()]);
        shop.assert_sound().await;
    }
    shop.close().await;
}

/// Method: scrap through the job with a reason code; piece, job and ledger agree, and the piece is
/// neither queued nor scrapped again.
async fn a_job_ends_by_scrapping_its_piece(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let tag = queued(&shop, "P-1", Method::Polish, None).await;
    let by_hand = stock::ScrapPiece {
        tag: "P-1".to_owned(),
        etag: None,
        reason: ScrapReason::Crack,
        note: String::new(),
    };
    forbidden(act!(shop, stock::scrap_piece, by_hand.clone()), "OPEN_JOB", &["J-1"]);
    let (_, token) = act!(shop, reconditioning::claim_job, claim(&tag)).unwrap();
    let scrap = ScrapJob {
        claim: on(&tag, token),
        reason: ScrapReason::WillNotCleanUp,
        note: "a deep score".to_owned(),
    };
    let job = act!(shop, reconditioning::scrap_job, scrap).unwrap().job;
    assert_eq!(job.outcome, Some(JobOutcome::Scrapped));
    assert_eq!(job.scrap_reason, Some(ScrapReason::WillNotCleanUp));
    let piece = look!(shop, stock::get_piece, "P-1").unwrap();
    assert_eq!((piece.piece.state, piece.location_code.as_str()), (PieceState::Scrapped, ""));
    let page = Page { after: 0, limit: 100 };
    let rows = look!(shop, stock::list_ledger, page, Some("P-1".to_owned()), None).unwrap();
    let last = &rows.last().unwrap().entry.entry;
    assert_eq!((last.quantity_delta, last.note.as_str()), (-1, "will_not_clean_up a deep score"));
    forbidden(act!(shop, stock::scrap_piece, by_hand), "PIECE_STATE", &["P-1 is scrapped"]);
    let again = act!(shop, reconditioning::enqueue_job, queue("P-1", Method::Polish, None));
    forbidden(again, "PIECE_STATE", &["P-1 is scrapped"]);
    shop.close().await;
}

/// Method: the orders that the trade does not allow, each refused and with nothing queued: a regrind
/// of a rolling seat, without a size, a hone on a shaft, a size that does not clean up, one past the
/// limit, and a second job.
async fn the_trades_rules_for_work_hold(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    shop.measure_well("P-1").await;
    let seat = EnqueueJob {
        feature: "seat".to_owned(),
        ..queue("P-1", Method::Regrind, Some(("0.9270", "0.9275")))
    };
    for (order, words) in [
        (seat, "a rolling-bearing seat is never ground undersize"),
        (queue("P-1", Method::Regrind, None), "a regrind needs a finished size"),
        (queue("P-1", Method::Hone, None), "only a bore is honed"),
    ] {
        match act!(shop, reconditioning::enqueue_job, order) {
            Err(Error::Invalid(found)) => {
                assert_eq!(found[0].field, "method");
                assert!(found[0].problem.contains(words), "{found:?}");
            }
            other => panic!("{words}: {other:?}"),
        }
    }
    for (target, kind) in [
        (("0.9370", "0.9375"), "WILL_NOT_CLEAN_UP"),
        (("0.9190", "0.9195"), "PAST_RECONDITION_LIMIT"),
    ] {
        let order = queue("P-1", Method::Regrind, Some(target));
        forbidden(act!(shop, reconditioning::enqueue_job, order), kind, &["P-1 journal"]);
    }
    let piece = look!(shop, stock::get_piece, "P-1").unwrap().piece;
    assert_eq!(piece.state, PieceState::InStock);
    queued(&shop, "P-1", Method::Regrind, Some(("0.9270", "0.9275"))).await;
    let second = act!(shop, reconditioning::enqueue_job, queue("P-1", Method::Polish, None));
    forbidden(second, "OPEN_JOB", &["P-1 is in job J-1"]);
    shop.close().await;
}

/// Goal: nobody works on another's job, and nobody goes home while work waits. Method: sixteen
/// workers ask for the next of eight jobs at the same moment; eight get one each, all different,
/// the others hear that nothing waits.
async fn sixteen_workers_claim_different_jobs(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    for number in 0..8 {
        let tag = format!("P-5{number}");
        act!(shop, stock::create_piece, used(&tag, "SH-30")).unwrap();
        queued(&shop, &tag, Method::Polish, None).await;
    }
    let tasks: Vec<_> = (0..16)
        .map(|_| {
            let shop = shop.clone();
            let next = ClaimJob { tag: None, machine: None, lease: HOUR };
            tokio::spawn(async move { act!(shop, reconditioning::claim_job, next) })
        })
        .collect();
    let mut claimed = BTreeSet::new();
    for task in tasks {
        match task.await.unwrap() {
            Ok((job, token)) => {
                assert_eq!(token, 1, "{}", job.job.tag);
                assert!(claimed.insert(job.job.tag.clone()), "{} was given twice", job.job.tag);
            }
            refused => forbidden(refused, "NOTHING_WAITS", &[]),
        }
    }
    assert_eq!(claimed.len(), 8, "{claimed:?}");
    shop.close().await;
}
