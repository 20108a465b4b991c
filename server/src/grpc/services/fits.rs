//! Fits on the wire.

use crate::app::pair::{self, Register};
use crate::app::{App, fits, standards};
use crate::grpc::convert::standards::count;
use crate::grpc::convert::{fits as convert, knowledge};
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
        let mut found = fits::get_limits(&order)?;
        found.traces = standards::limits_traces(&order.size, &order.class)?;
        Ok(Response::new(convert::class_limits(found)))
    }

    async fn judge_fit(
        &self,
        request: Request<pb::JudgeFitRequest>,
    ) -> Result<Response<pb::JudgeFitResponse>, Status> {
        let order = knowledge::judge_fit(request.get_ref())?;
        let judged = self
            .app
            .read(move |view| {
                Box::pin(async move {
                    let register = Register::of(view).await?;
                    pair::judge_fit(view, &order, &register).await
                })
            })
            .await?;
        Ok(Response::new(knowledge::judged_fit(judged)))
    }

    async fn batch_judge_fits(
        &self,
        request: Request<pb::BatchJudgeFitsRequest>,
    ) -> Result<Response<pb::BatchJudgeFitsResponse>, Status> {
        let questions = request.into_inner().questions;
        count(questions.len(), 2_000)?;
        let answers =
            self.app.read(move |view| Box::pin(knowledge::fit_answers(view, questions))).await?;
        Ok(Response::new(pb::BatchJudgeFitsResponse { answers }))
    }
}
