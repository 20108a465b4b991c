//! Goal: what the state of things forbids is refused, says who or what is in the way, and changes
//! nothing.
//! Method: one shop per table; the state is looked at again after the refusals.

use tenths_proto::v1::*;
use tenths_tests::{
    Bench, DatabaseKind, Expected, Outcomes, Shop, days, disc_shaft_item, done, from_now, hold_lot,
    hold_piece, inch, on_both_databases, readings_in_inches, request_id,
};
use tonic::Code;

on_both_databases!(
    stale_etags,
    held_things,
    ended_things,
    beyond_what_is_there,
    traps_at_entry,
    nothing_is_half_saved,
);

fn forbidden<'a>(precondition: &'a [&'a str]) -> Expected<'a> {
    Expected { code: Code::FailedPrecondition, precondition, ..Expected::default() }
}

fn oto() -> String {
    "oto".to_owned()
}

async fn stale_etags(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let bench = Bench::furnished(c).await;
    let stale = Expected { code: Code::Aborted, ..Expected::default() };
    let mut outcomes = Outcomes::default();

    let item = GetItemRequest { code: "SH-25".to_owned() };
    let item = done("get_item", c.catalogue().get_item(item).await).item.expect("the item");
    let update = |description: &str| UpdateItemRequest {
        request_id: request_id(),
        person: oto(),
        etag: item.etag.clone(),
        code: "SH-25".to_owned(),
        description: description.to_owned(),
        material: Material::Steel.into(),
        ..UpdateItemRequest::default()
    };
    done("update_item", c.catalogue().update_item(update("pump shaft, long")).await);
    let second = c.catalogue().update_item(update("pump shaft, short")).await;
    outcomes.refused("item", stale, second);
    let feature = SetFeatureRequest {
        request_id: request_id(),
        person: oto(),
        etag: item.etag.clone(),
        item_code: "SH-25".to_owned(),
        feature: Some(item.features[0].clone()),
    };
    outcomes.refused("feature", stale, c.catalogue().set_feature(feature).await);

    let piece = bench.piece("P-1", "SH-25").await;
    let update = |note: &str| UpdatePieceRequest {
        request_id: request_id(),
        person: oto(),
        etag: piece.etag.clone(),
        tag: "P-1".to_owned(),
        note: note.to_owned(),
        ..UpdatePieceRequest::default()
    };
    done("update_piece", c.stock().update_piece(update("first")).await);
    outcomes.refused("piece", stale, c.stock().update_piece(update("second")).await);

    let core = bench.core("C-1").await;
    let regrade = |reason: &str| RegradeCoreRequest {
        request_id: request_id(),
        person: oto(),
        etag: core.etag.clone(),
        tag: "C-1".to_owned(),
        grade: CoreGrade::C.into(),
        reasons: vec![reason.to_owned()],
    };
    done("regrade_core", c.receiving().regrade_core(regrade("bell cracked")).await);
    outcomes.refused("core", stale, c.receiving().regrade_core(regrade("shaft bent")).await);
    outcomes.finish();
    assert_eq!(bench.get_piece("P-1").await.note, "first");
}

async fn held_things(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let bench = Bench::furnished(c).await;
    bench.stocked_shaft("P-1").await;
    bench.rebuild("R-1").await;
    bench.rebuild("R-2").await;
    let hold = bench.reserve("R-1", vec![hold_piece("P-1"), hold_lot("L-1", 18)]).await.remove(0);
    let mut outcomes = Outcomes::default();

    let names_holder = forbidden(&["P-1", "mara", "R-1"]);
    let request = bench.reserve_request("R-2", vec![hold_piece("P-1")]);
    outcomes.refused("hold", names_holder, c.rebuilds().reserve(request).await);
    let request = bench.reserve_request("R-2", vec![hold_lot("L-1", 3)]);
    outcomes.refused(
        "the held part of a lot",
        forbidden(&["L-1"]),
        c.rebuilds().reserve(request).await,
    );
    let request = ScrapPieceRequest {
        request_id: request_id(),
        person: oto(),
        tag: "P-1".to_owned(),
        reason: ScrapReason::Bent.into(),
        ..ScrapPieceRequest::default()
    };
    outcomes.refused("scrap", names_holder, c.stock().scrap_piece(request).await);
    let request = EnqueueJobRequest {
        request_id: request_id(),
        person: oto(),
        piece_tag: "P-1".to_owned(),
        feature: "seat-a".to_owned(),
        method: Method::BuildUp.into(),
        reason: "worn".to_owned(),
        ..EnqueueJobRequest::default()
    };
    outcomes.refused("queue", names_holder, c.reconditioning().enqueue_job(request).await);
    let request = MoveLotRequest {
        request_id: request_id(),
        person: oto(),
        tag: "L-1".to_owned(),
        from_location_code: "A-1".to_owned(),
        to_location_code: "BENCH".to_owned(),
        quantity: 3,
        etag: String::new(),
    };
    outcomes.refused("move held stock", forbidden(&["L-1"]), c.stock().move_lot(request).await);
    let request = AdjustLotRequest {
        request_id: request_id(),
        person: oto(),
        tag: "L-1".to_owned(),
        location_code: "A-1".to_owned(),
        counted: 17,
        reason: "counted".to_owned(),
        etag: String::new(),
    };
    outcomes.refused("count below held", forbidden(&["L-1"]), c.stock().adjust_lot(request).await);
    outcomes.finish();
    assert_eq!(bench.get_piece("P-1").await.hold.map(|hold| hold.reservation_tag), Some(hold.tag));
    shop.verify();
}

async fn ended_things(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let bench = Bench::furnished(c).await;
    bench.stocked_shaft("P-1").await;
    bench.rebuild("R-1").await;
    let mut outcomes = Outcomes::default();

    let hold = bench.reserve("R-1", vec![hold_piece("P-1")]).await.remove(0);
    let release = || ReleaseReservationsRequest {
        request_id: request_id(),
        person: oto(),
        tags: vec![hold.tag.clone()],
        reason: "not needed".to_owned(),
    };
    done("release", c.rebuilds().release_reservations(release()).await);
    let names_hold = [hold.tag.as_str()];
    let ended = forbidden(&names_hold);
    outcomes.refused("release again", ended, c.rebuilds().release_reservations(release()).await);
    let request = ExtendReservationRequest {
        request_id: request_id(),
        person: oto(),
        tag: hold.tag.clone(),
        until_time: from_now(days(2)),
        reason: "late".to_owned(),
        ..ExtendReservationRequest::default()
    };
    outcomes.refused("extend", ended, c.rebuilds().extend_reservation(request).await);
    let request = ConsumeReservationsRequest {
        request_id: request_id(),
        person: oto(),
        rebuild_tag: "R-1".to_owned(),
        tags: vec![hold.tag.clone()],
    };
    outcomes.refused("consume", ended, c.rebuilds().consume_reservations(request).await);

    end_a_rebuild(&bench, &mut outcomes).await;
    let scrap = || ScrapPieceRequest {
        request_id: request_id(),
        person: oto(),
        tag: "P-1".to_owned(),
        reason: ScrapReason::Bent.into(),
        ..ScrapPieceRequest::default()
    };
    done("scrap", c.stock().scrap_piece(scrap()).await);
    outcomes.refused("scrap again", forbidden(&["P-1"]), c.stock().scrap_piece(scrap()).await);
    let request = MovePieceRequest {
        request_id: request_id(),
        person: oto(),
        tag: "P-1".to_owned(),
        location_code: "A-1".to_owned(),
        ..MovePieceRequest::default()
    };
    outcomes.refused("move scrap", forbidden(&["P-1"]), c.stock().move_piece(request).await);
    outcomes.finish();
    shop.verify();
}

async fn end_a_rebuild(bench: &Bench, outcomes: &mut Outcomes) {
    let c = bench.clients();
    let close = |state: RebuildState| CloseRebuildRequest {
        request_id: request_id(),
        person: oto(),
        tag: "R-1".to_owned(),
        state: state.into(),
        ..CloseRebuildRequest::default()
    };
    done("close", c.rebuilds().close_rebuild(close(RebuildState::Cancelled)).await);
    let again = c.rebuilds().close_rebuild(close(RebuildState::Shipped)).await;
    outcomes.refused("close again", forbidden(&["R-1"]), again);
    let request = UpdateRebuildRequest {
        request_id: request_id(),
        person: oto(),
        etag: "r2".to_owned(),
        tag: "R-1".to_owned(),
        description: "too late".to_owned(),
        ..UpdateRebuildRequest::default()
    };
    let changed = c.rebuilds().update_rebuild(request.clone()).await;
    outcomes.refused("change a closed rebuild", forbidden(&["R-1"]), changed);
    let stale = Expected { code: Code::Aborted, ..Expected::default() };
    let request = UpdateRebuildRequest { etag: "r1".to_owned(), ..request };
    outcomes.refused("as it was once", stale, c.rebuilds().update_rebuild(request).await);
    let request = bench.reserve_request("R-1", vec![hold_lot("L-1", 1)]);
    outcomes.refused(
        "hold for a closed rebuild",
        forbidden(&["R-1"]),
        c.rebuilds().reserve(request).await,
    );
}

async fn beyond_what_is_there(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let bench = Bench::furnished(c).await;
    bench.piece("P-1", "SH-25").await;
    bench.rebuild("R-1").await;
    let mut outcomes = Outcomes::default();
    let request = bench.reserve_request("R-1", vec![hold_lot("L-1", 21)]);
    outcomes.refused(
        "more than a lot has",
        forbidden(&["L-1"]),
        c.rebuilds().reserve(request).await,
    );
    let request = bench.reserve_request("R-1", vec![hold_piece("P-1")]);
    outcomes.refused("not in stock", forbidden(&["P-1"]), c.rebuilds().reserve(request).await);
    let request = AssessPieceRequest {
        request_id: request_id(),
        person: oto(),
        piece_tag: "P-1".to_owned(),
        ..AssessPieceRequest::default()
    };
    outcomes.refused(
        "nothing measured",
        forbidden(&["P-1"]),
        c.measuring().assess_piece(request).await,
    );
    let request = ClaimJobRequest { request_id: request_id(), person: oto(), ..Default::default() };
    outcomes.refused("nothing waits", forbidden(&[]), c.reconditioning().claim_job(request).await);
    let request = MoveLotRequest {
        request_id: request_id(),
        person: oto(),
        tag: "L-1".to_owned(),
        from_location_code: "BENCH".to_owned(),
        to_location_code: "A-1".to_owned(),
        quantity: 1,
        etag: String::new(),
    };
    outcomes.refused("from an empty place", forbidden(&["L-1"]), c.stock().move_lot(request).await);
    outcomes.finish();
    assert_eq!(bench.get_lot("L-1").await.held, 0);
    shop.verify();
}

/// Asked before anything is saved; an override is recorded with the reading.
async fn traps_at_entry(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let bench = Bench::furnished(c).await;
    bench.item(disc_shaft_item("SH-DISC")).await;
    bench.piece("P-1", "SH-DISC").await;
    let mut outcomes = Outcomes::default();
    let record = |line: &str, unit: LengthUnit, why: &str| RecordReadingsRequest {
        request_id: request_id(),
        person: oto(),
        piece_tag: "P-1".to_owned(),
        readings: Some(NewReadings {
            line_unit: unit.into(),
            ..readings_in_inches("journal", "M-07", line)
        }),
        override_reason: why.to_owned(),
    };
    let trap = forbidden(&["ENTRY_TRAP"]);
    for (name, line, unit) in [
        ("inches typed as mm", "A0 0.937", LengthUnit::Mm),
        ("mm typed as inches", "A0 23.80", LengthUnit::In),
        ("a digit swap", "A0 0.9371 A90 0.9371 B0 0.9731 B90 0.9370", LengthUnit::In),
    ] {
        let result = c.measuring().record_readings(record(line, unit, "")).await;
        outcomes.refused(name, trap, result);
    }
    outcomes.finish();
    let request = ListReadingsRequest { piece_tag: "P-1".into(), ..Default::default() };
    let saved = done("list", c.measuring().list_readings(request.clone()).await).readings;
    assert!(saved.is_empty(), "nothing is saved before the question is answered");

    let request_kept =
        record("A0 0.9371 A90 0.9371 B0 0.9731 B90 0.9370", LengthUnit::In, "a burr");
    let kept = done("override", c.measuring().record_readings(request_kept).await).readings;
    let odd = kept.iter().find(|reading| reading.station == "B" && reading.orientation_deg == 0);
    let odd = odd.expect("the reading");
    assert_eq!(odd.override_reason, "a burr");
    assert!(!odd.trap.is_empty(), "what was asked is kept with the answer");

    // A journal does not grow by itself: the same stations, 0.011 in larger than last time.
    let grown = record("A0 0.9481 A90 0.9481", LengthUnit::In, "");
    let grown = c.measuring().record_readings(grown).await.expect_err("a journal that grew");
    trap.judge(&grown).expect("it is asked about");
    shop.verify();
}

/// One bad line among good ones: nothing of the request is there afterwards.
async fn nothing_is_half_saved(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let bench = Bench::furnished(c).await;
    let core = bench.core("C-1").await;
    let piece = |tag: &str, item: &str| TeardownPiece {
        tag: tag.to_owned(),
        item_code: item.to_owned(),
        location_code: "BENCH".to_owned(),
        ..TeardownPiece::default()
    };
    let request = TearDownCoreRequest {
        request_id: request_id(),
        person: oto(),
        etag: core.etag.clone(),
        tag: "C-1".to_owned(),
        pieces: vec![piece("P-1", "SH-25"), piece("P-2", "NO-SUCH-ITEM")],
    };
    c.receiving().tear_down_core(request).await.expect_err("an unknown item");
    let after = GetCoreRequest { tag: "C-1".to_owned() };
    let after = done("get_core", c.receiving().get_core(after).await).core.expect("the core");
    assert_eq!(after, core);
    let pieces = done("list", c.stock().list_pieces(ListPiecesRequest::default()).await).pieces;
    assert!(pieces.is_empty(), "{pieces:?}");

    bench.piece("P-1", "SH-25").await;
    let readings = ["0.9845", "0.98451234", "0.9845"].map(|value| NewReading {
        station: "A".to_owned(),
        orientation_deg: 0,
        value: inch(value),
    });
    let request = RecordReadingsRequest {
        request_id: request_id(),
        person: oto(),
        piece_tag: "P-1".to_owned(),
        readings: Some(NewReadings {
            feature: "seat-a".to_owned(),
            gauge_tag: "M-07".to_owned(),
            readings: readings.to_vec(),
            ..NewReadings::default()
        }),
        ..RecordReadingsRequest::default()
    };
    let status = c.measuring().record_readings(request).await.expect_err("a reading too fine");
    let expected = Expected {
        code: Code::InvalidArgument,
        fields: &["readings.readings[1].value"],
        ..Expected::default()
    };
    expected.judge(&status).expect("the bad reading is named");
    let saved = c.measuring().list_readings(ListReadingsRequest::default()).await;
    assert!(done("list", saved).readings.is_empty());
    shop.verify();
}
