//! What can be done with worn features, on the wire.

use crate::app::App;
use crate::app::repairs::propose_repairs;
use crate::grpc::convert::repairs as convert;
use tenths_proto::v1 as pb;
use tenths_proto::v1::repairs_service_server::RepairsService;
use tonic::{Request, Response, Status};

/// Serves proposals and decisions.
pub struct Repairs {
    app: App,
}

impl Repairs {
    /// The service over these use cases.
    pub fn new(app: App) -> Self {
        Repairs { app }
    }
}

#[tonic::async_trait]
impl RepairsService for Repairs {
    async fn propose_repairs(
        &self,
        request: Request<pb::ProposeRepairsRequest>,
    ) -> Result<Response<pb::ProposeRepairsResponse>, Status> {
        let (asked, min_revision) = convert::asked(request.get_ref())?;
        let proposal = propose_repairs(&self.app, &asked, min_revision).await?;
        Ok(Response::new(convert::proposed(&proposal)))
    }
}
