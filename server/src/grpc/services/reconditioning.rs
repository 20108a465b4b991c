//! The reconditioning queue on the wire.

mod watch;

use super::{given, named, optional_enum};
use crate::app::reconditioning::SendOutsFilter;
use crate::app::{App, reconditioning};
use crate::grpc::convert::{operations, reconditioning as convert, send_outs};
use crate::grpc::once::once;
use crate::grpc::page::Pager;
use tenths_proto::v1 as pb;
use tenths_proto::v1::reconditioning_service_server::ReconditioningService;
use tokio::sync::mpsc;
use tokio_stream::wrappers::ReceiverStream;
use tonic::{Request, Response, Status};
use tracing::Instrument;

/// Serves the reconditioning queue.
pub struct Reconditioning {
    app: App,
}

impl Reconditioning {
    /// The service over these use cases.
    pub fn new(app: App) -> Self {
        Reconditioning { app }
    }
}

#[tonic::async_trait]
impl ReconditioningService for Reconditioning {
    type WatchOperationsStream = ReceiverStream<Result<pb::WatchOperationsResponse, Status>>;

    async fn watch_operations(
        &self,
        request: Request<pb::WatchOperationsRequest>,
    ) -> Result<Response<Self::WatchOperationsStream>, Status> {
        let watched = operations::watch(request.get_ref())?;
        let (answers, waiting) = mpsc::channel(1);
        tokio::spawn(watch::run(self.app.clone(), watched, answers).in_current_span());
        Ok(Response::new(ReceiverStream::new(waiting)))
    }

    async fn enqueue_job(
        &self,
        request: Request<pb::EnqueueJobRequest>,
    ) -> Result<Response<pb::EnqueueJobResponse>, Status> {
        once!(
            self.app,
            convert::enqueue_job(request.get_ref()),
            reconditioning::enqueue_job,
            convert::enqueued
        )
    }

    async fn get_job(
        &self,
        request: Request<pb::GetJobRequest>,
    ) -> Result<Response<pb::GetJobResponse>, Status> {
        let tag = named("tag", &request.get_ref().tag)?;
        let found = self
            .app
            .read(move |view| Box::pin(async move { reconditioning::get_job(view, &tag).await }))
            .await?;
        Ok(Response::new(pb::GetJobResponse { job: Some(convert::job(found)) }))
    }

    async fn list_jobs(
        &self,
        request: Request<pb::ListJobsRequest>,
    ) -> Result<Response<pb::ListJobsResponse>, Status> {
        let wire = request.into_inner();
        let state = optional_enum("state", wire.state)?;
        let piece = given(&wire.piece_tag);
        let pager = Pager::new(
            "ListJobs",
            wire.page_size,
            &wire.page_token,
            &[&wire.state.to_string(), &wire.piece_tag],
        )?;
        let (rows, next_page_token) = pager
            .run(&self.app, move |view, page| {
                Box::pin(reconditioning::list_jobs(view, page, state, piece))
            })
            .await?;
        let jobs = rows.into_iter().map(convert::job).collect();
        Ok(Response::new(pb::ListJobsResponse { jobs, next_page_token }))
    }

    async fn claim_job(
        &self,
        request: Request<pb::ClaimJobRequest>,
    ) -> Result<Response<pb::ClaimJobResponse>, Status> {
        once!(
            self.app,
            convert::claim_job(request.get_ref()),
            reconditioning::claim_job,
            convert::claimed
        )
    }

    async fn renew_claim(
        &self,
        request: Request<pb::RenewClaimRequest>,
    ) -> Result<Response<pb::RenewClaimResponse>, Status> {
        once!(
            self.app,
            convert::renew_claim(request.get_ref()),
            reconditioning::renew_claim,
            |done| pb::RenewClaimResponse { job: Some(convert::job(done)) }
        )
    }

    async fn release_claim(
        &self,
        request: Request<pb::ReleaseClaimRequest>,
    ) -> Result<Response<pb::ReleaseClaimResponse>, Status> {
        once!(
            self.app,
            convert::release_claim(request.get_ref()),
            reconditioning::release_claim,
            |done| pb::ReleaseClaimResponse { job: Some(convert::job(done)) }
        )
    }

    async fn finish_job(
        &self,
        request: Request<pb::FinishJobRequest>,
    ) -> Result<Response<pb::FinishJobResponse>, Status> {
        once!(
            self.app,
            convert::finish_job(request.get_ref()),
            reconditioning::finish_job,
            convert::finished
        )
    }

    async fn scrap_job(
        &self,
        request: Request<pb::ScrapJobRequest>,
    ) -> Result<Response<pb::ScrapJobResponse>, Status> {
        once!(self.app, convert::scrap_job(request.get_ref()), reconditioning::scrap_job, |done| {
            pb::ScrapJobResponse { job: Some(convert::job(done)) }
        })
    }

    async fn start_operation(
        &self,
        request: Request<pb::StartOperationRequest>,
    ) -> Result<Response<pb::StartOperationResponse>, Status> {
        once!(
            self.app,
            operations::start_operation(request.get_ref()),
            reconditioning::start_operation,
            |done| pb::StartOperationResponse { job: Some(convert::job(done)) }
        )
    }

    async fn pause_operation(
        &self,
        request: Request<pb::PauseOperationRequest>,
    ) -> Result<Response<pb::PauseOperationResponse>, Status> {
        once!(
            self.app,
            operations::pause_operation(request.get_ref()),
            reconditioning::pause_operation,
            |done| pb::PauseOperationResponse { job: Some(convert::job(done)) }
        )
    }

    async fn finish_operation(
        &self,
        request: Request<pb::FinishOperationRequest>,
    ) -> Result<Response<pb::FinishOperationResponse>, Status> {
        once!(
            self.app,
            operations::finish_operation(request.get_ref()),
            reconditioning::finish_operation,
            |done| pb::FinishOperationResponse { job: Some(convert::job(done)) }
        )
    }

    async fn reject_operation(
        &self,
        request: Request<pb::RejectOperationRequest>,
    ) -> Result<Response<pb::RejectOperationResponse>, Status> {
        once!(
            self.app,
            operations::reject_operation(request.get_ref()),
            reconditioning::reject_operation,
            |done| pb::RejectOperationResponse { job: Some(convert::job(done)) }
        )
    }

    async fn create_send_out(
        &self,
        request: Request<pb::CreateSendOutRequest>,
    ) -> Result<Response<pb::CreateSendOutResponse>, Status> {
        once!(
            self.app,
            send_outs::create_send_out(request.get_ref()),
            reconditioning::create_send_out,
            |(done, notes)| pb::CreateSendOutResponse {
                send_out: Some(send_outs::send_out(done)),
                notes,
            }
        )
    }

    async fn return_send_out(
        &self,
        request: Request<pb::ReturnSendOutRequest>,
    ) -> Result<Response<pb::ReturnSendOutResponse>, Status> {
        once!(
            self.app,
            send_outs::return_send_out(request.get_ref()),
            reconditioning::return_send_out,
            |done| pb::ReturnSendOutResponse { send_out: Some(send_outs::send_out(done)) }
        )
    }

    async fn list_send_outs(
        &self,
        request: Request<pb::ListSendOutsRequest>,
    ) -> Result<Response<pb::ListSendOutsResponse>, Status> {
        let wire = request.into_inner();
        let location_code = given(&wire.location_code);
        let filter = SendOutsFilter { only_open: !wire.with_closed, location_code };
        let pager = Pager::new(
            "ListSendOuts",
            wire.page_size,
            &wire.page_token,
            &[&wire.with_closed.to_string(), &wire.location_code],
        )?;
        let (rows, next_page_token) = pager
            .run(&self.app, move |view, page| {
                Box::pin(reconditioning::list_send_outs(view, page, filter))
            })
            .await?;
        let send_outs = rows.into_iter().map(send_outs::send_out).collect();
        Ok(Response::new(pb::ListSendOutsResponse { send_outs, next_page_token }))
    }
}
