//! Goal: the whole job of the shop works through the real server, on both databases.
//! Method: the moves of a working week over gRPC, each answer looked at; then `tenthsd verify`.

use tenths_proto::v1::*;
use tenths_tests::{
    Bench, Clients, DatabaseKind, Expected, Shop, bearings_for_seat, days, disc_shaft_item, done,
    from_now, hold_lot, hold_piece, mm, nm, on_both_databases, readings_in_inches, refused,
    request_id,
};
use tonic::Code;

on_both_databases!(
    a_core_becomes_a_rebuild,
    a_worn_journal_is_told_from_an_accepted_one,
    a_bearing_finds_its_shaft,
    a_hold_that_runs_out_frees_its_piece,
    a_gauge_found_wrong_is_traced_to_its_verdicts,
);

async fn a_core_becomes_a_rebuild(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    tear_down(&bench, "C-101", "P-104").await;
    measure_a_good_shaft(&bench, "P-104").await;
    tear_down(&bench, "C-102", "P-105").await;
    recondition_a_worn_shaft(&bench, "P-105").await;
    find_the_bearing(&bench, "P-104").await;
    hold_and_consume_a_kit(&bench).await;
    ledger_adds_up(&bench).await;
    shop.verify();
}

/// A core of one shaft comes in, is torn down once, and leaves the yard.
async fn tear_down(bench: &Bench, core_tag: &str, piece_tag: &str) {
    let core = bench.core(core_tag).await;
    assert_eq!((core.state(), core.location_code.as_str()), (CoreState::Received, "YARD"));
    let request = TearDownCoreRequest {
        request_id: request_id(),
        person: "iven".to_owned(),
        etag: core.etag,
        tag: core_tag.to_owned(),
        pieces: vec![TeardownPiece {
            tag: piece_tag.to_owned(),
            item_code: "SH-25".to_owned(),
            location_code: "BENCH".to_owned(),
            built_up: BuiltUp::No.into(),
            ..TeardownPiece::default()
        }],
    };
    let mut receiving = bench.clients().receiving();
    let answer = done("tear_down_core", receiving.tear_down_core(request.clone()).await);
    let core = answer.core.expect("the core as stored");
    assert_eq!(core.state(), CoreState::TornDown);
    assert_eq!(
        (core.location_code.as_str(), core.piece_tags.as_slice()),
        ("", &[piece_tag.into()][..])
    );
    assert_eq!(
        (answer.pieces[0].core_tag.as_str(), answer.pieces[0].state()),
        (core_tag, PieceState::Inspection)
    );

    let again = TearDownCoreRequest { request_id: request_id(), etag: core.etag, ..request };
    refused("a second teardown", Code::FailedPrecondition, receiving.tear_down_core(again).await);
}

async fn measure_a_good_shaft(bench: &Bench, tag: &str) {
    let line = "A0 0.9845 A90 0.9845 B0 0.9844 B90 0.9845";
    let readings = bench.read(tag, readings_in_inches("seat-a", "M-07", line)).await;
    let nanometres: Vec<i64> = readings.iter().map(|reading| nm(&reading.value)).collect();
    assert_eq!(nanometres, [25_006_300, 25_006_300, 25_003_760, 25_006_300]);
    assert_eq!((readings[2].station.as_str(), readings[2].orientation_deg), ("B", 0));

    let assessed = bench.assess(tag).await;
    let seat = &assessed.assessments[0];
    assert_eq!((nm(&seat.min), nm(&seat.max)), (25_003_760, 25_006_300));
    assert_eq!((nm(&seat.out_of_round), nm(&seat.taper)), (2_540, 2_540));
    assert_eq!(assessed.disposition(), Disposition::Reuse, "{:?}", seat.reasons);

    let piece = bench.accept(tag).await;
    assert_eq!((piece.state(), piece.location_code.as_str()), (PieceState::InStock, "A-1"));
}

/// A seat worn 0.001 in is queued, claimed under a lease, built up, and measured back into stock.
async fn recondition_a_worn_shaft(bench: &Bench, tag: &str) {
    let line = "A0 0.9834 A90 0.9834 B0 0.9835 B90 0.9834";
    bench.read(tag, readings_in_inches("seat-a", "M-07", line)).await;
    let assessed = bench.assess(tag).await;
    assert_eq!(assessed.disposition(), Disposition::Recondition, "{:?}", assessed.assessments);

    let accept = AcceptPieceRequest {
        request_id: request_id(),
        person: "iven".to_owned(),
        tag: tag.to_owned(),
        ..AcceptPieceRequest::default()
    };
    let mut stock = bench.clients().stock();
    refused("a worn seat into stock", Code::FailedPrecondition, stock.accept_piece(accept).await);

    let job = enqueue(bench.clients(), tag).await;
    let mut queue = bench.clients().reconditioning();
    let claim = ClaimJobRequest {
        request_id: request_id(),
        person: "oto".to_owned(),
        ..ClaimJobRequest::default()
    };
    let claimed = done("claim_job", queue.claim_job(claim.clone()).await);
    assert_eq!(claimed.job.as_ref().map(|job| job.tag.as_str()), Some(job.as_str()));
    let late = ClaimJobRequest { request_id: request_id(), tag: job.clone(), ..claim };
    refused("a second claim", Code::FailedPrecondition, queue.claim_job(late).await);

    let finish = FinishJobRequest {
        request_id: request_id(),
        person: "oto".to_owned(),
        tag: job,
        fencing_token: claimed.fencing_token + 1,
        readings: Some(readings_in_inches(
            "seat-a",
            "M-07",
            "A0 0.9845 A90 0.9845 B0 0.9845 B90 0.9845",
        )),
        location_code: "A-1".to_owned(),
        ..FinishJobRequest::default()
    };
    refused("another's token", Code::FailedPrecondition, queue.finish_job(finish.clone()).await);
    let finish = FinishJobRequest {
        request_id: request_id(),
        fencing_token: claimed.fencing_token,
        ..finish
    };
    let finished = done("finish_job", queue.finish_job(finish).await);
    let job = finished.job.expect("the job as stored");
    assert_eq!(
        (job.state(), job.outcome()),
        (JobState::Done, JobOutcome::ToStock),
        "{:?}",
        finished.assessment
    );
    let piece = bench.get_piece(tag).await;
    assert_eq!(
        (piece.state(), piece.condition()),
        (PieceState::InStock, PieceCondition::Reconditioned)
    );
    assert_eq!(piece.sizes[0].round, 1, "readings of the worn seat no longer count");
}

async fn enqueue(clients: &Clients, piece_tag: &str) -> String {
    let request = EnqueueJobRequest {
        request_id: request_id(),
        person: "iven".to_owned(),
        piece_tag: piece_tag.to_owned(),
        feature: "seat-a".to_owned(),
        method: Method::BuildUp.into(),
        due_time: from_now(days(3)),
        ..EnqueueJobRequest::default()
    };
    let mut queue = clients.reconditioning();
    let undersize = EnqueueJobRequest {
        request_id: request_id(),
        method: Method::Regrind.into(),
        target_lower: mm("24.7"),
        target_upper: mm("24.71"),
        ..request.clone()
    };
    // A rolling bearing's seat is never ground undersize: its mate does not adjust.
    let refusal = queue.enqueue_job(undersize).await.expect_err("a regrind of a bearing seat");
    assert!(
        matches!(refusal.code(), Code::FailedPrecondition | Code::InvalidArgument),
        "{refusal:?}"
    );

    let answer = done("enqueue_job", queue.enqueue_job(request).await);
    assert!(!answer.cautions.is_empty(), "build-up and grinding carry a caution");
    answer.job.expect("the job as stored").tag
}

/// 25.0038..25.0063 mm in a 6205 of 24.990..25.000 mm: 3.8 to 16.3 um tight, where k5 allows 2 to 21.
async fn find_the_bearing(bench: &Bench, tag: &str) {
    bench.clients().settle().await;
    let answer =
        done("find_fit", bench.clients().finding().find_fit(bearings_for_seat(tag, "k5")).await);
    assert_eq!((nm(&answer.measured_min), nm(&answer.measured_max)), (25_003_760, 25_006_300));
    assert_eq!(answer.fits_seen, 1, "{answer:?}");
    let fit = &answer.fits[0];
    assert_eq!((nm(&fit.clearance_min), nm(&fit.clearance_max)), (-16_300, -3_760));
    assert_eq!((nm(&fit.required_min), nm(&fit.required_max)), (-21_000, -2_000));
    let candidate = fit.candidate.as_ref().expect("what fits");
    assert_eq!(candidate.stock, Some(fit_candidate::Stock::LotTag("L-1".to_owned())));
    assert_eq!(candidate.available, 20);

    // The same part to a clearance fit: nothing fits, and the miss says by how much.
    let answer =
        done("find_fit", bench.clients().finding().find_fit(bearings_for_seat(tag, "g6")).await);
    assert!(answer.fits.is_empty(), "{answer:?}");
    let miss = &answer.misses[0];
    // g6 at 25 mm is -7..-20 um: clearance from -10 + 7 = -3 um up; 16.3 um tight is 13.3 um out.
    assert_eq!((nm(&miss.by), miss.side()), (13_300, MissSide::TooTight));
}

async fn hold_and_consume_a_kit(bench: &Bench) {
    bench.rebuild("R-1").await;
    bench.rebuild("R-2").await;
    let kit = vec![hold_piece("P-104"), hold_lot("L-1", 2)];
    let holds = bench.reserve("R-1", kit.clone()).await;
    assert_eq!(holds.iter().map(|hold| hold.quantity).collect::<Vec<_>>(), [1, 2]);

    // Held is held, and what was free in the refused kit stays free.
    let second = bench.reserve_request("R-2", vec![hold_lot("L-1", 5), hold_piece("P-104")]);
    let mut rebuilds = bench.clients().rebuilds();
    let status = rebuilds.reserve(second).await.expect_err("a piece is held once");
    let expected = Expected {
        code: Code::FailedPrecondition,
        precondition: &["P-104", "mara", holds[0].tag.as_str()],
        ..Expected::default()
    };
    expected.judge(&status).expect("the refusal names who holds it");
    let lot = bench.get_lot("L-1").await;
    assert_eq!((lot.on_hand, lot.held), (20, 2));

    let consume = ConsumeReservationsRequest {
        request_id: request_id(),
        person: "iven".to_owned(),
        rebuild_tag: "R-1".to_owned(),
        ..ConsumeReservationsRequest::default()
    };
    let consumed = done("consume", rebuilds.consume_reservations(consume).await);
    assert!(consumed.reservations.iter().all(|hold| hold.state() == ReservationState::Consumed));
    assert_eq!(consumed.entries.iter().map(|entry| entry.quantity_delta).sum::<i64>(), -3);
    let piece = bench.get_piece("P-104").await;
    assert_eq!((piece.state(), piece.rebuild_tag.as_str()), (PieceState::Consumed, "R-1"));
    assert_eq!((piece.location_code.as_str(), piece.hold), ("", None));
}

/// On hand is the sum of the ledger, for a lot and for a piece; each move names who and why.
async fn ledger_adds_up(bench: &Bench) {
    let lot = bench.get_lot("L-1").await;
    let entries = bench.ledger("L-1").await;
    let sum: i64 = entries.iter().map(|entry| entry.quantity_delta).sum();
    assert_eq!((lot.on_hand, lot.held, sum), (18, 0, 18));
    assert!(entries.iter().all(|entry| !entry.person.is_empty()));
    assert!(entries.windows(2).all(|pair| pair[0].id < pair[1].id), "ids rise");
    let entries = bench.ledger("P-104").await;
    assert_eq!(entries.iter().map(|entry| entry.quantity_delta).sum::<i64>(), 0);
    assert_eq!(entries.last().map(|entry| entry.reason()), Some(LedgerReason::Consume));
}

/// Common practice in the trade, no published source: 0.002 in is the most wear to accept under a
/// sliding disc. 0.938 in where nothing wears and 0.935 at the worst is 0.003 in of wear.
async fn a_worn_journal_is_told_from_an_accepted_one(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    bench.item(disc_shaft_item("SH-DISC")).await;
    for (tag, worst, wear_nm, within) in
        [("P-1", "0.935", 76_200, false), ("P-2", "0.936", 50_800, true)]
    {
        bench.piece(tag, "SH-DISC").await;
        let line = format!("R0 0.938 A0 0.938 B0 0.937 C0 {worst}");
        bench.read(tag, readings_in_inches("journal", "M-07", &line)).await;
        let assessed = bench.assess(tag).await;
        let journal = &assessed.assessments[0];
        assert_eq!(nm(&journal.wear), wear_nm);
        assert_eq!(journal.wear_basis(), WearBasis::ReferenceStation);
        let wear = journal.findings.iter().find(|finding| finding.criterion == "wear");
        let wear = wear.expect("wear is compared with its limit");
        assert_eq!((nm(&wear.measured), nm(&wear.limit), wear.within), (wear_nm, 50_800, within));
        let expected = if within { Disposition::Reuse } else { Disposition::Recondition };
        assert_eq!(assessed.disposition(), expected, "{:?}", journal.reasons);
        assert!(!journal.reasons.is_empty());
    }
    shop.verify();
}

/// The question asked the other way round: a bearing in the hand, shafts in stock.
async fn a_bearing_finds_its_shaft(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    bench.stocked_shaft("P-104").await;
    let ask = |value: Option<Length>, u: Option<Length>| FindFitRequest {
        measured: Some(MeasuredPart {
            size: value.map(measured_part::Size::Value),
            kind: FeatureKind::Bore.into(),
            gauge_tag: String::new(),
            expanded_uncertainty: u,
            ..MeasuredPart::default()
        }),
        sought: ItemKind::Shaft.into(),
        requirement: Some(FitRequirement {
            kind: Some(fit_requirement::Kind::Clearance(ClearanceLimits {
                min: mm("-0.020"),
                max: mm("-0.001"),
            })),
        }),
        ..FindFitRequest::default()
    };
    shop.clients().settle().await;
    let metric = ask(mm("24.99464"), mm("0.00254"));
    let metric = done("find_fit", shop.clients().finding().find_fit(metric).await);
    assert_eq!(metric.fits_seen, 1, "{metric:?}");
    let candidate = metric.fits[0].candidate.as_ref().expect("what fits");
    assert_eq!(candidate.stock, Some(fit_candidate::Stock::PieceTag("P-104".to_owned())));
    assert!(candidate.measured);

    // 24.994 64 mm is 0.9840409... in; 24.9936 mm is 0.984 in exactly: ask that both ways.
    let in_mm =
        done("mm", shop.clients().finding().find_fit(ask(mm("24.9936"), mm("0.00254"))).await);
    let in_inch = ask(tenths_tests::inch("0.984"), tenths_tests::inch("0.0001"));
    let in_inch = done("inch", shop.clients().finding().find_fit(in_inch).await);
    assert_eq!(in_mm.fits.len(), in_inch.fits.len());
    let [one, other] = [&in_mm.fits[0], &in_inch.fits[0]];
    assert_eq!(
        (nm(&one.clearance_min), nm(&one.clearance_max)),
        (nm(&other.clearance_min), nm(&other.clearance_max))
    );
    assert_eq!(one.verdict.as_ref().map(|v| v.kind()), other.verdict.as_ref().map(|v| v.kind()));
}

/// A hold ends by itself, exactly once; then it can neither be consumed nor extended.
async fn a_hold_that_runs_out_frees_its_piece(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    bench.stocked_shaft("P-104").await;
    bench.rebuild("R-1").await;
    let mut request = bench.reserve_request("R-1", vec![hold_piece("P-104")]);
    request.hold_for = Some(prost_types::Duration { seconds: 1, nanos: 0 });
    let mut rebuilds = shop.clients().rebuilds();
    let hold = done("reserve", rebuilds.reserve(request).await).reservations.remove(0);
    tokio::time::sleep(std::time::Duration::from_millis(1_300)).await;

    assert_eq!(bench.get_piece("P-104").await.hold, None, "free without anybody's help");
    let consume = ConsumeReservationsRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        rebuild_tag: "R-1".to_owned(),
        tags: vec![hold.tag.clone()],
    };
    refused(
        "an ended hold",
        Code::FailedPrecondition,
        rebuilds.consume_reservations(consume).await,
    );
    let again = bench.reserve("R-1", vec![hold_piece("P-104")]).await.remove(0);
    assert_ne!(again.tag, hold.tag);
    let ended = GetReservationRequest { tag: hold.tag };
    let ended = done("get_reservation", rebuilds.get_reservation(ended).await).reservation;
    let ended = ended.expect("the hold");
    assert_eq!(ended.state(), ReservationState::Expired);
    assert!(ended.end_time.is_some());
    shop.verify();
}

async fn a_gauge_found_wrong_is_traced_to_its_verdicts(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    bench.stocked_shaft("P-104").await;
    bench.piece("P-105", "SH-25").await;
    let mut measuring = shop.clients().measuring();
    let gauge =
        done("get_gauge", measuring.get_gauge(GetGaugeRequest { tag: "M-07".into() }).await);
    let gauge = gauge.gauge.expect("the gauge");
    let request = UpdateGaugeRequest {
        request_id: request_id(),
        person: "oto".to_owned(),
        etag: gauge.etag.clone(),
        gauge: Some(Gauge { state: GaugeState::FoundWrong.into(), ..gauge }),
    };
    let answer = done("update_gauge", measuring.update_gauge(request).await);
    assert_eq!(answer.assessments_in_doubt, 1);
    let request = ListAssessmentsRequest { gauge_tag: "M-07".into(), ..Default::default() };
    let listed = done("list_assessments", measuring.list_assessments(request).await);
    assert_eq!(listed.assessments[0].piece_tag, "P-104");

    let request = RecordReadingsRequest {
        request_id: request_id(),
        person: "oto".to_owned(),
        piece_tag: "P-105".to_owned(),
        readings: Some(readings_in_inches("seat-a", "M-07", "A0 0.9845")),
        ..RecordReadingsRequest::default()
    };
    refused("a wrong gauge", Code::FailedPrecondition, measuring.record_readings(request).await);
}
