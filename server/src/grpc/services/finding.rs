//! Finding on the wire.

use crate::app::finding::{find_by_size, find_fit, find_replacement};
use crate::app::{App, Error};
use crate::grpc::convert::finding as convert;
use crate::grpc::convert::found;
use futures::StreamExt;
use futures::stream::{self, BoxStream};
use tenths_proto::v1 as pb;
use tenths_proto::v1::finding_service_server::FindingService;
use tonic::{Request, Response, Status};

/// Most fits of a stream.
const ALL_MAX: usize = 1_000_000;

/// Serves questions of what fits.
pub struct Finding {
    app: App,
}

impl Finding {
    /// The service over these use cases.
    pub fn new(app: App) -> Self {
        Finding { app }
    }
}

#[tonic::async_trait]
impl FindingService for Finding {
    async fn find_fit(
        &self,
        request: Request<pb::FindFitRequest>,
    ) -> Result<Response<pb::FindFitResponse>, Status> {
        let question = request.into_inner();
        let order = convert::find_fit(&question)?;
        let answer = find_fit(&self.app, &order).await?;
        Ok(Response::new(found::fit_answer(&question, answer)))
    }

    type FindAllFitsStream = BoxStream<'static, Result<pb::FindAllFitsResponse, Status>>;

    async fn find_all_fits(
        &self,
        request: Request<pb::FindAllFitsRequest>,
    ) -> Result<Response<Self::FindAllFitsStream>, Status> {
        let mut question = request
            .into_inner()
            .question
            .ok_or_else(|| Error::invalid("question", "it is not given"))?;
        (question.page_size, question.misses_max) = (0, 0);
        question.page_token.clear();
        let mut order = convert::find_fit(&question)?;
        order.page = ALL_MAX;
        let answer = find_fit(&self.app, &order).await?;
        let messages = found::all_fits(answer).into_iter().map(Ok);
        Ok(Response::new(stream::iter(messages).boxed()))
    }

    async fn find_by_size(
        &self,
        request: Request<pb::FindBySizeRequest>,
    ) -> Result<Response<pb::FindBySizeResponse>, Status> {
        let question = request.into_inner();
        let order = convert::find_by_size(&question)?;
        let answer = find_by_size(&self.app, &order).await?;
        Ok(Response::new(found::size_answer(&question, order.unit, answer)))
    }

    async fn find_replacement(
        &self,
        request: Request<pb::FindReplacementRequest>,
    ) -> Result<Response<pb::FindReplacementResponse>, Status> {
        let question = request.into_inner();
        let order = convert::find_replacement(&question)?;
        let answer = find_replacement(&self.app, &order).await?;
        Ok(Response::new(found::replacement_answer(&question, answer)))
    }

    async fn get_index_status(
        &self,
        _request: Request<pb::GetIndexStatusRequest>,
    ) -> Result<Response<pb::GetIndexStatusResponse>, Status> {
        Ok(Response::new(found::index_status(&self.app.feed().stand())))
    }
}
