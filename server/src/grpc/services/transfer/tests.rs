//! Goal: the conversation of an import: what a client hears, and that whatever a client does, half a
//! file is never saved and nobody else waits. Method: a real client and server over a socket.

use crate::app::act::Act;
use crate::app::stock::{CreateLocation, ReceiveLot, create_location, receive_lot};
use crate::app::transfer::{COLUMNS_MAX, REPORTED_MAX};
use crate::app::{App, Clock, Error, Request as Asked, catalogue};
use std::time::Duration;
use tempfile::TempDir;
use tenths_domain::item::ItemKind;
use tenths_domain::state::LocationKind;
use tenths_proto::v1::import_rows_request::Part;
use tenths_proto::v1::import_rows_response::Part as Told;
use tenths_proto::v1::transfer_service_client::TransferServiceClient;
use tenths_proto::v1::*;
use tenths_storage::{Store, verify};
use tokio::sync::mpsc;
use tokio_stream::wrappers::{ReceiverStream, TcpListenerStream};
use tonic::transport::Channel;
use tonic::{Code, Status};
use tonic_types::StatusExt;

const ID: &str = "1f0e6a2c-5d0b-4c8e-9a57-3a1f6f1e2b3c";

struct Shop {
    app: App,
    client: TransferServiceClient<Channel>,
    _folder: TempDir,
}

impl Shop {
    async fn open() -> Shop {
        let folder = tempfile::tempdir().unwrap();
        let store =
            Store::open(&format!("sqlite://{}/shop.db", folder.path().display())).await.unwrap();
        store.migrate().await.unwrap();
        let app = App::new(store, Clock::from_fn(|| 1));
        app.once(asked("1"), |act| Box::pin(furnish(act))).await.unwrap();
        let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = format!("http://{}", listener.local_addr().unwrap());
        let served = tonic::transport::Server::builder()
            .add_service(super::server(app.clone()))
            .serve_with_incoming(TcpListenerStream::new(listener));
        tokio::spawn(served);
        let client = TransferServiceClient::connect(address).await.unwrap();
        Shop { app, client, _folder: folder }
    }

    /// Sends these messages and the end, then hears everything.
    async fn import(&mut self, parts: Vec<Part>) -> Result<Vec<Told>, Status> {
        let messages = parts.into_iter().map(|part| ImportRowsRequest { part: Some(part) });
        let answers =
            self.client.import_rows(tokio_stream::iter(messages.collect::<Vec<_>>())).await?;
        let (mut answers, mut heard) = (answers.into_inner(), Vec::new());
        while let Some(answer) = answers.message().await? {
            heard.extend(answer.part);
        }
        Ok(heard)
    }

    async fn lots(&self) -> usize {
        let page = tenths_storage::Page { after: 0, limit: 100 };
        let lots = self.app.read(move |view| {
            Box::pin(async move { Ok(view.tx.lots_page(page, None).await?.len()) })
        });
        lots.await.unwrap()
    }

    /// Somebody else receives a lot, and does not wait for it.
    async fn receive_lot(&self) {
        let received = self.app.once(asked("2"), |act| {
            Box::pin(async move {
                let new = ReceiveLot {
                    tag: None,
                    item_code: "PLATE".into(),
                    quantity: 1,
                    location_code: "A-1".into(),
                    date_code: String::new(),
                    unit_cost: None,
                };
                receive_lot(act, &new).await?;
                Ok(Vec::new())
            })
        });
        tokio::time::timeout(Duration::from_secs(4), received).await.unwrap().unwrap();
    }
}

fn asked(id: &str) -> Asked {
    Asked { request_id: id.into(), person: "oto".into(), method: "Test", fingerprint: [0; 32] }
}

async fn furnish(act: &Act<'_>) -> Result<Vec<u8>, Error> {
    let place = CreateLocation {
        code: "A-1".into(),
        kind: LocationKind::Shelf,
        description: String::new(),
    };
    create_location(act, &place).await?;
    let item = catalogue::CreateItem {
        code: "PLATE".into(),
        kind: ItemKind::Other,
        description: "name plate".into(),
        designation: String::new(),
        material: None,
        set: tenths_domain::substitution::SetSize::ONE,
        no_substitute: false,
        features: Vec::new(),
    };
    catalogue::create_item(act, &item).await?;
    Ok(Vec::new())
}

fn header() -> ImportHeader {
    let columns = ["tag", "item", "quantity", "location"];
    ImportHeader {
        request_id: ID.into(),
        person: "mara".into(),
        kind: TableKind::Lots.into(),
        columns: columns.map(str::to_owned).to_vec(),
        ..ImportHeader::default()
    }
}

fn batch(first: i64, count: i64, quantity: &str) -> Part {
    let row = |line| {
        let tag = format!("L-{line}");
        Row { line, values: [&tag, "PLATE", quantity, "A-1"].map(str::to_owned).to_vec() }
    };
    Part::Batch(RowBatch { rows: (first..first + count).map(row).collect() })
}

fn summary(heard: &[Told]) -> ImportSummary {
    match heard.last() {
        Some(Told::Summary(summary)) => *summary,
        other => panic!("the summary comes last, not {other:?}"),
    }
}

#[tokio::test]
async fn a_file_goes_in_once() {
    let mut shop = Shop::open().await;
    let parts = vec![Part::Header(header()), batch(2, 3, "4"), batch(5, 2, "1")];
    let heard = shop.import(parts.clone()).await.unwrap();
    let wanted = ImportSummary { received: 5, saved: 5, bad: 0, committed: true };
    assert_eq!(summary(&heard), wanted);
    // Cut into other batches it is still the same file; with another row it is not.
    let parts = vec![Part::Header(header()), batch(2, 1, "4"), batch(3, 2, "4"), batch(5, 2, "1")];
    assert_eq!(summary(&shop.import(parts.clone()).await.unwrap()), wanted);
    let refused = shop.import([parts, vec![batch(7, 1, "1")]].concat()).await.unwrap_err();
    assert_eq!(refused.code(), Code::InvalidArgument);
    assert_eq!(refused.get_details_bad_request().unwrap().field_violations[0].field, "request_id");
    assert_eq!(shop.lots().await, 5);
    assert!(verify::run(shop.app.store(), 1).await.unwrap().is_sound());
}

#[tokio::test]
async fn bad_rows_are_heard_before_the_summary() {
    let mut shop = Shop::open().await;
    let heard = shop
        .import(vec![Part::Header(header()), batch(2, 1, "4"), batch(3, 2, "-4")])
        .await
        .unwrap();
    let lines: Vec<i64> = heard
        .iter()
        .filter_map(|told| match told {
            Told::BadRow(bad) if bad.column == "quantity" => Some(bad.line),
            _ => None,
        })
        .collect();
    assert_eq!(lines, [3, 4]);
    assert_eq!(summary(&heard), ImportSummary { received: 3, saved: 0, bad: 2, committed: false });
    assert_eq!(shop.lots().await, 0);
}

#[tokio::test]
async fn what_is_no_import_is_refused() {
    let mut shop = Shop::open().await;
    let of = |header| vec![Part::Header(header), batch(2, 1, "4")];
    let without = |column: &str| {
        let columns = header().columns.into_iter().filter(|name| name != column).collect();
        ImportHeader { columns, ..header() }
    };
    for (parts, field) in [
        (vec![], "header"),
        (vec![batch(2, 1, "4")], "header"),
        (vec![Part::Header(header()), Part::Header(header())], "header"),
        (of(ImportHeader { request_id: "1".into(), ..header() }), "request_id"),
        (of(ImportHeader { person: " ".into(), ..header() }), "person"),
        (of(ImportHeader { kind: 0, ..header() }), "kind"),
        (of(ImportHeader { kind: 99, ..header() }), "kind"),
        (of(without("quantity")), "columns"),
        (of(ImportHeader { columns: vec!["x".into(); COLUMNS_MAX + 1], ..header() }), "columns"),
        (vec![Part::Header(header()), batch(2, 1_001, "4")], "batch.rows"),
    ] {
        let refused = shop.import(parts).await.unwrap_err();
        assert_eq!(refused.code(), Code::InvalidArgument, "{field}: {refused:?}");
        let details = refused.get_details_bad_request().unwrap();
        assert_eq!(details.field_violations[0].field, field);
    }
    assert_eq!(shop.lots().await, 0);
}

/// A client that cancels before it has sent everything, and one whose connection is gone.
#[tokio::test]
async fn a_file_that_breaks_off_is_not_saved() {
    let mut shop = Shop::open().await;
    for _ in 0..20 {
        let (sender, receiver) = mpsc::channel(8);
        let message = |part| ImportRowsRequest { part: Some(part) };
        sender.send(message(Part::Header(header()))).await.unwrap();
        sender.send(message(batch(2, 500, "4"))).await.unwrap();
        let answers = shop.client.import_rows(ReceiverStream::new(receiver)).await.unwrap();
        tokio::time::sleep(Duration::from_millis(5)).await;
        // The rows before the answers: the reset must not be taken for the end.
        drop(answers);
        drop(sender);
    }
    tokio::time::sleep(Duration::from_millis(200)).await;
    assert_eq!(shop.lots().await, 0);
}

#[tokio::test]
async fn a_slow_client_holds_up_nobody() {
    let mut shop = Shop::open().await;
    let (sender, receiver) = mpsc::channel(8);
    let message = |part| ImportRowsRequest { part: Some(part) };
    sender.send(message(Part::Header(header()))).await.unwrap();
    sender.send(message(batch(100, 500, "4"))).await.unwrap();
    let mut answers =
        shop.client.import_rows(ReceiverStream::new(receiver)).await.unwrap().into_inner();
    shop.receive_lot().await;
    assert_eq!(shop.lots().await, 1);
    drop(sender);
    let mut last = None;
    while let Some(answer) = answers.message().await.unwrap() {
        last = answer.part;
    }
    assert_eq!(summary(&last.into_iter().collect::<Vec<_>>()).saved, 500);
}

/// A client that reads nothing before it has sent everything, and has much to hear.
#[tokio::test]
async fn a_client_that_listens_last_hears_everything() {
    let mut shop = Shop::open().await;
    let (sender, receiver) = mpsc::channel(1);
    let message = |part| ImportRowsRequest { part: Some(part) };
    let answers = shop.client.import_rows(ReceiverStream::new(receiver));
    let sent = async {
        sender.send(message(Part::Header(header()))).await.unwrap();
        let wrong = "x".repeat(200);
        for first in 0..40 {
            sender.send(message(batch(first * 1_000, 1_000, &wrong))).await.unwrap();
        }
        drop(sender);
    };
    let both = async { tokio::join!(answers, sent).0 };
    let answers = tokio::time::timeout(Duration::from_secs(60), both).await.expect("no deadlock");
    let (mut answers, mut heard) = (answers.unwrap().into_inner(), Vec::new());
    while let Some(answer) = answers.message().await.unwrap() {
        heard.extend(answer.part);
    }
    let bad = heard.iter().filter(|told| matches!(told, Told::BadRow(_))).count();
    assert_eq!((bad, summary(&heard).bad), (REPORTED_MAX, 40_000));
}

#[tokio::test]
async fn an_export_names_its_columns_once_and_counts_its_rows() {
    let mut shop = Shop::open().await;
    let export = |kind: TableKind| ExportRowsRequest { kind: kind.into() };
    let mut empty = shop.client.export_rows(export(TableKind::Lots)).await.unwrap().into_inner();
    let first = empty.message().await.unwrap().unwrap();
    assert_eq!((first.columns[0].as_str(), first.rows.len()), ("tag", 0));
    assert_eq!(empty.message().await.unwrap(), None);

    shop.import(vec![Part::Header(header()), batch(1, 700, "4"), batch(701, 501, "4")])
        .await
        .unwrap();
    let mut answers = shop.client.export_rows(export(TableKind::Lots)).await.unwrap().into_inner();
    let (mut lines, mut named) = (Vec::new(), 0);
    while let Some(answer) = answers.message().await.unwrap() {
        named += usize::from(!answer.columns.is_empty());
        lines.extend(answer.rows.iter().map(|row| row.line));
    }
    assert_eq!((named, lines), (1, (1..=1_201).collect::<Vec<i64>>()));
    let refused = shop.client.export_rows(export(TableKind::Unspecified)).await.unwrap_err();
    assert_eq!(refused.code(), Code::InvalidArgument);
}
