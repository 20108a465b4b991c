//! `tenths ledger`: every movement of stock.

use crate::args::Ledger;
use crate::connect::{Session, rpc};
use crate::failure::Failure;
use crate::paging;
use tenths_proto::v1;
use tenths_proto::v1::stock_service_client::StockServiceClient;

pub(crate) async fn run(session: &mut Session, arguments: Ledger) -> Result<(), Failure> {
    let request = v1::ListLedgerEntriesRequest {
        tag: arguments.tag.unwrap_or_default(),
        rebuild_tag: arguments.rebuild.unwrap_or_default(),
        ..Default::default()
    };
    paging::list(session, &arguments.paging, request, "entries", async |session, request| {
        rpc!(session, StockServiceClient.list_ledger_entries(request))
    })
    .await
}
