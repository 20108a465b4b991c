//! `tenths lot ...`: counted stock.

use crate::args::{LotCommand, LotReceive};
use crate::connect::{Session, rpc};
use crate::failure::Failure;
use crate::paging;
use tenths_proto::v1;
use tenths_proto::v1::stock_service_client::StockServiceClient;

pub(crate) async fn run(session: &mut Session, command: LotCommand) -> Result<(), Failure> {
    match command {
        LotCommand::Show { tag } => {
            let request = v1::GetLotRequest { tag };
            let answer = rpc!(session, StockServiceClient.get_lot(request))?;
            session.printer.record(&answer, "lot")
        }
        LotCommand::List { item, paging } => {
            let item_code = item.unwrap_or_default();
            let request = v1::ListLotsRequest { item_code, ..Default::default() };
            paging::list(session, &paging, request, "lots", async |session, request| {
                rpc!(session, StockServiceClient.list_lots(request))
            })
            .await
        }
        other => change(session, other).await,
    }
}

async fn change(session: &mut Session, command: LotCommand) -> Result<(), Failure> {
    let request_id = session.context.request_id();
    let person = session.context.person()?;
    match command {
        LotCommand::Receive(arguments) => receive(session, arguments).await,
        LotCommand::Move { tag, from, to, quantity, etag } => {
            let request = v1::MoveLotRequest {
                request_id,
                person,
                tag,
                from_location_code: from,
                to_location_code: to,
                quantity,
                etag: etag.unwrap_or_default(),
            };
            let answer = rpc!(session, StockServiceClient.move_lot(request))?;
            session.printer.rows(&answer, &["lot"])
        }
        LotCommand::Adjust { tag, at, counted, reason, etag } => {
            let request = v1::AdjustLotRequest {
                request_id,
                person,
                tag,
                location_code: at,
                counted,
                reason,
                etag: etag.unwrap_or_default(),
            };
            let answer = rpc!(session, StockServiceClient.adjust_lot(request))?;
            session.printer.rows(&answer, &["lot"])
        }
        // Done by the caller.
        LotCommand::Show { .. } | LotCommand::List { .. } => Ok(()),
    }
}

async fn receive(session: &mut Session, arguments: LotReceive) -> Result<(), Failure> {
    let request = v1::ReceiveLotRequest {
        request_id: session.context.request_id(),
        person: session.context.person()?,
        tag: arguments.tag.unwrap_or_default(),
        item_code: arguments.item,
        quantity: arguments.quantity,
        location_code: arguments.at,
        date_code: arguments.date_code.unwrap_or_default(),
        unit_cost: arguments.cost,
    };
    let answer = rpc!(session, StockServiceClient.receive_lot(request))?;
    session.printer.rows(&answer, &["lot"])
}
