//! The shop's policy on the wire.

use crate::app::{App, Error, policies};
use crate::grpc::convert::policies as convert;
use crate::grpc::once::{decoded, tell_revision};
use crate::grpc::page::Pager;
use prost::Message;
use std::sync::Arc;
use tenths_proto::v1 as pb;
use tenths_proto::v1::policy_service_server::PolicyService;
use tonic::{Request, Response, Status};

/// Serves the policy.
pub struct Policies {
    app: App,
}

impl Policies {
    /// The service over these use cases.
    pub fn new(app: App) -> Self {
        Policies { app }
    }
}

#[tonic::async_trait]
impl PolicyService for Policies {
    async fn get_policy(
        &self,
        request: Request<pb::GetPolicyRequest>,
    ) -> Result<Response<pb::GetPolicyResponse>, Status> {
        let version = request.get_ref().version;
        if let Some(version) = version.filter(|version| *version < 0) {
            let problem = format!("it is {version}; allowed are 0 (built in), 1 and on, or none");
            return Err(Error::invalid("version", problem).into());
        }
        let found =
            self.app.read(move |view| Box::pin(policies::get_policy(view, version))).await?;
        let (policy, version) = convert::policy(&found)?;
        Ok(Response::new(pb::GetPolicyResponse { policy: Some(policy), version: Some(version) }))
    }

    async fn set_policy(
        &self,
        request: Request<pb::SetPolicyRequest>,
    ) -> Result<Response<pb::SetPolicyResponse>, Status> {
        let (request, order) = convert::set_policy(request.get_ref())?;
        let order = Arc::new(order);
        let done = self
            .app
            .once(request, move |act| {
                let order = Arc::clone(&order);
                Box::pin(async move {
                    let (policy, version) =
                        convert::policy(&policies::set_policy(act, &order).await?)?;
                    let answer =
                        pb::SetPolicyResponse { policy: Some(policy), version: Some(version) };
                    Ok(answer.encode_to_vec())
                })
            })
            .await?;
        let mut response = Response::new(decoded(&done.answer)?);
        tell_revision(response.metadata_mut(), done.revision);
        Ok(response)
    }

    async fn list_policies(
        &self,
        request: Request<pb::ListPoliciesRequest>,
    ) -> Result<Response<pb::ListPoliciesResponse>, Status> {
        let wire = request.into_inner();
        let pager = Pager::new("ListPolicies", wire.page_size, &wire.page_token, &[])?;
        let (rows, next_page_token) = pager
            .run(&self.app, move |view, page| Box::pin(policies::list_policies(view, page)))
            .await?;
        let versions = rows.iter().map(convert::version).collect();
        Ok(Response::new(pb::ListPoliciesResponse { versions, next_page_token }))
    }
}
