//! The catalogue on the wire.

use super::{named, optional_enum};
use crate::app::{App, catalogue};
use crate::grpc::convert::catalogue as convert;
use crate::grpc::once::once;
use crate::grpc::page::Pager;
use tenths_proto::v1 as pb;
use tenths_proto::v1::catalogue_service_server::CatalogueService;
use tonic::{Request, Response, Status};

/// Serves the catalogue.
pub struct Catalogue {
    app: App,
}

impl Catalogue {
    /// The service over these use cases.
    pub fn new(app: App) -> Self {
        Catalogue { app }
    }
}

#[tonic::async_trait]
impl CatalogueService for Catalogue {
    async fn create_item(
        &self,
        request: Request<pb::CreateItemRequest>,
    ) -> Result<Response<pb::CreateItemResponse>, Status> {
        once!(self.app, convert::create_item(request.get_ref()), catalogue::create_item, |done| {
            pb::CreateItemResponse { item: Some(convert::item(done)) }
        })
    }

    async fn get_item(
        &self,
        request: Request<pb::GetItemRequest>,
    ) -> Result<Response<pb::GetItemResponse>, Status> {
        let code = named("code", &request.get_ref().code)?;
        let found = self
            .app
            .read(move |view| Box::pin(async move { catalogue::get_item(view, &code).await }))
            .await?;
        Ok(Response::new(pb::GetItemResponse { item: Some(convert::item(found)) }))
    }

    async fn list_items(
        &self,
        request: Request<pb::ListItemsRequest>,
    ) -> Result<Response<pb::ListItemsResponse>, Status> {
        let wire = request.into_inner();
        let kind = optional_enum("kind", wire.kind)?;
        let pager =
            Pager::new("ListItems", wire.page_size, &wire.page_token, &[&wire.kind.to_string()])?;
        let (rows, next_page_token) = pager
            .run(&self.app, move |view, page| Box::pin(catalogue::list_items(view, page, kind)))
            .await?;
        let items = rows.into_iter().map(convert::item).collect();
        Ok(Response::new(pb::ListItemsResponse { items, next_page_token }))
    }

    async fn update_item(
        &self,
        request: Request<pb::UpdateItemRequest>,
    ) -> Result<Response<pb::UpdateItemResponse>, Status> {
        once!(self.app, convert::update_item(request.get_ref()), catalogue::update_item, |done| {
            pb::UpdateItemResponse { item: Some(convert::item(done)) }
        })
    }

    async fn set_feature(
        &self,
        request: Request<pb::SetFeatureRequest>,
    ) -> Result<Response<pb::SetFeatureResponse>, Status> {
        once!(self.app, convert::set_feature(request.get_ref()), catalogue::set_feature, |done| {
            pb::SetFeatureResponse { item: Some(convert::item(done)) }
        })
    }
}
