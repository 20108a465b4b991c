//! What can be done with worn features, on the wire.

use super::given;
use crate::app::App;
use crate::app::repairs::{decide_repair, list_repair_decisions, propose_repairs};
use crate::grpc::convert::repairs as convert;
use crate::grpc::once::once;
use crate::grpc::page::Pager;
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

    async fn decide_repair(
        &self,
        request: Request<pb::DecideRepairRequest>,
    ) -> Result<Response<pb::DecideRepairResponse>, Status> {
        once!(self.app, convert::decide(request.get_ref()), decide_repair, convert::decided)
    }

    async fn list_repair_decisions(
        &self,
        request: Request<pb::ListRepairDecisionsRequest>,
    ) -> Result<Response<pb::ListRepairDecisionsResponse>, Status> {
        let wire = request.into_inner();
        let piece = given(&wire.piece_tag);
        let pager = Pager::new(
            "ListRepairDecisions",
            wire.page_size,
            &wire.page_token,
            &[&wire.piece_tag],
        )?;
        let (rows, next_page_token) = pager
            .run(&self.app, move |view, page| Box::pin(list_repair_decisions(view, page, piece)))
            .await?;
        let decisions = rows.into_iter().map(convert::decision).collect();
        Ok(Response::new(pb::ListRepairDecisionsResponse { decisions, next_page_token }))
    }
}
