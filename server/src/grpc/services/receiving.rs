//! Receiving on the wire.

use super::{named, optional_enum};
use crate::app::{App, receiving};
use crate::grpc::convert::receiving as convert;
use crate::grpc::once::once;
use crate::grpc::page::Pager;
use tenths_proto::v1 as pb;
use tenths_proto::v1::receiving_service_server::ReceivingService;
use tonic::{Request, Response, Status};

/// Serves receiving.
pub struct Receiving {
    app: App,
}

impl Receiving {
    /// The service over these use cases.
    pub fn new(app: App) -> Self {
        Receiving { app }
    }
}

#[tonic::async_trait]
impl ReceivingService for Receiving {
    async fn log_core(
        &self,
        request: Request<pb::LogCoreRequest>,
    ) -> Result<Response<pb::LogCoreResponse>, Status> {
        once!(self.app, convert::log_core(request.get_ref()), receiving::log_core, |done| {
            pb::LogCoreResponse { core: Some(convert::core(done)) }
        })
    }

    async fn get_core(
        &self,
        request: Request<pb::GetCoreRequest>,
    ) -> Result<Response<pb::GetCoreResponse>, Status> {
        let tag = named("tag", &request.get_ref().tag)?;
        let found = self
            .app
            .read(move |view| Box::pin(async move { receiving::get_core(view, &tag).await }))
            .await?;
        Ok(Response::new(pb::GetCoreResponse { core: Some(convert::core(found)) }))
    }

    async fn list_cores(
        &self,
        request: Request<pb::ListCoresRequest>,
    ) -> Result<Response<pb::ListCoresResponse>, Status> {
        let wire = request.into_inner();
        let state = optional_enum("state", wire.state)?;
        let pager =
            Pager::new("ListCores", wire.page_size, &wire.page_token, &[&wire.state.to_string()])?;
        let (rows, next_page_token) = pager
            .run(&self.app, move |view, page| Box::pin(receiving::list_cores(view, page, state)))
            .await?;
        let cores = rows.into_iter().map(convert::core).collect();
        Ok(Response::new(pb::ListCoresResponse { cores, next_page_token }))
    }

    async fn regrade_core(
        &self,
        request: Request<pb::RegradeCoreRequest>,
    ) -> Result<Response<pb::RegradeCoreResponse>, Status> {
        once!(self.app, convert::regrade_core(request.get_ref()), receiving::regrade_core, |done| {
            pb::RegradeCoreResponse { core: Some(convert::core(done)) }
        })
    }

    async fn move_core(
        &self,
        request: Request<pb::MoveCoreRequest>,
    ) -> Result<Response<pb::MoveCoreResponse>, Status> {
        once!(self.app, convert::move_core(request.get_ref()), receiving::move_core, |done| {
            pb::MoveCoreResponse { core: Some(convert::core(done)) }
        })
    }

    async fn tear_down_core(
        &self,
        request: Request<pb::TearDownCoreRequest>,
    ) -> Result<Response<pb::TearDownCoreResponse>, Status> {
        once!(
            self.app,
            convert::tear_down_core(request.get_ref()),
            receiving::tear_down_core,
            convert::torn_down
        )
    }
}
