//! Every rpc of the contract is reached from the command line, seen from the server's side.

use crate::args::Arguments;
use crate::args::tests::{examples, words_of};
use crate::commands::run_with;
use crate::failure::Failure;
use crate::memory::Memory;
use crate::output::reflect::rpc_paths;
use crate::output::tests::Sink;
use crate::output::{Format, Printer};
use crate::shop_double::ShopDouble;
use prost::Message;
use std::collections::BTreeSet;
use std::io;
use tenths_proto::v1;

/// Runs a line written without the program's name; gives what came out.
pub(crate) async fn run_line(
    server: &str,
    format: Format,
    line: &str,
) -> (Result<(), Failure>, String, String) {
    let globals = ["tenths", "--server", server, "--person", "mara"].map(str::to_owned);
    let arguments = Arguments::read(globals.into_iter().chain(words_of(line))).unwrap();
    let (out, notes) = (Sink::default(), Sink::default());
    let printer = Printer::new(format, None, Box::new(out.clone()), Box::new(notes.clone()));
    let outcome = run_with(arguments, printer, Memory::none()).await;
    (outcome, out.text(), notes.text())
}

/// A double with what the commands that read first need to go on.
fn stocked() -> ShopDouble {
    let double = ShopDouble::default();
    let item = v1::Item { code: "SHAFT-40".into(), etag: "7".into(), ..Default::default() };
    double.answer("CatalogueService/GetItem", &v1::GetItemResponse { item: Some(item) });
    let core = v1::Core { tag: "C-101".into(), etag: "7".into(), ..Default::default() };
    double.answer("ReceivingService/GetCore", &v1::GetCoreResponse { core: Some(core) });
    let gauge = v1::Gauge { tag: "M-07".into(), etag: "7".into(), ..Default::default() };
    double.answer("MeasuringService/GetGauge", &v1::GetGaugeResponse { gauge: Some(gauge) });
    let rebuild = v1::Rebuild { tag: "R-318".into(), etag: "r1".into(), ..Default::default() };
    double.answer("RebuildsService/GetRebuild", &v1::GetRebuildResponse { rebuild: Some(rebuild) });
    let piece = v1::Piece { tag: "P-104".into(), etag: "7".into(), ..Default::default() };
    double.answer("StockService/GetPiece", &v1::GetPieceResponse { piece: Some(piece) });
    let job = v1::Job { tag: "J-12".into(), feature: "seat-a".into(), ..Default::default() };
    double.answer("ReconditioningService/GetJob", &v1::GetJobResponse { job: Some(job) });
    let until_time = Some(prost_types::Timestamp { seconds: 1_800_000_000, nanos: 0 });
    let reservation = v1::Reservation { tag: "H-12".into(), until_time, ..Default::default() };
    let reservation = Some(reservation);
    let answer = v1::GetReservationResponse { reservation };
    double.answer("RebuildsService/GetReservation", &answer);
    let plan = Some(v1::DayPlan::default());
    double.answer("PlanningService/PlanDay", &v1::PlanDayResponse { plan: plan.clone() });
    double.answer("PlanningService/ReleasePlan", &v1::ReleasePlanResponse { plan });
    // Every question of a file gets its answer; the files below have one each.
    let answers = vec![v1::LimitsAnswer::default()];
    double.answer("StandardsService/BatchGetLimits", &v1::BatchGetLimitsResponse { answers });
    let answers = vec![v1::BearingAnswer::default()];
    double.answer("StandardsService/BatchGetBearings", &v1::BatchGetBearingsResponse { answers });
    let answers = vec![v1::KeyAnswer::default()];
    double.answer("StandardsService/BatchGetKeys", &v1::BatchGetKeysResponse { answers });
    let answers = vec![v1::FitAnswer::default()];
    double.answer("FitsService/BatchJudgeFits", &v1::BatchJudgeFitsResponse { answers });
    double
}

#[tokio::test]
async fn the_documented_lines_reach_every_rpc() {
    let double = stocked();
    let server = double.serve().await;
    let folder = tempfile::tempdir().unwrap();
    let files = [
        ("items.csv", "code,kind\nSHAFT-40,shaft\n"),
        ("policy.toml", "version = 0\ncurrency = 'USD'\n"),
        ("sizes.csv", "size,unit,class\n25,mm,k5\n"),
        ("bearings.csv", "designation\n6205\n"),
        ("keys.csv", "shaft,unit\n25,mm\n"),
        ("J-12.html", ""),
        ("pairs.csv", "nominal,unit,bore,shaft,class\n25,mm,25.003,25.008,H7/k6\n"),
    ];
    for (name, text) in files {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    for (path, example) in examples() {
        let mut line = example.trim_start_matches("tenths ").to_owned();
        for (name, _) in files {
            line = line.replace(name, folder.path().join(name).to_str().unwrap());
        }
        let (outcome, _, _) = run_line(&server, Format::Json, &line).await;
        // The double's empty health answer is no SERVING.
        assert!(outcome.is_ok() || path == "health", "{line}: {outcome:?}");
    }
    // Shown by tag, and extended from the end it has: both read one hold.
    run_line(&server, Format::Table, "holds H-12").await.0.unwrap();

    let mut reached: BTreeSet<String> = double.calls().into_iter().map(|(path, _)| path).collect();
    assert!(reached.remove("/grpc.health.v1.Health/Check"));
    assert_eq!(reached, rpc_paths());
}

fn last_request<M: Message + Default>(double: &ShopDouble, rpc: &str) -> M {
    let calls = double.calls();
    let (path, payload) = calls.last().unwrap();
    assert!(path.ends_with(rpc), "{path}");
    M::decode(payload.as_slice()).unwrap()
}

/// Changes that need an etag read it, unless the person gives one.
#[tokio::test]
async fn etags_are_read_where_the_contract_wants_them() {
    let double = stocked();
    let server = double.serve().await;
    let line = "item wear-limit SHAFT-40 journal-c 0.002in --source \"shop practice\"";
    run_line(&server, Format::Table, line).await.0.unwrap();
    let request: v1::SetFeatureRequest = last_request(&double, "SetFeature");
    assert_eq!((request.etag.as_str(), request.person.as_str()), ("7", "mara"));
    let feature = request.feature.unwrap();
    assert_eq!(
        (feature.name.as_str(), feature.limit_source.as_str()),
        ("journal-c", "shop practice")
    );
    assert_eq!(feature.wear_limit.unwrap().value, "0.002");

    let line = "core move C-101 --to BENCH-1 --etag 3";
    run_line(&server, Format::Table, line).await.0.unwrap();
    assert_eq!(double.calls().len(), 3, "a given etag needs no reading");
    let request: v1::MoveCoreRequest = last_request(&double, "MoveCore");
    assert_eq!((request.etag.as_str(), request.location_code.as_str()), ("3", "BENCH-1"));
}

/// A lot is acted on as it is, unless the person says as what it was read.
#[tokio::test]
async fn a_lot_takes_an_etag() {
    let double = ShopDouble::default();
    let server = double.serve().await;
    let line = "lot move L-22 --from A-1 --to KIT-2 --quantity 2";
    run_line(&server, Format::Table, line).await.0.unwrap();
    let request: v1::MoveLotRequest = last_request(&double, "MoveLot");
    assert_eq!((request.etag.as_str(), request.quantity), ("", 2));
    let line = "lot adjust L-22 --at A-1 --counted 9 --reason recount --etag 4";
    run_line(&server, Format::Table, line).await.0.unwrap();
    let request: v1::AdjustLotRequest = last_request(&double, "AdjustLot");
    assert_eq!((request.etag.as_str(), request.counted), ("4", 9));
}

#[tokio::test]
async fn a_hold_is_extended_from_the_end_it_has() {
    let double = stocked();
    let server = double.serve().await;
    run_line(&server, Format::Table, "extend H-12 --by 3d").await.0.unwrap();
    let request: v1::ExtendReservationRequest = last_request(&double, "ExtendReservation");
    assert_eq!(request.until_time.unwrap().seconds, 1_800_000_000 + 3 * 86_400);
}

#[tokio::test]
async fn every_page_is_asked_for_and_the_next_token_is_told() {
    let double = ShopDouble::default();
    let item = v1::Item { code: "A-1".into(), ..Default::default() };
    let page = v1::ListItemsResponse { items: vec![item], next_page_token: "t2".into() };
    double.answer("CatalogueService/ListItems", &page);
    let server = double.serve().await;
    let (_, out, notes) = run_line(&server, Format::Csv, "item list --page-size 1").await;
    assert_eq!(out, "code,kind,description,designation,material,features\nA-1,,,,,\n");
    assert_eq!(notes, "there is more: --page-token t2, or --all\n");

    // The double answers t2 to t2 as well, which ends the walk: two pages.
    let (_, out, _) = run_line(&server, Format::Csv, "item list --all").await;
    assert_eq!(out.lines().count(), 3);
    let request: v1::ListItemsRequest = last_request(&double, "ListItems");
    assert_eq!(request.page_token, "t2");
}

#[tokio::test]
async fn no_server_is_told_with_what_to_start() {
    let (outcome, ..) = run_line("127.0.0.1:9", Format::Table, "item show SHAFT-40").await;
    let lines = outcome.unwrap_err().lines();
    assert!(lines[0].starts_with("error: cannot reach http://127.0.0.1:9: "), "{lines:?}");
    assert!(lines[1].contains("tenthsd serve"), "{lines:?}");
}

#[tokio::test]
async fn a_change_without_a_person_is_refused_before_anything_is_sent() {
    let double = stocked();
    let server = double.serve().await;
    let line = ["tenths", "--server", &server, "--person", "", "piece", "move", "P-1", "--to", "A"];
    let arguments = Arguments::read(line).unwrap();
    let printer = Printer::new(Format::Table, None, Box::new(io::sink()), Box::new(io::sink()));
    assert!(matches!(run_with(arguments, printer, Memory::none()).await, Err(Failure::Usage(_))));
    assert_eq!(double.calls(), []);
}
