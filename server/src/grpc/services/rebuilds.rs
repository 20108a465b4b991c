//! Rebuilds and holds on the wire.

use super::{given, named, optional_enum};
use crate::app::{App, holds, rebuilds};
use crate::grpc::convert::rebuilds as convert;
use crate::grpc::once::once;
use crate::grpc::page::Pager;
use tenths_proto::v1 as pb;
use tenths_proto::v1::rebuilds_service_server::RebuildsService;
use tonic::{Request, Response, Status};

/// Serves rebuilds and holds.
pub struct Rebuilds {
    app: App,
}

impl Rebuilds {
    /// The service over these use cases.
    pub fn new(app: App) -> Self {
        Rebuilds { app }
    }
}

#[tonic::async_trait]
impl RebuildsService for Rebuilds {
    async fn open_rebuild(
        &self,
        request: Request<pb::OpenRebuildRequest>,
    ) -> Result<Response<pb::OpenRebuildResponse>, Status> {
        once!(self.app, convert::open_rebuild(request.get_ref()), rebuilds::open_rebuild, |done| {
            pb::OpenRebuildResponse { rebuild: Some(convert::rebuild(done)) }
        })
    }

    async fn get_rebuild(
        &self,
        request: Request<pb::GetRebuildRequest>,
    ) -> Result<Response<pb::GetRebuildResponse>, Status> {
        let tag = named("tag", &request.get_ref().tag)?;
        let found = self
            .app
            .read(move |view| Box::pin(async move { rebuilds::get_rebuild(view, &tag).await }))
            .await?;
        Ok(Response::new(pb::GetRebuildResponse { rebuild: Some(convert::rebuild(found)) }))
    }

    async fn list_rebuilds(
        &self,
        request: Request<pb::ListRebuildsRequest>,
    ) -> Result<Response<pb::ListRebuildsResponse>, Status> {
        let wire = request.into_inner();
        let state = optional_enum("state", wire.state)?;
        let pager = Pager::new(
            "ListRebuilds",
            wire.page_size,
            &wire.page_token,
            &[&wire.state.to_string()],
        )?;
        let (rows, next_page_token) = pager
            .run(&self.app, move |view, page| Box::pin(rebuilds::list_rebuilds(view, page, state)))
            .await?;
        let rebuilds = rows.into_iter().map(convert::rebuild).collect();
        Ok(Response::new(pb::ListRebuildsResponse { rebuilds, next_page_token }))
    }

    async fn update_rebuild(
        &self,
        request: Request<pb::UpdateRebuildRequest>,
    ) -> Result<Response<pb::UpdateRebuildResponse>, Status> {
        let change = convert::update_rebuild(request.get_ref());
        once!(self.app, change, rebuilds::update_rebuild, |done| {
            pb::UpdateRebuildResponse { rebuild: Some(convert::rebuild(done)) }
        })
    }

    async fn close_rebuild(
        &self,
        request: Request<pb::CloseRebuildRequest>,
    ) -> Result<Response<pb::CloseRebuildResponse>, Status> {
        once!(
            self.app,
            convert::close_rebuild(request.get_ref()),
            rebuilds::close_rebuild,
            convert::closed
        )
    }

    async fn reserve(
        &self,
        request: Request<pb::ReserveRequest>,
    ) -> Result<Response<pb::ReserveResponse>, Status> {
        once!(self.app, convert::reserve(request.get_ref()), holds::reserve, convert::reserved)
    }

    async fn get_reservation(
        &self,
        request: Request<pb::GetReservationRequest>,
    ) -> Result<Response<pb::GetReservationResponse>, Status> {
        let tag = named("tag", &request.get_ref().tag)?;
        let found = self
            .app
            .read(move |view| Box::pin(async move { holds::get_reservation(view, &tag).await }))
            .await?;
        Ok(Response::new(pb::GetReservationResponse {
            reservation: Some(convert::reservation(found)),
        }))
    }

    async fn list_reservations(
        &self,
        request: Request<pb::ListReservationsRequest>,
    ) -> Result<Response<pb::ListReservationsResponse>, Status> {
        let wire = request.into_inner();
        let state = optional_enum("state", wire.state)?;
        let rebuild = given(&wire.rebuild_tag);
        let pager = Pager::new(
            "ListReservations",
            wire.page_size,
            &wire.page_token,
            &[&wire.state.to_string(), &wire.rebuild_tag],
        )?;
        let (rows, next_page_token) = pager
            .run(&self.app, move |view, page| {
                Box::pin(holds::list_reservations(view, page, state, rebuild))
            })
            .await?;
        let reservations = rows.into_iter().map(convert::reservation).collect();
        Ok(Response::new(pb::ListReservationsResponse { reservations, next_page_token }))
    }

    async fn extend_reservation(
        &self,
        request: Request<pb::ExtendReservationRequest>,
    ) -> Result<Response<pb::ExtendReservationResponse>, Status> {
        once!(
            self.app,
            convert::extend_reservation(request.get_ref()),
            holds::extend_reservation,
            |done| pb::ExtendReservationResponse { reservation: Some(convert::reservation(done)) }
        )
    }

    async fn release_reservations(
        &self,
        request: Request<pb::ReleaseReservationsRequest>,
    ) -> Result<Response<pb::ReleaseReservationsResponse>, Status> {
        once!(
            self.app,
            convert::release_reservations(request.get_ref()),
            holds::release_reservations,
            convert::released
        )
    }

    async fn consume_reservations(
        &self,
        request: Request<pb::ConsumeReservationsRequest>,
    ) -> Result<Response<pb::ConsumeReservationsResponse>, Status> {
        once!(
            self.app,
            convert::consume_reservations(request.get_ref()),
            holds::consume_reservations,
            convert::consumed
        )
    }
}
