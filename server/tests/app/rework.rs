//! What a reader with fresh eyes found in the queue: sizes that a place may not have, sheets that
//! send a grinder to the wrong size, and what is counted that should not be.

use crate::shop::{
    HOUR, Shop, act, assess, feature, forbidden, item, length, look, read, record, used,
};
use crate::support::{TestDb, on_both};
use prost::Message;
use tenths_domain::item::{FeatureKind, ItemKind, Limits, Tolerance};
use tenths_domain::policy::{FeatureUse, Noted, Policy};
use tenths_domain::route::{Machine, OperationKind};
use tenths_domain::state::{JobOutcome, LocationKind, Method, RejectReason};
use tenths_domain::units::Unit;
use tenths_server::app::error::Error;
use tenths_server::app::judging::{AssessPiece, Manner};
use tenths_server::app::planning::{ListYields, PlanDay, list_yields, release_plan};
use tenths_server::app::policies::{SetPolicy, set_policy};
use tenths_server::app::reconditioning::{
    self, ClaimJob, CreateSendOut, EnqueueJob, FinishJob, FinishedJob, OnClaim, RejectOperation,
};
use tenths_server::app::{catalogue, judging, measuring, stock};
use tenths_server::policy_document;

on_both!(
    what_its_mate_does_not_adjust_to_keeps_its_size,
    no_more_comes_off_than_the_policy_allows,
    rework_starts_from_the_size_just_measured,
    what_lacks_a_reading_does_not_end,
    rework_is_not_the_first_time,
    a_due_date_goes_ahead_of_a_plan_that_does_not_know_it,
    a_station_that_was_not_read_is_no_reference,
    a_piece_at_a_vendor_is_not_measured,
    a_straightened_shaft_is_measured_between_centres,
    what_was_rejected_for_a_crack_is_no_stock,
    a_claim_is_not_ended_by_another_person,
);

fn order(piece: &str, feature: &str, method: Method, target: &str) -> EnqueueJob {
    let (lower, upper) = target.split_once("..").expect("two sizes");
    let unit = if upper.ends_with("mm") { Unit::Millimetre } else { Unit::Inch };
    let size = |text: &str| length(text.trim_end_matches("mm"), unit);
    EnqueueJob {
        piece_tag: piece.to_owned(),
        feature: feature.to_owned(),
        method,
        target: Some(Limits { lower: size(lower), upper: size(upper) }),
        target_unit: unit,
        reason: "worn".to_owned(),
        due_at: None,
        location_code: None,
        at_vendor: false,
        rebuild_tag: None,
    }
}

/// Queues, claims and finishes in one.
async fn worked(shop: &Shop, order: EnqueueJob, line: &str) -> Result<FinishedJob, Error> {
    let feature = order.feature.clone();
    let (job, _) = act!(shop, reconditioning::enqueue_job, order)?;
    finished(shop, &job.job.tag, &feature, line).await
}

async fn finished(shop: &Shop, tag: &str, feature: &str, line: &str) -> Result<FinishedJob, Error> {
    let next = ClaimJob { tag: Some(tag.to_owned()), machine: None, lease: HOUR };
    let (_, fencing_token) = act!(shop, reconditioning::claim_job, next)?;
    let finish = FinishJob {
        claim: OnClaim { tag: tag.to_owned(), fencing_token },
        readings: read(feature, "M-07", line),
        override_reason: String::new(),
        location_code: None,
        run_out_tir: None,
    };
    act!(shop, reconditioning::finish_job, finish)
}

fn invalid<T: std::fmt::Debug>(done: Result<T, Error>, field: &str, words: &str) {
    match done {
        Err(Error::Invalid(found)) => {
            assert_eq!(found[0].field, field);
            assert!(found[0].problem.contains(words), "{words:?} is not in {found:?}");
        }
        other => panic!("{field}: {other:?}"),
    }
}

/// Method: every way to call the work, on each place that has a size of its own for good: outside its
/// limits it is refused, within them it is work like any other.
async fn what_its_mate_does_not_adjust_to_keeps_its_size(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let class = |kind, name: &str, nominal: &str, class: &str| {
        let mut place = feature(name, kind, nominal, Unit::Millimetre);
        place.feature.tolerance = Tolerance::Class(class.parse().unwrap());
        place
    };
    let extension = class(FeatureKind::ShaftExtension, "ext", "28", "j6");
    let housing = class(FeatureKind::HousingBore, "bore", "52", "H6");
    let bare = feature("bare", FeatureKind::HousingBore, "40", Unit::Millimetre);
    let both = item("DR-1", ItemKind::Other, vec![extension, housing, bare]);
    act!(shop, catalogue::create_item, both).unwrap();
    act!(shop, stock::create_piece, used("D-1", "DR-1")).unwrap();
    for (piece, place, methods, outside) in [
        ("P-1", "seat", &[Method::Polish, Method::BuildUp, Method::Sleeve][..], "29.950..29.960mm"),
        ("D-1", "ext", &[Method::Regrind, Method::Polish, Method::BuildUp], "27.500..27.510mm"),
        ("D-1", "bore", &[Method::Hone, Method::Sleeve], "52.150..52.169mm"),
        ("D-1", "bare", &[Method::Hone], "40.100..40.120mm"),
    ] {
        for method in methods {
            let refused =
                act!(shop, reconditioning::enqueue_job, order(piece, place, *method, outside));
            invalid(refused, "target_lower", "is never finished to another size than its own");
        }
    }
    let within = order("P-1", "seat", Method::BuildUp, "30.002..30.011mm");
    act!(shop, reconditioning::enqueue_job, within).unwrap();
    shop.close().await;
}

/// Method: a policy of 0.010 in and sizes about it; the same size by mistake in the other unit.
async fn no_more_comes_off_than_the_policy_allows(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let mut policy = Policy::common_practice();
    let plain = policy.features.iter_mut().find(|one| one.feature == FeatureUse::PlainJournal);
    plain.unwrap().stock_removal_max = Some(Noted::new(length("0.010", Unit::Inch), "the shop"));
    let document = policy_document::document(&policy).encode_to_vec();
    act!(shop, set_policy, SetPolicy { etag: 0, document, note: "case".to_owned() }).unwrap();
    shop.measure_well("P-1").await;
    let regrind = |target| order("P-1", "journal", Method::Regrind, target);
    let too_deep = act!(shop, reconditioning::enqueue_job, regrind("0.9279..0.9285"));
    forbidden(too_deep, "STOCK_REMOVAL", &["would lose 0.0101 in", "the policy allows 0.0100 in"]);
    let slip = order("P-1", "journal", Method::BuildUp, "9.3790..9.3800");
    let slip = act!(shop, reconditioning::enqueue_job, slip);
    invalid(
        slip,
        "target_lower",
        "9.3790 in is more than a tenth away from the size of journal, 0.9380 in",
    );
    let (_, cautions) = act!(shop, reconditioning::enqueue_job, regrind("0.9350..0.9360")).unwrap();
    let lean = "the smallest reading leaves 0.0014 in on diameter to clean up with";
    assert!(cautions.iter().any(|one| one.starts_with(lean)), "{cautions:?}");
    shop.close().await;
}

/// Goal: the sheet of the rework never sends a grinder below the size. Method: ground 0.0010 in short,
/// the rest is what comes off; ground too far, the note says what is left.
async fn rework_starts_from_the_size_just_measured(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    for piece in ["P-1", "P-2"] {
        shop.measure_well(piece).await;
    }
    let regrind = |piece| order(piece, "journal", Method::Regrind, "0.9270..0.9280");
    let done = worked(&shop, regrind("P-1"), "A0 0.9290 A90 0.9289").await.unwrap();
    assert_eq!(done.job.job.outcome, Some(JobOutcome::Rework));
    let rework = done.rework.unwrap();
    let grind = &rework.operations[0];
    assert_eq!(grind.from, Some(length("0.9290", Unit::Inch)));
    let change = grind.change.unwrap();
    let amounts = [change.per_side, change.on_diameter];
    assert_eq!(amounts, ["0.0010", "0.0020"].map(|text| length(text, Unit::Inch)));
    assert_eq!(
        grind.text,
        "again: finish grind from 0.9290 in to 0.9270 in to 0.9280 in, at most 0.0010 in per side = \
         0.0020 in on diameter"
    );
    let done = worked(&shop, regrind("P-2"), "A0 0.9265 A90 0.9266").await.unwrap();
    assert_eq!(done.job.job.outcome, Some(JobOutcome::ForDecision));
    let left = "what is left for journal: ";
    assert!(done.notes.iter().any(|note| note.starts_with(left)), "{:?}", done.notes);
    shop.close().await;
}

/// Method: a journal with a limit of out-of-round is finished on one direction: the job goes on and
/// nothing was recorded; with the other direction it ends.
async fn what_lacks_a_reading_does_not_end(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let mut journal = feature("journal", FeatureKind::Journal, "0.938", Unit::Inch);
    journal.feature.out_of_round_limit = Some(length("0.001", Unit::Inch));
    let shaft = item("SH-OR", ItemKind::Shaft, vec![journal]);
    act!(shop, catalogue::create_item, shaft).unwrap();
    act!(shop, stock::create_piece, used("P-9", "SH-OR")).unwrap();
    let order = order("P-9", "journal", Method::Regrind, "0.9270..0.9280");
    let (job, _) = act!(shop, reconditioning::enqueue_job, order).unwrap();
    let short = finished(&shop, &job.job.tag, "journal", "A0 0.9275 A0 0.9276").await;
    invalid(short, "readings", "out-of-round: read a station in two orientations");
    let page = tenths_storage::Page { after: 0, limit: 10 };
    let named =
        measuring::ReadingsNamed { piece_tag: Some("P-9".to_owned()), ..Default::default() };
    assert!(look!(shop, measuring::list_readings, page, named).unwrap().is_empty());
    shop.pass(2 * HOUR);
    let done = finished(&shop, &job.job.tag, "journal", "A0 0.9275 A90 0.9276").await.unwrap();
    assert_eq!(done.job.job.outcome, Some(JobOutcome::ToStock));
    shop.close().await;
}

/// Method: short at first, good after the rework: one failure and no success the first time.
async fn rework_is_not_the_first_time(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    shop.measure_well("P-1").await;
    let regrind = order("P-1", "journal", Method::Regrind, "0.9270..0.9280");
    let done = worked(&shop, regrind, "A0 0.9290 A90 0.9289").await.unwrap();
    let tag = done.rework.unwrap().job.tag;
    let done = finished(&shop, &tag, "journal", "A0 0.9275 A90 0.9276").await.unwrap();
    assert_eq!(done.job.job.outcome, Some(JobOutcome::ToStock));
    let every = ListYields { operation: None, vendor: None };
    let yields = shop.look(move |view| Box::pin(async move { list_yields(view, &every).await }));
    let yields = yields.await.unwrap().yields;
    let [grinding] = yields.as_slice() else { panic!("{yields:?}") };
    let counted = &grinding.counted;
    assert_eq!((counted.kind, counted.passed, counted.failed), (OperationKind::FinishGrind, 0, 1));
    shop.close().await;
}

/// Method: two jobs without a due date are in a released plan; one that is due in an hour comes after
/// it, and is the next all the same, once: rejected, the plan goes on.
async fn a_due_date_goes_ahead_of_a_plan_that_does_not_know_it(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    for piece in ["P-1", "P-2", "P-3"] {
        shop.measure_well(piece).await;
    }
    let queue = |piece, due_at| EnqueueJob {
        due_at,
        ..order(piece, "journal", Method::Regrind, "0.9270..0.9280")
    };
    let mut tags = Vec::new();
    for piece in ["P-1", "P-2"] {
        let (job, _) = act!(shop, reconditioning::enqueue_job, queue(piece, None)).unwrap();
        tags.push(job.job.tag);
    }
    let grinder = Machine::CylindricalGrinder;
    let day = PlanDay { machine: grinder, day_minutes: 480, assumed_minutes: Some(90) };
    act!(shop, release_plan, day.clone()).unwrap();
    let due_at = Some(crate::shop::START + HOUR);
    let (urgent, _) = act!(shop, reconditioning::enqueue_job, queue("P-3", due_at)).unwrap();
    shop.pass(HOUR);
    let next = || ClaimJob { tag: None, machine: Some(grinder), lease: HOUR };
    let (job, fencing_token) = act!(shop, reconditioning::claim_job, next()).unwrap();
    assert_eq!(job.job.tag, urgent.job.tag);
    let claim = OnClaim { tag: job.job.tag, fencing_token };
    act!(shop, reconditioning::release_claim, claim).unwrap();
    // Its place in a plan is told with a word that it will be late.
    let plan = act!(shop, release_plan, day).unwrap();
    assert_eq!(plan.lines[0].job.job.tag, urgent.job.tag);
    let late =
        format!("late by this plan, what is left to do after it counted: {}", urgent.job.tag);
    assert!(plan.assumptions.contains(&late), "{:?}", plan.assumptions);
    let (job, fencing_token) = act!(shop, reconditioning::claim_job, next()).unwrap();
    let claim = OnClaim { tag: job.job.tag, fencing_token };
    let (reason, note) = (RejectReason::Handling, String::new());
    act!(shop, reconditioning::reject_operation, RejectOperation { claim, reason, note }).unwrap();
    let (job, _) = act!(shop, reconditioning::claim_job, next()).unwrap();
    assert_eq!(job.job.tag, tags[0]);
    shop.close().await;
}

async fn a_station_that_was_not_read_is_no_reference(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    shop.measure_well("P-1").await;
    let by = |station: &str| AssessPiece {
        manner: Manner { reference_station: Some(station.to_owned()), ..Manner::default() },
        ..assess("P-1")
    };
    let mistyped = act!(shop, judging::assess_piece, by("Z"));
    invalid(mistyped, "reference_station", "nothing was read at station Z; read are A, B, REF");
    act!(shop, judging::assess_piece, by("ref")).unwrap();
    shop.close().await;
}

async fn a_piece_at_a_vendor_is_not_measured(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let (code, kind) = ("PLATER".to_owned(), LocationKind::Vendor);
    let plater = stock::CreateLocation { code, kind, description: String::new() };
    act!(shop, stock::create_location, plater).unwrap();
    let at_vendor = true;
    let seat = order("P-1", "seat", Method::BuildUp, "30.002..30.011mm");
    let (job, _) =
        act!(shop, reconditioning::enqueue_job, EnqueueJob { at_vendor, ..seat }).unwrap();
    assert_eq!(job.operations[0].kind, OperationKind::BuildUp);
    let send = CreateSendOut {
        location_code: "PLATER".to_owned(),
        order_number: String::new(),
        due_back_at: None,
        note: String::new(),
        job_tags: vec![job.job.tag.clone()],
    };
    let past = CreateSendOut { due_back_at: Some(crate::shop::START - 48 * HOUR), ..send.clone() };
    let refused = act!(shop, reconditioning::create_send_out, past);
    invalid(refused, "due_back_time", "it is 2 days past; allowed: from yesterday on");
    act!(shop, reconditioning::create_send_out, send).unwrap();
    let by_phone = record("P-1", read("seat", "M-07", "A0 30.006mm"));
    let refused = act!(shop, measuring::record_readings, by_phone);
    forbidden(refused, "AWAY", &["P-1 is away in job J-1"]);
    let next = ClaimJob { tag: Some(job.job.tag), machine: None, lease: HOUR };
    forbidden(act!(shop, reconditioning::claim_job, next), "AWAY", &["take it back first"]);
    shop.close().await;
}

/// Goal: straightening changes no size, so it is not judged by the limits of a size that is ground.
/// Method: a journal worn past its limits of size and within its wear limit, bent: without a run-out
/// the job goes on, bent still it is no stock and is not accepted either, straight it is.
async fn a_straightened_shaft_is_measured_between_centres(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let mut journal = feature("journal", FeatureKind::Journal, "0.750", Unit::Inch);
    let [lower, upper] = ["0.7490", "0.7502"].map(|text| length(text, Unit::Inch));
    journal.feature.tolerance = Tolerance::Explicit(Limits { lower, upper });
    journal.feature.wear_limit = Some(length("0.002", Unit::Inch));
    act!(shop, catalogue::create_item, item("SH-75", ItemKind::Shaft, vec![journal])).unwrap();
    act!(shop, stock::create_piece, used("P-9", "SH-75")).unwrap();
    let line = "A0 0.7482 A90 0.7482 B0 0.7482";
    let readings = record("P-9", read("journal", "M-07", line));
    act!(shop, measuring::record_readings, readings).unwrap();
    act!(shop, judging::assess_piece, assess("P-9")).unwrap();
    let straighten = || EnqueueJob {
        target: None,
        ..order("P-9", "journal", Method::Straighten, "0.7490..0.7502")
    };
    let finish = |tag: &str, fencing_token, run_out: Option<&str>| FinishJob {
        claim: OnClaim { tag: tag.to_owned(), fencing_token },
        readings: read("journal", "M-07", line),
        override_reason: String::new(),
        location_code: None,
        run_out_tir: run_out.map(|text| length(text, Unit::Inch)),
    };
    for (run_out, outcome) in [("0.0080", JobOutcome::ForDecision), ("0.0020", JobOutcome::ToStock)]
    {
        let (job, _) = act!(shop, reconditioning::enqueue_job, straighten()).unwrap();
        let tag = job.job.tag;
        let next = ClaimJob { tag: Some(tag.clone()), machine: None, lease: HOUR };
        let (_, token) = act!(shop, reconditioning::claim_job, next).unwrap();
        let missing = act!(shop, reconditioning::finish_job, finish(&tag, token, None));
        invalid(missing, "run_out", "was straightened: measure the run-out between centres");
        let finish = finish(&tag, token, Some(run_out));
        let done = act!(shop, reconditioning::finish_job, finish).unwrap();
        assert_eq!(done.job.job.outcome, Some(outcome), "{:?}", done.notes);
        assert_eq!(done.job.operations[0].note, format!("run-out {run_out} in"));
        if outcome == JobOutcome::ForDecision {
            assert!(done.notes[0].contains("bent still"), "{:?}", done.notes);
            let accepted = act!(shop, stock::accept_piece, crate::shop::accept("P-9", ""));
            forbidden(accepted, "NOT_FOR_REUSE", &["was rejected at straighten: run out"]);
        }
        shop.assert_sound().await;
    }
    let (_, size) = &look!(shop, stock::get_piece, "P-9").unwrap().sizes[0];
    assert_eq!(size.round, 0, "no size was changed");
    shop.close().await;
}

/// Method: a shaft with good sizes is rejected for a crack: neither accepted nor decided for reuse
/// until a person says why.
async fn what_was_rejected_for_a_crack_is_no_stock(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    shop.measure_well("P-1").await;
    let polish =
        EnqueueJob { target: None, ..order("P-1", "journal", Method::Polish, "0.9270..0.9280") };
    let (job, _) = act!(shop, reconditioning::enqueue_job, polish).unwrap();
    let next = ClaimJob { tag: Some(job.job.tag.clone()), machine: None, lease: HOUR };
    let (_, fencing_token) = act!(shop, reconditioning::claim_job, next).unwrap();
    let claim = OnClaim { tag: job.job.tag, fencing_token };
    let (reason, note) = (RejectReason::Crack, String::new());
    shop.pass(HOUR / 2);
    act!(shop, reconditioning::reject_operation, RejectOperation { claim, reason, note }).unwrap();
    // Other work that goes well does not mend it.
    let regrind = order("P-1", "journal", Method::Regrind, "0.9270..0.9280");
    let done = worked(&shop, regrind, "A0 0.9275 A90 0.9276").await.unwrap();
    assert_eq!(done.job.job.outcome, Some(JobOutcome::ForDecision));
    assert!(done.notes[0].contains("J-1 was rejected at polish: crack"), "{:?}", done.notes);
    let accepted = act!(shop, stock::accept_piece, crate::shop::accept("P-1", ""));
    forbidden(accepted, "NOT_FOR_REUSE", &["J-1 was rejected at polish: crack"]);
    let sure = crate::shop::accept("P-1", "tested again by a qualified person: no crack");
    shop.pass(HOUR / 2);
    act!(shop, stock::accept_piece, sure).unwrap();
    let again = order("P-1", "journal", Method::Regrind, "0.9260..0.9270");
    let done = worked(&shop, again, "A0 0.9265 A90 0.9266").await.unwrap();
    assert_eq!(done.job.job.outcome, Some(JobOutcome::ToStock), "{:?}", done.notes);
    shop.close().await;
}

/// Method: tokens are small numbers, so a slip in the number of the job hits another's claim.
async fn a_claim_is_not_ended_by_another_person(db: TestDb) {
    let shop = Shop::stocked(&db).await;
    let polish =
        EnqueueJob { target: None, ..order("P-1", "journal", Method::Polish, "0.9270..0.9280") };
    let (job, _) = act!(shop, reconditioning::enqueue_job, polish).unwrap();
    let next = ClaimJob { tag: Some(job.job.tag.clone()), machine: None, lease: HOUR };
    let (_, fencing_token) = act!(shop, reconditioning::claim_job, next).unwrap();
    let on = OnClaim { tag: job.job.tag, fencing_token };
    let bob = shop.as_person("Bob");
    let slip = act!(bob, reconditioning::start_operation, on.clone());
    forbidden(slip, "CLAIMED", &["who takes it over claims it"]);
    act!(shop, reconditioning::start_operation, on).unwrap();
    shop.close().await;
}
