//! `tenths location ...`: places.

use crate::args::LocationCommand;
use crate::connect::{Session, rpc};
use crate::failure::Failure;
use crate::paging;
use tenths_proto::v1;
use tenths_proto::v1::stock_service_client::StockServiceClient;

pub(crate) async fn run(session: &mut Session, command: LocationCommand) -> Result<(), Failure> {
    match command {
        LocationCommand::Add { code, kind, description } => {
            let request = v1::CreateLocationRequest {
                request_id: session.context.request_id(),
                person: session.context.person()?,
                location: Some(v1::Location { code, kind: kind.into(), description }),
            };
            let answer = rpc!(session, StockServiceClient.create_location(request))?;
            session.printer.rows(&answer, &["location"])
        }
        LocationCommand::List { paging } => {
            let request = v1::ListLocationsRequest::default();
            paging::list(session, &paging, request, "locations", async |session, request| {
                rpc!(session, StockServiceClient.list_locations(request))
            })
            .await
        }
    }
}
