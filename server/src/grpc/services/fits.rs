//! Fits on the wire.

use crate::app::{App, fits};
use crate::grpc::convert::fits as convert;
use tenths_proto::v1 as pb;
use tenths_proto::v1::fits_service_server::FitsService;
use tonic::{Request, Response, Status};

/// Serves limits and fits.
pub struct Fits {
    app: App,
}

impl Fits {
    /// The service over these use cases.
    pub fn new(app: App) -> Self {
        Fits { app }
    }
}

#[tonic::async_trait]
impl FitsService for Fits {
    async fn get_limits(
        &self,
        request: Request<pb::GetLimitsRequest>,
    ) -> Result<Response<pb::GetLimitsResponse>, Status> {
        let order = convert::get_limits(request.get_ref())?;
        Ok(Response::new(convert::class_limits(fits::get_limits(&order)?)))
    }

    async fn find_fit(
        &self,
        request: Request<pb::FindFitRequest>,
    ) -> Result<Response<pb::FindFitResponse>, Status> {
        let order = convert::find_fit(request.get_ref())?;
        let answer = self.app.read(|view| Box::pin(fits::find_fit(view, order))).await?;
        Ok(Response::new(convert::answer(answer)))
    }
}
