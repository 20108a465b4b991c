//! Planning on the wire.

use crate::app::{App, planning};
use crate::grpc::convert::planning as convert;
use crate::grpc::once::once;
use tenths_proto::v1 as pb;
use tenths_proto::v1::planning_service_server::PlanningService;
use tonic::{Request, Response, Status};

/// Serves the plans of machines and the yields of operations.
pub struct Planning {
    app: App,
}

impl Planning {
    /// The service over these use cases.
    pub fn new(app: App) -> Self {
        Planning { app }
    }
}

#[tonic::async_trait]
impl PlanningService for Planning {
    async fn plan_day(
        &self,
        request: Request<pb::PlanDayRequest>,
    ) -> Result<Response<pb::PlanDayResponse>, Status> {
        let order = convert::plan_day(request.get_ref())?;
        let made = self
            .app
            .read(move |view| Box::pin(async move { planning::plan_day(view, &order).await }))
            .await?;
        Ok(Response::new(pb::PlanDayResponse { plan: Some(convert::plan(made)) }))
    }

    async fn release_plan(
        &self,
        request: Request<pb::ReleasePlanRequest>,
    ) -> Result<Response<pb::ReleasePlanResponse>, Status> {
        once!(self.app, convert::release_plan(request.get_ref()), planning::release_plan, |made| {
            pb::ReleasePlanResponse { plan: Some(convert::plan(made)) }
        })
    }

    async fn list_yields(
        &self,
        request: Request<pb::ListYieldsRequest>,
    ) -> Result<Response<pb::ListYieldsResponse>, Status> {
        let order = convert::list_yields(request.get_ref())?;
        let found = self
            .app
            .read(move |view| Box::pin(async move { planning::list_yields(view, &order).await }))
            .await?;
        Ok(Response::new(convert::yields(found)))
    }
}
