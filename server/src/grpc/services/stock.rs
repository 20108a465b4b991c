//! Stock on the wire.

use super::{given, named, optional_enum};
use crate::app::{App, stock};
use crate::grpc::convert::stock as convert;
use crate::grpc::once::once;
use crate::grpc::page::Pager;
use tenths_proto::v1 as pb;
use tenths_proto::v1::stock_service_server::StockService;
use tonic::{Request, Response, Status};

/// Serves stock.
pub struct Stock {
    app: App,
}

impl Stock {
    /// The service over these use cases.
    pub fn new(app: App) -> Self {
        Stock { app }
    }
}

#[tonic::async_trait]
impl StockService for Stock {
    async fn create_location(
        &self,
        request: Request<pb::CreateLocationRequest>,
    ) -> Result<Response<pb::CreateLocationResponse>, Status> {
        once!(
            self.app,
            convert::create_location(request.get_ref()),
            stock::create_location,
            |done| pb::CreateLocationResponse { location: Some(convert::location(done)) }
        )
    }

    async fn list_locations(
        &self,
        request: Request<pb::ListLocationsRequest>,
    ) -> Result<Response<pb::ListLocationsResponse>, Status> {
        let wire = request.into_inner();
        let pager = Pager::new("ListLocations", wire.page_size, &wire.page_token, &[])?;
        let (rows, next_page_token) = pager
            .run(&self.app, move |view, page| Box::pin(stock::list_locations(view, page)))
            .await?;
        let locations = rows.into_iter().map(convert::location).collect();
        Ok(Response::new(pb::ListLocationsResponse { locations, next_page_token }))
    }

    async fn create_piece(
        &self,
        request: Request<pb::CreatePieceRequest>,
    ) -> Result<Response<pb::CreatePieceResponse>, Status> {
        once!(self.app, convert::create_piece(request.get_ref()), stock::create_piece, |done| {
            pb::CreatePieceResponse { piece: Some(convert::piece(done)) }
        })
    }

    async fn get_piece(
        &self,
        request: Request<pb::GetPieceRequest>,
    ) -> Result<Response<pb::GetPieceResponse>, Status> {
        let tag = named("tag", &request.get_ref().tag)?;
        let found = self
            .app
            .read(move |view| Box::pin(async move { stock::get_piece(view, &tag).await }))
            .await?;
        Ok(Response::new(pb::GetPieceResponse { piece: Some(convert::piece(found)) }))
    }

    async fn list_pieces(
        &self,
        request: Request<pb::ListPiecesRequest>,
    ) -> Result<Response<pb::ListPiecesResponse>, Status> {
        let wire = request.into_inner();
        let filter = stock::PiecesFilter {
            state: optional_enum("state", wire.state)?,
            item_code: given(&wire.item_code),
            core_tag: given(&wire.core_tag),
        };
        let pager = Pager::new(
            "ListPieces",
            wire.page_size,
            &wire.page_token,
            &[&wire.state.to_string(), &wire.item_code, &wire.core_tag],
        )?;
        let (rows, next_page_token) = pager
            .run(&self.app, move |view, page| Box::pin(stock::list_pieces(view, page, filter)))
            .await?;
        let pieces = rows.into_iter().map(convert::piece).collect();
        Ok(Response::new(pb::ListPiecesResponse { pieces, next_page_token }))
    }

    async fn update_piece(
        &self,
        request: Request<pb::UpdatePieceRequest>,
    ) -> Result<Response<pb::UpdatePieceResponse>, Status> {
        once!(self.app, convert::update_piece(request.get_ref()), stock::update_piece, |done| {
            pb::UpdatePieceResponse { piece: Some(convert::piece(done)) }
        })
    }

    async fn move_piece(
        &self,
        request: Request<pb::MovePieceRequest>,
    ) -> Result<Response<pb::MovePieceResponse>, Status> {
        once!(self.app, convert::move_piece(request.get_ref()), stock::move_piece, |done| {
            pb::MovePieceResponse { piece: Some(convert::piece(done)) }
        })
    }

    async fn accept_piece(
        &self,
        request: Request<pb::AcceptPieceRequest>,
    ) -> Result<Response<pb::AcceptPieceResponse>, Status> {
        once!(self.app, convert::accept_piece(request.get_ref()), stock::accept_piece, |done| {
            pb::AcceptPieceResponse { piece: Some(convert::piece(done)) }
        })
    }

    async fn scrap_piece(
        &self,
        request: Request<pb::ScrapPieceRequest>,
    ) -> Result<Response<pb::ScrapPieceResponse>, Status> {
        once!(self.app, convert::scrap_piece(request.get_ref()), stock::scrap_piece, |done| {
            pb::ScrapPieceResponse { piece: Some(convert::piece(done)) }
        })
    }

    async fn receive_lot(
        &self,
        request: Request<pb::ReceiveLotRequest>,
    ) -> Result<Response<pb::ReceiveLotResponse>, Status> {
        once!(self.app, convert::receive_lot(request.get_ref()), stock::receive_lot, |done| {
            pb::ReceiveLotResponse { lot: Some(convert::lot(done)) }
        })
    }

    async fn get_lot(
        &self,
        request: Request<pb::GetLotRequest>,
    ) -> Result<Response<pb::GetLotResponse>, Status> {
        let tag = named("tag", &request.get_ref().tag)?;
        let found = self
            .app
            .read(move |view| Box::pin(async move { stock::get_lot(view, &tag).await }))
            .await?;
        Ok(Response::new(pb::GetLotResponse { lot: Some(convert::lot(found)) }))
    }

    async fn list_lots(
        &self,
        request: Request<pb::ListLotsRequest>,
    ) -> Result<Response<pb::ListLotsResponse>, Status> {
        let wire = request.into_inner();
        let item_code = given(&wire.item_code);
        let pager = Pager::new("ListLots", wire.page_size, &wire.page_token, &[&wire.item_code])?;
        let (rows, next_page_token) = pager
            .run(&self.app, move |view, page| Box::pin(stock::list_lots(view, page, item_code)))
            .await?;
        let lots = rows.into_iter().map(convert::lot).collect();
        Ok(Response::new(pb::ListLotsResponse { lots, next_page_token }))
    }

    async fn move_lot(
        &self,
        request: Request<pb::MoveLotRequest>,
    ) -> Result<Response<pb::MoveLotResponse>, Status> {
        once!(self.app, convert::move_lot(request.get_ref()), stock::move_lot, |done| {
            pb::MoveLotResponse { lot: Some(convert::lot(done)) }
        })
    }

    async fn adjust_lot(
        &self,
        request: Request<pb::AdjustLotRequest>,
    ) -> Result<Response<pb::AdjustLotResponse>, Status> {
        once!(self.app, convert::adjust_lot(request.get_ref()), stock::adjust_lot, |done| {
            pb::AdjustLotResponse { lot: Some(convert::lot(done)) }
        })
    }

    async fn list_ledger_entries(
        &self,
        request: Request<pb::ListLedgerEntriesRequest>,
    ) -> Result<Response<pb::ListLedgerEntriesResponse>, Status> {
        let wire = request.into_inner();
        let (tag, rebuild) = (given(&wire.tag), given(&wire.rebuild_tag));
        let pager = Pager::new(
            "ListLedgerEntries",
            wire.page_size,
            &wire.page_token,
            &[&wire.tag, &wire.rebuild_tag],
        )?;
        let (rows, next_page_token) = pager
            .run(&self.app, move |view, page| {
                Box::pin(stock::list_ledger(view, page, tag, rebuild))
            })
            .await?;
        let entries = rows.into_iter().map(convert::ledger_entry).collect();
        Ok(Response::new(pb::ListLedgerEntriesResponse { entries, next_page_token }))
    }
}
