//! Measuring on the wire.

use super::{given, named};
use crate::app::{App, judging, measuring};
use crate::grpc::convert::measuring as convert;
use crate::grpc::once::once;
use crate::grpc::page::Pager;
use tenths_proto::v1 as pb;
use tenths_proto::v1::measuring_service_server::MeasuringService;
use tonic::{Request, Response, Status};

/// Serves measuring and judging.
pub struct Measuring {
    app: App,
}

impl Measuring {
    /// The service over these use cases.
    pub fn new(app: App) -> Self {
        Measuring { app }
    }
}

#[tonic::async_trait]
impl MeasuringService for Measuring {
    async fn register_gauge(
        &self,
        request: Request<pb::RegisterGaugeRequest>,
    ) -> Result<Response<pb::RegisterGaugeResponse>, Status> {
        once!(
            self.app,
            convert::register_gauge(request.get_ref()),
            measuring::register_gauge,
            |done| pb::RegisterGaugeResponse { gauge: Some(convert::gauge(done)) }
        )
    }

    async fn get_gauge(
        &self,
        request: Request<pb::GetGaugeRequest>,
    ) -> Result<Response<pb::GetGaugeResponse>, Status> {
        let tag = named("tag", &request.get_ref().tag)?;
        let found = self
            .app
            .read(move |view| Box::pin(async move { measuring::get_gauge(view, &tag).await }))
            .await?;
        Ok(Response::new(pb::GetGaugeResponse { gauge: Some(convert::gauge(found)) }))
    }

    async fn list_gauges(
        &self,
        request: Request<pb::ListGaugesRequest>,
    ) -> Result<Response<pb::ListGaugesResponse>, Status> {
        let wire = request.into_inner();
        let pager = Pager::new("ListGauges", wire.page_size, &wire.page_token, &[])?;
        let (rows, next_page_token) = pager
            .run(&self.app, move |view, page| Box::pin(measuring::list_gauges(view, page)))
            .await?;
        let gauges = rows.into_iter().map(convert::gauge).collect();
        Ok(Response::new(pb::ListGaugesResponse { gauges, next_page_token }))
    }

    async fn update_gauge(
        &self,
        request: Request<pb::UpdateGaugeRequest>,
    ) -> Result<Response<pb::UpdateGaugeResponse>, Status> {
        once!(
            self.app,
            convert::update_gauge(request.get_ref()),
            measuring::update_gauge,
            convert::gauge_updated
        )
    }

    async fn record_readings(
        &self,
        request: Request<pb::RecordReadingsRequest>,
    ) -> Result<Response<pb::RecordReadingsResponse>, Status> {
        once!(
            self.app,
            convert::record_readings(request.get_ref()),
            measuring::record_readings,
            convert::recorded
        )
    }

    async fn list_readings(
        &self,
        request: Request<pb::ListReadingsRequest>,
    ) -> Result<Response<pb::ListReadingsResponse>, Status> {
        let wire = request.into_inner();
        let filter = measuring::ReadingsNamed {
            piece_tag: given(&wire.piece_tag),
            feature: given(&wire.feature),
            gauge_tag: given(&wire.gauge_tag),
        };
        let pager = Pager::new(
            "ListReadings",
            wire.page_size,
            &wire.page_token,
            &[&wire.piece_tag, &wire.feature, &wire.gauge_tag],
        )?;
        let (rows, next_page_token) = pager
            .run(&self.app, move |view, page| {
                Box::pin(measuring::list_readings(view, page, filter))
            })
            .await?;
        let readings = rows.into_iter().map(convert::reading).collect();
        Ok(Response::new(pb::ListReadingsResponse { readings, next_page_token }))
    }

    async fn void_reading(
        &self,
        request: Request<pb::VoidReadingRequest>,
    ) -> Result<Response<pb::VoidReadingResponse>, Status> {
        once!(self.app, convert::void_reading(request.get_ref()), measuring::void_reading, |done| {
            pb::VoidReadingResponse { reading: Some(convert::reading(done)) }
        })
    }

    async fn assess_piece(
        &self,
        request: Request<pb::AssessPieceRequest>,
    ) -> Result<Response<pb::AssessPieceResponse>, Status> {
        once!(
            self.app,
            convert::assess_piece(request.get_ref()),
            judging::assess_piece,
            convert::assessed
        )
    }

    async fn list_assessments(
        &self,
        request: Request<pb::ListAssessmentsRequest>,
    ) -> Result<Response<pb::ListAssessmentsResponse>, Status> {
        let wire = request.into_inner();
        let (piece, gauge) = (given(&wire.piece_tag), given(&wire.gauge_tag));
        let pager = Pager::new(
            "ListAssessments",
            wire.page_size,
            &wire.page_token,
            &[&wire.piece_tag, &wire.gauge_tag],
        )?;
        let (rows, next_page_token) = pager
            .run(&self.app, move |view, page| {
                Box::pin(judging::list_assessments(view, page, piece, gauge))
            })
            .await?;
        let assessments = rows.into_iter().map(convert::assessment).collect();
        Ok(Response::new(pb::ListAssessmentsResponse { assessments, next_page_token }))
    }
}
