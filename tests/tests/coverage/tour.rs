//! The tour: every rpc once, with sense, each answer looked at.

use tenths_proto::v1::*;
use tenths_tests::{
    Bench, Clients, bearings_for_seat, days, done, from_now, hold_lot, hold_piece, micrometer, mm,
    readings_in_inches, request_id,
};
use tokio_stream::StreamExt;

/// Calls every rpc over these clients; panics at the first that is not answered with OK.
pub(crate) async fn call_every_rpc(c: &Clients) {
    let bench = Bench::furnished(c).await;
    tour_catalogue(c).await;
    tour_receiving(&bench).await;
    tour_measuring(&bench).await;
    tour_policy(&bench).await;
    tour_reconditioning(&bench).await;
    tour_stock(&bench).await;
    tour_fits(c).await;
    tour_rebuilds(&bench).await;
    tour_transfer(c).await;
    super::operations::tour(&bench).await;
    super::planning::tour(&bench).await;
}

fn iven() -> String {
    "iven".to_owned()
}

async fn tour_catalogue(c: &Clients) {
    let mut catalogue = c.catalogue();
    let request = GetItemRequest { code: "SH-25".to_owned() };
    let item = done("get_item", catalogue.get_item(request).await).item.expect("the item");
    let request = UpdateItemRequest {
        request_id: request_id(),
        person: iven(),
        etag: item.etag.clone(),
        code: item.code.clone(),
        description: "coolant pump shaft, 300 mm".to_owned(),
        material: Material::Steel.into(),
        ..UpdateItemRequest::default()
    };
    let item = done("update_item", catalogue.update_item(request).await).item.expect("the item");
    let request = SetFeatureRequest {
        request_id: request_id(),
        person: iven(),
        etag: item.etag.clone(),
        item_code: item.code,
        feature: Some(Feature {
            name: "seal-land".to_owned(),
            kind: FeatureKind::SealLand.into(),
            nominal: mm("28"),
            ..Feature::default()
        }),
    };
    let item = done("set_feature", catalogue.set_feature(request).await).item.expect("the item");
    assert_eq!(item.features.len(), 2);
    let request = ListItemsRequest { kind: ItemKind::Shaft.into(), ..Default::default() };
    assert_eq!(done("list_items", catalogue.list_items(request).await).items.len(), 1);
}

async fn tour_receiving(bench: &Bench) {
    let mut receiving = bench.clients().receiving();
    let core = bench.core("C-1").await;
    let request = RegradeCoreRequest {
        request_id: request_id(),
        person: iven(),
        etag: core.etag,
        tag: "C-1".to_owned(),
        grade: CoreGrade::C.into(),
        reasons: vec!["bell cracked".to_owned()],
    };
    let core = done("regrade_core", receiving.regrade_core(request).await).core.expect("the core");
    assert_eq!((core.door_grade(), core.teardown_grade()), (CoreGrade::B, CoreGrade::C));
    let request = MoveCoreRequest {
        request_id: request_id(),
        person: iven(),
        etag: core.etag,
        tag: "C-1".to_owned(),
        location_code: "BENCH".to_owned(),
    };
    done("move_core", receiving.move_core(request).await);
    let request = TearDownCoreRequest {
        request_id: request_id(),
        person: iven(),
        tag: "C-1".to_owned(),
        pieces: ["P-1", "P-2"].map(teardown_piece).to_vec(),
        ..TearDownCoreRequest::default()
    };
    done("tear_down_core", receiving.tear_down_core(request).await);
    let request = GetCoreRequest { tag: "C-1".to_owned() };
    let core = done("get_core", receiving.get_core(request).await).core.expect("the core");
    assert_eq!(core.piece_tags, ["P-1", "P-2"]);
    let listed = done("list_cores", receiving.list_cores(ListCoresRequest::default()).await);
    assert_eq!(listed.cores, [core]);
}

fn teardown_piece(tag: &str) -> TeardownPiece {
    TeardownPiece {
        tag: tag.to_owned(),
        item_code: "SH-25".to_owned(),
        location_code: "BENCH".to_owned(),
        built_up: BuiltUp::No.into(),
        ..TeardownPiece::default()
    }
}

async fn tour_measuring(bench: &Bench) {
    let mut measuring = bench.clients().measuring();
    let gauge = bench.gauge(micrometer("M-08")).await;
    let request = UpdateGaugeRequest {
        request_id: request_id(),
        person: iven(),
        etag: gauge.etag.clone(),
        gauge: Some(Gauge { calibration_due_time: from_now(days(300)), ..gauge }),
    };
    done("update_gauge", measuring.update_gauge(request).await);
    done("get_gauge", measuring.get_gauge(GetGaugeRequest { tag: "M-08".to_owned() }).await);
    let listed = done("list_gauges", measuring.list_gauges(ListGaugesRequest::default()).await);
    assert_eq!(listed.gauges.len(), 2);

    let line = "A0 0.9845 A90 0.9845 B0 0.9844 B90 0.9844";
    let readings = bench.read("P-1", readings_in_inches("seat-a", "M-08", line)).await;
    let request = VoidReadingRequest {
        request_id: request_id(),
        person: iven(),
        reading_id: readings[3].id,
        reason: "read on a burr".to_owned(),
    };
    done("void_reading", measuring.void_reading(request).await);
    let request = ListReadingsRequest { piece_tag: "P-1".to_owned(), ..Default::default() };
    let listed = done("list_readings", measuring.list_readings(request).await).readings;
    let voided: Vec<bool> = listed.iter().map(|reading| reading.void.is_some()).collect();
    assert_eq!(voided, [false, false, false, true]);
    let assessed = bench.assess("P-1").await;
    assert_eq!(assessed.assessments[0].reading_ids.len(), 3, "a voided reading does not count");
    let request = ListAssessmentsRequest { piece_tag: "P-1".to_owned(), ..Default::default() };
    let listed = done("list_assessments", measuring.list_assessments(request).await);
    assert_eq!(listed.assessments, assessed.assessments);
}

async fn tour_policy(bench: &Bench) {
    let mut policies = bench.clients().policies();
    let built_in = done("get_policy", policies.get_policy(GetPolicyRequest::default()).await);
    let version = built_in.version.expect("the version");
    let request = SetPolicyRequest {
        request_id: request_id(),
        person: iven(),
        etag: version.etag,
        policy: built_in.policy,
        note: "as it was built in".to_owned(),
    };
    let set = done("set_policy", policies.set_policy(request).await).version.expect("the version");
    assert_eq!((set.version, set.in_force), (1, true));
    let listed =
        done("list_policies", policies.list_policies(ListPoliciesRequest::default()).await);
    assert_eq!(listed.versions, [set]);
    bench.piece("P-8", "SH-25").await;
    bench.read("P-8", readings_in_inches("seat-a", "M-07", "A0 0.9845 A90 0.9845")).await;
    let request = ProposeRepairsRequest {
        piece_tag: "P-8".to_owned(),
        feature: "seat-a".to_owned(),
        ..ProposeRepairsRequest::default()
    };
    let mut repairs = bench.clients().repairs();
    let proposed = done("propose_repairs", repairs.propose_repairs(request).await);
    assert_eq!((proposed.policy_version, proposed.options[0].rank), (1, 1));
    let request = DecideRepairRequest {
        request_id: request_id(),
        person: iven(),
        piece_tag: "P-8".to_owned(),
        feature: "seat-a".to_owned(),
        policy_etag: proposed.policy_etag,
        etag: proposed.piece_etag,
        repair: proposed.options[0].repair.clone(),
        ..DecideRepairRequest::default()
    };
    let decided = done("decide_repair", repairs.decide_repair(request).await);
    let request = ListRepairDecisionsRequest::default();
    let listed = done("list_repair_decisions", repairs.list_repair_decisions(request).await);
    assert_eq!(listed.decisions, [decided.decision.expect("the decision")]);
}

async fn tour_reconditioning(bench: &Bench) {
    let mut queue = bench.clients().reconditioning();
    let job = bench.enqueue("P-2").await;
    let first = bench.try_claim_next().await.expect("a job waits");
    let request = RenewClaimRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        tag: job.tag.clone(),
        fencing_token: first.fencing_token,
        lease: Some(prost_types::Duration { seconds: 3600, nanos: 0 }),
    };
    done("renew_claim", queue.renew_claim(request).await);
    let request = ReleaseClaimRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        tag: job.tag.clone(),
        fencing_token: first.fencing_token,
    };
    done("release_claim", queue.release_claim(request).await);
    let second = bench.try_claim_next().await.expect("it waits again");
    assert!(second.fencing_token > first.fencing_token, "a later claim has a later token");
    let request = FinishJobRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        tag: job.tag.clone(),
        fencing_token: second.fencing_token,
        readings: Some(readings_in_inches("seat-a", "M-07", "A0 0.9845 A90 0.9845")),
        ..FinishJobRequest::default()
    };
    done("finish_job", queue.finish_job(request).await);
    bench.piece("P-3", "SH-25").await;
    let job = bench.enqueue("P-3").await;
    let claim = bench.try_claim_next().await.expect("the next job");
    let request = ScrapJobRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        tag: job.tag.clone(),
        fencing_token: claim.fencing_token,
        reason: ScrapReason::Crack.into(),
        ..ScrapJobRequest::default()
    };
    done("scrap_job", queue.scrap_job(request).await);
    let request = GetJobRequest { tag: job.tag };
    let job = done("get_job", queue.get_job(request).await).job.expect("the job");
    assert_eq!((job.outcome(), job.scrap_reason()), (JobOutcome::Scrapped, ScrapReason::Crack));
    assert_eq!(bench.get_piece("P-3").await.state(), PieceState::Scrapped);
    let listed = done("list_jobs", queue.list_jobs(ListJobsRequest::default()).await);
    assert_eq!(listed.jobs.len(), 2);
}

async fn tour_stock(bench: &Bench) {
    let mut stock = bench.clients().stock();
    let listed =
        done("list_locations", stock.list_locations(ListLocationsRequest::default()).await);
    assert_eq!(listed.locations.len(), 3);
    let piece = bench.piece("P-4", "SH-25").await;
    let request = UpdatePieceRequest {
        request_id: request_id(),
        person: iven(),
        etag: piece.etag,
        tag: "P-4".to_owned(),
        hardness: "58 HRC".to_owned(),
        built_up: BuiltUp::No.into(),
        ..UpdatePieceRequest::default()
    };
    done("update_piece", stock.update_piece(request).await);
    let request = MovePieceRequest {
        request_id: request_id(),
        person: iven(),
        tag: "P-4".to_owned(),
        location_code: "A-1".to_owned(),
        ..MovePieceRequest::default()
    };
    done("move_piece", stock.move_piece(request).await);
    let request = ScrapPieceRequest {
        request_id: request_id(),
        person: iven(),
        tag: "P-4".to_owned(),
        reason: ScrapReason::Bent.into(),
        ..ScrapPieceRequest::default()
    };
    done("scrap_piece", stock.scrap_piece(request).await);
    bench.accept("P-1").await;
    let request = ListPiecesRequest { state: PieceState::InStock.into(), ..Default::default() };
    let listed = done("list_pieces", stock.list_pieces(request).await).pieces;
    assert!(listed.iter().any(|piece| piece.tag == "P-1"), "{listed:?}");

    bench.lot("L-2", "BRG-6205", 4).await;
    let request = MoveLotRequest {
        request_id: request_id(),
        person: iven(),
        tag: "L-2".to_owned(),
        from_location_code: "A-1".to_owned(),
        to_location_code: "BENCH".to_owned(),
        quantity: 1,
        etag: String::new(),
    };
    done("move_lot", stock.move_lot(request).await);
    let request = AdjustLotRequest {
        request_id: request_id(),
        person: iven(),
        tag: "L-2".to_owned(),
        location_code: "A-1".to_owned(),
        counted: 5,
        reason: "two were behind the rail".to_owned(),
        etag: String::new(),
    };
    done("adjust_lot", stock.adjust_lot(request).await);
    let lot = bench.get_lot("L-2").await;
    assert_eq!(lot.on_hand, 6);
    let deltas = bench.ledger("L-2").await.into_iter().map(|entry| entry.quantity_delta);
    assert_eq!(deltas.sum::<i64>(), 6);
    let listed = done("list_lots", stock.list_lots(ListLotsRequest::default()).await);
    assert_eq!(listed.lots.len(), 2);
}

async fn tour_fits(c: &Clients) {
    let request = GetLimitsRequest { size: mm("25"), tolerance_class: "H7".to_owned() };
    done("get_limits", c.fits().get_limits(request).await);
    c.settle().await;
    let found = done("find_fit", c.finding().find_fit(bearings_for_seat("P-1", "k5")).await);
    assert_eq!(found.fits_seen, 2, "both lots");
    let question = Some(bearings_for_seat("P-1", "k5"));
    let mut all =
        done("find_all_fits", c.finding().find_all_fits(FindAllFitsRequest { question }).await);
    let first = all.message().await.expect("an answer").expect("one message at least");
    assert_eq!((first.fits_total, first.fits.len()), (2, 2));
    let bore = SizeWindow { kind: FeatureKind::Bore.into(), lower: mm("24.9"), upper: mm("25.1") };
    let request = FindBySizeRequest { windows: vec![bore], ..Default::default() };
    let sized = done("find_by_size", c.finding().find_by_size(request).await);
    assert_eq!(sized.rows_seen, 2, "both lots");
    let wanted = Some(find_replacement_request::Wanted::Designation("6205".to_owned()));
    let request = FindReplacementRequest { wanted, ..Default::default() };
    let same = done("find_replacement", c.finding().find_replacement(request).await);
    assert_eq!(same.replacements[0].acceptance(), Acceptance::Same);
    let status =
        done("get_index_status", c.finding().get_index_status(GetIndexStatusRequest {}).await);
    assert!(status.ready && status.rows >= 3, "{status:?}");
}

async fn tour_rebuilds(bench: &Bench) {
    let mut rebuilds = bench.clients().rebuilds();
    bench.rebuild("R-1").await;
    let holds = bench.reserve("R-1", vec![hold_piece("P-1"), hold_lot("L-1", 2)]).await;
    let request = ExtendReservationRequest {
        request_id: request_id(),
        person: iven(),
        tag: holds[0].tag.clone(),
        until_time: from_now(days(30)),
        reason: "waiting for a seal".to_owned(),
        ..ExtendReservationRequest::default()
    };
    done("extend_reservation", rebuilds.extend_reservation(request).await);
    let request = ReleaseReservationsRequest {
        request_id: request_id(),
        person: iven(),
        tags: vec![holds[1].tag.clone()],
        reason: "another bearing".to_owned(),
    };
    done("release_reservations", rebuilds.release_reservations(request).await);
    let request = ConsumeReservationsRequest {
        request_id: request_id(),
        person: iven(),
        rebuild_tag: "R-1".to_owned(),
        ..ConsumeReservationsRequest::default()
    };
    let consumed = done("consume", rebuilds.consume_reservations(request).await).reservations;
    assert_eq!(consumed.len(), 1, "the released one is not consumed");
    let request = GetReservationRequest { tag: holds[0].tag.clone() };
    let hold = done("get_reservation", rebuilds.get_reservation(request).await).reservation;
    assert_eq!(hold.expect("the hold").state(), ReservationState::Consumed);
    let request = ListReservationsRequest { rebuild_tag: "R-1".to_owned(), ..Default::default() };
    let listed = done("list_reservations", rebuilds.list_reservations(request).await);
    assert_eq!(listed.reservations.len(), 2);
    let request = UpdateRebuildRequest {
        request_id: request_id(),
        person: iven(),
        etag: "r1".to_owned(),
        tag: "R-1".to_owned(),
        description: "spindle drive".to_owned(),
        value: Some(Money { amount: "1200.00".to_owned(), currency: "USD".to_owned() }),
        ..UpdateRebuildRequest::default()
    };
    let changed = done("update_rebuild", rebuilds.update_rebuild(request).await).rebuild;
    let changed = changed.expect("the rebuild");
    assert_eq!((changed.etag.as_str(), changed.due_time), ("r2", None));
    assert_eq!(changed.value.expect("its value").amount, "1200.00");
    let request = CloseRebuildRequest {
        request_id: request_id(),
        person: iven(),
        tag: "R-1".to_owned(),
        state: RebuildState::Shipped.into(),
        ..CloseRebuildRequest::default()
    };
    done("close_rebuild", rebuilds.close_rebuild(request).await);
    let request = GetRebuildRequest { tag: "R-1".to_owned() };
    let rebuild = done("get_rebuild", rebuilds.get_rebuild(request).await).rebuild;
    assert_eq!(rebuild.expect("the rebuild").state(), RebuildState::Shipped);
    let listed =
        done("list_rebuilds", rebuilds.list_rebuilds(ListRebuildsRequest::default()).await);
    assert_eq!(listed.rebuilds.len(), 1);
}

async fn tour_transfer(c: &Clients) {
    let request = ExportRowsRequest { kind: TableKind::Lots.into() };
    let mut answers = done("export_rows", c.transfer().export_rows(request).await);
    let (mut columns, mut rows) = (Vec::new(), Vec::new());
    while let Some(part) = answers.next().await {
        let part = part.expect("an export goes through");
        columns.extend(part.columns);
        rows.extend(part.rows);
    }
    assert_eq!(rows.len(), 3, "L-1 in one place, L-2 in two");
    let header = ImportHeader {
        request_id: request_id(),
        person: iven(),
        kind: TableKind::Lots.into(),
        columns,
        dry_run: true,
        skip_bad_rows: false,
    };
    let parts = [
        import_rows_request::Part::Header(header),
        import_rows_request::Part::Batch(RowBatch { rows }),
    ];
    let parts = parts.map(|part| ImportRowsRequest { part: Some(part) });
    let answers = c.transfer().import_rows(tokio_stream::iter(parts)).await;
    let mut answers = done("import_rows", answers);
    let mut summary = None;
    while let Some(answer) = answers.next().await {
        if let Some(import_rows_response::Part::Summary(last)) = answer.expect("no break").part {
            summary = Some(last);
        }
    }
    let summary = summary.expect("the summary comes last");
    assert_eq!((summary.received, summary.saved, summary.committed), (3, 0, false));
}
