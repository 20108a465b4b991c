//! Assembly advice on the wire.

use crate::app::{App, assembly};
use crate::grpc::convert::assembly as convert;
use tenths_proto::v1 as pb;
use tenths_proto::v1::assembly_service_server::AssemblyService;
use tonic::{Request, Response, Status};

/// Serves assembly advice.
pub struct Assembly {
    app: App,
}

impl Assembly {
    /// The service over these use cases.
    pub fn new(app: App) -> Self {
        Assembly { app }
    }
}

#[tonic::async_trait]
impl AssemblyService for Assembly {
    async fn get_close_in(
        &self,
        request: Request<pb::GetCloseInRequest>,
    ) -> Result<Response<pb::GetCloseInResponse>, Status> {
        let (question, unit) = convert::close_in(request.get_ref())?;
        let pressed = self
            .app
            .read(move |view| Box::pin(async move { assembly::close_in(view, &question).await }))
            .await?;
        Ok(Response::new(convert::pressed(pressed, unit)))
    }

    async fn get_running_clearance(
        &self,
        request: Request<pb::GetRunningClearanceRequest>,
    ) -> Result<Response<pb::GetRunningClearanceResponse>, Status> {
        let (journal, rule) = convert::running_clearance(request.get_ref())?;
        let found = assembly::running_clearance(&journal, rule);
        Ok(Response::new(convert::running(found, journal.unit)))
    }

    async fn get_assembly_advice(
        &self,
        request: Request<pb::GetAssemblyAdviceRequest>,
    ) -> Result<Response<pb::GetAssemblyAdviceResponse>, Status> {
        let (question, unit) = convert::joint(request.get_ref())?;
        let bearing = convert::fitted(request.get_ref())?;
        let heated = question.heated;
        let advice = self
            .app
            .read(move |view| Box::pin(async move { assembly::advice(view, &question).await }))
            .await?;
        let fitted = match &bearing {
            Some(bearing) => Some(assembly::fitted_clearance(bearing, heated, &advice.0, unit)?),
            None => None,
        };
        Ok(Response::new(convert::advice(advice, fitted, unit)))
    }

    async fn get_shaft_strength(
        &self,
        request: Request<pb::GetShaftStrengthRequest>,
    ) -> Result<Response<pb::GetShaftStrengthResponse>, Status> {
        let (question, unit) = convert::strength(request.get_ref())?;
        let found = assembly::strength(&question)?;
        Ok(Response::new(convert::strength_out(found, question.diameter, unit)))
    }
}
