//! Goal: bad input is refused with the right code, every violation at once, and no trace.
//! Method: tables of one bad thing each; the whole table is run and every wrong case is shown.

#![allow(clippy::needless_update, reason = "one macro for requests with and without filters")]

use tenths_proto::v1::*;
use tenths_tests::{
    Bench, DatabaseKind, Expected, Outcomes, Shop, done, hold_lot, hold_piece, length, mm, nm,
    on_both_databases, readings_in_inches, request_id, shaft_item,
};
use tonic::Code;

on_both_databases!(
    lengths,
    unknown_things,
    things_that_exist_already,
    pages,
    requests_without_their_basics,
    every_violation_at_once,
);

fn bad<'a>(fields: &'a [&'a str]) -> Expected<'a> {
    Expected { code: Code::InvalidArgument, fields, ..Expected::default() }
}

fn missing(resource: &str) -> Expected<'_> {
    Expected { code: Code::NotFound, resource, ..Expected::default() }
}

fn taken(resource: &str) -> Expected<'_> {
    Expected { code: Code::AlreadyExists, resource, ..Expected::default() }
}

async fn lengths(kind: DatabaseKind) {
    use LengthUnit::{In, Mm, Thou, Um, Unspecified};
    let shop = Shop::start(kind).await;
    let mut outcomes = Outcomes::default();
    let limits = |value: &str, unit| GetLimitsRequest {
        size: length(value, unit),
        tolerance_class: "k5".to_owned(),
    };
    for (value, unit) in [
        ("0.000001", In),
        ("1.000001", In),
        ("25.0000001", Mm),
        ("1000.0001", Um),
        ("984.251", Thou),
        ("1e3", Mm),
        ("2.5E1", Mm),
        ("25,4", Mm),
        ("1,000", Mm),
        ("NaN", Mm),
        ("nan", In),
        ("inf", Mm),
        ("-25", Mm),
        ("+25", Mm),
        ("0", Mm),
        ("0.0000", In),
        ("", Mm),
        (".", In),
        ("25.4.1", Mm),
        ("0x19", Mm),
        ("25 mm 1 in", Mm),
        ("1 in", Mm),
        ("\u{ff12}5", Mm),
        ("15/17", In),
        ("1-1/4", Mm),
        ("1/0", In),
        ("999999999999999999999999", Mm),
        ("200000000", Mm),
        ("3151", Mm),
        ("25", Unspecified),
    ] {
        let result = shop.clients().fits().get_limits(limits(value, unit)).await;
        outcomes.refused(&format!("{value:?} {unit:?}"), bad(&["size"]), result);
    }
    let nothing = GetLimitsRequest { size: None, tolerance_class: "k5".to_owned() };
    outcomes.refused("no size", bad(&["size"]), shop.clients().fits().get_limits(nothing).await);
    let alien = Length { value: "25".to_owned(), unit: 99, nm: 0 };
    let alien = GetLimitsRequest { size: Some(alien), tolerance_class: "k5".to_owned() };
    outcomes.refused("unit 99", bad(&["size"]), shop.clients().fits().get_limits(alien).await);
    let class = GetLimitsRequest { size: mm("25"), tolerance_class: "q99".to_owned() };
    let class = shop.clients().fits().get_limits(class).await;
    outcomes.refused("class q99", bad(&["tolerance_class"]), class);
    outcomes.finish();
    equal_lengths(&shop).await;
}

/// What may be written: as exact nanometres, however it is written. k5 at 25 mm is +2..+11 um.
async fn equal_lengths(shop: &Shop) {
    for (value, unit, nanometres) in [
        ("25.4", LengthUnit::Mm, 25_400_000),
        ("25.400000", LengthUnit::Mm, 25_400_000),
        ("1.0000", LengthUnit::In, 25_400_000),
        ("1.00000", LengthUnit::In, 25_400_000),
        ("1000", LengthUnit::Thou, 25_400_000),
        ("25400.000", LengthUnit::Um, 25_400_000),
        ("15/16", LengthUnit::In, 23_812_500),
        ("1-1/4", LengthUnit::In, 31_750_000),
        ("0.00001", LengthUnit::In, 254),
    ] {
        let request = GetLimitsRequest { size: length(value, unit), tolerance_class: "h6".into() };
        let limits = done(value, shop.clients().fits().get_limits(request).await);
        assert_eq!(nm(&limits.upper), nanometres, "{value} {unit:?}");
    }
    let request = GetLimitsRequest { size: mm("25"), tolerance_class: "k5".to_owned() };
    let limits = done("k5", shop.clients().fits().get_limits(request).await);
    assert_eq!((nm(&limits.lower), nm(&limits.upper)), (25_002_000, 25_011_000));
}

async fn unknown_things(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let bench = Bench::furnished(c).await;
    let tag = || "X-404".to_owned();
    let mut outcomes = Outcomes::default();
    let mut check = |name: &str, result: Result<(), tonic::Status>| {
        outcomes.refused(name, missing("X-404"), result.map(tonic::Response::new));
    };
    check("item", c.catalogue().get_item(GetItemRequest { code: tag() }).await.map(drop));
    check("core", c.receiving().get_core(GetCoreRequest { tag: tag() }).await.map(drop));
    check("piece", c.stock().get_piece(GetPieceRequest { tag: tag() }).await.map(drop));
    check("lot", c.stock().get_lot(GetLotRequest { tag: tag() }).await.map(drop));
    check("gauge", c.measuring().get_gauge(GetGaugeRequest { tag: tag() }).await.map(drop));
    check("job", c.reconditioning().get_job(GetJobRequest { tag: tag() }).await.map(drop));
    check("rebuild", c.rebuilds().get_rebuild(GetRebuildRequest { tag: tag() }).await.map(drop));
    let hold = c.rebuilds().get_reservation(GetReservationRequest { tag: tag() }).await;
    check("reservation", hold.map(drop));

    let receipt = ReceiveLotRequest { item_code: tag(), ..bench.receipt(1) };
    check("item of a lot", c.stock().receive_lot(receipt).await.map(drop));
    let receipt = ReceiveLotRequest { location_code: tag(), ..bench.receipt(1) };
    check("location of a lot", c.stock().receive_lot(receipt).await.map(drop));
    let core = LogCoreRequest { location_code: tag(), ..bench.core_request("C-1") };
    check("location of a core", c.receiving().log_core(core).await.map(drop));
    let reserve = bench.reserve_request("X-404", vec![hold_lot("L-1", 1)]);
    check("rebuild of a hold", c.rebuilds().reserve(reserve).await.map(drop));
    bench.rebuild("R-1").await;
    let reserve = bench.reserve_request("R-1", vec![hold_piece("X-404")]);
    check("piece of a hold", c.rebuilds().reserve(reserve).await.map(drop));
    let read = RecordReadingsRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        piece_tag: tag(),
        readings: Some(readings_in_inches("seat-a", "M-07", "A0 0.9845")),
        ..RecordReadingsRequest::default()
    };
    check("piece of a reading", c.measuring().record_readings(read.clone()).await.map(drop));
    bench.piece("P-1", "SH-25").await;
    let readings = Some(readings_in_inches("seat-a", "X-404", "A0 0.9845"));
    let read = RecordReadingsRequest { piece_tag: "P-1".to_owned(), readings, ..read };
    check("gauge of a reading", c.measuring().record_readings(read).await.map(drop));
    outcomes.finish();
    shop.verify();
}

async fn things_that_exist_already(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let bench = Bench::furnished(c).await;
    bench.core("C-1").await;
    bench.piece("P-1", "SH-25").await;
    bench.rebuild("R-1").await;
    let mut outcomes = Outcomes::default();
    let (id, person) = (request_id, || "oto".to_owned());

    let item = Some(shaft_item("SH-25"));
    let request = CreateItemRequest { request_id: id(), person: person(), item };
    outcomes.refused("item", taken("SH-25"), c.catalogue().create_item(request).await);
    let location = Some(Location {
        code: "A-1".to_owned(),
        kind: LocationKind::Shelf.into(),
        description: String::new(),
    });
    let request = CreateLocationRequest { request_id: id(), person: person(), location };
    outcomes.refused("location", taken("A-1"), c.stock().create_location(request).await);
    let gauge = Some(tenths_tests::micrometer("M-07"));
    let request = RegisterGaugeRequest { request_id: id(), person: person(), gauge };
    outcomes.refused("gauge", taken("M-07"), c.measuring().register_gauge(request).await);
    let request = ReceiveLotRequest { tag: "L-1".to_owned(), ..bench.receipt(1) };
    outcomes.refused("lot", taken("L-1"), c.stock().receive_lot(request).await);
    let request = bench.core_request("C-1");
    outcomes.refused("core", taken("C-1"), c.receiving().log_core(request).await);
    let request = OpenRebuildRequest {
        request_id: id(),
        person: person(),
        tag: "R-1".to_owned(),
        description: "another pump".to_owned(),
        ..OpenRebuildRequest::default()
    };
    outcomes.refused("rebuild", taken("R-1"), c.rebuilds().open_rebuild(request).await);
    let request = CreatePieceRequest {
        request_id: id(),
        person: person(),
        tag: "P-1".to_owned(),
        item_code: "SH-25".to_owned(),
        condition: PieceCondition::New.into(),
        location_code: "A-1".to_owned(),
        ..CreatePieceRequest::default()
    };
    outcomes.refused("piece", taken("P-1"), c.stock().create_piece(request).await);
    outcomes.finish();
    shop.verify();
}

/// One list rpc asked with this size and token, its answer reduced to what a page always has.
macro_rules! page_of {
    ($client:expr, $method:ident, $request:ident, $size:expr, $token:expr) => {
        $client
            .$method($request { page_size: $size, page_token: $token, ..$request::default() })
            .await
            .map(|answer| answer.map(|page| page.next_page_token))
    };
}

/// Every list, asked for a page of this size from this token.
async fn every_list(shop: &Shop, size: i32, token: &str) -> Vec<(&'static str, Page)> {
    let c = shop.clients();
    let t = || token.to_owned();
    vec![
        ("items", page_of!(c.catalogue(), list_items, ListItemsRequest, size, t())),
        ("cores", page_of!(c.receiving(), list_cores, ListCoresRequest, size, t())),
        ("gauges", page_of!(c.measuring(), list_gauges, ListGaugesRequest, size, t())),
        ("readings", page_of!(c.measuring(), list_readings, ListReadingsRequest, size, t())),
        (
            "assessments",
            page_of!(c.measuring(), list_assessments, ListAssessmentsRequest, size, t()),
        ),
        ("jobs", page_of!(c.reconditioning(), list_jobs, ListJobsRequest, size, t())),
        ("rebuilds", page_of!(c.rebuilds(), list_rebuilds, ListRebuildsRequest, size, t())),
        ("holds", page_of!(c.rebuilds(), list_reservations, ListReservationsRequest, size, t())),
        ("locations", page_of!(c.stock(), list_locations, ListLocationsRequest, size, t())),
        ("pieces", page_of!(c.stock(), list_pieces, ListPiecesRequest, size, t())),
        ("lots", page_of!(c.stock(), list_lots, ListLotsRequest, size, t())),
        ("ledger", page_of!(c.stock(), list_ledger_entries, ListLedgerEntriesRequest, size, t())),
    ]
}

type Page = Result<tonic::Response<String>, tonic::Status>;

async fn pages(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let bench = Bench::furnished(shop.clients()).await;
    let mut outcomes = Outcomes::default();
    for (name, page) in every_list(&shop, -1, "").await {
        outcomes.refused(&format!("{name}: size -1"), bad(&["page_size"]), page);
    }
    // A token of another list, cut short or made up is refused rather than read as something else.
    let own =
        page_of!(shop.clients().stock(), list_locations, ListLocationsRequest, 1, String::new());
    let own = done("the first location", own);
    assert!(!own.is_empty(), "three locations are more than one page of one");
    for token in ["made up", "AAAA", &own[..own.len() / 2]] {
        for (name, page) in every_list(&shop, 10, token).await {
            outcomes.refused(&format!("{name}: token {token:?}"), bad(&["page_token"]), page);
        }
    }
    for (name, page) in every_list(&shop, 10, &own).await {
        if name != "locations" {
            outcomes.refused(&format!("{name}: another's token"), bad(&["page_token"]), page);
        }
    }
    for (name, page) in every_list(&shop, i32::MAX, "").await {
        let verdict = page.map(drop).map_err(|status| format!("a cap, not a refusal: {status:?}"));
        outcomes.note(&format!("{name}: huge size"), verdict);
    }
    outcomes.finish();
    pages_join_without_gap(&bench).await;
}

/// Page by page gives the same rows as one page, also while rows are added.
async fn pages_join_without_gap(bench: &Bench) {
    for number in 0..7 {
        bench.location(&format!("B-{number}"), LocationKind::Shelf).await;
    }
    let mut codes = Vec::new();
    let mut page_token = String::new();
    loop {
        let request = ListLocationsRequest { page_size: 3, page_token };
        let page = done("list", bench.clients().stock().list_locations(request).await);
        codes.extend(page.locations.into_iter().map(|location| location.code));
        if codes.len() == 3 {
            bench.location("C-1", LocationKind::Shelf).await;
        }
        page_token = page.next_page_token;
        if page_token.is_empty() {
            break;
        }
    }
    let expected = ["A-1", "YARD", "BENCH", "B-0", "B-1", "B-2", "B-3", "B-4", "B-5", "B-6", "C-1"];
    assert_eq!(codes, expected);
}

async fn requests_without_their_basics(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let c = shop.clients();
    let bench = Bench::furnished(c).await;
    let mut outcomes = Outcomes::default();
    for id in ["", "7", "not-a-uuid", "{6f2c6a8e-0000-4000-8000-00000000000}"] {
        let request = ReceiveLotRequest { request_id: id.to_owned(), ..bench.receipt(1) };
        let result = c.stock().receive_lot(request).await;
        outcomes.refused(&format!("request_id {id:?}"), bad(&["request_id"]), result);
    }
    let long = "m".repeat(10_000);
    for person in ["", "  ", "mara\u{0}", &long] {
        let request = ReceiveLotRequest { person: person.to_owned(), ..bench.receipt(1) };
        let result = c.stock().receive_lot(request).await;
        let name: String = person.chars().take(8).collect();
        outcomes.refused(&format!("person {name:?}"), bad(&["person"]), result);
    }
    for quantity in [0, -1, 1_000_001, i64::MAX, i64::MIN] {
        let result = c.stock().receive_lot(bench.receipt(quantity)).await;
        outcomes.refused(&format!("quantity {quantity}"), bad(&["quantity"]), result);
    }
    for date_code in ["2025", "2025-13", "25-03", "2025-3", "March 2025"] {
        let request = ReceiveLotRequest { date_code: date_code.to_owned(), ..bench.receipt(1) };
        let result = c.stock().receive_lot(request).await;
        outcomes.refused(&format!("date code {date_code:?}"), bad(&["date_code"]), result);
    }
    for (amount, currency) in [
        ("4.755", "USD"),
        ("4.7x", "USD"),
        ("-1.00", "USD"),
        ("1e2", "USD"),
        ("4", "usd"),
        ("4", ""),
    ] {
        let unit_cost = Some(Money { amount: amount.to_owned(), currency: currency.to_owned() });
        let request = ReceiveLotRequest { unit_cost, ..bench.receipt(1) };
        let result = c.stock().receive_lot(request).await;
        outcomes.refused(&format!("{amount:?} {currency:?}"), bad(&["unit_cost"]), result);
    }
    for tag in ["has space", "ümlaut", "semi;colon", &"T".repeat(200)] {
        let request = ReceiveLotRequest { tag: tag.to_owned(), ..bench.receipt(1) };
        let result = c.stock().receive_lot(request).await;
        outcomes.refused(&format!("tag {tag:?}"), bad(&["tag"]), result);
    }
    outcomes.finish();
    assert_eq!(bench.get_lot("L-1").await.on_hand, 20);
    let lots = done("list_lots", c.stock().list_lots(ListLotsRequest::default()).await).lots;
    assert_eq!(lots.len(), 1, "nothing refused left a lot behind");
    shop.verify();
}

async fn every_violation_at_once(kind: DatabaseKind) {
    let shop = Shop::start(kind).await;
    let mut item = shaft_item("has space");
    item.kind = ItemKind::Unspecified.into();
    item.features[0].name = "Seat A".to_owned();
    item.features[0].nominal = mm("1e3");
    item.features[0].wear_limit = mm("-1");
    let request =
        CreateItemRequest { request_id: "7".to_owned(), person: String::new(), item: Some(item) };
    let expected = bad(&[
        "request_id",
        "person",
        "item.code",
        "item.kind",
        "item.features[0].name",
        "item.features[0].nominal",
        "item.features[0].wear_limit",
    ]);
    let mut outcomes = Outcomes::default();
    let result = shop.clients().catalogue().create_item(request).await;
    outcomes.refused("an item, all wrong", expected, result);

    let request = RegisterGaugeRequest {
        request_id: request_id(),
        person: "mara".to_owned(),
        gauge: Some(Gauge { tag: "M-1".to_owned(), ..Gauge::default() }),
    };
    let expected = bad(&["gauge.resolution", "gauge.expanded_uncertainty", "gauge.setting_method"]);
    let result = shop.clients().measuring().register_gauge(request).await;
    outcomes.refused("a gauge without its figures", expected, result);
    outcomes.finish();
}
