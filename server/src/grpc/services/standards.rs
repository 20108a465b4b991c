//! Standards on the wire.

use crate::grpc::convert::standards as convert;
use tenths_proto::v1 as pb;
use tenths_proto::v1::standards_service_server::StandardsService;
use tonic::{Request, Response, Status};

/// Serves the published tables; it needs no database.
pub struct Standards;

#[tonic::async_trait]
impl StandardsService for Standards {
    async fn get_inch_fit(
        &self,
        request: Request<pb::GetInchFitRequest>,
    ) -> Result<Response<pb::GetInchFitResponse>, Status> {
        Ok(Response::new(convert::inch_fit(request.get_ref())?))
    }

    async fn get_bearing(
        &self,
        request: Request<pb::GetBearingRequest>,
    ) -> Result<Response<pb::GetBearingResponse>, Status> {
        Ok(Response::new(convert::bearing(request.get_ref())?))
    }

    async fn match_bearings(
        &self,
        request: Request<pb::MatchBearingsRequest>,
    ) -> Result<Response<pb::MatchBearingsResponse>, Status> {
        Ok(Response::new(convert::match_bearings(request.get_ref())?))
    }

    async fn recommend_seat(
        &self,
        request: Request<pb::RecommendSeatRequest>,
    ) -> Result<Response<pb::RecommendSeatResponse>, Status> {
        Ok(Response::new(convert::seat(request.get_ref())?))
    }

    async fn get_shaft_extension(
        &self,
        request: Request<pb::GetShaftExtensionRequest>,
    ) -> Result<Response<pb::GetShaftExtensionResponse>, Status> {
        Ok(Response::new(convert::extension(request.get_ref())?))
    }

    async fn get_key(
        &self,
        request: Request<pb::GetKeyRequest>,
    ) -> Result<Response<pb::GetKeyResponse>, Status> {
        Ok(Response::new(convert::key(request.get_ref())?))
    }

    async fn judge_keyseat(
        &self,
        request: Request<pb::JudgeKeyseatRequest>,
    ) -> Result<Response<pb::JudgeKeyseatResponse>, Status> {
        Ok(Response::new(convert::keyseat(request.get_ref())?))
    }

    async fn get_retaining_ring(
        &self,
        request: Request<pb::GetRetainingRingRequest>,
    ) -> Result<Response<pb::GetRetainingRingResponse>, Status> {
        Ok(Response::new(convert::retaining_ring(request.get_ref())?))
    }

    async fn batch_get_limits(
        &self,
        request: Request<pb::BatchGetLimitsRequest>,
    ) -> Result<Response<pb::BatchGetLimitsResponse>, Status> {
        let questions = request.into_inner().questions;
        convert::count(questions.len(), 10_000)?;
        let answers = questions.iter().map(convert::limits_answer).collect();
        Ok(Response::new(pb::BatchGetLimitsResponse { answers }))
    }

    async fn batch_get_bearings(
        &self,
        request: Request<pb::BatchGetBearingsRequest>,
    ) -> Result<Response<pb::BatchGetBearingsResponse>, Status> {
        let questions = request.into_inner().questions;
        convert::count(questions.len(), 2_000)?;
        let answers = questions.iter().map(convert::bearing_answer).collect();
        Ok(Response::new(pb::BatchGetBearingsResponse { answers }))
    }

    async fn batch_get_keys(
        &self,
        request: Request<pb::BatchGetKeysRequest>,
    ) -> Result<Response<pb::BatchGetKeysResponse>, Status> {
        let questions = request.into_inner().questions;
        convert::count(questions.len(), 2_000)?;
        let answers = questions.iter().map(convert::key_answer).collect();
        Ok(Response::new(pb::BatchGetKeysResponse { answers }))
    }
}
