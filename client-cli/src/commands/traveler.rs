//! `tenths recon traveler`: a job, its piece and its item, as one page to print.

use crate::args::ReconTraveler;
use crate::connect::{Session, rpc};
use crate::failure::{Failure, broken_answer};
use crate::traveler::Traveler;
use tenths_proto::v1;
use tenths_proto::v1::catalogue_service_client::CatalogueServiceClient;
use tenths_proto::v1::measuring_service_client::MeasuringServiceClient;
use tenths_proto::v1::reconditioning_service_client::ReconditioningServiceClient;
use tenths_proto::v1::stock_service_client::StockServiceClient;

/// Most readings of one answer.
const MOST_READINGS: i32 = 500;

pub(crate) async fn write(session: &mut Session, arguments: ReconTraveler) -> Result<(), Failure> {
    let request = v1::GetJobRequest { tag: arguments.tag };
    let job = rpc!(session, ReconditioningServiceClient.get_job(request))?.job;
    let job = job.ok_or_else(|| broken_answer("job"))?;
    let request = v1::GetPieceRequest { tag: job.piece_tag.clone() };
    let piece = rpc!(session, StockServiceClient.get_piece(request))?.piece;
    let piece = piece.ok_or_else(|| broken_answer("piece"))?;
    let request = v1::GetItemRequest { code: piece.item_code.clone() };
    let item = rpc!(session, CatalogueServiceClient.get_item(request))?.item;
    let item = item.ok_or_else(|| broken_answer("item"))?;
    let request = v1::ListReadingsRequest {
        piece_tag: piece.tag.clone(),
        feature: job.feature.clone(),
        page_size: MOST_READINGS,
        ..Default::default()
    };
    let mut readings = Vec::new();
    let mut page_token = String::new();
    loop {
        let request = v1::ListReadingsRequest { page_token, ..request.clone() };
        let answer = rpc!(session, MeasuringServiceClient.list_readings(request))?;
        readings.extend(answer.readings);
        page_token = answer.next_page_token;
        if page_token.is_empty() {
            break;
        }
    }
    let unit = session.context.unit;
    let page = Traveler { job: &job, piece: &piece, item: &item, readings: &readings, unit }.page();
    match arguments.to {
        None => session.printer.text(&page),
        Some(file) => {
            std::fs::write(&file, page).map_err(|error| {
                Failure::Usage(format!("--to: {} cannot be written: {error}", file.display()))
            })?;
            session.printer.aside(&format!("written: {}", file.display()))
        }
    }
}
